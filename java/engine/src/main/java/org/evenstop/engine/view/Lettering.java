// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.view;

/** Figures and a few letters on a grid of 5 by 7 dots, drawn for this program. */
final class Lettering {
    static final int WIDTH = 5;
    static final int HEIGHT = 7;
    /** Dots from the left edge of a letter to that of the next. */
    static final int ADVANCE = 6;

    private static final String LETTERS = "0123456789%BEFORAT";
    /** Seven rows of each, top first; the highest of five bits is the leftmost dot. */
    private static final int[][] DOTS = {
        {0b01110, 0b10001, 0b10001, 0b10001, 0b10001, 0b10001, 0b01110},
        {0b00100, 0b01100, 0b00100, 0b00100, 0b00100, 0b00100, 0b01110},
        {0b01110, 0b10001, 0b00001, 0b00110, 0b01000, 0b10000, 0b11111},
        {0b11110, 0b00001, 0b00001, 0b01110, 0b00001, 0b00001, 0b11110},
        {0b00010, 0b00110, 0b01010, 0b10010, 0b11111, 0b00010, 0b00010},
        {0b11111, 0b10000, 0b11110, 0b00001, 0b00001, 0b10001, 0b01110},
        {0b00110, 0b01000, 0b10000, 0b11110, 0b10001, 0b10001, 0b01110},
        {0b11111, 0b00001, 0b00010, 0b00100, 0b00100, 0b01000, 0b01000},
        {0b01110, 0b10001, 0b10001, 0b01110, 0b10001, 0b10001, 0b01110},
        {0b01110, 0b10001, 0b10001, 0b01111, 0b00001, 0b00010, 0b01100},
        {0b11001, 0b11001, 0b00010, 0b00100, 0b01000, 0b10011, 0b10011},
        {0b11110, 0b10001, 0b10001, 0b11110, 0b10001, 0b10001, 0b11110},
        {0b11111, 0b10000, 0b10000, 0b11110, 0b10000, 0b10000, 0b11111},
        {0b11111, 0b10000, 0b10000, 0b11110, 0b10000, 0b10000, 0b10000},
        {0b01110, 0b10001, 0b10001, 0b10001, 0b10001, 0b10001, 0b01110},
        {0b11110, 0b10001, 0b10001, 0b11110, 0b10100, 0b10010, 0b10001},
        {0b01110, 0b10001, 0b10001, 0b11111, 0b10001, 0b10001, 0b10001},
        {0b11111, 0b00100, 0b00100, 0b00100, 0b00100, 0b00100, 0b00100},
    };

    private Lettering() {
    }

    /** Dots across a text. */
    static int width(String text) {
        return text.isEmpty() ? 0 : ADVANCE * text.length() - (ADVANCE - WIDTH);
    }

    /**
     * Whether a dot of a text is set; outside the text none is.
     *
     * @param across dots from its left edge
     * @param up     dots from its bottom edge
     */
    static boolean isSet(String text, int across, int up) {
        if (across < 0 || up < 0 || up >= HEIGHT || across >= ADVANCE * text.length() || across % ADVANCE >= WIDTH) {
            return false;
        }
        int letter = LETTERS.indexOf(text.charAt(across / ADVANCE));
        if (letter < 0) {
            throw new IllegalArgumentException("there is no drawn letter '" + text.charAt(across / ADVANCE) + "'; known are " + LETTERS);
        }
        return (DOTS[letter][HEIGHT - 1 - up] >> (WIDTH - 1 - across % ADVANCE) & 1) == 1;
    }
}
