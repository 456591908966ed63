// SPDX-License-Identifier: Apache-2.0
package org.evenstop.bench.jmh;

import java.util.ArrayList;
import java.util.List;
import java.util.ServiceLoader;
import org.evenstop.bench.Corrections;
import org.evenstop.bench.KernelUnderTest;
import org.evenstop.bench.TestPicture;
import org.evenstop.engine.frame.ChromaSampling;
import org.evenstop.engine.frame.PackedFrame;
import org.evenstop.engine.frame.PlanarFrame;
import org.evenstop.engine.frame.SampleDepth;
import org.evenstop.engine.kernel.CorrectionKernel;
import org.evenstop.engine.kernel.ScalarKernel;
import org.evenstop.engine.level.CodeDepth;
import org.evenstop.engine.solve.Correction;
import org.openjdk.jmh.annotations.Level;
import org.openjdk.jmh.annotations.Param;
import org.openjdk.jmh.annotations.Scope;
import org.openjdk.jmh.annotations.Setup;
import org.openjdk.jmh.annotations.State;

/** What the benchmarks share: frames of UHD size, corrections, kernels by name. */
public final class Frames {
    static final int WIDTH = 3840;
    static final int HEIGHT = 2160;

    private Frames() {
    }

    /**
     * The kernel of that name: {@code scalar}, {@code chosen} (what serves in the end on this machine), or a service's.
     *
     * @throws IllegalArgumentException naming those that are there
     */
    static CorrectionKernel kernel(String name) {
        if (name.equals("chosen")) {
            return KernelUnderTest.get();
        }
        List<String> known = new ArrayList<>(List.of("chosen", "scalar"));
        for (CorrectionKernel service : ServiceLoader.load(CorrectionKernel.class)) {
            if (service.name().equals(name)) {
                return service;
            }
            known.add(service.name());
        }
        if (name.equals("scalar")) {
            return new ScalarKernel();
        }
        throw new IllegalArgumentException("there is no kernel '" + name + "'; there are " + known);
    }

    /** An RGBA frame and where it goes. */
    @State(Scope.Benchmark)
    public static class Packed {
        @Param({"FLOAT", "HALF", "SHORT", "BYTE"})
        public SampleDepth depth;

        PackedFrame source;
        PackedFrame destination;

        @Setup(Level.Trial)
        public void make() {
            source = TestPicture.packed(WIDTH, HEIGHT, depth);
            destination = TestPicture.emptyPacked(WIDTH, HEIGHT, depth);
        }
    }

    /** A planar frame and where it goes: 4:2:2 at 10 bit, 4:2:0 at 8, 4:4:4 at 10. */
    @State(Scope.Benchmark)
    public static class Planar {
        @Param({"S422/BITS10", "S420/BITS8", "S444/BITS10"})
        public String shape;

        PlanarFrame source;
        PlanarFrame destination;

        @Setup(Level.Trial)
        public void make() {
            ChromaSampling sampling = ChromaSampling.valueOf(shape.substring(0, shape.indexOf('/')));
            CodeDepth depth = CodeDepth.valueOf(shape.substring(shape.indexOf('/') + 1));
            source = TestPicture.planar(WIDTH, HEIGHT, sampling, depth);
            destination = TestPicture.emptyPlanar(WIDTH, HEIGHT, sampling, depth);
        }
    }

    /** What is done, and by which kernel. */
    @State(Scope.Benchmark)
    public static class Work {
        @Param({"ALL", "TONE", "CHROMA", "IDENTITY"})
        public Corrections pass;

        @Param({"scalar", "chosen"})
        public String kernel;

        Correction correction;
        CorrectionKernel by;

        @Setup(Level.Trial)
        public void make() {
            correction = pass.correction();
            by = Frames.kernel(kernel);
        }
    }
}
