// SPDX-License-Identifier: Apache-2.0
package org.evenstop.vector;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;
import static org.junit.jupiter.api.Assumptions.assumeTrue;

import java.nio.ByteBuffer;
import java.nio.ByteOrder;
import java.util.Random;
import java.util.function.BiConsumer;
import org.evenstop.engine.curve.Curve;
import org.evenstop.engine.frame.ChromaSampling;
import org.evenstop.engine.frame.Components;
import org.evenstop.engine.frame.PackedFrame;
import org.evenstop.engine.frame.PlanarFrame;
import org.evenstop.engine.frame.SampleDepth;
import org.evenstop.engine.kernel.ScalarKernel;
import org.evenstop.engine.level.CodeDepth;
import org.evenstop.engine.level.LumaStandard;
import org.evenstop.engine.solve.Correction;
import org.evenstop.engine.solve.CorrectionOrigin;
import org.junit.jupiter.api.BeforeEach;
import org.junit.jupiter.api.Test;

/**
 * The vector kernel writes the very bits of the scalar kernel, whatever the correction, the format, the size, the place in
 * memory and the pixels; and nothing else.
 */
class VectorEqualsScalarTest {
    private static final int[] SEGMENTS = {1, 2, 5, 8, 15, 16, 17, 31, 32, 33, 60, 64, 65, 100, 128, 129, 512};
    private static final int[] WIDTHS = {1, 3, 15, 16, 17, 31, 33, 64, 255, 256, 257, 272, 500, 515, 1024};
    private final ScalarKernel scalar = new ScalarKernel();

    @BeforeEach
    void needsWideRegisters() {
        assumeTrue(Lanes.refusal().isEmpty(), Lanes.refusal());
    }

    @Test
    void packedFrames() {
        VectorKernel vector = new VectorKernel();
        for (int seed = 0; seed < 1500; seed++) {
            Random random = new Random(seed);
            Correction correction = correction(random);
            float strength = random.nextInt(3) > 0 ? 1f : random.nextFloat();
            PackedFrame source = packed(random);
            PackedFrame expected = beside(source, random);
            PackedFrame got = copy(expected);
            boolean inPlace = random.nextInt(4) == 0;
            if (inPlace) {
                expected = copy(source);
                got = copy(source);
                scalar.apply(expected, expected, 0, source.height(), correction, strength);
                bands(vector, got, got, correction, strength, random);
            } else {
                scalar.apply(source, expected, 0, source.height(), correction, strength);
                bands(vector, source, got, correction, strength, random);
            }
            requireSame("seed " + seed + ", " + source.width() + "x" + source.height() + " " + source.components() + " " + source.depth()
                + " " + source.alpha() + (inPlace ? " in place" : "") + ", strength " + strength + ", "
                + correction.chromaIn().segmentCount() + "/" + correction.tone().segmentCount() + "/"
                + correction.chromaOut().segmentCount() + " segments", expected.memory(), got.memory());
        }
    }

    @Test
    void planarFrames() {
        requireSame((source, random) -> { });
    }

    /** Levels and colours of a picture's part lie near each other: few registers of a curve hold all of a block, at either end of it or between. */
    @Test
    void planarFramesWithLittleInThem() {
        requireSame(VectorEqualsScalarTest::calm);
    }

    /** Of random frames, each changed first. */
    private void requireSame(BiConsumer<PlanarFrame, Random> change) {
        VectorKernel vector = new VectorKernel();
        for (int seed = 0; seed < 1500; seed++) {
            Random random = new Random(seed);
            Correction correction = correction(random);
            float strength = random.nextInt(3) > 0 ? 1f : random.nextFloat();
            PlanarFrame source = planar(random);
            change.accept(source, random);
            requireSame(vector, source, correction, strength, random, seed);
        }
    }

    private void requireSame(VectorKernel vector, PlanarFrame source, Correction correction, float strength, Random random, int seed) {
        boolean direct = random.nextInt(3) > 0;
        boolean inPlace = source.sampling() != ChromaSampling.S420 && random.nextInt(4) == 0;
        PlanarFrame expected = empty(source, direct);
        PlanarFrame got = empty(source, direct);
        if (inPlace) {
            copyBytes(source, expected);
            copyBytes(source, got);
        }
        scalar.apply(inPlace ? expected : source, expected, 0, source.height(), correction, strength);
        int middle = source.height() / 2 & ~1;
        PlanarFrame from = inPlace ? got : source;
        vector.apply(from, got, middle, source.height(), correction, strength);
        vector.apply(from, got, 0, middle, correction, strength);
        String what = "seed " + seed + ", " + source.width() + "x" + source.height() + " " + source.sampling() + " " + source.depth()
            + (inPlace ? " in place" : "");
        requireSame(what + " luma", expected.luma(), got.luma());
        requireSame(what + " Cb", expected.cb(), got.cb());
        requireSame(what + " Cr", expected.cr(), got.cr());
    }

    private static void bands(VectorKernel vector, PackedFrame source, PackedFrame into, Correction correction, float strength, Random random) {
        int cut = random.nextInt(source.height() + 1);
        vector.apply(source, into, cut, source.height(), correction, strength);
        vector.apply(source, into, 0, cut, correction, strength);
    }

    private static void requireSame(String what, ByteBuffer expected, ByteBuffer got) {
        int at = expected.mismatch(got);
        assertTrue(at < 0, () -> what + ": byte " + at + " is " + got.get(at) + ", the scalar kernel writes " + expected.get(at));
    }

    /** Any of the corrections that take loops of their own. */
    static Correction correction(Random random) {
        Curve one = Curve.constant(1);
        Curve tone = random.nextInt(6) == 0 ? Curve.identity() : tone(random);
        Curve chromaIn = random.nextInt(4) == 0 ? one : factor(random, 0.3, 2);
        Curve chromaOut = random.nextInt(4) == 0 ? one : factor(random, 0, 2);
        LumaStandard[] standards = LumaStandard.values();
        return new Correction(chromaIn, tone, chromaOut, standards[random.nextInt(standards.length)], CorrectionOrigin.none());
    }

    private static Curve tone(Random random) {
        int n = SEGMENTS[random.nextInt(SEGMENTS.length)];
        double from = random.nextInt(4) == 0 ? -0.3 * random.nextDouble() : Curve.DOMAIN_FROM;
        double to = random.nextInt(4) == 0 ? 0.5 + random.nextDouble() : Curve.DOMAIN_TO;
        double[] values = new double[n + 1];
        double[] slopes = new double[n + 1];
        double step = (to - from) / n;
        values[0] = -0.2 * random.nextDouble();
        for (int i = 1; i <= n; i++) {
            values[i] = values[i - 1] + (random.nextInt(8) == 0 ? 0 : 2 * random.nextDouble() * step);
        }
        for (int i = 0; i <= n; i++) {
            double before = i == 0 ? Double.MAX_VALUE : (values[i] - values[i - 1]) / step;
            double after = i == n ? Double.MAX_VALUE : (values[i + 1] - values[i]) / step;
            slopes[i] = random.nextDouble() * Math.min(before, after);
        }
        return new Curve(from, to, values, slopes);
    }

    private static Curve factor(Random random, double least, double most) {
        int n = SEGMENTS[random.nextInt(SEGMENTS.length)];
        double[] values = new double[n + 1];
        double[] slopes = new double[n + 1];
        for (int i = 0; i <= n; i++) {
            values[i] = least + (most - least) * random.nextDouble();
            slopes[i] = random.nextDouble() - 0.5;
        }
        if (random.nextInt(4) > 0) {
            slopes[0] = 0;
            slopes[n] = 0;
        }
        return new Curve(Curve.DOMAIN_FROM, Curve.DOMAIN_TO, values, slopes);
    }

    private static PackedFrame packed(Random random) {
        PackedFrame frame = RandomFrames.packed(random, Components.values(), WIDTHS, 5, 64);
        if (frame.depth() == SampleDepth.FLOAT || frame.depth() == SampleDepth.HALF) {
            int oddOnes = new int[] {0, 0, 3, 200}[random.nextInt(4)];
            for (int row = 0; row < frame.height(); row++) {
                for (int i = 0; i < frame.width() * frame.components().count(); i++) {
                    float level = random.nextInt(1000) < oddOnes ? oddOne(random) : (i + row) % 7 == 0 ? 0.4f : -0.2f + 1.5f * random.nextFloat();
                    RandomFrames.put(frame, row, i, level);
                }
            }
        }
        return frame;
    }

    static float oddOne(Random random) {
        float[] odd = {Float.NaN, Float.intBitsToFloat(0x7fa12345), Float.POSITIVE_INFINITY, Float.NEGATIVE_INFINITY, 65504f, 65505f, -65504f,
            1e20f, -1e30f, Float.MAX_VALUE, Float.MIN_VALUE, 0f, -0f, 1e-6f, 1f / 65536, 3000f, -3000f, -5f, 12f};
        return odd[random.nextInt(odd.length)];
    }

    private static PackedFrame beside(PackedFrame source, Random random) {
        int rowBytes = source.rowBytes();
        int stride = (rowBytes + random.nextInt(30)) * (random.nextBoolean() ? 1 : -1);
        int guard = random.nextInt(70);
        int size = guard + Math.abs(stride) * (source.height() - 1) + rowBytes + 64;
        ByteBuffer memory = random.nextInt(4) == 0 ? ByteBuffer.allocate(size) : ByteBuffer.allocateDirect(size);
        for (int i = 0; i < size; i++) {
            memory.put(i, (byte) random.nextInt());
        }
        int origin = stride < 0 ? guard + Math.abs(stride) * (source.height() - 1) : guard;
        return new PackedFrame(memory, origin, stride, source.width(), source.height(), source.components(), source.depth(), source.alpha());
    }

    private static PackedFrame copy(PackedFrame frame) {
        int size = frame.memory().capacity();
        ByteBuffer memory = frame.memory().isDirect() ? ByteBuffer.allocateDirect(size) : ByteBuffer.allocate(size);
        memory.put(0, frame.memory(), 0, size);
        return new PackedFrame(memory, frame.originOffset(), frame.strideBytes(), frame.width(), frame.height(), frame.components(),
            frame.depth(), frame.alpha());
    }

    private static PlanarFrame planar(Random random) {
        ChromaSampling[] samplings = ChromaSampling.values();
        CodeDepth[] depths = CodeDepth.values();
        LumaStandard[] standards = LumaStandard.values();
        int width = WIDTHS[random.nextInt(WIDTHS.length)];
        int height = 1 + random.nextInt(7);
        ChromaSampling sampling = samplings[random.nextInt(samplings.length)];
        CodeDepth depth = depths[random.nextInt(depths.length)];
        int lumaStride = width * depth.bytesPerSample() + padding(random);
        int chromaStride = sampling.chromaWidth(width) * depth.bytesPerSample() + padding(random);
        int chromaBytes = chromaStride * sampling.chromaHeight(height);
        boolean direct = random.nextInt(3) > 0;
        PlanarFrame frame = new PlanarFrame(plane(lumaStride * height, direct, random), plane(chromaBytes, direct, random), plane(chromaBytes, direct, random),
            lumaStride, chromaStride, width, height, sampling, depth, standards[random.nextInt(standards.length)], random.nextInt(3) == 0,
            random.nextBoolean(), random.nextBoolean());
        boolean wild = random.nextInt(4) == 0;
        int codes = frame.depth().maxCode() + 1;
        int span = wild ? codes : codes * 3 / 4;
        int least = wild ? 0 : codes / 8;
        for (int y = 0; y < height; y++) {
            for (int x = 0; x < width; x++) {
                frame.setLumaCode(x, y, least + random.nextInt(span));
            }
        }
        for (int y = 0; y < frame.sampling().chromaHeight(height); y++) {
            for (int x = 0; x < frame.sampling().chromaWidth(width); x++) {
                frame.setCbCode(x, y, least + random.nextInt(span));
                frame.setCrCode(x, y, least + random.nextInt(span));
            }
        }
        return frame;
    }

    private static void calm(PlanarFrame frame, Random random) {
        int codes = frame.depth().maxCode() + 1;
        int span = 1 + random.nextInt(codes / 4);
        int least = random.nextInt(codes - span + 1);
        int colours = 1 + random.nextInt(codes / 16);
        int grey = frame.depth().achromaticCode() - colours / 2;
        for (int y = 0; y < frame.height(); y++) {
            for (int x = 0; x < frame.width(); x++) {
                frame.setLumaCode(x, y, least + random.nextInt(span));
            }
        }
        for (int y = 0; y < frame.sampling().chromaHeight(frame.height()); y++) {
            for (int x = 0; x < frame.sampling().chromaWidth(frame.width()); x++) {
                frame.setCbCode(x, y, grey + random.nextInt(colours));
                frame.setCrCode(x, y, grey + random.nextInt(colours));
            }
        }
    }

    /** Bytes behind each row, which must stay as they are; even, as samples are. */
    private static int padding(Random random) {
        return 2 * random.nextInt(3) * random.nextInt(40);
    }

    /** Random bytes on the heap or outside it, some before the first row. */
    private static ByteBuffer plane(int bytes, boolean direct, Random random) {
        int before = random.nextInt(20);
        ByteBuffer memory = direct ? ByteBuffer.allocateDirect(before + bytes) : ByteBuffer.allocate(before + bytes);
        byte[] noise = new byte[before + bytes];
        random.nextBytes(noise);
        memory.put(0, noise);
        return memory.slice(before, bytes).order(ByteOrder.nativeOrder());
    }

    /** A frame of the same shape and strides whose bytes are all the same; where the rows go there is other memory too. */
    private static PlanarFrame empty(PlanarFrame frame, boolean direct) {
        return new PlanarFrame(like(frame.luma(), direct), like(frame.cb(), direct), like(frame.cr(), direct), frame.lumaStride(), frame.chromaStride(),
            frame.width(), frame.height(), frame.sampling(), frame.depth(), frame.standard(), frame.fullRange(), frame.chromaCosited(), frame.chromaTop());
    }

    /** Padding too. */
    private static void copyBytes(PlanarFrame from, PlanarFrame to) {
        to.luma().put(0, from.luma(), 0, from.luma().capacity());
        to.cb().put(0, from.cb(), 0, from.cb().capacity());
        to.cr().put(0, from.cr(), 0, from.cr().capacity());
    }

    private static ByteBuffer like(ByteBuffer plane, boolean direct) {
        ByteBuffer memory = (direct ? ByteBuffer.allocateDirect(plane.capacity()) : ByteBuffer.allocate(plane.capacity())).order(ByteOrder.nativeOrder());
        for (int i = 0; i < memory.capacity(); i++) {
            memory.put(i, (byte) 0x5a);
        }
        return memory;
    }

    @Test
    void keepsItsName() {
        assertEquals("vector", new VectorKernel().name());
    }
}
