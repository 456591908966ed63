// SPDX-License-Identifier: Apache-2.0
package org.evenstop.batch.media;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertThrows;
import static org.junit.jupiter.api.Assertions.assertTrue;
import static org.junit.jupiter.api.Assumptions.assumeTrue;

import java.io.IOException;
import java.nio.file.Files;
import java.nio.file.Path;
import java.util.ArrayList;
import java.util.Arrays;
import java.util.List;
import java.util.stream.Stream;
import org.bytedeco.ffmpeg.global.avutil;
import org.evenstop.engine.InputException;
import org.evenstop.engine.frame.ChromaSampling;
import org.evenstop.engine.frame.PlanarFrame;
import org.evenstop.engine.level.CodeDepth;
import org.evenstop.engine.level.LumaStandard;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.api.io.TempDir;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.ValueSource;

/** Clips as they are decoded: codes, descriptions, order, and what is refused. */
class ClipReaderTest {
    @TempDir
    Path folder;

    @ParameterizedTest
    @ValueSource(strings = {"yuv420p", "yuv422p", "yuv444p", "yuv420p10", "yuv422p10", "yuv444p10", "yuv420p12", "yuv422p12", "yuv444p12"})
    void everyCodeOfAPlanarFormatArrivesAsItWasStored(String format) {
        int shift = format.endsWith("10") ? 2 : format.endsWith("12") ? 4 : 0;
        TestClip.Painter painter = (frame, plane, x, y) -> ((x * 7 + y * 13 + plane * 50 + frame * 3) & 255) << shift;
        Path clip = TestClip.make().format(format).size(37, 23).frames(3).paint(painter).write(folder.resolve("a.mkv"));
        try (ClipReader reader = ClipReader.open(clip)) {
            int seen = 0;
            for (DecodedFrame frame = reader.next(); frame != null; frame = reader.next()) {
                PlanarFrame p = frame.picture();
                for (int y = 0; y < 23; y++) {
                    for (int x = 0; x < 37; x++) {
                        assertEquals(painter.code(seen, 0, x, y), p.lumaCode(x, y));
                    }
                }
                for (int y = 0; y < p.sampling().chromaHeight(23); y++) {
                    for (int x = 0; x < p.sampling().chromaWidth(37); x++) {
                        assertEquals(painter.code(seen, 1, x, y), p.cbCode(x, y));
                        assertEquals(painter.code(seen, 2, x, y), p.crCode(x, y));
                    }
                }
                assertEquals(seen, frame.index());
                assertEquals(seen / 25.0, frame.seconds(), 0.002);
                frame.release();
                seen++;
            }
            assertEquals(3, seen);
            assertTrue(reader.damage().isNone(), reader.damage().sentence());
        }
    }

    @Test
    void sixteenBitYuvIsRoundedToTwelve() {
        Path clip = TestClip.make().format("yuv422p16").size(16, 8).frames(1)
            .paint((frame, plane, x, y) -> plane == 0 ? 4096 + 100 * x + 7 : 32768).write(folder.resolve("a.mkv"));
        try (ClipReader reader = ClipReader.open(clip)) {
            DecodedFrame frame = reader.next();
            assertEquals(CodeDepth.BITS12, frame.picture().depth());
            for (int x = 0; x < 16; x++) {
                assertEquals((4096 + 100 * x + 7 + 8) / 16, frame.picture().lumaCode(x, 0));
            }
            assertEquals(2048, frame.picture().cbCode(0, 0));
            frame.release();
        }
    }

    @Test
    void rgbGoesThroughOurMatrixToNarrowRange() {
        // Primaries and white at 8 bit; expected codes by ITU-R BT.709-6 items 3.2 to 3.4 at 10 bit.
        int[][] colours = {{255, 255, 255}, {0, 0, 0}, {255, 0, 0}, {0, 255, 0}, {0, 0, 255}, {128, 128, 128}};
        Path still = TestClip.make().codec("png").container("image2").format("rgb24").size(colours.length, 2).frames(1).fullRange()
            .matrix(avutil.AVCOL_SPC_RGB).paint((frame, channel, x, y) -> colours[x][channel]).write(folder.resolve("a.png"));
        int[][] expected = {{940, 512, 512}, {64, 512, 512}, {250, 409, 960}, {691, 167, 105}, {127, 960, 471}, {504, 512, 512}};
        try (ClipReader reader = ClipReader.open(still)) {
            assertTrue(reader.info().isStill());
            DecodedFrame frame = reader.next();
            for (int x = 0; x < colours.length; x++) {
                int[] codes = {frame.picture().lumaCode(x, 0), frame.picture().cbCode(x, 0), frame.picture().crCode(x, 0)};
                assertEquals(Arrays.toString(expected[x]), Arrays.toString(codes), "colour " + x);
            }
            frame.release();
            assertEquals(null, reader.next());
        }
    }

    @Test
    void greyGetsAchromaticChromaAndIsFullRangeUnlessTagged() {
        Path still = TestClip.make().codec("png").container("image2").format("gray").size(9, 5).frames(1).fullRange()
            .paint((frame, plane, x, y) -> 10 * x).write(folder.resolve("g.png"));
        try (ClipReader reader = ClipReader.open(still)) {
            assertTrue(reader.info().shape().fullRange());
            DecodedFrame frame = reader.next();
            assertEquals(80, frame.picture().lumaCode(8, 4));
            assertEquals(128, frame.picture().cbCode(4, 2));
            frame.release();
        }
    }

    @Test
    void nv12IsTakenApart() {
        // rawvideo in nut: nv12 has Cb and Cr interleaved in its second plane.
        Path clip = writeNv12();
        try (ClipReader reader = ClipReader.open(clip)) {
            assertEquals("nv12", reader.info().pixelFormat());
            DecodedFrame frame = reader.next();
            assertEquals(ChromaSampling.S420, frame.picture().sampling());
            assertEquals(60 + 3, frame.picture().lumaCode(3, 0));
            assertEquals(100 + 1, frame.picture().cbCode(1, 0));
            assertEquals(150 + 1, frame.picture().crCode(1, 0));
            frame.release();
        }
    }

    private Path writeNv12() {
        byte[] raw = new byte[8 * 4 + 8 * 2];
        for (int y = 0; y < 4; y++) {
            for (int x = 0; x < 8; x++) {
                raw[8 * y + x] = (byte) (60 + x);
            }
        }
        for (int y = 0; y < 2; y++) {
            for (int c = 0; c < 4; c++) {
                raw[32 + 8 * y + 2 * c] = (byte) (100 + c);
                raw[32 + 8 * y + 2 * c + 1] = (byte) (150 + c);
            }
        }
        return RawClip.write(folder.resolve("n.nut"), "nv12", 8, 4, raw);
    }

    @Test
    void tagsRangeAndSitingAreReadAndGuessesAreStated() {
        Path tagged = TestClip.make().format("yuv420p").chromaLocation(avutil.AVCHROMA_LOC_TOPLEFT).write(folder.resolve("t.mkv"));
        try (ClipReader reader = ClipReader.open(tagged)) {
            assertEquals(LumaStandard.BT709, reader.info().shape().standard());
            assertFalse(reader.info().shape().fullRange());
            assertTrue(reader.info().shape().chromaTop());
            assertTrue(reader.info().notes().isEmpty(), reader.info().notes().toString());
        }
        Path small = TestClip.make().matrix(avutil.AVCOL_SPC_UNSPECIFIED).write(folder.resolve("s.mkv"));
        try (ClipReader reader = ClipReader.open(small)) {
            assertEquals(LumaStandard.BT601, reader.info().shape().standard());
            assertTrue(reader.info().notes().get(0).contains("common practice, no source"));
        }
        Path high = TestClip.make().matrix(avutil.AVCOL_SPC_UNSPECIFIED).size(64, 720).frames(1).write(folder.resolve("h.mkv"));
        try (ClipReader reader = ClipReader.open(high)) {
            assertEquals(LumaStandard.BT709, reader.info().shape().standard());
        }
        Path full = TestClip.make().codec("mjpeg").container("avi").format("yuvj420p").fullRange().write(folder.resolve("f.avi"));
        try (ClipReader reader = ClipReader.open(full)) {
            assertTrue(reader.info().shape().fullRange());
            assertFalse(reader.info().shape().chromaCosited());
        }
        Path other = TestClip.make().matrix(avutil.AVCOL_SPC_YCGCO).write(folder.resolve("o.mkv"));
        InputException refused = assertThrows(InputException.class, () -> ClipReader.open(other));
        assertTrue(refused.getMessage().contains("ycgco"), refused.getMessage());
    }

    @Test
    void samplingVisitsTheSameFramesWhicheverWayTheyAreReached() {
        // Packets of an all-intra clip are skipped, those of a long GOP are all decoded; mpeg files do not say how many there are.
        Path intra = TestClip.make().codec("prores_ks").container("mov").format("yuv422p10").frames(50)
            .paint((f, plane, x, y) -> plane == 0 ? 100 + 8 * f : 512).write(folder.resolve("i.mov"));
        Path longGop = TestClip.make().codec("mpeg2video").container("mpeg").frames(50)
            .paint((f, plane, x, y) -> plane == 0 ? 30 + 3 * f : 128).write(folder.resolve("l.mpg"));
        for (Path clip : List.of(intra, longGop)) {
            try (ClipReader reader = ClipReader.open(clip)) {
                List<Long> visited = new ArrayList<>();
                List<Integer> levels = new ArrayList<>();
                ClipReader.Damage damage = reader.sample(7, frame -> {
                    visited.add(frame.index());
                    levels.add(frame.picture().lumaCode(20, 20));
                });
                assertEquals(List.of(3L, 10L, 17L, 25L, 32L, 39L, 46L), visited);
                assertTrue(damage.isNone(), damage.sentence());
                List<Integer> inOrder = new ArrayList<>();
                for (DecodedFrame frame = reader.next(); frame != null; frame = reader.next()) {
                    if (visited.contains(frame.index())) {
                        inOrder.add(frame.picture().lumaCode(20, 20));
                    }
                    frame.release();
                }
                assertEquals(inOrder, levels);
            }
        }
    }

    @Test
    void picksAreSpreadEvenlyAndNeverRepeat() {
        assertEquals("[0, 1, 2]", Arrays.toString(ClipReader.picks(24, 3)));
        long[] picks = ClipReader.picks(24, 25);
        assertEquals(24, Arrays.stream(picks).distinct().count());
        assertTrue(picks[23] < 25);
        assertEquals(500, ClipReader.picks(1, 1000)[0]);
    }

    @Test
    void whatIsNoClipIsRefusedInOneLine() throws IOException {
        Path text = Files.writeString(folder.resolve("text.mov"), "this is no video\n".repeat(50));
        Path empty = Files.createFile(folder.resolve("empty.mov"));
        Path sound = TestClip.make().container("wav").withoutVideo().audio(1).write(folder.resolve("sound.wav"));
        Path list = Files.writeString(folder.resolve("list.mov"), "ffconcat version 1.0\nfile other.mov\n");
        for (Path wrong : List.of(text, empty, sound, list, folder.resolve("missing.mov"), folder)) {
            InputException refused = assertThrows(InputException.class, () -> ClipReader.open(wrong).close(), wrong.toString());
            assertTrue(refused.getMessage().startsWith(wrong.toString()), refused.getMessage());
            assertEquals(1, refused.getMessage().lines().count());
            assertTrue(refused.getMessage().length() > wrong.toString().length() + 15, refused.getMessage());
        }
    }

    @Test
    void onlyRegularFilesAreOpened() throws IOException, InterruptedException {
        Path pipe = folder.resolve("pipe.mov");
        assertEquals(0, new ProcessBuilder("mkfifo", pipe.toString()).start().waitFor());
        for (Path wrong : List.of(pipe, Path.of("/dev/null"))) {
            InputException refused = assertThrows(InputException.class, () -> ClipReader.open(wrong).close(), wrong.toString());
            assertTrue(refused.getMessage().contains("is not a regular file"), refused.getMessage());
        }
    }

    @Test
    void aNameThatIsNoTextIsSaidToBeSo() throws IOException, InterruptedException {
        Process made = new ProcessBuilder("sh", "-c", ": > \"$1/$(printf 'bad\\377.mov')\"", "sh", folder.toString()).start();
        assumeTrue(made.waitFor() == 0, "this file system takes only names in UTF-8");
        try (Stream<Path> files = Files.list(folder)) {
            for (Path bad : files.toList()) {
                InputException refused = assertThrows(InputException.class, () -> ClipReader.open(bad).close());
                assertTrue(refused.getMessage().contains("not valid UTF-8") && refused.getMessage().contains("rename"), refused.getMessage());
            }
        }
    }

    @Test
    void damageIsCountedInWords() {
        assertEquals("1 damaged packet among 30 frames", new ClipReader.Damage(1, 0, false, 30, 30).sentence());
        assertEquals("2 damaged frames among 30 frames", new ClipReader.Damage(0, 2, false, 30, 30).sentence());
        assertEquals("2 damaged packets and 1 damaged frame among 29 of 30 frames", new ClipReader.Damage(2, 1, false, 29, 30).sentence());
        assertEquals("the file is cut short: only the first 1 frame can be read", new ClipReader.Damage(0, 0, true, 1, 0).sentence());
    }

    @Test
    void aClipWithoutFramesIsRefused() throws IOException {
        // The header of a real clip with nothing behind it.
        byte[] whole = Files.readAllBytes(TestClip.make().codec("mpeg4").container("avi").write(folder.resolve("a.avi")));
        int movi = indexOf(whole, "movi");
        Path none = Files.write(folder.resolve("none.avi"), Arrays.copyOf(whole, movi + 4));
        assertThrows(InputException.class, () -> ClipReader.open(none).close());
    }

    private static int indexOf(byte[] bytes, String word) {
        for (int i = 0; i + word.length() < bytes.length; i++) {
            if (new String(bytes, i, word.length(), java.nio.charset.StandardCharsets.ISO_8859_1).equals(word)) {
                return i;
            }
        }
        throw new AssertionError(word + " not found");
    }

    @Test
    void aCutFileIsReadAsFarAsItGoesAndSaidToBeCut() throws IOException {
        Path mov = TestClip.make().codec("prores_ks").container("mov").format("yuv422p10").frames(40).indexFirst().audio(1)
            .write(folder.resolve("a.mov"));
        Path mkv = TestClip.make().codec("mpeg4").container("matroska").size(320, 240).frames(40).write(folder.resolve("a.mkv"));
        for (Path clip : List.of(mov, mkv)) {
            byte[] bytes = Files.readAllBytes(clip);
            Path cut = Files.write(folder.resolve("cut-" + clip.getFileName()), Arrays.copyOf(bytes, bytes.length / 2));
            try (ClipReader reader = ClipReader.open(cut)) {
                long frames = 0;
                for (DecodedFrame frame = reader.next(); frame != null; frame = reader.next()) {
                    frames++;
                    frame.release();
                }
                assertTrue(frames > 5 && frames < 40, clip + ": " + frames);
                assertTrue(reader.damage().cutShort() && reader.damage().isGrave(), clip + ": " + reader.damage());
            }
            try (ClipReader reader = ClipReader.open(cut)) {
                assertTrue(reader.sample(24, frame -> { }).cutShort(), clip.toString());
            }
            try (ClipReader reader = ClipReader.open(clip)) {
                assertTrue(reader.sample(24, frame -> { }).isNone(), clip.toString());
            }
        }
    }

    @Test
    void variableTimesAndRotationAreRead() {
        Path clip = TestClip.make().codec("mpeg4").container("mov").rotation(90).times(0, 40, 140, 180, 400).write(folder.resolve("v.mov"));
        try (ClipReader reader = ClipReader.open(clip)) {
            assertEquals(90, reader.info().rotation());
            List<Long> times = new ArrayList<>();
            for (DecodedFrame frame = reader.next(); frame != null; frame = reader.next()) {
                times.add(Math.round(frame.seconds() * 1000));
                frame.release();
            }
            assertEquals(List.of(0L, 40L, 140L, 180L, 400L), times);
        }
    }
}
