// SPDX-License-Identifier: Apache-2.0
package org.evenstop.vector;

import static org.junit.jupiter.api.Assertions.assertArrayEquals;
import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;
import static org.junit.jupiter.api.Assumptions.assumeTrue;

import java.nio.ByteBuffer;
import java.nio.ByteOrder;
import java.util.Random;
import org.evenstop.engine.InputException;
import org.evenstop.engine.frame.AlphaState;
import org.evenstop.engine.frame.ChromaSampling;
import org.evenstop.engine.frame.Components;
import org.evenstop.engine.frame.PackedFrame;
import org.evenstop.engine.frame.PlanarFrame;
import org.evenstop.engine.frame.SampleDepth;
import org.evenstop.engine.json.EvenstopFiles;
import org.evenstop.engine.level.CodeDepth;
import org.evenstop.engine.level.LumaStandard;
import org.evenstop.engine.measure.ClipMeter;
import org.evenstop.engine.measure.MeasureLoops;
import org.evenstop.engine.measure.MeasuredRow;
import org.evenstop.engine.measure.ScalarLoops;
import org.junit.jupiter.api.BeforeEach;
import org.junit.jupiter.api.Test;

/** Measuring on wide registers finds the very bytes that the scalar loops find, whatever the frame; and each loop the very bits. */
class VectorMeasuresLikeScalarTest {
    private static final int[] WIDTHS = {1, 2, 3, 15, 16, 17, 31, 32, 33, 63, 64, 65, 97, 127, 128, 129, 255, 257, 320, 515, 767, 768, 769, 800, 1024, 1537};

    @BeforeEach
    void needsWideRegisters() {
        assumeTrue(Lanes.refusal().isEmpty(), Lanes.refusal());
    }

    @Test
    void packedFrames() {
        int found = 0;
        for (int seed = 0; seed < 800; seed++) {
            Random random = new Random(seed);
            LumaStandard standard = LumaStandard.values()[random.nextInt(LumaStandard.values().length)];
            PackedFrame[] frames = new PackedFrame[1 + random.nextInt(2)];
            for (int i = 0; i < frames.length; i++) {
                frames[i] = packed(random);
            }
            String[] texts = new String[2];
            for (int way = 0; way < 2; way++) {
                ClipMeter meter = ClipMeter.withLoops(standard, 1024, way == 0 ? "scalar" : "vector");
                for (PackedFrame frame : frames) {
                    meter.add(frame, 0);
                }
                texts[way] = text(meter);
            }
            PackedFrame f = frames[0];
            assertEquals(texts[0], texts[1], "seed " + seed + ", " + f.width() + "x" + f.height() + " " + f.components() + " " + f.depth() + " " + f.alpha());
            found += texts[0].startsWith("{") ? 1 : 0;
        }
        assertTrue(found > 600, found + " frames had something to measure");
    }

    @Test
    void planarFrames() {
        for (int seed = 0; seed < 500; seed++) {
            Random random = new Random(seed);
            PlanarFrame frame = planar(random);
            String[] texts = new String[2];
            for (int way = 0; way < 2; way++) {
                ClipMeter meter = ClipMeter.withLoops(frame.standard(), 1024, way == 0 ? "scalar" : "vector");
                meter.add(frame, 0);
                texts[way] = text(meter);
            }
            assertEquals(texts[0], texts[1], "seed " + seed + ", " + frame.width() + "x" + frame.height() + " " + frame.sampling() + " " + frame.depth());
        }
    }

    /** Frames of so many pixels that chroma counts at every other one, and that strips take turns. */
    @Test
    void largeFrames() {
        Random random = new Random(20261125);
        for (SampleDepth depth : SampleDepth.values()) {
            for (AlphaState alpha : AlphaState.values()) {
                PackedFrame frame = large(random, 1999, depth, alpha);
                String[] texts = new String[2];
                for (int way = 0; way < 2; way++) {
                    ClipMeter meter = ClipMeter.withLoops(LumaStandard.BT709, 65536, way == 0 ? "scalar" : "vector");
                    meter.add(frame, 0);
                    texts[way] = text(meter);
                }
                assertTrue(texts[0].startsWith("{"));
                assertEquals(texts[0], texts[1], depth + " " + alpha);
            }
        }
        for (CodeDepth depth : CodeDepth.values()) {
            for (ChromaSampling sampling : ChromaSampling.values()) {
                PlanarFrame frame = planar(random, 1921 + random.nextInt(3), 601, sampling, depth);
                String[] texts = new String[2];
                for (int way = 0; way < 2; way++) {
                    ClipMeter meter = ClipMeter.withLoops(frame.standard(), 65536, way == 0 ? "scalar" : "vector");
                    meter.add(frame, 0);
                    texts[way] = text(meter);
                }
                assertEquals(texts[0], texts[1], depth + " " + sampling);
            }
        }
    }

    private static PackedFrame large(Random random, int width, SampleDepth depth, AlphaState alpha) {
        int height = depth == SampleDepth.FLOAT ? 1300 : 600;
        int stride = (width * 4 + 5) * depth.bytes();
        PackedFrame frame = new PackedFrame(ByteBuffer.allocateDirect(stride * height).order(ByteOrder.nativeOrder()), 0, stride, width, height,
            Components.RGBA, depth, alpha);
        for (int row = 0; row < height; row++) {
            for (int x = 0; x < width; x++) {
                float base = 0.2f + 0.5f * row / height + 0.1f * random.nextFloat();
                RandomFrames.put(frame, row, 4 * x, base * 1.2f);
                RandomFrames.put(frame, row, 4 * x + 1, base);
                RandomFrames.put(frame, row, 4 * x + 2, base * 0.8f);
                RandomFrames.put(frame, row, 4 * x + 3, row % 37 == 0 && x > 700 ? 0.7f * random.nextFloat() : 1f);
            }
        }
        return frame;
    }

    private static String text(ClipMeter meter) {
        try {
            return EvenstopFiles.toJson(meter.finish("frame"), true);
        } catch (InputException nothing) {
            return nothing.getMessage();
        }
    }

    /** Any run of any row, every pixel a site or every other one, with levels that are no numbers among them. */
    @Test
    void loopsOneByOne() {
        ScalarLoops scalar = new ScalarLoops();
        VectorLoops vector = new VectorLoops();
        for (int seed = 0; seed < 4000; seed++) {
            Random random = new Random(seed);
            int width = WIDTHS[random.nextInt(WIDTHS.length)];
            int siteShift = random.nextInt(2);
            int from = random.nextInt(width);
            int to = from + 1 + random.nextInt(width - from);
            LumaStandard standard = LumaStandard.values()[random.nextInt(LumaStandard.values().length)];
            MeasuredRow a = new MeasuredRow(width);
            MeasuredRow b = new MeasuredRow(width);
            for (int x = 0; x < width; x++) {
                float level = level(random);
                a.luma[x] = random.nextInt(400) == 0 && seed % 3 == 0 ? Float.NaN : level;
                // Often near skin, whose bounds are what may be missed.
                a.red[x] = level(random, level + 0.05f);
                a.green[x] = level(random, level);
                a.blue[x] = level(random, level - 0.05f);
            }
            System.arraycopy(a.luma, 0, b.luma, 0, width);
            System.arraycopy(a.red, 0, b.red, 0, width);
            System.arraycopy(a.green, 0, b.green, 0, width);
            System.arraycopy(a.blue, 0, b.blue, 0, width);
            int[] aCodes = new int[width];
            int[] bCodes = new int[width];
            scalar.ofLuma(a, from, to, aCodes);
            vector.ofLuma(b, from, to, bCodes);
            String what = "seed " + seed + ", " + width + " pixels, " + from + ".." + to;
            assertArrayEquals(a.lumaSteps, b.lumaSteps, what);
            assertArrayEquals(aCodes, bCodes, what);
            assertEquals(a.lowest, b.lowest, what);
            assertEquals(a.highest, b.highest, what);
            assertEquals(a.stepSum, b.stepSum, what);
            assertEquals(a.counted, b.counted, what);
            int siteFrom = from + siteShift >> siteShift;
            int siteTo = to + siteShift >> siteShift;
            scalar.ofSites(a, standard, siteShift, siteFrom, siteTo);
            vector.ofSites(b, standard, siteShift, siteFrom, siteTo);
            assertArrayEquals(a.siteSteps, b.siteSteps, what);
            assertArrayEquals(a.redSteps, b.redSteps, what);
            assertArrayEquals(a.greenSteps, b.greenSteps, what);
            assertArrayEquals(a.blueSteps, b.blueSteps, what);
            assertArrayEquals(a.chroma, b.chroma, what);
            for (int word = 0; word < (siteTo - siteFrom + 63) / 64; word++) {
                assertEquals(a.skin[word], b.skin[word], what + ", skin");
            }
        }
    }

    /** Noise of any run of columns, pixels that do not count among them. */
    @Test
    void loopsOfNoise() {
        ScalarLoops scalar = new ScalarLoops();
        VectorLoops vector = new VectorLoops();
        for (int seed = 0; seed < 1000; seed++) {
            Random random = new Random(seed);
            int width = WIDTHS[random.nextInt(WIDTHS.length)];
            int from = random.nextInt(width);
            int to = from + 1 + random.nextInt(width - from);
            int[] above = codes(random, width);
            int[] below = codes(random, width);
            // Fine detail, its blocks and their sums, coarse detail: what was there stays or is added to.
            int[][] a = {codes(random, width), codes(random, width), codes(random, width), codes(random, width)};
            int[][] b = new int[a.length][];
            for (int i = 0; i < a.length; i++) {
                b[i] = a[i].clone();
            }
            scalar.addFine(above, below, from, to, a[0], a[1], a[2]);
            vector.addFine(above, below, from, to, b[0], b[1], b[2]);
            scalar.addCoarse(above, a[1], from, to, a[3]);
            vector.addCoarse(above, b[1], from, to, b[3]);
            for (int i = 0; i < a.length; i++) {
                assertArrayEquals(a[i], b[i], "seed " + seed + ", " + width + " pixels, " + from + ".." + to + ", array " + i);
            }
        }
    }

    private static int[] codes(Random random, int width) {
        int[] codes = new int[width + MeasureLoops.CODES_BEYOND];
        for (int x = 0; x < codes.length; x++) {
            codes[x] = random.nextInt(100) == 0 ? MeasuredRow.NO_CODE : random.nextInt(4096) - 300;
        }
        return codes;
    }

    private static float level(Random random) {
        return random.nextInt(50) == 0 ? -2f + 4f * random.nextFloat() : -0.1f + 1.3f * random.nextFloat();
    }

    private static float level(Random random, float near) {
        return random.nextInt(10) == 0 ? level(random) : Math.max(-2f, Math.min(2f, near + 0.1f * (float) random.nextGaussian()));
    }

    private static PackedFrame packed(Random random) {
        PackedFrame frame = RandomFrames.packed(random, new Components[] {Components.RGBA, Components.RGBA, Components.RGB}, WIDTHS, 50, 0);
        int width = frame.width();
        int height = frame.height();
        int channels = frame.components().count();
        int oddOnes = new int[] {0, 0, 0, 3, 200}[random.nextInt(5)];
        boolean opaque = random.nextInt(3) > 0;
        int barRows = random.nextInt(4) == 0 ? random.nextInt(1 + height / 4) : 0;
        int barColumns = random.nextInt(4) == 0 ? random.nextInt(1 + width / 4) : 0;
        float tint = 0.3f * random.nextFloat();
        for (int row = 0; row < height; row++) {
            for (int x = 0; x < width; x++) {
                boolean bar = row < barRows || row >= height - barRows || x < barColumns || x >= width - barColumns;
                float base = bar ? 0f : 0.1f + 0.8f * random.nextFloat();
                for (int c = 0; c < channels; c++) {
                    float level = c == 3 ? opaque ? 1f : random.nextFloat()
                        : random.nextInt(1000) < oddOnes ? oddOne(random) : bar ? 0f : base * (1 + tint * (1 - c)) + 0.05f * random.nextFloat();
                    RandomFrames.put(frame, row, x * channels + c, level);
                }
            }
        }
        return frame;
    }

    private static float oddOne(Random random) {
        float[] odd = {Float.NaN, Float.intBitsToFloat(0x7fa12345), Float.POSITIVE_INFINITY, Float.NEGATIVE_INFINITY, 2f, -2f, Math.nextUp(2f),
            1e20f, -1e30f, Float.MIN_VALUE, 0f, -0f, 1e-6f, 3000f, -3000f, 1.2f, -0.2f};
        return odd[random.nextInt(odd.length)];
    }

    private static PlanarFrame planar(Random random) {
        ChromaSampling[] samplings = ChromaSampling.values();
        CodeDepth[] depths = CodeDepth.values();
        int width = WIDTHS[random.nextInt(WIDTHS.length)];
        int height = 1 + random.nextInt(50);
        return planar(random, width, height, samplings[random.nextInt(samplings.length)], depths[random.nextInt(depths.length)]);
    }

    private static PlanarFrame planar(Random random, int width, int height, ChromaSampling sampling, CodeDepth depth) {
        LumaStandard[] standards = LumaStandard.values();
        int bytes = depth.bytesPerSample();
        int stride = width * bytes + random.nextInt(3) * random.nextInt(20);
        int chromaStride = sampling.chromaWidth(width) * bytes + random.nextInt(3) * random.nextInt(20);
        int chromaHeight = sampling.chromaHeight(height);
        // The last row ends where the memory does: nothing may be read beyond it.
        int lumaBytes = stride * (height - 1) + width * bytes;
        int chromaBytes = chromaStride * (chromaHeight - 1) + sampling.chromaWidth(width) * bytes;
        boolean direct = random.nextInt(4) > 0;
        PlanarFrame frame = new PlanarFrame(memory(direct, lumaBytes), memory(direct, chromaBytes), memory(direct, chromaBytes), stride,
            chromaStride, width, height, sampling, depth, standards[random.nextInt(standards.length)], random.nextInt(3) == 0,
            random.nextBoolean(), random.nextBoolean());
        boolean wild = random.nextInt(4) == 0;
        int codes = depth.maxCode() + 1;
        int span = wild ? codes : codes / 2;
        int least = wild ? 0 : codes / 6;
        int chromaSpan = wild ? codes : codes / 8;
        int bar = random.nextInt(4) == 0 ? random.nextInt(1 + height / 4) : 0;
        for (int y = 0; y < height; y++) {
            for (int x = 0; x < width; x++) {
                frame.setLumaCode(x, y, y < bar || y >= height - bar ? frame.blackCode() : least + random.nextInt(span));
            }
        }
        for (int y = 0; y < chromaHeight; y++) {
            for (int x = 0; x < sampling.chromaWidth(width); x++) {
                frame.setCbCode(x, y, (codes - chromaSpan) / 2 + random.nextInt(chromaSpan));
                frame.setCrCode(x, y, (codes - chromaSpan) / 2 + random.nextInt(chromaSpan));
            }
        }
        return frame;
    }

    private static ByteBuffer memory(boolean direct, int bytes) {
        return direct ? ByteBuffer.allocateDirect(bytes) : ByteBuffer.allocate(bytes);
    }

    @Test
    void keepsItsName() {
        assertEquals("vector", new VectorLoops().name());
    }
}
