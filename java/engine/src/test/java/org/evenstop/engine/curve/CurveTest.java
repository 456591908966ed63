// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.curve;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertNotEquals;
import static org.junit.jupiter.api.Assertions.assertThrows;
import static org.junit.jupiter.api.Assertions.assertTrue;
import static org.junit.jupiter.api.Assertions.fail;

import java.util.List;
import java.util.Random;
import java.util.function.DoubleUnaryOperator;
import org.evenstop.engine.profile.Profile;
import org.evenstop.engine.profile.ProfileShapes;
import org.junit.jupiter.api.Test;

/** Properties of the piecewise cubic that every correction is made of. */
class CurveTest {
    private static final int STEPS = 65_537;
    private static final List<Profile> PROFILES = List.of(ProfileShapes.cinemaSoft(), ProfileShapes.rec709Knee(), ProfileShapes.srgbScreen());

    private static float argument(int step, double from, double to) {
        return (float) (from + (to - from) * step / (STEPS - 1));
    }

    /** Every re-exposure through every shipped profile rises over 65,537 steps, beyond its ends too. */
    @Test
    void fittedCurvesNeverFall() {
        for (Profile profile : PROFILES) {
            for (double k = -4; k <= 4; k += 1) {
                double stops = k;
                Curve curve = Curve.fit(level -> profile.reexposed(level, stops), 0.002);
                assertTrue(curve.isNonDecreasing(), profile.name() + " " + k);
                float last = Float.NEGATIVE_INFINITY;
                for (int i = 0; i < STEPS; i++) {
                    float x = argument(i, -0.5, 1.5);
                    float value = curve.at(x);
                    // A float's rounding near 1, nothing more: 1/16,000 of a 10-bit code.
                    if (value < last - 1.2e-7f * Math.max(1, Math.abs(last))) {
                        fail(profile.name() + " " + k + " falls at " + x + " by " + (last - value));
                    }
                    last = Math.max(last, value);
                }
            }
        }
    }

    /** The promised 0.2 % of level, looked for on a grid much finer than the one the fit itself checks. */
    @Test
    void fitsMissByNoMoreThanTheirTolerance() {
        for (Profile profile : PROFILES) {
            for (double k = -4; k <= 4; k += 1) {
                double stops = k;
                DoubleUnaryOperator wanted = level -> profile.reexposed(level, stops);
                requireFit(profile.name() + " " + k, Curve.fit(wanted, 0.002), wanted, 0.002);
            }
            requireFactorFit(profile.name() + " chroma", Curve.fitFlatEnded(profile::chromaFactor, 0.002), profile::chromaFactor, 0.002);
            DoubleUnaryOperator undone = y -> 1 / profile.chromaFactor(y);
            requireFactorFit(profile.name() + " chroma undone", Curve.fitFlatEnded(undone, 0.002), undone, 0.002);
        }
        requireFit("identity", Curve.fit(x -> x, 1e-6), x -> x, 1e-6);
        DoubleUnaryOperator kinked = x -> x < 0.513 ? 0.4 * x : 0.2052 + 2 * (x - 0.513);
        Curve fine = Curve.fit(kinked, 0.002);
        requireFit("kink", fine, kinked, 0.002);
        assertTrue(fine.segmentCount() > 32, "a kink takes more knots");
    }

    private static void requireFit(String name, Curve curve, DoubleUnaryOperator wanted, double tolerance) {
        double worst = 0;
        double bias = 0;
        for (int i = 0; i < STEPS; i += 4) {
            float x = Math.min(Math.max(argument(i, Curve.DOMAIN_FROM, Curve.DOMAIN_TO), (float) Curve.DOMAIN_FROM), (float) Curve.DOMAIN_TO);
            double miss = curve.at(x) - wanted.applyAsDouble(x);
            worst = Math.max(worst, Math.abs(miss));
            bias += miss / (STEPS / 4);
        }
        // The fit looks at eight points a segment; between them the miss may be a little larger.
        assertTrue(worst <= 1.05 * tolerance + 1e-6, name + " misses by " + worst + " with " + curve.segmentCount() + " segments");
        assertTrue(Math.abs(bias) <= tolerance / 2 + 1e-6, name + " is off by " + bias + " on average");
    }

    /** The error of a factor, as the error of level it makes in the most saturated colour of that luma (BT.2020's weights). */
    private static void requireFactorFit(String name, Curve curve, DoubleUnaryOperator wanted, double tolerance) {
        double[] weights = {0.2627, 0.6780, 0.0593};
        double worst = 0;
        for (int corner = 0; corner < 512; corner++) {
            double[] v = new double[3];
            double y = 0;
            for (int c = 0; c < 3; c++) {
                v[c] = -0.07 + (1.0902 + 0.07) * (corner >> 3 * c & 7) / 7;
                y += weights[c] * v[c];
            }
            double miss = curve.at((float) y) - wanted.applyAsDouble(y);
            for (double channel : v) {
                worst = Math.max(worst, Math.abs(miss * (channel - y)));
            }
        }
        assertTrue(worst <= tolerance, name + " moves a channel by " + worst + " with " + curve.segmentCount() + " segments");
        assertTrue(curve.segmentCount() <= 64, name + " takes " + curve.segmentCount() + " segments");
    }

    @Test
    void endsAreTheKnotsAndBeyondThemTheCurveIsStraight() {
        Curve curve = new Curve(-0.07, 1.1, new double[] {-0.05, 0.3, 0.9, 1.02}, new double[] {0.5, 1.2, 1, 0.25});
        assertEquals(-0.05, curve.at(-0.07f), 1e-6);
        assertEquals(1.02, curve.at(1.1f), 1e-6);
        for (float beyond : new float[] {0.01f, 0.5f, 3, 1000}) {
            assertEquals(-0.05 - 0.5 * beyond, curve.at(-0.07f - beyond), 1e-5 * (1 + beyond));
            assertEquals(1.02 + 0.25 * beyond, curve.at(1.1f + beyond), 1e-5 * (1 + beyond));
        }
        double step = (1.1 + 0.07) / 3;
        assertEquals(0.3, curve.at((float) (-0.07 + step)), 1e-6, "an inner knot");
        double h = 1e-3;
        assertEquals(1.2, (curve.at((float) (-0.07 + step + h)) - curve.at((float) (-0.07 + step - h))) / (2 * h), 0.01, "its slope");
    }

    @Test
    void flatEndedCurvesStayConstantBeyondTheirEndsAndBetweenTheirKnots() {
        for (Profile profile : PROFILES) {
            Curve curve = Curve.fitFlatEnded(profile::chromaFactor, 0.002);
            double[] factors = profile.chromaFactors();
            double least = factors[factors.length - 1];
            for (int i = 0; i < STEPS; i++) {
                float value = curve.at(argument(i, -3, 3));
                assertTrue(value >= least - 1e-6 && value <= factors[0] + 1e-6, profile.name() + " overshoots: " + value);
            }
            assertEquals(curve.at(-0.07f), curve.at(-50f), 0);
            assertEquals(curve.at(1.1f), curve.at(50f), 1e-6);
        }
    }

    @Test
    void infinityAndNotANumber() {
        Curve rising = Curve.identity();
        assertTrue(Float.isNaN(rising.at(Float.NaN)));
        assertEquals(Float.POSITIVE_INFINITY, rising.at(Float.POSITIVE_INFINITY) * 10, "beyond every level");
        assertTrue(rising.at(Float.NEGATIVE_INFINITY) < -1e30f);
        Curve level = Curve.constant(0.7);
        assertEquals(0.7f, level.at(Float.POSITIVE_INFINITY), 0);
        assertEquals(0.7f, level.at(Float.NEGATIVE_INFINITY), 0);
        assertEquals(0.7f, level.at(Float.MAX_VALUE), 0);
    }

    @Test
    void identityAndConstantKnowThemselves() {
        assertTrue(Curve.identity().isIdentity());
        assertFalse(Curve.constant(1).isIdentity());
        assertTrue(Curve.constant(1).isConstant(1));
        assertFalse(Curve.constant(1.001).isConstant(1));
        assertFalse(Curve.identity().isConstant(1));
        for (int i = 0; i < STEPS; i++) {
            float x = argument(i, -0.5, 1.5);
            assertEquals(x, Curve.identity().at(x), 2.5e-7f);
        }
    }

    @Test
    void throughPassesItsPoints() {
        double[] x = {-0.05, 0, 0.1, 0.35, 0.8, 1.05};
        double[] y = {-0.05, 0.01, 0.05, 0.5, 0.93, 1};
        Curve curve = Curve.through(x, y, 0.0005);
        for (int i = 0; i < x.length; i++) {
            assertEquals(y[i], curve.at((float) x[i]), 0.0006);
        }
        assertTrue(curve.isNonDecreasing());
    }

    /** Fritsch and Carlson: whatever values and slopes come in, limited slopes make no segment overshoot. */
    @Test
    void limitedSlopesNeverOvershoot() {
        Random random = new Random(3);
        for (int trial = 0; trial < 300; trial++) {
            int n = 2 + random.nextInt(20);
            double[] y = new double[n];
            double[] m = new double[n];
            for (int i = 0; i < n; i++) {
                y[i] = (i == 0 ? 0 : y[i - 1]) + (random.nextInt(4) == 0 ? 0 : random.nextDouble());
                m[i] = 40 * random.nextGaussian();
            }
            Curve.limitSlopes(1, y, m);
            Curve curve = new Curve(0, n - 1, y, m);
            assertTrue(curve.isNonDecreasing());
            double last = Double.NEGATIVE_INFINITY;
            for (int i = 0; i <= 1000; i++) {
                float value = curve.at((n - 1) * i / 1000f);
                assertTrue(value >= last - 4e-6, "trial " + trial + " falls by " + (last - value));
                last = value;
            }
        }
        assertFalse(new Curve(0, 1, new double[] {0, 1}, new double[] {9, 0}).isNonDecreasing(), "overshoots");
        assertFalse(new Curve(0, 1, new double[] {1, 0}, new double[] {0, 0}).isNonDecreasing(), "falls");
    }

    @Test
    void badArgumentsAreRefusedByName() {
        double[] two = {0, 1};
        for (double bad : new double[] {Double.NaN, Double.POSITIVE_INFINITY, Double.NEGATIVE_INFINITY}) {
            refused("finite", () -> new Curve(bad, 1, two, two));
            refused("finite", () -> new Curve(0, bad, two, two));
            refused("knot 1", () -> new Curve(0, 1, new double[] {0, bad}, two));
            refused("knot 0", () -> new Curve(0, 1, two, new double[] {bad, 1}));
        }
        refused("smaller", () -> new Curve(1, 1, two, two));
        refused("smaller", () -> new Curve(1, 0, two, two));
        refused("2 to 513", () -> new Curve(0, 1, new double[1], new double[1]));
        refused("2 to 513", () -> new Curve(0, 1, new double[514], new double[514]));
        refused("3 values and 2 slopes", () -> new Curve(0, 1, new double[3], two));
        new Curve(0, 1, new double[513], new double[513]);
    }

    private static void refused(String word, Runnable make) {
        String message = assertThrows(IllegalArgumentException.class, make::run).getMessage();
        assertTrue(message.contains(word), message);
    }

    @Test
    void arraysAreNotShared() {
        double[] values = {0, 1};
        double[] slopes = {1, 1};
        Curve curve = new Curve(0, 1, values, slopes);
        Curve same = new Curve(0, 1, values, slopes);
        values[1] = 5;
        curve.values()[0] = 7;
        float[] coefficients = new float[1];
        curve.copyCoefficients(0, coefficients);
        coefficients[0] = 7;
        assertEquals(1f, curve.at(1f), 0);
        assertEquals(0f, curve.at(0f), 0);
        assertEquals(same, curve);
        assertEquals(same.hashCode(), curve.hashCode());
        assertNotEquals(same, Curve.identity());
    }
}
