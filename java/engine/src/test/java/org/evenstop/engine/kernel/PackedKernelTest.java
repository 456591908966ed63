// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.kernel;

import static org.junit.jupiter.api.Assertions.assertArrayEquals;
import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertThrows;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.io.IOException;
import java.nio.ByteBuffer;
import java.nio.channels.FileChannel;
import java.nio.file.Path;
import java.nio.file.StandardOpenOption;
import java.util.ArrayList;
import java.util.Arrays;
import java.util.Collections;
import java.util.List;
import java.util.Random;
import org.evenstop.engine.frame.AlphaState;
import org.evenstop.engine.frame.Components;
import org.evenstop.engine.frame.PackedFrame;
import org.evenstop.engine.frame.SampleDepth;
import org.evenstop.engine.level.LumaStandard;
import org.evenstop.engine.solve.Correction;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.api.io.TempDir;

/** The scalar kernel on packed frames, by property. */
class PackedKernelTest {
    private static final CorrectionKernel KERNEL = new ScalarKernel();
    private static final Correction LIFT = Pictures.reexposure(1.5, LumaStandard.BT709);
    private static final Correction IDENTITY = Correction.identity(LumaStandard.BT709);

    private record Format(Components components, SampleDepth depth, AlphaState alpha) {
        PackedFrame frame(int width, int height) {
            return Pictures.packed(width, height, components, depth, alpha);
        }
    }

    private static List<Format> formats() {
        List<Format> formats = new ArrayList<>();
        for (Components components : Components.values()) {
            for (SampleDepth depth : SampleDepth.values()) {
                for (AlphaState alpha : components == Components.RGBA ? List.of(AlphaState.values()) : List.of(AlphaState.OPAQUE)) {
                    formats.add(new Format(components, depth, alpha));
                }
            }
        }
        return formats;
    }

    @Test
    void identityAndStrengthZeroKeepEveryBit() {
        for (Format format : formats()) {
            PackedFrame source = Pictures.packed(1037, 5, format.components, format.depth, format.alpha, 3, true, false);
            Pictures.fillWithAnyBits(source, 1);
            for (Correction correction : List.of(IDENTITY, LIFT)) {
                for (float strength : new float[] {0, 1}) {
                    if (correction == LIFT && strength == 1) {
                        continue;
                    }
                    PackedFrame destination = Pictures.packed(1037, 5, format.components, format.depth, format.alpha, 11, false, true);
                    KERNEL.apply(source, destination, 0, 5, correction, strength);
                    assertArrayEquals(Pictures.pixels(source), Pictures.pixels(destination), format + " strength " + strength);
                    assertEquals(0, Pictures.disturbedPadding(destination), format.toString());
                }
            }
        }
    }

    @Test
    void alphaAloneIsCarriedOver() {
        for (SampleDepth depth : SampleDepth.values()) {
            PackedFrame source = Pictures.packed(33, 3, Components.ALPHA, depth, AlphaState.OPAQUE);
            Pictures.fillWithAnyBits(source, 2);
            PackedFrame destination = Pictures.packed(33, 3, Components.ALPHA, depth, AlphaState.OPAQUE);
            KERNEL.apply(source, destination, 0, 3, LIFT, 1);
            assertArrayEquals(Pictures.pixels(source), Pictures.pixels(destination), depth.toString());
        }
    }

    /** R' = G' = B' stays so to the last bit, whatever alpha does, and no NaN or infinity changes that. */
    @Test
    void greysStayExactlyGrey() {
        for (Format format : formats()) {
            if (format.components == Components.ALPHA) {
                continue;
            }
            int channels = format.components.count();
            PackedFrame source = format.frame(4096, 2);
            Random random = new Random(5);
            for (int y = 0; y < 2; y++) {
                for (int x = 0; x < 4096; x++) {
                    float level = x < 4 ? new float[] {Float.NaN, Float.POSITIVE_INFINITY, Float.NEGATIVE_INFINITY, 1e30f}[x] : (x - 400) / 3000f;
                    for (int c = 0; c < channels; c++) {
                        Pictures.put(source, y, x * channels + c, c == 3 ? random.nextFloat() : level);
                    }
                }
            }
            for (LumaStandard standard : LumaStandard.values()) {
                for (float strength : new float[] {1, 0.37f}) {
                    PackedFrame out = format.frame(4096, 2);
                    KERNEL.apply(source, out, 0, 2, Pictures.reexposure(-1.3, standard), strength);
                    for (int x = 0; x < 4096; x++) {
                        float red = Pictures.get(out, 1, x * channels);
                        // A premultiplied half or float pixel of tiny alpha passes as it is, NaN and all.
                        assertEquals(red, Pictures.get(out, 1, x * channels + 1), 0);
                        assertEquals(red, Pictures.get(out, 1, x * channels + 2), 0);
                    }
                }
            }
        }
    }

    @Test
    void brighterGreysNeverComeOutDarker() {
        for (SampleDepth depth : SampleDepth.values()) {
            int n = 65_537;
            PackedFrame source = Pictures.packed(n, 1, Components.RGB, depth, AlphaState.OPAQUE);
            for (int x = 0; x < n; x++) {
                for (int c = 0; c < 3; c++) {
                    Pictures.put(source, 0, 3 * x + c, -0.2f + 1.6f * x / (n - 1));
                }
            }
            for (double stops : new double[] {-3, -1, 1, 3}) {
                for (float strength : new float[] {1, 0.5f}) {
                    PackedFrame out = Pictures.packed(n, 1, Components.RGB, depth, AlphaState.OPAQUE);
                    KERNEL.apply(source, out, 0, 1, Pictures.reexposure(stops, LumaStandard.BT2020), strength);
                    float last = Float.NEGATIVE_INFINITY;
                    for (int x = 0; x < n; x++) {
                        float level = Pictures.get(out, 0, 3 * x + 1);
                        assertTrue(level >= last - 1.5e-7f * Math.max(1, Math.abs(last)));
                        last = Math.max(last, level);
                    }
                    assertTrue(last > 0.5f);
                }
            }
        }
    }

    /** Whole, in bands in any order on threads, upside down, padded by odd numbers of bytes, direct, in tiles of columns: same bytes. */
    @Test
    void resultDoesNotDependOnHowTheFrameIsCutOrStored() throws InterruptedException {
        int width = 1201;
        int height = 23;
        for (Format format : formats()) {
            for (float strength : new float[] {1, 0.25f}) {
                PackedFrame source = format.frame(width, height);
                Pictures.fillWithLevels(source, 9);
                PackedFrame whole = format.frame(width, height);
                KERNEL.apply(source, whole, 0, height, LIFT, strength);
                byte[] expected = Pictures.pixels(whole);

                PackedFrame banded = Pictures.packed(width, height, format.components, format.depth, format.alpha, 13, true, true);
                List<Thread> threads = new ArrayList<>();
                List<Integer> starts = new ArrayList<>(List.of(0, 1, 2, 7, 8, 20));
                Collections.shuffle(starts, new Random(1));
                for (int start : starts) {
                    int end = start == 0 ? 1 : start == 1 ? 2 : start == 2 ? 7 : start == 7 ? 8 : start == 8 ? 20 : height;
                    threads.add(new Thread(() -> KERNEL.apply(source, banded, start, end, LIFT, strength)));
                }
                threads.forEach(Thread::start);
                for (Thread thread : threads) {
                    thread.join();
                }
                assertArrayEquals(expected, Pictures.pixels(banded), format + " in bands");
                assertEquals(0, Pictures.disturbedPadding(banded));

                PackedFrame turned = Pictures.packed(width, height, format.components, format.depth, format.alpha, 1, true, false);
                Pictures.copyPixels(source, turned);
                PackedFrame tiled = format.frame(width, height);
                int pixel = format.components.count() * format.depth.bytes();
                for (int from = 0; from < width; from += 333) {
                    int columns = Math.min(333, width - from);
                    KERNEL.apply(window(turned, from * pixel, columns), window(tiled, from * pixel, columns), 0, height, LIFT, strength);
                }
                assertArrayEquals(expected, Pictures.pixels(tiled), format + " in tiles");
            }
        }
    }

    private static PackedFrame window(PackedFrame f, int offset, int columns) {
        return new PackedFrame(f.memory(), f.originOffset() + offset, f.strideBytes(), columns, f.height(), f.components(), f.depth(), f.alpha());
    }

    @Test
    void inPlaceGivesTheSame() {
        for (Format format : formats()) {
            for (float strength : new float[] {1, 0.6f}) {
                PackedFrame source = format.frame(700, 4);
                Pictures.fillWithLevels(source, 21);
                PackedFrame apart = format.frame(700, 4);
                KERNEL.apply(source, apart, 0, 4, LIFT, strength);
                KERNEL.apply(source, source, 0, 4, LIFT, strength);
                assertArrayEquals(Pictures.pixels(apart), Pictures.pixels(source), format.toString());
            }
        }
    }

    /** 1x1 and widths round the length of a block; the rows asked for and no others. */
    @Test
    void oddSizesAndEmptyRanges() {
        for (Format format : formats()) {
            PackedFrame wide = format.frame(1025, 3);
            Pictures.fillWithLevels(wide, 4);
            PackedFrame expected = format.frame(1025, 3);
            KERNEL.apply(wide, expected, 0, 3, LIFT, 1);
            for (int width : new int[] {1, 2, 3, 17, 511, 512, 513, 1023, 1024, 1025}) {
                for (int height : new int[] {1, 3}) {
                    PackedFrame out = Pictures.packed(width, height, format.components, format.depth, format.alpha, 1, false, false);
                    PackedFrame part = new PackedFrame(wide.memory(), wide.originOffset(), wide.strideBytes(), width, height, format.components,
                        format.depth, format.alpha);
                    KERNEL.apply(part, out, 0, 0, LIFT, 1);
                    KERNEL.apply(part, out, height, height, LIFT, 1);
                    for (byte b : Pictures.pixels(out)) {
                        assertEquals(0x5a, b, "an empty range touches nothing");
                    }
                    KERNEL.apply(part, out, 0, height, LIFT, 1);
                    byte[] wanted = Arrays.copyOf(Pictures.pixels(expected), out.rowBytes());
                    assertArrayEquals(wanted, Arrays.copyOf(Pictures.pixels(out), out.rowBytes()), format + " " + width);
                    assertEquals(0, Pictures.disturbedPadding(out));
                }
            }
            PackedFrame out = format.frame(1025, 3);
            KERNEL.apply(wide, out, 1, 2, LIFT, 1);
            byte[] got = Pictures.pixels(out);
            for (int i = 0; i < out.rowBytes(); i++) {
                assertTrue(got[i] == 0x5a && got[2 * out.rowBytes() + i] == 0x5a, "rows not asked for are not touched");
            }
        }
    }

    @Test
    void misfitsAreRefused() {
        PackedFrame a = Pictures.packed(4, 4, Components.RGBA, SampleDepth.FLOAT, AlphaState.OPAQUE);
        for (PackedFrame b : List.of(Pictures.packed(5, 4, Components.RGBA, SampleDepth.FLOAT, AlphaState.OPAQUE),
            Pictures.packed(4, 3, Components.RGBA, SampleDepth.FLOAT, AlphaState.OPAQUE),
            Pictures.packed(4, 4, Components.RGB, SampleDepth.FLOAT, AlphaState.OPAQUE),
            Pictures.packed(4, 4, Components.RGBA, SampleDepth.HALF, AlphaState.OPAQUE))) {
            assertThrows(IllegalArgumentException.class, () -> KERNEL.apply(a, b, 0, 3, LIFT, 1));
        }
        for (int[] rows : new int[][] {{-1, 2}, {0, 5}, {3, 2}}) {
            assertThrows(IllegalArgumentException.class, () -> KERNEL.apply(a, a, rows[0], rows[1], LIFT, 1));
        }
    }

    /** NaN counts as 0 and infinity as 65504; float results are finite. */
    @Test
    void oddFloatsInColour() {
        for (SampleDepth depth : List.of(SampleDepth.FLOAT, SampleDepth.HALF)) {
            for (AlphaState alpha : List.of(AlphaState.OPAQUE, AlphaState.UNPREMULTIPLIED)) {
                for (float strength : new float[] {1, 0.5f}) {
                    float[][] odd = {{Float.NaN, 0.5f, 0.2f}, {Float.POSITIVE_INFINITY, 0.5f, 0.2f}, {0.1f, Float.NEGATIVE_INFINITY, Float.NaN}};
                    float[][] plain = {{0, 0.5f, 0.2f}, {65504, 0.5f, 0.2f}, {0.1f, -65504, 0}};
                    for (int i = 0; i < odd.length; i++) {
                        float[] one = corrected(odd[i], 0.5f, depth, alpha, strength);
                        float[] two = corrected(plain[i], 0.5f, depth, alpha, strength);
                        assertArrayEquals(two, one, Arrays.toString(odd[i]));
                        for (float value : one) {
                            assertTrue(value == value && (depth == SampleDepth.HALF || Math.abs(value) < Float.POSITIVE_INFINITY));
                        }
                    }
                }
            }
        }
    }

    /** The same of any bits, in memory of either kind, which all give one result; alpha keeps its bits whatever it is. */
    @Test
    void anyFloatsInMemoryOfEitherKind() {
        byte[] expected = null;
        for (boolean from : new boolean[] {false, true}) {
            for (boolean into : new boolean[] {false, true}) {
                PackedFrame source = Pictures.packed(4096, 1, Components.RGBA, SampleDepth.FLOAT, AlphaState.UNPREMULTIPLIED, 0, false, from);
                Pictures.fillWithAnyBits(source, 8);
                PackedFrame out = Pictures.packed(4096, 1, Components.RGBA, SampleDepth.FLOAT, AlphaState.UNPREMULTIPLIED, 0, false, into);
                KERNEL.apply(source, out, 0, 1, LIFT, 1);
                for (int x = 0; x < 4096; x++) {
                    assertEquals(source.memory().getInt(source.rowOffset(0) + 16 * x + 12), out.memory().getInt(out.rowOffset(0) + 16 * x + 12));
                    for (int c = 0; c < 3; c++) {
                        float odd = Pictures.get(source, 0, 4 * x + c);
                        Pictures.put(source, 0, 4 * x + c, odd != odd ? 0 : Math.max(-65504, Math.min(odd, 65504)));
                        assertTrue(Float.isFinite(Pictures.get(out, 0, 4 * x + c)));
                    }
                }
                PackedFrame plain = Pictures.packed(4096, 1, Components.RGBA, SampleDepth.FLOAT, AlphaState.UNPREMULTIPLIED, 0, false, into);
                KERNEL.apply(source, plain, 0, 1, LIFT, 1);
                assertArrayEquals(Pictures.pixels(plain), Pictures.pixels(out), from + " " + into);
                expected = expected == null ? Pictures.pixels(out) : expected;
                assertArrayEquals(expected, Pictures.pixels(out), from + " " + into);
            }
        }
    }

    /** Whichever sample it is: the kernel asks for odd ones a block at a time. */
    @Test
    void oneOddFloatAmongOthers() {
        float[] odd = {Float.NaN, Float.intBitsToFloat(0xff800001), Float.POSITIVE_INFINITY, Float.NEGATIVE_INFINITY, Math.nextUp(65504f), -65505f};
        float[] instead = {0f, 0f, 65504f, -65504f, 65504f, -65504f};
        for (boolean direct : new boolean[] {false, true}) {
            for (int sample = 0; sample < 3; sample++) {
                for (int pixel : new int[] {0, 300, ScalarKernel.BLOCK - 1, ScalarKernel.BLOCK, 600}) {
                    for (int i = 0; i < odd.length; i++) {
                        PackedFrame source = Pictures.packed(601, 1, Components.RGBA, SampleDepth.FLOAT, AlphaState.OPAQUE, 0, false, direct);
                        Pictures.fillWithLevels(source, 8);
                        PackedFrame got = Pictures.packed(601, 1, Components.RGBA, SampleDepth.FLOAT, AlphaState.OPAQUE, 0, false, direct);
                        PackedFrame expected = Pictures.packed(601, 1, Components.RGBA, SampleDepth.FLOAT, AlphaState.OPAQUE, 0, false, direct);
                        Pictures.put(source, 0, 4 * pixel + sample, instead[i]);
                        KERNEL.apply(source, expected, 0, 1, LIFT, 1);
                        Pictures.put(source, 0, 4 * pixel + sample, odd[i]);
                        KERNEL.apply(source, got, 0, 1, LIFT, 1);
                        assertArrayEquals(Pictures.pixels(expected), Pictures.pixels(got), odd[i] + " at sample " + sample + " of pixel " + pixel);
                    }
                }
            }
        }
    }

    /** Rows on both sides of the first gigabyte, and the last that two hold. */
    @Test
    void farIntoMemory(@TempDir Path folder) throws IOException {
        int width = 4096;
        int stride = 16 * width;
        PackedFrame source = Pictures.packed(width, 4, Components.RGBA, SampleDepth.FLOAT, AlphaState.OPAQUE, 0, false, true);
        Pictures.fillWithLevels(source, 4);
        PackedFrame expected = Pictures.packed(width, 4, Components.RGBA, SampleDepth.FLOAT, AlphaState.OPAQUE, 0, false, true);
        KERNEL.apply(source, expected, 0, 4, LIFT, 1);
        try (FileChannel file = FileChannel.open(folder.resolve("sparse"), StandardOpenOption.CREATE_NEW, StandardOpenOption.READ,
            StandardOpenOption.WRITE, StandardOpenOption.SPARSE)) {
            ByteBuffer memory = file.map(FileChannel.MapMode.READ_WRITE, 0, Integer.MAX_VALUE);
            for (int origin : new int[] {(1 << 30) - 2 * stride - 8, Integer.MAX_VALUE - 4 * stride}) {
                PackedFrame far = new PackedFrame(memory, origin, stride, width, 4, Components.RGBA, SampleDepth.FLOAT, AlphaState.OPAQUE);
                KERNEL.apply(source, far, 0, 4, LIFT, 1);
                assertArrayEquals(Pictures.pixels(expected), Pictures.pixels(far), "into " + origin);
                Pictures.copyPixels(source, far);
                KERNEL.apply(far, far, 0, 4, LIFT, 1);
                assertArrayEquals(Pictures.pixels(expected), Pictures.pixels(far), "at " + origin);
            }
        }
    }

    private static float[] corrected(float[] rgb, float a, SampleDepth depth, AlphaState alpha, float strength) {
        PackedFrame frame = Pictures.packed(1, 1, Components.RGBA, depth, alpha);
        for (int c = 0; c < 4; c++) {
            Pictures.put(frame, 0, c, c == 3 ? a : rgb[c]);
        }
        KERNEL.apply(frame, frame, 0, 1, LIFT, strength);
        return new float[] {Pictures.get(frame, 0, 0), Pictures.get(frame, 0, 1), Pictures.get(frame, 0, 2)};
    }

    /** Premultiplied colour is that of the same pixel unmultiplied, times alpha; alpha 0, tiny, infinite or NaN passes bit for bit. */
    @Test
    void premultipliedAlpha() {
        float[] rgb = {0.31f, 0.24f, 0.52f};
        float[] straight = corrected(rgb, 1, SampleDepth.FLOAT, AlphaState.UNPREMULTIPLIED, 1);
        for (float a : new float[] {1, 0.75f, 0.01f, 1f / 65536, 3}) {
            float[] multiplied = {rgb[0] * a, rgb[1] * a, rgb[2] * a};
            float[] got = corrected(multiplied, a, SampleDepth.FLOAT, AlphaState.PREMULTIPLIED, 1);
            for (int c = 0; c < 3; c++) {
                assertEquals(straight[c] * a, got[c], 1e-6 * Math.max(a, 1e-3), "alpha " + a);
            }
        }
        for (SampleDepth depth : List.of(SampleDepth.FLOAT, SampleDepth.HALF)) {
            for (float a : new float[] {0, -0f, 1e-5f, -0.5f, Float.NaN, Float.POSITIVE_INFINITY, Float.NEGATIVE_INFINITY}) {
                PackedFrame source = Pictures.packed(1, 1, Components.RGBA, depth, AlphaState.PREMULTIPLIED);
                float[] odd = {0.3f, Float.NaN, Float.POSITIVE_INFINITY, a};
                for (int c = 0; c < 4; c++) {
                    Pictures.put(source, 0, c, odd[c]);
                }
                PackedFrame out = Pictures.packed(1, 1, Components.RGBA, depth, AlphaState.PREMULTIPLIED);
                KERNEL.apply(source, out, 0, 1, LIFT, 1);
                assertArrayEquals(Pictures.pixels(source), Pictures.pixels(out), depth + " alpha " + a);
            }
        }
        // Bytes: 0 is the only alpha that passes.
        PackedFrame source = Pictures.packed(256, 1, Components.RGBA, SampleDepth.BYTE, AlphaState.PREMULTIPLIED);
        for (int x = 0; x < 256; x++) {
            for (int c = 0; c < 4; c++) {
                source.memory().put(source.rowOffset(0) + 4 * x + c, (byte) (c == 3 ? x : Math.min(x, 100)));
            }
        }
        PackedFrame out = Pictures.packed(256, 1, Components.RGBA, SampleDepth.BYTE, AlphaState.PREMULTIPLIED);
        KERNEL.apply(source, out, 0, 1, LIFT, 1);
        for (int x = 0; x < 256; x++) {
            assertEquals((byte) x, out.memory().get(out.rowOffset(0) + 4 * x + 3));
        }
        assertEquals(0, Pictures.get(out, 0, 0), 0);
        assertTrue(Pictures.get(out, 0, 4 * 200) > Pictures.get(source, 0, 4 * 200), "lifted");
    }

    /** The model as its equations state it, in double precision. */
    @Test
    void pixelsMeetTheEquations() {
        Correction c = Pictures.reexposure(0.8, LumaStandard.BT2020);
        Random random = new Random(14);
        for (int i = 0; i < 20_000; i++) {
            float[] v = {random.nextFloat() * 1.1f - 0.05f, random.nextFloat() * 1.1f - 0.05f, random.nextFloat() * 1.1f - 0.05f};
            double y = c.standard().luma(v[0], v[1], v[2]);
            double s = c.chromaIn().at((float) y);
            double[] v2 = new double[3];
            for (int k = 0; k < 3; k++) {
                v2[k] = c.tone().at((float) (y + s * (v[k] - y)));
            }
            double y2 = c.standard().luma(v2[0], v2[1], v2[2]);
            double s2 = c.chromaOut().at((float) y2);
            PackedFrame frame = Pictures.packed(1, 1, Components.RGB, SampleDepth.FLOAT, AlphaState.OPAQUE);
            for (int k = 0; k < 3; k++) {
                Pictures.put(frame, 0, k, v[k]);
            }
            KERNEL.apply(frame, frame, 0, 1, c, 1);
            for (int k = 0; k < 3; k++) {
                assertEquals(y2 + s2 * (v2[k] - y2), Pictures.get(frame, 0, k), 4e-6);
            }
        }
    }

    /** A grey takes the tone curve's value to the last bit: chroma curves have no part in it. */
    @Test
    void greysTakeTheToneCurveExactly() {
        PackedFrame frame = Pictures.packed(4096, 1, Components.RGB, SampleDepth.FLOAT, AlphaState.OPAQUE);
        for (int i = 0; i < 3 * 4096; i++) {
            Pictures.put(frame, 0, i, (i / 3 - 300) / 3000f);
        }
        KERNEL.apply(frame, frame, 0, 1, LIFT, 1);
        for (int x = 0; x < 4096; x++) {
            assertEquals(LIFT.tone().at((x - 300) / 3000f), Pictures.get(frame, 0, 3 * x), 0);
        }
    }

    /** Alpha of any bits, and premultiplied pixels whose alpha can not be divided by, come out bit for bit at every depth. */
    @Test
    void alphaKeepsItsBits() {
        for (Format format : formats()) {
            if (format.components != Components.RGBA) {
                continue;
            }
            PackedFrame source = format.frame(8192, 1);
            Pictures.fillWithAnyBits(source, 77);
            PackedFrame out = format.frame(8192, 1);
            KERNEL.apply(source, out, 0, 1, LIFT, 1);
            int bytes = format.depth.bytes();
            byte[] before = Pictures.pixels(source);
            byte[] after = Pictures.pixels(out);
            int passed = 0;
            for (int x = 0; x < 8192; x++) {
                float alpha = Pictures.get(source, 0, 4 * x + 3);
                boolean passes = format.alpha == AlphaState.PREMULTIPLIED && !(alpha >= 1f / 65536 && alpha <= Float.MAX_VALUE);
                passed += passes ? 1 : 0;
                for (int i = (passes ? 4 * x : 4 * x + 3) * bytes; i < (4 * x + 4) * bytes; i++) {
                    assertEquals(before[i], after[i], format + " pixel " + x);
                }
            }
            assertTrue(format.alpha != AlphaState.PREMULTIPLIED || format.depth == SampleDepth.SHORT || passed > 10, format + " " + passed);
        }
    }

    /** Strength mixes input and result in equal measure for every component. */
    @Test
    void strengthMixes() {
        PackedFrame source = Pictures.packed(300, 1, Components.RGB, SampleDepth.FLOAT, AlphaState.OPAQUE);
        Pictures.fillWithLevels(source, 31);
        PackedFrame full = Pictures.packed(300, 1, Components.RGB, SampleDepth.FLOAT, AlphaState.OPAQUE);
        KERNEL.apply(source, full, 0, 1, LIFT, 1);
        for (float strength : new float[] {0.1f, 0.5f, 0.9f}) {
            PackedFrame part = Pictures.packed(300, 1, Components.RGB, SampleDepth.FLOAT, AlphaState.OPAQUE);
            KERNEL.apply(source, part, 0, 1, LIFT, strength);
            for (int i = 0; i < 900; i++) {
                float a = Pictures.get(source, 0, i);
                float b = Pictures.get(full, 0, i);
                assertEquals(a + strength * (b - a), Pictures.get(part, 0, i), 2e-5 * Math.max(1, Math.abs(a) + Math.abs(b)));
            }
        }
    }

    @Test
    void kernelIsChosenByName() {
        assertEquals("scalar", Kernels.choose("scalar").name());
        assertEquals("scalar", Kernels.choose("no-such-kernel").name(), "an unknown name falls back, it does not fail");
        assertTrue(Kernels.choose("auto") != null && Kernels.chosen() != null);
    }
}
