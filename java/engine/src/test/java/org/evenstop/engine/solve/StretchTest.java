// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.solve;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.util.List;
import java.util.Random;
import org.junit.jupiter.api.Test;

class StretchTest {
    private static final double HIGHLIGHT = 0.98;

    private static Stretch folding(double highlights, double top) {
        return new Stretch(List.of(new Shadows(0.03, 0.03, 0.42, 1.5)), highlights, top, HIGHLIGHT);
    }

    @Test
    void aPictureThatLiesRightIsLeftAlone() {
        Stretch stretch = folding(0.9, HIGHLIGHT);
        assertFalse(stretch.foldsHighlights() || stretch.lowersShadows());
        for (double x = -0.1; x < 1.3; x += 0.01) {
            assertEquals(x, stretch.at(x), 0);
        }
    }

    /** Rising, without a corner, under the highlight level however bright it gets; over random pictures. */
    @Test
    void theFoldIsSmoothAndEndsUnderTheHighlightLevel() {
        Random random = new Random(20261127);
        for (int i = 0; i < 100; i++) {
            double highlights = 0.5 + 0.8 * random.nextDouble();
            double top = Math.max(highlights, HIGHLIGHT + 0.02) + 0.6 * random.nextDouble();
            Stretch stretch = folding(highlights, top);
            String what = "highlights " + highlights + ", top " + top;
            double step = 1e-4;
            double slope = 1;
            for (double x = 0; x < 2; x += step) {
                double next = (stretch.at(x + step) - stretch.at(x)) / step;
                assertTrue(next > 0 && next <= slope + 1e-6, what + ": slope " + next + " after " + slope + " at " + x);
                assertTrue(slope - next < 0.05, what + ": a corner at " + x);
                slope = next;
                assertTrue(stretch.at(x) < HIGHLIGHT, what);
            }
            assertTrue(stretch.at(highlights) >= Math.min(highlights, HIGHLIGHT - 0.12) - 1e-9, what);
        }
    }

    /** How bright lamps were, which a clipped exposure of the same picture does not know, changes nothing. */
    @Test
    void brighterLampsDoNotMoveTheRest() {
        for (double highlights : new double[] {0.7, 0.95, 1.05}) {
            Stretch one = folding(highlights, 1.09);
            Stretch other = folding(highlights, 1.6);
            for (double x = 0; x < 1.7; x += 0.01) {
                assertEquals(one.at(x), other.at(x), 0, "highlights " + highlights);
            }
        }
    }

    /** Highlights that lie above keep a share of the level for what is brighter still. */
    @Test
    void highlightsEndUnderWhatIsLeftForLamps() {
        assertEquals(HIGHLIGHT - 0.03, folding(1.05, 1.3).at(1.05), 1e-9);
        assertEquals(0.7, folding(0.7, 1.3).at(0.7), 0);
    }
}
