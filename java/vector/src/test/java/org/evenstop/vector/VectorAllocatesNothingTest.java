// SPDX-License-Identifier: Apache-2.0
package org.evenstop.vector;

import static org.junit.jupiter.api.Assertions.assertTrue;
import static org.junit.jupiter.api.Assertions.fail;
import static org.junit.jupiter.api.Assumptions.assumeTrue;

import com.sun.management.HotSpotDiagnosticMXBean;
import java.lang.management.ManagementFactory;
import java.nio.ByteBuffer;
import java.nio.ByteOrder;
import java.util.Random;
import org.evenstop.engine.curve.Curve;
import org.evenstop.engine.frame.AlphaState;
import org.evenstop.engine.frame.ChromaSampling;
import org.evenstop.engine.frame.Components;
import org.evenstop.engine.frame.PackedFrame;
import org.evenstop.engine.frame.PlanarFrame;
import org.evenstop.engine.frame.SampleDepth;
import org.evenstop.engine.kernel.CorrectionKernel;
import org.evenstop.engine.kernel.ScalarKernel;
import org.evenstop.engine.level.CodeDepth;
import org.evenstop.engine.level.LumaStandard;
import org.evenstop.engine.measure.MeasuredRow;
import org.evenstop.engine.solve.Correction;
import org.evenstop.engine.solve.CorrectionOrigin;
import org.junit.jupiter.api.BeforeEach;
import org.junit.jupiter.api.Test;

/**
 * Once it is compiled, a kernel allocates nothing for a frame, whatever its format, the correction and the kind of memory; nor do the loops of measuring for
 * a row. Compilers work in the background, so each piece of work is repeated until a batch of calls shows it, or so many did not that none would.
 */
class VectorAllocatesNothingTest {
    private static final int CALLS = 200;
    /** No object is smaller. */
    private static final int LEAST_OBJECT = 16;
    private static final int MOST_BATCHES = 3000;
    private static final int ROWS = 4;
    /** The second misses the registers. */
    private static final int[] WIDTHS = {512, 275};
    private static final Curve ONE = Curve.constant(1);
    private static final Curve FACTOR = Curve.fitFlatEnded(y -> 1.2 - 0.4 * y, 0.002);
    private static final Curve TONE = Curve.fit(x -> 0.02 + 0.9 * x, 0.002);
    /** Too fine for registers. */
    private static final Curve FINE = Curve.fit(x -> Math.pow(Math.max(x, 0), 0.5), 0.0005);
    /** Each with a share of it, for which other loops run. */
    private static final Correction[] CORRECTIONS = {of(FACTOR, TONE, FACTOR), of(ONE, TONE, ONE), of(ONE, Curve.identity(), FACTOR),
        of(FACTOR, FINE, FACTOR), of(FACTOR, TONE, FACTOR), of(ONE, Curve.identity(), ONE)};
    private static final float[] STRENGTHS = {1f, 1f, 1f, 1f, 0.5f, 1f};

    private CorrectionKernel[] kernels;
    private com.sun.management.ThreadMXBean threads;

    @BeforeEach
    void needsAMachineThatTells() {
        assumeTrue(Lanes.refusal().isEmpty(), Lanes.refusal());
        assumeTrue(ManagementFactory.getThreadMXBean() instanceof com.sun.management.ThreadMXBean, "this VM does not tell what a thread allocates");
        threads = (com.sun.management.ThreadMXBean) ManagementFactory.getThreadMXBean();
        assumeTrue(threads.isThreadAllocatedMemorySupported() && threads.isThreadAllocatedMemoryEnabled(), "this VM does not tell what a thread allocates");
        String way = System.getProperty("java.vm.info", "");
        assumeTrue(way.startsWith("mixed mode") && !way.contains("emulated-client"), "code is not compiled for good: this VM runs in " + way);
        // What the compiler does not see to stay inside, it makes.
        for (String option : new String[] {"DoEscapeAnalysis", "EliminateAllocations"}) {
            assumeTrue(ManagementFactory.getPlatformMXBean(HotSpotDiagnosticMXBean.class).getVMOption(option).getValue().equals("true"), option + " is off");
        }
        kernels = new CorrectionKernel[] {new ScalarKernel(), new VectorKernel()};
    }

    private static Correction of(Curve chromaIn, Curve tone, Curve chromaOut) {
        return new Correction(chromaIn, tone, chromaOut, LumaStandard.BT709, CorrectionOrigin.none());
    }

    @Test
    void packedFrames() throws InterruptedException {
        assertTrue(FINE.segmentCount() > 2 * Lanes.COUNT, "the fine curve has " + FINE.segmentCount() + " segments");
        for (SampleDepth depth : SampleDepth.values()) {
            for (Components components : Components.values()) {
                for (AlphaState alpha : new AlphaState[] {AlphaState.OPAQUE, AlphaState.PREMULTIPLIED}) {
                    for (int width : WIDTHS) {
                        for (boolean direct : new boolean[] {true, false}) {
                            PackedFrame source = packed(width, direct, components, depth, alpha);
                            PackedFrame into = packed(width, direct, components, depth, alpha);
                            requireNothing(source, into, "");
                        }
                    }
                }
            }
        }
    }

    /** Blocks with such values are left to the scalar kernel. */
    @Test
    void packedFramesWithOddValues() throws InterruptedException {
        for (SampleDepth depth : new SampleDepth[] {SampleDepth.FLOAT, SampleDepth.HALF}) {
            for (boolean direct : new boolean[] {true, false}) {
                PackedFrame source = packed(WIDTHS[0], direct, Components.RGBA, depth, AlphaState.OPAQUE);
                for (int x = 0; x < WIDTHS[0]; x += 100) {
                    RandomFrames.put(source, 1, 4 * x, Float.NaN);
                    RandomFrames.put(source, 2, 4 * x + 3, Float.NaN);
                }
                requireNothing(source, packed(WIDTHS[0], direct, Components.RGBA, depth, AlphaState.OPAQUE), " with NaN");
            }
        }
    }

    private void requireNothing(PackedFrame source, PackedFrame into, String with) throws InterruptedException {
        for (CorrectionKernel kernel : kernels) {
            for (int i = 0; i < CORRECTIONS.length; i++) {
                Correction correction = CORRECTIONS[i];
                float strength = STRENGTHS[i];
                requireNothing(() -> kernel.apply(source, into, 0, ROWS, correction, strength), kernel.name() + ", " + source.width() + " "
                    + source.components() + " " + source.depth() + " " + source.alpha() + (source.memory().isDirect() ? "" : " on the heap") + with
                    + ", correction " + i);
            }
        }
    }

    /** Of another standard than the correction's too. */
    @Test
    void planarFrames() throws InterruptedException {
        for (CodeDepth depth : CodeDepth.values()) {
            for (ChromaSampling sampling : ChromaSampling.values()) {
                for (LumaStandard standard : new LumaStandard[] {LumaStandard.BT709, LumaStandard.BT601}) {
                    for (int width : WIDTHS) {
                        for (boolean direct : new boolean[] {true, false}) {
                            PlanarFrame source = planar(width, direct, sampling, depth, standard);
                            PlanarFrame into = planar(width, direct, sampling, depth, standard);
                            for (CorrectionKernel kernel : kernels) {
                                for (int i = 0; i < CORRECTIONS.length; i++) {
                                    Correction correction = CORRECTIONS[i];
                                    float strength = STRENGTHS[i];
                                    requireNothing(() -> kernel.apply(source, into, 0, ROWS, correction, strength), kernel.name() + ", " + width + " " + sampling
                                        + " " + depth + " " + standard + (direct ? "" : " on the heap") + ", correction " + i);
                                }
                            }
                        }
                    }
                }
            }
        }
    }

    @Test
    void rowsThatAreMeasured() throws InterruptedException {
        VectorLoops loops = new VectorLoops();
        MeasuredRow row = new MeasuredRow(WIDTHS[0]);
        for (int width : WIDTHS) {
            for (int siteShift = 0; siteShift < 2; siteShift++) {
                int shift = siteShift;
                for (SampleDepth depth : SampleDepth.values()) {
                    PackedFrame frame = packed(width, true, Components.RGBA, depth, AlphaState.OPAQUE);
                    requireNothing(() -> loops.read(frame, LumaStandard.BT709, 0, 0, width, shift, row), "measuring " + width + " " + depth + ", shift " + shift);
                }
                for (CodeDepth depth : CodeDepth.values()) {
                    ChromaSampling sampling = shift == 0 ? ChromaSampling.S422 : ChromaSampling.S444;
                    PlanarFrame frame = planar(width, true, sampling, depth, LumaStandard.BT709);
                    requireNothing(() -> {
                        loops.readLuma(frame, 0, 0, width, row);
                        loops.readSites(frame, 0, 0, (width + 1) / 2, 1, shift, row);
                    }, "measuring " + width + " " + sampling + " " + depth);
                }
            }
        }
    }

    private void requireNothing(Runnable call, String what) throws InterruptedException {
        long allocated = 0;
        for (int batch = 0; batch < MOST_BATCHES; batch++) {
            long before = threads.getCurrentThreadAllocatedBytes();
            for (int i = 0; i < CALLS; i++) {
                call.run();
            }
            allocated = threads.getCurrentThreadAllocatedBytes() - before;
            if (allocated < (long) LEAST_OBJECT * CALLS) {
                return;
            }
            // Where all cores are busy the compilers need one.
            Thread.sleep(1);
        }
        fail(what + ": " + allocated + " bytes in " + CALLS + " calls, after " + (MOST_BATCHES - 1) * CALLS + " to warm up");
    }

    private static PackedFrame packed(int width, boolean direct, Components components, SampleDepth depth, AlphaState alpha) {
        int stride = width * components.count() * depth.bytes();
        PackedFrame frame = new PackedFrame(memory(stride * ROWS, direct), 0, stride, width, ROWS, components, depth, alpha);
        Random random = new Random(width);
        for (int row = 0; row < ROWS; row++) {
            for (int i = 0; i < width * components.count(); i++) {
                RandomFrames.put(frame, row, i, i % 4 == 3 ? 1f : random.nextFloat());
            }
        }
        return frame;
    }

    private static PlanarFrame planar(int width, boolean direct, ChromaSampling sampling, CodeDepth depth, LumaStandard standard) {
        int stride = width * depth.bytesPerSample();
        int chromaStride = sampling.chromaWidth(width) * depth.bytesPerSample();
        int chromaBytes = chromaStride * sampling.chromaHeight(ROWS);
        PlanarFrame frame = new PlanarFrame(memory(stride * ROWS, direct), memory(chromaBytes, direct), memory(chromaBytes, direct), stride, chromaStride,
            width, ROWS, sampling, depth, standard, false, true, false);
        Random random = new Random(width);
        for (int y = 0; y < ROWS; y++) {
            for (int x = 0; x < width; x++) {
                frame.setLumaCode(x, y, frame.blackCode() + random.nextInt(frame.lumaSpan()));
            }
        }
        for (int y = 0; y < sampling.chromaHeight(ROWS); y++) {
            for (int x = 0; x < sampling.chromaWidth(width); x++) {
                frame.setCbCode(x, y, depth.achromaticCode() + random.nextInt(depth.maxCode() / 8));
                frame.setCrCode(x, y, depth.achromaticCode() - random.nextInt(depth.maxCode() / 8));
            }
        }
        return frame;
    }

    private static ByteBuffer memory(int bytes, boolean direct) {
        return (direct ? ByteBuffer.allocateDirect(bytes) : ByteBuffer.allocate(bytes)).order(ByteOrder.nativeOrder());
    }
}
