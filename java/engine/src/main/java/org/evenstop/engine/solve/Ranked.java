// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.solve;

import java.util.Arrays;

/**
 * Many values of which some are wanted by rank: what {@link Arrays#sort(double[])} would put there, in a fraction of its time. They are counted out into as many
 * cells of equal width, and only those cells that are asked for are put in order.
 */
final class Ranked {
    /** Values in a cell from which comparing neighbours is no longer the quickest way. */
    private static final int CROWDED = 32;

    private final double[] values;
    private final double least;
    private final double cellsPerValue;
    /** First rank of each cell, and the number of values; null where all are in order. */
    private final int[] begins;

    /** @param given one or more; left as they are */
    Ranked(double[] given) {
        int n = given.length;
        double low = Double.POSITIVE_INFINITY;
        double high = Double.NEGATIVE_INFINITY;
        for (double value : given) {
            low = Math.min(low, value);
            high = Math.max(high, value);
        }
        least = low;
        cellsPerValue = (n - 1) / (high - low);
        // Not where they are few, all the same, or not all of them numbers.
        if (n < CROWDED || !(high > low) || !(cellsPerValue > 0 && cellsPerValue < Double.POSITIVE_INFINITY)) {
            values = given.clone();
            Arrays.sort(values);
            begins = null;
            return;
        }
        values = new double[n];
        begins = new int[n + 1];
        for (double value : given) {
            begins[cellOf(value)]++;
        }
        int before = 0;
        for (int cell = 0; cell <= n; cell++) {
            before += begins[cell];
            begins[cell] = before;
        }
        for (double value : given) {
            values[--begins[cellOf(value)]] = value;
        }
    }

    private int cellOf(double value) {
        return (int) ((value - least) * cellsPerValue);
    }

    /** The value at a rank, 0 for the least. */
    double at(int rank) {
        return rising(rank, rank + 1)[rank];
    }

    /**
     * All values, those of some ranks in their place.
     *
     * @return this object's own, in which the others stand anyhow
     */
    double[] rising(int fromRank, int toRankExclusive) {
        if (begins != null) {
            int first = cellOf(values[fromRank]);
            int last = cellOf(values[toRankExclusive - 1]);
            for (int cell = first; cell <= last; cell++) {
                if (begins[cell + 1] - begins[cell] > CROWDED) {
                    Arrays.sort(values, begins[cell], begins[cell + 1]);
                }
            }
            for (int i = begins[first] + 1; i < begins[last + 1]; i++) {
                double value = values[i];
                int j = i;
                while (j > begins[first] && values[j - 1] > value) {
                    values[j] = values[j - 1];
                    j--;
                }
                values[j] = value;
            }
        }
        return values;
    }
}
