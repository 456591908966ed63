// SPDX-License-Identifier: Apache-2.0
package org.evenstop.batch;

import static org.evenstop.batch.Answer.evenstop;
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
import org.evenstop.batch.media.TestClip;
import org.evenstop.engine.json.EvenstopFiles;
import org.evenstop.engine.level.CodeDepth;
import org.evenstop.engine.profile.Profile;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.api.io.TempDir;

/** {@code render --match} and {@code --group} on small clips of one grey scene at several exposures. */
class MatchCommandTest {
    private static final Profile SOFT = EvenstopFiles.profile("cinema-soft");

    @TempDir
    Path folder;

    /** Blocks of several greys, with a little grain. */
    private Path shot(String name, double stops) {
        return TestClip.make().codec("ffv1").format("yuv422p10").size(160, 96).frames(4).paint((f, plane, x, y) -> {
            if (plane > 0) {
                return 512;
            }
            int block = (x / 20 * 7 + y / 16 * 3) % 11;
            double light = 0.18 * Math.pow(2, -3 + 0.45 * block + stops) * (1 + ((x * 31 + y * 17 + f * 13) % 9 - 4) * 0.01);
            return Math.min(1019, (int) Math.round(CodeDepth.BITS10.codeOfLevel(SOFT.levelOfLight(light))));
        }).write(folder.resolve(name));
    }

    private JsonNode render(String out, Object... more) throws IOException {
        List<Object> arguments = new ArrayList<>(List.of("render", "--json", "--profile", "cinema-soft", "--codec", "ffv1", "--out", folder.resolve(out)));
        arguments.addAll(Arrays.asList(more));
        Answer answer = evenstop(arguments.toArray());
        assertEquals(0, answer.code(), answer.err());
        return new ObjectMapper().readTree(answer.out());
    }

    @Test
    void clipsFollowTheReferenceAndSayHowSurely() throws IOException {
        Path reference = shot("reference.mkv", -0.5);
        JsonNode alone = render("alone", reference);
        JsonNode matched = render("matched", shot("dark.mkv", -1.5), shot("bright.mkv", 1), reference, "--match", reference);
        for (int i = 0; i < 3; i++) {
            JsonNode node = matched.get(i);
            assertEquals(alone.get(0).get("after").get("p50").asDouble(), node.get("after").get("p50").asDouble(), 1, node.toString());
            assertEquals(i == 2, node.get("match").get("isReference").asBoolean());
            String note = node.get("notes").toString();
            assertTrue(note.contains(i == 2 ? "The clip that the others are matched to." : "Matched to " + reference + ": sure"), note);
        }
        assertEquals("sure", matched.get(0).get("match").get("words").asText());
        assertTrue(matched.get(0).get("match").get("sure").asDouble() > 0.75);
        assertEquals(1.5 - 0.5, matched.get(0).get("stops").asDouble() - alone.get(0).get("stops").asDouble(), 0.15);
        String written = Files.readString(folder.resolve("matched/dark.correction.json"));
        assertTrue(EvenstopFiles.correctionFromJson(written, "dark.correction.json").origin().notes().get(0).startsWith("Matched to"), written);
    }

    @Test
    void aGroupFollowsItsBestClipInAnyOrder() throws IOException {
        Path a = shot("a.mkv", -2);
        Path b = shot("b.mkv", 0);
        Path c = shot("c.mkv", 2);
        JsonNode one = render("one", a, b, c, "--group");
        JsonNode other = render("other", c, a, b, "--group");
        String leader = one.get(0).get("match").get("reference").asText();
        for (int i = 0; i < 3; i++) {
            JsonNode again = other.get((i + 1) % 3);
            assertEquals(one.get(i).get("clip"), again.get("clip"));
            assertEquals(one.get(i).get("match"), again.get("match"));
            assertEquals(Files.readString(Path.of(one.get(i).get("correction").asText())),
                Files.readString(Path.of(again.get("correction").asText())));
            assertEquals(leader.equals(one.get(i).get("clip").asText()), one.get(i).get("match").get("isReference").asBoolean());
        }
        Answer said = evenstop("render", a, b, c, "--group", "--profile", "cinema-soft", "--out", folder.resolve("said"));
        assertEquals(0, said.code(), said.err());
        assertTrue(said.out().startsWith("The group follows " + leader + ", its best exposed clip: it asks for "), said.out());
    }

    @Test
    void aGroupOfAFolderGoesOnAfterABadClip() throws IOException {
        Path shoot = Files.createDirectories(folder.resolve("shoot"));
        Files.move(shot("a.mkv", -1), shoot.resolve("a.mkv"));
        Files.move(shot("b.mkv", 1), shoot.resolve("b.mkv"));
        Files.writeString(shoot.resolve("c.mkv"), "not a clip");
        Answer answer = evenstop("render", shoot, "--group", "--out", folder.resolve("out"));
        assertEquals(1, answer.code(), answer.err());
        assertTrue(answer.out().contains("The group follows ") && answer.out().contains("Matched to "), answer.out());
        assertTrue(answer.err().contains("1 of 3 clips failed"), answer.err());
        Files.writeString(shoot.resolve("b.mkv"), "not a clip any more");
        Answer lonely = evenstop("render", shoot, "--group", "--out", folder.resolve("lonely"));
        assertEquals(1, lonely.code());
        assertTrue(lonely.out().contains("there is nothing to follow") && Files.exists(folder.resolve("lonely/a.evenstop.mov")), lonely.out());
    }

    @Test
    void wrongUseIsOneLine() throws IOException {
        Path clip = shot("clip.mkv", 0);
        Path text = Files.writeString(folder.resolve("text.mkv"), "no video at all");
        Path out = folder.resolve("never");
        List<List<Object>> wrong = List.of(
            List.of("render", clip, "--out", out, "--match", folder.resolve("none.mov")),
            List.of("render", clip, "--out", out, "--match", text),
            List.of("render", clip, "--out", out, "--match", folder),
            List.of("render", clip, "--out", out, "--match"),
            List.of("render", clip, "--out", out, "--group"),
            List.of("render", clip, clip.resolveSibling("x.mkv"), "--out", out, "--group", "--match", clip));
        List<String> said = List.of("none.mov: there is no such file", "--match: " + text, "is a folder; give one clip", "--match",
            "give two or more clips of one scene", "give one of them");
        for (int i = 0; i < wrong.size(); i++) {
            Answer answer = evenstop(wrong.get(i).toArray());
            assertEquals(2, answer.code(), wrong.get(i) + ": " + answer.err());
            assertEquals(1, answer.err().strip().lines().count(), answer.err());
            assertTrue(answer.err().contains(said.get(i)), answer.err());
            assertEquals("", answer.out());
        }
        assertFalse(Files.exists(out));
    }
}
