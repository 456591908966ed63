// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.json;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertNotNull;
import static org.junit.jupiter.api.Assertions.assertNull;
import static org.junit.jupiter.api.Assertions.assertTrue;

import com.fasterxml.jackson.core.JsonFactory;
import com.fasterxml.jackson.core.JsonProcessingException;
import com.fasterxml.jackson.core.StreamReadFeature;
import com.fasterxml.jackson.databind.JsonNode;
import java.util.Random;
import org.evenstop.engine.curve.Curve;
import org.evenstop.engine.level.LumaStandard;
import org.evenstop.engine.solve.Correction;
import org.evenstop.engine.solve.CorrectionOrigin;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.ValueSource;

/** What the plain reader takes is what the streaming parser reads, to the type of each number; what that one refuses it does not take. */
class PlainJsonTest {
    private static final JsonFactory FACTORY = JsonFactory.builder().enable(StreamReadFeature.STRICT_DUPLICATE_DETECTION).build();
    private static final String OURS = """
        {"kind": "correction", "schema": 1, "stops": -0.25, "big": 123456789, "e": 1.5e-7, "E": 2E+3, "notes": ["a \\"b\\" \\\\ c/", "two\\nlines", ""],
         "curves": {"tone": {"from": -7.0, "values": [ 0, -3.74637527, 105.409022379, -0, -0.0, 0.1 ]}}, "yes": true, "no": false, "none": null, "é": "ü€𝄞",
         "empty": {}, "nothing": []}
        """;

    private static void requireSameOrNothing(String text) {
        JsonNode plain = PlainJson.read(text);
        JsonNode parsed;
        try {
            parsed = JsonTree.parsed(FACTORY, text);
        } catch (JsonProcessingException refused) {
            assertNull(plain, text);
            return;
        }
        if (plain != null) {
            assertEquals(parsed, plain, text);
            assertEquals(parsed.toString(), plain.toString());
        }
    }

    @Test
    void whatWeWriteIsReadPlainly() {
        assertNotNull(PlainJson.read(OURS));
        requireSameOrNothing(OURS);
        Correction correction = new Correction(Curve.constant(0.8), Curve.fit(x -> 1.2 * x + 0.01, 0.001), Curve.constant(1), LumaStandard.BT709,
            CorrectionOrigin.none());
        String text = EvenstopFiles.toJson(correction);
        assertNotNull(PlainJson.read(text));
        requireSameOrNothing(text);
    }

    @ParameterizedTest
    @ValueSource(strings = {"", " ", "{", "[", "{}x", "[1,]", "{\"a\":1,}", "{\"a\":1,\"a\":2}", "[01]", "[-]", "[1.]", "[.5]", "[+1]", "[1e]", "[1 2]", "{\"a\" 1}",
        "{a:1}", "['a']", "[NaN]", "[tru]", "[truex]", "[\"a]", "[\"\\x\"]", "{} {}", "[1]]", "[\"a\nb\"]", "// no\n[]", "[1,,2]", "{,}", "[,]", "[-01]", "[1\u0000]", "[]\u0000"})
    void whatIsNoJsonIsLeftToTheParser(String text) {
        assertNull(PlainJson.read(text));
    }

    @ParameterizedTest
    @ValueSource(strings = {"[12345678901]", "[1e999]", "[0.1234567890123456789012345678]", "[\"\\u00e9\"]", "[\"\\t\"]", "1", "\"a\"",
        "[[[[[[[[[[[[[1]]]]]]]]]]]]]"})
    void theUnusualIsLeftToTheParser(String text) {
        assertNull(PlainJson.read(text));
    }

    @Test
    void longTextsAndNamesAreLeftToTheParser() {
        String most = "[\"" + "a".repeat(999_996) + "\"]";
        assertNotNull(PlainJson.read(most));
        assertNull(PlainJson.read(most + " "));
        assertNotNull(PlainJson.read("{\"" + "a".repeat(100) + "\":1}"));
        assertNull(PlainJson.read("{\"" + "a".repeat(101) + "\":1}"));
    }

    @ParameterizedTest
    @ValueSource(strings = {"0", "-0", "-0.0", "0e0", "0E-9", "1e+05", "1E09", "999999999", "-999999999", "0.1", "1e-400", "4.9E-324", "-2.2250738585072014E-308",
        "1.7976931348623157E308", "9007199254740993.0", "0.30000000000000004", "123456789012345678901.5"})
    void numbersAreReadPlainlyAndToTheLastBit(String number) {
        String text = "[" + number + "]";
        assertNotNull(PlainJson.read(text));
        requireSameOrNothing(text);
    }

    @Test
    void doublesAsTheyAreWrittenAreReadToTheLastBit() {
        Random random = new Random(7);
        for (int i = 0; i < 20000; i++) {
            double value = Double.longBitsToDouble(random.nextLong());
            if (Double.isFinite(value)) {
                JsonNode plain = PlainJson.read("[" + value + "]");
                assertNotNull(plain, Double.toString(value));
                assertEquals(Double.doubleToLongBits(value), Double.doubleToLongBits(plain.get(0).doubleValue()));
                requireSameOrNothing("[" + value + "]");
            }
        }
    }

    @Test
    void damagedTextsAreNeverReadOtherwise() {
        String alphabet = "{}[]:,\"\\ntrufalse0123456789.-+eE \n\u0000é";
        int read = 0;
        for (int seed = 0; seed < 20000; seed++) {
            Random random = new Random(seed);
            StringBuilder text = new StringBuilder(OURS);
            for (int i = random.nextInt(3); i >= 0; i--) {
                int at = random.nextInt(text.length());
                char c = alphabet.charAt(random.nextInt(alphabet.length()));
                switch (random.nextInt(3)) {
                    case 0 -> text.setCharAt(at, c);
                    case 1 -> text.insert(at, c);
                    default -> text.deleteCharAt(at);
                }
            }
            requireSameOrNothing(text.toString());
            read += PlainJson.read(text.toString()) == null ? 0 : 1;
        }
        assertTrue(read > 1000, "only " + read + " of the damaged texts are still JSON");
    }
}
