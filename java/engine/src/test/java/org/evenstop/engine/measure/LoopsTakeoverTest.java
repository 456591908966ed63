// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.measure;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.util.concurrent.atomic.AtomicInteger;
import java.util.function.Supplier;
import org.evenstop.engine.frame.AlphaState;
import org.evenstop.engine.frame.Components;
import org.evenstop.engine.frame.PackedFrame;
import org.evenstop.engine.frame.PlanarFrame;
import org.evenstop.engine.frame.SampleDepth;
import org.evenstop.engine.json.EvenstopFiles;
import org.evenstop.engine.level.LumaStandard;
import org.junit.jupiter.api.Test;

/** Which loops measure: scalar ones until others have been seen to be right and faster, and whatever others do. */
class LoopsTakeoverTest {
    private static final int LINES = 4;

    /** Scalar loops, and quick ones when the four lines of a rehearsal come round again: the row still holds the last. */
    private static class Remembering implements MeasureLoops {
        private final MeasureLoops scalar = new ScalarLoops();
        final AtomicInteger rows = new AtomicInteger();
        private MeasuredRow last;
        private float lowest;
        private float highest;
        private long stepSum;

        @Override
        public String name() {
            return "remembering";
        }

        private boolean knows(MeasuredRow row) {
            return row == last && row.width == LoopsTakeover.WIDTH && rows.get() > LINES;
        }

        @Override
        public boolean read(PackedFrame frame, LumaStandard standard, int line, int from, int to, int siteShift, MeasuredRow row) {
            rows.incrementAndGet();
            return knows(row) || scalar.read(frame, standard, line, from, to, siteShift, row);
        }

        @Override
        public boolean readLuma(PlanarFrame frame, int line, int from, int to, MeasuredRow row) {
            return false;
        }

        @Override
        public boolean readSites(PlanarFrame frame, int line, int from, int to, int siteShift, int chromaShift, MeasuredRow row) {
            return false;
        }

        @Override
        public void ofLuma(MeasuredRow row, int from, int to, int[] codes) {
            if (knows(row)) {
                row.lowest = lowest;
                row.highest = highest;
                row.stepSum = stepSum;
                row.counted = to - from;
                return;
            }
            scalar.ofLuma(row, from, to, codes);
            lowest = row.lowest;
            highest = row.highest;
            stepSum = row.stepSum;
        }

        @Override
        public void addFine(int[] above, int[] below, int from, int to, int[] fine, int[] blocks, int[] sums) {
            scalar.addFine(above, below, from, to, fine, blocks, sums);
        }

        @Override
        public void addCoarse(int[] above, int[] below, int from, int to, int[] coarse) {
            scalar.addCoarse(above, below, from, to, coarse);
        }

        @Override
        public void ofSites(MeasuredRow row, LumaStandard standard, int siteShift, int from, int to) {
            if (!knows(row)) {
                scalar.ofSites(row, standard, siteShift, from, to);
            }
            last = row;
        }
    }

    private static PackedFrame frame() {
        PackedFrame frame = PackedFrame.allocate(640, 40, Components.RGBA, SampleDepth.FLOAT, AlphaState.OPAQUE);
        for (int i = 0; i < frame.memory().capacity(); i += 4) {
            frame.memory().putFloat(i, i % 997 / 997f);
        }
        return frame;
    }

    private static String measured(LoopsTakeover loops) {
        ClipMeter meter = new ClipMeter(LumaStandard.BT709, 1024, loops);
        meter.add(frame(), 0);
        return EvenstopFiles.toJson(meter.finish("frame"), true);
    }

    private static LoopsTakeover takeover(Supplier<MeasureLoops> loader) {
        return new LoopsTakeover(loader);
    }

    @Test
    void rightAndQuickLoopsTakeOver() throws InterruptedException {
        String expected = measured(LoopsTakeover.choose("scalar"));
        Remembering quick = new Remembering();
        AtomicInteger loaded = new AtomicInteger();
        LoopsTakeover loops = takeover(() -> {
            loaded.incrementAndGet();
            return quick;
        });
        PackedFrame frame = frame();
        assertEquals(expected, measured(loops));
        assertEquals(expected, measured(loops));
        while (!loops.isReady(frame)) {
            assertFalse(loops.isRefused(frame), "refused");
            Thread.sleep(5);
        }
        assertEquals(1, loaded.get());
        int before = quick.rows.get();
        assertEquals(expected, measured(loops));
        assertTrue(quick.rows.get() > before, "the frame went to them");
        assertFalse(loops.isReady(PackedFrame.allocate(64, 4, Components.RGBA, SampleDepth.HALF, AlphaState.OPAQUE)), "another depth has its own rehearsal");
    }

    @Test
    void loopsOfOtherResultsAreRefused() throws InterruptedException {
        requireRefused(() -> new Remembering() {
            @Override
            public void ofSites(MeasuredRow row, LumaStandard standard, int siteShift, int from, int to) {
                super.ofSites(row, standard, siteShift, from, to);
                row.chroma[from + 7]++;
            }
        });
    }

    @Test
    void loopsThatThrowOrAreNotThereAreRefused() throws InterruptedException {
        requireRefused(() -> null);
        requireRefused(() -> {
            throw new NoClassDefFoundError("no such registers");
        });
        requireRefused(() -> new Remembering() {
            @Override
            public void ofLuma(MeasuredRow row, int from, int to, int[] codes) {
                throw new IllegalStateException("broken");
            }
        });
    }

    private static void requireRefused(Supplier<MeasureLoops> loader) throws InterruptedException {
        String expected = measured(LoopsTakeover.choose("scalar"));
        LoopsTakeover loops = takeover(loader);
        assertEquals(expected, measured(loops));
        assertEquals(expected, measured(loops));
        while (!loops.isRefused(frame())) {
            assertFalse(loops.isReady(frame()), "they took over");
            Thread.sleep(5);
        }
        assertEquals(expected, measured(loops));
    }

    /** One frame alone is measured without a thread or a class more. */
    @Test
    void oneFrameStartsNothing() {
        LoopsTakeover loops = takeover(() -> {
            throw new IllegalStateException("loaded for one frame");
        });
        measured(loops);
        assertFalse(loops.isStarted());
        assertTrue(LoopsTakeover.choose("no such loops").isRefused(frame()), "an unknown name leaves the scalar ones");
    }
}
