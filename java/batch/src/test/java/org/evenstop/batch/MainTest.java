// SPDX-License-Identifier: Apache-2.0
package org.evenstop.batch;

import static org.evenstop.batch.Answer.evenstop;
import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertTrue;
import static org.junit.jupiter.api.Assertions.fail;

import com.fasterxml.jackson.databind.JsonNode;
import com.fasterxml.jackson.databind.ObjectMapper;
import java.io.IOException;
import java.nio.file.Files;
import java.nio.file.Path;
import java.util.ArrayList;
import java.util.List;
import java.util.stream.Stream;
import org.evenstop.batch.media.ClipReader;
import org.evenstop.batch.media.TestClip;
import org.evenstop.engine.json.EvenstopFiles;
import org.evenstop.engine.level.Transfer;
import org.junit.jupiter.api.BeforeEach;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.api.io.TempDir;

/** The command line as people and programs meet it: text, exit codes, files. */
class MainTest {
    private static final List<String> LEVELS = List.of("min", "p0_5", "p1", "p10", "p50", "p90", "p99", "p99_5", "max");

    @TempDir
    Path folder;
    private Path good;
    private Path out;

    @BeforeEach
    void makeClip() {
        good = TestClip.make().container("mov").codec("prores_ks").format("yuv422p10").size(160, 90).frames(8)
            .paint((f, plane, x, y) -> plane == 0 ? 80 + 2 * x + y : 512 + x / 8).write(folder.resolve("good.mov"));
        out = folder.resolve("out");
    }

    private static List<String> names(Path folder) throws IOException {
        try (Stream<Path> files = Files.list(folder)) {
            return files.map(p -> p.getFileName().toString()).sorted().toList();
        }
    }

    @Test
    void measureJsonHoldsWhatIsPromisedAndCanBeReadBack() throws IOException {
        Answer answer = evenstop("measure", "--json", good, "--profile", "cinema-soft");
        assertEquals(0, answer.code(), answer.err());
        JsonNode array = new ObjectMapper().readTree(answer.out());
        assertTrue(array.isArray() && array.size() == 1);
        JsonNode m = array.get(0);
        assertEquals(good.toString(), m.get("clip").asText());
        for (String level : LEVELS) {
            assertTrue(m.get("levels").get(level).isNumber(), level);
        }
        for (String share : List.of("clippedHigh", "clippedLow")) {
            assertTrue(m.get(share).asDouble() >= 0 && m.get(share).asDouble() <= 1, share);
        }
        JsonNode skin = m.get("skin");
        assertTrue(skin.get("share").isNumber());
        assertEquals(skin.get("share").asDouble() > 0, skin.get("median").isNumber(), "a median where there is skin, null where there is none");
        assertTrue(m.get("subject").isNumber());
        assertTrue(m.get("notes").toString().contains("cinema-soft"), m.get("notes").toString());
    }

    @Test
    void measureTableNamesTheClipAndGoesOnAfterABadOne() {
        Path missing = folder.resolve("missing.mov");
        Answer answer = evenstop("measure", missing, good);
        assertEquals(1, answer.code());
        assertTrue(answer.out().lines().anyMatch(line -> line.contains("good.mov")), answer.out());
        assertTrue(answer.err().contains("missing.mov: there is no such file"), answer.err());
        assertFalse(answer.err().contains("Exception"), answer.err());
    }

    @Test
    void oneBadClipDoesNotStopTheOthers() throws IOException {
        Path text = Files.writeString(folder.resolve("bad.mov"), "no video at all");
        Answer answer = evenstop("render", text, good, "--out", out);
        assertEquals(1, answer.code());
        assertEquals(List.of("good.correction.json", "good.evenstop.mov"), names(out));
        assertTrue(answer.err().contains("bad.mov: is not a clip"), answer.err());
        assertTrue(answer.err().contains("1 of 2 clips failed"), answer.err());
        for (String word : List.of("before", "after", "stops", "measure", "decode", "correct", "encode", "keep the camera originals",
            "Broadcasters")) {
            assertTrue(answer.out().contains(word), word + " in " + answer.out());
        }
        EvenstopFiles.correctionFromJson(Files.readString(out.resolve("good.correction.json")), "good.correction.json");
        try (ClipReader reader = ClipReader.open(out.resolve("good.evenstop.mov"))) {
            assertEquals("prores", reader.info().codec());
            assertEquals("yuv422p10le", reader.info().pixelFormat());
            assertEquals(8, reader.info().frames());
        }
    }

    @Test
    void renderJsonIsCleanOnTheStandardOutput() throws IOException {
        Answer answer = evenstop("render", "--json", good, folder.resolve("none.mov"), "--out", out, "--codec", "ffv1", "--subject", "landscape");
        assertEquals(1, answer.code());
        JsonNode array = new ObjectMapper().readTree(answer.out());
        JsonNode done = array.get(0);
        for (String level : LEVELS) {
            assertTrue(done.get("before").get(level).isNumber() && done.get("after").get(level).isNumber(), level);
        }
        for (String stage : List.of("measure", "decode", "correct", "encode", "total")) {
            assertTrue(done.get("seconds").get(stage).asDouble() >= 0);
        }
        assertTrue(done.get("stops").isNumber());
        assertTrue(array.get(1).get("error").asText().contains("no such file"));
        assertEquals(List.of("good.correction.json", "good.evenstop.mkv"), names(out));
    }

    /** Two exposures of one scene through sRGB: grey light that rises evenly per stop across the picture. */
    private Path exposure(String name, double gain) {
        return TestClip.make().container("matroska").codec("ffv1").format("yuv444p10").size(320, 180).frames(2)
            .paint((f, plane, x, y) -> plane > 0 ? 512 : (int) Math.round(64 + 876 * Math.min(1,
                Transfer.srgbOfLight(gain * 0.5 * Math.pow(2, -7 + 7 * (x + 0.3 * y) / 374.0))))).write(folder.resolve(name));
    }

    @Test
    void withoutANameTheShootItselfSaysWhichProfile() throws IOException {
        Path dark = exposure("dark.mkv", 0.5);
        Path bright = exposure("bright.mkv", 1.6);
        Answer measured = evenstop("measure", dark, bright);
        assertEquals(0, measured.code(), measured.err());
        List<String> lines = measured.out().lines().filter(line -> line.startsWith("profile: ")).toList();
        assertEquals(1, lines.size(), measured.out());
        assertTrue(lines.get(0).startsWith("profile: srgb-screen (sure: 0."), lines.get(0));
        Answer json = evenstop("measure", "--json", dark, bright, "--profile", "auto");
        assertEquals(2, new ObjectMapper().readTree(json.out()).size());
        assertTrue(json.err().contains("profile: srgb-screen"), json.err());

        Answer rendered = evenstop("render", dark, bright, "--out", out, "--codec", "ffv1");
        assertEquals(0, rendered.code(), rendered.err());
        assertTrue(rendered.out().startsWith(lines.get(0)), rendered.out());
        assertEquals("srgb-screen", EvenstopFiles.correctionFromJson(Files.readString(out.resolve("dark.correction.json")), "dark").origin().profile());
    }

    @Test
    void whereTheClipsDoNotTellTheDefaultIsUsedAndABracketAskedFor() throws IOException {
        Answer answer = evenstop("render", "--json", good, folder.resolve("none.mov"), "--out", out, "--codec", "ffv1");
        assertEquals(1, answer.code());
        assertTrue(answer.err().contains("profile: cinema-soft, but these clips do not tell"), answer.err());
        assertTrue(answer.err().contains("calibrate"), answer.err());
        JsonNode profile = new ObjectMapper().readTree(answer.out()).get(0).get("profile");
        assertEquals("cinema-soft", profile.get("name").asText());
        assertEquals("auto", profile.get("by").asText());
        assertEquals("can not tell", profile.get("words").asText());
        assertTrue(profile.get("sure").asDouble() < 0.7 && profile.get("reasons").size() > 0, profile.toString());
        assertEquals(1, answer.err().lines().filter(line -> line.contains("no such file")).count(), answer.err());
    }

    @Test
    void aNamedProfileIsUsedAndDoubtedAloudWhereTheClipsSpeakAgainstIt() throws IOException {
        Path dark = exposure("dark.mkv", 0.5);
        Path bright = exposure("bright.mkv", 1.6);
        Answer answer = evenstop("render", "--json", dark, bright, "--out", out, "--codec", "ffv1", "--profile", "cinema-soft");
        assertEquals(0, answer.code(), answer.err());
        JsonNode profile = new ObjectMapper().readTree(answer.out()).get(1).get("profile");
        assertEquals("cinema-soft", profile.get("name").asText());
        assertEquals("name", profile.get("by").asText());
        assertTrue(profile.get("objection").asText().contains("srgb-screen"), profile.toString());
        assertEquals("cinema-soft", EvenstopFiles.correctionFromJson(Files.readString(out.resolve("dark.correction.json")), "dark").origin().profile());
        assertEquals(1, answer.err().lines().filter(line -> line.contains("The profile you named is used")).count(), answer.err());
        Answer agreed = evenstop("measure", dark, bright, "--profile", "srgb-screen");
        assertFalse(agreed.out().contains("you named"), agreed.out());
    }

    @Test
    void anEmptyFolderFailsAloneAndTheOthersAreDone() throws IOException {
        Path empty = Files.createDirectories(folder.resolve("emptydir"));
        Answer answer = evenstop("render", "--json", folder.resolve("missing.mov"), good, empty, "--out", out);
        assertEquals(1, answer.code());
        assertTrue(answer.err().contains("there is no clip in this folder") && answer.err().contains("there is no such file"), answer.err());
        assertTrue(answer.err().contains("2 of 3 clips failed"), answer.err());
        assertEquals(List.of("good.correction.json", "good.evenstop.mov"), names(out));
        assertEquals(3, new ObjectMapper().readTree(answer.out()).size());
        Answer only = evenstop("render", empty, "--out", folder.resolve("never"));
        assertEquals(1, only.code());
        assertFalse(Files.exists(folder.resolve("never")));
    }

    @Test
    void namesNeverReachTheTerminalRaw() throws IOException {
        Path odd = Files.copy(good, folder.resolve("odd\n\u001b[31mname.mov"));
        for (Answer answer : List.of(evenstop("render", odd, "--out", out), evenstop("measure", odd),
            evenstop("measure", folder.resolve("no\u001bsuch.mov")), evenstop("render", odd, "--od\u001bd", "--out", out))) {
            assertFalse((answer.out() + answer.err()).contains("\u001b"), answer.toString());
            assertFalse((answer.out() + answer.err()).contains("odd\n"), answer.toString());
        }
    }

    @Test
    void aNameLikeAnOptionIsToldHowToBeWritten() {
        for (Object[] arguments : new Object[][] {{"measure", "-dash.mov"}, {"render", "-dash.mov", "--out", out}}) {
            Answer answer = evenstop(arguments);
            assertEquals(2, answer.code());
            assertTrue(answer.err().contains("./-dash.mov") && answer.err().contains(" -- "), answer.err());
        }
    }

    @Test
    void nothingIsReplacedUnlessAsked() throws IOException {
        assertEquals(0, evenstop("render", good, "--out", out).code());
        byte[] first = Files.readAllBytes(out.resolve("good.evenstop.mov"));
        Answer again = evenstop("render", good, "--out", out, "--preset", "airy");
        assertEquals(1, again.code());
        assertTrue(again.err().contains("--overwrite"), again.err());
        assertTrue(java.util.Arrays.equals(first, Files.readAllBytes(out.resolve("good.evenstop.mov"))));
        assertEquals(0, evenstop("render", good, "--out", out, "--preset", "airy", "--overwrite").code());
        assertEquals(List.of("good.correction.json", "good.evenstop.mov"), names(out));
    }

    @Test
    void anInputIsNeverAnOutput() throws IOException {
        Files.createDirectories(out);
        Path trap = Files.copy(good, out.resolve("x.evenstop.mov"));
        Path x = Files.copy(good, folder.resolve("x.mov"));
        byte[] before = Files.readAllBytes(trap);
        Answer answer = evenstop("render", x, trap, "--out", out, "--overwrite");
        assertEquals(2, answer.code());
        assertTrue(answer.err().contains("would replace the input"), answer.err());
        assertTrue(java.util.Arrays.equals(before, Files.readAllBytes(trap)));
    }

    @Test
    void twoClipsThatWouldMeetAreRefusedUpFront() throws IOException {
        Path other = Files.copy(good, Files.createDirectories(folder.resolve("second")).resolve("GOOD.mov"));
        Answer answer = evenstop("render", good, other, "--out", out);
        assertEquals(2, answer.code());
        assertTrue(answer.err().contains("would both be written to"), answer.err());
        assertTrue(answer.err().contains("nothing was rendered") && answer.err().contains(good.toString())
            && answer.err().contains(other.toString()), answer.err());
        Answer twice = evenstop("render", good, good, "--out", out);
        assertEquals(2, twice.code());
        assertTrue(twice.err().contains("named twice"), twice.err());
        assertFalse(Files.exists(out));
    }

    @Test
    void aFolderStandsForItsClips() throws IOException {
        Path shoot = Files.createDirectories(folder.resolve("shoot"));
        Files.copy(good, shoot.resolve("b.mov"));
        Files.copy(good, shoot.resolve("a.MOV"));
        Files.copy(good, shoot.resolve("a.evenstop.mov"));
        Files.copy(good, shoot.resolve(".hidden.mov"));
        Files.writeString(shoot.resolve("notes.txt"), "not a clip");
        assertEquals(List.of("a.MOV", "b.mov"), ClipList.of(List.of(shoot), (path, wrong) -> fail(wrong)).stream().map(p -> p.getFileName().toString()).toList());
        Answer none = evenstop("measure", Files.createDirectories(folder.resolve("empty")));
        assertEquals(1, none.code());
        assertTrue(none.err().contains("there is no clip in this folder"), none.err());
    }

    @Test
    void wrongUseIsOneLineAndCodeTwo() throws IOException {
        Path file = Files.writeString(folder.resolve("file"), "");
        Path nan = Files.writeString(folder.resolve("nan.json"), "{\"kind\": \"preset\", \"subjectLevel\": NaN}");
        List<List<Object>> wrong = new ArrayList<>();
        wrong.add(List.of());
        wrong.add(List.of("rendre"));
        wrong.add(List.of("render"));
        wrong.add(List.of("render", good));
        wrong.add(List.of("render", "--out", out));
        wrong.add(List.of("render", good, "--out", out, "--codec", "mp3"));
        wrong.add(List.of("render", good, "--out", out, "--preset", "nowhere"));
        wrong.add(List.of("render", good, "--out", out, "--preset", nan));
        wrong.add(List.of("render", good, "--out", out, "--profile", folder.resolve("none.json")));
        wrong.add(List.of("render", good, "--out", out, "--subject", "cat"));
        wrong.add(List.of("render", good, "--out", out, "--strength", "2"));
        wrong.add(List.of("render", good, "--out", out, "--strength", "NaN"));
        wrong.add(List.of("render", good, "--out", out, "--strength", "much"));
        wrong.add(List.of("render", good, "--out", ""));
        wrong.add(List.of("plugin", "install", "--to", ""));
        wrong.add(List.of("render", good, "--out", file));
        wrong.add(List.of("render", good, "--out", file.resolve("below")));
        wrong.add(List.of("render", good, "--out", out, "--profil", "cinema-soft"));
        wrong.add(List.of("measure"));
        wrong.add(List.of("plugin"));
        wrong.add(List.of("verify"));
        for (List<Object> arguments : wrong) {
            Answer answer = evenstop(arguments.toArray());
            assertEquals(2, answer.code(), arguments + ": " + answer.err());
            assertEquals(1, answer.err().strip().lines().count(), arguments + ": " + answer.err());
            assertTrue(answer.err().length() > 20 && !answer.err().contains("Exception"), arguments + ": " + answer.err());
            assertEquals("", answer.out(), arguments.toString());
        }
        for (String strength : List.of("nan", "NaN", "much", "2", "-1")) {
            String said = evenstop("render", good, "--out", out, "--strength", strength).err();
            assertTrue(said.contains("--strength") && said.contains("from 0 to 1"), said);
        }
        assertTrue(evenstop("render", good, "--out", out, "--profil", "x").err().contains("did you mean --profile?"));
        assertFalse(Files.exists(out));
    }

    @Test
    void helpAndVersionNeedNoClipAndSayTheCautions() {
        assertEquals(0, evenstop("--version").code());
        Answer help = evenstop("render", "--help");
        assertEquals(0, help.code());
        assertTrue(help.out().contains("keep the camera original") && help.out().contains("Broadcasters"), help.out());
        for (String command : List.of("demo", "measure", "render", "plugin", "verify", "completion")) {
            assertTrue(evenstop("--help").out().contains(command), command);
            assertEquals(0, evenstop(command, "--help").code(), command);
        }
        assertEquals(evenstop("--help"), evenstop("help"));
        assertEquals(evenstop("render", "--help"), evenstop("help", "render"));
        assertTrue(evenstop("completion").out().contains("evenstop"));
    }
}
