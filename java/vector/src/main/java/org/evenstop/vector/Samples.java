// SPDX-License-Identifier: Apache-2.0
package org.evenstop.vector;

import static jdk.incubator.vector.VectorOperators.F2I;
import static jdk.incubator.vector.VectorOperators.I2B;
import static jdk.incubator.vector.VectorOperators.I2F;
import static jdk.incubator.vector.VectorOperators.I2S;
import static jdk.incubator.vector.VectorOperators.ZERO_EXTEND_B2I;
import static jdk.incubator.vector.VectorOperators.ZERO_EXTEND_S2I;
import static org.evenstop.vector.Lanes.B;
import static org.evenstop.vector.Lanes.COUNT;
import static org.evenstop.vector.Lanes.F;
import static org.evenstop.vector.Lanes.I;
import static org.evenstop.vector.Lanes.ORDER;
import static org.evenstop.vector.Lanes.S;
import static org.evenstop.vector.Memory.NATIVE;

import java.lang.foreign.MemorySegment;
import java.lang.foreign.ValueLayout;
import jdk.incubator.vector.ByteVector;
import jdk.incubator.vector.FloatVector;
import jdk.incubator.vector.IntVector;
import jdk.incubator.vector.ShortVector;

/**
 * Integer and half-float samples in native memory to floats and back, as the scalar kernel converts them. Counts are in
 * samples, multiples of the lanes.
 */
final class Samples {
    private final short[] halves = new short[4 * Runs.BLOCK];
    private final float[] floats = new float[4 * Runs.BLOCK];

    static void ofBytes(long from, long into, int count) {
        for (int i = 0; i < count; i += COUNT) {
            IntVector whole = (IntVector) ByteVector.fromMemorySegment(B, NATIVE, from + i, ORDER).convertShape(ZERO_EXTEND_B2I, I, 0);
            ((FloatVector) whole.convertShape(I2F, F, 0)).mul(1f / 255f).intoMemorySegment(NATIVE, into + 4L * i, ORDER);
        }
    }

    static void ofShorts(long from, long into, int count) {
        for (int i = 0; i < count; i += COUNT) {
            IntVector whole = (IntVector) ShortVector.fromMemorySegment(S, NATIVE, from + 2L * i, ORDER).convertShape(ZERO_EXTEND_S2I, I, 0);
            ((FloatVector) whole.convertShape(I2F, F, 0)).mul(1f / 65535f).intoMemorySegment(NATIVE, into + 4L * i, ORDER);
        }
    }

    void ofHalves(long from, long into, int count) {
        MemorySegment.copy(NATIVE, ValueLayout.JAVA_SHORT_UNALIGNED, from, halves, 0, count);
        toFloats(halves, floats, count);
        MemorySegment.copy(floats, 0, NATIVE, ValueLayout.JAVA_FLOAT_UNALIGNED, into, count);
    }

    static void toBytes(long from, long into, int count) {
        for (int i = 0; i < count; i += COUNT) {
            FloatVector scaled = FloatVector.fromMemorySegment(F, NATIVE, from + 4L * i, ORDER).max(0f).min(1f).mul(255f).add(0.5f);
            ((ByteVector) scaled.convertShape(F2I, I, 0).convertShape(I2B, B, 0)).intoMemorySegment(NATIVE, into + i, ORDER);
        }
    }

    static void toShorts(long from, long into, int count) {
        for (int i = 0; i < count; i += COUNT) {
            FloatVector scaled = FloatVector.fromMemorySegment(F, NATIVE, from + 4L * i, ORDER).max(0f).min(1f).mul(65535f).add(0.5f);
            ((ShortVector) scaled.convertShape(F2I, I, 0).convertShape(I2S, S, 0)).intoMemorySegment(NATIVE, into + 2L * i, ORDER);
        }
    }

    void toHalves(long from, long into, int count) {
        MemorySegment.copy(NATIVE, ValueLayout.JAVA_FLOAT_UNALIGNED, from, floats, 0, count);
        toHalves(floats, halves, count);
        MemorySegment.copy(halves, 0, NATIVE, ValueLayout.JAVA_SHORT_UNALIGNED, into, count);
    }

    // The compiler has registers' instructions for these two loops.
    private static void toFloats(short[] halves, float[] floats, int count) {
        for (int i = 0; i < count; i++) {
            floats[i] = Float.float16ToFloat(halves[i]);
        }
    }

    private static void toHalves(float[] floats, short[] halves, int count) {
        for (int i = 0; i < count; i++) {
            halves[i] = Float.floatToFloat16(floats[i]);
        }
    }
}
