// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.profile;

import java.util.ArrayList;
import java.util.Arrays;
import java.util.List;
import java.util.Locale;
import java.util.Optional;
import org.evenstop.engine.measure.Measurement;
import org.evenstop.engine.measure.PixelSample;

/**
 * Weighs the shipped families of profiles against what a shoot itself shows: how clips of one scene at different exposures relate,
 * where the highest levels lie, and how chroma goes with luma. Each kind of evidence gives a log-likelihood per family; they are
 * added to an even prior. The same measurements in the same order give the same answer.
 *
 * <p>All limits and weights here are our own choice, no source, found on photographs and invented pictures shot through random
 * cameras of each family, and checked on other cameras, other invented pictures and the same photographs (ProfileChooserTest
 * prints the table). The density of levels under the ceiling was tried too, as a sign of a knee: the light of natural scenes is
 * distributed too unevenly for it to tell a knee from a soft shoulder, so it does not count.
 */
public final class ProfileChooser {
    /** What may be left of a relation between two clips, root mean square in level, for them to count as one scene: 1.1 %. */
    private static final double ONE_SCENE = 0.011;
    /** What is left in the best case: sampling and rounding, 0.2 %. */
    private static final double FLOOR = 0.002;
    /** How many independent values the relation of two clips is worth. Its 150 values go up and down together. */
    private static final double WORTH = 8;
    /** Pairs compared at most; in a longer shoot each clip meets its neighbours, where its likes are. */
    private static final int MOST_PAIRS = 150;
    /** Levels above this can not come from a camera that ends at 100 %, whatever an encoder added. */
    private static final double SUPER_WHITE = 1.02;

    private final List<FamilyMember> members;
    private final List<Profile> chromaCurves = new ArrayList<>();
    private final int families;

    /** @param named a profile to weigh beside the shipped ones, or null */
    private ProfileChooser(Profile named) {
        members = FamilyMember.all(chromaCurves);
        if (named != null) {
            members.add(FamilyMember.alone(3, named, chromaCurves));
        }
        families = named == null ? 3 : 4;
    }

    /**
     * Which shipped profile suits a shoot.
     *
     * @param shoot measurements with samples, all from one camera setting, in the order they were shot; clips without a sample do
     *              not count
     * @return never null; the default profile where nothing can be told
     */
    public static ProfileChoice choose(List<Measurement> shoot) {
        return new ProfileChooser(null).weigh(shoot).choice();
    }

    /**
     * One sentence where a shoot speaks strongly against a profile that someone named; empty where it does not. Never a reason to
     * overrule them.
     */
    public static Optional<String> objection(List<Measurement> shoot, Profile named) {
        List<String> shipped = FamilyMember.shipped().stream().map(Profile::name).toList();
        int own = -1;
        for (int f = 0; f < shipped.size(); f++) {
            Profile p = FamilyMember.shipped().get(f);
            own = p.name().equals(named.name()) && Arrays.equals(p.levels(), named.levels()) && Arrays.equals(p.stops(), named.stops()) ? f : own;
        }
        Evidence evidence = new ProfileChooser(own < 0 ? named : null).weigh(shoot);
        double[] probability = evidence.probabilities();
        int best = indexOfLargest(probability);
        int asked = own < 0 ? 3 : own;
        if (best == asked || best == 3 || probability[best] < 0.9 || probability[asked] > 0.02) {
            return Optional.empty();
        }
        // A profile of one's own is a single curve, which the many of a family beat easily: it must be far off to be doubted.
        boolean contradicted = evidence.highest > 100 * named.ceiling() + 2;
        if (own < 0 && !contradicted && !(evidence.pairs > 0 && evidence.left[3] > Math.max(0.012, 2.5 * evidence.left[best]))) {
            return Optional.empty();
        }
        return Optional.of(String.format(Locale.ROOT, "These clips look as if they were shot through %s (%.2f), not %s: %s. The profile you named is used.",
            shipped.get(best), Math.min(probability[best], 0.99), named.name(), String.join(", ", evidence.reasons(best))));
    }

    private Evidence weigh(List<Measurement> shoot) {
        List<Measurement> clips = shoot.stream().filter(m -> m.sample().size() > 0).toList();
        Evidence evidence = new Evidence();
        evidence.clips = clips.size();
        relate(clips, evidence);
        weighCeiling(clips, evidence);
        weighChroma(clips, evidence);
        return evidence;
    }

    /** All pairs of a short shoot, neighbours in a long one. Only pairs that some camera explains as one scene count. */
    private void relate(List<Measurement> clips, Evidence evidence) {
        int n = clips.size();
        int reach = 1;
        while (reach < n - 1 && (long) n * (reach + 1) <= MOST_PAIRS) {
            reach++;
        }
        ClipLevels[] levels = new ClipLevels[n];
        double[] pooled = new double[members.size()];
        double weights = 0;
        for (int i = 0; i < n; i++) {
            levels[i] = new ClipLevels(clips.get(i), chromaCurves);
            for (int j = Math.max(0, i - reach); j < i; j++) {
                LevelRelation relation = new LevelRelation(levels[j], levels[i], members);
                double quality = 1 - relation.best / (ONE_SCENE * ONE_SCENE);
                if (!relation.telling || quality <= 0) {
                    continue;
                }
                evidence.pairs++;
                double weight = quality * relation.cover;
                weights += weight;
                for (int m = 0; m < pooled.length; m++) {
                    pooled[m] += weight * relation.left[m];
                }
            }
            if (i >= reach) {
                levels[i - reach] = null;
            }
        }
        if (weights <= 0) {
            return;
        }
        double best = Double.POSITIVE_INFINITY;
        for (int m = 0; m < pooled.length; m++) {
            pooled[m] /= weights;
            best = Math.min(best, pooled[m]);
        }
        double quality = Math.max(0.1, 1 - best / (ONE_SCENE * ONE_SCENE));
        double worth = WORTH * quality * (1 + 0.5 * Math.log(evidence.pairs));
        int[] count = new int[families];
        double[] sum = new double[families];
        for (int m = 0; m < pooled.length; m++) {
            int f = members.get(m).family;
            // The mean over a family's members, so that a family does not win by having many of them.
            sum[f] += Math.pow((best + FLOOR * FLOOR) / (pooled[m] + FLOOR * FLOOR), worth / 2);
            count[f]++;
            evidence.left[f] = Math.min(Double.isNaN(evidence.left[f]) ? 1 : evidence.left[f], Math.sqrt(pooled[m]));
        }
        for (int f = 0; f < families; f++) {
            evidence.byRelation[f] = Math.max(Math.log(sum[f] / count[f] + 1e-12), -25);
        }
    }

    private void weighCeiling(List<Measurement> clips, Evidence evidence) {
        int piled = 0;
        double over = 0;
        for (Measurement m : clips) {
            PixelSample s = m.sample();
            int n = s.size();
            int superWhite = 0;
            int above = 0;
            int at = 0;
            int below = 0;
            for (int i = 0; i < n; i++) {
                double r = s.level(i, 0);
                double g = s.level(i, 1);
                double b = s.level(i, 2);
                double highest = Math.max(r, Math.max(g, b));
                superWhite += s.standard().luma(r, g, b) > SUPER_WHITE ? 1 : 0;
                above += highest > 1.012 ? 1 : 0;
                at += highest > 0.988 && highest <= 1.012 ? 1 : 0;
                below += highest > 0.94 && highest <= 0.988 ? 1 : 0;
            }
            over = Math.max(over, superWhite / (double) n);
            evidence.highest = Math.max(evidence.highest, m.levels().max());
            if (at > 0.003 * n && at > 0.8 * below && above < 0.0005 * n) {
                piled++;
            }
        }
        double against = over > 0.002 ? -7 : over > 0.0005 ? -2.5 : 0;
        evidence.over = over;
        evidence.piled = over > 0.0005 ? 0 : piled;
        double forScreen = evidence.piled == 0 ? 0 : evidence.piled == 1 ? 2.5 : 3.5;
        for (int f = 0; f < families; f++) {
            boolean endsAtWhite = f == 2 || f == 3 && members.get(members.size() - 1).profile.ceiling() < 1.01;
            evidence.byCeiling[f] = endsAtWhite ? against : -forScreen;
        }
    }

    /**
     * The slope of log(chroma / luma) over luma, by zones. Scenes differ far more in it than families do, so it never decides alone;
     * means and spread are those of the test photographs.
     */
    private void weighChroma(List<Measurement> clips, Evidence evidence) {
        double sum = 0;
        int n = 0;
        for (Measurement m : clips) {
            double slope = chromaSlope(m);
            if (!Double.isNaN(slope)) {
                sum += Math.min(Math.max(slope, -8), 2);
                n++;
            }
        }
        if (n == 0) {
            return;
        }
        double mean = sum / n;
        evidence.chromaSlope = mean;
        double[] usual = {-4.3, -3.1, -2.9};
        double certainty = Math.sqrt(Math.min(n, 4)) / (1.8 * 1.8);
        for (int f = 0; f < 3; f++) {
            double d = mean - usual[f];
            evidence.byChroma[f] = -0.5 * certainty * d * d;
        }
        double middle = Arrays.stream(evidence.byChroma, 0, 3).average().orElse(0);
        for (int f = 0; f < 3; f++) {
            evidence.byChroma[f] = Math.min(Math.max(evidence.byChroma[f] - middle, -0.5), 0.5);
        }
    }

    /** NaN where the clip has too little colour or too small a range of luma. */
    private static double chromaSlope(Measurement m) {
        double w = 0;
        double x = 0;
        double y = 0;
        double xx = 0;
        double xy = 0;
        for (Measurement.ChromaZone zone : m.chroma()) {
            double luma = (zone.from() + zone.to()) / 200;
            if (luma < 0.12 || luma > 1.05 || zone.share() < 0.004 || zone.chroma() < 0.004) {
                continue;
            }
            double weight = Math.min(zone.share(), 0.08);
            double value = Math.log(zone.chroma() / luma);
            w += weight;
            x += weight * luma;
            y += weight * value;
            xx += weight * luma * luma;
            xy += weight * luma * value;
        }
        double variance = w > 0 ? xx / w - x / w * x / w : 0;
        return variance < 0.15 * 0.15 ? Double.NaN : (xy / w - x / w * y / w) / variance;
    }

    private static int indexOfLargest(double[] values) {
        int at = 0;
        for (int i = 1; i < values.length; i++) {
            at = values[i] > values[at] ? i : at;
        }
        return at;
    }

    /** What a shoot shows, per family: the shipped ones and, where one was named, a fourth. */
    private final class Evidence {
        int clips;
        int pairs;
        int piled;
        double over;
        double highest = -7;
        double chromaSlope = Double.NaN;
        final double[] left = new double[families];
        final double[] byRelation = new double[families];
        final double[] byCeiling = new double[families];
        final double[] byChroma = new double[families];

        Evidence() {
            Arrays.fill(left, Double.NaN);
        }

        double[] probabilities() {
            double[] log = new double[families];
            double most = Double.NEGATIVE_INFINITY;
            for (int f = 0; f < families; f++) {
                log[f] = byRelation[f] + byCeiling[f] + byChroma[f];
                most = Math.max(most, log[f]);
            }
            double sum = 0;
            for (int f = 0; f < families; f++) {
                log[f] = Math.exp(log[f] - most);
                sum += log[f];
            }
            for (int f = 0; f < families; f++) {
                log[f] /= sum;
            }
            return log;
        }

        List<String> reasons(int f) {
            List<String> reasons = new ArrayList<>();
            if (pairs > 0) {
                double next = 1;
                for (int g = 0; g < 3; g++) {
                    next = g == f ? next : Math.min(next, left[g]);
                }
                reasons.add(String.format(Locale.ROOT, "%d %s of clips of one scene %s to %.1f %%, to %.1f %% through the next family", pairs,
                    pairs == 1 ? "pair" : "pairs", pairs == 1 ? "fits" : "fit", 100 * left[f], 100 * next));
            }
            if (piled > 0) {
                reasons.add("levels end at 100 % and pile up there");
            } else if (over > 0.0005) {
                reasons.add(String.format(Locale.ROOT, "levels to %.0f %%", highest));
            }
            if (byChroma[f] > 0.2) {
                reasons.add(f == 0 ? "chroma falls with luma" : "chroma keeps up with luma");
            }
            if (reasons.isEmpty()) {
                reasons.add(clips == 0 ? "there is no clip to go by"
                    : clips == 1 ? "one clip by itself shows too little" : "no two clips show one scene at different exposures");
            }
            return reasons;
        }

        ProfileChoice choice() {
            double[] probability = probabilities();
            int best = indexOfLargest(probability);
            boolean told = probability[best] >= ProfileChoice.TOLD;
            // The default stands in where nothing is told, unless what was found all but rules it out.
            int taken = told || probability[0] < 0.1 ? best : 0;
            List<ProfileChoice.FamilyScore> scores = new ArrayList<>();
            List<Profile> shipped = FamilyMember.shipped();
            for (int f = 0; f < 3; f++) {
                scores.add(new ProfileChoice.FamilyScore(shipped.get(f).name(), rounded(probability[f]), rounded(100 * left[f]),
                    rounded(byRelation[f]), rounded(byCeiling[f]), rounded(byChroma[f])));
            }
            return new ProfileChoice(shipped.get(taken), Math.min(rounded(probability[taken]), 0.99), told, reasons(taken), scores);
        }

        private static double rounded(double value) {
            return Double.isNaN(value) ? value : Math.round(value * 1e4) / 1e4 + 0.0;
        }
    }
}
