// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.measure;

/**
 * Counts the levels of a frame row by row. What is computed for each pixel is computed into arrays first, in loops that the
 * compiler turns into wide instructions; only the counting itself goes pixel by pixel, over two sets of counters in turn, so that
 * neighbours of one level do not wait for each other.
 */
final class RowSteps {
    /** The counter of pixels that do not count. */
    private static final int NONE = LevelHistogram.SIZE;
    private static final int SIZE = LevelHistogram.SIZE + 1;
    private static final float PER_STEP = LevelHistogram.STEPS_PER_UNIT;
    private static final float STEP_ZERO = LevelHistogram.ZERO + 0.5f;
    /** What a pixel that does not count is for noise: far from any code, so that its tile is left out. */
    private static final int NO_CODE = -1_000_000;

    float lowest = Float.POSITIVE_INFINITY;
    float highest = Float.NEGATIVE_INFINITY;
    /** Pixels that counted in the row counted last. */
    int counted;
    private boolean sitesAreAllPixels;
    private long sites;

    private final int[] lumaSteps;
    private final int[] redSteps;
    private final int[] greenSteps;
    private final int[] blueSteps;
    private final int[] chroma;
    private final int[] siteSteps;
    private final float[] siteLuma;
    private final float[] cb;
    private final float[] cr;
    private final float[] skinMargin;

    private final int[] luma = new int[2 * SIZE];
    private final int[] red = new int[2 * SIZE];
    private final int[] green = new int[2 * SIZE];
    private final int[] blue = new int[2 * SIZE];
    private final int[] atSites = new int[2 * SIZE];
    private final int[] skin = new int[SIZE];
    private final long[] chromaSums = new long[2 * SIZE];

    RowSteps(int width) {
        lumaSteps = new int[width];
        redSteps = new int[width];
        greenSteps = new int[width];
        blueSteps = new int[width];
        siteSteps = new int[width];
        chroma = new int[width];
        siteLuma = new float[width];
        cb = new float[width];
        cr = new float[width];
        skinMargin = new float[width];
    }

    /**
     * Steps of luma, its extremes, and luma as 12-bit codes for noise.
     *
     * @param codes receives a code for each column
     */
    void ofLuma(float[] y, int from, int to, int[] codes) {
        boolean all = extremes(y, from, to);
        steps(y, from, to, lumaSteps);
        codes(y, from, to, codes);
        if (!all) {
            for (int x = from; x < to; x++) {
                if (y[x] != y[x]) {
                    lumaSteps[x] = NONE;
                    codes[x] = NO_CODE;
                }
            }
        }
    }

    /** False when some pixel does not count. */
    private boolean extremes(float[] y, int from, int to) {
        float low0 = lowest;
        float low1 = lowest;
        float low2 = lowest;
        float low3 = lowest;
        float high0 = highest;
        float high1 = highest;
        float high2 = highest;
        float high3 = highest;
        int missing = 0;
        int x = from;
        // Four at once: each extreme waits for the one before it.
        for (; x + 3 < to; x += 4) {
            float a = y[x];
            float b = y[x + 1];
            float c = y[x + 2];
            float d = y[x + 3];
            low0 = a < low0 ? a : low0;
            low1 = b < low1 ? b : low1;
            low2 = c < low2 ? c : low2;
            low3 = d < low3 ? d : low3;
            high0 = a > high0 ? a : high0;
            high1 = b > high1 ? b : high1;
            high2 = c > high2 ? c : high2;
            high3 = d > high3 ? d : high3;
            missing += a != a | b != b | c != c | d != d ? 1 : 0;
        }
        for (; x < to; x++) {
            float a = y[x];
            low0 = a < low0 ? a : low0;
            high0 = a > high0 ? a : high0;
            missing += a != a ? 1 : 0;
        }
        lowest = Math.min(Math.min(low0, low1), Math.min(low2, low3));
        highest = Math.max(Math.max(high0, high1), Math.max(high2, high3));
        return missing == 0;
    }

    private static void steps(float[] level, int from, int to, int[] steps) {
        for (int x = from; x < to; x++) {
            steps[x] = Math.min(Math.max((int) (level[x] * PER_STEP + STEP_ZERO), 0), LevelHistogram.SIZE - 1);
        }
    }

    private static void codes(float[] level, int from, int to, int[] codes) {
        for (int x = from; x < to; x++) {
            codes[x] = (int) (level[x] * 3504f + 8192.5f) - 8192;
        }
    }

    /** Counts what {@link #ofLuma} found; returns the sum of the steps. */
    long countLuma(int from, int to) {
        int none = luma[NONE] + luma[SIZE + NONE];
        long sum = count(lumaSteps, from, to, luma);
        none = luma[NONE] + luma[SIZE + NONE] - none;
        counted = to - from - none;
        return sum - (long) none * NONE;
    }

    private static long count(int[] steps, int from, int to, int[] counters) {
        long sum = 0;
        int x = from;
        for (; x + 1 < to; x += 2) {
            int a = steps[x];
            int b = steps[x + 1];
            counters[a]++;
            counters[SIZE + b]++;
            sum += a + b;
        }
        if (x < to) {
            counters[steps[x]]++;
            sum += steps[x];
        }
        return sum;
    }

    /** Counts R', G', B', chroma and skin at the sites {@code from..to-1} of the row read last; its luma must have been counted. */
    void countSites(PixelRows rows, int from, int to) {
        sitesAreAllPixels = rows.siteShift == 0;
        float cbScale = (float) (1 / rows.standard.cbDivisor());
        float crScale = (float) (1 / rows.standard.crDivisor());
        float[] y = rows.luma;
        int[] ySteps = lumaSteps;
        if (!sitesAreAllPixels) {
            y = siteLuma;
            ySteps = siteSteps;
            for (int i = from; i < to; i++) {
                y[i] = rows.luma[i << rows.siteShift];
                ySteps[i] = lumaSteps[i << rows.siteShift];
            }
            count(ySteps, from, to, atSites);
        }
        steps(rows.r, from, to, redSteps);
        steps(rows.g, from, to, greenSteps);
        steps(rows.b, from, to, blueSteps);
        differences(rows.b, y, cbScale, from, to, cb);
        differences(rows.r, y, crScale, from, to, cr);
        chromaOf(cb, cr, from, to, chroma);
        skinMargins(y, cb, cr, from, to, skinMargin);
        for (int i = from; i < to; i++) {
            if (skinMargin[i] >= 0f) {
                skin[ySteps[i]]++;
            }
        }
        if (counted < rows.width) {
            leaveOut(ySteps, from, to);
        }
        count(redSteps, from, to, red);
        count(greenSteps, from, to, green);
        count(blueSteps, from, to, blue);
        sumChroma(ySteps, chroma, from, to, chromaSums);
        sites += to - from;
    }

    private void leaveOut(int[] ySteps, int from, int to) {
        for (int i = from; i < to; i++) {
            if (ySteps[i] == NONE) {
                redSteps[i] = NONE;
                greenSteps[i] = NONE;
                blueSteps[i] = NONE;
                sites--;
            }
        }
    }

    private static void differences(float[] colour, float[] y, float scale, int from, int to, float[] into) {
        for (int i = from; i < to; i++) {
            into[i] = (colour[i] - y[i]) * scale;
        }
    }

    private static void chromaOf(float[] cb, float[] cr, int from, int to, int[] chroma) {
        for (int i = from; i < to; i++) {
            chroma[i] = (int) ((float) Math.sqrt(cb[i] * cb[i] + cr[i] * cr[i]) * FrameTally.CHROMA_UNIT + 0.5f);
        }
    }

    /** Three loops: one with all of it is too long for the compiler to widen. */
    private static void skinMargins(float[] y, float[] cb, float[] cr, int from, int to, float[] margin) {
        for (int i = from; i < to; i++) {
            margin[i] = Skin.hueMargin(cb[i], cr[i]);
        }
        for (int i = from; i < to; i++) {
            margin[i] += Skin.yellowMargin(y[i], cb[i], cr[i]);
        }
        for (int i = from; i < to; i++) {
            margin[i] += Skin.chromaMargin(y[i], cb[i], cr[i]);
        }
    }

    private static void sumChroma(int[] steps, int[] chroma, int from, int to, long[] sums) {
        int i = from;
        for (; i + 1 < to; i += 2) {
            sums[steps[i]] += chroma[i];
            sums[SIZE + steps[i + 1]] += chroma[i + 1];
        }
        if (i < to) {
            sums[steps[i]] += chroma[i];
        }
    }

    /** Adds what was counted to a frame's tally. */
    void addTo(FrameTally tally) {
        int[] site = sitesAreAllPixels ? luma : atSites;
        for (int step = 0; step < LevelHistogram.SIZE; step++) {
            tally.luma.counts()[step] += luma[step] + luma[SIZE + step];
            tally.red.counts()[step] += red[step] + red[SIZE + step];
            tally.green.counts()[step] += green[step] + green[SIZE + step];
            tally.blue.counts()[step] += blue[step] + blue[SIZE + step];
            tally.skin.counts()[step] += skin[step];
            int zone = step * FrameTally.CHROMA_ZONES / LevelHistogram.SIZE;
            tally.zoneCount[zone] += site[step] + site[SIZE + step];
            tally.zoneChroma[zone] += chromaSums[step] + chromaSums[SIZE + step];
        }
        tally.sites += sites;
    }
}
