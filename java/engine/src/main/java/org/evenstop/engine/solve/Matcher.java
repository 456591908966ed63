// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.solve;

import java.util.ArrayList;
import java.util.Arrays;
import java.util.Comparator;
import java.util.List;
import java.util.Locale;
import org.evenstop.engine.curve.Curve;
import org.evenstop.engine.level.LumaStandard;
import org.evenstop.engine.measure.Measurement;
import org.evenstop.engine.measure.PixelSample;
import org.evenstop.engine.profile.Profile;

/**
 * Works out the correction that brings a clip to the corrected picture of a reference clip of the same scene.
 *
 * <p>Both pictures are taken for clouds of colours. The clip's is re-exposed, bent and re-coloured until as much of it as possible
 * falls together with the reference's corrected one ({@link ColourCells#common}, the histogram intersection of M. J. Swain and
 * D. H. Ballard, Int. J. Computer Vision 7(1), 1991). What only one of them shows finds no counterpart wherever it is moved, so it
 * does not pull; what is clipped in either does not take part. The search is coarse to fine over the exposure first, then over all
 * of {@link MatchedCurves}.
 */
public final class Matcher {
    /** Allowed miss of a fitted curve: 0.2 % of level. */
    private static final double FIT = 0.002;
    /** Pixels used in the search; all of the sample is used to judge its result. */
    private static final int SEARCH_PIXELS = 4096;
    /** This near to the ceiling a channel counts as clipped: 2 %. */
    private static final double NEAR_CEILING = 0.02;
    /** Largest difference of exposure that is looked for, in stops. */
    private static final double MOST_STOPS = 7;
    /** Steps in which exposures are tried first, in stops. */
    private static final double STOPS_APART = 0.25;
    /** Cell widths of the search, as level fractions, with the first step of each (own choice, no source). */
    private static final double[] WIDTHS = {0.08, 0.055, 0.04, 0.03};
    private static final double[] FIRST_STEPS = {0.04, 0.02, 0.012, 0.006};
    private static final double LAST_STEP = 0.0012;
    /** What a bend of R by 5 % of level between knots must bring in common share to be worth it; likewise tilt and bow of 1. */
    private static final double PRICE = 0.003;
    private static final double PRICED_BEND = 0.05;
    /** Largest tilt and bow of the chroma curve. */
    private static final double MOST_CHROMA = 1.5;
    private static final double LARGEST_OFFSET = 0.25;

    /** Cell width at which the result is judged. */
    private static final double JUDGED_WIDTH = 0.02;
    /** Shift with which the judge looks how sharply the clouds fit, in stops. */
    private static final double SHIFT = 0.2;
    /** Evidence (common share and sharpness together) of sureness 0, {@link MatchResult#LEAST_SURENESS} and 1: trials on photographs. */
    private static final double NO_EVIDENCE = 0.25;
    private static final double ENOUGH = 0.57;
    private static final double PLENTY = 0.90;
    /** Less of a picture than this recorded is less to be sure of. */
    private static final double LEAST_RECORDED = 0.15;

    private final Measurement clip;
    private final Measurement reference;
    private final Correction referenceCorrection;
    private final Profile profile;
    private final Preset preset;
    private final LumaStandard standard;
    private final MatchedCurves.Ground ground;

    private Matcher(Measurement clip, Measurement reference, Correction referenceCorrection, Profile profile, Preset preset) {
        this.clip = clip;
        this.reference = reference;
        this.referenceCorrection = referenceCorrection;
        this.profile = profile;
        this.preset = preset;
        standard = clip.sample().standard();
        ColourCloud before = clipCloud(SEARCH_PIXELS);
        ColourCloud after = referenceCloud(SEARCH_PIXELS);
        ground = new MatchedCurves.Ground(profile, new LightTable(profile), referenceCorrection,
            Math.min(before.lumaAt(0.01), after.lumaAt(0.01)), Math.max(before.lumaAt(0.99), after.lumaAt(0.99)));
    }

    /**
     * The correction with which the clip looks like the corrected reference.
     *
     * @param clip                with a sample of at least one pixel, at its own exposure
     * @param reference           likewise, of another clip of the scene
     * @param referenceCorrection the reference's own result: what is done to it
     * @param profile             of both clips; where it is wrong, the match bends levels and chroma to meet the reference
     * @param preset              its limits hold; its anchors are used where the match is not sure
     * @throws IllegalArgumentException when a measurement keeps no sample
     */
    public static MatchResult match(Measurement clip, Measurement reference, Correction referenceCorrection, Profile profile, Preset preset) {
        for (Measurement m : List.of(clip, reference)) {
            if (m.sample().size() == 0) {
                throw new IllegalArgumentException(m.clip() + ": the measurement keeps no pixels to match; measure the clip again");
            }
        }
        return new Matcher(clip, reference, referenceCorrection, profile, preset).match();
    }

    private MatchResult match() {
        double[] found = search();
        Evidence evidence = new Evidence(found);
        double sureness = evidence.sureness();
        if (sureness < MatchResult.LEAST_SURENESS) {
            Correction own = Solver.solve(clip, profile, preset);
            String note = String.format(Locale.ROOT, "Not matched to %s: not sure (%.2f) that they show the same, %.0f %% of the picture agrees;"
                + " solved by preset %s instead.", reference.clip(), sureness, 100 * evidence.common, preset.name());
            return new MatchResult(withFirstNote(own, note), sureness, evidence.common, false);
        }
        List<String> notes = new ArrayList<>();
        notes.add(String.format(Locale.ROOT, "Matched to %s: %s (%.2f), %.0f %% of the picture agrees.", reference.clip(),
            MatchResult.word(sureness), sureness, 100 * evidence.common));
        return new MatchResult(correction(found, notes), sureness, evidence.common, true);
    }

    private Correction correction(double[] found, List<String> notes) {
        MatchedCurves free = new MatchedCurves(ground, found);
        if (free.largestOffset() > 0.02 || free.largestChromaChange() > 1.15) {
            notes.add(String.format(Locale.ROOT, "Profile %s alone does not bring the two together: levels were moved by up to %.1f %% and"
                + " chroma by a factor of up to %.2f beyond it.", profile.name(), 100 * free.largestOffset(), free.largestChromaChange()));
        }
        double wanted = found[0] + referenceCorrection.origin().stops();
        double trim = preset.exposureTrim();
        double k = Solver.limited(clip, profile, preset.keepsExposure() ? BestExposed.unlimited(preset) : preset, wanted - trim, notes) + trim;
        double[] held = found.clone();
        held[0] += k - wanted;
        MatchedCurves curves = new MatchedCurves(ground, held);
        Stretch fold = fold(curves);
        Curve tone = curves.toneCurve(fold, FIT);
        Curve chromaIn = Curve.fitFlatEnded(curves::chromaIn, FIT);
        Curve chromaOut = Curve.fitFlatEnded(curves::chromaOut, FIT);
        double rounded = Math.round(k * 1e4) / 1e4 + 0.0;
        return Solver.completed(clip, profile, preset, rounded, chromaIn, tone, chromaOut, notes);
    }

    /** What the clip holds above the reference's highlights is folded under the preset's highlight level too. */
    private Stretch fold(MatchedCurves curves) {
        PixelSample sample = clip.sample();
        double[] highest = new double[sample.size()];
        for (int i = 0; i < highest.length; i++) {
            double most = Math.max(sample.level(i, 0), Math.max(sample.level(i, 1), sample.level(i, 2)));
            double y = standard.luma(sample.level(i, 0), sample.level(i, 1), sample.level(i, 2));
            highest[i] = curves.tone(y + curves.chromaIn(y) * (most - y));
        }
        Arrays.sort(highest);
        double top = highest[Math.min(highest.length - 1, (int) (Solver.TOP * highest.length))];
        // Where the match itself ends a little above the level, as the reference may, nothing needs to be done.
        double level = preset.highlightLevel() / 100;
        double highlights = highest[Math.min(highest.length - 1, (int) (Solver.HIGHLIGHTS * highest.length))];
        return new Stretch(List.of(), highlights, top > level + 0.005 ? top : 0, level);
    }

    private static Correction withFirstNote(Correction c, String note) {
        CorrectionOrigin o = c.origin();
        List<String> notes = new ArrayList<>(List.of(note));
        notes.addAll(o.notes());
        return new Correction(c.chromaIn(), c.tone(), c.chromaOut(), c.standard(),
            new CorrectionOrigin(o.clip(), o.profile(), o.preset(), o.subject(), o.stops(), o.before(), o.after(), notes));
    }

    /** The recorded pixels of the clip as they are. */
    private ColourCloud clipCloud(int most) {
        PixelSample sample = clip.sample();
        int step = Math.max(1, sample.size() / most);
        int taken = (sample.size() + step - 1) / step;
        ColourCloud cloud = new ColourCloud(taken, 1.0 / taken);
        for (int i = 0; i < sample.size(); i += step) {
            if (isRecorded(clip, i)) {
                double y = standard.luma(sample.level(i, 0), sample.level(i, 1), sample.level(i, 2));
                cloud.add(y, sample.level(i, 2) - y, sample.level(i, 0) - y);
            }
        }
        return cloud;
    }

    /** The recorded pixels of the reference after its correction. */
    private ColourCloud referenceCloud(int most) {
        PixelSample sample = reference.sample();
        LumaStandard own = sample.standard();
        Correction c = referenceCorrection;
        int step = Math.max(1, sample.size() / most);
        int taken = (sample.size() + step - 1) / step;
        ColourCloud cloud = new ColourCloud(taken, 1.0 / taken);
        double[] v = new double[3];
        for (int i = 0; i < sample.size(); i += step) {
            if (!isRecorded(reference, i)) {
                continue;
            }
            double y = own.luma(sample.level(i, 0), sample.level(i, 1), sample.level(i, 2));
            double in = c.chromaIn().at((float) y);
            for (int k = 0; k < 3; k++) {
                v[k] = c.tone().at((float) (y + in * (sample.level(i, k) - y)));
            }
            double luma = own.luma(v[0], v[1], v[2]);
            double out = c.chromaOut().at((float) luma);
            double r = luma + out * (v[0] - luma);
            double g = luma + out * (v[1] - luma);
            double b = luma + out * (v[2] - luma);
            double shown = standard.luma(r, g, b);
            cloud.add(shown, b - shown, r - shown);
        }
        return cloud;
    }

    private boolean isRecorded(Measurement of, int i) {
        PixelSample sample = of.sample();
        double r = sample.level(i, 0);
        double g = sample.level(i, 1);
        double b = sample.level(i, 2);
        double y = sample.standard().luma(r, g, b);
        double top = Math.min(profile.ceiling(), of.ceiling() / 100) - NEAR_CEILING;
        return y + (Math.max(r, Math.max(g, b)) - y) / profile.chromaFactor(y) < top;
    }

    /** The parameters of {@link MatchedCurves} with which clip and reference have most in common. */
    private double[] search() {
        ColourCloud before = clipCloud(SEARCH_PIXELS);
        ColourCloud after = referenceCloud(SEARCH_PIXELS);
        Score[] scores = new Score[WIDTHS.length];
        for (int i = 0; i < WIDTHS.length; i++) {
            scores[i] = new Score(before, after.cells(WIDTHS[i]), WIDTHS[i]);
        }
        double[] best = null;
        double most = Double.NEGATIVE_INFINITY;
        // Wide cells see a match from far off, narrow ones tell a part that is the same from a whole that is merely alike.
        for (int first : new int[] {0, 2}) {
            for (double d : peaks(scores[first])) {
                double[] found = new double[MatchedCurves.PARAMETERS];
                found[0] = d;
                for (int stage = first; stage < WIDTHS.length; stage++) {
                    found = climbed(found, scores[stage], FIRST_STEPS[stage]);
                }
                double value = scores[WIDTHS.length - 1].of(found);
                if (value > most) {
                    most = value;
                    best = found;
                }
            }
        }
        return best;
    }

    /** The exposure with the highest score and the next highest peak, if it comes near; small changes first among equals. */
    private static List<Double> peaks(Score score) {
        int reach = (int) (MOST_STOPS / STOPS_APART);
        double[] value = new double[2 * reach + 1];
        List<Integer> tops = new ArrayList<>();
        for (int i = 0; i < value.length; i++) {
            double[] candidate = new double[MatchedCurves.PARAMETERS];
            candidate[0] = (i - reach) * STOPS_APART;
            value[i] = score.of(candidate);
        }
        for (int i = 0; i < value.length; i++) {
            boolean isTop = (i == 0 || value[i] >= value[i - 1]) && (i == value.length - 1 || value[i] >= value[i + 1]);
            if (isTop) {
                tops.add(i);
            }
        }
        tops.sort(Comparator.<Integer>comparingDouble(i -> -value[i]).thenComparingInt(i -> Math.abs(i - reach)));
        return tops.stream().filter(i -> value[i] >= 0.8 * value[tops.get(0)]).limit(2).map(i -> (i - reach) * STOPS_APART).toList();
    }

    /** Pattern search (R. Hooke and T. A. Jeeves, J. ACM 8(2), 1961) uphill from a start. */
    private static double[] climbed(double[] start, Score score, double firstStep) {
        double[] best = start;
        double most = score.of(best);
        double step = firstStep;
        for (int round = 0; round < 12; round++) {
            double[] from = best;
            for (int j = 0; j < best.length; j++) {
                for (int sign = -1; sign <= 1; sign += 2) {
                    double[] candidate = best.clone();
                    candidate[j] += sign * step * unit(j);
                    double value = score.of(candidate);
                    if (value > most + 1e-5) {
                        most = value;
                        best = candidate;
                        break;
                    }
                }
            }
            if (best != from) {
                double[] onward = best.clone();
                for (int j = 0; j < onward.length; j++) {
                    onward[j] += best[j] - from[j];
                }
                double value = score.of(onward);
                if (value > most) {
                    most = value;
                    best = onward;
                }
            } else if (step < Math.max(firstStep / 3, LAST_STEP)) {
                break;
            } else {
                step /= 2;
            }
        }
        return best;
    }

    /** How much of a parameter moves the picture about as much as an offset of 1 does. */
    private static double unit(int parameter) {
        return parameter == 0 ? 3 : parameter > MatchedCurves.OFFSETS ? 5 : 1;
    }

    /** What clip and reference have in common, less a small price on bending. */
    private final class Score {
        private final ColourCloud before;
        private final ColourCells wanted;
        private final double width;

        Score(ColourCloud before, ColourCells wanted, double width) {
            this.before = before;
            this.wanted = wanted;
            this.width = width;
        }

        double of(double[] p) {
            if (Math.abs(p[MatchedCurves.TILT]) > MOST_CHROMA || Math.abs(p[MatchedCurves.BOW]) > MOST_CHROMA || Math.abs(p[0]) > MOST_STOPS + 1) {
                return Double.NEGATIVE_INFINITY;
            }
            double price = p[MatchedCurves.TILT] * p[MatchedCurves.TILT] + p[MatchedCurves.BOW] * p[MatchedCurves.BOW];
            for (int i = 1; i <= MatchedCurves.OFFSETS; i++) {
                if (Math.abs(p[i]) > LARGEST_OFFSET) {
                    return Double.NEGATIVE_INFINITY;
                }
                double bend = (p[i] - (i == 1 ? 0 : p[i - 1])) / PRICED_BEND;
                price += bend * bend;
            }
            return new MatchedCurves(ground, p).applied(before, standard).cells(width).common(wanted) - PRICE * price;
        }
    }

    /** What speaks for the result, on all of the sample. */
    private final class Evidence {
        /** Common share of the recorded picture, of the one that has less of it. */
        final double common;
        private final double sharpness;
        private final double recorded;

        Evidence(double[] found) {
            ColourCloud before = clipCloud(Integer.MAX_VALUE);
            ColourCloud after = referenceCloud(Integer.MAX_VALUE);
            ColourCells wanted = after.cells(JUDGED_WIDTH);
            double shared = shared(before, found, 0, wanted);
            recorded = Math.min(before.total(), after.total());
            common = recorded == 0 ? 0 : Math.min(1, shared / recorded);
            sharpness = shared == 0 ? 0
                : Math.max(0, 1 - 0.5 * (shared(before, found, -SHIFT, wanted) + shared(before, found, SHIFT, wanted)) / shared);
        }

        private double shared(ColourCloud before, double[] found, double shift, ColourCells wanted) {
            double[] p = found.clone();
            p[0] += shift;
            return new MatchedCurves(ground, p).applied(before, standard).cells(JUDGED_WIDTH).common(wanted);
        }

        double sureness() {
            double z = common + sharpness;
            double sure = z < ENOUGH ? MatchResult.LEAST_SURENESS * (z - NO_EVIDENCE) / (ENOUGH - NO_EVIDENCE)
                : MatchResult.LEAST_SURENESS + (1 - MatchResult.LEAST_SURENESS) * (z - ENOUGH) / (PLENTY - ENOUGH);
            return Math.min(1, Math.max(0, sure)) * Math.min(1, recorded / LEAST_RECORDED);
        }
    }
}
