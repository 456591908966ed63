// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.measure;

import java.nio.ByteBuffer;
import java.util.Arrays;
import org.evenstop.engine.frame.PlanarFrame;
import org.evenstop.engine.level.CodeDepth;

/**
 * Counts the luma codes of a frame as they lie in memory: where levels alone are wanted there are so few codes that no sample need be turned into
 * one. Over four counters in turn, so that neighbours of one code do not wait for each other.
 */
final class CodeCounts {
    /** Of 12 bit; words may hold more, which no lawful frame does, and count as the last. */
    private static final int CODES = 1 << 12;
    private static final int WORD = 0xffff;

    private final int[] first = new int[CODES];
    private final int[] second = new int[CODES];
    private final int[] third = new int[CODES];
    private final int[] fourth = new int[CODES];

    /** Forgets everything. */
    void begin() {
        Arrays.fill(first, 0);
        Arrays.fill(second, 0);
        Arrays.fill(third, 0);
        Arrays.fill(fourth, 0);
    }

    /** Columns {@code from..to-1} of a row of luma. */
    void count(PlanarFrame frame, int row, int from, int to) {
        int rowAt = row * frame.lumaStride();
        if (frame.depth() == CodeDepth.BITS8) {
            countBytes(frame.luma(), rowAt + from, rowAt + to, first, second, third, fourth);
        } else {
            countWords(frame.luma(), rowAt + 2 * from, rowAt + 2 * to, first, second, third, fourth);
        }
    }

    private static void countBytes(ByteBuffer plane, int from, int to, int[] first, int[] second, int[] third, int[] fourth) {
        int at = from;
        for (; at + 3 < to; at += 4) {
            int four = plane.getInt(at);
            first[four & 0xff]++;
            second[four >>> 8 & 0xff]++;
            third[four >>> 16 & 0xff]++;
            fourth[four >>> 24]++;
        }
        for (; at < to; at++) {
            first[plane.get(at) & 0xff]++;
        }
    }

    private static void countWords(ByteBuffer plane, int from, int to, int[] first, int[] second, int[] third, int[] fourth) {
        int at = from;
        for (; at + 7 < to; at += 8) {
            long four = plane.getLong(at);
            first[Math.min((int) four & WORD, CODES - 1)]++;
            second[Math.min((int) (four >>> 16) & WORD, CODES - 1)]++;
            third[Math.min((int) (four >>> 32) & WORD, CODES - 1)]++;
            fourth[Math.min((int) (four >>> 48), CODES - 1)]++;
        }
        for (; at < to; at += 2) {
            first[Math.min(plane.getShort(at) & WORD, CODES - 1)]++;
        }
    }

    /** Adds what was counted to the tally of the frame: its luma levels and their ends. */
    void addTo(FrameTally tally, PlanarFrame frame) {
        float perCode = 1f / frame.lumaSpan();
        tally.min = Float.POSITIVE_INFINITY;
        tally.max = Float.NEGATIVE_INFINITY;
        for (int code = 0; code < CODES; code++) {
            int count = first[code] + second[code] + third[code] + fourth[code];
            if (count > 0) {
                // As a row's levels are made of it.
                float level = (code - frame.blackCode()) * perCode;
                tally.luma.counts()[LevelHistogram.stepOf(level)] += count;
                tally.min = Math.min(tally.min, level);
                tally.max = Math.max(tally.max, level);
            }
        }
    }
}
