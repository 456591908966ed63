// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.solve;

import java.util.Arrays;
import java.util.stream.Collectors;
import org.evenstop.engine.InputException;

/** What a correction aims at. */
public enum Subject {
    /** The whole picture; skin only where it would lie outside the preset's range. */
    AUTO("auto"),
    /** Skin, brought into the preset's range. */
    FACE("face"),
    /** The bulk of the picture, highlights and shadows placed. */
    LANDSCAPE("landscape"),
    /** A dark scene that stays one. */
    LOW_LIGHT("lowLight");

    private final String word;

    Subject(String word) {
        this.word = word;
    }

    /** How files, command line and plug-in write it. */
    public String word() {
        return word;
    }

    /** @throws InputException naming the allowed words */
    public static Subject ofWord(String word) {
        for (Subject subject : values()) {
            if (subject.word.equals(word)) {
                return subject;
            }
        }
        throw new InputException("subject '" + word + "' is not known; give one of "
            + Arrays.stream(values()).map(Subject::word).collect(Collectors.joining(", ")));
    }
}
