// SPDX-License-Identifier: Apache-2.0
package org.evenstop.vector;

import static jdk.incubator.vector.VectorOperators.MAX;
import static jdk.incubator.vector.VectorOperators.MIN;
import static jdk.incubator.vector.VectorOperators.UMIN;
import static org.evenstop.vector.Lanes.COUNT;
import static org.evenstop.vector.Lanes.F;
import static org.evenstop.vector.Lanes.I;
import static org.evenstop.vector.Lanes.ORDER;
import static org.evenstop.vector.Memory.NATIVE;

import jdk.incubator.vector.FloatVector;
import jdk.incubator.vector.IntVector;
import org.evenstop.engine.curve.Curve;
import org.evenstop.engine.level.LumaStandard;

/**
 * Levels of Y'CbCr rows to runs of R, G and B and back, together with the corrections that pay to do on the way: the same operations in the same
 * order as the scalar kernel's. Factors of chroma that are held in registers fit two and are flat-ended. Counts are multiples of the lanes.
 *
 * <p>Runs hold not levels but where they lie among the segments of the tone curve, which the curve begins with anyway: so the least and the largest
 * of a block say at no cost whether two registers hold all segments that it needs. They mostly do, however many segments the curve has.
 */
final class PlanarLoops {
    /** Sites in a block: its runs stay near, and what comes before a loop counts little. */
    static final int BLOCK = 1024;
    // Of the standard in force.
    private float wr;
    private float wg;
    private float wb;
    private float crToRed;
    private float cbToBlue;
    private float crToGreen;
    private float cbToGreen;
    /** Of the tone curve; 1 and 0 where there is none. */
    private float toneScale;
    private float toneOffset;
    // Of the block in hand, lane by lane, as the bits of floats.
    private final Scratch scratch = new Scratch();
    private final long least = scratch.floats(COUNT);
    private final long largest = scratch.floats(COUNT);

    void set(LumaStandard standard, float toneScale, float toneOffset) {
        this.toneScale = toneScale;
        this.toneOffset = toneOffset;
        wr = (float) standard.redWeight();
        wg = (float) standard.greenWeight();
        wb = (float) standard.blueWeight();
        crToRed = (float) standard.crDivisor();
        cbToBlue = (float) standard.cbDivisor();
        crToGreen = (float) (standard.redWeight() * standard.crDivisor() / standard.greenWeight());
        cbToGreen = (float) (standard.blueWeight() * standard.cbDivisor() / standard.greenWeight());
    }

    static void multiply(long values, long factors, long into, int count) {
        for (int i = 0; i < count; i += COUNT) {
            FloatVector.fromMemorySegment(F, NATIVE, values + 4L * i, ORDER).mul(FloatVector.fromMemorySegment(F, NATIVE, factors + 4L * i, ORDER)).intoMemorySegment(NATIVE, into + 4L * i, ORDER);
        }
    }

    /** Values become a share of the way from {@code own} times {@code scale} to what they are. */
    static void mix(long values, long own, float scale, float share, int count) {
        FloatVector part = FloatVector.broadcast(F, share);
        for (int i = 0; i < count; i += COUNT) {
            FloatVector before = FloatVector.fromMemorySegment(F, NATIVE, own + 4L * i, ORDER).mul(scale);
            FloatVector.fromMemorySegment(F, NATIVE, values + 4L * i, ORDER).sub(before).fma(part, before).intoMemorySegment(NATIVE, values + 4L * i, ORDER);
        }
    }

    void beginBlock() {
        IntVector.broadcast(I, Integer.MAX_VALUE).intoMemorySegment(NATIVE, least, ORDER);
        IntVector.broadcast(I, Integer.MIN_VALUE).intoMemorySegment(NATIVE, largest, ORDER);
    }

    /** Whether all of the block lies within the tone curve's window, which is moved there; not where it reaches out of the curve or to its very beginning. */
    boolean isWithinWindow(CurveTable tone) {
        int low = IntVector.fromMemorySegment(I, NATIVE, least, ORDER).reduceLanes(MIN);
        float high = Float.intBitsToFloat(IntVector.fromMemorySegment(I, NATIVE, largest, ORDER).reduceLanes(MAX));
        // The bits of what is negative or no number are no place.
        return low >= 0 && high <= tone.highest() && tone.shows(CurveTable.segmentAt(Float.intBitsToFloat(low)), CurveTable.segmentAt(high));
    }

    /** To runs, of which {@code rgb} is where R begins. */
    void toTone(long luma, long cb, long cr, long rgb, int count) {
        FloatVector crToRed = FloatVector.broadcast(F, this.crToRed);
        FloatVector cbToBlue = FloatVector.broadcast(F, this.cbToBlue);
        FloatVector crToGreen = FloatVector.broadcast(F, -this.crToGreen);
        FloatVector cbToGreen = FloatVector.broadcast(F, -this.cbToGreen);
        FloatVector toneScale = FloatVector.broadcast(F, this.toneScale);
        FloatVector toneOffset = FloatVector.broadcast(F, this.toneOffset);
        IntVector low = IntVector.fromMemorySegment(I, NATIVE, least, ORDER);
        IntVector high = IntVector.fromMemorySegment(I, NATIVE, largest, ORDER);
        for (int i = 0; i < count; i += COUNT) {
            FloatVector y = FloatVector.fromMemorySegment(F, NATIVE, luma + 4L * i, ORDER);
            FloatVector blue = FloatVector.fromMemorySegment(F, NATIVE, cb + 4L * i, ORDER);
            FloatVector red = FloatVector.fromMemorySegment(F, NATIVE, cr + 4L * i, ORDER);
            FloatVector r = red.fma(crToRed, y).fma(toneScale, toneOffset);
            FloatVector g = blue.fma(cbToGreen, red.fma(crToGreen, y)).fma(toneScale, toneOffset);
            FloatVector b = blue.fma(cbToBlue, y).fma(toneScale, toneOffset);
            low = low.min(r.reinterpretAsInts()).min(g.reinterpretAsInts()).min(b.reinterpretAsInts());
            high = high.max(r.reinterpretAsInts()).max(g.reinterpretAsInts()).max(b.reinterpretAsInts());
            r.intoMemorySegment(NATIVE, rgb + 4L * i, ORDER);
            g.intoMemorySegment(NATIVE, rgb + 4L * (BLOCK + i), ORDER);
            b.intoMemorySegment(NATIVE, rgb + 4L * (2 * BLOCK + i), ORDER);
        }
        low.intoMemorySegment(NATIVE, least, ORDER);
        high.intoMemorySegment(NATIVE, largest, ORDER);
    }

    /** The same with chroma multiplied by the factor at luma. */
    void toToneScaled(long luma, long cb, long cr, long rgb, int count, CurveTable curve) {
        IntVector a0 = IntVector.fromMemorySegment(I, NATIVE, curve.k0, ORDER);
        IntVector b0 = IntVector.fromMemorySegment(I, NATIVE, curve.k0 + 4L * COUNT, ORDER);
        IntVector a1 = IntVector.fromMemorySegment(I, NATIVE, curve.k1, ORDER);
        IntVector b1 = IntVector.fromMemorySegment(I, NATIVE, curve.k1 + 4L * COUNT, ORDER);
        IntVector a2 = IntVector.fromMemorySegment(I, NATIVE, curve.k2, ORDER);
        IntVector b2 = IntVector.fromMemorySegment(I, NATIVE, curve.k2 + 4L * COUNT, ORDER);
        IntVector a3 = IntVector.fromMemorySegment(I, NATIVE, curve.k3, ORDER);
        IntVector b3 = IntVector.fromMemorySegment(I, NATIVE, curve.k3 + 4L * COUNT, ORDER);
        FloatVector scale = FloatVector.broadcast(F, curve.scale());
        FloatVector offset = FloatVector.broadcast(F, curve.offset());
        IntVector highest = IntVector.broadcast(I, Float.floatToRawIntBits(curve.highest()));
        FloatVector crToRed = FloatVector.broadcast(F, this.crToRed);
        FloatVector cbToBlue = FloatVector.broadcast(F, this.cbToBlue);
        FloatVector crToGreen = FloatVector.broadcast(F, -this.crToGreen);
        FloatVector cbToGreen = FloatVector.broadcast(F, -this.cbToGreen);
        FloatVector toneScale = FloatVector.broadcast(F, this.toneScale);
        FloatVector toneOffset = FloatVector.broadcast(F, this.toneOffset);
        IntVector low = IntVector.fromMemorySegment(I, NATIVE, least, ORDER);
        IntVector high = IntVector.fromMemorySegment(I, NATIVE, largest, ORDER);
        for (int i = 0; i < count; i += COUNT) {
            FloatVector y = FloatVector.fromMemorySegment(F, NATIVE, luma + 4L * i, ORDER);
            FloatVector inside = y.fma(scale, offset).reinterpretAsInts().lanewise(UMIN, CurveTable.LOWEST).min(highest).reinterpretAsFloats();
            FloatVector rounded = inside.add(Curve.ROUNDER);
            FloatVector f = inside.sub(rounded.sub(Curve.ROUNDER));
            IntVector j = rounded.reinterpretAsInts();
            FloatVector factor = j.selectFrom(a3, b3).reinterpretAsFloats().fma(f, j.selectFrom(a2, b2).reinterpretAsFloats());
            factor = factor.fma(f, j.selectFrom(a1, b1).reinterpretAsFloats());
            factor = factor.fma(f, j.selectFrom(a0, b0).reinterpretAsFloats());
            FloatVector blue = FloatVector.fromMemorySegment(F, NATIVE, cb + 4L * i, ORDER).mul(factor);
            FloatVector red = FloatVector.fromMemorySegment(F, NATIVE, cr + 4L * i, ORDER).mul(factor);
            FloatVector r = red.fma(crToRed, y).fma(toneScale, toneOffset);
            FloatVector g = blue.fma(cbToGreen, red.fma(crToGreen, y)).fma(toneScale, toneOffset);
            FloatVector b = blue.fma(cbToBlue, y).fma(toneScale, toneOffset);
            low = low.min(r.reinterpretAsInts()).min(g.reinterpretAsInts()).min(b.reinterpretAsInts());
            high = high.max(r.reinterpretAsInts()).max(g.reinterpretAsInts()).max(b.reinterpretAsInts());
            r.intoMemorySegment(NATIVE, rgb + 4L * i, ORDER);
            g.intoMemorySegment(NATIVE, rgb + 4L * (BLOCK + i), ORDER);
            b.intoMemorySegment(NATIVE, rgb + 4L * (2 * BLOCK + i), ORDER);
        }
        low.intoMemorySegment(NATIVE, least, ORDER);
        high.intoMemorySegment(NATIVE, largest, ORDER);
    }

    /** The luma of R, G and B. */
    void lumaOf(long rgb, int count, long luma) {
        FloatVector wr = FloatVector.broadcast(F, this.wr);
        FloatVector wg = FloatVector.broadcast(F, this.wg);
        FloatVector wb = FloatVector.broadcast(F, this.wb);
        for (int i = 0; i < count; i += COUNT) {
            FloatVector green = FloatVector.fromMemorySegment(F, NATIVE, rgb + 4L * (BLOCK + i), ORDER).fma(wg, FloatVector.fromMemorySegment(F, NATIVE, rgb + 4L * i, ORDER).mul(wr));
            FloatVector.fromMemorySegment(F, NATIVE, rgb + 4L * (2 * BLOCK + i), ORDER).fma(wb, green).intoMemorySegment(NATIVE, luma + 4L * i, ORDER);
        }
    }

    /** The luma of what the tone curve makes of runs that lie within its window; the runs stay as they are. */
    void lumaOfToned(long rgb, int count, CurveTable tone, long luma) {
        IntVector a0 = IntVector.fromMemorySegment(I, NATIVE, tone.window, ORDER);
        IntVector b0 = IntVector.fromMemorySegment(I, NATIVE, tone.window + 4L * COUNT, ORDER);
        IntVector a1 = IntVector.fromMemorySegment(I, NATIVE, tone.window + 8L * COUNT, ORDER);
        IntVector b1 = IntVector.fromMemorySegment(I, NATIVE, tone.window + 12L * COUNT, ORDER);
        IntVector a2 = IntVector.fromMemorySegment(I, NATIVE, tone.window + 16L * COUNT, ORDER);
        IntVector b2 = IntVector.fromMemorySegment(I, NATIVE, tone.window + 20L * COUNT, ORDER);
        IntVector a3 = IntVector.fromMemorySegment(I, NATIVE, tone.window + 24L * COUNT, ORDER);
        IntVector b3 = IntVector.fromMemorySegment(I, NATIVE, tone.window + 28L * COUNT, ORDER);
        FloatVector wr = FloatVector.broadcast(F, this.wr);
        FloatVector wg = FloatVector.broadcast(F, this.wg);
        FloatVector wb = FloatVector.broadcast(F, this.wb);
        for (int i = 0; i < count; i += COUNT) {
            FloatVector tRed = FloatVector.fromMemorySegment(F, NATIVE, rgb + 4L * i, ORDER);
            FloatVector roundedRed = tRed.add(Curve.ROUNDER);
            FloatVector fRed = tRed.sub(roundedRed.sub(Curve.ROUNDER));
            IntVector jRed = roundedRed.reinterpretAsInts();
            FloatVector r = jRed.selectFrom(a3, b3).reinterpretAsFloats().fma(fRed, jRed.selectFrom(a2, b2).reinterpretAsFloats());
            r = r.fma(fRed, jRed.selectFrom(a1, b1).reinterpretAsFloats());
            r = r.fma(fRed, jRed.selectFrom(a0, b0).reinterpretAsFloats());
            FloatVector tGreen = FloatVector.fromMemorySegment(F, NATIVE, rgb + 4L * (BLOCK + i), ORDER);
            FloatVector roundedGreen = tGreen.add(Curve.ROUNDER);
            FloatVector fGreen = tGreen.sub(roundedGreen.sub(Curve.ROUNDER));
            IntVector jGreen = roundedGreen.reinterpretAsInts();
            FloatVector g = jGreen.selectFrom(a3, b3).reinterpretAsFloats().fma(fGreen, jGreen.selectFrom(a2, b2).reinterpretAsFloats());
            g = g.fma(fGreen, jGreen.selectFrom(a1, b1).reinterpretAsFloats());
            g = g.fma(fGreen, jGreen.selectFrom(a0, b0).reinterpretAsFloats());
            FloatVector tBlue = FloatVector.fromMemorySegment(F, NATIVE, rgb + 4L * (2 * BLOCK + i), ORDER);
            FloatVector roundedBlue = tBlue.add(Curve.ROUNDER);
            FloatVector fBlue = tBlue.sub(roundedBlue.sub(Curve.ROUNDER));
            IntVector jBlue = roundedBlue.reinterpretAsInts();
            FloatVector b = jBlue.selectFrom(a3, b3).reinterpretAsFloats().fma(fBlue, jBlue.selectFrom(a2, b2).reinterpretAsFloats());
            b = b.fma(fBlue, jBlue.selectFrom(a1, b1).reinterpretAsFloats());
            b = b.fma(fBlue, jBlue.selectFrom(a0, b0).reinterpretAsFloats());
            b.fma(wb, g.fma(wg, r.mul(wr))).intoMemorySegment(NATIVE, luma + 4L * i, ORDER);
        }
    }

    /** The luma of R, G and B, and how far B and R lie above it. */
    void differencesOf(long rgb, int count, long luma, long blueLess, long redLess) {
        FloatVector wr = FloatVector.broadcast(F, this.wr);
        FloatVector wg = FloatVector.broadcast(F, this.wg);
        FloatVector wb = FloatVector.broadcast(F, this.wb);
        for (int i = 0; i < count; i += COUNT) {
            FloatVector r = FloatVector.fromMemorySegment(F, NATIVE, rgb + 4L * i, ORDER);
            FloatVector b = FloatVector.fromMemorySegment(F, NATIVE, rgb + 4L * (2 * BLOCK + i), ORDER);
            FloatVector y = b.fma(wb, FloatVector.fromMemorySegment(F, NATIVE, rgb + 4L * (BLOCK + i), ORDER).fma(wg, r.mul(wr)));
            y.intoMemorySegment(NATIVE, luma + 4L * i, ORDER);
            b.sub(y).intoMemorySegment(NATIVE, blueLess + 4L * i, ORDER);
            r.sub(y).intoMemorySegment(NATIVE, redLess + 4L * i, ORDER);
        }
    }

    /** The same, B and R multiplied by the factor at that luma. */
    void differencesOfScaled(long rgb, int count, CurveTable curve, long luma, long blueLess, long redLess) {
        IntVector a0 = IntVector.fromMemorySegment(I, NATIVE, curve.k0, ORDER);
        IntVector b0 = IntVector.fromMemorySegment(I, NATIVE, curve.k0 + 4L * COUNT, ORDER);
        IntVector a1 = IntVector.fromMemorySegment(I, NATIVE, curve.k1, ORDER);
        IntVector b1 = IntVector.fromMemorySegment(I, NATIVE, curve.k1 + 4L * COUNT, ORDER);
        IntVector a2 = IntVector.fromMemorySegment(I, NATIVE, curve.k2, ORDER);
        IntVector b2 = IntVector.fromMemorySegment(I, NATIVE, curve.k2 + 4L * COUNT, ORDER);
        IntVector a3 = IntVector.fromMemorySegment(I, NATIVE, curve.k3, ORDER);
        IntVector b3 = IntVector.fromMemorySegment(I, NATIVE, curve.k3 + 4L * COUNT, ORDER);
        FloatVector scale = FloatVector.broadcast(F, curve.scale());
        FloatVector offset = FloatVector.broadcast(F, curve.offset());
        IntVector highest = IntVector.broadcast(I, Float.floatToRawIntBits(curve.highest()));
        FloatVector wr = FloatVector.broadcast(F, this.wr);
        FloatVector wg = FloatVector.broadcast(F, this.wg);
        FloatVector wb = FloatVector.broadcast(F, this.wb);
        for (int i = 0; i < count; i += COUNT) {
            FloatVector r = FloatVector.fromMemorySegment(F, NATIVE, rgb + 4L * i, ORDER);
            FloatVector b = FloatVector.fromMemorySegment(F, NATIVE, rgb + 4L * (2 * BLOCK + i), ORDER);
            FloatVector y = b.fma(wb, FloatVector.fromMemorySegment(F, NATIVE, rgb + 4L * (BLOCK + i), ORDER).fma(wg, r.mul(wr)));
            FloatVector inside = y.fma(scale, offset).reinterpretAsInts().lanewise(UMIN, CurveTable.LOWEST).min(highest).reinterpretAsFloats();
            FloatVector rounded = inside.add(Curve.ROUNDER);
            FloatVector f = inside.sub(rounded.sub(Curve.ROUNDER));
            IntVector j = rounded.reinterpretAsInts();
            FloatVector factor = j.selectFrom(a3, b3).reinterpretAsFloats().fma(f, j.selectFrom(a2, b2).reinterpretAsFloats());
            factor = factor.fma(f, j.selectFrom(a1, b1).reinterpretAsFloats());
            factor = factor.fma(f, j.selectFrom(a0, b0).reinterpretAsFloats());
            y.intoMemorySegment(NATIVE, luma + 4L * i, ORDER);
            b.sub(y).mul(factor).intoMemorySegment(NATIVE, blueLess + 4L * i, ORDER);
            r.sub(y).mul(factor).intoMemorySegment(NATIVE, redLess + 4L * i, ORDER);
        }
    }
}
