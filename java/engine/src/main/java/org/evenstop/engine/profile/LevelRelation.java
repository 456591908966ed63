// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.profile;

import java.util.List;

/**
 * How the levels of two clips relate. If both show one scene through one camera with tone curve P, the levels of a channel in the
 * darker clip go over into those of the brighter by x -> P(2^k P^-1(x)) for one k, rank by rank (intensity mapping from histograms:
 * M. D. Grossberg and S. K. Nayar, "Determining the camera response from images: what is knowable?", IEEE Trans. PAMI 25(11), 2003,
 * where it is also shown that P is known only up to an exponent when k is not given; re-exposing does not depend on it).
 * How badly the best k misses says which curves can not be the camera's, and whether the clips can be of one scene at all.
 */
final class LevelRelation {
    /** Levels under this are as much noise as light. */
    private static final double DARKEST = 0.04;
    /** Smallest difference of exposure, in stops, that says something about a curve. */
    private static final double LEAST_STOPS = 0.35;
    private static final double MOST_STOPS = 7;
    /** Sum of level steps (per channel) that must be covered. */
    private static final double LEAST_COVER = 0.20;

    /** Root mean square, in level, above which no camera of any family will explain a relation that a typical one does not: 4 %. */
    private static final double HOPELESS = 0.04;

    /** Per member: weighted mean square of what is left after the best k, in level fractions squared; without meaning where {@link #best} is large. */
    final double[] left;
    final double[] stops;
    /** Smallest of {@link #left}. */
    final double best;
    /** Whether the clips differ enough in exposure, and cover enough of the scale, to tell curves apart. */
    final boolean telling;
    final double cover;

    LevelRelation(ClipLevels one, ClipLevels other, List<FamilyMember> members) {
        boolean ordered = one.medianLuma <= other.medianLuma;
        ClipLevels dark = ordered ? one : other;
        ClipLevels bright = ordered ? other : one;
        left = new double[members.size()];
        stops = new double[members.size()];
        // Clips of different scenes, which most are, show it through the few typical cameras already.
        int at = smallest(dark, bright, members, true);
        if (left[at] < HOPELESS * HOPELESS) {
            at = smallest(dark, bright, members, false);
        }
        best = left[at];
        cover = cover(dark.quantiles[members.get(at).chroma], bright.quantiles[members.get(at).chroma]);
        telling = cover >= LEAST_COVER && stops[at] >= LEAST_STOPS && stops[at] <= MOST_STOPS;
    }

    private int smallest(ClipLevels dark, ClipLevels bright, List<FamilyMember> members, boolean typicalOnly) {
        int at = -1;
        for (int m = 0; m < left.length; m++) {
            if (typicalOnly && !members.get(m).typical) {
                continue;
            }
            fit(dark, bright, members.get(m), m);
            at = at < 0 || left[m] < left[at] ? m : at;
        }
        return at;
    }

    private static double weight(float[] dark, float[] bright, int rank) {
        if (dark[rank] < DARKEST || bright[rank] < DARKEST) {
            return 0;
        }
        int below = Math.max(rank - 1, 0);
        int above = Math.min(rank + 1, dark.length - 1);
        // Evenly over the scale, not over the picture, but for gaps that one rank can not speak for.
        return Math.min(0.25 * (dark[above] - dark[below] + bright[above] - bright[below]), 0.04);
    }

    private static double cover(float[][] dark, float[][] bright) {
        double sum = 0;
        for (int c = 0; c < 3; c++) {
            for (int r = 0; r < dark[c].length; r++) {
                sum += weight(dark[c], bright[c], r) / 3;
            }
        }
        return sum;
    }

    private void fit(ClipLevels dark, ClipLevels bright, FamilyMember member, int index) {
        float[][] from = dark.quantiles[member.chroma];
        float[][] to = bright.quantiles[member.chroma];
        int n = ClipLevels.RANKS.length;
        double[] light = new double[3 * n];
        double[] level = new double[3 * n];
        double[] weight = new double[3 * n];
        int used = 0;
        double total = 0;
        for (int c = 0; c < 3; c++) {
            for (int r = 0; r < n; r++) {
                double w = weight(from[c], to[c], r);
                if (w > 0) {
                    light[used] = member.stopsOf(from[c][r]);
                    level[used] = to[c][r];
                    weight[used++] = w;
                    total += w;
                }
            }
        }
        if (total <= 0) {
            left[index] = 1;
            return;
        }
        double bestStops = 0;
        double least = Double.POSITIVE_INFINITY;
        for (double k = -0.5; k <= MOST_STOPS + 0.25; k += 0.25) {
            double miss = miss(member, light, level, weight, used, k);
            if (miss < least) {
                least = miss;
                bestStops = k;
            }
        }
        double low = bestStops - 0.25;
        double high = bestStops + 0.25;
        for (int i = 0; i < 14; i++) {
            double a = low + (high - low) / 3;
            double b = high - (high - low) / 3;
            if (miss(member, light, level, weight, used, a) < miss(member, light, level, weight, used, b)) {
                high = b;
            } else {
                low = a;
            }
        }
        stops[index] = 0.5 * (low + high);
        left[index] = miss(member, light, level, weight, used, stops[index]) / total;
    }

    private static double miss(FamilyMember member, double[] light, double[] level, double[] weight, int n, double k) {
        double sum = 0;
        for (int i = 0; i < n; i++) {
            double miss = level[i] - member.levelOf(light[i] + k);
            sum += weight[i] * Math.min(miss * miss, 0.01);
        }
        return sum;
    }
}
