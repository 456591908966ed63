// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.measure;

/**
 * Counts of levels in steps of 1/1024 from about -7 % to 110 %; steps are centred so that 0 % and 100 % are step centres. Levels
 * beyond either end count in the last step there. Percentile p is the smallest level whose cumulative share reaches p.
 */
public final class LevelHistogram {
    public static final int STEPS_PER_UNIT = 1024;
    /** Step index of level 0. */
    public static final int ZERO = 72;
    public static final int SIZE = ZERO + 1128;

    private final long[] counts = new long[SIZE];

    /** The step a level fraction belongs to. */
    public static int stepOf(double level) {
        int step = (int) Math.floor(level * STEPS_PER_UNIT + (ZERO + 0.5));
        return Math.min(Math.max(step, 0), SIZE - 1);
    }

    /** As {@link #stepOf(double)} in single precision, for loops over pixels; NaN counts as the lowest. */
    static int stepOf(float level) {
        int step = (int) (level * STEPS_PER_UNIT + (ZERO + 0.5f));
        return step < 0 ? 0 : step < SIZE ? step : SIZE - 1;
    }

    /** Level fraction at the centre of a step. */
    public static double levelOf(int step) {
        return (step - ZERO) / (double) STEPS_PER_UNIT;
    }

    public void count(int step) {
        counts[step]++;
    }

    void add(LevelHistogram other) {
        for (int i = 0; i < SIZE; i++) {
            counts[i] += other.counts[i];
        }
    }

    public long total() {
        long sum = 0;
        for (long c : counts) {
            sum += c;
        }
        return sum;
    }

    public long countAt(int step) {
        return counts[step];
    }

    /**
     * Level fraction of a percentile.
     *
     * @param tenthsOfPercent 0..1000: 5 is the percentile 0.5
     * @return NaN when nothing was counted
     */
    public double percentile(int tenthsOfPercent) {
        long total = total();
        long sum = 0;
        for (int i = 0; i < SIZE; i++) {
            sum += counts[i];
            if (counts[i] > 0 && sum * 1000 >= total * tenthsOfPercent) {
                return levelOf(i);
            }
        }
        return Double.NaN;
    }

    /** Mean level fraction of what was counted, each at its step's centre; NaN when nothing was. */
    public double mean() {
        long sum = 0;
        for (int i = 0; i < SIZE; i++) {
            sum += counts[i] * (i - ZERO);
        }
        return sum / (double) total() / STEPS_PER_UNIT;
    }

    /** Share (0..1) of what lies at or above a level fraction. */
    public double shareFrom(double level) {
        long sum = 0;
        for (int i = stepOf(level); i < SIZE; i++) {
            sum += counts[i];
        }
        return sum == 0 ? 0 : sum / (double) total();
    }

    /** Share (0..1) of what lies at or below a level fraction. */
    public double shareTo(double level) {
        long sum = 0;
        for (int i = 0; i <= stepOf(level); i++) {
            sum += counts[i];
        }
        return sum == 0 ? 0 : sum / (double) total();
    }

    /** The counts themselves, for loops over pixels. */
    long[] counts() {
        return counts;
    }
}
