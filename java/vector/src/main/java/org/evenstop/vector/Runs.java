// SPDX-License-Identifier: Apache-2.0
package org.evenstop.vector;

import static jdk.incubator.vector.VectorOperators.GE;
import static jdk.incubator.vector.VectorOperators.LE;
import static jdk.incubator.vector.VectorOperators.MAX;
import static org.evenstop.vector.Lanes.COUNT;
import static org.evenstop.vector.Lanes.F;
import static org.evenstop.vector.Lanes.I;
import static org.evenstop.vector.Lanes.ORDER;
import static org.evenstop.vector.Memory.NATIVE;

import jdk.incubator.vector.FloatVector;
import jdk.incubator.vector.IntVector;
import jdk.incubator.vector.VectorMask;
import org.evenstop.engine.kernel.ScalarKernel;
import org.evenstop.engine.solve.Correction;

/**
 * One block of pixels as runs of R, G and B, and the whole model on it: the same operations in the same order as the scalar
 * kernel. Used by one thread. Counts are multiples of the lanes, at most {@link #BLOCK}.
 */
final class Runs {
    /** Pixels in a block: its runs stay in the first-level cache, and memory is asked for often enough not to fall idle. */
    static final int BLOCK = 256;
    private static final int MAGNITUDE = 0x7fffffff;

    private final Scratch scratch = new Scratch();
    /** R, then G from float {@link #BLOCK} on, B from twice that. */
    final long rgb = scratch.floats(3 * BLOCK);
    final CurveTable chromaIn = new CurveTable();
    final CurveTable tone = new CurveTable();
    final CurveTable chromaOut = new CurveTable();
    boolean changesChromaIn;
    boolean changesTone;
    boolean changesChromaOut;
    float wr;
    float wb;
    float strength;
    private final long kept = scratch.floats(3 * BLOCK);
    private final long luma = scratch.floats(BLOCK);
    private final long factors = scratch.floats(BLOCK);
    private Correction correction;

    void set(Correction next, float strength) {
        this.strength = strength;
        if (next == correction) {
            return;
        }
        correction = next;
        chromaIn.set(next.chromaIn());
        tone.set(next.tone());
        chromaOut.set(next.chromaOut());
        changesChromaIn = !next.chromaIn().isConstant(1);
        changesTone = !next.tone().isIdentity();
        changesChromaOut = !next.chromaOut().isConstant(1);
        wr = (float) next.standard().redWeight();
        wb = (float) next.standard().blueWeight();
    }

    /** The one curve that does anything, at full strength, where its loop in {@link FloatPixels} can hold it; else null. */
    CurveTable onlyCurve() {
        if (strength != 1f || (changesChromaIn ? 1 : 0) + (changesTone ? 1 : 0) + (changesChromaOut ? 1 : 0) != 1) {
            return null;
        }
        CurveTable curve = changesTone ? tone : changesChromaIn ? chromaIn : chromaOut;
        return curve.fitsTwo() && (changesTone || curve.isFlatEnded()) ? curve : null;
    }

    /** The whole model, in place. */
    void correct(int count) {
        if (strength == 1f) {
            undoChroma(count);
            applyTone(count);
            redoChroma(count);
            return;
        }
        Memory.copy(rgb, kept, 3 * BLOCK);
        undoChroma(count);
        applyTone(count);
        redoChroma(count);
        for (int run = 0; run < 3 * BLOCK; run += BLOCK) {
            between(kept + 4L * run, rgb + 4L * run, strength, rgb + 4L * run, count);
        }
    }

    /** True where chroma is undone and a loop that does more can hold its curve. */
    boolean fusesChromaIn() {
        return changesChromaIn && chromaIn.fitsTwo() && chromaIn.isFlatEnded();
    }

    /** The same of redoing chroma. */
    boolean fusesChromaOut() {
        return changesChromaOut && chromaOut.fitsTwo() && chromaOut.isFlatEnded();
    }

    void undoChroma(int count) {
        if (changesChromaIn) {
            scaleChroma(chromaIn, count);
        }
    }

    void redoChroma(int count) {
        if (changesChromaOut) {
            scaleChroma(chromaOut, count);
        }
    }

    void applyTone(int count) {
        if (!changesTone) {
            return;
        }
        if (count == BLOCK) {
            tone.apply(rgb, 3 * BLOCK);
        } else {
            tone.apply(rgb, count);
            tone.apply(rgb + 4L * BLOCK, count);
            tone.apply(rgb + 8L * BLOCK, count);
        }
    }

    private void scaleChroma(CurveTable factor, int count) {
        lumaOf(rgb, count, wr, wb, luma, factors);
        factor.apply(factors, count);
        scale(rgb, count, luma, factors);
    }

    private static void lumaOf(long rgb, int count, float wr, float wb, long luma, long copy) {
        FloatVector ofRed = FloatVector.broadcast(F, wr);
        FloatVector ofBlue = FloatVector.broadcast(F, wb);
        for (int i = 0; i < count; i += COUNT) {
            FloatVector r = FloatVector.fromMemorySegment(F, NATIVE, rgb + 4L * i, ORDER);
            FloatVector g = FloatVector.fromMemorySegment(F, NATIVE, rgb + 4L * (BLOCK + i), ORDER);
            FloatVector b = FloatVector.fromMemorySegment(F, NATIVE, rgb + 4L * (2 * BLOCK + i), ORDER);
            FloatVector y = b.sub(g).fma(ofBlue, r.sub(g).fma(ofRed, g));
            y.intoMemorySegment(NATIVE, luma + 4L * i, ORDER);
            y.intoMemorySegment(NATIVE, copy + 4L * i, ORDER);
        }
    }

    private static void scale(long rgb, int count, long luma, long factors) {
        for (int i = 0; i < count; i += COUNT) {
            FloatVector y = FloatVector.fromMemorySegment(F, NATIVE, luma + 4L * i, ORDER);
            FloatVector factor = FloatVector.fromMemorySegment(F, NATIVE, factors + 4L * i, ORDER);
            factor.fma(FloatVector.fromMemorySegment(F, NATIVE, rgb + 4L * i, ORDER).sub(y), y).intoMemorySegment(NATIVE, rgb + 4L * i, ORDER);
            factor.fma(FloatVector.fromMemorySegment(F, NATIVE, rgb + 4L * (BLOCK + i), ORDER).sub(y), y).intoMemorySegment(NATIVE, rgb + 4L * (BLOCK + i), ORDER);
            factor.fma(FloatVector.fromMemorySegment(F, NATIVE, rgb + 4L * (2 * BLOCK + i), ORDER).sub(y), y).intoMemorySegment(NATIVE, rgb + 4L * (2 * BLOCK + i), ORDER);
        }
    }

    /** What lies a share of the way from some values to others; {@code into} may be either of the two. */
    static void between(long some, long others, float share, long into, int count) {
        FloatVector part = FloatVector.broadcast(F, share);
        for (int i = 0; i < count; i += COUNT) {
            FloatVector own = FloatVector.fromMemorySegment(F, NATIVE, some + 4L * i, ORDER);
            FloatVector.fromMemorySegment(F, NATIVE, others + 4L * i, ORDER).sub(own).fma(part, own).intoMemorySegment(NATIVE, into + 4L * i, ORDER);
        }
    }

    /**
     * Divides by alpha where there is enough of it.
     *
     * @return the largest magnitude that results, as the bits of a float
     */
    static int divide(long rgb, long alpha, int count) {
        IntVector largest = IntVector.zero(I);
        for (int i = 0; i < count; i += COUNT) {
            FloatVector a = FloatVector.fromMemorySegment(F, NATIVE, alpha + 4L * i, ORDER);
            FloatVector divisor = FloatVector.broadcast(F, 1f).blend(a, a.compare(GE, ScalarKernel.SMALLEST_ALPHA));
            FloatVector r = FloatVector.fromMemorySegment(F, NATIVE, rgb + 4L * i, ORDER).div(divisor);
            FloatVector g = FloatVector.fromMemorySegment(F, NATIVE, rgb + 4L * (BLOCK + i), ORDER).div(divisor);
            FloatVector b = FloatVector.fromMemorySegment(F, NATIVE, rgb + 4L * (2 * BLOCK + i), ORDER).div(divisor);
            largest = largest.max(r.reinterpretAsInts().and(MAGNITUDE)).max(g.reinterpretAsInts().and(MAGNITUDE))
                .max(b.reinterpretAsInts().and(MAGNITUDE));
            r.intoMemorySegment(NATIVE, rgb + 4L * i, ORDER);
            g.intoMemorySegment(NATIVE, rgb + 4L * (BLOCK + i), ORDER);
            b.intoMemorySegment(NATIVE, rgb + 4L * (2 * BLOCK + i), ORDER);
        }
        return largest.reduceLanes(MAX);
    }

    /** Multiplies by alpha again; pixels whose alpha is too little, infinite or no number become what they were. */
    static void multiply(long rgb, long alpha, long before, int count) {
        for (int i = 0; i < count; i += COUNT) {
            FloatVector a = FloatVector.fromMemorySegment(F, NATIVE, alpha + 4L * i, ORDER);
            VectorMask<Float> divided = a.compare(GE, ScalarKernel.SMALLEST_ALPHA).and(a.compare(LE, Float.MAX_VALUE));
            for (int run = i; run < 3 * BLOCK; run += BLOCK) {
                FloatVector.fromMemorySegment(F, NATIVE, before + 4L * run, ORDER).blend(FloatVector.fromMemorySegment(F, NATIVE, rgb + 4L * run, ORDER).mul(a), divided).intoMemorySegment(NATIVE, rgb + 4L * run, ORDER);
            }
        }
    }
}
