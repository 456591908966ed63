// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.curve;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertThrows;
import static org.junit.jupiter.api.Assertions.assertTrue;
import static org.junit.jupiter.api.Assertions.fail;

import java.util.Random;
import org.junit.jupiter.api.Test;

/** Properties of the interpolation that profiles stand on. */
class MonotoneCubicTest {
    private static final int STEPS = 65_537;

    @Test
    void passesItsPointsRisesBetweenThemAndInverts() {
        Random random = new Random(11);
        for (int trial = 0; trial < 12; trial++) {
            int n = 2 + random.nextInt(30);
            double[] x = new double[n];
            double[] y = new double[n];
            x[0] = -1;
            for (int i = 1; i < n; i++) {
                x[i] = x[i - 1] + 0.01 + Math.pow(random.nextDouble(), 3);
                y[i] = y[i - 1] + 0.001 + Math.pow(random.nextDouble(), 4);
            }
            MonotoneCubic curve = new MonotoneCubic(x, y);
            for (int i = 0; i < n; i++) {
                assertEquals(y[i], curve.valueAt(x[i]), 1e-12);
            }
            double last = Double.NEGATIVE_INFINITY;
            double bias = 0;
            for (int i = 0; i < STEPS; i++) {
                double at = x[0] - 0.2 + (x[n - 1] - x[0] + 0.4) * i / (STEPS - 1);
                double value = curve.valueAt(at);
                if (value < last - 1e-15 * Math.max(1, Math.abs(last))) {
                    fail("trial " + trial + " falls at " + at + " by " + (last - value));
                }
                last = value;
                if (i % 16 == 0) {
                    // Where the curve is flat the argument can not be told; the value can.
                    double error = curve.valueAt(curve.argumentOf(value)) - value;
                    assertEquals(0, error, 1e-12);
                    bias += error;
                }
            }
            assertEquals(0, bias / (STEPS / 16), 1e-13);
        }
    }

    @Test
    void staysBetweenPointsThatFallOrStayLevel() {
        double[] x = {0, 1, 2, 3, 4, 5};
        double[] y = {1.12, 1.12, 1.0, 0.84, 0.84, 0.5};
        MonotoneCubic curve = new MonotoneCubic(x, y);
        double last = Double.POSITIVE_INFINITY;
        for (int i = 0; i < STEPS; i++) {
            double value = curve.valueAt(5.0 * i / (STEPS - 1));
            assertTrue(value <= last + 1e-15 && value <= 1.12 + 1e-15 && value >= 0.5 - 1e-15);
            last = value;
        }
        assertEquals(1.12, curve.valueAt(0.5), 0);
        assertEquals(0.84, curve.valueAt(3.5), 0);
    }

    @Test
    void straightBeyondTheEnds() {
        MonotoneCubic curve = new MonotoneCubic(new double[] {0, 1, 3}, new double[] {0, 1, 4});
        assertEquals(-2 * curve.slopeAtStart(), curve.valueAt(-2), 1e-12);
        assertEquals(4 + 4 * curve.slopeAtEnd(), curve.valueAt(7), 1e-12);
        assertEquals(-2, curve.argumentOf(curve.valueAt(-2)), 1e-9);
        assertEquals(7, curve.argumentOf(curve.valueAt(7)), 1e-9);
        MonotoneCubic level = new MonotoneCubic(new double[] {0, 1, 3}, new double[] {0, 2, 3});
        assertEquals(0, level.slopeAtEnd(), "three points that bend so much end level");
        assertEquals(3, level.argumentOf(9), "and what lies above belongs to the end");
        assertEquals(2 * 0.3, new MonotoneCubic(new double[] {0, 1}, new double[] {0, 2}).valueAt(0.3), 1e-15, "two points are a line");
        assertTrue(Double.isNaN(curve.valueAt(Double.NaN)));
    }

    @Test
    void badPointsAreRefused() {
        double[] good = {0, 1, 2};
        for (double bad : new double[] {Double.NaN, Double.POSITIVE_INFINITY}) {
            assertThrows(IllegalArgumentException.class, () -> new MonotoneCubic(new double[] {0, bad, 2}, good));
            assertThrows(IllegalArgumentException.class, () -> new MonotoneCubic(good, new double[] {0, bad, 2}));
        }
        assertThrows(IllegalArgumentException.class, () -> new MonotoneCubic(new double[] {0, 0, 2}, good));
        assertThrows(IllegalArgumentException.class, () -> new MonotoneCubic(new double[] {0, 2, 1}, good));
        assertThrows(IllegalArgumentException.class, () -> new MonotoneCubic(new double[] {0}, new double[] {0}));
        String message = assertThrows(IllegalArgumentException.class, () -> new MonotoneCubic(good, new double[] {0, 1})).getMessage();
        assertTrue(message.contains("3 arguments and 2 values"), message);
    }

    @Test
    void findsItsWayHoweverUnevenlyThePointsLie() {
        double[] x = {-1e3, -1, -1 + 1e-9, -1 + 3e-9, 0, 1e-12, 1e-6, 0.02, 0.5, 0.5000001, 40, 1e6};
        double[] y = {-9, -2, -1.5, -1, 0, 0.1, 0.2, 0.3, 3, 3.5, 5, 6};
        MonotoneCubic curve = new MonotoneCubic(x, y);
        for (int i = 0; i < x.length; i++) {
            assertEquals(y[i], curve.valueAt(x[i]), "point " + i);
            assertEquals(y[i], curve.valueAt(Math.nextDown(x[i])), 1e-5, "before point " + i);
            assertEquals(y[i], curve.valueAt(Math.nextUp(x[i])), 1e-5, "after point " + i);
            for (int j = 1; i > 0 && j < 100; j++) {
                double between = curve.valueAt(x[i - 1] + (x[i] - x[i - 1]) * j / 100);
                assertTrue(between > y[i - 1] && between < y[i], between + " before point " + i);
            }
        }
        assertTrue(Double.isNaN(curve.valueAt(Double.NaN)));
    }
}
