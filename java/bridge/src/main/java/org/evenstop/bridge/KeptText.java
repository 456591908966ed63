// SPDX-License-Identifier: Apache-2.0
package org.evenstop.bridge;

import com.sun.jna.Pointer;
import java.util.function.BiFunction;
import java.util.regex.Pattern;
import org.evenstop.engine.InputException;

/**
 * JSON texts that the plug-in keeps in the project. Nobody edits them by hand, so whatever is wrong with one there is one thing
 * to do, and the message ends with it: {@code correction kept in the project: CLAUSE. Press Measure clip.}
 */
final class KeptText {
    /** Long enough for every sentence of the engine, short enough for the message to reach the user whole. */
    private static final int LONGEST_CLAUSE = 120;
    /** A qualified class name, or a piece of code. */
    private static final Pattern INTERNAL = Pattern.compile("\\b[a-z]\\w*(\\.[a-z]\\w*)+\\.[A-Z]|`|\\w+(Exception|Error)\\b");
    private static final String UNREADABLE = "it cannot be read";

    private KeptText() {
    }

    /**
     * Reads a text that a block points to.
     *
     * @param what   names the text in messages
     * @param reader from the text and {@code what} to the object; any exception it throws means that the text is broken
     * @throws InputException in one sentence, and a second that says what to do
     */
    static <T> T read(Pointer block, int address, int length, String what, BiFunction<String, String, T> reader) {
        return read(() -> Blocks.text(block, address, length, what), what, reader);
    }

    /** As above, with the text at hand. */
    static <T> T read(String text, String what, BiFunction<String, String, T> reader) {
        return read(() -> text, what, reader);
    }

    private static <T> T read(java.util.function.Supplier<String> text, String what, BiFunction<String, String, T> reader) {
        try {
            return reader.apply(text.get(), what);
        } catch (RuntimeException broken) {
            String clause = clause(broken.getMessage(), what);
            String remedy = clause.contains(" is newer than ") ? "Update the plug-in, or press Measure clip." : "Press Measure clip.";
            throw new InputException(what + ": " + clause + ". " + remedy, broken);
        }
    }

    /** The first clause of a message, without its subject, advice for people with an editor, and a parser's own words. */
    static String clause(String message, String what) {
        if (message == null) {
            return UNREADABLE;
        }
        String said = message.startsWith(what + ": ") ? message.substring(what.length() + 2) : message;
        said = said.lines().findFirst().orElse("");
        int source = said.indexOf("[Source");
        if (source >= 0) {
            int bracket = said.lastIndexOf(" (", source);
            said = said.substring(0, bracket >= 0 ? bracket : source);
        }
        said = before(before(said, "; "), ". ");
        said = said.replaceAll("\\p{Cntrl}", " ").strip().replaceAll("[\\s.;:,(]+$", "");
        if (said.isEmpty() || INTERNAL.matcher(said).find()) {
            return UNREADABLE;
        }
        if (said.length() <= LONGEST_CLAUSE) {
            return said;
        }
        int end = LONGEST_CLAUSE - 3;
        return said.substring(0, Character.isHighSurrogate(said.charAt(end - 1)) ? end - 1 : end) + "...";
    }

    private static String before(String text, String mark) {
        int at = text.indexOf(mark);
        return at < 0 ? text : text.substring(0, at);
    }
}
