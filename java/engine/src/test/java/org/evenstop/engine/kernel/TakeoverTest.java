// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.kernel;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.nio.ByteBuffer;
import java.util.concurrent.atomic.AtomicInteger;
import org.evenstop.engine.curve.Curve;
import org.evenstop.engine.frame.AlphaState;
import org.evenstop.engine.frame.Components;
import org.evenstop.engine.frame.PackedFrame;
import org.evenstop.engine.frame.PlanarFrame;
import org.evenstop.engine.frame.SampleDepth;
import org.evenstop.engine.level.LumaStandard;
import org.evenstop.engine.solve.Correction;
import org.evenstop.engine.solve.CorrectionOrigin;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.api.Timeout;

/** When another kernel takes over, and when it must not. The other kernels here are made to be quick, wrong or broken. */
@Timeout(120)
class TakeoverTest {
    private static final ScalarKernel SCALAR = new ScalarKernel();
    private static final Correction BRIGHTER = new Correction(Curve.constant(1), Curve.fit(x -> 1.2 * x + 0.01, 0.001), Curve.constant(1),
        LumaStandard.BT709, CorrectionOrigin.none());

    /** Right, and quick from the second time on: it remembers what the scalar kernel wrote for the same work. */
    private static class Remembering implements CorrectionKernel {
        final AtomicInteger calls = new AtomicInteger();
        private ByteBuffer input;
        private ByteBuffer output;

        @Override
        public String name() {
            return "remembering";
        }

        @Override
        public synchronized void apply(PackedFrame source, PackedFrame destination, int rowFrom, int rowTo, Correction correction, float strength) {
            calls.incrementAndGet();
            if (output == null || !source.memory().equals(input)) {
                SCALAR.apply(source, destination, rowFrom, rowTo, correction, strength);
                input = copy(source.memory());
                output = copy(destination.memory());
            } else {
                destination.memory().put(0, output, 0, output.capacity());
            }
        }

        @Override
        public void apply(PlanarFrame source, PlanarFrame destination, int rowFrom, int rowTo, Correction correction, float strength) {
            throw new IllegalStateException("planar frames break this kernel");
        }

        private static ByteBuffer copy(ByteBuffer memory) {
            return ByteBuffer.allocate(memory.capacity()).put(0, memory, 0, memory.capacity());
        }
    }

    private static PackedFrame frame() {
        PackedFrame frame = PackedFrame.allocate(640, 4, Components.RGBA, SampleDepth.FLOAT, AlphaState.OPAQUE);
        for (int i = 0; i < frame.memory().capacity(); i += 4) {
            frame.memory().putFloat(i, i % 997 / 997f);
        }
        return frame;
    }

    private static void requireRight(Takeover takeover, PackedFrame source) {
        PackedFrame expected = PackedFrame.allocate(640, 4, Components.RGBA, SampleDepth.FLOAT, AlphaState.OPAQUE);
        PackedFrame got = PackedFrame.allocate(640, 4, Components.RGBA, SampleDepth.FLOAT, AlphaState.OPAQUE);
        SCALAR.apply(source, expected, 0, 4, BRIGHTER, 1f);
        takeover.apply(source, got, 0, 4, BRIGHTER, 1f);
        assertEquals(expected.memory(), got.memory());
    }

    @Test
    void aRightAndQuickKernelTakesOver() throws InterruptedException {
        Remembering quick = new Remembering();
        Takeover takeover = new Takeover(SCALAR, () -> quick);
        PackedFrame source = frame();
        assertEquals("scalar", takeover.name());
        requireRight(takeover, source);
        while (!takeover.isReady(source, BRIGHTER, 1f)) {
            assertFalse(takeover.isRefused(source, BRIGHTER, 1f), "refused");
            Thread.sleep(5);
        }
        int before = quick.calls.get();
        requireRight(takeover, source);
        assertEquals(before + 1, quick.calls.get(), "the frame went to it");
        assertFalse(takeover.isReady(source, BRIGHTER, 0.5f), "another kind of work has its own rehearsal");
    }

    @Test
    void nothingIsRehearsedWhileThatIsHeldBack() throws InterruptedException {
        Remembering quick = new Remembering();
        Takeover takeover = new Takeover(SCALAR, () -> quick);
        PackedFrame source = frame();
        Rehearsals.holdBack(true);
        try {
            for (int i = 0; i < 5; i++) {
                requireRight(takeover, source);
            }
            assertFalse(takeover.isStarted());
        } finally {
            Rehearsals.holdBack(false);
        }
        requireRight(takeover, source);
        assertTrue(takeover.isStarted());
        while (!takeover.isReady(source, BRIGHTER, 1f)) {
            Thread.sleep(5);
        }
    }

    @Test
    void aKernelOfOtherPixelsIsRefused() throws InterruptedException {
        Takeover takeover = new Takeover(SCALAR, () -> new Remembering() {
            @Override
            public synchronized void apply(PackedFrame source, PackedFrame destination, int rowFrom, int rowTo, Correction correction, float strength) {
                super.apply(source, destination, rowFrom, rowTo, correction, strength);
                destination.memory().put(100, (byte) (destination.memory().get(100) + 1));
            }
        });
        requireRefused(takeover);
    }

    @Test
    void aKernelThatThrowsOrIsNotThereIsRefused() throws InterruptedException {
        requireRefused(new Takeover(SCALAR, () -> null));
        requireRefused(new Takeover(SCALAR, () -> {
            throw new NoClassDefFoundError("no such registers");
        }));
        requireRefused(new Takeover(SCALAR, () -> new Remembering() {
            @Override
            public synchronized void apply(PackedFrame source, PackedFrame destination, int rowFrom, int rowTo, Correction correction, float strength) {
                throw new IllegalStateException("broken");
            }
        }));
    }

    private static void requireRefused(Takeover takeover) throws InterruptedException {
        PackedFrame source = frame();
        requireRight(takeover, source);
        while (!takeover.isRefused(source, BRIGHTER, 1f)) {
            assertFalse(takeover.isReady(source, BRIGHTER, 1f), "it took over");
            Thread.sleep(5);
        }
        requireRight(takeover, source);
        assertTrue(takeover.isRefused(source, BRIGHTER, 1f));
    }
}
