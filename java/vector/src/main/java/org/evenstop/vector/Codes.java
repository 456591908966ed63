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
import static org.evenstop.vector.Memory.NATIVE;

import jdk.incubator.vector.ByteVector;
import jdk.incubator.vector.FloatVector;
import jdk.incubator.vector.IntVector;
import jdk.incubator.vector.ShortVector;

/**
 * Rows of Y'CbCr codes, 8 bit in bytes or more in 16-bit words, to levels and back as the scalar kernel converts them. Rows
 * may be taken apart into even and odd columns: chroma sites of 4:2:2 and 4:2:0 lie at even ones.
 *
 * <p>Loops go in whole registers and meet memory outside the Java heap only. A row is read where it lies if the memory goes on far enough behind
 * it, and written where it goes if its length is one of whole registers; else a stage stands in.
 * Little-endian machines only: the even column is the low half of a pair.
 */
final class Codes {
    private final boolean eightBit;
    private final int bytesPerCode;
    private final FrameMemory stage;

    /** @param width samples in the longest row */
    Codes(int width, boolean eightBit) {
        this.eightBit = eightBit;
        bytesPerCode = eightBit ? 1 : 2;
        stage = FrameMemory.stage(2 * Lanes.roundedUp(width) + 8 * COUNT);
    }

    /** Every sample: {@code (code - zero) * perCode}. */
    void read(FrameMemory plane, long rowOffset, int samples, int zero, float perCode, long into) {
        long first = at(plane, rowOffset, samples, Lanes.roundedUp(samples));
        if (eightBit) {
            bytes(first, samples, zero, perCode, into);
        } else {
            shorts(first, samples, zero, perCode, into);
        }
    }

    /** Even and odd columns apart; what stands for the missing last odd column of an odd width is no level. */
    void readPairs(FrameMemory plane, long rowOffset, int samples, int zero, float perCode, long even, long odd) {
        long first = at(plane, rowOffset, samples, 2 * Lanes.roundedUp((samples + 1) / 2));
        if (eightBit) {
            bytePairs(first, samples, zero, perCode, even, odd);
        } else {
            shortPairs(first, samples, zero, perCode, even, odd);
        }
    }

    /** Asks memory for a row that is read soon. Bytes are few, and rows of them are often read again at once: they are not asked for. */
    void touch(FrameMemory plane, long rowOffset, int samples) {
        if (!eightBit && plane.isNative()) {
            long bytes = (long) samples * bytesPerCode;
            Memory.touched(plane.at(rowOffset, bytes), bytes);
        }
    }

    /** Address of a row with {@code whole} samples to read, those behind the last being whatever is there. */
    private long at(FrameMemory plane, long rowOffset, int samples, int whole) {
        long bytes = (long) whole * bytesPerCode;
        if (plane.isNative() && plane.holds(rowOffset, bytes)) {
            return plane.at(rowOffset, bytes);
        }
        plane.copyTo(stage, rowOffset, (long) samples * bytesPerCode);
        return stage.at(0, bytes);
    }

    /** Whether {@link #put} may write such a row where it goes: to {@code plane} from {@code rowOffset} on, else to the stage from 0 on. */
    boolean isWhole(FrameMemory plane, int samples) {
        return plane.isNative() && samples % COUNT == 0;
    }

    /** The same for {@link #putPairs}. */
    boolean isWholePairs(FrameMemory plane, int samples) {
        return plane.isNative() && samples % (2 * COUNT) == 0;
    }

    FrameMemory stage() {
        return stage;
    }

    /** Brings the row that was put to the stage to its place. */
    void finish(FrameMemory plane, long rowOffset, int samples) {
        plane.copyFrom(stage, rowOffset, (long) samples * bytesPerCode);
    }

    /**
     * Puts {@code level * perLevel + zero}, rounded and held within lowest..highest.
     *
     * @param rowAt  byte of {@code memory} at which the row begins
     * @param column of the first level
     */
    void put(long levels, int count, float perLevel, float zero, int lowest, int highest, FrameMemory memory, long rowAt, int column) {
        long to = memory.at(rowAt + (long) column * bytesPerCode, (long) count * bytesPerCode);
        if (eightBit) {
            putBytes(levels, count, perLevel, zero, lowest, highest, to);
        } else {
            putShorts(levels, count, perLevel, zero, lowest, highest, to);
        }
    }

    /** As {@link #put} for columns that were taken apart; {@code column} is even. */
    void putPairs(long even, long odd, int count, float perLevel, float zero, int lowest, int highest, FrameMemory memory, long rowAt,
                  int column) {
        long to = memory.at(rowAt + (long) column * bytesPerCode, 2L * count * bytesPerCode);
        if (eightBit) {
            putBytePairs(even, odd, count, perLevel, zero, lowest, highest, to);
        } else {
            putShortPairs(even, odd, count, perLevel, zero, lowest, highest, to);
        }
    }

    private static void bytes(long first, int samples, int zero, float perCode, long into) {
        for (int i = 0; i < samples; i += COUNT) {
            IntVector code = (IntVector) ByteVector.fromMemorySegment(B, NATIVE, first + i, ORDER).convertShape(ZERO_EXTEND_B2I, I, 0);
            ((FloatVector) code.sub(zero).convertShape(I2F, F, 0)).mul(perCode).intoMemorySegment(NATIVE, into + 4L * i, ORDER);
        }
    }

    private static void shorts(long first, int samples, int zero, float perCode, long into) {
        for (int i = 0; i < samples; i += COUNT) {
            IntVector code = (IntVector) ShortVector.fromMemorySegment(S, NATIVE, first + 2L * i, ORDER).convertShape(ZERO_EXTEND_S2I, I, 0);
            ((FloatVector) code.sub(zero).convertShape(I2F, F, 0)).mul(perCode).intoMemorySegment(NATIVE, into + 4L * i, ORDER);
        }
    }

    private static void bytePairs(long first, int samples, int zero, float perCode, long even, long odd) {
        for (int i = 0; 2 * i < samples; i += COUNT) {
            IntVector pair = (IntVector) ShortVector.fromMemorySegment(S, NATIVE, first + 2L * i, ORDER).convertShape(ZERO_EXTEND_S2I, I, 0);
            ((FloatVector) pair.and(0xff).sub(zero).convertShape(I2F, F, 0)).mul(perCode).intoMemorySegment(NATIVE, even + 4L * i, ORDER);
            ((FloatVector) pair.lanewise(LSHR, 8).sub(zero).convertShape(I2F, F, 0)).mul(perCode).intoMemorySegment(NATIVE, odd + 4L * i, ORDER);
        }
    }

    private static void shortPairs(long first, int samples, int zero, float perCode, long even, long odd) {
        for (int i = 0; 2 * i < samples; i += COUNT) {
            IntVector pair = IntVector.fromMemorySegment(I, NATIVE, first + 4L * i, ORDER);
            ((FloatVector) pair.and(0xffff).sub(zero).convertShape(I2F, F, 0)).mul(perCode).intoMemorySegment(NATIVE, even + 4L * i, ORDER);
            ((FloatVector) pair.lanewise(LSHR, 16).sub(zero).convertShape(I2F, F, 0)).mul(perCode).intoMemorySegment(NATIVE, odd + 4L * i, ORDER);
        }
    }

    private static void putBytes(long levels, int count, float perLevel, float zero, int lowest, int highest, long to) {
        FloatVector scale = FloatVector.broadcast(F, perLevel);
        FloatVector offset = FloatVector.broadcast(F, zero + 0.5f);
        for (int i = 0; i < count; i += COUNT) {
            FloatVector code = FloatVector.fromMemorySegment(F, NATIVE, levels + 4L * i, ORDER).fma(scale, offset);
            ((ByteVector) ((IntVector) code.convertShape(F2I, I, 0)).max(lowest).min(highest).convertShape(I2B, B, 0))
                .intoMemorySegment(NATIVE, to + i, ORDER);
        }
    }

    private static void putShorts(long levels, int count, float perLevel, float zero, int lowest, int highest, long to) {
        FloatVector scale = FloatVector.broadcast(F, perLevel);
        FloatVector offset = FloatVector.broadcast(F, zero + 0.5f);
        for (int i = 0; i < count; i += COUNT) {
            FloatVector code = FloatVector.fromMemorySegment(F, NATIVE, levels + 4L * i, ORDER).fma(scale, offset);
            ((ShortVector) ((IntVector) code.convertShape(F2I, I, 0)).max(lowest).min(highest).convertShape(I2S, S, 0))
                .intoMemorySegment(NATIVE, to + 2L * i, ORDER);
        }
    }

    private static void putBytePairs(long even, long odd, int count, float perLevel, float zero, int lowest, int highest, long to) {
        FloatVector scale = FloatVector.broadcast(F, perLevel);
        FloatVector offset = FloatVector.broadcast(F, zero + 0.5f);
        for (int i = 0; i < count; i += COUNT) {
            IntVector low = ((IntVector) FloatVector.fromMemorySegment(F, NATIVE, even + 4L * i, ORDER).fma(scale, offset)
                .convertShape(F2I, I, 0)).max(lowest).min(highest);
            IntVector high = ((IntVector) FloatVector.fromMemorySegment(F, NATIVE, odd + 4L * i, ORDER).fma(scale, offset)
                .convertShape(F2I, I, 0)).max(lowest).min(highest);
            ((ShortVector) low.or(high.lanewise(LSHL, 8)).convertShape(I2S, S, 0)).intoMemorySegment(NATIVE, to + 2L * i, ORDER);
        }
    }

    private static void putShortPairs(long even, long odd, int count, float perLevel, float zero, int lowest, int highest, long to) {
        FloatVector scale = FloatVector.broadcast(F, perLevel);
        FloatVector offset = FloatVector.broadcast(F, zero + 0.5f);
        for (int i = 0; i < count; i += COUNT) {
            IntVector low = ((IntVector) FloatVector.fromMemorySegment(F, NATIVE, even + 4L * i, ORDER).fma(scale, offset)
                .convertShape(F2I, I, 0)).max(lowest).min(highest);
            IntVector high = ((IntVector) FloatVector.fromMemorySegment(F, NATIVE, odd + 4L * i, ORDER).fma(scale, offset)
                .convertShape(F2I, I, 0)).max(lowest).min(highest);
            low.or(high.lanewise(LSHL, 16)).intoMemorySegment(NATIVE, to + 4L * i, ORDER);
        }
    }
}
