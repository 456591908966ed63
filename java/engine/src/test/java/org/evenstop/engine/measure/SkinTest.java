// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.measure;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.util.List;
import java.util.Map;
import java.util.Set;
import org.evenstop.engine.Published;
import org.evenstop.engine.level.CodeDepth;
import org.evenstop.engine.level.LumaStandard;
import org.junit.jupiter.api.Test;

/** What counts as skin, on published patches. */
class SkinTest {
    private static final CodeDepth TEN = CodeDepth.BITS10;

    private static boolean counts(int y, int cb, int cr) {
        return Skin.counts(TEN.levelOfCode(y), TEN.chromaOfCode(cb), TEN.chromaOfCode(cr));
    }

    /** Dark and light skin count and none of the other 22, whether coded by a camera's transfer or for a display. */
    @Test
    void theColourCheckerHasTwoSkins() {
        for (String coding : List.of("oetf", "g24")) {
            int skins = 0;
            for (Map<String, String> row : Published.rows("colour-checker.csv")) {
                boolean isSkin = row.get("patch").endsWith("skin");
                assertEquals(isSkin, counts(Published.code(row, coding + "Y"), Published.code(row, coding + "Cb"), Published.code(row, coding + "Cr")),
                    row.get("patch") + " as " + coding);
                skins += isSkin ? 1 : 0;
            }
            assertEquals(2, skins);
        }
    }

    /**
     * EBU Tech 3325: colours 1 and 2 are skin. Colour 3 (hue 113.0 degrees, chroma over luma 0.16) lies in the sector too; its name
     * was not to be had, so whether it should count is not known. None of the other twelve and no primary counts.
     */
    @Test
    void ebuTestColours() {
        Set<String> inSector = Set.of("1 (dark skin)", "2 (light skin)", "3");
        List<Map<String, String>> rows = Published.rows("ebu3325-colours.csv");
        assertEquals(18, rows.size());
        for (Map<String, String> row : rows) {
            assertEquals(inSector.contains(row.get("colour")), counts(Published.code(row, "y"), Published.code(row, "cb"), Published.code(row, "cr")),
                row.toString());
        }
    }

    /** Dark skin must not fall out because it is dark: a factor on R'G'B' leaves hue and chroma over luma as they are. */
    @Test
    void countingDoesNotDependOnBrightness() {
        LumaStandard s = LumaStandard.BT709;
        for (double[] rgb : new double[][] {{0.4001, 0.2579, 0.2032}, {0.7533, 0.5332, 0.4551}}) {
            for (double factor = 0.22; factor < 1.4; factor += 0.02) {
                double y = factor * s.luma(rgb[0], rgb[1], rgb[2]);
                assertTrue(Skin.counts(y, (factor * rgb[2] - y) / s.cbDivisor(), (factor * rgb[0] - y) / s.crDivisor()), "times " + factor);
            }
        }
    }

    @Test
    void greysBlackAndWhatIsNoNumberDoNotCount() {
        assertFalse(Skin.counts(0.5, 0, 0));
        assertFalse(Skin.counts(0, -0.05, 0.08));
        assertFalse(Skin.counts(-0.1, -0.05, 0.08));
        assertFalse(Skin.counts(Double.NaN, -0.05, 0.08));
        assertFalse(Skin.counts(0.5, Double.NaN, 0.08));
        assertFalse(Skin.counts(0.5, -0.005, 0.008), "less chroma than noise has");
    }

    private static double likeness(double hueDegrees, double saturation) {
        double chroma = 0.5 * saturation;
        return Skin.likeness(0.5, chroma * Math.cos(Math.toRadians(hueDegrees)), chroma * Math.sin(Math.toRadians(hueDegrees)));
    }

    /** All inside, half at each bound, nothing well outside, and no step between. */
    @Test
    void likenessFallsSmoothlyOverTheBounds() {
        assertEquals(1, likeness(118, 0.25), 0);
        assertEquals(0.5, likeness(Skin.HUE_FROM_DEGREES, 0.25), 1e-6);
        assertEquals(0.5, likeness(118, Skin.LEAST_SATURATION), 1e-6);
        assertEquals(0.5, likeness(114, Skin.MOST_SATURATION), 1e-6);
        assertEquals(0, likeness(95, 0.25), 0);
        assertEquals(0, likeness(150, 0.25), 0);
        assertEquals(0, likeness(118, 0.05), 0);
        assertEquals(0, likeness(118, 1), 0);
        for (double saturation = 0; saturation < 1; saturation += 0.001) {
            for (double hue = 90; hue < 150; hue++) {
                assertEquals(likeness(hue, saturation), likeness(hue, saturation + 0.001), 0.06, hue + " degrees, " + saturation);
                assertEquals(likeness(hue, saturation), likeness(hue + 0.1, saturation), 0.06, hue + " degrees, " + saturation);
            }
        }
    }

    /** What counts is more likely than not by each bound alone, and what is unlikely does not count. */
    @Test
    void likenessAgreesWithWhatCounts() {
        for (double saturation = 0.02; saturation < 1; saturation += 0.01) {
            for (double hue = 90; hue < 150; hue += 0.5) {
                double chroma = 0.5 * saturation;
                boolean counts = Skin.counts(0.5, chroma * Math.cos(Math.toRadians(hue)), chroma * Math.sin(Math.toRadians(hue)));
                // Four bounds, each of them half at the edge.
                assertTrue(counts ? likeness(hue, saturation) >= 0.0624 : likeness(hue, saturation) <= 0.5001, hue + " degrees, " + saturation);
            }
        }
    }

    @Test
    void whatIsNoColourIsNotLikeSkin() {
        assertEquals(0, Skin.likeness(0.5, 0, 0), 0);
        assertEquals(0, Skin.likeness(0, -0.05, 0.08), 0);
        assertEquals(0, Skin.likeness(-0.1, -0.05, 0.08), 0);
        assertEquals(0, Skin.likeness(Double.NaN, -0.05, 0.08), 0);
        assertEquals(0, Skin.likeness(0.5, Double.NaN, 0.08), 0);
    }

    @Test
    void skinIsTheSubjectFromItsShareOn() {
        assertTrue(new Skin(Skin.SUBJECT_SHARE, 50, 45, 55).isSubject());
        assertFalse(new Skin(Skin.SUBJECT_SHARE - 1e-9, 50, 45, 55).isSubject());
    }
}
