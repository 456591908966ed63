// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.measure;

import java.util.ArrayList;
import java.util.List;

/**
 * Noise of luma, told apart from texture by looking at the smoothest parts of the picture and at two scales.
 *
 * <p>The finest diagonal detail of 2x2 blocks, d = (a - b - c + d) / 2 (Haar; its use for noise after D. L. Donoho and I. M.
 * Johnstone, "Ideal spatial adaptation by wavelet shrinkage", Biometrika 81(3), 1994), is averaged in magnitude over tiles of
 * 16x16 pixels; the tenth percentile of the tiles stands for noise (smallest-variance blocks, after S. I. Olsen, "Estimation of
 * noise in images: an evaluation", CVGIP 55(4), 1993). For Gaussian noise the mean of |d| is 0.7979 sigma and the tenth
 * percentile of means of 64 lies 12.1 % below it (calculated), which is undone.
 *
 * <p>A picture may be texture everywhere. White noise has the same diagonal detail at the next scale, natural texture about
 * twice as much (its spectrum falls with frequency; D. J. Field, J. Opt. Soc. Am. A 4(12), 1987), so the ratio of the two tells
 * how much of the detail is noise.
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
    /** Square of the ratio of detail at the two scales in texture alone. */
    private static final double TEXTURE = 4;
    /** Never less than this part of the detail counts as noise: a fifth of its standard deviation. */
    private static final double LEAST_SHARE = 0.04;

    /** Tiles that are not black count from this level on towards the detail of levels: a lift may bring them where noise counts. */
    private static final float LEAST_LEVEL = 0x1p-10f;
    /** Levels between which tiles count as neither black nor clipped. */
    private static final double BLACK = 0.03;
    private static final double WHITE = 0.98;
    /** By level there are four steps to a doubling, by detail eight: the leading bits of floats. The first step of detail is none. */
    private static final int LEVEL_SHIFT = 21;
    private static final int DETAIL_SHIFT = 20;
    private static final int FIRST_LEVEL = Float.floatToRawIntBits(LEAST_LEVEL) >>> LEVEL_SHIFT;
    private static final int FIRST_DETAIL = (Float.floatToRawIntBits(1f) >>> DETAIL_SHIFT) - 1;
    private static final int LEVELS = 40;
    private static final int DETAILS = 168;
    /** Standard deviation, in percent of level, of Gaussian noise that a tile's sum of one comes of. */
    private static final double PERCENT_PER_SUM = 100 / (2 * 0.7979 * BLOCKS * UNITS);

    private final long[] tiles = new long[BINS];
    private final long[] coarse = new long[BINS];
    private final int[] byLevel = new int[LEVELS * DETAILS];

    /**
     * A whole tile.
     *
     * @param fine   sum of |a - b - c + d| over its 64 blocks, in 12-bit codes
     * @param coarse the same over the 16 blocks of 2x2 block sums, which is 8 times the mean fine detail for white noise
     * @param mean   level fraction
     */
    void count(int fine, int coarse, double mean) {
        if (!(mean >= LEAST_LEVEL && mean < WHITE)) {
            return;
        }
        if (counts(mean)) {
            int bin = Math.min(fine / PER_BIN, BINS - 1);
            tiles[bin]++;
            this.coarse[bin] += coarse;
        }
        int level = (Float.floatToRawIntBits((float) mean) >>> LEVEL_SHIFT) - FIRST_LEVEL;
        int detail = fine == 0 ? 0 : Math.min((Float.floatToRawIntBits((float) fine) >>> DETAIL_SHIFT) - FIRST_DETAIL, DETAILS - 1);
        byLevel[level * DETAILS + detail]++;
    }

    static boolean counts(double mean) {
        return mean > BLACK && mean < WHITE;
    }

    void add(NoiseMeter other) {
        for (int i = 0; i < BINS; i++) {
            tiles[i] += other.tiles[i];
            coarse[i] += other.coarse[i];
        }
        for (int i = 0; i < byLevel.length; i++) {
            byLevel[i] += other.byLevel[i];
        }
    }

    /** Tiles that tell detail. */
    int tiles() {
        long total = 0;
        for (int n : byLevel) {
            total += n;
        }
        return (int) Math.min(total, Integer.MAX_VALUE);
    }

    /** Detail of the tiles by their level, from dark to bright; levels at which there are none are left out. */
    List<TileDetail> details() {
        double total = tiles();
        List<TileDetail> details = new ArrayList<>();
        for (int level = 0; level < LEVELS; level++) {
            long n = 0;
            for (int detail = 0; detail < DETAILS; detail++) {
                n += byLevel[level * DETAILS + detail];
            }
            if (n == 0) {
                continue;
            }
            double middle = 0.5 * (firstOf(FIRST_LEVEL + level, LEVEL_SHIFT) + firstOf(FIRST_LEVEL + level + 1, LEVEL_SHIFT));
            List<Double> quantiles = new ArrayList<>();
            for (double share : TileDetail.SHARES) {
                quantiles.add(Math.round(1e4 * PERCENT_PER_SUM * quantile(level, share * n)) / 1e4);
            }
            details.add(new TileDetail(Math.round(1e5 * middle) / 1e3, Math.round(1e6 * n / total) / 1e6, quantiles));
        }
        return details;
    }

    private static double firstOf(int step, int shift) {
        return Float.intBitsToFloat(step << shift);
    }

    /** The sum of detail that so many tiles of a level stay under. */
    private double quantile(int level, double count) {
        double below = 0;
        for (int detail = 0; detail < DETAILS; detail++) {
            int n = byLevel[level * DETAILS + detail];
            if (n > 0 && below + n >= count) {
                double from = detail == 0 ? 0 : firstOf(FIRST_DETAIL + detail, DETAIL_SHIFT);
                double to = detail == 0 ? 0 : firstOf(FIRST_DETAIL + detail + 1, DETAIL_SHIFT);
                return from + (count - below) / n * (to - from);
            }
            below += n;
        }
        return 0;
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
                double fine = (i + inside) * PER_BIN / BLOCKS;
                double sigma = fine / 2 / 0.7979 / TENTH_PERCENTILE / UNITS;
                return sigma * Math.sqrt(noiseShare((int) (0.7 * i), (int) (1.3 * i) + 1, fine / TENTH_PERCENTILE));
            }
            below += tiles[i];
        }
        return 0;
    }

    /** Part of the squared detail that is noise, judged on the tiles whose fine detail lies in a range of bins. */
    private double noiseShare(int from, int to, double fine) {
        long n = 0;
        long sum = 0;
        for (int i = from; i <= Math.min(to, BINS - 1); i++) {
            n += tiles[i];
            sum += coarse[i];
        }
        if (n == 0 || fine <= 0) {
            return 1;
        }
        // Of 16 blocks each; a coarse difference has twice the fine one's standard deviation in white noise.
        double ratio = sum / (16.0 * n) / 2 / fine;
        double share = (TEXTURE - ratio * ratio) / (TEXTURE - 1);
        return Math.min(1, Math.max(LEAST_SHARE, share));
    }
}
