// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.json;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertThrows;
import static org.junit.jupiter.api.Assertions.assertTrue;
import static org.junit.jupiter.api.Assertions.fail;

import java.io.RandomAccessFile;
import java.nio.charset.StandardCharsets;
import java.nio.file.Files;
import java.nio.file.Path;
import java.util.Arrays;
import java.util.List;
import java.util.Map;
import java.util.Random;
import org.evenstop.engine.InputException;
import org.evenstop.engine.solve.Preset;
import org.evenstop.engine.solve.Subject;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.api.io.TempDir;

/** Whatever is wrong with a file is said in one line that names file, field, value and what is allowed. */
class StrictReadingTest {
    private static final String EVEN = Examples.shipped("even.json");
    private static final String SOFT = Examples.shipped("profiles/cinema-soft.json");
    private static final String MEASURED = Examples.shipped("examples/measurement.json");
    private static final String CORRECTED = Examples.shipped("examples/correction.json");

    private static void refused(Runnable read, String... words) {
        String message = assertThrows(InputException.class, read::run).getMessage();
        assertEquals(1, message.lines().count(), message);
        assertTrue(message.codePoints().noneMatch(Character::isISOControl), message);
        for (String word : words) {
            assertTrue(message.contains(word), "'" + word + "' is not in: " + message);
        }
    }

    private static void presetRefused(String from, String to, String... words) {
        assertTrue(EVEN.contains(from), from);
        String[] all = Arrays.copyOf(words, words.length + 1);
        all[words.length] = "dusk.json: ";
        refused(() -> EvenstopFiles.presetFromJson(EVEN.replace(from, to), "dusk.json"), all);
    }

    @Test
    void wrongTypes() {
        presetRefused("\"subjectLevel\": 42", "\"subjectLevel\": \"42\"", "subjectLevel", "the text \"42\"", "give a number");
        presetRefused("\"subjectLevel\": 42", "\"subjectLevel\": null", "subjectLevel", "null", "give a number");
        presetRefused("\"subjectLevel\": 42", "\"subjectLevel\": [42]", "subjectLevel", "an array");
        presetRefused("\"subjectLevel\": 42", "\"subjectLevel\": true", "subjectLevel", "true");
        presetRefused("\"name\": \"even\"", "\"name\": 7", "name", "the number 7", "give a text");
        presetRefused("\"schema\": 1", "\"schema\": 1.5", "schema", "1.5", "whole number");
        presetRefused("\"schema\": 1", "\"schema\": 99999999999", "schema", "99999999999", "whole number");
        refused(() -> EvenstopFiles.profileFromJson(SOFT.replaceFirst("\"tone\": \\{", "\"tone\": [{").replaceFirst("] *\n  },", "] }],"), "p.json"),
            "p.json: tone", "must be a JSON object", "an array");
        refused(() -> EvenstopFiles.profileFromJson(SOFT.replace("[ 0.0, 15.0,", "[ 0.0, \"15\","), "p.json"), "chroma.lumas[1]", "\"15\"");
        refused(() -> EvenstopFiles.presetFromJson("[1, 2]", "p.json"), "p.json: the file must be a JSON object, not an array");
        refused(() -> EvenstopFiles.presetFromJson("", "p.json"), "p.json: the file must be a JSON object, not nothing");
        refused(() -> EvenstopFiles.presetFromJson("null", "p.json"), "not null");
    }

    @Test
    void numbersThatAreNone() {
        for (String literal : new String[] {"NaN", "Infinity", "-Infinity", "+1", ".5", "0x10", "01", "1e"}) {
            presetRefused("\"subjectLevel\": 42", "\"subjectLevel\": " + literal, "not valid JSON", "line");
        }
        presetRefused("\"subjectLevel\": 42", "\"subjectLevel\": 1e999", "subjectLevel", "not a finite number");
        presetRefused("\"subjectLevel\": 42", "\"subjectLevel\": 1" + "0".repeat(100), "not valid JSON");
    }

    @Test
    void numbersOutOfRange() {
        presetRefused("\"highlightLevel\": 98", "\"highlightLevel\": 130", "highlightLevel 130 is above 109", "50 to 109");
        presetRefused("\"highlightLevel\": 98", "\"highlightLevel\": 20", "highlightLevel 20 is below 50", "50 to 109");
        presetRefused("\"brightTo\": 92", "\"brightTo\": 74", "brightTo 74 is not above brightLevel 74", "give a larger one");
        presetRefused("\"subjectLevel\": 42", "\"subjectLevel\": \"42\"", "subjectLevel", "from 5 to 80");
        refused(() -> EvenstopFiles.profileFromJson(SOFT.replace("[ -8.0,", "[ -20.5,"), "p.json"), "p.json: tone.stops[0] -20.5 is below -20", "-20 to 12");
        refused(() -> EvenstopFiles.profileFromJson(SOFT.replace("109.0183", "109.5"), "p.json"), "tone.levels[54] 109.5 is above 109.11");
        refused(() -> EvenstopFiles.profileFromJson(SOFT.replace("[ -8.0, -7.75,", "[ -8.0, -8.0,"), "p.json"), "p.json: ", "tone knot 1", "-8");
        refused(() -> EvenstopFiles.profileFromJson(SOFT.replace("[ -8.0, -7.75,", "[ -8.0,"), "p.json"), "p.json: ", "each tone knot needs");
        refused(() -> EvenstopFiles.measurementFromJson(MEASURED.replaceFirst("\"frames\": 1", "\"frames\": 0"), "m.json"), "m.json: frames", "0", "1 to");
        refused(() -> EvenstopFiles.correctionFromJson(CORRECTED.replaceFirst("\"from\": -7.0", "\"from\": 200"), "c.json"), "c.json: curves.chromaIn.to 110", "above from", "200");
    }

    @Test
    void fieldsMissingUnknownAndTwice() {
        presetRefused("\"shadowLevel\"", "\"shadowLevl\"", "shadowLevel is missing", "'shadowLevl'");
        presetRefused("\"exposureTrim\"", "\"exposureTrm\"", "exposureTrm is not a known field", "did you mean 'exposureTrim'?");
        presetRefused("\"exposureTrim\": 0", "\"exposureTrim\": 0, \"quux\": 3", "quux is not a known field", "known are");
        presetRefused("\"exposureTrim\": 0", "\"exposureTrim\": 0, \"skinTo\": 3", "not valid JSON", "skinTo");
        refused(() -> EvenstopFiles.presetFromJson("{\"schema\": 1}", "p.json"), "p.json: kind is missing", "a text");
        refused(() -> EvenstopFiles.measurementFromJson(MEASURED.replace("\"lowerQuartile\"", "\"lowerQuartil\""), "m.json"),
            "m.json: skin.lowerQuartile is missing", "or null");
        refused(() -> EvenstopFiles.measurementFromJson(MEASURED.replaceFirst("\"share\": [0-9.]+, *\"chroma\"|\"share\": [0-9.]+,\n *\"chroma\"", "\"chroma\""), "m.json"),
            "m.json: chroma[0].share is missing");
        refused(() -> EvenstopFiles.measurementFromJson(MEASURED.replaceFirst("\"quantiles\": \\[ [0-9.]+,", "\"quantiles\": [ 99,"), "m.json"),
            "m.json: detail[0].quantiles", "fall from 99 to", "give them rising");
        refused(() -> EvenstopFiles.correctionFromJson(CORRECTED.replaceFirst("\"to\": ", "\"too\": "), "c.json"), "curves.chromaIn.to is missing");
        refused(() -> EvenstopFiles.measurementFromJson(MEASURED.replace("\"noiseTiles\": 72", "\"noiseTiles\": -1"), "m.json"), "m.json: noiseTiles", "-1", "0 to");
        refused(() -> EvenstopFiles.measurementFromJson(MEASURED.replace("\"noiseTiles\": 72", "\"noiseTiles\": 7.5"), "m.json"), "m.json: noiseTiles", "whole number");
        for (String none : List.of("", "\"noiseTiles\": null,", "\"noiseTiles\": 0,")) {
            assertTrue(EvenstopFiles.measurementFromJson(MEASURED.replace("\"noiseTiles\": 72,", none), "m.json").tellsNoise(), none);
        }
        assertFalse(EvenstopFiles.measurementFromJson(MEASURED.replace("\"noiseTiles\": 72", "\"noiseTiles\": 63"), "m.json").tellsNoise());
        // Left out, these have a default.
        Preset preset = EvenstopFiles.presetFromJson(EVEN.replace("\"chromaBalance\": 1,", "").replace("\"exposureTrim\": 0", "\"label\": null")
            .replaceFirst("\"label\": \"[^\"]*\",", "").replaceFirst("\"note\": \"[^\"]*\",", ""), "p.json");
        assertEquals(1, preset.chromaBalance(), 0);
        assertEquals(0, preset.exposureTrim(), 0);
        assertEquals("even", preset.label());
    }

    @Test
    void wordsThatAreNotKnown() {
        presetRefused("\"subject\": \"auto\"", "\"subject\": \"cat\"", "subject 'cat'", "auto, face, landscape, lowLight");
        presetRefused("\"name\": \"even\"", "\"name\": \"../even\"", "name '../even'", "letters");
        presetRefused("\"name\": \"even\"", "\"name\": \"" + "e".repeat(41) + "\"", "name has 41 characters; at most 40");
        presetRefused("\"kind\": \"preset\"", "\"kind\": \"profile\"", "kind is 'profile'; a preset file is wanted here");
        presetRefused("\"schema\": 1", "\"schema\": 2", "schema 2 is newer than this program knows (1)", "update");
        refused(() -> EvenstopFiles.profileFromJson(EVEN, "even.json"), "even.json: kind is 'preset'; a profile file is wanted here");
        refused(() -> EvenstopFiles.correctionFromJson(CORRECTED.replace("\"BT.709\"", "\"Rec.709\""), "c.json"), "luma 'Rec.709'", "BT.601, BT.709 or BT.2020");
        refused(() -> EvenstopFiles.correctionFromJson(CORRECTED.replace("\"subject\": \"auto\"", "\"subject\": \"cat\""), "c.json"), "c.json: subject 'cat'");
        refused(() -> Subject.ofWord("Face"), "subject 'Face'", "face");
        refused(() -> EvenstopFiles.preset("evn"), "preset 'evn' is not known; did you mean 'even'?", "even, face, landscape");
        refused(() -> EvenstopFiles.profile("kodachrom"), "profile 'kodachrom'", "cinema-soft, rec709-knee, srgb-screen");
    }

    /** Text from a file that is quoted in a message does not break it into lines, and sends nothing to a terminal. */
    @Test
    void messagesStayOneLineWhateverTheFileSays() {
        presetRefused("\"subject\": \"auto\"", "\"subject\": \"ca\\nt\\u001b[31m\"", "subject 'ca t [31m'");
        presetRefused("\"exposureTrim\": 0", "\"exposureTrim\": 0, \"a\\r\\nb\\u2028c\": 3", "a b c is not a known field");
        presetRefused("\"subjectLevel\": 42", "\"subjectLevel\": \"4\\n2\"", "\"4 2\"");
        refused(() -> EvenstopFiles.presetFromJson("{", "a\nb.json"), "a b.json: is not valid JSON");
    }

    @Test
    void brokenJson() {
        refused(() -> EvenstopFiles.presetFromJson(EVEN + " 5", "p.json"), "p.json: is not valid JSON", "goes on after its end");
        refused(() -> EvenstopFiles.presetFromJson(EVEN + EVEN, "p.json"), "p.json: is not valid JSON", "keep one JSON object only");
        assertEquals("even", EvenstopFiles.presetFromJson("\ufeff" + EVEN, "p.json").name());
        refused(() -> EvenstopFiles.presetFromJson(EVEN.substring(0, 100), "p.json"), "p.json: is not valid JSON", "line");
        refused(() -> EvenstopFiles.presetFromJson("// a comment\n" + EVEN, "p.json"), "not valid JSON at line 1", "mend it there");
        refused(() -> EvenstopFiles.presetFromJson(EVEN.replace("\"name\"", "'name'"), "p.json"), "not valid JSON at line 4");
        refused(() -> EvenstopFiles.presetFromJson("{\"kind\": " + "[".repeat(17) + "]".repeat(17) + "}", "p.json"), "p.json: is not valid JSON", "16");
        refused(() -> EvenstopFiles.presetFromJson("[".repeat(1_000_000), "p.json"), "p.json: is not valid JSON");
        refused(() -> EvenstopFiles.presetFromJson(" ".repeat((4 << 20) + 1), "p.json"), "p.json: ", "4 MiB");
    }

    @Test
    void samplesThatDoNotHoldWhatTheySay() {
        refused(() -> EvenstopFiles.measurementFromJson(MEASURED.replace("\"pixels\": 256", "\"pixels\": 255"), "m.json"),
            "m.json: sample.data holds 1536 bytes; 255 pixels take 1530");
        refused(() -> EvenstopFiles.measurementFromJson(MEASURED.replaceFirst("\"data\": \"", "\"data\": \"*"), "m.json"), "sample.data is not Base64");
        refused(() -> EvenstopFiles.measurementFromJson(MEASURED.replace("\"pixels\": 256", "\"pixels\": 1000000"), "m.json"), "sample.pixels", "262144");
        refused(() -> EvenstopFiles.correctionFromJson(CORRECTED.replaceFirst("(\"tone\": \\{[^\\[]*\\[ )[-0-9.E]+", "$190.0"), "c.json"),
            "c.json: tone curve", "fall");
    }

    @Test
    void files(@TempDir Path folder) throws Exception {
        Path good = folder.resolve("good.json");
        Files.writeString(good, EVEN);
        assertEquals(EvenstopFiles.preset("even"), EvenstopFiles.preset(good.toString()));
        refused(() -> EvenstopFiles.preset(folder + "/none.json"), "none.json: there is no such file");
        refused(() -> EvenstopFiles.preset(folder + "/"), "is a folder");
        refused(() -> EvenstopFiles.preset("a\0b.json"), "is not a file name");
        Path latin = folder.resolve("latin.json");
        Files.write(latin, EVEN.replace("Even", "Gleichm\u00e4ssig").getBytes(StandardCharsets.ISO_8859_1));
        refused(() -> EvenstopFiles.preset(latin.toString()), "latin.json: is not UTF-8");
        Path large = folder.resolve("large.json");
        try (RandomAccessFile sparse = new RandomAccessFile(large.toFile(), "rw")) {
            sparse.setLength(EvenstopFiles.LARGEST_FILE + 1);
        }
        refused(() -> EvenstopFiles.preset(large.toString()), "large.json: 4194305 bytes", "4 MiB");
        // Sparse and far larger than memory: it can only have been refused unread.
        try (RandomAccessFile sparse = new RandomAccessFile(large.toFile(), "rw")) {
            sparse.setLength(1L << 36);
        }
        refused(() -> EvenstopFiles.preset(large.toString()), "large.json: 68719476736 bytes");
        refused(() -> EvenstopFiles.profile(good.toString()), "good.json: kind is 'preset'");
    }

    /** Bytes of valid files changed at random, with a fixed seed: nothing but InputException ever comes out, always of one line. */
    @Test
    void damagedFilesNeverEscape() {
        Random random = new Random(20261124);
        int accepted = 0;
        int refused = 0;
        Map<String, String> files = Map.of("preset", EVEN, "profile", SOFT, "measurement", MEASURED, "correction", CORRECTED);
        List<String> pieces = List.of("null", "-1", "1e308", "-1e999", "{}", "[]", "\"\"", "true", "0.0000001", "\\u0000", ",", "}", "\"kind\":", "1e-400");
        for (String kind : List.of("preset", "profile", "measurement", "correction")) {
            byte[] original = files.get(kind).getBytes(StandardCharsets.UTF_8);
            for (int trial = 0; trial < 3000; trial++) {
                byte[] bytes = original.clone();
                for (int change = random.nextInt(3); change >= 0; change--) {
                    int at = random.nextInt(bytes.length);
                    switch (random.nextInt(5)) {
                        case 0 -> bytes[at] = (byte) random.nextInt(256);
                        case 1 -> bytes[at] ^= (byte) (1 << random.nextInt(8));
                        case 2 -> bytes = spliced(bytes, at, Math.min(bytes.length, at + 1 + random.nextInt(30)), new byte[0]);
                        case 3 -> bytes = spliced(bytes, at, at, Arrays.copyOfRange(bytes, Math.max(0, at - random.nextInt(60)), at));
                        default -> {
                            // A whole value replaced: what stands between a colon and the next comma or line.
                            int colon = at;
                            while (colon > 0 && bytes[colon] != ':') {
                                colon--;
                            }
                            int end = colon;
                            while (end < bytes.length && bytes[end] != ',' && bytes[end] != '\n') {
                                end++;
                            }
                            bytes = spliced(bytes, colon + 1, Math.max(colon + 1, end),
                                pieces.get(random.nextInt(pieces.size())).getBytes(StandardCharsets.UTF_8));
                        }
                    }
                }
                String text = new String(bytes, StandardCharsets.UTF_8);
                try {
                    switch (kind) {
                        case "preset" -> EvenstopFiles.presetFromJson(text, "f.json");
                        case "profile" -> EvenstopFiles.profileFromJson(text, "f.json");
                        case "measurement" -> EvenstopFiles.measurementFromJson(text, "f.json");
                        default -> EvenstopFiles.correctionFromJson(text, "f.json");
                    }
                    accepted++;
                } catch (InputException e) {
                    refused++;
                    assertTrue(e.getMessage().startsWith("f.json: ") && e.getMessage().lines().count() == 1, e.getMessage());
                } catch (RuntimeException | java.lang.Error e) {
                    fail("trial " + trial + " of " + kind + ": " + e + " from\n" + text, e);
                }
            }
        }
        assertTrue(accepted > 300 && refused > 3000, accepted + " were accepted, " + refused + " refused");
    }

    private static byte[] spliced(byte[] bytes, int from, int to, byte[] with) {
        byte[] out = new byte[bytes.length - (to - from) + with.length];
        System.arraycopy(bytes, 0, out, 0, from);
        System.arraycopy(with, 0, out, from, with.length);
        System.arraycopy(bytes, to, out, from + with.length, bytes.length - to);
        return out.length == 0 ? new byte[1] : out;
    }
}
