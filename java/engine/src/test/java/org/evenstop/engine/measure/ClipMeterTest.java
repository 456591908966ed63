// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.measure;

import static org.junit.jupiter.api.Assertions.assertArrayEquals;
import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertNotEquals;
import static org.junit.jupiter.api.Assertions.assertThrows;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.util.ArrayList;
import java.util.Arrays;
import java.util.List;
import java.util.Random;
import org.evenstop.engine.InputException;
import org.evenstop.engine.frame.AlphaState;
import org.evenstop.engine.frame.ChromaSampling;
import org.evenstop.engine.frame.Components;
import org.evenstop.engine.frame.PackedFrame;
import org.evenstop.engine.frame.PlanarFrame;
import org.evenstop.engine.frame.SampleDepth;
import org.evenstop.engine.json.EvenstopFiles;
import org.evenstop.engine.kernel.SampleIo;
import org.evenstop.engine.level.CodeDepth;
import org.evenstop.engine.level.LumaStandard;
import org.junit.jupiter.api.Test;

/** Measuring invented pictures of which everything is known. */
class ClipMeterTest {
    private static final LumaStandard STANDARD = LumaStandard.BT709;

    /** A picture as R'G'B' levels by position. */
    private interface Picture {
        void at(int x, int y, double[] rgb);
    }

    private static Picture flat(double level) {
        return (x, y, rgb) -> Arrays.fill(rgb, level);
    }

    private static Picture scaled(Picture picture, double factor) {
        return (x, y, rgb) -> {
            picture.at(x, y, rgb);
            for (int c = 0; c < 3; c++) {
                rgb[c] *= factor;
            }
        };
    }

    /** Blocks of 2x2 pixels in muted colours from 4 to 96 %: the same picture at every chroma sampling. */
    private static final Picture BLOCKS = (x, y, rgb) -> {
        int hash = (x / 2 * 73_856_093 ^ y / 2 * 19_349_663) * 83_492_791;
        double level = 0.04 + 0.84 * ((hash >>> 8 & 1023) / 1023.0);
        rgb[0] = level + 0.08 * ((hash >>> 18 & 15) / 15.0);
        rgb[1] = level + 0.04 * ((hash >>> 22 & 15) / 15.0);
        rgb[2] = level + 0.06 * ((hash >>> 26 & 15) / 15.0);
    };

    private static PlanarFrame planar(Picture picture, int width, int height, ChromaSampling sampling, CodeDepth depth, boolean full, Random noise,
                                      double sigma) {
        PlanarFrame f = PlanarFrame.allocate(width, height, sampling, depth, STANDARD, full, true, true);
        double[] rgb = new double[3];
        for (int y = 0; y < height; y++) {
            for (int x = 0; x < width; x++) {
                picture.at(x, y, rgb);
                double luma = STANDARD.luma(rgb[0], rgb[1], rgb[2]);
                double grain = noise == null ? 0 : sigma * noise.nextGaussian();
                f.setLumaCode(x, y, code(f.blackCode() + (luma + grain) * f.lumaSpan(), depth));
                int cx = x >> sampling.shiftX();
                int cy = y >> sampling.shiftY();
                f.setCbCode(cx, cy, code(depth.achromaticCode() + (rgb[2] - luma) / STANDARD.cbDivisor() * f.chromaSpan(), depth));
                f.setCrCode(cx, cy, code(depth.achromaticCode() + (rgb[0] - luma) / STANDARD.crDivisor() * f.chromaSpan(), depth));
            }
        }
        return f;
    }

    private static int code(double code, CodeDepth depth) {
        return (int) Math.min(Math.max(Math.round(code), 0), depth.maxCode());
    }

    private static PlanarFrame planar(Picture picture, int width, int height) {
        return planar(picture, width, height, ChromaSampling.S422, CodeDepth.BITS10, false, null, 0);
    }

    private static PackedFrame packed(Picture picture, int width, int height, Components components, SampleDepth depth, AlphaState state, double alpha) {
        PackedFrame f = PackedFrame.allocate(width, height, components, depth, state);
        double[] rgb = new double[3];
        int n = components.count();
        float[] row = new float[width * n];
        for (int y = 0; y < height; y++) {
            for (int x = 0; x < width; x++) {
                picture.at(x, y, rgb);
                for (int c = 0; c < 3; c++) {
                    row[n * x + c] = (float) (rgb[c] * (state == AlphaState.PREMULTIPLIED ? alpha : 1));
                }
                if (n == 4) {
                    row[4 * x + 3] = (float) alpha;
                }
            }
            SampleIo.store(row, row.length, f.memory(), f.rowOffset(y), depth);
        }
        return f;
    }

    private static Measurement measure(PlanarFrame... frames) {
        ClipMeter meter = new ClipMeter(STANDARD);
        for (int i = 0; i < frames.length; i++) {
            meter.add(frames[i], i);
        }
        assertEquals(frames.length, meter.frames());
        return meter.finish("clip");
    }

    private static Measurement measure(PackedFrame frame) {
        ClipMeter meter = new ClipMeter(STANDARD);
        meter.add(frame, 0);
        return meter.finish("clip");
    }

    private static double[] values(LevelSummary s) {
        return new double[] {s.min(), s.p0_5(), s.p1(), s.p10(), s.p50(), s.p90(), s.p99(), s.p99_5(), s.max()};
    }

    /** Beyond HD a frame's cells take turns: one frame says nearly what the whole would, and successive frames cover all of it. */
    @Test
    void largeFramesAreCountedACellInTurn() {
        Picture slope = (x, y, rgb) -> Arrays.fill(rgb, 0.1 + 0.7 * ((x / 2 * 31 + y / 2 * 17) % 997) / 997);
        PlanarFrame whole = planar(slope, 3840, 2160, ChromaSampling.S420, CodeDepth.BITS10, false, null, 0);
        ClipMeter meter = new ClipMeter(STANDARD, 4096);
        meter.add(whole, 0);
        Measurement m = meter.finish("whole");
        assertEquals(0.1 + 0.7 * 0.1, m.levels().p10() / 100, 0.002);
        assertEquals(0.1 + 0.7 * 0.5, m.levels().p50() / 100, 0.002);
        assertEquals(0.1 + 0.7 * 0.9, m.levels().p90() / 100, 0.002);
        assertEquals(4096, m.sample().size());
        // A small bright spot lies in one cell of eight: eight frames find it, wherever it is, and one of them finds it alone.
        for (int[] spot : new int[][] {{0, 0}, {1700, 700}, {2060, 716}, {3832, 2156}, {300, 1500}}) {
            spot(whole, spot, 940);
            int finds = 0;
            for (int frame = 0; frame < 8; frame++) {
                ClipMeter turns = new ClipMeter(STANDARD, 4096);
                // What was added before decides which cells are counted; it does not show the spot itself.
                spot(whole, spot, 300);
                for (int before = 0; before < frame; before++) {
                    turns.add(whole, before);
                }
                spot(whole, spot, 940);
                turns.add(whole, frame);
                finds += turns.finish("spot").levels().max() > 99.8 ? 1 : 0;
            }
            assertEquals(1, finds, Arrays.toString(spot));
            spot(whole, spot, 300);
        }
    }

    private static void spot(PlanarFrame frame, int[] at, int code) {
        for (int y = at[1]; y < at[1] + 3; y++) {
            for (int x = at[0]; x < at[0] + 6; x++) {
                frame.setLumaCode(x, y, code);
            }
        }
    }

    /** One picture in every format: levels agree within a step of the histogram and the rounding of the format. */
    @Test
    void allFormatsAgree() {
        int width = 320;
        int height = 180;
        Measurement truth = measure(packed(BLOCKS, width, height, Components.RGB, SampleDepth.FLOAT, AlphaState.OPAQUE, 1));
        double step = 100.0 / 1024;
        List<Measurement> found = new ArrayList<>();
        List<Double> rounding = new ArrayList<>();
        for (CodeDepth depth : CodeDepth.values()) {
            for (ChromaSampling sampling : ChromaSampling.values()) {
                for (boolean full : new boolean[] {false, true}) {
                    found.add(measure(planar(BLOCKS, width, height, sampling, depth, full, null, 0)));
                    rounding.add(50.0 / depth.lumaSpan());
                }
            }
        }
        for (SampleDepth depth : SampleDepth.values()) {
            for (AlphaState state : AlphaState.values()) {
                found.add(measure(packed(BLOCKS, width, height, Components.RGBA, depth, state, 0.75)));
                rounding.add(depth == SampleDepth.BYTE ? 50.0 / 255 / 0.75 : 0.03);
            }
        }
        for (int i = 0; i < found.size(); i++) {
            Measurement m = found.get(i);
            double within = step + rounding.get(i) + 1e-3;
            assertArrayEquals(values(truth.levels()), values(m.levels()), within, "luma, format " + i);
            // Red and blue take the rounding of chroma with them.
            assertArrayEquals(values(truth.red()), values(m.red()), within + 2 * rounding.get(i), "red, format " + i);
            assertArrayEquals(values(truth.green()), values(m.green()), within + 2 * rounding.get(i), "green, format " + i);
            assertArrayEquals(values(truth.blue()), values(m.blue()), within + 2 * rounding.get(i), "blue, format " + i);
            for (int z = 0; z < truth.chroma().size(); z++) {
                if (truth.chroma().get(z).share() > 0.01) {
                    assertEquals(truth.chroma().get(z).chroma(), m.chroma().get(z).chroma(), 0.003, "chroma, format " + i);
                }
            }
            assertTrue(m.area().isWholeFrame());
            assertEquals(List.of(), m.notes());
        }
        double[] levels = values(truth.levels());
        for (int i = 1; i < levels.length; i++) {
            assertTrue(levels[i] >= levels[i - 1], Arrays.toString(levels));
        }
        assertTrue(truth.chroma().stream().mapToDouble(Measurement.ChromaZone::share).sum() > 0.9999);
    }

    @Test
    void sameFramesGiveTheSameBytes() {
        String first = null;
        for (int run = 0; run < 2; run++) {
            ClipMeter meter = new ClipMeter(STANDARD, 8192);
            for (int i = 0; i < 5; i++) {
                int shift = 7 * i;
                meter.add(planar((x, y, rgb) -> BLOCKS.at(x + shift, y, rgb), 321, 181, ChromaSampling.S420, CodeDepth.BITS8, false, new Random(i), 0.004), i);
            }
            String text = EvenstopFiles.toJson(meter.finish("clip"), true);
            first = first == null ? text : first;
            assertEquals(first, text);
        }
    }

    @Test
    void rampHasItsPercentiles() {
        // 1000 columns, one for each tenth of a percent of the picture.
        Measurement m = measure(packed((x, y, rgb) -> Arrays.fill(rgb, (x + 1) / 1000.0), 1000, 32, Components.RGB, SampleDepth.FLOAT, AlphaState.OPAQUE, 1));
        assertArrayEquals(new double[] {0.1, 0.5, 1, 10, 50, 90, 99, 99.5, 100}, values(m.levels()), 0.1);
        assertEquals(m.levels().p50(), m.subject(), 0, "no skin: the median is the subject");
        assertEquals(0, m.skin().share(), 0);
        assertTrue(Double.isNaN(m.skin().median()) && Double.isNaN(m.skin().lowerQuartile()), "no skin has no level");
    }

    /** Bars, above and below or at the sides, in planar and packed frames, count for nothing. */
    @Test
    void barsDoNotCount() {
        Measurement bare = measure(planar(BLOCKS, 320, 140));
        Picture boxed = (x, y, rgb) -> {
            if (y < 20 || y >= 160) {
                Arrays.fill(rgb, 0);
            } else {
                BLOCKS.at(x, y - 20, rgb);
            }
        };
        Measurement m = measure(planar(boxed, 320, 180, ChromaSampling.S420, CodeDepth.BITS10, false, null, 0));
        assertEquals(20 / 180.0, m.area().top(), 1e-9);
        assertEquals(160 / 180.0, m.area().bottom(), 1e-9);
        assertEquals(0, m.area().left(), 0);
        assertArrayEquals(values(bare.levels()), values(m.levels()), 1e-9);
        assertTrue(m.notes().get(0).contains("78 % of the height"), m.notes().toString());
        Measurement packedBox = measure(packed(boxed, 320, 180, Components.RGBA, SampleDepth.FLOAT, AlphaState.OPAQUE, 1));
        assertEquals(m.area(), packedBox.area());
        assertArrayEquals(values(bare.levels()), values(packedBox.levels()), 0.16);

        Picture pillars = (x, y, rgb) -> {
            if (x < 40 || x >= 280) {
                Arrays.fill(rgb, 0.004);
            } else {
                BLOCKS.at(x - 40, y, rgb);
            }
        };
        Measurement p = measure(planar(pillars, 320, 180));
        assertEquals(40 / 320.0, p.area().left(), 1e-9);
        assertEquals(280 / 320.0, p.area().right(), 1e-9);
        assertTrue(p.levels().p0_5() > 4, "the pillars do not count: " + p.levels());

        Picture groundless = (x, y, rgb) -> {
            if (y >= 120) {
                Arrays.fill(rgb, 0);
            } else {
                BLOCKS.at(x, y, rgb);
            }
        };
        Measurement g = measure(planar(groundless, 320, 180));
        assertTrue(g.area().isWholeFrame(), "black at one side is part of the picture");
        assertEquals(1 / 3.0, g.clippedLow(), 0.01);
    }

    @Test
    void blackFramesFadesAndCutsAreNoted() {
        PlanarFrame black = planar(flat(0), 64, 36);
        PlanarFrame picture = planar(BLOCKS, 64, 36);
        Measurement one = measure(picture);
        Measurement m = measure(black, black, picture, picture, picture, black);
        assertEquals(3, m.frames());
        assertArrayEquals(values(one.levels()), values(m.levels()), 1e-9);
        assertTrue(m.notes().contains("3 of 6 frames are black and do not count."), m.notes().toString());

        List<PlanarFrame> fade = new ArrayList<>();
        for (double factor : new double[] {0, 0.2, 0.4, 0.8, 1, 1, 1, 1, 1, 0.5, 0.25}) {
            fade.add(planar(scaled(BLOCKS, factor), 64, 36));
        }
        Measurement f = measure(fade.toArray(new PlanarFrame[0]));
        assertEquals(6, f.frames(), "0.8 to the last 1");
        assertTrue(f.notes().stream().anyMatch(n -> n.startsWith("4 of 11 frames belong to a fade")), f.notes().toString());

        // A clip that gets darker in its middle has no fade, and a dark scene is not one either.
        PlanarFrame dim = planar(scaled(BLOCKS, 0.3), 64, 36);
        assertEquals(5, measure(picture, picture, dim, picture, picture).frames());
        assertEquals(4, measure(dim, dim, dim, dim).frames());

        Measurement cut = measure(planar(flat(0.2), 64, 36), planar(flat(0.2), 64, 36), planar(flat(0.7), 64, 36), planar(flat(0.7), 64, 36));
        assertEquals(4, cut.frames());
        assertTrue(cut.notes().stream().anyMatch(n -> n.contains("changes abruptly 1 time;")), cut.notes().toString());
        assertTrue(measure(picture, picture).notes().isEmpty());

        Measurement allBlack = measure(black, black);
        assertTrue(allBlack.notes().get(0).startsWith("Every frame is black"), allBlack.notes().toString());
        assertEquals(0, allBlack.levels().max(), 0.1);
    }

    /** Colour is taken out of its alpha; less than half opaque does not count; opaque frames ignore alpha. */
    @Test
    void alpha() {
        Measurement opaque = measure(packed(BLOCKS, 64, 36, Components.RGBA, SampleDepth.FLOAT, AlphaState.OPAQUE, 1));
        for (double a : new double[] {0.5, 0.6, 1}) {
            Measurement m = measure(packed(BLOCKS, 64, 36, Components.RGBA, SampleDepth.FLOAT, AlphaState.PREMULTIPLIED, a));
            assertArrayEquals(values(opaque.levels()), values(m.levels()), 0.1, "alpha " + a);
        }
        assertArrayEquals(values(opaque.levels()), values(measure(packed(BLOCKS, 64, 36, Components.RGBA, SampleDepth.FLOAT, AlphaState.OPAQUE, 0)).levels()), 0);
        for (AlphaState state : List.of(AlphaState.PREMULTIPLIED, AlphaState.UNPREMULTIPLIED)) {
            InputException nothing = assertThrows(InputException.class,
                () -> measure(packed(BLOCKS, 64, 36, Components.RGBA, SampleDepth.FLOAT, state, 0.4)));
            assertTrue(nothing.getMessage().startsWith("clip: there is no picture"), nothing.getMessage());
        }
        // Half of the picture covered: only that half counts.
        PackedFrame half = packed(BLOCKS, 64, 36, Components.RGBA, SampleDepth.FLOAT, AlphaState.UNPREMULTIPLIED, 1);
        for (int y = 0; y < 18; y++) {
            for (int x = 0; x < 64; x++) {
                half.memory().putFloat(half.rowOffset(y) + 16 * x, 9f);
                half.memory().putFloat(half.rowOffset(y) + 16 * x + 12, x % 2 == 0 ? 0 : Float.NaN);
            }
        }
        Measurement m = measure(half);
        assertTrue(m.levels().max() < 101, m.levels().toString());
        assertEquals(64 * 18, m.sample().size(), 16, "and only that half is kept for solving");
    }

    @Test
    void oddFloatsAreHeld() {
        PackedFrame frame = packed(BLOCKS, 64, 36, Components.RGB, SampleDepth.FLOAT, AlphaState.OPAQUE, 1);
        float[] odd = {Float.NaN, Float.POSITIVE_INFINITY, Float.NEGATIVE_INFINITY, 1e30f};
        for (int i = 0; i < 4; i++) {
            frame.memory().putFloat(12 * i, odd[i]);
        }
        Measurement m = measure(frame);
        for (double level : values(m.levels())) {
            assertTrue(Double.isFinite(level) && Math.abs(level) <= 200);
        }
    }

    /** Gaussian noise on grey comes out within 15 % at 8 and 10 bit. */
    @Test
    void noiseOfAFlatGrey() {
        for (CodeDepth depth : List.of(CodeDepth.BITS8, CodeDepth.BITS10)) {
            for (double codes : depth == CodeDepth.BITS8 ? new double[] {1, 2, 4} : new double[] {1, 3, 8, 20}) {
                double sigma = codes / depth.lumaSpan();
                for (ChromaSampling sampling : List.of(ChromaSampling.S420, ChromaSampling.S444)) {
                    Measurement m = measure(planar(flat(0.4), 480, 270, sampling, depth, false, new Random(5), sigma));
                    // What is recorded has the noise of rounding to whole codes too: 1/12 of a code squared.
                    double recorded = Math.sqrt(sigma * sigma + 1.0 / 12 / depth.lumaSpan() / depth.lumaSpan());
                    assertEquals(100 * recorded, m.noise(), 0.15 * 100 * recorded, depth + ", sigma of " + codes + " codes");
                }
            }
        }
        assertEquals(0, measure(planar(flat(0.4), 480, 270)).noise(), 1e-9);
        assertEquals(30 * 16, measure(planar(flat(0.4), 480, 270)).noiseTiles(), "tiles of 16x16 that fit");
    }

    /** On a picture with edges and texture, with some smooth parts, within 40 %. */
    @Test
    void noiseOfATexturedPicture() {
        Picture textured = (x, y, rgb) -> {
            double smooth = 0.35 + 0.15 * Math.sin(x / 90.0) * Math.cos(y / 70.0);
            boolean leaves = (x / 60 + y / 50) % 3 != 0;
            int hash = (x / 2 * 73_856_093 ^ y / 2 * 19_349_663) * 83_492_791;
            double texture = leaves ? 0.10 * ((hash >>> 8 & 1023) / 1023.0 - 0.5) + 0.06 * Math.sin(x * 1.3 + y * 0.7) : 0;
            double edge = (x / 37) % 5 == 0 && y % 90 > 60 ? 0.25 : 0;
            Arrays.fill(rgb, smooth + texture + edge);
        };
        for (double sigma : new double[] {0.003, 0.006, 0.012}) {
            Measurement m = measure(planar(textured, 640, 360, ChromaSampling.S420, CodeDepth.BITS10, false, new Random(8), sigma));
            assertEquals(100 * sigma, m.noise(), 0.40 * 100 * sigma, "sigma " + sigma);
        }
    }

    @Test
    void horizon() {
        for (double at : new double[] {0.25, 0.4, 0.7}) {
            Measurement m = measure(planar((x, y, rgb) -> Arrays.fill(rgb, y < at * 256 ? 0.8 : 0.2), 64, 256));
            assertEquals(at, m.horizon().position(), 1.0 / 128);
            assertTrue(m.horizon().confidence() > 0.95, "confidence " + m.horizon().confidence());
        }
        assertEquals(0, measure(planar((x, y, rgb) -> Arrays.fill(rgb, y < 100 ? 0.2 : 0.8), 64, 256)).horizon().confidence(), 0, "ground above sky is none");
        assertEquals(0, measure(planar(flat(0.5), 64, 256)).horizon().confidence(), 0);
        // Inside the picture area, not the frame: bars do not move it.
        Measurement boxed = measure(planar((x, y, rgb) -> Arrays.fill(rgb, y < 32 || y >= 224 ? 0 : y < 128 ? 0.8 : 0.2), 64, 256));
        assertEquals(0.5, boxed.horizon().position(), 0.02);
    }

    @Test
    void clippingIsAShare() {
        double top = CodeDepth.BITS10.levelOfCode(1019);
        Measurement m = measure(planar((x, y, rgb) -> {
            if (x < 16) {
                Arrays.fill(rgb, top);
            } else if (x < 48) {
                Arrays.fill(rgb, -0.01);
            } else {
                BLOCKS.at(x, y, rgb);
            }
        }, 320, 90));
        assertEquals(0.05, m.clippedHigh(), 0.0005);
        assertEquals(0.1, m.clippedLow(), 0.0005);
        assertEquals(100 * top, m.ceiling(), 0.6);
        // A camera that piles up lower has its ceiling there.
        Measurement lower = measure(planar((x, y, rgb) -> {
            BLOCKS.at(x, y, rgb);
            if (x < 32) {
                Arrays.fill(rgb, 1.0);
            }
        }, 320, 90));
        assertEquals(0.1, lower.clippedHigh(), 0.002);
        assertEquals(100, lower.ceiling(), 0.6);
        assertEquals(0, measure(planar(BLOCKS, 320, 90)).clippedHigh(), 0);
    }

    /** The dark skin of the ColorChecker (display coding) on a quarter of the picture is the subject. */
    @Test
    void skinIsFound() {
        Measurement m = measure(planar((x, y, rgb) -> {
            if (x < 80) {
                rgb[0] = 0.4815;
                rgb[1] = 0.3529;
                rgb[2] = 0.3025;
            } else {
                Arrays.fill(rgb, 0.8);
            }
        }, 320, 90));
        assertEquals(0.25, m.skin().share(), 1e-9);
        assertEquals(37.7, m.skin().median(), 0.2, "its luma by the published table");
        assertEquals(m.skin().median(), m.subject(), 0);
        assertEquals(80, m.levels().p50(), 0.1);
    }

    /** What is kept stands for the whole: its percentiles are those of the histogram. */
    @Test
    void keptSampleStandsForTheClip() {
        ClipMeter meter = new ClipMeter(STANDARD, 4096);
        for (int i = 0; i < 3; i++) {
            meter.add(planar(scaled(BLOCKS, 1 - 0.2 * i), 320, 180), i);
        }
        Measurement m = meter.finish("clip");
        PixelSample sample = m.sample();
        assertEquals(4096, sample.size());
        double[] luma = new double[sample.size()];
        for (int i = 0; i < luma.length; i++) {
            luma[i] = 100 * STANDARD.luma(sample.level(i, 0), sample.level(i, 1), sample.level(i, 2));
        }
        Arrays.sort(luma);
        assertEquals(m.levels().p10(), luma[luma.length / 10], 2);
        assertEquals(m.levels().p50(), luma[luma.length / 2], 2);
        assertEquals(m.levels().p90(), luma[luma.length * 9 / 10], 2);
        assertEquals(m.levels().p99(), luma[luma.length * 99 / 100], 2);
    }

    /** Later frames keep fewer pixels, yet the sample has as many of each frame that counts, however few those are. */
    @Test
    void everyFrameHasItsShareOfTheSample() {
        for (int frames : new int[] {1, 2, 5, 24}) {
            for (int black : new int[] {0, frames / 2}) {
                ClipMeter meter = new ClipMeter(STANDARD, 4096);
                for (int i = 0; i < frames; i++) {
                    double grey = i < black ? 0 : 0.4 + 0.01 * i;
                    meter.add(planar((x, y, rgb) -> Arrays.fill(rgb, grey), 320, 180), i);
                }
                PixelSample sample = meter.finish("clip").sample();
                int[] of = new int[frames];
                for (int i = 0; i < sample.size(); i++) {
                    of[(int) Math.round((sample.level(i, 1) - 0.4) / 0.01)]++;
                }
                assertEquals(4096, sample.size());
                for (int i = black; i < frames; i++) {
                    assertEquals(4096.0 / (frames - black), of[i], 1, "frame " + i + " of " + frames);
                }
            }
        }
    }

    @Test
    void sizesFromOnePixelOn() {
        for (int[] size : new int[][] {{1, 1}, {2, 1}, {1, 2}, {3, 3}, {17, 1}, {1, 33}, {15, 15}, {129, 7}}) {
            for (ChromaSampling sampling : ChromaSampling.values()) {
                Measurement m = measure(planar(flat(0.5), size[0], size[1], sampling, CodeDepth.BITS10, false, null, 0));
                assertEquals(50, m.levels().p50(), 0.1, size[0] + "x" + size[1]);
                assertTrue(m.sample().size() > 0 && Double.isFinite(m.noise()));
                EvenstopFiles.measurementFromJson(EvenstopFiles.toJson(m, true), "what was measured can be read");
            }
            assertEquals(50, measure(packed(flat(0.5), size[0], size[1], Components.RGBA, SampleDepth.HALF, AlphaState.PREMULTIPLIED, 1)).levels().p50(), 0.1);
        }
    }

    @Test
    void nothingToMeasureIsSaid() {
        InputException none = assertThrows(InputException.class, () -> new ClipMeter(STANDARD).finish("a.mov"));
        assertEquals("a.mov: there is no picture to measure in 0 frames; give a clip with at least one visible frame", none.getMessage());
        for (int size : new int[] {255, 262_145, -1}) {
            assertThrows(IllegalArgumentException.class, () -> new ClipMeter(STANDARD, size));
        }
        assertThrows(IllegalArgumentException.class,
            () -> new ClipMeter(STANDARD).add(PackedFrame.allocate(4, 4, Components.ALPHA, SampleDepth.FLOAT, AlphaState.OPAQUE), 0));
    }

    @Test
    void pixelSamplesAreValues() {
        short[] triples = {16384, 0, -16384, 1, 2, 3};
        PixelSample sample = new PixelSample(STANDARD, triples);
        triples[0] = 5;
        sample.triples()[0] = 5;
        assertEquals(2, sample.size());
        assertEquals(1, sample.level(0, 0), 0);
        assertEquals(-1, sample.level(0, 2), 0);
        assertEquals(3 / 16384.0, sample.level(1, 2), 0);
        assertEquals(new PixelSample(STANDARD, new short[] {16384, 0, -16384, 1, 2, 3}), sample);
        assertNotEquals(new PixelSample(LumaStandard.BT601, sample.triples()), sample);
        assertEquals(new PixelSample(STANDARD, sample.triples()).hashCode(), sample.hashCode());
        assertFalse(sample.toString().isBlank());
        assertThrows(IllegalArgumentException.class, () -> new PixelSample(STANDARD, new short[4]));
        assertEquals(32767, PixelSample.stored(5));
        assertEquals(-32768, PixelSample.stored(-5));
        assertEquals(16384, PixelSample.stored(1));
    }
}
