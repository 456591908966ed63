// SPDX-License-Identifier: Apache-2.0
package org.evenstop.bridge;

import com.sun.jna.Pointer;
import java.nio.charset.StandardCharsets;
import java.util.HashMap;
import java.util.Map;
import org.evenstop.engine.InputException;
import org.evenstop.engine.json.EvenstopFiles;
import org.evenstop.engine.parameter.Parameter;
import org.evenstop.engine.parameter.Parameter.Type;
import org.evenstop.engine.parameter.ParameterTable;
import org.evenstop.engine.profile.Profile;
import org.evenstop.engine.solve.ChromaTrim;
import org.evenstop.engine.solve.Preset;
import org.evenstop.engine.solve.Subject;

/**
 * What a correction is solved for: the values of all parameters that the table marks as solving, as one text. A line for each,
 * in any order; what is not there has its default:
 *
 * <pre>
 * NAME#BITS      a number or a boolean: the 64 bits of a double in hexadecimal, so that no locale can bend it
 * NAME=OPTION    a choice by the name of its option
 * NAME:BYTES     a text, which follows on the next line, so many bytes of UTF-8 and a line end
 * </pre>
 */
final class Wishes {
    private final Map<String, Double> numbers = new HashMap<>();
    private final Map<String, String> words = new HashMap<>();

    private Wishes() {
    }

    /** The text that a block points to. */
    static Wishes read(Pointer block, int address, int length) {
        long bytes = block.getLong(length);
        if (bytes < 0 || bytes > 2L * EvenstopFiles.LARGEST_FILE) {
            throw new InputException("controls: " + bytes + " bytes are more than " + 2L * EvenstopFiles.LARGEST_FILE + " (8 MiB)");
        }
        return of(bytes == 0 ? new byte[0] : block.getPointer(address).getByteArray(0, (int) bytes));
    }

    static Wishes of(byte[] text) {
        Wishes wishes = new Wishes();
        int at = 0;
        while (at < text.length) {
            int end = at;
            while (end < text.length && text[end] != '\n') {
                end++;
            }
            String line = new String(text, at, end - at, StandardCharsets.UTF_8);
            at = end + 1;
            String name = line.split("[#=:]", 2)[0];
            String value = line.substring(Math.min(line.length(), name.length() + 1));
            switch (line.length() > name.length() ? line.charAt(name.length()) : ' ') {
                case '#' -> wishes.numbers.put(name, Double.longBitsToDouble(Long.parseUnsignedLong(value, 16)));
                case '=' -> wishes.words.put(name, value);
                case ':' -> {
                    int bytes = Integer.parseInt(value);
                    if (bytes < 0 || bytes > text.length - at) {
                        throw new InputException("controls: text " + name + " of " + bytes + " bytes goes beyond its end");
                    }
                    wishes.words.put(name, new String(text, at, bytes, StandardCharsets.UTF_8));
                    at += bytes + 1;
                }
                default -> throw new InputException("controls: the line '" + line + "' says nothing");
            }
        }
        return wishes;
    }

    /** A number within the range of the table; its default where nothing, or no number, was given. */
    double number(String name) {
        Parameter parameter = ParameterTable.named(name);
        double value = numbers.getOrDefault(name, parameter.number());
        return value != value ? parameter.number() : held(value, parameter.min(), parameter.max());
    }

    boolean isOn(String name) {
        return numbers.getOrDefault(name, ParameterTable.named(name).number()) != 0;
    }

    /** A choice by the name of its option, or a text. */
    String word(String name) {
        Parameter parameter = ParameterTable.named(name);
        return words.getOrDefault(name, parameter.type() == Type.CHOICE ? parameter.options().get((int) parameter.number()).name() : parameter.text());
    }

    Profile profile() {
        String name = word("profile");
        if (!name.equals(ParameterTable.FROM_FILE)) {
            return EvenstopFiles.profile(name);
        }
        String text = word("profileText");
        if (text.isEmpty()) {
            throw new InputException("no camera profile was loaded. Name a profile file and press Load profile, or choose another profile.");
        }
        return EvenstopFiles.profileFromJson(text, "profile kept in the project");
    }

    private Preset chosenPreset() {
        String name = word("preset");
        if (!name.equals(ParameterTable.FROM_FILE)) {
            return EvenstopFiles.preset(name);
        }
        String text = word("presetText");
        if (text.isEmpty()) {
            throw new InputException("no aim was loaded. Name an aim file and press Load aim, or choose another aim.");
        }
        return EvenstopFiles.presetFromJson(text, "aim kept in the project");
    }

    /** The chosen preset with the controls' wishes on it; what lies beyond a preset's bounds is held at the bound. */
    Preset preset() {
        Preset preset = chosenPreset();
        String subject = word("subject");
        if (!subject.equals("preset")) {
            preset = preset.withSubject(Subject.ofWord(subject));
        }
        ChromaTrim trim = preset.chromaTrim();
        return preset.withExposureTrim(held(preset.exposureTrim() + number("exposureTrim"), -3, 3))
            .withLargestLift(Math.min(preset.largestLift(), number("largestLift")))
            .withSubjectRaised(number("subjectTrim"))
            .withShadowLevel(held(preset.shadowLevel() + number("shadowTrim"), 0, 30))
            .withHighlightLevel(held(preset.highlightLevel() + number("highlightTrim"), 50, 109))
            .withChromaBalance(held(preset.chromaBalance() * number("chromaBalance"), 0, 2))
            .withChromaTrim(new ChromaTrim(held(trim.dark() * number("darkChroma"), 0, 2), held(trim.bright() * number("brightChroma"), 0, 2)));
    }

    /** {@link #preset} with the levels and the chroma of the sky. */
    Preset skyPreset() {
        Preset preset = preset();
        return preset.withShadowLevel(number("skyShadowLevel")).withHighlightLevel(number("skyHighlightLevel"))
            .withChromaBalance(held(preset.chromaBalance() * number("skyChroma"), 0, 2));
    }

    static double held(double value, double from, double to) {
        return Math.min(Math.max(value, from), to);
    }
}
