// SPDX-License-Identifier: Apache-2.0
package org.evenstop.vector;

import static jdk.incubator.vector.VectorOperators.I2F;
import static jdk.incubator.vector.VectorOperators.ZERO_EXTEND_B2I;
import static jdk.incubator.vector.VectorOperators.ZERO_EXTEND_S2I;
import static org.evenstop.vector.Lanes.B;
import static org.evenstop.vector.Lanes.COUNT;
import static org.evenstop.vector.Lanes.F;
import static org.evenstop.vector.Lanes.I;
import static org.evenstop.vector.Lanes.ORDER;
import static org.evenstop.vector.Lanes.S;
import static org.evenstop.vector.Memory.NATIVE;

import java.lang.ref.Reference;
import java.nio.ByteBuffer;
import jdk.incubator.vector.ByteVector;
import jdk.incubator.vector.FloatVector;
import jdk.incubator.vector.IntVector;
import jdk.incubator.vector.ShortVector;

/**
 * Runs of Y'CbCr codes in native memory to levels, {@code into[i] = (code - zero) * perCode} for {@code from <= i < to}, whose number is a
 * multiple of the lanes: every code, or every other one, which is the low half of a pair. {@code at} is the byte offset of the first code.
 * Little-endian machines only.
 */
final class CodeRuns {
    private CodeRuns() {
    }

    static void read(ByteBuffer plane, long at, boolean eightBit, int shift, int zero, float perCode, int from, int to, float[] into) {
        long first = Memory.at(plane, at, (long) (to - from) * (eightBit ? 1 : 2) << shift);
        if (eightBit) {
            if (shift == 0) {
                bytes(first, zero, perCode, from, to, into);
            } else {
                everyOtherByte(first, zero, perCode, from, to, into);
            }
        } else if (shift == 0) {
            shorts(first, zero, perCode, from, to, into);
        } else {
            everyOtherShort(first, zero, perCode, from, to, into);
        }
        Reference.reachabilityFence(plane);
    }

    private static void bytes(long at, int zero, float perCode, int from, int to, float[] into) {
        for (int i = from; i < to; i += COUNT) {
            IntVector code = (IntVector) ByteVector.fromMemorySegment(B, NATIVE, at + (i - from), ORDER).convertShape(ZERO_EXTEND_B2I, I, 0);
            ((FloatVector) code.sub(zero).convertShape(I2F, F, 0)).mul(perCode).intoArray(into, i);
        }
    }

    private static void shorts(long at, int zero, float perCode, int from, int to, float[] into) {
        for (int i = from; i < to; i += COUNT) {
            IntVector code = (IntVector) ShortVector.fromMemorySegment(S, NATIVE, at + 2L * (i - from), ORDER).convertShape(ZERO_EXTEND_S2I, I, 0);
            ((FloatVector) code.sub(zero).convertShape(I2F, F, 0)).mul(perCode).intoArray(into, i);
        }
    }

    private static void everyOtherByte(long at, int zero, float perCode, int from, int to, float[] into) {
        for (int i = from; i < to; i += COUNT) {
            IntVector pair = (IntVector) ShortVector.fromMemorySegment(S, NATIVE, at + 2L * (i - from), ORDER).convertShape(ZERO_EXTEND_S2I, I, 0);
            ((FloatVector) pair.and(0xff).sub(zero).convertShape(I2F, F, 0)).mul(perCode).intoArray(into, i);
        }
    }

    private static void everyOtherShort(long at, int zero, float perCode, int from, int to, float[] into) {
        for (int i = from; i < to; i += COUNT) {
            IntVector pair = IntVector.fromMemorySegment(I, NATIVE, at + 4L * (i - from), ORDER);
            ((FloatVector) pair.and(0xffff).sub(zero).convertShape(I2F, F, 0)).mul(perCode).intoArray(into, i);
        }
    }
}
