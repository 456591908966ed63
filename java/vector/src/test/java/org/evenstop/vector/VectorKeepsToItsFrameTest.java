// SPDX-License-Identifier: Apache-2.0
package org.evenstop.vector;

import static org.junit.jupiter.api.Assertions.assertArrayEquals;
import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertThrows;
import static org.junit.jupiter.api.Assertions.assertTrue;
import static org.junit.jupiter.api.Assumptions.assumeTrue;

import java.lang.foreign.Arena;
import java.nio.ByteBuffer;
import java.util.ArrayList;
import java.util.List;
import java.util.Random;
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
import org.evenstop.engine.measure.ScalarLoops;
import org.evenstop.engine.solve.Correction;
import org.junit.jupiter.api.BeforeEach;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.api.function.Executable;

/**
 * Loops that go by address, which no one checks, neither read nor write a byte that is not the frame's: frames whose memory begins and ends where
 * theirs does lie against pages that must not be touched and among other bytes, which must stay.
 */
class VectorKeepsToItsFrameTest {
    private static final int MOST_WIDTH = 600;
    private static final int MOST_ROWS = 7;
    private static final int MOST_PADDING = 80;
    private static final int MOST_BYTES = MOST_ROWS * (16 * MOST_WIDTH + MOST_PADDING);
    private final ScalarKernel scalar = new ScalarKernel();

    @BeforeEach
    void needsWideRegisters() {
        assumeTrue(Lanes.refusal().isEmpty(), Lanes.refusal());
    }

    @Test
    void packedFrames() {
        VectorKernel vector = new VectorKernel();
        ScalarLoops scalarLoops = new ScalarLoops();
        VectorLoops vectorLoops = new VectorLoops();
        FencedMemory from = new FencedMemory(MOST_BYTES);
        FencedMemory into = new FencedMemory(MOST_BYTES);
        byte[] noise = new byte[from.whole().capacity()];
        int read = 0;
        for (int seed = 0; seed < 2500; seed++) {
            Random random = new Random(seed);
            Correction correction = VectorEqualsScalarTest.correction(random);
            float strength = random.nextInt(3) > 0 ? 1f : random.nextFloat();
            random.nextBytes(noise);
            from.fill(noise);
            into.fill(noise);
            PackedFrame source = source(from, random);
            PackedFrame got = packed(into, source, random);
            int height = source.height();
            boolean inPlace = random.nextInt(4) == 0;
            ByteBuffer given = copy(from.whole());
            ByteBuffer expected = copy((inPlace ? from : into).whole());
            scalar.apply(source, within(expected, inPlace ? from : into, inPlace ? source : got), 0, height, correction, strength);
            int cut = random.nextInt(height + 1);
            String what = "seed " + seed + ", " + source.width() + "x" + height + " " + source.components() + " " + source.depth() + " " + source.alpha();
            if (source.components() != Components.ALPHA) {
                for (int siteShift = 0; siteShift < 2; siteShift++) {
                    int line = random.nextInt(height);
                    int begin = 2 * random.nextInt((source.width() + 1) / 2);
                    int end = random.nextBoolean() ? source.width() : begin + 1 + random.nextInt(source.width() - begin);
                    MeasuredRow a = new MeasuredRow(source.width());
                    MeasuredRow b = new MeasuredRow(source.width());
                    LumaStandard standard = correction.standard();
                    if (vectorLoops.read(source, standard, line, begin, end, siteShift, b)) {
                        read++;
                        assertTrue(scalarLoops.read(source, standard, line, begin, end, siteShift, a));
                        requireSame(what + ", row " + line + ", " + begin + ".." + end, a, b);
                    }
                }
            }
            vector.apply(source, inPlace ? source : got, cut, height, correction, strength);
            vector.apply(source, inPlace ? source : got, 0, cut, correction, strength);
            requireSame(what, expected, (inPlace ? from : into).whole());
            if (!inPlace) {
                requireSame(what + ", source", given, from.whole());
            }
        }
        assertTrue(read > 500, read + " runs were read by wide registers");
    }

    @Test
    void planarFrames() {
        VectorKernel vector = new VectorKernel();
        ScalarLoops scalarLoops = new ScalarLoops();
        VectorLoops vectorLoops = new VectorLoops();
        FencedMemory[] from = new FencedMemory[3];
        FencedMemory[] into = new FencedMemory[3];
        for (int plane = 0; plane < 3; plane++) {
            from[plane] = new FencedMemory(1);
            into[plane] = new FencedMemory(1);
        }
        byte[] noise = new byte[from[0].whole().capacity()];
        for (int seed = 0; seed < 2500; seed++) {
            Random random = new Random(seed);
            Correction correction = VectorEqualsScalarTest.correction(random);
            float strength = random.nextInt(3) > 0 ? 1f : random.nextFloat();
            random.nextBytes(noise);
            ByteBuffer[] given = new ByteBuffer[3];
            ByteBuffer[] expected = new ByteBuffer[3];
            for (int plane = 0; plane < 3; plane++) {
                from[plane].fill(noise);
                into[plane].fill(noise);
            }
            PlanarFrame source = planar(from, null, random);
            paint(source, random);
            PlanarFrame got = planar(into, source, random);
            for (int plane = 0; plane < 3; plane++) {
                given[plane] = copy(from[plane].whole());
                expected[plane] = copy(into[plane].whole());
            }
            int height = source.height();
            scalar.apply(source, within(expected, into, got), 0, height, correction, strength);
            int cut = random.nextInt(height + 1) & ~1;
            vector.apply(source, got, cut, height, correction, strength);
            vector.apply(source, got, 0, cut, correction, strength);
            String what = "seed " + seed + ", " + source.width() + "x" + height + " " + source.sampling() + " " + source.depth();
            for (int plane = 0; plane < 3; plane++) {
                requireSame(what + ", plane " + plane, expected[plane], into[plane].whole());
                requireSame(what + ", plane " + plane + " of the source", given[plane], from[plane].whole());
            }
            int line = random.nextInt(height) & -1 << source.sampling().shiftY();
            int begin = 2 * random.nextInt((source.width() + 1) / 2);
            int end = random.nextBoolean() ? source.width() : begin + 1 + random.nextInt(source.width() - begin);
            int siteShift = random.nextBoolean() ? 1 : source.sampling().shiftX();
            int chromaShift = siteShift - source.sampling().shiftX();
            int firstSite = begin + (1 << siteShift) - 1 >> siteShift;
            int lastSite = end + (1 << siteShift) - 1 >> siteShift;
            MeasuredRow a = new MeasuredRow(source.width());
            MeasuredRow b = new MeasuredRow(source.width());
            scalarLoops.readLuma(source, line, begin, end, a);
            assertTrue(vectorLoops.readLuma(source, line, begin, end, b), what);
            if (vectorLoops.readSites(source, line, firstSite, lastSite, siteShift, chromaShift, b)) {
                scalarLoops.readSites(source, line, firstSite, lastSite, siteShift, chromaShift, a);
            }
            requireSame(what + ", row " + line + ", " + begin + ".." + end, a, b);
        }
    }

    /** By address such memory could be written to. */
    @Test
    void refusesReadOnlyDestinations() {
        Correction correction = VectorEqualsScalarTest.correction(new Random(0));
        PackedFrame packed = new PackedFrame(ByteBuffer.allocateDirect(64 * 16), 0, 64 * 16, 64, 1, Components.RGBA, SampleDepth.FLOAT, AlphaState.OPAQUE);
        PackedFrame readOnly = new PackedFrame(packed.memory().asReadOnlyBuffer(), 0, 64 * 16, 64, 1, Components.RGBA, SampleDepth.FLOAT, AlphaState.OPAQUE);
        ByteBuffer plane = ByteBuffer.allocateDirect(64);
        PlanarFrame planar = planar(plane, plane, plane);
        ByteBuffer sealed = plane.asReadOnlyBuffer();
        PlanarFrame[] sealedPlanes = {planar(sealed, plane, plane), planar(plane, sealed, plane), planar(plane, plane, sealed)};
        for (CorrectionKernel kernel : new CorrectionKernel[] {scalar, new VectorKernel()}) {
            kernel.apply(readOnly, packed, 0, 1, correction, 1f);
            assertThrows(IllegalArgumentException.class, () -> kernel.apply(packed, readOnly, 0, 1, correction, 1f));
            for (PlanarFrame into : sealedPlanes) {
                assertThrows(IllegalArgumentException.class, () -> kernel.apply(planar, into, 0, 1, correction, 1f));
            }
        }
    }

    /** By address memory could be met that is someone else's by now. */
    @Test
    void refusesClosedMemory() {
        Correction correction = VectorEqualsScalarTest.correction(new Random(0));
        PackedFrame open = new PackedFrame(ByteBuffer.allocateDirect(64 * 16), 0, 64 * 16, 64, 1, Components.RGBA, SampleDepth.FLOAT, AlphaState.OPAQUE);
        PackedFrame closed;
        PlanarFrame closedPlanes;
        try (Arena arena = Arena.ofConfined()) {
            closed = new PackedFrame(arena.allocate(64 * 16).asByteBuffer(), 0, 64 * 16, 64, 1, Components.RGBA, SampleDepth.FLOAT, AlphaState.OPAQUE);
            ByteBuffer plane = arena.allocate(64).asByteBuffer();
            closedPlanes = planar(plane, plane, plane);
            new VectorKernel().apply(closed, open, 0, 1, correction, 1f);
        }
        VectorKernel vector = new VectorKernel();
        VectorLoops loops = new VectorLoops();
        assertThrows(IllegalStateException.class, () -> vector.apply(closed, open, 0, 1, correction, 1f));
        assertThrows(IllegalStateException.class, () -> vector.apply(open, closed, 0, 1, correction, 1f));
        assertThrows(IllegalStateException.class, () -> vector.apply(closedPlanes, closedPlanes, 0, 1, correction, 1f));
        assertThrows(IllegalStateException.class, () -> loops.read(closed, LumaStandard.BT709, 0, 0, 64, 0, new MeasuredRow(64)));
        assertThrows(IllegalStateException.class, () -> loops.readLuma(closedPlanes, 0, 0, 64, new MeasuredRow(64)));
    }

    /** By address anyone could meet it. */
    @Test
    void refusesMemoryOfAnotherThread() throws InterruptedException {
        Correction correction = VectorEqualsScalarTest.correction(new Random(0));
        VectorKernel vector = new VectorKernel();
        VectorLoops loops = new VectorLoops();
        for (ByteBuffer plane : new ByteBuffer[] {ByteBuffer.allocateDirect(64), ByteBuffer.allocate(64)}) {
            PackedFrame ours = new PackedFrame(ByteBuffer.allocateDirect(64 * 16), 0, 64 * 16, 64, 1, Components.RGBA, SampleDepth.FLOAT, AlphaState.OPAQUE);
            PlanarFrame ourPlanes = planar(plane, plane, plane);
            try (Arena arena = Arena.ofConfined()) {
                PackedFrame theirs = new PackedFrame(arena.allocate(64 * 16).asByteBuffer(), 0, 64 * 16, 64, 1, Components.RGBA, SampleDepth.FLOAT,
                    AlphaState.OPAQUE);
                ByteBuffer sealed = arena.allocate(64).asByteBuffer();
                PlanarFrame[] theirPlanes = {planar(sealed, plane, plane), planar(plane, sealed, plane), planar(plane, plane, sealed)};
                List<Executable> calls = new ArrayList<>(List.of(
                    () -> vector.apply(theirs, ours, 0, 1, correction, 1f), () -> vector.apply(ours, theirs, 0, 1, correction, 1f),
                    () -> loops.read(theirs, LumaStandard.BT709, 0, 0, 64, 0, new MeasuredRow(64)),
                    () -> loops.readLuma(theirPlanes[0], 0, 0, 64, new MeasuredRow(64))));
                for (PlanarFrame planes : theirPlanes) {
                    calls.add(() -> vector.apply(planes, ourPlanes, 0, 1, correction, 1f));
                    calls.add(() -> vector.apply(ourPlanes, planes, 0, 1, correction, 1f));
                }
                List<Throwable> refusals = new ArrayList<>();
                Thread other = new Thread(() -> {
                    for (Executable call : calls) {
                        try {
                            call.execute();
                        } catch (Throwable refused) {
                            refusals.add(refused);
                        }
                    }
                });
                other.start();
                other.join();
                assertEquals(calls.size(), refusals.size());
                for (Throwable refusal : refusals) {
                    assertEquals(IllegalStateException.class, refusal.getClass(), refusal.toString());
                }
            }
        }
    }

    private static PlanarFrame planar(ByteBuffer luma, ByteBuffer cb, ByteBuffer cr) {
        return new PlanarFrame(luma, cb, cr, 64, 64, 64, 1, ChromaSampling.S444, CodeDepth.BITS8, LumaStandard.BT709, false, true, true);
    }

    private static PackedFrame source(FencedMemory memory, Random random) {
        Components[] components = Components.values();
        SampleDepth[] depths = SampleDepth.values();
        AlphaState[] alphas = AlphaState.values();
        PackedFrame shape = PackedFrame.allocate(width(random), 1 + random.nextInt(MOST_ROWS), components[random.nextInt(components.length)],
            depths[random.nextInt(depths.length)], alphas[random.nextInt(alphas.length)]);
        PackedFrame frame = packed(memory, shape, random);
        int oddOnes = new int[] {0, 0, 0, 3, 200}[random.nextInt(5)];
        boolean opaque = random.nextBoolean();
        int channels = frame.components().count();
        for (int row = 0; row < frame.height(); row++) {
            for (int i = 0; i < frame.width() * channels; i++) {
                float level = i % 4 == 3 && channels == 4 && opaque ? 1f
                    : random.nextInt(1000) < oddOnes ? VectorEqualsScalarTest.oddOne(random) : -0.2f + 1.5f * random.nextFloat();
                RandomFrames.put(frame, row, i, level);
            }
        }
        return frame;
    }

    /** Half of them whole registers, for which loops meet the frame itself. */
    private static int width(Random random) {
        int width = 1 + random.nextInt(MOST_WIDTH);
        return random.nextBoolean() ? width : Math.min(MOST_WIDTH / 64 * 64, (width + 63) / 64 * 64) / (1 + random.nextInt(2));
    }

    private static PackedFrame packed(FencedMemory memory, PackedFrame shape, Random random) {
        int padded = shape.rowBytes() + random.nextInt(2) * random.nextInt(MOST_PADDING + 1);
        int below = padded * (shape.height() - 1);
        boolean upwards = random.nextBoolean();
        return new PackedFrame(memory.buffer(below + shape.rowBytes(), random), upwards ? below : 0, upwards ? -padded : padded, shape.width(),
            shape.height(), shape.components(), shape.depth(), shape.alpha());
    }

    /** @param like whose shape it has; null for any */
    private static PlanarFrame planar(FencedMemory[] memory, PlanarFrame like, Random random) {
        CodeDepth[] depths = CodeDepth.values();
        ChromaSampling[] samplings = ChromaSampling.values();
        LumaStandard[] standards = LumaStandard.values();
        int width = like != null ? like.width() : width(random);
        int height = like != null ? like.height() : 1 + random.nextInt(MOST_ROWS);
        CodeDepth depth = like != null ? like.depth() : depths[random.nextInt(depths.length)];
        ChromaSampling sampling = like != null ? like.sampling() : samplings[random.nextInt(samplings.length)];
        int rowBytes = width * depth.bytesPerSample();
        int chromaRowBytes = sampling.chromaWidth(width) * depth.bytesPerSample();
        int stride = rowBytes + random.nextInt(2) * random.nextInt(MOST_PADDING + 1);
        int chromaStride = chromaRowBytes + random.nextInt(2) * random.nextInt(MOST_PADDING + 1);
        int chromaBytes = chromaStride * (sampling.chromaHeight(height) - 1) + chromaRowBytes;
        return new PlanarFrame(memory[0].buffer(stride * (height - 1) + rowBytes, random), memory[1].buffer(chromaBytes, random),
            memory[2].buffer(chromaBytes, random), stride, chromaStride, width, height, sampling, depth,
            like != null ? like.standard() : standards[random.nextInt(standards.length)], like != null ? like.fullRange() : random.nextInt(3) == 0,
            like != null ? like.chromaCosited() : random.nextBoolean(), like != null ? like.chromaTop() : random.nextBoolean());
    }

    /** Codes of the depth; what lies between rows stays noise. */
    private static void paint(PlanarFrame frame, Random random) {
        int codes = frame.depth().maxCode() + 1;
        for (int y = 0; y < frame.height(); y++) {
            for (int x = 0; x < frame.width(); x++) {
                frame.setLumaCode(x, y, random.nextInt(codes));
            }
        }
        for (int y = 0; y < frame.sampling().chromaHeight(frame.height()); y++) {
            for (int x = 0; x < frame.sampling().chromaWidth(frame.width()); x++) {
                frame.setCbCode(x, y, random.nextInt(codes));
                frame.setCrCode(x, y, random.nextInt(codes));
            }
        }
    }

    private static ByteBuffer copy(ByteBuffer memory) {
        return ByteBuffer.allocate(memory.capacity()).put(0, memory, 0, memory.capacity());
    }

    /** The frame at its place in a copy of the memory that it lies in. */
    private static PackedFrame within(ByteBuffer copy, FencedMemory memory, PackedFrame frame) {
        return new PackedFrame(part(copy, memory, frame.memory()), frame.originOffset(), frame.strideBytes(), frame.width(), frame.height(),
            frame.components(), frame.depth(), frame.alpha());
    }

    private static PlanarFrame within(ByteBuffer[] copies, FencedMemory[] memory, PlanarFrame frame) {
        return new PlanarFrame(part(copies[0], memory[0], frame.luma()), part(copies[1], memory[1], frame.cb()), part(copies[2], memory[2], frame.cr()),
            frame.lumaStride(), frame.chromaStride(), frame.width(), frame.height(), frame.sampling(), frame.depth(), frame.standard(),
            frame.fullRange(), frame.chromaCosited(), frame.chromaTop());
    }

    private static ByteBuffer part(ByteBuffer copy, FencedMemory memory, ByteBuffer plane) {
        return copy.slice(memory.offsetOf(plane), plane.capacity());
    }

    private static void requireSame(String what, MeasuredRow a, MeasuredRow b) {
        assertArrayEquals(a.luma, b.luma, what);
        assertArrayEquals(a.red, b.red, what);
        assertArrayEquals(a.green, b.green, what);
        assertArrayEquals(a.blue, b.blue, what);
    }

    private static void requireSame(String what, ByteBuffer expected, ByteBuffer got) {
        assertEquals(-1, expected.mismatch(got), () -> what + ": first byte that differs from what the scalar kernel leaves");
    }
}
