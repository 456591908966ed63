// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.level;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertThrows;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.util.Map;
import org.evenstop.engine.Published;
import org.junit.jupiter.api.Test;

/** Published colour bars through the matrices and depths, to the code, and back. */
class ColourBarsTest {
    private static LumaStandard standardOf(String label) {
        for (LumaStandard standard : LumaStandard.values()) {
            if (standard.label().equals(label)) {
                return standard;
            }
        }
        return LumaStandard.BT709;
    }

    @Test
    void everyPatchGetsItsPublishedCodes() {
        int compared = 0;
        for (Map<String, String> row : Published.rows("colour-bars.csv")) {
            if (row.get("r").isEmpty()) {
                continue;
            }
            LumaStandard standard = standardOf(row.get("standard"));
            double r = Published.number(row, "r");
            double g = Published.number(row, "g");
            double b = Published.number(row, "b");
            double y = standard.luma(r, g, b);
            for (CodeDepth depth : CodeDepth.values()) {
                if (row.get("y" + depth.bits()).isEmpty()) {
                    continue;
                }
                String where = row.get("standard") + " " + row.get("patch") + " " + depth;
                assertEquals(Published.code(row, "y" + depth.bits()), depth.roundedCodeOfLevel(y), where + " Y'");
                assertEquals(Published.code(row, "cb" + depth.bits()), depth.roundedCodeOfChroma((b - y) / standard.cbDivisor()), where + " Cb");
                assertEquals(Published.code(row, "cr" + depth.bits()), depth.roundedCodeOfChroma((r - y) / standard.crDivisor()), where + " Cr");
                compared++;
            }
        }
        assertEquals(56 * 3 - 1, compared, "56 patches with R'G'B', one without an 8-bit code");
    }

    /** Codes to R'G'B' and forth again are the same codes; against the published R'G'B' they are off by rounding alone. */
    @Test
    void everyPatchComesBack() {
        int compared = 0;
        for (Map<String, String> row : Published.rows("colour-bars.csv")) {
            LumaStandard standard = standardOf(row.get("standard"));
            for (CodeDepth depth : CodeDepth.values()) {
                if (row.get("y" + depth.bits()).isEmpty()) {
                    continue;
                }
                String where = row.get("standard") + " " + row.get("patch") + " " + depth;
                int yCode = Published.code(row, "y" + depth.bits());
                int cbCode = Published.code(row, "cb" + depth.bits());
                int crCode = Published.code(row, "cr" + depth.bits());
                double y = depth.levelOfCode(yCode);
                double r = y + standard.crDivisor() * depth.chromaOfCode(crCode);
                double b = y + standard.cbDivisor() * depth.chromaOfCode(cbCode);
                double g = (y - standard.redWeight() * r - standard.blueWeight() * b) / standard.greenWeight();
                double again = standard.luma(r, g, b);
                assertEquals(yCode, depth.roundedCodeOfLevel(again), where);
                assertEquals(cbCode, depth.roundedCodeOfChroma((b - again) / standard.cbDivisor()), where);
                assertEquals(crCode, depth.roundedCodeOfChroma((r - again) / standard.crDivisor()), where);
                if (!row.get("r").isEmpty()) {
                    double half = 0.5 / depth.lumaSpan();
                    double halfChroma = 0.5 / depth.chromaSpan();
                    assertEquals(Published.number(row, "r"), r, half + standard.crDivisor() * halfChroma + 1e-9, where);
                    assertEquals(Published.number(row, "b"), b, half + standard.cbDivisor() * halfChroma + 1e-9, where);
                    assertEquals(Published.number(row, "g"), g, half + 0.95 * 2 * halfChroma + 1e-9, where);
                }
                compared++;
            }
        }
        assertTrue(compared >= 170, "only " + compared + " patches were compared");
    }

    /** ITU-R BT.709-6 clause 4 and, for 12 bit, BT.2020-2: black, peak, achromatic, chroma peaks, video data. */
    @Test
    void codesOfTheStandardsStandWhereTheyShould() {
        int[][] expected = {{8, 16, 235, 128, 240, 1, 254}, {10, 64, 940, 512, 960, 4, 1019}, {12, 256, 3760, 2048, 3840, 16, 4079}};
        for (int[] e : expected) {
            CodeDepth depth = CodeDepth.ofBits(e[0]);
            assertEquals(e[1], depth.blackCode());
            assertEquals(e[2], depth.whiteCode());
            assertEquals(e[3], depth.achromaticCode());
            assertEquals(e[4], depth.roundedCodeOfChroma(0.5));
            assertEquals(e[1], depth.roundedCodeOfChroma(-0.5));
            assertEquals(e[5], depth.lowestVideoCode());
            assertEquals(e[6], depth.highestVideoCode());
        }
        assertThrows(IllegalArgumentException.class, () -> CodeDepth.ofBits(9));
    }

    /** Levels of codes: calculated from BT.709-6 clause 4. The super-white limit differs from depth to depth. */
    @Test
    void levelsOfCodes() {
        double[][] expected = {{10, 0, -7.3059}, {10, 4, -6.8493}, {10, 64, 0}, {10, 414, 39.9543}, {10, 502, 50}, {10, 721, 75},
            {10, 940, 100}, {10, 1019, 109.0183}, {10, 1023, 109.4749}, {8, 1, -6.8493}, {8, 254, 108.6758}, {12, 16, -6.8493},
            {12, 4079, 109.1039},
            // EBU R 103 v3.0 (May 2020), Annex 1, Table 1: the same levels at every depth.
            {8, 5, -5.0228}, {8, 246, 105.0228}, {10, 20, -5.0228}, {10, 984, 105.0228}, {12, 80, -5.0228}, {12, 3936, 105.0228}};
        for (double[] e : expected) {
            assertEquals(e[2], 100 * CodeDepth.ofBits((int) e[0]).levelOfCode(e[1]), 6e-5, (int) e[0] + " bit code " + (int) e[1]);
        }
    }

    @Test
    void everyVideoCodeSurvivesTheTripThroughLevels() {
        for (CodeDepth depth : CodeDepth.values()) {
            for (int code = 0; code <= depth.maxCode(); code++) {
                assertEquals(code, depth.roundedCodeOfLevel(depth.levelOfCode(code)));
                assertEquals(code, depth.roundedCodeOfLevel((float) depth.levelOfCode(code)), "as float");
                assertEquals(code, depth.roundedCodeOfChroma(depth.chromaOfCode(code)));
            }
        }
    }

    /** Weights sum to one, and the divisors let chroma span -0.5 to 0.5 (BT.601-7, BT.709-6, BT.2020-2). */
    @Test
    void matricesAreThoseOfTheStandards() {
        double[][] divisors = {{1.772, 1.402}, {1.8556, 1.5748}, {1.8814, 1.4746}};
        for (LumaStandard standard : LumaStandard.values()) {
            assertEquals(1, standard.luma(1, 1, 1), 1e-15);
            assertEquals(divisors[standard.ordinal()][0], standard.cbDivisor(), 1e-12);
            assertEquals(divisors[standard.ordinal()][1], standard.crDivisor(), 1e-12);
            assertEquals(0.5, (1 - standard.luma(0, 0, 1)) / standard.cbDivisor(), 1e-12);
            assertEquals(0.5, (1 - standard.luma(1, 0, 0)) / standard.crDivisor(), 1e-12);
        }
    }
}
