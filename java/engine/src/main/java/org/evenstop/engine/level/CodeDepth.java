// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.level;

/**
 * Quantisation of video levels at 8, 10 and 12 bit, narrow range unless said otherwise.
 * Sources: ITU-R BT.709-6 clause 4 (8 and 10 bit), ITU-R BT.2020-2 (12 bit): black 16·2^(n-8), nominal white 235·2^(n-8),
 * achromatic 128·2^(n-8), chroma span 224·2^(n-8); video data 1..254, 4..1019, 16..4079.
 */
public enum CodeDepth {
    BITS8(8),
    BITS10(10),
    BITS12(12);

    private final int bits;

    CodeDepth(int bits) {
        this.bits = bits;
    }

    /** @throws IllegalArgumentException for anything but 8, 10 or 12 */
    public static CodeDepth ofBits(int bits) {
        return switch (bits) {
            case 8 -> BITS8;
            case 10 -> BITS10;
            case 12 -> BITS12;
            default -> throw new IllegalArgumentException("depth " + bits + " bit is not supported; 8, 10 and 12 are");
        };
    }

    public int bits() {
        return bits;
    }

    /** Bytes a sample takes in memory: 1 at 8 bit, else 2 (native byte order, low bits). */
    public int bytesPerSample() {
        return bits == 8 ? 1 : 2;
    }

    /** Code of level 0. */
    public int blackCode() {
        return 16 << (bits - 8);
    }

    /** Code of level 1 (100 %). */
    public int whiteCode() {
        return 235 << (bits - 8);
    }

    public int achromaticCode() {
        return 128 << (bits - 8);
    }

    /** Codes between Cb or Cr = -0.5 and +0.5. */
    public int chromaSpan() {
        return 224 << (bits - 8);
    }

    public int lumaSpan() {
        return whiteCode() - blackCode();
    }

    /** Largest code a sample can hold: 2^n - 1. */
    public int maxCode() {
        return (1 << bits) - 1;
    }

    /** Lowest code that is video data and not a timing reference. */
    public int lowestVideoCode() {
        return 1 << (bits - 8);
    }

    /** Highest code that is video data and not a timing reference. */
    public int highestVideoCode() {
        return maxCode() - lowestVideoCode();
    }

    /** Level (0 = black, 1 = nominal white) of a narrow-range luma or R'G'B' code. */
    public double levelOfCode(double code) {
        return (code - blackCode()) / lumaSpan();
    }

    /** Unrounded narrow-range code of a level. */
    public double codeOfLevel(double level) {
        return blackCode() + level * lumaSpan();
    }

    /** Nearest code of a level, ties upward as the standards' Round does; not clamped. */
    public int roundedCodeOfLevel(double level) {
        return (int) Math.floor(codeOfLevel(level) + 0.5);
    }

    /** Colour difference (-0.5..0.5 nominal) of a narrow-range chroma code. */
    public double chromaOfCode(double code) {
        return (code - achromaticCode()) / chromaSpan();
    }

    public int roundedCodeOfChroma(double chroma) {
        return (int) Math.floor(achromaticCode() + chroma * chromaSpan() + 0.5);
    }
}
