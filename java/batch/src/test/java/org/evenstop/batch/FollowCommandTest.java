// SPDX-License-Identifier: Apache-2.0
package org.evenstop.batch;

import static org.evenstop.batch.Answer.evenstop;
import static org.evenstop.batch.media.MeanLuma.range;
import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertTrue;

import com.fasterxml.jackson.databind.JsonNode;
import com.fasterxml.jackson.databind.ObjectMapper;
import java.io.IOException;
import java.nio.file.Files;
import java.nio.file.Path;
import java.util.ArrayList;
import java.util.Arrays;
import java.util.List;
import java.util.function.IntToDoubleFunction;
import org.evenstop.batch.media.ClipReader;
import org.evenstop.batch.media.DecodedFrame;
import org.evenstop.batch.media.MeanLuma;
import org.evenstop.batch.media.TestClip;
import org.evenstop.engine.json.EvenstopFiles;
import org.evenstop.engine.level.CodeDepth;
import org.evenstop.engine.profile.Profile;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.api.io.TempDir;

/** {@code render --follow} on small grey clips whose light is known. What it comes to is measured on decoded frames. */
class FollowCommandTest {
    private static final Profile SOFT = EvenstopFiles.profile("cinema-soft");

    @TempDir
    Path folder;

    private JsonNode render(String out, Object... more) throws IOException {
        List<Object> arguments = new ArrayList<>(List.of("render", "--json", "--profile", "cinema-soft", "--codec", "ffv1", "--out", folder.resolve(out)));
        arguments.addAll(Arrays.asList(more));
        Answer answer = evenstop(arguments.toArray());
        assertEquals(0, answer.code(), answer.err());
        return new ObjectMapper().readTree(answer.out());
    }

    /** Blocks of several greys with grain; {@code scene} arranges them, {@code gain} fades. */
    private static TestClip clip(int frames, IntToDoubleFunction stops, IntToDoubleFunction gain, IntToDoubleFunction scene) {
        return TestClip.make().codec("ffv1").format("yuv422p10").size(160, 96).frames(frames).paint((f, plane, x, y) -> {
            if (plane > 0) {
                return 512;
            }
            int block = (int) (x / 20 * 7 + y / 16 * 3 + scene.applyAsDouble(f) * (x / 20 * y / 16)) % 11;
            double light = 0.18 * Math.pow(2, -3 + 0.45 * block + stops.applyAsDouble(f)) * (1 + ((x * 31 + y * 17 + f * 13) % 9 - 4) * 0.01);
            return (int) Math.min(1019, Math.max(4, Math.round(64 + gain.applyAsDouble(f) * (CodeDepth.BITS10.codeOfLevel(SOFT.levelOfLight(light)) - 64))));
        });
    }

    private Path clip(String name, int frames, IntToDoubleFunction stops) {
        return clip(frames, stops, f -> 1, f -> 0).write(folder.resolve(name));
    }

    private static double hunting(int frame) {
        return -0.5 + 0.9 * Math.sin(2 * Math.PI * frame / 45.0);
    }

    private static void assertSamePixels(Path one, Path other) {
        assertPixels(one, other, 0);
    }

    /** @param apart codes by which samples may differ */
    private static void assertPixels(Path one, Path other, int apart) {
        try (ClipReader a = ClipReader.open(one); ClipReader b = ClipReader.open(other)) {
            for (DecodedFrame x = a.next(); x != null; x = a.next()) {
                DecodedFrame y = b.next();
                for (int row = 0; row < x.picture().height(); row++) {
                    for (int column = 0; column < x.picture().width(); column++) {
                        assertEquals(x.picture().lumaCode(column, row), y.picture().lumaCode(column, row), apart);
                    }
                }
                for (int row = 0; row < x.picture().height(); row++) {
                    for (int column = 0; column < x.picture().width() / 2; column++) {
                        assertEquals(x.picture().cbCode(column, row), y.picture().cbCode(column, row), apart);
                        assertEquals(x.picture().crCode(column, row), y.picture().crCode(column, row), apart);
                    }
                }
                x.release();
                y.release();
            }
            assertEquals(null, b.next());
        }
    }

    private static Path output(JsonNode result) {
        return Path.of(result.get("output").asText());
    }

    @Test
    void aDriftIsTakenOutWithoutSteps() throws IOException {
        Path clip = clip("hunting.mkv", 90, FollowCommandTest::hunting);
        double[] plain = MeanLuma.ofFrames(output(render("plain", clip).get(0)));
        JsonNode result = render("followed", clip, "--follow").get(0);
        double[] in = MeanLuma.ofFrames(clip);
        double[] out = MeanLuma.ofFrames(output(result));
        double worst = 0;
        double added = 0;
        for (int i = 1; i < out.length; i++) {
            worst = Math.max(worst, Math.abs(out[i] - out[i - 1]));
            added = Math.max(added, Math.abs(out[i] - out[i - 1]) - Math.abs(in[i] - in[i - 1]));
        }
        System.out.printf("hunting iris: mean luma ranges over %.2f %% as shot, %.2f %% with one correction, %.2f %% followed; largest step %.3f %%%n",
            range(in), range(plain), range(out), worst);
        assertTrue(range(out) < 0.5 * range(in) && range(out) < 0.1 * range(plain), "range " + range(out));
        assertTrue(worst <= 0.2 && added <= 0.2, "step " + worst);
        JsonNode follow = result.get("follow");
        assertFalse(follow.get("steady").asBoolean());
        assertEquals(1.8, follow.get("range").asDouble(), 0.1);
        assertEquals(0, follow.get("cuts").asInt());
        assertEquals(0, follow.get("heldBack").asDouble());
        JsonNode keys = follow.get("shots").get(0).get("keys");
        assertTrue(keys.size() >= 5 && keys.size() < 50, keys.toString());
        assertEquals(0, keys.get(0).get("seconds").asDouble());
        assertTrue(result.get("notes").toString().contains("The light drifts by 1."), result.toString());
        String written = Files.readString(Path.of(result.get("correction").asText()));
        List<String> notes = EvenstopFiles.correctionFromJson(written, "hunting.correction.json").origin().notes();
        assertTrue(notes.get(0).contains("used by itself it does not follow"), notes.toString());
        Answer said = evenstop("render", clip, "--follow", "--profile", "cinema-soft", "--out", folder.resolve("said"), "--strength", "0.5");
        assertEquals(0, said.code(), said.err());
        assertTrue(said.out().contains("The light drifts by 1.") && said.out().contains("keys"), said.out());
    }

    /** Nothing adds up over a long clip: the pixels are within a code of those of one correction, and flicker stays as it was shot. */
    @Test
    void aLongSteadyClipComesOutAsWithoutIt() throws IOException {
        Path clip = clip("steady.mkv", 400, f -> -0.7);
        JsonNode plain = render("plain", clip).get(0);
        JsonNode followed = render("followed", clip, "--follow").get(0);
        assertPixels(output(plain), output(followed), 1);
        double asShot = MeanLuma.meanChange(MeanLuma.ofFrames(clip));
        double alone = MeanLuma.meanChange(MeanLuma.ofFrames(output(plain)));
        double kept = MeanLuma.meanChange(MeanLuma.ofFrames(output(followed)));
        System.out.printf("long steady clip: mean luma changes by %.4f %% as shot, %.4f %% with one correction, %.4f %% followed%n", asShot, alone, kept);
        JsonNode flicker = followed.get("follow").get("flicker");
        assertEquals(asShot, flicker.get("asShot").asDouble(), 1e-4);
        assertEquals(alone, flicker.get("untrimmed").asDouble(), 0.05 * alone + 0.001);
        assertEquals(kept, flicker.get("trimmed").asDouble(), 0.05 * alone + 0.001);
        assertTrue(kept <= asShot + 0.001 && alone > asShot, kept + " of " + asShot);
        assertTrue(followed.get("follow").get("steady").asBoolean());
        assertTrue(followed.get("follow").get("range").asDouble() < 0.02, followed.toString());
        assertTrue(followed.get("notes").toString().contains("there was nothing to follow"));
        assertFalse(plain.has("follow"));
    }

    @Test
    void cutsAndFadesAreRespected() throws IOException {
        Path clip = clip(150, f -> f < 60 ? 0 : hunting(f), f -> Math.min(1, Math.max(0, (145 - f) / 20.0)), f -> f < 60 ? 0 : 1).write(folder.resolve("cut.mkv"));
        JsonNode result = render("followed", clip, "--follow").get(0);
        JsonNode follow = result.get("follow");
        assertEquals(1, follow.get("cuts").asInt(), follow.toString());
        assertEquals(59, follow.get("shots").get(0).get("lastFrame").asInt());
        assertEquals(60, follow.get("shots").get(1).get("firstFrame").asInt());
        assertFalse(follow.get("shots").get(0).get("followed").asBoolean());
        assertTrue(follow.get("shots").get(1).get("followed").asBoolean());
        assertTrue(follow.get("shots").get(1).get("lastFrame").asInt() < 130, follow.toString());
        assertEquals(25, follow.get("framesNotJudged").asInt(), 4);
        double[] out = MeanLuma.ofFrames(output(result));
        assertTrue(range(Arrays.copyOfRange(out, 60, 122)) < 2, "second shot");
        for (int i = 128; i < 145; i++) {
            assertTrue(out[i] < out[i - 1] + 0.01, "the fade goes on falling at " + i + ": " + out[i - 1] + " " + out[i]);
        }
    }

    @Test
    void oddClipsAreLeftAlone() throws IOException {
        Path one = clip("one.mkv", 1, f -> -1);
        Path black = clip(30, f -> 0, f -> 0, f -> 0).write(folder.resolve("black.mkv"));
        JsonNode results = render("followed", "--follow", one, black);
        JsonNode plain = render("plain", one, black);
        for (int i = 0; i < 2; i++) {
            assertSamePixels(output(plain.get(i)), output(results.get(i)));
            assertTrue(results.get(i).get("follow").get("steady").asBoolean());
        }
        assertTrue(results.get(1).get("notes").toString().contains("no picture whose light could be followed"), results.toString());
    }

    @Test
    void unevenTimesAreFollowedInTime() throws IOException {
        long[] times = new long[80];
        for (int i = 1; i < times.length; i++) {
            times[i] = times[i - 1] + (i % 3 == 0 ? 90 : 30);
        }
        IntToDoubleFunction light = f -> -0.5 + 0.6 * Math.sin(2 * Math.PI * times[f] / 2000.0);
        Path clip = clip(80, light, f -> 1, f -> 0).times(times).write(folder.resolve("uneven.mkv"));
        JsonNode result = render("followed", clip, "--follow").get(0);
        assertTrue(range(MeanLuma.ofFrames(output(result))) < 0.1 * range(MeanLuma.ofFrames(clip)), result.toString());
        JsonNode keys = result.get("follow").get("shots").get(0).get("keys");
        assertEquals(times[79] / 1000.0, keys.get(keys.size() - 1).get("seconds").asDouble(), 0.002);
    }

    @Test
    void matchedClipsAreFollowedToo() throws IOException {
        Path reference = clip("reference.mkv", 4, f -> -0.5);
        Path clip = clip("hunting.mkv", 90, FollowCommandTest::hunting);
        JsonNode matched = render("matched", clip, "--match", reference, "--follow").get(0);
        assertTrue(matched.has("match") && matched.has("follow"));
        assertTrue(range(MeanLuma.ofFrames(output(matched))) < 0.1 * range(MeanLuma.ofFrames(clip)), matched.toString());
        JsonNode group = render("group", clip, reference, "--group", "--follow");
        assertTrue(group.get(0).has("follow") && group.get(1).get("follow").get("steady").asBoolean(), group.toString());
    }

    /** Limits of the preset hold for every frame, and what they leave is said. */
    @Test
    void limitsOfThePresetHold() throws IOException {
        Path clip = clip("hunting.mkv", 90, FollowCommandTest::hunting);
        Path preset = folder.resolve("gentle.json");
        Files.writeString(preset, EvenstopFiles.toJson(EvenstopFiles.preset("even").withLargestLift(0.6)).replace("\"even\"", "\"gentle\""));
        JsonNode result = render("followed", clip, "--follow", "--preset", preset).get(0);
        double room = 0.6 - result.get("stops").asDouble();
        assertEquals(room, result.get("follow").get("mostLift").asDouble(), 0.001, result.toString());
        assertTrue(result.get("follow").get("heldBack").asDouble() > 0.1);
        assertTrue(result.get("notes").toString().contains("of the drift stay"), result.toString());
    }

    @Test
    void whatMakesNoSenseIsRefusedInOneLine() throws IOException {
        Path clip = clip("clip.mkv", 4, f -> 0);
        Path out = folder.resolve("never");
        List<List<Object>> wrong = List.of(List.of("--preset", "tuck"), List.of("--strength", "0"));
        List<String> said = List.of("preset tuck leaves exposure alone", "--strength 0 would change nothing");
        for (int i = 0; i < wrong.size(); i++) {
            List<Object> arguments = new ArrayList<>(List.of("render", clip, "--out", out, "--follow"));
            arguments.addAll(wrong.get(i));
            Answer answer = evenstop(arguments.toArray());
            assertEquals(2, answer.code(), answer.err());
            assertEquals(1, answer.err().strip().lines().count(), answer.err());
            assertTrue(answer.err().contains(said.get(i)), answer.err());
        }
        assertFalse(Files.exists(out));
    }
}
