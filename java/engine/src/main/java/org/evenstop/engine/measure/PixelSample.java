// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.measure;

import org.evenstop.engine.level.LumaStandard;

/**
 * Pixels kept from a clip, on which any candidate correction can be tried exactly.
 *
 * @param standard luma standard of the clip they come from
 * @param triples  {@code [pixels][3]} R', G', B' as level times {@value #SCALE}, rounded; clamped to -2..2
 */
public record PixelSample(LumaStandard standard, short[] triples) {
    public static final int SCALE = 16384;

    public PixelSample {
        if (triples.length % 3 != 0) {
            throw new IllegalArgumentException("a pixel sample holds triples; " + triples.length + " values are not a multiple of 3");
        }
        triples = triples.clone();
    }

    public int size() {
        return triples.length / 3;
    }

    /** Level fraction of one component (0 red, 1 green, 2 blue) of a kept pixel. */
    public double level(int pixel, int component) {
        return triples[3 * pixel + component] / (double) SCALE;
    }

    /** A level as it is kept: rounded, held within the range of a short. */
    static short stored(float level) {
        return (short) Math.max(-32768, Math.min(32767, (int) Math.floor((double) level * SCALE + 0.5)));
    }

    @Override
    public short[] triples() {
        return triples.clone();
    }

    @Override
    public boolean equals(Object other) {
        return other instanceof PixelSample that && standard == that.standard && java.util.Arrays.equals(triples, that.triples);
    }

    @Override
    public int hashCode() {
        return java.util.Arrays.hashCode(triples);
    }

    @Override
    public String toString() {
        return "PixelSample[" + size() + " pixels, " + standard.label() + "]";
    }
}
