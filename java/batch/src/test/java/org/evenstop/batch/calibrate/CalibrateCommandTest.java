// SPDX-License-Identifier: Apache-2.0
package org.evenstop.batch.calibrate;

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
import java.util.List;
import java.util.Random;
import org.evenstop.batch.Answer;
import org.evenstop.batch.media.TestClip;
import org.evenstop.engine.json.EvenstopFiles;
import org.evenstop.engine.level.CodeDepth;
import org.evenstop.engine.level.LumaStandard;
import org.evenstop.engine.profile.Profile;
import org.evenstop.engine.profile.ProfileShapes;
import org.junit.jupiter.api.BeforeEach;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.api.io.TempDir;

/** A bracket of clips on disk, calibrated from the command line, and the profile used by the other commands. */
class CalibrateCommandTest {
    private static final int WIDTH = 320;
    private static final int HEIGHT = 192;
    private static final int PATCH = 16;
    private static final Profile CAMERA = ProfileShapes.cinemaSoft();

    @TempDir
    Path folder;
    private final List<Path> clips = new ArrayList<>();

    /** Two frames an exposure, 10-bit 4:2:2, dithered so that flat surfaces are as if noisy. */
    @BeforeEach
    void shootBracket() {
        int columns = WIDTH / PATCH;
        double[][] light = new double[columns * (HEIGHT / PATCH)][3];
        Random random = new Random(21);
        for (double[] patch : light) {
            double stops = -6 + 9 * random.nextDouble();
            double strength = random.nextInt(3) == 0 ? 0 : 0.7 * random.nextDouble();
            for (int c = 0; c < 3; c++) {
                patch[c] = 0.18 * Math.pow(2, stops + strength * random.nextGaussian());
            }
        }
        for (int j = 0; j < 5; j++) {
            double gain = Math.pow(2, j - 2);
            double[][] recorded = new double[light.length][3];
            for (int i = 0; i < light.length; i++) {
                double r = CAMERA.levelOfLight(gain * light[i][0]);
                double g = CAMERA.levelOfLight(gain * light[i][1]);
                double b = CAMERA.levelOfLight(gain * light[i][2]);
                double y = LumaStandard.BT709.luma(r, g, b);
                double s = CAMERA.chromaFactor(y);
                recorded[i] = new double[] {CodeDepth.BITS10.codeOfLevel(y), 512 + 896 * s * (b - y) / LumaStandard.BT709.cbDivisor(),
                    512 + 896 * s * (r - y) / LumaStandard.BT709.crDivisor()};
            }
            Random dither = new Random(j);
            clips.add(TestClip.make().container("matroska").codec("ffv1").format("yuv422p10").size(WIDTH, HEIGHT).frames(2).matrix(1)
                .paint((f, plane, x, y) -> {
                    int column = (plane == 0 ? x : 2 * x) / PATCH;
                    double code = recorded[y / PATCH * columns + column][plane];
                    return (int) Math.max(4, Math.min(Math.floor(code + dither.nextDouble()), 1019));
                }).write(folder.resolve("exposure" + j + ".mkv")));
        }
    }

    private Object[] arguments(Object... more) {
        List<Object> all = new ArrayList<>(List.of("calibrate"));
        all.addAll(clips);
        all.addAll(List.of(more));
        return all.toArray();
    }

    @Test
    void profileIsWrittenAndAcceptedByMeasure() throws IOException {
        Path out = folder.resolve("my camera.json");
        Answer answer = evenstop(arguments("--stops", "-2,-1,0,1,2", "--out", out));
        assertEquals(0, answer.code(), answer.err());
        assertTrue(answer.out().contains("Covered: levels") && answer.out().contains("Residuals: mean"), answer.out());
        assertFalse(answer.out().contains("Warning:"), answer.out());
        Profile found = EvenstopFiles.profile(out.toString());
        assertEquals("my-camera", found.name());
        double shift = found.lightOfLevel(0.40) / CAMERA.lightOfLevel(0.40);
        for (double level = 0.03; level < 1.05; level += 0.01) {
            assertEquals(level, found.levelOfLight(shift * CAMERA.lightOfLevel(level)), 0.01);
        }
        Answer measured = evenstop("measure", "--profile", out, clips.get(1));
        assertEquals(0, measured.code(), measured.err());
        assertTrue(measured.out().contains("Through profile my-camera"), measured.out());

        Answer again = evenstop(arguments("--stops", "-2,-1,0,1,2", "--out", out));
        assertEquals(2, again.code());
        assertTrue(again.err().contains("is already there"), again.err());
    }

    @Test
    void jsonReportHoldsStepsThatWereNotStated() throws IOException {
        Path out = folder.resolve("found.json");
        Answer answer = evenstop(arguments("--out", out, "--name", "boat-camera", "--json"));
        assertEquals(0, answer.code(), answer.err());
        JsonNode report = new ObjectMapper().readTree(answer.out());
        assertEquals("boat-camera", report.get("profile").textValue());
        assertEquals("places", report.get("method").textValue());
        assertEquals(5, report.get("exposures").size());
        for (int j = 0; j < 5; j++) {
            assertTrue(report.get("exposures").get(j).get("stated").isNull());
            assertEquals(j - 2, report.get("exposures").get(j).get("found").doubleValue(), 0.05);
        }
        assertTrue(report.get("meanResidual").doubleValue() < 0.2, answer.out());
    }

    @Test
    void wrongUseIsRefusedInOneLine() {
        Path out = folder.resolve("found.json");
        assertRefused("--stops names 2 exposures, but 5 files", "--stops", "0,1", "--out", out);
        assertRefused("--stops holds 'x'", "--stops", "-2,-1,x,1,2", "--out", out);
        assertRefused("ends in .json", "--stops", "-2,-1,0,1,2", "--out", folder.resolve("found.txt"));
        assertRefused("ends in .json", "--out", "/");
        assertRefused("files cannot be made in this folder", "--out", folder.resolve("nowhere/found.json"));
        assertRefused("--name 'a b'", "--out", out, "--name", "a b");
        assertRefused("is a folder", folder, "--out", out);
        assertFalse(Files.exists(out));
    }

    private void assertRefused(String words, Object... more) {
        Answer answer = evenstop(arguments(more));
        assertEquals(2, answer.code(), answer.err());
        assertTrue(answer.err().contains(words), answer.err());
        assertEquals("", answer.out());
    }
}
