// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.level;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertThrows;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.util.List;
import java.util.Map;
import java.util.function.DoubleUnaryOperator;
import org.evenstop.engine.Published;
import org.junit.jupiter.api.Test;

/** Transfer curves against the tables of their standards, and as inverses of each other. */
class TransferTest {
    private static final int STEPS = 65_537;

    @Test
    void cameraTransferMeetsTheTableOfBt709() {
        List<Map<String, String>> rows = Published.rows("bt709-transfer.csv");
        assertEquals(15, rows.size());
        for (Map<String, String> row : rows) {
            double level = Transfer.bt709Oetf(Published.number(row, "light"));
            assertEquals(Published.number(row, "level"), level, 6e-7, row.toString());
            for (CodeDepth depth : CodeDepth.values()) {
                assertEquals(Published.code(row, "code" + depth.bits()), depth.roundedCodeOfLevel(level), row + " at " + depth);
            }
        }
    }

    @Test
    void cameraTransferStepsAtItsBreakAsTheRoundedConstantsMakeIt() {
        assertEquals(0.081000, Transfer.bt709Oetf(Math.nextDown(0.018)), 1e-9);
        assertEquals(0.081248, Transfer.bt709Oetf(0.018), 6e-7);
        assertEquals(0.018, Transfer.bt709OetfInverse(0.0811), 0, "inside the step");
        assertEquals(1.19155, Transfer.bt709OetfInverse(CodeDepth.BITS10.levelOfCode(1019)), 6e-6, "light of the highest video code");
    }

    @Test
    void displayTransferMeetsTheTableOfBt1886() {
        List<Map<String, String>> rows = Published.rows("bt1886-light.csv");
        assertEquals(36, rows.size());
        for (Map<String, String> row : rows) {
            double black = Published.number(row, "black");
            double level = Published.number(row, "level");
            double luminance = Published.number(row, "luminance");
            assertEquals(luminance, Transfer.bt1886Eotf(level, 100, black), 6e-6, row.toString());
            if (luminance > 0) {
                // The table gives five decimals: near black that is little of a level.
                double slope = (Transfer.bt1886Eotf(level + 1e-6, 100, black) - luminance) / 1e-6;
                assertEquals(level, Transfer.bt1886EotfInverse(luminance, 100, black), 1e-6 + 2e-5 / Math.max(slope, 1e-2), row.toString());
            }
        }
        assertEquals(1.23026, Transfer.bt1886Eotf(CodeDepth.BITS10.levelOfCode(1019), 1, 0), 6e-6, "light of the highest video code");
    }

    @Test
    void displayTransferRefusesADisplayThatCannotBe() {
        for (double[] display : new double[][] {{100, -1}, {0.1, 0.1}, {Double.NaN, 0}, {100, Double.NaN}, {Double.POSITIVE_INFINITY, 0}}) {
            assertThrows(IllegalArgumentException.class, () -> Transfer.bt1886Eotf(0.5, display[0], display[1]));
            assertThrows(IllegalArgumentException.class, () -> Transfer.bt1886EotfInverse(0.5, display[0], display[1]));
        }
    }

    /** D. Pascale's 8-bit sRGB values of the ColorChecker are the encoding of IEC 61966-2-1; only patch 18 leaves the gamut. */
    @Test
    void screenTransferMeetsTheColourChecker() {
        int compared = 0;
        for (Map<String, String> row : Published.rows("colour-checker.csv")) {
            for (String channel : List.of("R", "G", "B")) {
                double light = Published.number(row, "linear" + channel);
                int code = Published.code(row, "srgb" + channel);
                assertEquals(code, (int) Math.round(255 * Math.max(0, Transfer.srgbOfLight(light))), row + " " + channel);
                if (light > 0) {
                    double lower = Transfer.lightOfSrgb((code - 0.5) / 255);
                    double upper = Transfer.lightOfSrgb((code + 0.5) / 255);
                    assertTrue(light > lower - 1e-5 && light < upper + 1e-5, row + " " + channel);
                }
                compared++;
            }
        }
        assertEquals(72, compared);
        assertEquals(1, Transfer.srgbOfLight(1), 1e-15);
        assertEquals(117.65, 255 * Transfer.srgbOfLight(0.18), 0.005);
    }

    @Test
    void curvesRiseAllTheWayAndKeepTheirEnds() {
        requireRising("camera", Transfer::bt709Oetf, -0.1, 2);
        requireRising("camera inverse", Transfer::bt709OetfInverse, -0.1, 1.2);
        requireRising("display", v -> Transfer.bt1886Eotf(v, 100, 0.05), 0, 1.2);
        requireRising("display inverse", l -> Transfer.bt1886EotfInverse(l, 100, 0.05), 0, 120);
        requireRising("screen", Transfer::srgbOfLight, -0.1, 2);
        requireRising("screen inverse", Transfer::lightOfSrgb, -0.1, 1.2);
        assertEquals(0, Transfer.bt709Oetf(0), 0);
        assertEquals(1, Transfer.bt709Oetf(1), 1e-15);
        assertEquals(0, Transfer.bt709OetfInverse(0), 0);
        assertEquals(100, Transfer.bt1886Eotf(1, 100, 0.05), 1e-12);
        assertEquals(0.05, Transfer.bt1886Eotf(0, 100, 0.05), 1e-15);
        assertEquals(0, Transfer.bt1886Eotf(-1, 100, 0.05), 0, "no light below the lowest");
    }

    private static void requireRising(String name, DoubleUnaryOperator curve, double from, double to) {
        double last = Double.NEGATIVE_INFINITY;
        for (int i = 0; i < STEPS; i++) {
            double value = curve.applyAsDouble(from + (to - from) * i / (STEPS - 1));
            assertTrue(Double.isFinite(value) && value >= last, name + " falls or is no number at step " + i + ": " + last + ", " + value);
            last = value;
        }
    }

    @Test
    void inversesUndoTheirCurves() {
        // sRGB: the rounded constants of the standard leave a step of 2e-8 in light at its break.
        requireRoundTrip("camera", Transfer::bt709Oetf, Transfer::bt709OetfInverse, -0.1, 2, 1e-14);
        requireRoundTrip("display", v -> Transfer.bt1886Eotf(v, 203, 0.005), l -> Transfer.bt1886EotfInverse(l, 203, 0.005), 0, 1.2, 1e-13);
        requireRoundTrip("screen", Transfer::srgbOfLight, Transfer::lightOfSrgb, -0.1, 2, 3e-8);
    }

    private static void requireRoundTrip(String name, DoubleUnaryOperator curve, DoubleUnaryOperator inverse, double from, double to, double most) {
        double bias = 0;
        for (int i = 0; i < STEPS; i++) {
            double x = from + (to - from) * i / (STEPS - 1);
            double error = inverse.applyAsDouble(curve.applyAsDouble(x)) - x;
            assertTrue(Math.abs(error) <= most, name + " at " + x + " is off by " + error);
            bias += error;
        }
        assertTrue(Math.abs(bias / STEPS) <= most / 10, name + " has a bias of " + bias / STEPS);
    }

    @Test
    void notANumberStaysOne() {
        double nan = Double.NaN;
        for (double value : new double[] {Transfer.bt709Oetf(nan), Transfer.bt709OetfInverse(nan), Transfer.bt1886Eotf(nan, 100, 0),
            Transfer.bt1886EotfInverse(nan, 100, 0), Transfer.srgbOfLight(nan), Transfer.lightOfSrgb(nan)}) {
            assertTrue(Double.isNaN(value));
        }
    }
}
