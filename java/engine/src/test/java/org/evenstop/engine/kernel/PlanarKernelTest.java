// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.kernel;

import static org.junit.jupiter.api.Assertions.assertArrayEquals;
import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertThrows;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.util.ArrayList;
import java.util.List;
import java.util.Random;
import org.evenstop.engine.frame.AlphaState;
import org.evenstop.engine.frame.ChromaSampling;
import org.evenstop.engine.frame.Components;
import org.evenstop.engine.frame.PackedFrame;
import org.evenstop.engine.frame.PlanarFrame;
import org.evenstop.engine.frame.SampleDepth;
import org.evenstop.engine.level.CodeDepth;
import org.evenstop.engine.level.LumaStandard;
import org.evenstop.engine.solve.Correction;
import org.junit.jupiter.api.Test;

/** The scalar kernel on planar Y'CbCr frames, by property. */
class PlanarKernelTest {
    private static final CorrectionKernel KERNEL = new ScalarKernel();
    private static final Correction LIFT = Pictures.reexposure(1.5, LumaStandard.BT709);

    private static List<PlanarFrame> formats(int width, int height) {
        List<PlanarFrame> formats = new ArrayList<>();
        for (ChromaSampling sampling : ChromaSampling.values()) {
            for (CodeDepth depth : CodeDepth.values()) {
                for (boolean full : new boolean[] {false, true}) {
                    for (boolean cosited : new boolean[] {false, true}) {
                        LumaStandard standard = LumaStandard.values()[depth.ordinal()];
                        formats.add(PlanarFrame.allocate(width, height, sampling, depth, standard, full, cosited, cosited));
                    }
                }
            }
        }
        return formats;
    }

    private static String name(PlanarFrame f) {
        return f.sampling() + " " + f.depth() + (f.fullRange() ? " full" : " narrow") + (f.chromaCosited() ? " cosited" : " midway") + " " + f.width() + "x" + f.height();
    }

    /** Reserved codes too: what is not corrected is copied. */
    @Test
    void identityAndStrengthZeroKeepEveryCode() {
        for (PlanarFrame source : formats(131, 7)) {
            Pictures.fillWithAnyCodes(source, 1);
            PlanarFrame out = Pictures.paddedLike(source, 6);
            KERNEL.apply(source, out, 0, 7, Correction.identity(LumaStandard.BT709), 1);
            assertArrayEquals(Pictures.codes(source), Pictures.codes(out), name(source));
            out = source.allocateLike();
            KERNEL.apply(source, out, 0, 7, LIFT, 0);
            assertArrayEquals(Pictures.codes(source), Pictures.codes(out), name(source));
        }
    }

    /** Achromatic chroma stays so at every luma code, and luma follows the tone curve, rounded, never falling, inside the video range. */
    @Test
    void greysStayGreyAndFollowTheToneCurve() {
        for (CodeDepth depth : CodeDepth.values()) {
            for (PlanarFrame like : formats(depth.maxCode() + 1, 2)) {
                if (like.depth() != depth) {
                    continue;
                }
                for (int x = 0; x < like.width(); x++) {
                    for (int y = 0; y < 2; y++) {
                        like.setLumaCode(x, y, x);
                    }
                }
                for (int x = 0; x < like.sampling().chromaWidth(like.width()); x++) {
                    for (int y = 0; y < like.sampling().chromaHeight(2); y++) {
                        like.setCbCode(x, y, depth.achromaticCode());
                        like.setCrCode(x, y, depth.achromaticCode());
                    }
                }
                PlanarFrame out = like.allocateLike();
                Correction correction = Pictures.reexposure(-1.2, like.standard());
                KERNEL.apply(like, out, 0, 2, correction, 1);
                int last = 0;
                for (int x = 0; x < like.width(); x++) {
                    double level = correction.tone().at((x - like.blackCode()) / (float) like.lumaSpan());
                    double wanted = Math.min(Math.max(like.blackCode() + level * like.lumaSpan(), like.lowestCode()), like.highestCode());
                    assertEquals(wanted, out.lumaCode(x, 1), 0.51, name(like));
                    assertTrue(out.lumaCode(x, 0) >= last, name(like));
                    last = out.lumaCode(x, 0);
                    assertTrue(last >= out.lowestCode() && last <= out.highestCode());
                }
                for (int x = 0; x < like.sampling().chromaWidth(like.width()); x++) {
                    assertEquals(depth.achromaticCode(), out.cbCode(x, 0), name(like));
                    assertEquals(depth.achromaticCode(), out.crCode(x, 0), name(like));
                }
            }
        }
    }

    @Test
    void inPlaceGivesTheSameWhereEveryRowHasItsChroma() {
        for (int[] size : new int[][] {{1041, 5}, {1, 1}, {2, 2}, {513, 2}}) {
            for (PlanarFrame source : formats(size[0], size[1])) {
                if (source.sampling() == ChromaSampling.S420) {
                    continue;
                }
                for (float strength : new float[] {1, 0.4f, 0}) {
                    Pictures.fillWithAnyCodes(source, 4);
                    PlanarFrame apart = source.allocateLike();
                    KERNEL.apply(source, apart, 0, size[1], LIFT, strength);
                    KERNEL.apply(source, source, 0, size[1], LIFT, strength);
                    assertArrayEquals(Pictures.codes(apart), Pictures.codes(source), name(source) + ", strength " + strength);
                }
            }
        }
    }

    /** Whole; in bands of rows on threads; with padded rows in direct memory. Odd sizes, so that the last chroma column and row are half covered. */
    @Test
    void resultDoesNotDependOnHowTheFrameIsCutOrStored() throws InterruptedException {
        for (int[] size : new int[][] {{1041, 21}, {1, 1}, {2, 2}, {3, 1}, {1, 3}, {513, 2}}) {
            int height = size[1];
            for (PlanarFrame source : formats(size[0], height)) {
                Pictures.fillWithAnyCodes(source, 3);
                for (float strength : new float[] {1, 0.4f}) {
                    PlanarFrame whole = source.allocateLike();
                    KERNEL.apply(source, whole, 0, height, LIFT, strength);
                    PlanarFrame padded = Pictures.paddedLike(source, 10);
                    Pictures.copyCodes(source, padded);
                    PlanarFrame banded = Pictures.paddedLike(source, 2);
                    List<Thread> threads = new ArrayList<>();
                    for (int from = height / 4 * 4; from >= 0; from -= 4) {
                        int start = from;
                        int end = Math.min(height, from + 4);
                        if (start < end) {
                            threads.add(new Thread(() -> KERNEL.apply(padded, banded, start, end, LIFT, strength)));
                        }
                    }
                    threads.forEach(Thread::start);
                    for (Thread thread : threads) {
                        thread.join();
                    }
                    assertArrayEquals(Pictures.codes(whole), Pictures.codes(banded), name(source));
                    for (int code : Pictures.codes(whole)) {
                        assertTrue(code >= source.lowestCode() && code <= source.highestCode(), name(source) + " code " + code);
                    }
                }
            }
        }
    }

    @Test
    void rowsNotAskedForAreNotTouched() {
        for (PlanarFrame source : formats(9, 8)) {
            Pictures.fillWithAnyCodes(source, 5);
            PlanarFrame out = Pictures.paddedLike(source, 0);
            int[] before = Pictures.codes(out);
            KERNEL.apply(source, out, 0, 0, LIFT, 1);
            KERNEL.apply(source, out, 4, 4, LIFT, 1);
            assertArrayEquals(before, Pictures.codes(out), "an empty range touches nothing");
            KERNEL.apply(source, out, 2, 4, LIFT, 1);
            for (int x = 0; x < 9; x++) {
                assertEquals(before[0], out.lumaCode(x, 1));
                assertEquals(before[0], out.lumaCode(x, 4));
            }
            int chromaRow = 4 >> source.sampling().shiftY();
            assertEquals(before[0], out.cbCode(0, chromaRow));
        }
    }

    @Test
    void misfitsAreRefused() {
        PlanarFrame a = PlanarFrame.allocate(8, 8, ChromaSampling.S420, CodeDepth.BITS8, LumaStandard.BT709, false, true, false);
        PlanarFrame other = PlanarFrame.allocate(8, 8, ChromaSampling.S422, CodeDepth.BITS8, LumaStandard.BT709, false, true, false);
        PlanarFrame full = PlanarFrame.allocate(8, 8, ChromaSampling.S420, CodeDepth.BITS8, LumaStandard.BT709, true, true, false);
        PlanarFrame b = a.allocateLike();
        assertThrows(IllegalArgumentException.class, () -> KERNEL.apply(a, other, 0, 8, LIFT, 1));
        assertThrows(IllegalArgumentException.class, () -> KERNEL.apply(a, full, 0, 8, LIFT, 1));
        for (int[] rows : new int[][] {{1, 4}, {0, 3}, {-2, 2}, {0, 10}, {6, 4}}) {
            assertThrows(IllegalArgumentException.class, () -> KERNEL.apply(a, b, rows[0], rows[1], LIFT, 1), rows[0] + ".." + rows[1]);
        }
    }

    /** One colour over the whole frame has the same codes at every sampling: nothing is resampled that need not be. */
    @Test
    void flatColoursAgreeAcrossSamplings() {
        Random random = new Random(17);
        for (int trial = 0; trial < 200; trial++) {
            int y = 64 + random.nextInt(876);
            int cb = 380 + random.nextInt(260);
            int cr = 380 + random.nextInt(260);
            int[] first = null;
            for (PlanarFrame f : formats(7, 5)) {
                if (f.depth() != CodeDepth.BITS10 || f.fullRange()) {
                    continue;
                }
                for (int r = 0; r < 5; r++) {
                    for (int x = 0; x < 7; x++) {
                        f.setLumaCode(x, r, y);
                    }
                }
                for (int r = 0; r < f.sampling().chromaHeight(5); r++) {
                    for (int x = 0; x < f.sampling().chromaWidth(7); x++) {
                        f.setCbCode(x, r, cb);
                        f.setCrCode(x, r, cr);
                    }
                }
                PlanarFrame out = f.allocateLike();
                KERNEL.apply(f, out, 0, 5, LIFT, 1);
                int[] got = {out.lumaCode(3, 2), out.cbCode(1, 1), out.crCode(1, 1)};
                first = first == null ? got : first;
                assertArrayEquals(first, got, name(f));
                for (int x = 0; x < 7; x++) {
                    assertEquals(first[0], out.lumaCode(x, 4), "edges too");
                }
            }
        }
    }

    /** Planar 4:4:4 at 12 bit and packed RGB float are the same picture: results agree within the rounding of a code. */
    @Test
    void planarAndPackedAgree() {
        LumaStandard s = LumaStandard.BT2020;
        CodeDepth depth = CodeDepth.BITS12;
        int width = 4000;
        for (float strength : new float[] {1, 0.5f}) {
            PlanarFrame planar = PlanarFrame.allocate(width, 1, ChromaSampling.S444, depth, s, false, true, true);
            PackedFrame packed = Pictures.packed(width, 1, Components.RGB, SampleDepth.FLOAT, AlphaState.OPAQUE);
            Random random = new Random(23);
            for (int x = 0; x < width; x++) {
                double r = random.nextDouble();
                double g = random.nextDouble();
                double b = random.nextDouble();
                double y = s.luma(r, g, b);
                planar.setLumaCode(x, 0, depth.roundedCodeOfLevel(y));
                planar.setCbCode(x, 0, depth.roundedCodeOfChroma((b - y) / s.cbDivisor()));
                planar.setCrCode(x, 0, depth.roundedCodeOfChroma((r - y) / s.crDivisor()));
                y = depth.levelOfCode(planar.lumaCode(x, 0));
                r = y + s.crDivisor() * depth.chromaOfCode(planar.crCode(x, 0));
                b = y + s.cbDivisor() * depth.chromaOfCode(planar.cbCode(x, 0));
                g = (y - s.redWeight() * r - s.blueWeight() * b) / s.greenWeight();
                Pictures.put(packed, 0, 3 * x, (float) r);
                Pictures.put(packed, 0, 3 * x + 1, (float) g);
                Pictures.put(packed, 0, 3 * x + 2, (float) b);
            }
            Correction correction = Pictures.reexposure(-0.9, s);
            PlanarFrame out = planar.allocateLike();
            KERNEL.apply(planar, out, 0, 1, correction, strength);
            KERNEL.apply(packed, packed, 0, 1, correction, strength);
            for (int x = 0; x < width; x++) {
                double r = Pictures.get(packed, 0, 3 * x);
                double g = Pictures.get(packed, 0, 3 * x + 1);
                double b = Pictures.get(packed, 0, 3 * x + 2);
                double y = s.luma(r, g, b);
                assertEquals(held(depth, depth.codeOfLevel(y)), out.lumaCode(x, 0), 0.52);
                assertEquals(held(depth, depth.achromaticCode() + (b - y) / s.cbDivisor() * depth.chromaSpan()), out.cbCode(x, 0), 0.52);
                assertEquals(held(depth, depth.achromaticCode() + (r - y) / s.crDivisor() * depth.chromaSpan()), out.crCode(x, 0), 0.52);
            }
        }
    }

    private static double held(CodeDepth depth, double code) {
        return Math.min(Math.max(code, depth.lowestVideoCode()), depth.highestVideoCode());
    }

    /** The matrix of the frame counts, not the one the correction was solved with. */
    @Test
    void frameStandardDecides() {
        PlanarFrame f = PlanarFrame.allocate(64, 1, ChromaSampling.S444, CodeDepth.BITS10, LumaStandard.BT601, false, true, true);
        Pictures.fillWithAnyCodes(f, 2);
        PlanarFrame one = f.allocateLike();
        PlanarFrame two = f.allocateLike();
        KERNEL.apply(f, one, 0, 1, LIFT, 1);
        KERNEL.apply(f, two, 0, 1, new Correction(LIFT.chromaIn(), LIFT.tone(), LIFT.chromaOut(), LumaStandard.BT601, LIFT.origin()), 1);
        assertArrayEquals(Pictures.codes(one), Pictures.codes(two));
    }

    /** Chroma sited between columns and rows: a colour edge spreads to the luma samples on both sides in proportion (linear, own choice). */
    @Test
    void chromaIsTakenFromWhereItIsSited() {
        for (boolean cosited : new boolean[] {true, false}) {
            PlanarFrame f = PlanarFrame.allocate(8, 2, ChromaSampling.S420, CodeDepth.BITS12, LumaStandard.BT709, false, cosited, false);
            for (int x = 0; x < 8; x++) {
                f.setLumaCode(x, 0, 1600);
                f.setLumaCode(x, 1, 1600);
            }
            for (int x = 0; x < 4; x++) {
                f.setCbCode(x, 0, 2048);
                f.setCrCode(x, 0, x < 2 ? 2048 : 2948);
            }
            PlanarFrame out = f.allocateLike();
            KERNEL.apply(f, out, 0, 2, Pictures.toneOnly(1), 1);
            int grey = out.lumaCode(0, 0);
            int red = out.lumaCode(7, 0);
            assertTrue(Math.abs(grey - red) > 20, "tone per channel changes luma of a colour otherwise than of a grey");
            // Sites at even columns: column 3 lies halfway. Sites midway: columns 3 and 4 lie a quarter from either side.
            assertEquals(grey, out.lumaCode(2, 0));
            if (cosited) {
                assertTrue(out.lumaCode(3, 0) != grey && out.lumaCode(3, 0) != red);
                assertEquals(red, out.lumaCode(4, 0));
            } else {
                assertTrue(out.lumaCode(3, 0) != grey && out.lumaCode(4, 0) != red);
                assertEquals(red, out.lumaCode(5, 0));
            }
        }
    }

    /**
     * Subsampled frames against single 4:4:4 pixels: luma with chroma interpolated linearly to it, chroma with luma averaged to its site
     * (1 2 1 across a cosited column or row, 1 1 between two). Codes are multiples of 16, so that averages are whole codes.
     */
    @Test
    void subsampledPixelsMeetFullOnes() {
        for (PlanarFrame f : formats(13, 9)) {
            if (f.depth() != CodeDepth.BITS12 || f.fullRange() || f.sampling() == ChromaSampling.S444) {
                continue;
            }
            Random random = new Random(41);
            int cw = f.sampling().chromaWidth(13);
            int ch = f.sampling().chromaHeight(9);
            for (int y = 0; y < 9; y++) {
                for (int x = 0; x < 13; x++) {
                    f.setLumaCode(x, y, 16 * (60 + random.nextInt(120)));
                }
            }
            for (int y = 0; y < ch; y++) {
                for (int x = 0; x < cw; x++) {
                    f.setCbCode(x, y, 16 * (115 + random.nextInt(26)));
                    f.setCrCode(x, y, 16 * (115 + random.nextInt(26)));
                }
            }
            PlanarFrame out = f.allocateLike();
            KERNEL.apply(f, out, 0, 9, LIFT, 1);
            boolean rowsHalved = f.sampling() == ChromaSampling.S420;
            for (int y = 0; y < 9; y++) {
                for (int x = 0; x < 13; x++) {
                    double[] across = weights(x, f.chromaCosited(), cw);
                    double[] down = rowsHalved ? weights(y, f.chromaTop(), ch) : new double[] {y, 1, y, 0};
                    double cb = 0;
                    double cr = 0;
                    for (int i = 0; i < 4; i += 2) {
                        for (int j = 0; j < 4; j += 2) {
                            double w = across[i + 1] * down[j + 1];
                            cb += w * f.cbCode((int) across[i], (int) down[j]);
                            cr += w * f.crCode((int) across[i], (int) down[j]);
                        }
                    }
                    assertEquals(full(f, f.lumaCode(x, y), cb, cr)[0], out.lumaCode(x, y), 1, name(f) + " luma at " + x + ", " + y);
                }
            }
            for (int r = 0; r < ch; r++) {
                for (int c = 0; c < cw; c++) {
                    double luma = 0;
                    int[] rows = !rowsHalved ? new int[] {r, r, r, r} : f.chromaTop() ? new int[] {2 * r - 1, 2 * r, 2 * r, 2 * r + 1}
                        : new int[] {2 * r, 2 * r, 2 * r + 1, 2 * r + 1};
                    int[] columns = f.chromaCosited() ? new int[] {2 * c - 1, 2 * c, 2 * c, 2 * c + 1} : new int[] {2 * c, 2 * c, 2 * c + 1, 2 * c + 1};
                    for (int row : rows) {
                        for (int column : columns) {
                            luma += f.lumaCode(Math.min(Math.max(column, 0), 12), Math.min(Math.max(row, 0), 8)) / 16.0;
                        }
                    }
                    int[] wanted = full(f, luma, f.cbCode(c, r), f.crCode(c, r));
                    assertEquals(wanted[1], out.cbCode(c, r), 1, name(f) + " Cb at " + c + ", " + r);
                    assertEquals(wanted[2], out.crCode(c, r), 1, name(f) + " Cr at " + c + ", " + r);
                }
            }
        }
    }

    /** The two chroma sites round a luma position and their weights: site, weight, site, weight. */
    private static double[] weights(int at, boolean cosited, int sites) {
        double site = cosited ? at / 2.0 : (at - 0.5) / 2;
        int low = (int) Math.floor(site);
        double share = site - low;
        return new double[] {Math.max(low, 0), 1 - share, Math.min(low + 1, sites - 1), share};
    }

    private static int[] full(PlanarFrame like, double y, double cb, double cr) {
        PlanarFrame one = PlanarFrame.allocate(1, 1, ChromaSampling.S444, like.depth(), like.standard(), false, true, true);
        one.setLumaCode(0, 0, (int) Math.round(y));
        one.setCbCode(0, 0, (int) Math.round(cb));
        one.setCrCode(0, 0, (int) Math.round(cr));
        PlanarFrame out = one.allocateLike();
        KERNEL.apply(one, out, 0, 1, LIFT, 1);
        return new int[] {out.lumaCode(0, 0), out.cbCode(0, 0), out.crCode(0, 0)};
    }
}
