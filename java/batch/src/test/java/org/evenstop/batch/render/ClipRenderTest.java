// SPDX-License-Identifier: Apache-2.0
package org.evenstop.batch.render;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertThrows;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.io.IOException;
import java.nio.file.Files;
import java.nio.file.Path;
import java.util.Arrays;
import java.util.List;
import java.util.stream.Stream;
import org.evenstop.batch.media.ClipReader;
import org.evenstop.batch.media.DecodedFrame;
import org.evenstop.batch.media.OutputCodec;
import org.evenstop.batch.media.PictureShape;
import org.evenstop.batch.media.TestClip;
import org.evenstop.engine.InputException;
import org.evenstop.engine.frame.PlanarFrame;
import org.evenstop.engine.json.EvenstopFiles;
import org.evenstop.engine.kernel.Kernels;
import org.evenstop.engine.measure.LevelSummary;
import org.evenstop.engine.solve.Correction;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.api.io.TempDir;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.EnumSource;
import org.junit.jupiter.params.provider.ValueSource;

/** Whole renders of small clips. */
class ClipRenderTest {
    @TempDir
    Path folder;

    private static ClipRender render(OutputCodec codec, String preset, float strength, int threads) {
        return new ClipRender(new ClipRender.Settings(codec, EvenstopFiles.profile("cinema-soft"), EvenstopFiles.preset(preset), strength,
            false, threads), (stage, done, all) -> { });
    }

    private ClipRender.Result run(ClipRender render, Path clip, String name) {
        return render.run(clip, folder.resolve(name), folder.resolve(name + ".json"));
    }

    /** A dark outdoor-like field with super-whites, some colour, noise: 10 bit. */
    private static TestClip scene(String format) {
        return TestClip.make().format(format).size(192, 108).frames(30).paint((f, plane, x, y) -> {
            int noise = (x * 7919 + y * 104729 + f * 1299709) % 17;
            return plane == 0 ? 90 + 2 * x + noise + (y < 12 ? 500 - x : 0) : plane == 1 ? 520 - x / 4 : 505 + y / 4 + f % 3;
        });
    }

    @ParameterizedTest
    @ValueSource(strings = {"yuv420p", "yuv422p", "yuv444p", "yuv420p10", "yuv422p10", "yuv444p10", "yuv420p12", "yuv422p12", "yuv444p12"})
    void strengthZeroIsTheSourceBitForBit(String format) {
        int bits = format.endsWith("10") ? 10 : format.endsWith("12") ? 12 : 8;
        Path clip = TestClip.make().format(format).size(65, 47).frames(3)
            .paint((f, plane, x, y) -> (x * 1031 + y * 769 + f * 57 + plane * 11) & (1 << bits) - 1).write(folder.resolve("a.mkv"));
        run(render(OutputCodec.FFV1, "even", 0f, 2), clip, "o.mkv");
        try (ClipReader a = ClipReader.open(clip); ClipReader b = ClipReader.open(folder.resolve("o.mkv"))) {
            for (DecodedFrame x = a.next(); x != null; x = a.next()) {
                DecodedFrame y = b.next();
                assertSame(x.picture(), y.picture());
                x.release();
                y.release();
            }
            assertEquals(null, b.next());
        }
    }

    @ParameterizedTest
    @ValueSource(ints = {9, 10, 16, 18})
    void logAndHdrClipsAreMeasuredButNotCorrected(int transfer) throws IOException {
        Path clip = TestClip.make().format("yuv420p10").transfer(transfer).frames(3).write(folder.resolve("a.mkv"));
        InputException refused = assertThrows(InputException.class, () -> run(render(OutputCodec.FFV1, "even", 1f, 2), clip, "o.mkv"));
        assertTrue(refused.getMessage().contains("transfer is tagged") && refused.getMessage().contains("convert the clip"), refused.getMessage());
        try (Stream<Path> left = Files.list(folder); ClipReader reader = ClipReader.open(clip)) {
            assertEquals(List.of("a.mkv"), left.map(p -> p.getFileName().toString()).toList());
            ClipMeasure measured = ClipMeasure.of(reader, (stage, done, all) -> { });
            assertTrue(measured.measurement().notes().stream().anyMatch(note -> note.startsWith("Transfer is tagged")),
                measured.measurement().notes().toString());
        }
    }

    private static void assertSame(PlanarFrame a, PlanarFrame b) {
        assertEquals(PictureShape.of(a), PictureShape.of(b));
        for (int y = 0; y < a.height(); y++) {
            for (int x = 0; x < a.width(); x++) {
                assertEquals(a.lumaCode(x, y), b.lumaCode(x, y));
            }
        }
        for (int y = 0; y < a.sampling().chromaHeight(a.height()); y++) {
            for (int x = 0; x < a.sampling().chromaWidth(a.width()); x++) {
                assertEquals(a.cbCode(x, y), b.cbCode(x, y));
                assertEquals(a.crCode(x, y), b.crCode(x, y));
            }
        }
    }

    /** Whether a frame is corrected where it was decoded, as those of ProRes in 4:2:2 are, or in a frame of its own. */
    @ParameterizedTest
    @ValueSource(strings = {"yuv420p10 mkv", "yuv422p10 mkv", "yuv444p10 mkv", "yuv422p10 mov"})
    void aLosslessRenderIsWhatTheEngineGives(String source) {
        String suffix = source.substring(source.indexOf(' ') + 1);
        TestClip scene = scene(source.substring(0, source.indexOf(' ')));
        Path clip = (suffix.equals("mov") ? scene.codec("prores_aw").container("mov") : scene).write(folder.resolve("a." + suffix));
        ClipRender.Result result = run(render(OutputCodec.FFV1, "even", 1f, 2), clip, "o.mkv");
        Correction correction = result.correction();
        assertTrue(!correction.isIdentity());
        try (ClipReader a = ClipReader.open(clip); ClipReader b = ClipReader.open(folder.resolve("o.mkv"))) {
            for (DecodedFrame x = a.next(); x != null; x = a.next()) {
                DecodedFrame y = b.next();
                PlanarFrame expected = x.picture().allocateLike();
                Kernels.chosen().apply(x.picture(), expected, 0, 108, correction, 1f);
                assertSame(expected, y.picture());
                x.release();
                y.release();
            }
            assertEquals(null, b.next());
        }
    }

    @Test
    void superWhitesArePulledUnderWhiteInOrder() {
        Path clip = TestClip.ramp10().write(folder.resolve("ramp.mkv"));
        ClipRender.Result result = run(render(OutputCodec.FFV1, "tuck", 1f, 2), clip, "o.mkv");
        assertEquals(109.02, result.before().levels().max(), 0.2);
        assertTrue(result.after().max() <= 100.0, "max " + result.after().max());
        try (ClipReader reader = ClipReader.open(folder.resolve("o.mkv"))) {
            DecodedFrame frame = reader.next();
            int[] codes = new int[1016];
            for (int x = 0; x < 1016; x++) {
                codes[x] = frame.picture().lumaCode(x, 3);
            }
            for (int x = 1; x < 1016; x++) {
                assertTrue(codes[x] >= codes[x - 1], "order at code " + (4 + x));
            }
            assertTrue(codes[1015] <= 940);
            assertTrue(codes[1015] > codes[900]);
            frame.release();
        }
    }

    @ParameterizedTest
    @EnumSource(OutputCodec.class)
    void levelsAfterAreThoseOfTheFileWritten(OutputCodec codec) {
        Path clip = scene("yuv422p10").size(320, 180).write(folder.resolve("a.mkv"));
        ClipRender.Result result = run(render(codec, "even", 1f, 2), clip, "o." + codec.extension());
        LevelSummary after;
        try (ClipReader reader = ClipReader.open(result.output())) {
            after = ClipMeasure.of(reader, (stage, done, all) -> { }).measurement().levels();
        }
        assertEquals(result.after().p10(), after.p10(), 0.5);
        assertEquals(result.after().p50(), after.p50(), 0.5);
        assertEquals(result.after().p90(), after.p90(), 0.5);
        assertEquals(result.correction().origin().after().p50(), after.p50(), 1.0, "predicted");
        assertEquals(30, result.frames());
    }

    @Test
    void eightBitSourcesAreCorrectedAtTenBit() {
        // A correction of an 8-bit ramp must land on codes between the 8-bit ones.
        Path clip = TestClip.make().format("yuv420p").size(256, 64).frames(2)
            .paint((f, plane, x, y) -> plane == 0 ? 16 + x * 219 / 255 : 128).write(folder.resolve("a.mkv"));
        ClipRender.Result result = run(render(OutputCodec.PRORES_HQ, "airy", 1f, 2), clip, "o.mov");
        assertTrue(!result.correction().isIdentity());
        try (ClipReader reader = ClipReader.open(result.output())) {
            DecodedFrame frame = reader.next();
            assertEquals(10, frame.picture().depth().bits());
            long between = java.util.stream.IntStream.range(0, 256).filter(x -> frame.picture().lumaCode(x, 30) % 4 != 0).count();
            assertTrue(between > 100, "only " + between);
            frame.release();
        }
    }

    @Test
    void threadsDoNotChangeMeasurementOrPicture() throws IOException {
        Path clip = scene("yuv420p10").write(folder.resolve("a.mkv"));
        String kept = System.getProperty("evenstop.threads");
        String measured = null;
        byte[] picture = null;
        try {
            for (int threads : new int[] {1, 2, 5}) {
                System.setProperty("evenstop.threads", String.valueOf(threads));
                try (ClipReader reader = ClipReader.open(clip)) {
                    String json = EvenstopFiles.toJson(ClipMeasure.of(reader, (stage, done, all) -> { }).measurement(), true);
                    assertEquals(measured == null ? json : measured, json, threads + " threads");
                    measured = json;
                }
                run(render(OutputCodec.FFV1, "even", 1f, threads), clip, "o" + threads + ".mkv");
                byte[] codes = codes(folder.resolve("o" + threads + ".mkv"));
                assertTrue(picture == null || Arrays.equals(picture, codes), threads + " threads");
                picture = codes;
            }
        } finally {
            if (kept == null) {
                System.clearProperty("evenstop.threads");
            } else {
                System.setProperty("evenstop.threads", kept);
            }
        }
    }

    private static byte[] codes(Path clip) throws IOException {
        java.io.ByteArrayOutputStream out = new java.io.ByteArrayOutputStream();
        try (ClipReader reader = ClipReader.open(clip)) {
            for (DecodedFrame frame = reader.next(); frame != null; frame = reader.next()) {
                for (int y = 0; y < frame.picture().height(); y++) {
                    for (int x = 0; x < frame.picture().width(); x++) {
                        out.write(frame.picture().lumaCode(x, y));
                        out.write(frame.picture().lumaCode(x, y) >> 8);
                        out.write(frame.picture().cbCode(x / 2, y / 2));
                        out.write(frame.picture().crCode(x / 2, y / 2));
                    }
                }
                frame.release();
            }
        }
        return out.toByteArray();
    }

    @Test
    void aCutClipLeavesNothing() throws IOException {
        byte[] bytes = Files.readAllBytes(TestClip.make().codec("prores_ks").container("mov").format("yuv422p10").frames(40).indexFirst()
            .write(folder.resolve("a.mov")));
        Path cut = Files.write(folder.resolve("cut.mov"), Arrays.copyOf(bytes, bytes.length * 2 / 3));
        InputException refused = assertThrows(InputException.class, () -> run(render(OutputCodec.PRORES_HQ, "even", 1f, 2), cut, "o.mov"));
        assertTrue(refused.getMessage().contains("cut short") && refused.getMessage().contains("of 40 frames"), refused.getMessage());
        try (Stream<Path> left = Files.list(folder)) {
            assertEquals(List.of("a.mov", "cut.mov"), left.map(p -> p.getFileName().toString()).sorted().toList());
        }
    }

    /** Wrecks the JPEG pictures that start in a stretch of a file: without its marker SOI (ITU-T T.81) a packet is no picture. */
    private static int spoil(byte[] bytes, int from, int to) {
        int spoiled = 0;
        for (int i = from; i < to; i++) {
            if ((bytes[i] & 255) == 0xff && (bytes[i + 1] & 255) == 0xd8) {
                Arrays.fill(bytes, i, i + 600, (byte) 0);
                spoiled++;
            }
        }
        return spoiled;
    }

    @Test
    void oneBadFrameIsSteppedOverAndSaid() throws IOException {
        Path clip = TestClip.make().codec("mjpeg").container("avi").format("yuvj420p").fullRange().size(160, 96).frames(60)
            .write(folder.resolve("a.avi"));
        byte[] bytes = Files.readAllBytes(clip);
        int at = bytes.length / 2;
        while (spoil(bytes, at, at + 1) == 0) {
            at++;
        }
        Path bad = Files.write(folder.resolve("bad.avi"), bytes);
        ClipRender.Result result = run(render(OutputCodec.PRORES_HQ, "even", 1f, 2), bad, "o.mov");
        assertEquals(59, result.frames());
        assertTrue(result.notes().stream().anyMatch(note -> note.contains("1 damaged packet")), result.notes().toString());
        try (ClipReader reader = ClipReader.open(result.output())) {
            double last = 0;
            for (DecodedFrame frame = reader.next(); frame != null; frame = reader.next()) {
                last = frame.seconds();
                frame.release();
            }
            assertEquals(59 / 25.0, last, 0.001, "the others keep their times");
        }
    }

    @Test
    void damageThatShowsOnlyWhileRenderingLeavesNothing() throws IOException {
        // Sampling takes 24 of 200 frames and misses most of the wrecked ones; the render sees them all.
        Path clip = TestClip.make().codec("mjpeg").container("avi").format("yuvj420p").fullRange().size(160, 96).frames(200)
            .write(folder.resolve("a.avi"));
        byte[] bytes = Files.readAllBytes(clip);
        int spoiled = spoil(bytes, bytes.length / 4, bytes.length / 2);
        assertTrue(spoiled > 10);
        Path bad = Files.write(folder.resolve("bad.avi"), bytes);
        assertThrows(InputException.class, () -> run(render(OutputCodec.PRORES_HQ, "even", 1f, 2), bad, "o.mov"));
        try (Stream<Path> left = Files.list(folder)) {
            assertEquals(List.of("a.avi", "bad.avi"), left.map(p -> p.getFileName().toString()).sorted().toList());
        }
    }

    @ParameterizedTest
    @EnumSource(value = OutputCodec.class, names = {"PRORES_HQ", "DNXHR_HQX"})
    void codesOutsideTheVideoRangeAreHeldForEncodersThatCannotTakeThem(OutputCodec codec) {
        // FFmpeg's dnxhd encoder ends the whole process on such codes; strength 0 must not hand them through.
        Path clip = TestClip.make().format("yuv422p10").size(320, 180).frames(4)
            .paint((f, plane, x, y) -> (x * 7919 + y * 104729 + f * 31) % 5 == 0 ? 1023 : (x + y) % 3 == 0 ? 0 : 512).write(folder.resolve("a.mkv"));
        for (float strength : new float[] {0f, 1f}) {
            ClipRender.Result result = run(render(codec, "even", strength, 2), clip, "o" + strength + ".mov");
            assertEquals(4, result.frames());
            assertTrue(result.after().max() <= 109.1 && result.after().min() >= -6.9, result.after().toString());
        }
    }

    @Test
    void workingShapesNeverHaveLessThanSourceOrOutput() {
        for (OutputCodec codec : OutputCodec.values()) {
            for (var sampling : org.evenstop.engine.frame.ChromaSampling.values()) {
                for (var depth : org.evenstop.engine.level.CodeDepth.values()) {
                    PictureShape source = new PictureShape(8, 8, sampling, depth, org.evenstop.engine.level.LumaStandard.BT709, false, true, false);
                    PictureShape working = codec.workingShape(source);
                    PictureShape encoded = codec.encodedShape(source);
                    assertTrue(working.depth().bits() >= Math.max(source.depth().bits(), encoded.depth().bits()));
                    assertTrue(working.chromaWidth() >= Math.max(source.chromaWidth(), encoded.chromaWidth()));
                    assertTrue(working.chromaHeight() >= Math.max(source.chromaHeight(), encoded.chromaHeight()));
                    assertEquals(encoded.fullRange(), working.fullRange());
                }
            }
        }
    }
}
