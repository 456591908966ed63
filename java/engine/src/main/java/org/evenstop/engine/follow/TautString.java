// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.follow;

import java.util.Arrays;

/**
 * The shortest line through a tube about a sequence, its ends free: P. L. Davies and A. Kovac, "Local Extremes, Runs, Strings and
 * Multiresolution", Annals of Statistics 29(1), 2001. No other line in the tube has a smaller sum of steps, nor of their squares.
 */
final class TautString {
    private TautString() {
    }

    /**
     * @param middle of the tube
     * @param reach  how far the line may be from it, 0 or above, as many
     */
    static double[] through(double[] middle, double[] reach) {
        int n = middle.length;
        double[] line = new double[n];
        int anchor = level(middle, reach, line);
        while (anchor < n - 1) {
            anchor = pull(middle, reach, line, anchor);
        }
        return line;
    }

    /** The free beginning, up to where the line must leave its first level; returns the last place that it touches. */
    private static int level(double[] middle, double[] reach, double[] line) {
        int n = middle.length;
        int atLow = 0;
        int atHigh = 0;
        double low = Double.NEGATIVE_INFINITY;
        double high = Double.POSITIVE_INFINITY;
        for (int i = 0; i < n; i++) {
            double least = middle[i] - reach[i];
            double most = middle[i] + reach[i];
            if (least > high || most < low) {
                int last = least > high ? atHigh : atLow;
                Arrays.fill(line, 0, last + 1, least > high ? high : low);
                return last;
            }
            if (least >= low) {
                low = least;
                atLow = i;
            }
            if (most <= high) {
                high = most;
                atHigh = i;
            }
        }
        double mean = Arrays.stream(middle).average().orElse(0);
        Arrays.fill(line, Math.min(Math.max(mean, low), high));
        return n - 1;
    }

    /** One straight piece from a place that the line touches to the next; returns that. */
    private static int pull(double[] middle, double[] reach, double[] line, int anchor) {
        int n = middle.length;
        double from = line[anchor];
        int atLow = anchor;
        int atHigh = anchor;
        double low = Double.NEGATIVE_INFINITY;
        double high = Double.POSITIVE_INFINITY;
        int to = -1;
        double slope = 0;
        for (int i = anchor + 1; i < n && to < 0; i++) {
            double least = (middle[i] - reach[i] - from) / (i - anchor);
            double most = (middle[i] + reach[i] - from) / (i - anchor);
            if (least > high) {
                to = atHigh;
                slope = high;
            } else if (most < low) {
                to = atLow;
                slope = low;
            } else {
                if (least >= low) {
                    low = least;
                    atLow = i;
                }
                if (most <= high) {
                    high = most;
                    atHigh = i;
                }
            }
        }
        if (to < 0) {
            // The free end: as level as it may be.
            slope = low > 0 ? low : high < 0 ? high : 0;
            to = low > 0 ? atLow : high < 0 ? atHigh : n - 1;
        }
        for (int i = anchor + 1; i <= to; i++) {
            line[i] = from + slope * (i - anchor);
        }
        return to;
    }
}
