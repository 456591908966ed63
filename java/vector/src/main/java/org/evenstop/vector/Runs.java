// SPDX-License-Identifier: Apache-2.0
package org.evenstop.vector;

import static jdk.incubator.vector.VectorOperators.GE;
import static jdk.incubator.vector.VectorOperators.LE;
import static jdk.incubator.vector.VectorOperators.MAX;
import static org.evenstop.vector.Lanes.COUNT;
import static org.evenstop.vector.Lanes.F;
import static org.evenstop.vector.Lanes.I;

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

    /** R from 0, G from {@link #BLOCK}, B from twice that. */
    final float[] rgb = new float[3 * BLOCK];
    final CurveTable chromaIn = new CurveTable();
    final CurveTable tone = new CurveTable();
    final CurveTable chromaOut = new CurveTable();
    boolean changesChromaIn;
    boolean changesTone;
    boolean changesChromaOut;
    float wr;
    float wb;
    float strength;
    private final float[] kept = new float[3 * BLOCK];
    private final float[] luma = new float[BLOCK];
    private final float[] factors = new float[BLOCK];
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
        System.arraycopy(rgb, 0, kept, 0, rgb.length);
        undoChroma(count);
        applyTone(count);
        redoChroma(count);
        for (int run = 0; run < rgb.length; run += BLOCK) {
            mix(kept, rgb, run, run + count, strength);
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
            tone.apply(rgb, 0, 3 * BLOCK);
        } else {
            tone.apply(rgb, 0, count);
            tone.apply(rgb, BLOCK, count);
            tone.apply(rgb, 2 * BLOCK, count);
        }
    }

    private void scaleChroma(CurveTable factor, int count) {
        lumaOf(rgb, count, wr, wb, luma, factors);
        factor.apply(factors, 0, count);
        scale(rgb, count, luma, factors);
    }

    private static void lumaOf(float[] rgb, int count, float wr, float wb, float[] luma, float[] copy) {
        FloatVector ofRed = FloatVector.broadcast(F, wr);
        FloatVector ofBlue = FloatVector.broadcast(F, wb);
        for (int i = 0; i < count; i += COUNT) {
            FloatVector r = FloatVector.fromArray(F, rgb, i);
            FloatVector g = FloatVector.fromArray(F, rgb, BLOCK + i);
            FloatVector b = FloatVector.fromArray(F, rgb, 2 * BLOCK + i);
            FloatVector y = b.sub(g).fma(ofBlue, r.sub(g).fma(ofRed, g));
            y.intoArray(luma, i);
            y.intoArray(copy, i);
        }
    }

    private static void scale(float[] rgb, int count, float[] luma, float[] factors) {
        for (int i = 0; i < count; i += COUNT) {
            FloatVector y = FloatVector.fromArray(F, luma, i);
            FloatVector factor = FloatVector.fromArray(F, factors, i);
            factor.fma(FloatVector.fromArray(F, rgb, i).sub(y), y).intoArray(rgb, i);
            factor.fma(FloatVector.fromArray(F, rgb, BLOCK + i).sub(y), y).intoArray(rgb, BLOCK + i);
            factor.fma(FloatVector.fromArray(F, rgb, 2 * BLOCK + i).sub(y), y).intoArray(rgb, 2 * BLOCK + i);
        }
    }

    private static void mix(float[] kept, float[] corrected, int from, int to, float strength) {
        FloatVector share = FloatVector.broadcast(F, strength);
        for (int i = from; i < to; i += COUNT) {
            FloatVector before = FloatVector.fromArray(F, kept, i);
            FloatVector.fromArray(F, corrected, i).sub(before).fma(share, before).intoArray(corrected, i);
        }
    }

    /**
     * Divides by alpha where there is enough of it.
     *
     * @return the largest magnitude that results, as the bits of a float
     */
    static int divide(float[] rgb, float[] alpha, int count) {
        IntVector largest = IntVector.zero(I);
        for (int i = 0; i < count; i += COUNT) {
            FloatVector a = FloatVector.fromArray(F, alpha, i);
            FloatVector divisor = FloatVector.broadcast(F, 1f).blend(a, a.compare(GE, ScalarKernel.SMALLEST_ALPHA));
            FloatVector r = FloatVector.fromArray(F, rgb, i).div(divisor);
            FloatVector g = FloatVector.fromArray(F, rgb, BLOCK + i).div(divisor);
            FloatVector b = FloatVector.fromArray(F, rgb, 2 * BLOCK + i).div(divisor);
            largest = largest.max(r.reinterpretAsInts().and(MAGNITUDE)).max(g.reinterpretAsInts().and(MAGNITUDE))
                .max(b.reinterpretAsInts().and(MAGNITUDE));
            r.intoArray(rgb, i);
            g.intoArray(rgb, BLOCK + i);
            b.intoArray(rgb, 2 * BLOCK + i);
        }
        return largest.reduceLanes(MAX);
    }

    /** Multiplies by alpha again; pixels whose alpha is too little, infinite or no number become what they were. */
    static void multiply(float[] rgb, float[] alpha, float[] before, int count) {
        for (int i = 0; i < count; i += COUNT) {
            FloatVector a = FloatVector.fromArray(F, alpha, i);
            VectorMask<Float> divided = a.compare(GE, ScalarKernel.SMALLEST_ALPHA).and(a.compare(LE, Float.MAX_VALUE));
            for (int run = i; run < 3 * BLOCK; run += BLOCK) {
                FloatVector.fromArray(F, before, run).blend(FloatVector.fromArray(F, rgb, run).mul(a), divided).intoArray(rgb, run);
            }
        }
    }
}
