// SPDX-License-Identifier: Apache-2.0
package org.evenstop.batch.demo;

import static org.evenstop.batch.Answer.evenstop;
import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertNotNull;
import static org.junit.jupiter.api.Assertions.assertTrue;

import com.fasterxml.jackson.databind.JsonNode;
import com.fasterxml.jackson.databind.ObjectMapper;
import java.awt.image.BufferedImage;
import java.io.ByteArrayInputStream;
import java.io.IOException;
import java.nio.file.Files;
import java.nio.file.Path;
import javax.imageio.ImageIO;
import org.evenstop.batch.Answer;
import org.evenstop.engine.frame.PlanarFrame;
import org.evenstop.engine.json.EvenstopFiles;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.api.io.TempDir;

/** {@code evenstop demo} from end to end on small clips, its picture, and what it says to wrong arguments. */
class DemoCommandTest {
    @TempDir
    private Path folder;

    @Test
    void makesNormalisesAndReports() throws IOException {
        Path home = folder.resolve("shoot");
        Answer ran = evenstop("demo", "--out", home.toString(), "--size", "320x180", "--frames", "4", "--json");
        assertEquals(0, ran.code(), ran.err());
        JsonNode list = new ObjectMapper().readTree(ran.out());
        assertEquals(DemoShoot.shots().size(), list.size());
        for (JsonNode clip : list) {
            assertTrue(Files.size(Path.of(clip.get("clip").asText())) > 1000, clip.toString());
            assertTrue(Files.size(Path.of(clip.get("output").asText())) > 1000, clip.toString());
            assertTrue(Files.isRegularFile(Path.of(clip.get("correction").asText())), clip.toString());
            assertTrue(clip.get("after").get("p99_5").asDouble() <= 100.5, "highlights are legal afterwards: " + clip);
        }
        double over = list.get(1).get("stops").asDouble();
        double under = list.get(2).get("stops").asDouble();
        assertTrue(over < -0.5 && under > 1, "two stops over got " + over + ", two under got " + under);
        assertEquals("harbour", EvenstopFiles.profile(home.resolve("harbour.profile.json").toString()).name());
        BufferedImage picture = ImageIO.read(home.resolve("before-after.png").toFile());
        assertNotNull(picture);
        assertTrue(picture.getWidth() > 1900 && picture.getHeight() > 900);
        BufferedImage presets = ImageIO.read(home.resolve("presets.png").toFile());
        assertTrue(presets.getWidth() > 1900 && presets.getHeight() > 850);

        Answer again = evenstop("demo", "--out", home.toString(), "--size", "64x36", "--frames", "1");
        assertEquals(0, again.code(), again.err());
        for (Shot shot : DemoShoot.shots()) {
            assertTrue(again.out().contains(shot.name()) && again.out().contains(shot.how()), again.out());
        }
        assertTrue(again.out().contains("before-after.png") && again.out().contains("Try next:"), again.out());
    }

    @Test
    void wrongArgumentsGetOneLine() throws IOException {
        Path file = Files.writeString(folder.resolve("file"), "x");
        String[][] wrong = {{"demo", "--size", "wide"}, {"demo", "--size", "10x10"}, {"demo", "--frames", "0"}, {"demo", "--frames", "many"},
            {"demo", "--out", file.toString()}};
        for (String[] arguments : wrong) {
            Answer ran = evenstop((Object[]) arguments);
            assertEquals(2, ran.code(), String.join(" ", arguments) + ": " + ran.err());
            assertEquals(1, ran.err().lines().count(), ran.err());
        }
    }

    @Test
    void framesAreToldTheirRange() {
        String said = evenstop("demo", "--out", folder.resolve("none").toString(), "--frames", "0").err();
        assertTrue(said.contains("--frames 0") && said.contains("1..2400"), said);
        assertTrue(evenstop("demo", "--help").out().contains("1 to 2400"));
        assertTrue(Files.notExists(folder.resolve("none")));
    }

    @Test
    void aFolderOfOthersIsLeftAlone() throws IOException {
        Path home = Files.createDirectories(folder.resolve("mine"));
        Path clips = Files.createDirectories(home.resolve("clips"));
        Files.writeString(clips.resolve("01-slip-right.mov"), "mine");
        Answer ran = evenstop("demo", "--out", home.toString(), "--size", "64x36", "--frames", "1");
        assertEquals(2, ran.code(), ran.err());
        assertTrue(ran.err().contains("not empty") && ran.err().contains("nothing was written"), ran.err());
        assertEquals("mine", Files.readString(clips.resolve("01-slip-right.mov")));
        assertTrue(Files.notExists(home.resolve("normalised")));
        assertEquals(2, evenstop("demo", "--out", "").code());
    }

    @Test
    void pngHoldsThePicture() throws IOException {
        Picture picture = new Picture(40, 20, 50);
        picture.write("A1", 3, 4, 2, 200);
        PlanarFrame frame = Camera.allocate(8, 4);
        for (int y = 0; y < 4; y++) {
            for (int x = 0; x < 8; x++) {
                frame.setLumaCode(x, y, 64 + 438);
                frame.setCbCode(x / 2, y, 512);
                frame.setCrCode(x / 2, y, 512);
            }
        }
        picture.put(frame, 30, 10, 8, 4);
        BufferedImage read = ImageIO.read(new ByteArrayInputStream(picture.png()));
        assertEquals(40, read.getWidth());
        assertEquals(20, read.getHeight());
        int inked = 0;
        for (int y = 0; y < 20; y++) {
            for (int x = 0; x < 40; x++) {
                int rgb = read.getRGB(x, y);
                assertEquals(picture.value(x, y, 0), rgb >> 16 & 0xff);
                assertEquals(picture.value(x, y, 1), rgb >> 8 & 0xff);
                assertEquals(picture.value(x, y, 2), rgb & 0xff);
                inked += picture.value(x, y, 0) == 200 ? 1 : 0;
            }
        }
        assertTrue(inked > 60, "dots of the letters: " + inked);
        assertEquals(128, picture.value(33, 12, 1), "a 50 % level");
    }

    @Test
    void labelsFitTheirPictures() {
        for (Shot shot : DemoShoot.shots()) {
            assertTrue(Picture.widthOf(shot.how(), 2) <= 384, shot.how());
        }
    }
}
