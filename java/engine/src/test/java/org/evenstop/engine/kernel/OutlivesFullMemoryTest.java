// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.kernel;

import static org.junit.jupiter.api.Assertions.assertEquals;

import java.io.IOException;
import java.nio.ByteBuffer;
import java.nio.charset.StandardCharsets;
import java.nio.file.Path;
import java.util.ArrayList;
import java.util.List;
import java.util.Random;
import java.util.function.IntFunction;
import org.evenstop.engine.curve.Curve;
import org.evenstop.engine.frame.AlphaState;
import org.evenstop.engine.frame.ChromaSampling;
import org.evenstop.engine.frame.Components;
import org.evenstop.engine.frame.FramePlace;
import org.evenstop.engine.frame.PackedFrame;
import org.evenstop.engine.frame.PlanarFrame;
import org.evenstop.engine.frame.SampleDepth;
import org.evenstop.engine.level.CodeDepth;
import org.evenstop.engine.level.LumaStandard;
import org.evenstop.engine.mask.GraduatedMask;
import org.evenstop.engine.mask.MaskedCorrection;
import org.evenstop.engine.solve.Correction;
import org.evenstop.engine.solve.CorrectionOrigin;
import org.junit.jupiter.api.Test;

/** A frame for which memory ran out leaves nothing behind that fails the next one of the same thread, for which there is enough. */
class OutlivesFullMemoryTest {
    @Test
    void maskedFrames() throws IOException, InterruptedException {
        requireSuccess("-XX:MaxDirectMemorySize=4m", MaskedFrames.class);
    }

    @Test
    void planarFrames() throws IOException, InterruptedException {
        requireSuccess("-Xmx48m", PlanarFrames.class);
    }

    /** In a process of its own, which has that little memory. */
    private static void requireSuccess(String limit, Class<?> program) throws IOException, InterruptedException {
        Process child = new ProcessBuilder(Path.of(System.getProperty("java.home"), "bin", "java").toString(), limit, "-XX:+UseSerialGC", "-cp",
            System.getProperty("java.class.path"), program.getName()).redirectErrorStream(true).start();
        String said = new String(child.getInputStream().readAllBytes(), StandardCharsets.UTF_8);
        assertEquals(0, child.waitFor(), said);
    }

    private static Correction lift() {
        return new Correction(Curve.constant(1), Curve.fit(x -> 0.02 + 0.9 * x, 0.002), Curve.constant(1), LumaStandard.BT709, CorrectionOrigin.none());
    }

    /**
     * Runs the work with all memory taken but some pieces, then with enough.
     *
     * @return whether it ran out
     */
    private static boolean runsOut(Runnable work, int left, IntFunction<Object> piece) {
        List<Object> taken = new ArrayList<>(1 << 16);
        try {
            for (int i = 0; i < 1 << 16; i++) {
                taken.add(piece.apply(i));
            }
            throw new IllegalStateException("memory has no end");
        } catch (OutOfMemoryError full) {
            taken.subList(0, left).clear();
        }
        boolean ranOut = false;
        try {
            work.run();
        } catch (OutOfMemoryError full) {
            ranOut = true;
        }
        taken.clear();
        work.run();
        return ranOut;
    }

    private static void require(boolean held, String otherwise) {
        if (!held) {
            throw new IllegalStateException(otherwise);
        }
    }

    /** Threads for which one of two bands of a mixed row found room. */
    static final class MaskedFrames {
        private static final int WIDTH = 10_000;
        private static final int ROWS = 8;

        private MaskedFrames() {
        }

        public static void main(String[] args) throws InterruptedException {
            PackedFrame source = PackedFrame.allocate(WIDTH, ROWS, Components.RGBA, SampleDepth.BYTE, AlphaState.OPAQUE);
            new Random(1).nextBytes(source.memory().array());
            PackedFrame expected = PackedFrame.allocate(WIDTH, ROWS, Components.RGBA, SampleDepth.BYTE, AlphaState.OPAQUE);
            PackedFrame got = PackedFrame.allocate(WIDTH, ROWS, Components.RGBA, SampleDepth.BYTE, AlphaState.OPAQUE);
            MaskedCorrection masked = new MaskedCorrection(new GraduatedMask(50, 0, 60, 1), Correction.identity(LumaStandard.BT709), lift());
            FramePlace place = FramePlace.whole(WIDTH, ROWS);
            Thread other = new Thread(() -> masked.apply(new ScalarKernel(), source, expected, 0, ROWS, place, 1f));
            other.start();
            other.join();
            boolean ranOut = runsOut(() -> masked.apply(new ScalarKernel(), source, got, 0, ROWS, place, 1f), 200, i -> ByteBuffer.allocateDirect(4096));
            require(ranOut, "there was memory for both bands");
            require(got.memory().equals(expected.memory()), "the next frame is wrong");
        }
    }

    /** Threads for which some rows of levels found room. */
    static final class PlanarFrames {
        private static final int WIDTH = 400_000;

        private PlanarFrames() {
        }

        public static void main(String[] args) throws InterruptedException {
            PlanarFrame source = PlanarFrame.allocate(WIDTH, 4, ChromaSampling.S420, CodeDepth.BITS8, LumaStandard.BT709, false, true, true);
            new Random(1).nextBytes(source.luma().array());
            new Random(2).nextBytes(source.cb().array());
            PlanarFrame expected = source.allocateLike();
            PlanarFrame got = source.allocateLike();
            Correction lift = lift();
            Thread first = new Thread(() -> new ScalarKernel().apply(source, expected, 0, 4, lift, 1f));
            first.start();
            first.join();
            int[] out = {0};
            for (int left = 0; left < 5; left++) {
                int pieces = left;
                Throwable[] failed = {null};
                Runnable frame = () -> new ScalarKernel().apply(source, got, 0, 4, lift, 1f);
                Thread other = new Thread(() -> out[0] += runsOut(frame, pieces, i -> new float[WIDTH]) ? 1 : 0);
                other.setUncaughtExceptionHandler((thread, thrown) -> failed[0] = thrown);
                other.start();
                other.join();
                require(failed[0] == null, "with room for " + left + " rows: " + failed[0]);
                require(got.luma().equals(expected.luma()) && got.cb().equals(expected.cb()), "the next frame is wrong, with room for " + left + " rows");
            }
            require(out[0] >= 4, "memory ran out " + out[0] + " times of 5");
        }
    }
}
