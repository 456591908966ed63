// SPDX-License-Identifier: Apache-2.0
package org.evenstop.vector;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assumptions.assumeTrue;

import java.io.IOException;
import java.nio.ByteBuffer;
import java.nio.charset.StandardCharsets;
import java.nio.file.Path;
import java.util.ArrayList;
import java.util.List;
import java.util.Random;
import org.evenstop.engine.frame.AlphaState;
import org.evenstop.engine.frame.ChromaSampling;
import org.evenstop.engine.frame.Components;
import org.evenstop.engine.frame.PackedFrame;
import org.evenstop.engine.frame.PlanarFrame;
import org.evenstop.engine.frame.SampleDepth;
import org.evenstop.engine.kernel.ScalarKernel;
import org.evenstop.engine.level.CodeDepth;
import org.evenstop.engine.level.LumaStandard;
import org.evenstop.engine.solve.Correction;
import org.junit.jupiter.api.Test;

/** A frame for which memory outside the heap ran out leaves nothing behind that the next one, for which there is enough, meets. */
class VectorOutlivesFullMemoryTest {
    @Test
    void planarFrames() throws IOException, InterruptedException {
        assumeTrue(Lanes.refusal().isEmpty(), Lanes.refusal());
        // A process of its own: where it goes wrong, addresses of nothing are written to.
        Process child = new ProcessBuilder(Path.of(System.getProperty("java.home"), "bin", "java").toString(), "-XX:MaxDirectMemorySize=" + RunsOut.LIMIT,
            "--add-modules=jdk.incubator.vector", "--enable-native-access=ALL-UNNAMED", "-XX:-CreateCoredumpOnCrash", "-XX:+ErrorFileToStdout", "-cp",
            System.getProperty("java.class.path"), RunsOut.class.getName()).redirectErrorStream(true).start();
        String said = new String(child.getInputStream().readAllBytes(), StandardCharsets.UTF_8);
        assertEquals(0, child.waitFor(), said);
    }

    /** Leaves no memory, then enough for the stages of codes but for no row of levels, then for some. */
    static final class RunsOut {
        private static final int LIMIT = 4 << 20;
        private static final int PIECE = 4096;
        private static final int[] PIECES_LEFT = {0, 6, 20};
        private static final int WIDTH = 2000;

        private RunsOut() {
        }

        public static void main(String[] args) {
            Correction correction = VectorEqualsScalarTest.correction(new Random(0));
            PlanarFrame source = PlanarFrame.allocate(WIDTH, 2, ChromaSampling.S422, CodeDepth.BITS10, LumaStandard.BT709, false, true, true);
            Random random = new Random(1);
            for (int x = 0; x < WIDTH; x++) {
                source.setLumaCode(x, 0, 64 + random.nextInt(800));
                source.setCbCode(x / 2, 1, 400 + random.nextInt(200));
            }
            PlanarFrame expected = source.allocateLike();
            new ScalarKernel().apply(source, expected, 0, 2, correction, 1f);
            for (int left : PIECES_LEFT) {
                VectorKernel vector = new VectorKernel();
                PackedFrame pixel = PackedFrame.allocate(1, 1, Components.RGBA, SampleDepth.BYTE, AlphaState.OPAQUE);
                vector.apply(pixel, pixel, 0, 1, correction, 1f);
                List<ByteBuffer> taken = new ArrayList<>();
                require(fills(taken), "memory has no end");
                taken.subList(0, left).clear();
                PlanarFrame got = source.allocateLike();
                boolean ranOut = false;
                try {
                    vector.apply(source, got, 0, 2, correction, 1f);
                } catch (OutOfMemoryError full) {
                    ranOut = true;
                }
                require(ranOut, "memory for one frame was found with " + left + " pieces left");
                taken.clear();
                vector.apply(source, got, 0, 2, correction, 1f);
                require(got.luma().equals(expected.luma()) && got.cb().equals(expected.cb()) && got.cr().equals(expected.cr()),
                    "the next frame is wrong, with " + left + " pieces left for the one before");
            }
        }

        /** False where the limit that this process was given holds for no buffer. */
        private static boolean fills(List<ByteBuffer> taken) {
            try {
                for (int i = 0; i <= LIMIT / PIECE; i++) {
                    taken.add(ByteBuffer.allocateDirect(PIECE));
                }
                return false;
            } catch (OutOfMemoryError full) {
                return true;
            }
        }

        private static void require(boolean held, String otherwise) {
            if (!held) {
                throw new IllegalStateException(otherwise);
            }
        }
    }
}
