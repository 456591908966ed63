// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.measure;

import java.util.Arrays;

/**
 * Counts the levels of a frame, a run of a row at a time. Counting goes pixel by pixel, over counters in turn, so that neighbours of one
 * level do not wait for each other: of luma, those of the sites and those of the pixels between them.
 */
final class RowCounts {
    private static final int SIZE = LevelHistogram.SIZE + 1;
    private static final int NONE = MeasuredRow.NONE;
    /** Counters at sites hold a count over a sum of chroma lengths, each of which is below 2^22. */
    private static final int COUNT_SHIFT = 44;
    private static final long ONE = 1L << COUNT_SHIFT;
    private static final long SUM = ONE - 1;
    /** Sites after which the counters are emptied, before a sum could run into the count or that over the end. */
    private static final int MOST_SITES = 1 << 18;

    private final long[] atSites = new long[SIZE];
    private final int[] between = new int[SIZE];
    private final int[] others = new int[SIZE];
    private final int[] red = new int[SIZE];
    private final int[] green = new int[SIZE];
    private final int[] blue = new int[SIZE];
    private final int[] skin = new int[SIZE];
    private final long[] siteCounts = new long[SIZE];
    private final long[] chromaSums = new long[SIZE];
    private int held;
    private long sites;

    /** Forgets everything. */
    void begin() {
        Arrays.fill(atSites, 0);
        Arrays.fill(between, 0);
        Arrays.fill(others, 0);
        Arrays.fill(red, 0);
        Arrays.fill(green, 0);
        Arrays.fill(blue, 0);
        Arrays.fill(skin, 0);
        Arrays.fill(siteCounts, 0);
        Arrays.fill(chromaSums, 0);
        held = 0;
        sites = 0;
    }

    /** Pixels of a row without sites. */
    void countLuma(MeasuredRow row, int from, int to) {
        countPairs(row.lumaSteps, from, to, between, others);
    }

    private static void countPairs(int[] steps, int from, int to, int[] some, int[] others) {
        int x = from;
        for (; x + 1 < to; x += 2) {
            some[steps[x]]++;
            others[steps[x + 1]]++;
        }
        if (x < to) {
            some[steps[x]]++;
        }
    }

    /** Pixels {@code from..to-1} and the sites among them, {@code siteFrom..siteTo-1}. */
    void countSites(MeasuredRow row, int from, int to, int siteShift, int siteFrom, int siteTo) {
        countSkin(row, siteFrom, siteTo);
        if (row.counted < to - from) {
            leaveOut(row, siteFrom, siteTo);
        }
        if (siteShift > 0) {
            countBetween(row.lumaSteps, from | 1, to, between);
        }
        countSites(row.siteSteps, row.chroma, siteFrom, siteTo, atSites);
        countColours(row.redSteps, row.greenSteps, row.blueSteps, siteFrom, siteTo, red, green, blue);
        sites += siteTo - siteFrom;
        held += siteTo - siteFrom;
        if (held > MOST_SITES) {
            empty();
        }
    }

    private void leaveOut(MeasuredRow row, int from, int to) {
        for (int i = from; i < to; i++) {
            if (row.siteSteps[i] == NONE) {
                row.redSteps[i] = NONE;
                row.greenSteps[i] = NONE;
                row.blueSteps[i] = NONE;
                row.chroma[i] = 0;
                sites--;
            }
        }
    }

    private void countSkin(MeasuredRow row, int from, int to) {
        for (int i = from, word = 0; i < to; i += 64, word++) {
            for (long bits = row.skin[word]; bits != 0; bits &= bits - 1) {
                skin[row.siteSteps[i + Long.numberOfTrailingZeros(bits)]]++;
            }
        }
    }

    private static void countBetween(int[] steps, int from, int to, int[] counters) {
        for (int x = from; x < to; x += 2) {
            counters[steps[x]]++;
        }
    }

    private static void countSites(int[] steps, int[] chroma, int from, int to, long[] counters) {
        for (int i = from; i < to; i++) {
            counters[steps[i]] += ONE + chroma[i];
        }
    }

    private static void countColours(int[] redSteps, int[] greenSteps, int[] blueSteps, int from, int to, int[] red, int[] green, int[] blue) {
        for (int i = from; i < to; i++) {
            red[redSteps[i]]++;
            green[greenSteps[i]]++;
            blue[blueSteps[i]]++;
        }
    }

    private void empty() {
        for (int step = 0; step < SIZE; step++) {
            siteCounts[step] += atSites[step] >>> COUNT_SHIFT;
            chromaSums[step] += atSites[step] & SUM;
            atSites[step] = 0;
        }
        held = 0;
    }

    /** Adds what was counted to a frame's tally. */
    void addTo(FrameTally tally) {
        empty();
        for (int step = 0; step < LevelHistogram.SIZE; step++) {
            tally.luma.counts()[step] += siteCounts[step] + between[step] + others[step];
            tally.red.counts()[step] += red[step];
            tally.green.counts()[step] += green[step];
            tally.blue.counts()[step] += blue[step];
            tally.skin.counts()[step] += skin[step];
            int zone = step * FrameTally.CHROMA_ZONES / LevelHistogram.SIZE;
            tally.zoneCount[zone] += siteCounts[step];
            tally.zoneChroma[zone] += chromaSums[step];
        }
        tally.sites += sites;
    }
}
