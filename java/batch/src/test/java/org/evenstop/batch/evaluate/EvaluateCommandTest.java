// SPDX-License-Identifier: Apache-2.0
package org.evenstop.batch.evaluate;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import com.fasterxml.jackson.databind.JsonNode;
import com.fasterxml.jackson.databind.ObjectMapper;
import java.awt.image.BufferedImage;
import java.io.IOException;
import java.io.PrintWriter;
import java.io.StringWriter;
import java.nio.file.Files;
import java.nio.file.Path;
import java.util.EnumMap;
import java.util.List;
import java.util.Map;
import java.util.stream.Stream;
import javax.imageio.ImageIO;
import org.evenstop.batch.Answer;
import org.evenstop.engine.evaluate.BlockDifference;
import org.evenstop.engine.evaluate.BracketEvaluation;
import org.evenstop.engine.evaluate.BracketEvaluation.Exposed;
import org.evenstop.engine.evaluate.Family;
import org.evenstop.engine.evaluate.Way;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.api.io.TempDir;

/** The command evaluate: what it prints, what it refuses, and what makes its check fail. */
class EvaluateCommandTest {
    @TempDir
    Path folder;

    private static Answer evaluate(Object... arguments) {
        return Answer.evenstop(Stream.concat(Stream.of("evaluate"), Stream.of(arguments)).toArray());
    }

    private Path still(String name) throws IOException {
        BufferedImage image = new BufferedImage(160, 120, BufferedImage.TYPE_INT_RGB);
        for (int y = 0; y < 120; y++) {
            for (int x = 0; x < 160; x++) {
                int r = (int) (127 + 90 * Math.sin(x / 17.0) * Math.cos(y / 23.0));
                int g = (int) (120 + 80 * Math.sin(x / 29.0 + 1));
                int b = (int) (110 + 85 * Math.cos(y / 19.0));
                image.setRGB(x, y, r << 16 | g << 8 | b);
            }
        }
        Path file = folder.resolve(name);
        ImageIO.write(image, "png", file.toFile());
        return file;
    }

    @Test
    void aFolderOfStillsGivesTheTableAndItsNumbersAsJson() throws IOException {
        still("b.png");
        still("a.png");
        Files.writeString(folder.resolve("notes.txt"), "not a picture");
        Answer text = evaluate(folder, "--size", "5000", "--bits", "8");
        assertEquals(0, text.code(), text.err());
        for (String part : List.of("2 pictures", "8 bit", "Per picture, cinema cameras", "Per picture, knee cameras", "Per exposure", "-2 stops", "+2 stops",
            "profile known", "baseline: histogram equalisation", "<= 0.5", "x nearer")) {
            assertTrue(text.out().contains(part), part + " in\n" + text.out());
        }
        Answer again = evaluate(folder, "--size", "5000", "--bits", "8", "--json");
        assertEquals(0, again.code(), again.err());
        JsonNode root = new ObjectMapper().readTree(again.out());
        assertEquals(4, root.get("brackets").size());
        assertEquals("a", root.get("brackets").get(0).get("picture").asText());
        assertTrue(root.get("brackets").get(0).get("camera").asText().startsWith("cinema-1"), "the seed is in the name");
        for (JsonNode row : root.get("rows")) {
            assertEquals(2, row.get("brackets").asInt());
            assertTrue(row.get("mean").isNumber() && row.get("mean").asDouble() <= row.get("p95").asDouble(), row.toString());
            assertEquals(row.has("promised"), row.has("met"));
        }
        JsonNode known = root.get("brackets").get(0).get("ways").get("known");
        assertEquals(4, known.size());
        assertEquals(-2, known.get(0).get("stops").asInt());
        // The same again to the last digit, and the same cameras for a picture by itself.
        assertEquals(again.out(), evaluate(folder, "--size", "5000", "--bits", "8", "--json").out());
        JsonNode alone = new ObjectMapper().readTree(evaluate(folder.resolve("b.png"), "--size", "5000", "--bits", "8", "--json").out());
        assertEquals(root.get("brackets").get(2), alone.get("brackets").get(0));
        JsonNode other = new ObjectMapper().readTree(evaluate(folder.resolve("b.png"), "--size", "5000", "--seed", "2", "--json").out());
        assertTrue(other.get("brackets").get(0).get("camera").asText().startsWith("cinema-2"));
    }

    @Test
    void aGivenProfileIsTheCamera() throws IOException {
        Answer answer = evaluate(still("a.png"), "--size", "5000", "--profile", "rec709-knee", "--json");
        assertEquals(0, answer.code(), answer.err());
        JsonNode brackets = new ObjectMapper().readTree(answer.out()).get("brackets");
        assertEquals(1, brackets.size());
        assertEquals("rec709-knee", brackets.get(0).get("camera").asText());
        assertEquals("knee", brackets.get(0).get("cameras").asText());
        assertEquals(brackets.get(0).get("ways").get("known"), brackets.get(0).get("ways").get("right"));
    }

    @Test
    void whatCannotBeEvaluatedIsSaidInOneLine() throws IOException {
        Path empty = Files.createDirectory(folder.resolve("empty"));
        Path broken = Files.writeString(folder.resolve("broken.png"), "no picture");
        for (Object[] wrong : new Object[][] {{folder.resolve("missing.png")}, {empty}, {broken}, {"--size", "3", broken}, {"--bits", "9", broken},
            {"--seed", "-1", broken}, {"--profile", "no-such", broken}}) {
            Answer answer = evaluate(wrong);
            assertEquals(2, answer.code(), answer.err());
            assertEquals("", answer.out());
            assertEquals(1, answer.err().strip().lines().count(), answer.err());
        }
    }

    private static BracketEvaluation bracket(Family family, double known, double right, double stretch) {
        Map<Way, List<Exposed>> results = new EnumMap<>(Way.class);
        double[] means = {known, right, stretch};
        Way[] ways = {Way.KNOWN, Way.RIGHT, Way.STRETCH};
        for (int i = 0; i < ways.length; i++) {
            // What lies one stop away must not count.
            results.put(ways[i], List.of(exposed(-2, means[i]), exposed(-1, 50), exposed(1, 50), exposed(2, means[i])));
        }
        return new BracketEvaluation("made", family.shipped(), family, new double[] {0, 0, 0, 0, 0.3}, new double[5], results, List.of());
    }

    private static Exposed exposed(int stops, double mean) {
        return new Exposed(stops, new BlockDifference(mean, 2 * mean, 100), 0.2, List.of());
    }

    @Test
    void rowsThatMissAreNamed() {
        EvaluationReport.Setting setting = new EvaluationReport.Setting(1, 5000, 10, 1, "even", List.of());
        assertEquals(List.of(), new EvaluationReport(List.of(bracket(Family.CINEMA, 0.5, 1.5, 7.5)), setting).missed());
        List<String> missed = new EvaluationReport(List.of(bracket(Family.CINEMA, 0.6, 1.4, 6.9), bracket(Family.KNEE, 0.1, 1.0, 6)), setting).missed();
        assertEquals(List.of("known, cinema cameras: mean 0.60 is above 0.5",
            "right, cinema cameras: 4.9 times nearer than the percentile stretch is under 5"), missed);
        StringWriter text = new StringWriter();
        new EvaluationReport(List.of(bracket(Family.CINEMA, 0.6, 1.4, 6.9)), setting).printText(new PrintWriter(text));
        assertTrue(text.toString().contains("lands 0.20 stops brighter than the middle"), text.toString());
    }

    /** The check's exit code says what the report says. */
    @Test
    void theCheckFailsWhereARowIsMissed() throws IOException {
        Path still = still("a.png");
        JsonNode missed = new ObjectMapper().readTree(evaluate(still, "--size", "5000", "--json").out()).get("missed");
        Answer answer = evaluate(still, "--size", "5000", "--check");
        assertEquals(missed.isEmpty() ? 0 : 1, answer.code());
        missed.forEach(row -> assertTrue(answer.err().contains("missed: " + row.asText()), answer.err()));
    }
}
