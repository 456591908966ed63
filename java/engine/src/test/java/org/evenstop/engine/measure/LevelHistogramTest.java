// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.measure;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.util.Random;
import org.junit.jupiter.api.Test;

/** Percentiles by the definition that is documented, and where it meets published ones. */
class LevelHistogramTest {
    private static LevelHistogram of(int... stepsAndCounts) {
        LevelHistogram h = new LevelHistogram();
        for (int i = 0; i < stepsAndCounts.length; i += 2) {
            for (int n = 0; n < stepsAndCounts[i + 1]; n++) {
                h.count(stepsAndCounts[i]);
            }
        }
        return h;
    }

    private static int stepOfPercentile(LevelHistogram h, int tenths) {
        return LevelHistogram.stepOf(h.percentile(tenths));
    }

    /**
     * The tie rule of FFmpeg's signalstats filter (its manual, and measured with version 5.1): exactly 10 % at the low value select it.
     * Where a tenth of the count is a whole number the two agree. Elsewhere signalstats rounds that tenth (81 values give 7, 25 give
     * 1), and we do not: the share must be reached, which is type 1 of R. J. Hyndman and Y. Fan, The American Statistician 50(4), 1996.
     */
    @Test
    void tiesAreDecidedAsPublished() {
        LevelHistogram even = of(150, 10, 160, 80, 170, 10);
        assertEquals(150, stepOfPercentile(even, 100));
        assertEquals(160, stepOfPercentile(even, 900));
        LevelHistogram more = of(150, 11, 160, 78, 170, 11);
        assertEquals(150, stepOfPercentile(more, 100));
        assertEquals(170, stepOfPercentile(more, 900));
        LevelHistogram hundred = new LevelHistogram();
        for (int i = 0; i < 100; i++) {
            hundred.count(i);
        }
        assertEquals(9, stepOfPercentile(hundred, 100));
        assertEquals(89, stepOfPercentile(hundred, 900));
        LevelHistogram eightyOne = new LevelHistogram();
        for (int i = 0; i < 81; i++) {
            eightyOne.count(i);
        }
        assertEquals(8, stepOfPercentile(eightyOne, 100), "8 of 81 are less than 10 %, 9 are enough");
        assertEquals(72, stepOfPercentile(eightyOne, 900));
    }

    /** Ten values 0..9 by the inverse of the distribution (Hyndman and Fan, type 1). */
    @Test
    void tenValues() {
        LevelHistogram ten = new LevelHistogram();
        for (int i = 0; i < 10; i++) {
            ten.count(100 + i);
        }
        int[][] expected = {{10, 0}, {100, 0}, {500, 4}, {900, 8}, {990, 9}, {1000, 9}, {0, 0}};
        for (int[] e : expected) {
            assertEquals(100 + e[1], stepOfPercentile(ten, e[0]), e[0] + " tenths of a percent");
        }
    }

    /** The definition, word for word, on random counts. */
    @Test
    void smallestLevelWhoseShareReaches() {
        Random random = new Random(2);
        for (int trial = 0; trial < 200; trial++) {
            LevelHistogram h = new LevelHistogram();
            int n = 1 + random.nextInt(300);
            for (int i = 0; i < n; i++) {
                h.count(random.nextInt(20) * 3);
            }
            for (int tenths : new int[] {1, 5, 10, 100, 250, 500, 900, 990, 995, 1000}) {
                int step = stepOfPercentile(h, tenths);
                long atOrBelow = 0;
                for (int i = 0; i <= step; i++) {
                    atOrBelow += h.countAt(i);
                }
                assertTrue(atOrBelow * 1000 >= (long) tenths * n && (atOrBelow - h.countAt(step)) * 1000 < (long) tenths * n);
                assertTrue(h.countAt(step) > 0, "a level that occurs");
            }
        }
    }

    @Test
    void stepsAreCentredOnBlackAndWhite() {
        assertEquals(0, LevelHistogram.levelOf(LevelHistogram.stepOf(0)), 0);
        assertEquals(1, LevelHistogram.levelOf(LevelHistogram.stepOf(1)), 0);
        for (int step = 0; step < LevelHistogram.SIZE; step++) {
            assertEquals(step, LevelHistogram.stepOf(LevelHistogram.levelOf(step)));
            assertEquals(step, LevelHistogram.stepOf(LevelHistogram.levelOf(step) + 0.49 / 1024));
        }
        assertEquals(0, LevelHistogram.stepOf(-5));
        assertEquals(LevelHistogram.SIZE - 1, LevelHistogram.stepOf(5));
        assertEquals(LevelHistogram.SIZE - 1, LevelHistogram.stepOf(Double.POSITIVE_INFINITY));
        assertTrue(LevelHistogram.levelOf(0) <= -0.07 && LevelHistogram.levelOf(LevelHistogram.SIZE - 1) >= 1.10, "-7 to 110 %");
    }

    @Test
    void sharesCountBothEnds() {
        LevelHistogram h = of(100, 3, 101, 5, 102, 2);
        assertEquals(0.7, h.shareFrom(LevelHistogram.levelOf(101)), 1e-12);
        assertEquals(0.8, h.shareTo(LevelHistogram.levelOf(101)), 1e-12);
        assertEquals(10, h.total());
        LevelHistogram empty = new LevelHistogram();
        assertTrue(Double.isNaN(empty.percentile(500)));
        assertEquals(0, empty.shareFrom(0), 0);
        assertEquals(0, empty.shareTo(1), 0);
    }
}
