// SPDX-License-Identifier: Apache-2.0
package org.evenstop.vector;

import static jdk.incubator.vector.VectorOperators.MAX;
import static jdk.incubator.vector.VectorOperators.MIN;
import static jdk.incubator.vector.VectorOperators.UMIN;
import static org.evenstop.vector.Lanes.COUNT;
import static org.evenstop.vector.Lanes.F;
import static org.evenstop.vector.Lanes.I;
import static org.evenstop.vector.Runs.BLOCK;

import java.util.Arrays;
import jdk.incubator.vector.FloatVector;
import jdk.incubator.vector.IntVector;
import org.evenstop.engine.curve.Curve;
import org.evenstop.engine.level.LumaStandard;

/**
 * Levels of Y'CbCr rows to runs of R, G and B and back, together with the corrections that pay to do on the way: the same operations in the same
 * order as the scalar kernel's. Factors of chroma that are held in registers fit two and are flat-ended. Counts are multiples of the lanes.
 *
 * <p>Runs hold not levels but where they lie among the segments of the tone curve, which the curve begins with anyway: so the least and the largest
 * of a block say at no cost whether all of it lies within two neighbouring registers of segments. It mostly does, however many segments the curve has.
 */
final class PlanarLoops {
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
    private final int[] least = new int[COUNT];
    private final int[] largest = new int[COUNT];

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

    /** Chroma a share of the way from its sites to their neighbours'. */
    static void between(float[] chroma, int site, int neighbour, float share, float[] into, int at, int count) {
        FloatVector part = FloatVector.broadcast(F, share);
        for (int i = 0; i < count; i += COUNT) {
            FloatVector own = FloatVector.fromArray(F, chroma, site + i);
            FloatVector.fromArray(F, chroma, neighbour + i).sub(own).fma(part, own).intoArray(into, at + i);
        }
    }

    static void multiply(float[] values, int from, float[] factors, float[] into, int count) {
        for (int i = 0; i < count; i += COUNT) {
            FloatVector.fromArray(F, values, from + i).mul(FloatVector.fromArray(F, factors, i)).intoArray(into, i);
        }
    }

    /** Values become a share of the way from {@code own} times {@code scale} to what they are. */
    static void mix(float[] values, int from, float[] own, int ownFrom, float scale, float share, int count) {
        FloatVector part = FloatVector.broadcast(F, share);
        for (int i = 0; i < count; i += COUNT) {
            FloatVector before = FloatVector.fromArray(F, own, ownFrom + i).mul(scale);
            FloatVector.fromArray(F, values, from + i).sub(before).fma(part, before).intoArray(values, from + i);
        }
    }

    void beginBlock() {
        Arrays.fill(least, Integer.MAX_VALUE);
        Arrays.fill(largest, Integer.MIN_VALUE);
    }

    /**
     * Where the block lies among the tone curve's segments: the first of two neighbouring registers that hold all of it, or -1 where no two do or
     * where it reaches out of the curve or to its very beginning.
     */
    int registerOf(CurveTable tone) {
        int low = IntVector.fromArray(I, least, 0).reduceLanes(MIN);
        float high = Float.intBitsToFloat(IntVector.fromArray(I, largest, 0).reduceLanes(MAX));
        // The bits of what is negative or no number are no place.
        if (low < 0 || !(high <= tone.highest())) {
            return -1;
        }
        int first = CurveTable.segmentAt(Float.intBitsToFloat(low)) / COUNT;
        return CurveTable.segmentAt(high) / COUNT <= first + 1 ? first : -1;
    }

    /**
     * To runs from {@code run} on.
     *
     * @param luma from {@code lumaAt} on
     * @param site of the first chroma in {@code cb} and {@code cr}
     */
    void toTone(float[] luma, int lumaAt, float[] cb, float[] cr, int site, float[] rgb, int run, int count) {
        FloatVector crToRed = FloatVector.broadcast(F, this.crToRed);
        FloatVector cbToBlue = FloatVector.broadcast(F, this.cbToBlue);
        FloatVector crToGreen = FloatVector.broadcast(F, -this.crToGreen);
        FloatVector cbToGreen = FloatVector.broadcast(F, -this.cbToGreen);
        FloatVector toneScale = FloatVector.broadcast(F, this.toneScale);
        FloatVector toneOffset = FloatVector.broadcast(F, this.toneOffset);
        IntVector low = IntVector.fromArray(I, least, 0);
        IntVector high = IntVector.fromArray(I, largest, 0);
        for (int i = 0; i < count; i += COUNT) {
            FloatVector y = FloatVector.fromArray(F, luma, lumaAt + i);
            FloatVector blue = FloatVector.fromArray(F, cb, site + i);
            FloatVector red = FloatVector.fromArray(F, cr, site + i);
            FloatVector r = red.fma(crToRed, y).fma(toneScale, toneOffset);
            FloatVector g = blue.fma(cbToGreen, red.fma(crToGreen, y)).fma(toneScale, toneOffset);
            FloatVector b = blue.fma(cbToBlue, y).fma(toneScale, toneOffset);
            low = low.min(r.reinterpretAsInts()).min(g.reinterpretAsInts()).min(b.reinterpretAsInts());
            high = high.max(r.reinterpretAsInts()).max(g.reinterpretAsInts()).max(b.reinterpretAsInts());
            r.intoArray(rgb, run + i);
            g.intoArray(rgb, BLOCK + run + i);
            b.intoArray(rgb, 2 * BLOCK + run + i);
        }
        low.intoArray(least, 0);
        high.intoArray(largest, 0);
    }

    /** The same with chroma multiplied by the factor at luma. */
    void toToneScaled(float[] luma, int lumaAt, float[] cb, float[] cr, int site, float[] rgb, int run, int count, CurveTable curve) {
        IntVector a0 = IntVector.fromArray(I, curve.k0, 0);
        IntVector b0 = IntVector.fromArray(I, curve.k0, COUNT);
        IntVector a1 = IntVector.fromArray(I, curve.k1, 0);
        IntVector b1 = IntVector.fromArray(I, curve.k1, COUNT);
        IntVector a2 = IntVector.fromArray(I, curve.k2, 0);
        IntVector b2 = IntVector.fromArray(I, curve.k2, COUNT);
        IntVector a3 = IntVector.fromArray(I, curve.k3, 0);
        IntVector b3 = IntVector.fromArray(I, curve.k3, COUNT);
        FloatVector scale = FloatVector.broadcast(F, curve.scale());
        FloatVector offset = FloatVector.broadcast(F, curve.offset());
        IntVector highest = IntVector.broadcast(I, Float.floatToRawIntBits(curve.highest()));
        FloatVector crToRed = FloatVector.broadcast(F, this.crToRed);
        FloatVector cbToBlue = FloatVector.broadcast(F, this.cbToBlue);
        FloatVector crToGreen = FloatVector.broadcast(F, -this.crToGreen);
        FloatVector cbToGreen = FloatVector.broadcast(F, -this.cbToGreen);
        FloatVector toneScale = FloatVector.broadcast(F, this.toneScale);
        FloatVector toneOffset = FloatVector.broadcast(F, this.toneOffset);
        IntVector low = IntVector.fromArray(I, least, 0);
        IntVector high = IntVector.fromArray(I, largest, 0);
        for (int i = 0; i < count; i += COUNT) {
            FloatVector y = FloatVector.fromArray(F, luma, lumaAt + i);
            FloatVector inside = y.fma(scale, offset).reinterpretAsInts().lanewise(UMIN, CurveTable.LOWEST).min(highest).reinterpretAsFloats();
            FloatVector rounded = inside.add(Curve.ROUNDER);
            FloatVector f = inside.sub(rounded.sub(Curve.ROUNDER));
            IntVector j = rounded.reinterpretAsInts();
            FloatVector factor = j.selectFrom(a3, b3).reinterpretAsFloats().fma(f, j.selectFrom(a2, b2).reinterpretAsFloats());
            factor = factor.fma(f, j.selectFrom(a1, b1).reinterpretAsFloats());
            factor = factor.fma(f, j.selectFrom(a0, b0).reinterpretAsFloats());
            FloatVector blue = FloatVector.fromArray(F, cb, site + i).mul(factor);
            FloatVector red = FloatVector.fromArray(F, cr, site + i).mul(factor);
            FloatVector r = red.fma(crToRed, y).fma(toneScale, toneOffset);
            FloatVector g = blue.fma(cbToGreen, red.fma(crToGreen, y)).fma(toneScale, toneOffset);
            FloatVector b = blue.fma(cbToBlue, y).fma(toneScale, toneOffset);
            low = low.min(r.reinterpretAsInts()).min(g.reinterpretAsInts()).min(b.reinterpretAsInts());
            high = high.max(r.reinterpretAsInts()).max(g.reinterpretAsInts()).max(b.reinterpretAsInts());
            r.intoArray(rgb, run + i);
            g.intoArray(rgb, BLOCK + run + i);
            b.intoArray(rgb, 2 * BLOCK + run + i);
        }
        low.intoArray(least, 0);
        high.intoArray(largest, 0);
    }

    /** The luma of R, G and B. */
    void lumaOf(float[] rgb, int count, float[] luma) {
        FloatVector wr = FloatVector.broadcast(F, this.wr);
        FloatVector wg = FloatVector.broadcast(F, this.wg);
        FloatVector wb = FloatVector.broadcast(F, this.wb);
        for (int i = 0; i < count; i += COUNT) {
            FloatVector green = FloatVector.fromArray(F, rgb, BLOCK + i).fma(wg, FloatVector.fromArray(F, rgb, i).mul(wr));
            FloatVector.fromArray(F, rgb, 2 * BLOCK + i).fma(wb, green).intoArray(luma, i);
        }
    }

    /** The luma of what the tone curve makes of runs that lie within two neighbouring registers; the runs stay as they are. */
    void lumaOfToned(float[] rgb, int count, CurveTable tone, int register, float[] luma) {
        int even = COUNT * (register + 1 & ~1);
        int odd = COUNT * (register | 1);
        IntVector a0 = IntVector.fromArray(I, tone.k0, even);
        IntVector b0 = IntVector.fromArray(I, tone.k0, odd);
        IntVector a1 = IntVector.fromArray(I, tone.k1, even);
        IntVector b1 = IntVector.fromArray(I, tone.k1, odd);
        IntVector a2 = IntVector.fromArray(I, tone.k2, even);
        IntVector b2 = IntVector.fromArray(I, tone.k2, odd);
        IntVector a3 = IntVector.fromArray(I, tone.k3, even);
        IntVector b3 = IntVector.fromArray(I, tone.k3, odd);
        FloatVector wr = FloatVector.broadcast(F, this.wr);
        FloatVector wg = FloatVector.broadcast(F, this.wg);
        FloatVector wb = FloatVector.broadcast(F, this.wb);
        for (int i = 0; i < count; i += COUNT) {
            FloatVector tRed = FloatVector.fromArray(F, rgb, i);
            FloatVector roundedRed = tRed.add(Curve.ROUNDER);
            FloatVector fRed = tRed.sub(roundedRed.sub(Curve.ROUNDER));
            IntVector jRed = roundedRed.reinterpretAsInts();
            FloatVector r = jRed.selectFrom(a3, b3).reinterpretAsFloats().fma(fRed, jRed.selectFrom(a2, b2).reinterpretAsFloats());
            r = r.fma(fRed, jRed.selectFrom(a1, b1).reinterpretAsFloats());
            r = r.fma(fRed, jRed.selectFrom(a0, b0).reinterpretAsFloats());
            FloatVector tGreen = FloatVector.fromArray(F, rgb, BLOCK + i);
            FloatVector roundedGreen = tGreen.add(Curve.ROUNDER);
            FloatVector fGreen = tGreen.sub(roundedGreen.sub(Curve.ROUNDER));
            IntVector jGreen = roundedGreen.reinterpretAsInts();
            FloatVector g = jGreen.selectFrom(a3, b3).reinterpretAsFloats().fma(fGreen, jGreen.selectFrom(a2, b2).reinterpretAsFloats());
            g = g.fma(fGreen, jGreen.selectFrom(a1, b1).reinterpretAsFloats());
            g = g.fma(fGreen, jGreen.selectFrom(a0, b0).reinterpretAsFloats());
            FloatVector tBlue = FloatVector.fromArray(F, rgb, 2 * BLOCK + i);
            FloatVector roundedBlue = tBlue.add(Curve.ROUNDER);
            FloatVector fBlue = tBlue.sub(roundedBlue.sub(Curve.ROUNDER));
            IntVector jBlue = roundedBlue.reinterpretAsInts();
            FloatVector b = jBlue.selectFrom(a3, b3).reinterpretAsFloats().fma(fBlue, jBlue.selectFrom(a2, b2).reinterpretAsFloats());
            b = b.fma(fBlue, jBlue.selectFrom(a1, b1).reinterpretAsFloats());
            b = b.fma(fBlue, jBlue.selectFrom(a0, b0).reinterpretAsFloats());
            b.fma(wb, g.fma(wg, r.mul(wr))).intoArray(luma, i);
        }
    }

    /** The luma of R, G and B, and how far B and R lie above it. */
    void differencesOf(float[] rgb, int count, float[] luma, float[] blueLess, float[] redLess) {
        FloatVector wr = FloatVector.broadcast(F, this.wr);
        FloatVector wg = FloatVector.broadcast(F, this.wg);
        FloatVector wb = FloatVector.broadcast(F, this.wb);
        for (int i = 0; i < count; i += COUNT) {
            FloatVector r = FloatVector.fromArray(F, rgb, i);
            FloatVector b = FloatVector.fromArray(F, rgb, 2 * BLOCK + i);
            FloatVector y = b.fma(wb, FloatVector.fromArray(F, rgb, BLOCK + i).fma(wg, r.mul(wr)));
            y.intoArray(luma, i);
            b.sub(y).intoArray(blueLess, i);
            r.sub(y).intoArray(redLess, i);
        }
    }

    /** The same, B and R multiplied by the factor at that luma. */
    void differencesOfScaled(float[] rgb, int count, CurveTable curve, float[] luma, float[] blueLess, float[] redLess) {
        IntVector a0 = IntVector.fromArray(I, curve.k0, 0);
        IntVector b0 = IntVector.fromArray(I, curve.k0, COUNT);
        IntVector a1 = IntVector.fromArray(I, curve.k1, 0);
        IntVector b1 = IntVector.fromArray(I, curve.k1, COUNT);
        IntVector a2 = IntVector.fromArray(I, curve.k2, 0);
        IntVector b2 = IntVector.fromArray(I, curve.k2, COUNT);
        IntVector a3 = IntVector.fromArray(I, curve.k3, 0);
        IntVector b3 = IntVector.fromArray(I, curve.k3, COUNT);
        FloatVector scale = FloatVector.broadcast(F, curve.scale());
        FloatVector offset = FloatVector.broadcast(F, curve.offset());
        IntVector highest = IntVector.broadcast(I, Float.floatToRawIntBits(curve.highest()));
        FloatVector wr = FloatVector.broadcast(F, this.wr);
        FloatVector wg = FloatVector.broadcast(F, this.wg);
        FloatVector wb = FloatVector.broadcast(F, this.wb);
        for (int i = 0; i < count; i += COUNT) {
            FloatVector r = FloatVector.fromArray(F, rgb, i);
            FloatVector b = FloatVector.fromArray(F, rgb, 2 * BLOCK + i);
            FloatVector y = b.fma(wb, FloatVector.fromArray(F, rgb, BLOCK + i).fma(wg, r.mul(wr)));
            FloatVector inside = y.fma(scale, offset).reinterpretAsInts().lanewise(UMIN, CurveTable.LOWEST).min(highest).reinterpretAsFloats();
            FloatVector rounded = inside.add(Curve.ROUNDER);
            FloatVector f = inside.sub(rounded.sub(Curve.ROUNDER));
            IntVector j = rounded.reinterpretAsInts();
            FloatVector factor = j.selectFrom(a3, b3).reinterpretAsFloats().fma(f, j.selectFrom(a2, b2).reinterpretAsFloats());
            factor = factor.fma(f, j.selectFrom(a1, b1).reinterpretAsFloats());
            factor = factor.fma(f, j.selectFrom(a0, b0).reinterpretAsFloats());
            y.intoArray(luma, i);
            b.sub(y).mul(factor).intoArray(blueLess, i);
            r.sub(y).mul(factor).intoArray(redLess, i);
        }
    }
}
