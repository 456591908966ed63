// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.solve;

import org.evenstop.engine.profile.Profile;

/**
 * A profile's {@link Profile#solvedLevel} and its inverse, tabulated finely enough (1/256 stop, linear between) that the search
 * over thousands of pixels is quick. Both directions use one table, so they undo each other.
 */
final class LightTable {
    /** Places a stop. */
    static final int PER_STOP = 256;
    /** Table end, in stops above mid grey: beyond it levels rise evenly per stop. */
    private static final double LAST = 16;
    /** Cells of level in which places are looked up. */
    private static final int CELLS = 16384;
    private static final double LN2 = Math.log(2);

    private final double first;
    private final double firstLight;
    private final double firstLevel;
    private final double slopeBelow;
    private final double[] level;
    /** For cells of equal width in level the last place of the table that lies before it, and cells a level. */
    private final int[] before;
    private final double perLevel;

    LightTable(Profile profile) {
        first = profile.stops()[0];
        firstLight = Profile.MID_GREY * Math.exp(LN2 * first);
        firstLevel = profile.levels()[0];
        slopeBelow = (firstLevel - profile.floor()) / firstLight;
        int n = (int) Math.ceil((LAST - first) * PER_STOP);
        level = new double[n + 1];
        for (int i = 0; i <= n; i++) {
            level[i] = profile.solvedLevel(Profile.MID_GREY * Math.exp(LN2 * (first + i / (double) PER_STOP)));
        }
        level[0] = firstLevel;
        before = new int[CELLS + 2];
        perLevel = CELLS / (level[n] - firstLevel);
        for (int cell = 0, i = 0; cell < before.length; cell++) {
            while (i < n && cellOf(level[i + 1]) < cell) {
                i++;
            }
            before[cell] = i;
        }
    }

    private int cellOf(double wanted) {
        return (int) Math.min((wanted - firstLevel) * perLevel, CELLS);
    }

    double levelOf(double light) {
        return levelAt(placeOf(light), light);
    }

    /** Where a light lies in the table, {@link #PER_STOP} places a stop; NaN or below 0 where it lies below the table. */
    double placeOf(double light) {
        return (Math.log(light / Profile.MID_GREY) / LN2 - first) * PER_STOP;
    }

    /** The level at a place; what lies below the table is told by its light alone. */
    double levelAt(double place, double light) {
        if (!(place > 0)) {
            return firstLevel + (light - firstLight) * slopeBelow;
        }
        int i = Math.min((int) place, level.length - 2);
        return level[i] + (place - i) * (level[i + 1] - level[i]);
    }

    double lightOf(double wanted) {
        if (wanted <= firstLevel) {
            return firstLight + (wanted - firstLevel) / slopeBelow;
        }
        int cell = cellOf(wanted);
        int low = Math.min(before[cell], level.length - 2);
        int high = Math.min(before[cell + 1] + 1, level.length - 1);
        while (high - low > 1) {
            int middle = (low + high) >>> 1;
            if (level[middle] <= wanted) {
                low = middle;
            } else {
                high = middle;
            }
        }
        double t = low + (wanted - level[low]) / (level[low + 1] - level[low]);
        return Profile.MID_GREY * Math.exp(LN2 * (first + t / PER_STOP));
    }
}
