// SPDX-License-Identifier: Apache-2.0
package org.evenstop.vector;

import static jdk.incubator.vector.VectorOperators.LT;
import static jdk.incubator.vector.VectorOperators.UMIN;
import static org.evenstop.vector.Lanes.COUNT;
import static org.evenstop.vector.Lanes.F;
import static org.evenstop.vector.Lanes.I;
import static org.evenstop.vector.Runs.BLOCK;

import jdk.incubator.vector.FloatVector;
import jdk.incubator.vector.IntVector;
import org.evenstop.engine.curve.Curve;
import org.evenstop.engine.level.LumaStandard;

/**
 * Levels of Y'CbCr rows to runs of R, G and B and back, together with the corrections that pay to do on the way: the same operations in the same
 * order as doing one after the other. Curves fit two registers; factors of chroma are flat-ended. Counts are multiples of the lanes.
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

    void set(LumaStandard standard) {
        wr = (float) standard.redWeight();
        wg = (float) standard.greenWeight();
        wb = (float) standard.blueWeight();
        crToRed = (float) standard.crDivisor();
        cbToBlue = (float) standard.cbDivisor();
        crToGreen = (float) (standard.redWeight() * standard.crDivisor() / standard.greenWeight());
        cbToGreen = (float) (standard.blueWeight() * standard.cbDivisor() / standard.greenWeight());
    }

    /**
     * To runs from {@code run} on, chroma a share of the way from its site to a neighbour's.
     *
     * @param luma from {@code lumaAt} on
     * @param site of the first chroma in {@code cb} and {@code cr}
     */
    void toRgb(float[] luma, int lumaAt, float[] cb, float[] cr, int site, int neighbour, float share, float[] rgb, int run, int count) {
        FloatVector part = FloatVector.broadcast(F, share);
        FloatVector crToRed = FloatVector.broadcast(F, this.crToRed);
        FloatVector cbToBlue = FloatVector.broadcast(F, this.cbToBlue);
        FloatVector crToGreen = FloatVector.broadcast(F, -this.crToGreen);
        FloatVector cbToGreen = FloatVector.broadcast(F, -this.cbToGreen);
        for (int i = 0; i < count; i += COUNT) {
            FloatVector y = FloatVector.fromArray(F, luma, lumaAt + i);
            FloatVector blue = FloatVector.fromArray(F, cb, site + i);
            FloatVector red = FloatVector.fromArray(F, cr, site + i);
            blue = FloatVector.fromArray(F, cb, neighbour + i).sub(blue).fma(part, blue);
            red = FloatVector.fromArray(F, cr, neighbour + i).sub(red).fma(part, red);
            red.fma(crToRed, y).intoArray(rgb, run + i);
            blue.fma(cbToGreen, red.fma(crToGreen, y)).intoArray(rgb, BLOCK + run + i);
            blue.fma(cbToBlue, y).intoArray(rgb, 2 * BLOCK + run + i);
        }
    }

    /** The same with chroma scaled by the factor at the luma of R, G and B. */
    void toRgbScaled(float[] luma, int lumaAt, float[] cb, float[] cr, int site, int neighbour, float share, float[] rgb, int run, int count,
                     CurveTable curve) {
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
        FloatVector wb = FloatVector.broadcast(F, this.wb);
        FloatVector part = FloatVector.broadcast(F, share);
        FloatVector crToRed = FloatVector.broadcast(F, this.crToRed);
        FloatVector cbToBlue = FloatVector.broadcast(F, this.cbToBlue);
        FloatVector crToGreen = FloatVector.broadcast(F, -this.crToGreen);
        FloatVector cbToGreen = FloatVector.broadcast(F, -this.cbToGreen);
        for (int i = 0; i < count; i += COUNT) {
            FloatVector given = FloatVector.fromArray(F, luma, lumaAt + i);
            FloatVector blue = FloatVector.fromArray(F, cb, site + i);
            FloatVector red = FloatVector.fromArray(F, cr, site + i);
            blue = FloatVector.fromArray(F, cb, neighbour + i).sub(blue).fma(part, blue);
            red = FloatVector.fromArray(F, cr, neighbour + i).sub(red).fma(part, red);
            FloatVector r = red.fma(crToRed, given);
            FloatVector g = blue.fma(cbToGreen, red.fma(crToGreen, given));
            FloatVector b = blue.fma(cbToBlue, given);
            FloatVector y = b.sub(g).fma(wb, r.sub(g).fma(wr, g));
            FloatVector t = y.fma(scale, offset);
            FloatVector inside = t.reinterpretAsInts().lanewise(UMIN, CurveTable.LOWEST).min(highest).reinterpretAsFloats();
            FloatVector rounded = inside.add(Curve.ROUNDER);
            FloatVector f = inside.sub(rounded.sub(Curve.ROUNDER));
            IntVector j = rounded.reinterpretAsInts();
            FloatVector factor = j.selectFrom(a3, b3).reinterpretAsFloats().fma(f, j.selectFrom(a2, b2).reinterpretAsFloats());
            factor = factor.fma(f, j.selectFrom(a1, b1).reinterpretAsFloats());
            factor = factor.fma(f, j.selectFrom(a0, b0).reinterpretAsFloats());
            factor.fma(r.sub(y), y).intoArray(rgb, run + i);
            factor.fma(g.sub(y), y).intoArray(rgb, BLOCK + run + i);
            factor.fma(b.sub(y), y).intoArray(rgb, 2 * BLOCK + run + i);
        }
    }

    void lumaOf(float[] rgb, int count, float[] luma) {
        FloatVector wr = FloatVector.broadcast(F, this.wr);
        FloatVector wg = FloatVector.broadcast(F, this.wg);
        FloatVector wb = FloatVector.broadcast(F, this.wb);
        for (int i = 0; i < count; i += COUNT) {
            FloatVector green = FloatVector.fromArray(F, rgb, BLOCK + i).fma(wg, FloatVector.fromArray(F, rgb, i).mul(wr));
            FloatVector.fromArray(F, rgb, 2 * BLOCK + i).fma(wb, green).intoArray(luma, i);
        }
    }

    /** The same of what the tone curve makes of R, G and B, which stay as they are. */
    void lumaOfToned(float[] rgb, int count, CurveTable curve, float[] luma) {
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
        FloatVector below = FloatVector.broadcast(F, curve.slopeBelow());
        FloatVector above = FloatVector.broadcast(F, curve.slopeAbove());
        FloatVector wr = FloatVector.broadcast(F, this.wr);
        FloatVector wg = FloatVector.broadcast(F, this.wg);
        FloatVector wb = FloatVector.broadcast(F, this.wb);
        for (int i = 0; i < count; i += COUNT) {
            FloatVector tRed = FloatVector.fromArray(F, rgb, i).fma(scale, offset);
            FloatVector insideRed = tRed.reinterpretAsInts().lanewise(UMIN, CurveTable.LOWEST).min(highest).reinterpretAsFloats();
            FloatVector roundedRed = insideRed.add(Curve.ROUNDER);
            FloatVector fRed = insideRed.sub(roundedRed.sub(Curve.ROUNDER));
            IntVector jRed = roundedRed.reinterpretAsInts();
            FloatVector r = jRed.selectFrom(a3, b3).reinterpretAsFloats().fma(fRed, jRed.selectFrom(a2, b2).reinterpretAsFloats());
            r = r.fma(fRed, jRed.selectFrom(a1, b1).reinterpretAsFloats());
            r = r.fma(fRed, jRed.selectFrom(a0, b0).reinterpretAsFloats());
            r = tRed.sub(insideRed).fma(above.blend(below, tRed.compare(LT, Curve.LOWEST)), r);
            FloatVector tGreen = FloatVector.fromArray(F, rgb, BLOCK + i).fma(scale, offset);
            FloatVector insideGreen = tGreen.reinterpretAsInts().lanewise(UMIN, CurveTable.LOWEST).min(highest).reinterpretAsFloats();
            FloatVector roundedGreen = insideGreen.add(Curve.ROUNDER);
            FloatVector fGreen = insideGreen.sub(roundedGreen.sub(Curve.ROUNDER));
            IntVector jGreen = roundedGreen.reinterpretAsInts();
            FloatVector g = jGreen.selectFrom(a3, b3).reinterpretAsFloats().fma(fGreen, jGreen.selectFrom(a2, b2).reinterpretAsFloats());
            g = g.fma(fGreen, jGreen.selectFrom(a1, b1).reinterpretAsFloats());
            g = g.fma(fGreen, jGreen.selectFrom(a0, b0).reinterpretAsFloats());
            g = tGreen.sub(insideGreen).fma(above.blend(below, tGreen.compare(LT, Curve.LOWEST)), g);
            FloatVector tBlue = FloatVector.fromArray(F, rgb, 2 * BLOCK + i).fma(scale, offset);
            FloatVector insideBlue = tBlue.reinterpretAsInts().lanewise(UMIN, CurveTable.LOWEST).min(highest).reinterpretAsFloats();
            FloatVector roundedBlue = insideBlue.add(Curve.ROUNDER);
            FloatVector fBlue = insideBlue.sub(roundedBlue.sub(Curve.ROUNDER));
            IntVector jBlue = roundedBlue.reinterpretAsInts();
            FloatVector b = jBlue.selectFrom(a3, b3).reinterpretAsFloats().fma(fBlue, jBlue.selectFrom(a2, b2).reinterpretAsFloats());
            b = b.fma(fBlue, jBlue.selectFrom(a1, b1).reinterpretAsFloats());
            b = b.fma(fBlue, jBlue.selectFrom(a0, b0).reinterpretAsFloats());
            b = tBlue.sub(insideBlue).fma(above.blend(below, tBlue.compare(LT, Curve.LOWEST)), b);
            b.fma(wb, g.fma(wg, r.mul(wr))).intoArray(luma, i);
        }
    }

    /** Luma, and how far B and R lie above it. */
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

    /** The same after chroma is scaled by the factor at the luma of R, G and B, which stay as they are. */
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
            FloatVector g = FloatVector.fromArray(F, rgb, BLOCK + i);
            FloatVector b = FloatVector.fromArray(F, rgb, 2 * BLOCK + i);
            FloatVector y = b.sub(g).fma(wb, r.sub(g).fma(wr, g));
            FloatVector t = y.fma(scale, offset);
            FloatVector inside = t.reinterpretAsInts().lanewise(UMIN, CurveTable.LOWEST).min(highest).reinterpretAsFloats();
            FloatVector rounded = inside.add(Curve.ROUNDER);
            FloatVector f = inside.sub(rounded.sub(Curve.ROUNDER));
            IntVector j = rounded.reinterpretAsInts();
            FloatVector factor = j.selectFrom(a3, b3).reinterpretAsFloats().fma(f, j.selectFrom(a2, b2).reinterpretAsFloats());
            factor = factor.fma(f, j.selectFrom(a1, b1).reinterpretAsFloats());
            factor = factor.fma(f, j.selectFrom(a0, b0).reinterpretAsFloats());
            r = factor.fma(r.sub(y), y);
            g = factor.fma(g.sub(y), y);
            b = factor.fma(b.sub(y), y);
            FloatVector result = b.fma(wb, g.fma(wg, r.mul(wr)));
            result.intoArray(luma, i);
            b.sub(result).intoArray(blueLess, i);
            r.sub(result).intoArray(redLess, i);
        }
    }
}
