// SPDX-License-Identifier: Apache-2.0
package org.evenstop.vector;

import java.nio.ByteOrder;
import java.util.function.IntUnaryOperator;
import jdk.incubator.vector.FloatVector;
import jdk.incubator.vector.IntVector;
import jdk.incubator.vector.VectorShape;
import jdk.incubator.vector.VectorSpecies;
import org.evenstop.engine.curve.Fused;

/**
 * The register width of this process: as many floats as the widest register holds, and integer registers with as many lanes.
 *
 * <p>How the loops of this package are written, and why: each is one loop in one method, with every operation spelled out.
 * The compiler inlines the vector operations without limit but stops at methods of our own when a loop grows large, and one
 * operation that is not inlined puts every value of the loop on the heap, which is a hundred times slower.
 */
final class Lanes {
    static final VectorSpecies<Float> F = FloatVector.SPECIES_PREFERRED;
    static final int COUNT = F.length();
    static final VectorSpecies<Integer> I = VectorSpecies.of(int.class, F.vectorShape());
    static final VectorSpecies<Short> S = VectorSpecies.of(short.class, VectorShape.forBitSize(Math.max(64, 16 * COUNT)));
    static final VectorSpecies<Byte> B = VectorSpecies.of(byte.class, VectorShape.forBitSize(Math.max(64, 8 * COUNT)));
    static final ByteOrder ORDER = ByteOrder.nativeOrder();
    /** Fewest lanes with which the loops pay, and for which the narrow integer registers exist. */
    static final int LEAST = 8;

    /**
     * Always {@link #COUNT}, which the compiler is not to know: of a loop that goes on by a constant it makes three, and in the midst of it many steps
     * of one. Such loops over blocks of a frame waited for memory, a third of a frame's time, and single ones do not; likely (it was not looked into
     * further) because processors learn by the place of an instruction in which steps it reads, and a block ended before so many
     * instructions were learnt. Only loops that meet a frame's floats go by it.
     */
    static int step = COUNT;

    /** Most lanes that a mask of 64 bits holds. */
    static final int MOST = 64;

    private Lanes() {
    }

    /** Why the vector loops can not serve on this machine; empty where they can. */
    static String refusal() {
        if (COUNT < LEAST || COUNT > MOST) {
            return "registers hold " + COUNT + " floats; the vector loops need " + LEAST + " to " + MOST;
        }
        if (!Fused.IN_HARDWARE) {
            return "this processor has no instruction that multiplies and adds, on which the vector loops go";
        }
        return ORDER == ByteOrder.LITTLE_ENDIAN ? "" : "the vector loops are written for little-endian machines";
    }

    /** @throws UnsupportedOperationException where the vector loops can not serve */
    static void require() {
        if (!refusal().isEmpty()) {
            throw new UnsupportedOperationException(refusal());
        }
    }

    /** A register of integers made lane by lane. */
    static IntVector of(IntUnaryOperator ofLane) {
        int[] values = new int[COUNT];
        for (int lane = 0; lane < COUNT; lane++) {
            values[lane] = ofLane.applyAsInt(lane);
        }
        return IntVector.fromArray(I, values, 0);
    }

    /** The least multiple of the lanes that is not below n. */
    static int roundedUp(int n) {
        return (n + COUNT - 1) / COUNT * COUNT;
    }
}
