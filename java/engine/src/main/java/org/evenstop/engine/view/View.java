// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.view;

import java.util.Arrays;
import java.util.stream.Collectors;
import org.evenstop.engine.InputException;

/** What is shown. The order is that of the plug-in's choice and is only added to. */
public enum View {
    /** The corrected picture, nothing drawn. */
    PICTURE("picture"),
    /** Luma of the corrected picture by column, over the darkened picture, with lines in percent. */
    WAVEFORM("waveform"),
    /** Stripes where luma of the corrected picture is at or above a level. */
    ZEBRA("zebra"),
    /** Flat marks where the source is at the camera's ceiling or at black; the rest in dim grey. */
    CLIPPED("clipped"),
    /** The source on the left, the corrected picture on the right. */
    SPLIT("split");

    private final String word;

    View(String word) {
        this.word = word;
    }

    /** How plug-in and tests write it. */
    public String word() {
        return word;
    }

    /** @throws InputException naming the allowed words */
    public static View ofWord(String word) {
        for (View view : values()) {
            if (view.word.equals(word)) {
                return view;
            }
        }
        throw new InputException("view '" + word + "' is not known; give one of "
            + Arrays.stream(values()).map(View::word).collect(Collectors.joining(", ")));
    }
}
