// SPDX-License-Identifier: Apache-2.0
package org.evenstop.vector;

import static jdk.incubator.vector.VectorOperators.F2I;
import static jdk.incubator.vector.VectorOperators.I2B;
import static jdk.incubator.vector.VectorOperators.I2F;
import static jdk.incubator.vector.VectorOperators.I2S;
import static jdk.incubator.vector.VectorOperators.LSHL;
import static jdk.incubator.vector.VectorOperators.LSHR;
import static jdk.incubator.vector.VectorOperators.ZERO_EXTEND_B2I;
import static jdk.incubator.vector.VectorOperators.ZERO_EXTEND_S2I;
import static org.evenstop.vector.Lanes.B;
import static org.evenstop.vector.Lanes.COUNT;
import static org.evenstop.vector.Lanes.F;
import static org.evenstop.vector.Lanes.I;
import static org.evenstop.vector.Lanes.ORDER;
import static org.evenstop.vector.Lanes.S;

import java.lang.foreign.Arena;
import java.lang.foreign.MemorySegment;
import jdk.incubator.vector.ByteVector;
import jdk.incubator.vector.FloatVector;
import jdk.incubator.vector.IntVector;
import jdk.incubator.vector.ShortVector;

/**
 * Rows of Y'CbCr codes, 8 bit in bytes or more in 16-bit words, to levels and back as the scalar kernel converts them. Rows
 * may be taken apart into even and odd columns: chroma sites of 4:2:2 and 4:2:0 lie at even ones.
 *
 * <p>A row is copied to a stage of its own first, so that loops may run past its end and meet one kind of memory only.
 * Little-endian machines only: the even column is the low half of a pair.
 */
final class Codes {
    private final boolean eightBit;
    private final MemorySegment stage;

    /** @param width samples in the longest row */
    Codes(int width, boolean eightBit) {
        this.eightBit = eightBit;
        stage = Arena.ofAuto().allocate(2L * Lanes.roundedUp(width) + 8L * COUNT, 64);
    }

    /** Every sample: {@code into[at + x] = (code - zero) * perCode}. */
    void read(MemorySegment plane, long rowOffset, int samples, int zero, float perCode, float[] into, int at) {
        take(plane, rowOffset, samples);
        if (eightBit) {
            bytes(stage, samples, zero, perCode, into, at);
        } else {
            shorts(stage, samples, zero, perCode, into, at);
        }
    }

    /** Even and odd columns apart; what stands for the missing last odd column of an odd width is no level. */
    void readPairs(MemorySegment plane, long rowOffset, int samples, int zero, float perCode, float[] even, float[] odd, int at) {
        take(plane, rowOffset, samples);
        if (eightBit) {
            bytePairs(stage, samples, zero, perCode, even, odd, at);
        } else {
            shortPairs(stage, samples, zero, perCode, even, odd, at);
        }
    }

    private void take(MemorySegment plane, long rowOffset, int samples) {
        MemorySegment.copy(plane, rowOffset, stage, 0, eightBit ? samples : 2L * samples);
    }

    /** Writes the row that {@link #put} and {@link #putPairs} have staged. */
    void write(MemorySegment plane, long rowOffset, int samples) {
        MemorySegment.copy(stage, 0, plane, rowOffset, eightBit ? samples : 2L * samples);
    }

    /** Stages {@code level * perLevel + zero}, rounded and held within lowest..highest, from column on. */
    void put(float[] levels, int from, int count, float perLevel, float zero, int lowest, int highest, int column) {
        if (eightBit) {
            putBytes(levels, from, count, perLevel, zero, lowest, highest, stage, column);
        } else {
            putShorts(levels, from, count, perLevel, zero, lowest, highest, stage, 2L * column);
        }
    }

    /** As {@link #put} for columns that were taken apart; {@code column} is even. */
    void putPairs(float[] levels, int even, int odd, int count, float perLevel, float zero, int lowest, int highest, int column) {
        if (eightBit) {
            putBytePairs(levels, even, odd, count, perLevel, zero, lowest, highest, stage, column);
        } else {
            putShortPairs(levels, even, odd, count, perLevel, zero, lowest, highest, stage, 2L * column);
        }
    }

    private static void bytes(MemorySegment stage, int samples, int zero, float perCode, float[] into, int at) {
        for (int i = 0; i < samples; i += COUNT) {
            IntVector code = (IntVector) ByteVector.fromMemorySegment(B, stage, i, ORDER).convertShape(ZERO_EXTEND_B2I, I, 0);
            ((FloatVector) code.sub(zero).convertShape(I2F, F, 0)).mul(perCode).intoArray(into, at + i);
        }
    }

    private static void shorts(MemorySegment stage, int samples, int zero, float perCode, float[] into, int at) {
        for (int i = 0; i < samples; i += COUNT) {
            IntVector code = (IntVector) ShortVector.fromMemorySegment(S, stage, 2L * i, ORDER).convertShape(ZERO_EXTEND_S2I, I, 0);
            ((FloatVector) code.sub(zero).convertShape(I2F, F, 0)).mul(perCode).intoArray(into, at + i);
        }
    }

    private static void bytePairs(MemorySegment stage, int samples, int zero, float perCode, float[] even, float[] odd, int at) {
        for (int i = 0; 2 * i < samples; i += COUNT) {
            IntVector pair = (IntVector) ShortVector.fromMemorySegment(S, stage, 2L * i, ORDER).convertShape(ZERO_EXTEND_S2I, I, 0);
            ((FloatVector) pair.and(0xff).sub(zero).convertShape(I2F, F, 0)).mul(perCode).intoArray(even, at + i);
            ((FloatVector) pair.lanewise(LSHR, 8).sub(zero).convertShape(I2F, F, 0)).mul(perCode).intoArray(odd, at + i);
        }
    }

    private static void shortPairs(MemorySegment stage, int samples, int zero, float perCode, float[] even, float[] odd, int at) {
        for (int i = 0; 2 * i < samples; i += COUNT) {
            IntVector pair = IntVector.fromMemorySegment(I, stage, 4L * i, ORDER);
            ((FloatVector) pair.and(0xffff).sub(zero).convertShape(I2F, F, 0)).mul(perCode).intoArray(even, at + i);
            ((FloatVector) pair.lanewise(LSHR, 16).sub(zero).convertShape(I2F, F, 0)).mul(perCode).intoArray(odd, at + i);
        }
    }

    private static void putBytes(float[] levels, int from, int count, float perLevel, float zero, int lowest, int highest,
                                 MemorySegment stage, long to) {
        for (int i = 0; i < count; i += COUNT) {
            FloatVector code = FloatVector.fromArray(F, levels, from + i).mul(perLevel).add(zero).add(0.5f);
            ((ByteVector) ((IntVector) code.convertShape(F2I, I, 0)).max(lowest).min(highest).convertShape(I2B, B, 0))
                .intoMemorySegment(stage, to + i, ORDER);
        }
    }

    private static void putShorts(float[] levels, int from, int count, float perLevel, float zero, int lowest, int highest,
                                  MemorySegment stage, long to) {
        for (int i = 0; i < count; i += COUNT) {
            FloatVector code = FloatVector.fromArray(F, levels, from + i).mul(perLevel).add(zero).add(0.5f);
            ((ShortVector) ((IntVector) code.convertShape(F2I, I, 0)).max(lowest).min(highest).convertShape(I2S, S, 0))
                .intoMemorySegment(stage, to + 2L * i, ORDER);
        }
    }

    private static void putBytePairs(float[] levels, int even, int odd, int count, float perLevel, float zero, int lowest, int highest,
                                     MemorySegment stage, long to) {
        for (int i = 0; i < count; i += COUNT) {
            IntVector low = ((IntVector) FloatVector.fromArray(F, levels, even + i).mul(perLevel).add(zero).add(0.5f)
                .convertShape(F2I, I, 0)).max(lowest).min(highest);
            IntVector high = ((IntVector) FloatVector.fromArray(F, levels, odd + i).mul(perLevel).add(zero).add(0.5f)
                .convertShape(F2I, I, 0)).max(lowest).min(highest);
            ((ShortVector) low.or(high.lanewise(LSHL, 8)).convertShape(I2S, S, 0)).intoMemorySegment(stage, to + 2L * i, ORDER);
        }
    }

    private static void putShortPairs(float[] levels, int even, int odd, int count, float perLevel, float zero, int lowest, int highest,
                                      MemorySegment stage, long to) {
        for (int i = 0; i < count; i += COUNT) {
            IntVector low = ((IntVector) FloatVector.fromArray(F, levels, even + i).mul(perLevel).add(zero).add(0.5f)
                .convertShape(F2I, I, 0)).max(lowest).min(highest);
            IntVector high = ((IntVector) FloatVector.fromArray(F, levels, odd + i).mul(perLevel).add(zero).add(0.5f)
                .convertShape(F2I, I, 0)).max(lowest).min(highest);
            low.or(high.lanewise(LSHL, 16)).intoMemorySegment(stage, to + 4L * i, ORDER);
        }
    }
}
