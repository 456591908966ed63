// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.measure;

/**
 * Noise of luma from the finest diagonal detail: sigma = median |d| / 0.6745 with d = (a - b - c + d) / 2 over 2x2 blocks
 * (D. L. Donoho and I. M. Johnstone, "Ideal spatial adaptation by wavelet shrinkage", Biometrika 81(3), 1994, with Haar
 * wavelets). Kept apart for nine zones of luma, because a camera's noise depends on level.
 */
final class NoiseMeter {
    static final int ZONES = 9;
    private static final int BINS = 2048;
    /** Units of difference: 12-bit codes. */
    private static final double UNITS = 3504;
    /** Fewer blocks than this in a zone say nothing about it. */
    private static final long ENOUGH = 400;

    private final long[][] bins = new long[ZONES][BINS];
    private int unitStep = 16;

    /** One block: sum of its four luma levels, and a - b - c + d, both in 12-bit codes above black. */
    void count(int sum, int difference) {
        int zone = Math.min(Math.max(sum * ZONES / (4 * 3855), 0), ZONES - 1);
        bins[zone][Math.min(Math.abs(difference), BINS - 1)]++;
    }

    /** How coarse the codes are, in 12-bit codes: 16 at 8 bit, 4 at 10 bit, 1 otherwise. */
    void steps(int codes) {
        unitStep = Math.min(unitStep, codes);
    }

    void add(NoiseMeter other) {
        for (int z = 0; z < ZONES; z++) {
            for (int i = 0; i < BINS; i++) {
                bins[z][i] += other.bins[z][i];
            }
        }
        unitStep = Math.min(unitStep, other.unitStep);
    }

    /** Standard deviation as a level fraction over all zones; 0 when nothing can be told. */
    double sigma() {
        long[] all = new long[BINS];
        for (long[] zone : bins) {
            for (int i = 0; i < BINS; i++) {
                all[i] += zone[i];
            }
        }
        return sigma(all);
    }

    /** Standard deviation as a level fraction in one zone (each ninth of 0..110 %); NaN where there is too little. */
    double sigma(int zone) {
        long total = 0;
        for (long c : bins[zone]) {
            total += c;
        }
        return total < ENOUGH ? Double.NaN : sigma(bins[zone]);
    }

    private double sigma(long[] counts) {
        long total = 0;
        for (long c : counts) {
            total += c;
        }
        if (total == 0) {
            return 0;
        }
        // The last bin holds edges of any size; the median never lies there on a picture.
        long below = 0;
        for (int i = 0; i < BINS; i++) {
            if (2 * (below + counts[i]) >= total && counts[i] > 0) {
                // Codes are coarse: spread what was counted here evenly over one code step.
                double from = Math.max(0, i - unitStep / 2.0);
                double width = i == 0 ? unitStep / 2.0 : unitStep;
                double median = from + width * (0.5 * total - below) / counts[i];
                return median / 2 / 0.6745 / UNITS;
            }
            below += counts[i];
        }
        return 0;
    }
}
