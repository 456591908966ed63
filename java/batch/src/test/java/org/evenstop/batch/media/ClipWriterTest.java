// SPDX-License-Identifier: Apache-2.0
package org.evenstop.batch.media;

import static org.junit.jupiter.api.Assertions.assertArrayEquals;
import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertNull;
import static org.junit.jupiter.api.Assertions.assertSame;
import static org.junit.jupiter.api.Assertions.assertThrows;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.io.ByteArrayOutputStream;
import java.io.IOException;
import java.nio.file.Files;
import java.nio.file.Path;
import java.util.ArrayList;
import java.util.List;
import java.util.stream.Stream;
import org.bytedeco.ffmpeg.avutil.AVFrame;
import org.bytedeco.ffmpeg.global.avutil;
import org.evenstop.batch.render.ClipRender;
import org.evenstop.engine.InputException;
import org.evenstop.engine.frame.PlanarFrame;
import org.evenstop.engine.json.EvenstopFiles;
import org.evenstop.engine.solve.Solver;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.api.io.TempDir;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.EnumSource;

/** Clips written by copying or converting frames, read back, and compared with their source. */
class ClipWriterTest {
    @TempDir
    Path folder;

    /** Source to target without any correction. */
    private static void copy(Path source, Path target, OutputCodec codec) {
        try (ClipReader reader = ClipReader.open(source); ClipWriter writer = ClipWriter.create(target, codec, reader, false)) {
            PictureShape from = reader.info().shape();
            PlaneConversion conversion = new PlaneConversion(from, writer.shape());
            for (DecodedFrame frame = reader.next(); frame != null; frame = reader.next()) {
                ClipWriter.EncodedFrame out = writer.lend();
                conversion.run(frame.picture(), out.picture(), frame.isInterlaced(), 0, from.height());
                DecodedFrameTimes times = DecodedFrameTimes.of(frame);
                frame.release();
                writer.write(out, times);
            }
            writer.finish();
        }
    }

    private static List<Integer> lumaRow(Path clip, int row) {
        try (ClipReader reader = ClipReader.open(clip)) {
            DecodedFrame frame = reader.next();
            List<Integer> codes = new ArrayList<>();
            for (int x = 0; x < frame.picture().width(); x++) {
                codes.add(frame.picture().lumaCode(x, row));
            }
            frame.release();
            return codes;
        }
    }

    @Test
    void aFullDiskIsNotTakenForAContainerThatRefuses() {
        Path target = Path.of("a.mov");
        String full = ClipWriter.headerRefused(target, OutputCodec.PRORES_HQ, ClipWriter.NO_SPACE, 0).getMessage();
        assertTrue(full.contains("make room") && !full.contains("tracks"), full);
        String failing = ClipWriter.headerRefused(target, OutputCodec.PRORES_HQ, -22, -5).getMessage();
        assertTrue(failing.contains("make room") && !failing.contains("tracks"), failing);
        String refusing = ClipWriter.headerRefused(target, OutputCodec.PRORES_HQ, -22, 0).getMessage();
        assertTrue(refusing.contains("does not take these tracks"), refusing);
    }

    /** A frame is written where it was decoded only if it is what is encoded and nobody else reads it. */
    @Test
    void aDecodedFrameIsAdoptedOnlyWhereItMayBeWrittenTo() {
        Path source = TestClip.make().codec("prores_aw").container("mov").format("yuv422p10").write(folder.resolve("a.mov"));
        try (ClipReader reader = ClipReader.open(source);
             ClipWriter same = ClipWriter.create(folder.resolve("b.mov"), OutputCodec.PRORES_HQ, reader, false);
             ClipWriter other = ClipWriter.create(folder.resolve("c.mov"), OutputCodec.PRORES_4444, reader, false)) {
            DecodedFrame frame = reader.next();
            assertNull(other.adopt(frame), "4:2:2 is not what 4:4:4 is made of");
            AVFrame reference = avutil.av_frame_clone(frame.av);
            assertNull(same.adopt(frame), "another reads it");
            avutil.av_frame_free(reference);
            ClipWriter.EncodedFrame adopted = same.adopt(frame);
            assertSame(frame.picture(), adopted.picture());
            adopted.picture().setLumaCode(3, 2, 777);
            same.write(adopted, DecodedFrameTimes.of(frame));
            assertNull(frame.picture(), "writing has released it");
        }
    }

    @Test
    void theRampKeepsEveryCodeInALosslessCopy() {
        Path source = TestClip.ramp10().write(folder.resolve("ramp.mkv"));
        Path target = folder.resolve("out.mkv");
        copy(source, target, OutputCodec.FFV1);
        List<Integer> codes = lumaRow(target, 5);
        assertEquals(lumaRow(source, 5), codes);
        assertEquals(80, codes.stream().filter(c -> c >= 940).distinct().count());
        assertEquals(61, codes.stream().filter(c -> c <= 64).distinct().count());
    }

    @Test
    void decodedFramesAreEncodedAsTheyAreAndOthersRefused() {
        Path source = TestClip.ramp10().write(folder.resolve("ramp.mkv"));
        Path other = TestClip.make().format("yuv422p10").size(64, 48).frames(1).write(folder.resolve("other.mkv"));
        Path target = folder.resolve("out.mkv");
        try (ClipReader reader = ClipReader.open(source); ClipReader foreign = ClipReader.open(other);
             ClipWriter writer = ClipWriter.create(target, OutputCodec.FFV1, reader, false)) {
            DecodedFrame small = foreign.next();
            assertThrows(IllegalArgumentException.class, () -> writer.write(small, DecodedFrameTimes.of(small)));
            small.release();
            for (DecodedFrame frame = reader.next(); frame != null; frame = reader.next()) {
                writer.write(frame, DecodedFrameTimes.of(frame));
                frame.release();
            }
            writer.finish();
        }
        assertEquals(lumaRow(source, 5), lumaRow(target, 5));
    }

    @ParameterizedTest
    @EnumSource(value = OutputCodec.class, names = {"PRORES_HQ", "PRORES_4444", "DNXHR_HQX"})
    void theRampKeepsItsSuperWhitesAndSubBlacksInALossyCopy(OutputCodec codec) {
        // Each code eight columns wide in rows of 127 codes: a smooth picture such as a lossy codec is made for.
        TestClip.Painter ramp = (frame, plane, x, y) -> plane == 0 ? 4 + x / 8 + 127 * (y / 32) : 512;
        Path source = TestClip.make().format("yuv422p10").size(1016, 256).frames(2).paint(ramp).write(folder.resolve("ramp.mkv"));
        Path target = folder.resolve("out.mov");
        copy(source, target, codec);
        int low = 1023;
        int high = 0;
        double error = 0;
        int worst = 0;
        for (int band = 0; band < 8; band++) {
            List<Integer> codes = lumaRow(target, 32 * band + 16);
            // ProRes 4444 is decoded at 12 bit.
            int shift = codes.stream().mapToInt(c -> c).max().orElse(0) > 1023 || codec == OutputCodec.PRORES_4444 ? 2 : 0;
            for (int x = 0; x < 1016; x++) {
                int code = codes.get(x) + (1 << shift >> 1) >> shift;
                int miss = Math.abs(code - ramp.code(0, 0, x, 32 * band + 16));
                error += (double) miss * miss;
                worst = Math.max(worst, miss);
                low = Math.min(low, code);
                high = Math.max(high, code);
            }
        }
        double rms = Math.sqrt(error / (8 * 1016));
        assertTrue(rms < 1.5 && worst <= 6, codec + ": rms " + rms + ", worst " + worst);
        assertTrue(low <= 8 && high >= 1015, codec + ": " + low + ".." + high);
    }

    @ParameterizedTest
    @EnumSource(OutputCodec.class)
    void tagsTimecodeRotationAndEveryAudioTrackSurvive(OutputCodec codec) {
        Path source = TestClip.make().codec("prores_ks").container("mov").format("yuv422p10").size(320, 240).frames(12).audio(2)
            .rotation(90).timecode("10:20:30:05").write(folder.resolve("a.mov"));
        Path target = folder.resolve("out." + codec.extension());
        copy(source, target, codec);
        try (ClipReader before = ClipReader.open(source); ClipReader after = ClipReader.open(target)) {
            ClipInfo a = before.info();
            ClipInfo b = after.info();
            assertEquals(a.colour().primaries(), b.colour().primaries());
            assertEquals(a.colour().transfer(), b.colour().transfer());
            assertEquals(a.colour().matrix(), b.colour().matrix());
            assertEquals(avutil.AVCOL_SPC_BT709, b.colour().matrix());
            assertFalse(b.shape().fullRange());
            assertEquals("10:20:30:05", b.timecode());
            assertEquals(90, b.rotation());
            assertEquals(25, b.framesPerSecond(), 1e-9);
            assertEquals(2, b.audio().size());
            assertEquals(List.of("eng", "ger"), b.audio().stream().map(ClipInfo.AudioTrack::language).toList());
        }
        List<byte[]> before = sound(source);
        List<byte[]> after = sound(target);
        for (int track = 0; track < 2; track++) {
            assertEquals(12 * 3840, before.get(track).length);
            assertArrayEquals(before.get(track), after.get(track), "track " + track);
        }
    }

    @Test
    void soundOfFramesThatAreDecodedBeforeThereIsACorrectionSurvives() {
        Path source = TestClip.make().codec("prores_ks").container("mov").format("yuv422p10").size(320, 240).frames(40).audio(2).write(folder.resolve("a.mov"));
        Path target = folder.resolve("o.mov");
        new ClipRender(new ClipRender.Settings(OutputCodec.PRORES_HQ, EvenstopFiles.profile("cinema-soft"), EvenstopFiles.preset("even"), 1f, false, 2),
            (stage, done, all) -> { }).with((measured, profile, preset) -> {
                Thread decoding = Thread.getAllStackTraces().keySet().stream().filter(t -> t.getName().equals("evenstop-decode")).findAny().orElseThrow();
                // Until there is no room for more decoded frames, which are fewer than the clip has.
                while (decoding.isAlive() && decoding.getState() != Thread.State.TIMED_WAITING) {
                    Thread.onSpinWait();
                }
                return Solver.solve(measured, profile, preset);
            }).run(source, target, folder.resolve("o.json"));
        List<byte[]> before = sound(source);
        List<byte[]> after = sound(target);
        assertEquals(2, after.size());
        for (int track = 0; track < 2; track++) {
            assertTrue(before.get(track).length > 0);
            assertArrayEquals(before.get(track), after.get(track), "track " + track);
        }
    }

    /** Bytes of each audio track's packets, in order. */
    private static List<byte[]> sound(Path clip) {
        try (ClipReader reader = ClipReader.open(clip)) {
            List<Integer> streams = reader.info().audio().stream().map(ClipInfo.AudioTrack::stream).toList();
            List<ByteArrayOutputStream> tracks = streams.stream().map(s -> new ByteArrayOutputStream()).toList();
            reader.onOtherPackets(packet -> {
                int track = streams.indexOf(packet.stream_index());
                if (track >= 0) {
                    byte[] bytes = new byte[packet.size()];
                    packet.data().get(bytes, 0, bytes.length);
                    tracks.get(track).writeBytes(bytes);
                }
            });
            for (DecodedFrame frame = reader.next(); frame != null; frame = reader.next()) {
                frame.release();
            }
            return tracks.stream().map(ByteArrayOutputStream::toByteArray).toList();
        }
    }

    @ParameterizedTest
    @EnumSource(value = OutputCodec.class, names = {"PRORES_HQ", "FFV1"})
    void variableFrameTimesAreKept(OutputCodec codec) {
        Path source = TestClip.make().codec("mpeg4").container("mov").size(64, 48).times(0, 40, 140, 180, 400).write(folder.resolve("v.mov"));
        Path target = folder.resolve("out." + codec.extension());
        copy(source, target, codec);
        List<Long> times = new ArrayList<>();
        try (ClipReader reader = ClipReader.open(target)) {
            for (DecodedFrame frame = reader.next(); frame != null; frame = reader.next()) {
                times.add(Math.round(frame.seconds() * 1000));
                frame.release();
            }
        }
        assertEquals(List.of(0L, 40L, 140L, 180L, 400L), times);
    }

    @Test
    void oddAndTinySizesAreTakenWhereTheCodecCan() {
        for (int[] size : new int[][] {{1, 1}, {3, 5}, {321, 241}, {718, 405}}) {
            Path source = TestClip.make().size(size[0], size[1]).frames(2).write(folder.resolve("s" + size[0] + ".mkv"));
            for (OutputCodec codec : List.of(OutputCodec.FFV1, OutputCodec.PRORES_HQ)) {
                Path target = folder.resolve("o" + size[0] + "." + codec.extension());
                copy(source, target, codec);
                try (ClipReader reader = ClipReader.open(target)) {
                    assertEquals(size[0], reader.info().shape().width());
                    assertEquals(size[1], reader.info().shape().height());
                    DecodedFrame frame = reader.next();
                    int expected = 40;
                    int got = frame.picture().depth().bits() == 8 ? frame.picture().lumaCode(0, 0) : frame.picture().lumaCode(0, 0) / 4;
                    assertEquals(expected, got, codec == OutputCodec.FFV1 ? 0 : 2);
                    frame.release();
                }
            }
        }
        Path tiny = folder.resolve("s1.mkv");
        InputException refused = assertThrows(InputException.class, () -> copy(tiny, folder.resolve("d.mov"), OutputCodec.DNXHR_HQX));
        assertTrue(refused.getMessage().contains("1x1") && refused.getMessage().contains("ffv1"), refused.getMessage());
    }

    @Test
    void fullRangeStaysInFfv1AndBecomesNarrowInProRes() {
        Path source = TestClip.make().codec("mjpeg").container("avi").format("yuvj420p").fullRange().size(64, 48)
            .paint((frame, plane, x, y) -> plane == 0 ? 255 : 128).write(folder.resolve("f.avi"));
        copy(source, folder.resolve("o.mkv"), OutputCodec.FFV1);
        copy(source, folder.resolve("o.mov"), OutputCodec.PRORES_HQ);
        try (ClipReader lossless = ClipReader.open(folder.resolve("o.mkv")); ClipReader proRes = ClipReader.open(folder.resolve("o.mov"))) {
            assertTrue(lossless.info().shape().fullRange());
            assertFalse(lossless.info().shape().chromaCosited());
            assertFalse(proRes.info().shape().fullRange());
            DecodedFrame a = lossless.next();
            DecodedFrame b = proRes.next();
            assertEquals(255, a.picture().lumaCode(10, 10));
            assertEquals(940, b.picture().lumaCode(10, 10), 1);
            a.release();
            b.release();
        }
    }

    @Test
    void interlacingIsKept() {
        Path source = TestClip.make().codec("mpeg2video").container("mpeg").size(320, 240).interlaced().write(folder.resolve("i.mpg"));
        copy(source, folder.resolve("o.mov"), OutputCodec.PRORES_HQ);
        try (ClipReader reader = ClipReader.open(folder.resolve("o.mov"))) {
            assertTrue(reader.info().interlaced());
        }
    }

    @Test
    void framesThatWereMadeCanBeWritten() {
        PictureShape shape = new PictureShape(320, 180, org.evenstop.engine.frame.ChromaSampling.S422,
            org.evenstop.engine.level.CodeDepth.BITS10, org.evenstop.engine.level.LumaStandard.BT709, false, true, true);
        Path target = folder.resolve("made.mov");
        try (ClipWriter writer = ClipWriter.create(target, OutputCodec.PRORES_HQ, shape, 30000, 1001,
            new ClipInfo.ColourTags(1, 1, 1, 1), false)) {
            for (int f = 0; f < 7; f++) {
                ClipWriter.EncodedFrame frame = writer.lend();
                fill(frame.picture(), 100 + 100 * f);
                writer.write(frame);
            }
            assertFalse(Files.exists(target), "a clip has no name before it is whole");
            writer.finish();
        }
        try (ClipReader reader = ClipReader.open(target)) {
            assertEquals(29.97, reader.info().framesPerSecond(), 0.001);
            for (int f = 0; f < 7; f++) {
                DecodedFrame frame = reader.next();
                assertEquals(100 + 100 * f, frame.picture().lumaCode(30, 30), 1);
                assertEquals(f * 1001 / 30000.0, frame.seconds(), 1e-4);
                frame.release();
            }
        }
    }

    private static void fill(PlanarFrame frame, int luma) {
        for (int y = 0; y < frame.height(); y++) {
            for (int x = 0; x < frame.width(); x++) {
                frame.setLumaCode(x, y, luma);
                frame.setCbCode(x / 2, y, 512);
                frame.setCrCode(x / 2, y, 512);
            }
        }
    }

    @Test
    void nothingIsLeftBehindAndNothingIsReplaced() throws IOException {
        Path source = TestClip.make().write(folder.resolve("a.mkv"));
        Path target = Files.writeString(folder.resolve("b.mkv"), "mine");
        assertThrows(InputException.class, () -> copy(source, target, OutputCodec.FFV1));
        assertEquals("mine", Files.readString(target));
        Path dropped = folder.resolve("c.mkv");
        try (ClipReader reader = ClipReader.open(source); ClipWriter writer = ClipWriter.create(dropped, OutputCodec.FFV1, reader, false)) {
            assertThrows(InputException.class, writer::finish);
        }
        InputException noFolder = assertThrows(InputException.class,
            () -> copy(source, folder.resolve("b.mkv").resolve("x.mkv"), OutputCodec.FFV1));
        assertTrue(noFolder.getMessage().contains("--out"), noFolder.getMessage());
        try (Stream<Path> left = Files.list(folder)) {
            assertEquals(List.of("a.mkv", "b.mkv"), left.map(p -> p.getFileName().toString()).sorted().toList());
        }
    }
}
