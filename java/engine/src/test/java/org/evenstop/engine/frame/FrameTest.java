// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.frame;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertThrows;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.nio.ByteBuffer;
import org.evenstop.engine.level.CodeDepth;
import org.evenstop.engine.level.LumaStandard;
import org.junit.jupiter.api.Test;

/** Views of memory refuse what would read outside it. */
class FrameTest {
    private static PackedFrame packed(int bytes, int origin, int stride, int width, int height) {
        return new PackedFrame(ByteBuffer.allocate(bytes), origin, stride, width, height, Components.RGBA, SampleDepth.FLOAT, AlphaState.OPAQUE);
    }

    @Test
    void packedFramesStayInsideTheirMemory() {
        packed(16, 0, 0, 1, 1);
        packed(64, 0, 32, 2, 2);
        packed(64, 32, -32, 2, 2);
        packed(72, 3, 37, 2, 2);
        refused("0x1", () -> packed(64, 0, 16, 0, 1));
        refused("1x0", () -> packed(64, 0, 16, 1, 0));
        refused("stride of 31", () -> packed(64, 0, 31, 2, 2));
        refused("stride of 0", () -> packed(64, 0, 0, 2, 2));
        refused("bytes", () -> packed(63, 0, 32, 2, 2));
        refused("bytes", () -> packed(64, 0, -32, 2, 2));
        refused("bytes", () -> packed(64, -1, 32, 2, 2));
        refused("bytes", () -> packed(64, 0, Integer.MAX_VALUE, 1, 4));
        refused("bytes", () -> packed(64, 0, Integer.MIN_VALUE, 1, 4));
        refused("bytes", () -> packed(64, 0, 16, Integer.MAX_VALUE, 1));
    }

    @Test
    void positionAndLimitOfABufferDoNotCount() {
        ByteBuffer memory = ByteBuffer.allocate(64);
        memory.position(60).limit(61);
        PackedFrame frame = new PackedFrame(memory, 0, 32, 2, 2, Components.RGBA, SampleDepth.FLOAT, AlphaState.OPAQUE);
        frame.memory().putInt(0, 5);
        assertEquals(60, memory.position());
        assertEquals(32, frame.rowOffset(1));
        assertEquals(32, frame.rowBytes());
    }

    @Test
    void planarFramesStayInsideTheirMemory() {
        PlanarFrame frame = PlanarFrame.allocate(3, 3, ChromaSampling.S420, CodeDepth.BITS10, LumaStandard.BT709, false, true, false);
        assertEquals(2, frame.sampling().chromaWidth(3));
        assertEquals(2, frame.sampling().chromaHeight(3));
        assertEquals(18, frame.luma().capacity());
        assertEquals(8, frame.cb().capacity());
        frame.setLumaCode(2, 2, 1023);
        frame.setCrCode(1, 1, 7);
        assertEquals(1023, frame.lumaCode(2, 2));
        assertEquals(7, frame.crCode(1, 1));
        ByteBuffer small = ByteBuffer.allocate(7);
        ByteBuffer big = ByteBuffer.allocate(100);
        refused("Cb", () -> new PlanarFrame(big, small, big, 6, 4, 3, 3, ChromaSampling.S420, CodeDepth.BITS10, LumaStandard.BT709, false, true, true));
        refused("Cr", () -> new PlanarFrame(big, big, small, 6, 4, 3, 3, ChromaSampling.S420, CodeDepth.BITS10, LumaStandard.BT709, false, true, true));
        refused("luma", () -> new PlanarFrame(small, big, big, 6, 4, 3, 3, ChromaSampling.S420, CodeDepth.BITS10, LumaStandard.BT709, false, true, true));
        refused("luma stride of 5", () -> new PlanarFrame(big, big, big, 5, 4, 3, 3, ChromaSampling.S420, CodeDepth.BITS10, LumaStandard.BT709, false, true, true));
        refused("0x3", () -> new PlanarFrame(big, big, big, 6, 4, 0, 3, ChromaSampling.S420, CodeDepth.BITS10, LumaStandard.BT709, false, true, true));
    }

    /** Full range as in JPEG (ITU-T T.871): 0..2^n-1 span level 0..1, chroma centred on 2^(n-1). */
    @Test
    void rangesHaveTheirCodes() {
        PlanarFrame narrow = PlanarFrame.allocate(1, 1, ChromaSampling.S444, CodeDepth.BITS8, LumaStandard.BT601, false, true, false);
        PlanarFrame full = PlanarFrame.allocate(1, 1, ChromaSampling.S444, CodeDepth.BITS8, LumaStandard.BT601, true, true, false);
        assertEquals(16, narrow.blackCode());
        assertEquals(219, narrow.lumaSpan());
        assertEquals(224, narrow.chromaSpan());
        assertEquals(1, narrow.lowestCode());
        assertEquals(254, narrow.highestCode());
        assertEquals(0, full.blackCode());
        assertEquals(255, full.lumaSpan());
        assertEquals(255, full.chromaSpan());
        assertEquals(0, full.lowestCode());
        assertEquals(255, full.highestCode());
    }

    private static void refused(String word, Runnable make) {
        String message = assertThrows(IllegalArgumentException.class, make::run).getMessage();
        assertTrue(message.contains(word), message);
    }
}
