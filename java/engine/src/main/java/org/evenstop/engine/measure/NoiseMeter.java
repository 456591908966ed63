// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.measure;

/**
 * Noise of luma, told apart from texture by looking only at the smoothest parts of the picture.
 *
 * <p>The finest diagonal detail of 2x2 blocks, d = (a - b - c + d) / 2 (Haar; its use for noise after D. L. Donoho and I. M.
 * Johnstone, "Ideal spatial adaptation by wavelet shrinkage", Biometrika 81(3), 1994), is averaged in magnitude over tiles of
 * 16x16 pixels; the tenth percentile of the tiles stands for noise alone (smallest-variance blocks, after S. I. Olsen,
 * "Estimation of noise in images: an evaluation", CVGIP 55(4), 1993). For Gaussian noise the mean of |d| is 0.7979 sigma and
 * the tenth percentile of means of 64 lies 12.1 % below it (calculated), which is undone.
 */
final class NoiseMeter {
    /** Pixels across a tile. */
    static final int TILE = 16;
    private static final int BLOCKS = TILE * TILE / 4;
    private static final int BINS = 4096;
    /** Tile sums of |a - b - c + d| per bin. */
    private static final int PER_BIN = 8;
    private static final double UNITS = 3504;
    private static final double TENTH_PERCENTILE = 1 - 1.2816 * 0.7555 / 8;

    private final long[] tiles = new long[BINS];

    /**
     * A whole tile that is neither black nor clipped.
     *
     * @param sumOfMagnitudes sum of |a - b - c + d| over its 64 blocks, in 12-bit codes
     */
    void count(int sumOfMagnitudes) {
        tiles[Math.min(sumOfMagnitudes / PER_BIN, BINS - 1)]++;
    }

    void add(NoiseMeter other) {
        for (int i = 0; i < BINS; i++) {
            tiles[i] += other.tiles[i];
        }
    }

    /** Standard deviation as a level fraction; 0 when nothing can be told. */
    double sigma() {
        long total = 0;
        for (long c : tiles) {
            total += c;
        }
        long below = 0;
        for (int i = 0; i < BINS; i++) {
            if (tiles[i] > 0 && 10 * (below + tiles[i]) >= total) {
                double inside = (0.1 * total - below) / tiles[i];
                double meanMagnitude = (i + inside) * PER_BIN / BLOCKS;
                return meanMagnitude / 2 / 0.7979 / TENTH_PERCENTILE / UNITS;
            }
            below += tiles[i];
        }
        return 0;
    }
}
