// SPDX-License-Identifier: Apache-2.0
package org.evenstop.batch.media;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertThrows;
import static org.junit.jupiter.api.Assertions.assertTrue;

import org.evenstop.engine.frame.ChromaSampling;
import org.evenstop.engine.frame.PlanarFrame;
import org.evenstop.engine.level.CodeDepth;
import org.evenstop.engine.level.LumaStandard;
import org.junit.jupiter.api.Test;

/** Depth, range and sampling changes against values worked out by hand or by a straightforward formula. */
class PlaneConversionTest {
    private static PictureShape shape(int w, int h, ChromaSampling sampling, CodeDepth depth, boolean full) {
        return new PictureShape(w, h, sampling, depth, LumaStandard.BT709, full, true, false);
    }

    private static PlanarFrame converted(PlanarFrame source, PictureShape to, boolean interlaced) {
        PlanarFrame target = to.allocate();
        new PlaneConversion(PictureShape.of(source), to).run(source, target, interlaced, 0, to.height());
        return target;
    }

    @Test
    void eightBitNarrowBecomesTenBitByAShift() {
        PictureShape from = shape(256, 2, ChromaSampling.S422, CodeDepth.BITS8, false);
        PlanarFrame source = from.allocate();
        for (int x = 0; x < 256; x++) {
            source.setLumaCode(x, 0, x);
            source.setCbCode(x / 2, 0, x);
            source.setCrCode(x / 2, 0, 255 - x);
        }
        PlanarFrame ten = converted(source, from.withDepth(CodeDepth.BITS10), false);
        for (int x = 0; x < 256; x++) {
            assertEquals(Math.min(Math.max(4 * x, 4), 1019), ten.lumaCode(x, 0));
        }
        assertEquals(4 * 101, ten.cbCode(50, 0));
        assertEquals(4 * (255 - 101), ten.crCode(50, 0));
        // And back to where it came from.
        PlanarFrame back = converted(ten, from, false);
        for (int x = 1; x < 255; x++) {
            assertEquals(x, back.lumaCode(x, 0));
        }
    }

    @Test
    void fullRangeIsScaledToNarrow() {
        PictureShape from = shape(3, 1, ChromaSampling.S444, CodeDepth.BITS8, true);
        PlanarFrame source = from.allocate();
        int[] luma = {0, 128, 255};
        int[] cb = {0, 128, 255};
        for (int x = 0; x < 3; x++) {
            source.setLumaCode(x, 0, luma[x]);
            source.setCbCode(x, 0, cb[x]);
            source.setCrCode(x, 0, 128);
        }
        PlanarFrame ten = converted(source, from.withFullRange(false).withDepth(CodeDepth.BITS10), false);
        assertEquals(64, ten.lumaCode(0, 0));
        assertEquals((int) Math.round(64 + 876 * 128 / 255.0), ten.lumaCode(1, 0));
        assertEquals(940, ten.lumaCode(2, 0));
        assertEquals((int) Math.round(512 - 896 * 128 / 255.0), ten.cbCode(0, 0));
        assertEquals(512, ten.cbCode(1, 0));
        assertEquals((int) Math.round(512 + 896 * 127 / 255.0), ten.cbCode(2, 0));
    }

    @Test
    void chromaRowsAreInterpolatedWhereTheyLie() {
        // Chroma grows by 16 a luma row: linear interpolation must give it back at every inner row, for each siting.
        for (boolean top : new boolean[] {false, true}) {
            PictureShape from = new PictureShape(4, 12, ChromaSampling.S420, CodeDepth.BITS10, LumaStandard.BT709, false, true, top);
            PlanarFrame source = from.allocate();
            double offset = top ? 0 : 0.5;
            for (int r = 0; r < 6; r++) {
                for (int c = 0; c < 2; c++) {
                    source.setCbCode(c, r, (int) (300 + 16 * (2 * r + offset)));
                    source.setCrCode(c, r, 512);
                }
            }
            PlanarFrame target = converted(source, from.withSampling(ChromaSampling.S422), false);
            for (int y = 1; y < 10; y++) {
                assertEquals(300 + 16 * y, target.cbCode(0, y), "row " + y + ", top " + top);
            }
        }
    }

    @Test
    void interlacedChromaStaysInItsField() {
        PictureShape from = shape(2, 16, ChromaSampling.S420, CodeDepth.BITS10, false);
        PlanarFrame source = from.allocate();
        // Upper field 300 throughout, lower field a gradient of 32 a field row, chroma at 2r + 3/4 of its rows.
        for (int r = 0; r < 8; r++) {
            source.setCbCode(0, r, r % 2 == 0 ? 300 : 400 + 8 * 3 + 32 * 2 * (r / 2));
            source.setCrCode(0, r, 512);
        }
        PlanarFrame target = converted(source, from.withSampling(ChromaSampling.S422), true);
        for (int y = 0; y < 16; y += 2) {
            assertEquals(300, target.cbCode(0, y));
        }
        for (int field = 1; field < 7; field++) {
            assertEquals(400 + 32 * field, target.cbCode(0, 2 * field + 1), "lower field row " + field);
        }
    }

    @Test
    void chromaColumnsMoveOntoTheEvenColumn() {
        PictureShape from = new PictureShape(16, 2, ChromaSampling.S422, CodeDepth.BITS10, LumaStandard.BT709, false, false, false);
        PlanarFrame source = from.allocate();
        for (int c = 0; c < 8; c++) {
            source.setCbCode(c, 0, 300 + 8 * (2 * c) + 4);
            source.setCrCode(c, 0, 512);
        }
        PlanarFrame target = converted(source, from.withChromaCosited(true), false);
        for (int c = 1; c < 8; c++) {
            assertEquals(300 + 16 * c, target.cbCode(c, 0));
        }
    }

    @Test
    void fourFourFourLosesColumnsByTheirNeighbours() {
        PictureShape from = shape(6, 1, ChromaSampling.S444, CodeDepth.BITS10, false);
        PlanarFrame source = from.allocate();
        int[] cb = {400, 500, 600, 400, 100, 300};
        for (int x = 0; x < 6; x++) {
            source.setCbCode(x, 0, cb[x]);
            source.setCrCode(x, 0, 512);
        }
        PlanarFrame target = converted(source, from.withSampling(ChromaSampling.S422), false);
        assertEquals(425, target.cbCode(0, 0));
        assertEquals(525, target.cbCode(1, 0));
        assertEquals(225, target.cbCode(2, 0));
    }

    @Test
    void bandsGiveTheSameAsTheWhole() {
        PictureShape from = new PictureShape(33, 31, ChromaSampling.S420, CodeDepth.BITS8, LumaStandard.BT709, false, false, false);
        PictureShape to = OutputCodec.PRORES_HQ.workingShape(from);
        PlanarFrame source = from.allocate();
        for (int y = 0; y < 31; y++) {
            for (int x = 0; x < 33; x++) {
                source.setLumaCode(x, y, (x * 31 + y * 17) & 255);
                source.setCbCode(x / 2, y / 2, (x * 13 + y * 7) & 255);
                source.setCrCode(x / 2, y / 2, (x * 3 + y * 29) & 255);
            }
        }
        PlanarFrame whole = converted(source, to, false);
        PlanarFrame banded = to.allocate();
        for (int row = 0; row < 31; row += 4) {
            new PlaneConversion(from, to).run(source, banded, false, row, Math.min(31, row + 4));
        }
        assertTrue(whole.luma().equals(banded.luma()) && whole.cb().equals(banded.cb()) && whole.cr().equals(banded.cr()));
    }

    @Test
    void impossibleConversionsAreRefused() {
        PictureShape narrow = shape(2, 2, ChromaSampling.S422, CodeDepth.BITS10, false);
        assertThrows(IllegalArgumentException.class, () -> new PlaneConversion(narrow, narrow.withFullRange(true)));
        assertThrows(IllegalArgumentException.class, () -> new PlaneConversion(narrow, narrow.withSampling(ChromaSampling.S420)));
        assertThrows(IllegalArgumentException.class, () -> new PlaneConversion(narrow, shape(4, 2, ChromaSampling.S422, CodeDepth.BITS10, false)));
    }
}
