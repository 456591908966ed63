// SPDX-License-Identifier: Apache-2.0
package org.evenstop.bench;

import static org.junit.jupiter.api.Assertions.assertThrows;
import static org.junit.jupiter.api.Assertions.assertTrue;
import static org.junit.jupiter.api.Assumptions.assumeTrue;

import java.util.List;
import org.evenstop.engine.frame.ChromaSampling;
import org.evenstop.engine.frame.PackedFrame;
import org.evenstop.engine.frame.PlanarFrame;
import org.evenstop.engine.frame.SampleDepth;
import org.evenstop.engine.kernel.CorrectionKernel;
import org.evenstop.engine.kernel.ScalarKernel;
import org.evenstop.engine.level.CodeDepth;
import org.evenstop.engine.solve.Correction;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.ValueSource;

/** A kernel that computes the wrong picture is not timed. */
class ProofsTest {
    private static final int WIDTH = 96;
    private static final int HEIGHT = 54;

    /** The scalar kernel with one thing wrong. */
    private record Wrong(float strength, boolean spoilsAlpha) implements CorrectionKernel {
        @Override
        public String name() {
            return "wrong";
        }

        @Override
        public void apply(PackedFrame source, PackedFrame destination, int rowFrom, int rowTo, Correction correction, float asked) {
            new ScalarKernel().apply(source, destination, rowFrom, rowTo, correction, strength);
            if (spoilsAlpha) {
                destination.memory().put(destination.rowOffset(rowFrom) + 3 * destination.depth().bytes(), (byte) 1);
            }
        }

        @Override
        public void apply(PlanarFrame source, PlanarFrame destination, int rowFrom, int rowTo, Correction correction, float asked) {
            new ScalarKernel().apply(source, destination, rowFrom, rowTo, correction, strength);
        }
    }

    private static void time(CorrectionKernel kernel, SampleDepth depth, Corrections pass) {
        try (Crew crew = new Crew(1)) {
            PackedRows rows = new PackedRows(WIDTH, HEIGHT, depth, List.of(crew));
            rows.kernel(kernel, pass);
            rows.rows.forEach(row -> {
                row.warm();
                row.check();
            });
        }
    }

    private static void time(CorrectionKernel kernel, ChromaSampling sampling, CodeDepth depth) {
        try (Crew crew = new Crew(2)) {
            PlanarRows rows = new PlanarRows(WIDTH, HEIGHT, sampling, depth, List.of(crew));
            rows.kernel(kernel, Corrections.ALL);
            rows.rows.forEach(row -> {
                row.warm();
                row.check();
            });
        }
    }

    @Test
    void theScalarKernelPassesInEveryFormatAndPass() {
        for (SampleDepth depth : SampleDepth.values()) {
            for (Corrections pass : Corrections.values()) {
                time(new ScalarKernel(), depth, pass);
            }
        }
        time(new ScalarKernel(), ChromaSampling.S422, CodeDepth.BITS10);
        time(new ScalarKernel(), ChromaSampling.S420, CodeDepth.BITS8);
        time(new ScalarKernel(), ChromaSampling.S444, CodeDepth.BITS10);
    }

    @Test
    void aWrongKernelIsFoundInEveryFormat() {
        for (SampleDepth depth : SampleDepth.values()) {
            assertThrows(WrongResultException.class, () -> time(new Wrong(0.9f, false), depth, Corrections.ALL), depth.name());
            assertThrows(WrongResultException.class, () -> time(new Wrong(0f, false), depth, Corrections.TONE), depth.name());
            assertThrows(WrongResultException.class, () -> time(new Wrong(1f, true), depth, Corrections.ALL), depth.name());
            assertThrows(WrongResultException.class, () -> time(new Wrong(1f, true), depth, Corrections.IDENTITY), depth.name());
        }
        assertThrows(WrongResultException.class, () -> time(new Wrong(0.9f, false), ChromaSampling.S422, CodeDepth.BITS10));
        assertThrows(WrongResultException.class, () -> time(new Wrong(0.9f, false), ChromaSampling.S420, CodeDepth.BITS8));
    }

    /** In a build with the C part; elsewhere there is nothing to compare. */
    @ParameterizedTest
    @ValueSource(booleans = {false, true})
    void theSameMathsInCGivesTheScalarKernelsPicture(boolean forThisProcessor) {
        assumeTrue(CurvesInC.isThere(forThisProcessor), "build/lib/libevenstop_bench is not built"
            + (forThisProcessor ? " for this processor" : "") + ": ./evenstop --rebuild builds it where there is a C compiler");
        try (Crew crew = new Crew(2)) {
            PackedRows packed = new PackedRows(WIDTH, HEIGHT, SampleDepth.FLOAT, List.of(crew));
            packed.inC(forThisProcessor);
            PlanarRows planar = new PlanarRows(WIDTH, HEIGHT, ChromaSampling.S422, CodeDepth.BITS10, List.of(crew));
            planar.inC(forThisProcessor);
            for (List<Row> rows : List.of(packed.rows, planar.rows)) {
                rows.forEach(row -> {
                    row.warm();
                    row.check();
                });
            }
        }
    }

    @Test
    void theTimedCorrectionUsesAllThreeCurves() {
        Correction all = Corrections.ALL.correction();
        assertTrue(!all.isToneOnly() && !all.tone().isIdentity() && !all.chromaIn().isConstant(1) && !all.chromaOut().isConstant(1));
        assertTrue(Corrections.TONE.correction().isToneOnly());
        assertTrue(Corrections.CHROMA.correction().tone().isIdentity());
        assertTrue(Corrections.IDENTITY.correction().isIdentity());
    }
}
