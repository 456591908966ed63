// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.mask;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertThrows;
import static org.junit.jupiter.api.Assertions.assertTrue;

import org.evenstop.engine.frame.FramePlace;
import org.junit.jupiter.api.Test;

/** The weight by place: whole above the line, fading below it, the same at every scale. */
class GraduatedMaskTest {
    @Test
    void wholeAboveTheLineFadingBelowIt() {
        GraduatedMask mask = new GraduatedMask(60, 0, 10, 0.8);
        assertEquals(0.8f, mask.weight(0.3, 0.6));
        assertEquals(0.8f, mask.weight(-0.7, 1.2));
        assertEquals(0.4f, mask.weight(0, 0.55), 1e-6);
        assertEquals(0, mask.weight(0, 0.5), 1e-6);
        assertEquals(0, mask.weight(0, 0));
    }

    @Test
    void risesAllTheWayWithoutAStep() {
        GraduatedMask mask = new GraduatedMask(50, 0, 20, 1);
        float last = 0;
        for (int i = 0; i <= 10_000; i++) {
            float w = mask.weight(0, i / 10_000.0);
            assertTrue(w >= last && w - last < 0.0008, "at " + i + ": " + last + " then " + w);
            last = w;
        }
        assertEquals(1, last);
    }

    @Test
    void noFeatherIsAHardEdge() {
        GraduatedMask mask = new GraduatedMask(50, 0, 0, 1);
        assertEquals(1, mask.weight(0, 0.5));
        assertEquals(0, mask.weight(0, 0.4999999));
    }

    @Test
    void angleLiftsTheRightSide() {
        GraduatedMask mask = new GraduatedMask(50, 45, 0, 1);
        assertEquals(1, mask.weight(0.3, 0.81));
        assertEquals(0, mask.weight(0.3, 0.79));
        assertEquals(1, mask.weight(-0.3, 0.21));
        assertEquals(0, mask.weight(-0.3, 0.19));
    }

    /** Where the middle of a small pixel is that of a large one, both have one weight; anamorphic pixels stand where square ones do. */
    @Test
    void sameSpotSameWeightAtEveryScaleAndAspect() {
        GraduatedMask mask = new GraduatedMask(55, 12, 30, 1);
        FramePlace whole = FramePlace.whole(1920, 1080);
        FramePlace third = new FramePlace(0, 0, 1920, 1080, 1 / 3.0, 1 / 3.0, 1, 0, 0);
        FramePlace wide = new FramePlace(0, 0, 1920, 1080, 1, 1, 3, 0, 0);
        for (int y = 0; y < 360; y += 7) {
            for (int x = 0; x < 640; x += 11) {
                float w = mask.weight(whole.across(3 * x + 1), whole.up(3 * y + 1));
                assertEquals(w, mask.weight(third.across(x), third.up(y)), 1e-6);
                assertEquals(w, mask.weight(wide.across(x), wide.up(3 * y + 1)), 1e-6);
            }
        }
    }

    @Test
    void aPictureThatDoesNotBeginAtZeroIsTheSamePicture() {
        FramePlace moved = new FramePlace(-100, 40, 1820, 1120, 1, 1, 1, -100, 40);
        FramePlace whole = FramePlace.whole(1920, 1080);
        assertEquals(whole.across(17), moved.across(17), 1e-12);
        assertEquals(whole.up(900), moved.up(900), 1e-12);
        assertEquals(whole.shareAcross(17), moved.shareAcross(17), 1e-12);
        assertEquals(17, moved.pictureColumn(17));
        assertEquals(900, moved.pictureRow(900));
        assertEquals(whole.up(905), whole.shifted(3, 5).up(900));
        assertEquals(whole.across(20), whole.shifted(3, 5).across(17));
    }

    @Test
    void refusesWhatIsOutOfRange() {
        assertTrue(assertThrows(IllegalArgumentException.class, () -> new GraduatedMask(101, 0, 0, 1)).getMessage().contains("horizon 101.0"));
        assertThrows(IllegalArgumentException.class, () -> new GraduatedMask(50, 91, 0, 1));
        assertThrows(IllegalArgumentException.class, () -> new GraduatedMask(50, 0, -1, 1));
        assertThrows(IllegalArgumentException.class, () -> new GraduatedMask(50, 0, 0, Double.NaN));
        assertThrows(IllegalArgumentException.class, () -> new FramePlace(0, 0, 0, 1, 1, 1, 1, 0, 0));
        assertThrows(IllegalArgumentException.class, () -> new FramePlace(0, 0, 1, 1, 0, 1, 1, 0, 0));
    }
}
