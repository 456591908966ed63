// SPDX-License-Identifier: Apache-2.0
package org.evenstop.vector;

import static jdk.incubator.vector.VectorOperators.GT;
import static jdk.incubator.vector.VectorOperators.LT;
import static jdk.incubator.vector.VectorOperators.MAX;
import static jdk.incubator.vector.VectorOperators.UMIN;
import static org.evenstop.vector.Lanes.COUNT;
import static org.evenstop.vector.Lanes.F;
import static org.evenstop.vector.Lanes.I;
import static org.evenstop.vector.Lanes.ORDER;
import static org.evenstop.vector.Memory.NATIVE;

import jdk.incubator.vector.FloatVector;
import jdk.incubator.vector.IntVector;
import jdk.incubator.vector.VectorMask;
import org.evenstop.engine.curve.Curve;

/**
 * RGBA floats in native memory: to one run each of R, G and B and back by permutations of two registers, and the corrections
 * that pay to do on the way. Runs begin at 0, {@code plane} and 2 {@code plane} of an array. Counts are in pixels, multiples
 * of the lanes. Source and destination may be the same memory.
 *
 * <p>What reads pixels returns the largest magnitude found among R, G and B, as the bits of a float: infinite and NaN count
 * as larger than any number. Above {@link #LARGEST} the results are not to be used.
 */
final class FloatPixels {
    /** Bits of 65504: what the kernels hold values within. */
    static final int LARGEST = 0x477fe000;
    static final int BYTES = 4 * COUNT;
    private static final int HALF = COUNT / 2;
    private static final int MAGNITUDE = 0x7fffffff;

    // Of two registers of pixels: the reds, then the greens; the blues, then the alphas.
    static final IntVector RED_GREEN = Lanes.of(lane -> 4 * (lane % HALF) + lane / HALF);
    static final IntVector BLUE_ALPHA = Lanes.of(lane -> 4 * (lane % HALF) + 2 + lane / HALF);
    // Of two such results: both first halves; both second halves.
    static final IntVector FIRST = Lanes.of(lane -> lane < HALF ? lane : lane + HALF);
    static final IntVector SECOND = Lanes.of(lane -> lane < HALF ? lane + HALF : lane + COUNT);
    // Of reds and greens: pairs of the first half of the pixels; of the second.
    private static final IntVector PAIRS_LOW = Lanes.of(lane -> lane / 2 + lane % 2 * COUNT);
    private static final IntVector PAIRS_HIGH = Lanes.of(lane -> HALF + lane / 2 + lane % 2 * COUNT);
    // Of pairs and blues: whole pixels, a quarter at a time; alpha comes from elsewhere.
    private static final IntVector QUARTER_0 = quarter(0);
    private static final IntVector QUARTER_1 = quarter(1);
    private static final IntVector QUARTER_2 = quarter(2);
    private static final IntVector QUARTER_3 = quarter(3);
    private static final IntVector COLOUR_MAGNITUDE = Lanes.of(lane -> lane % 4 == 3 ? 0 : MAGNITUDE);
    private static final long ALPHA_LANES = Lanes.of(lane -> lane % 4).compare(GT, 2).toLong();

    private FloatPixels() {
    }

    private static IntVector quarter(int quarter) {
        return Lanes.of(lane -> {
            int pixel = (quarter * COUNT + lane) / 4;
            int channel = lane % 4;
            return channel < 2 ? 2 * (pixel % HALF) + channel : COUNT + pixel;
        });
    }

    /** Pixels to runs. */
    static int spread(long from, long rgb, int plane, int count) {
        IntVector largest = IntVector.zero(I);
        int step = Lanes.step;
        for (int i = 0; i < count; i += step) {
            long at = from + 16L * i;
            IntVector v0 = IntVector.fromMemorySegment(I, NATIVE, at, ORDER);
            IntVector v1 = IntVector.fromMemorySegment(I, NATIVE, at + BYTES, ORDER);
            IntVector v2 = IntVector.fromMemorySegment(I, NATIVE, at + 2 * BYTES, ORDER);
            IntVector v3 = IntVector.fromMemorySegment(I, NATIVE, at + 3 * BYTES, ORDER);
            IntVector low = RED_GREEN.selectFrom(v0, v1);
            IntVector high = RED_GREEN.selectFrom(v2, v3);
            IntVector red = FIRST.selectFrom(low, high);
            IntVector green = SECOND.selectFrom(low, high);
            IntVector blue = FIRST.selectFrom(BLUE_ALPHA.selectFrom(v0, v1), BLUE_ALPHA.selectFrom(v2, v3));
            largest = largest.max(red.and(MAGNITUDE)).max(green.and(MAGNITUDE)).max(blue.and(MAGNITUDE));
            red.reinterpretAsFloats().intoMemorySegment(NATIVE, rgb + 4L * i, ORDER);
            green.reinterpretAsFloats().intoMemorySegment(NATIVE, rgb + 4L * (plane + i), ORDER);
            blue.reinterpretAsFloats().intoMemorySegment(NATIVE, rgb + 4L * (2 * plane + i), ORDER);
        }
        return largest.reduceLanes(MAX);
    }

    /** The fourth component alone. */
    static void spreadAlpha(long from, long alpha, int count) {
        int step = Lanes.step;
        for (int i = 0; i < count; i += step) {
            long at = from + 16L * i;
            IntVector low = BLUE_ALPHA.selectFrom(IntVector.fromMemorySegment(I, NATIVE, at, ORDER),
                IntVector.fromMemorySegment(I, NATIVE, at + BYTES, ORDER));
            IntVector high = BLUE_ALPHA.selectFrom(IntVector.fromMemorySegment(I, NATIVE, at + 2 * BYTES, ORDER),
                IntVector.fromMemorySegment(I, NATIVE, at + 3 * BYTES, ORDER));
            SECOND.selectFrom(low, high).reinterpretAsFloats().intoMemorySegment(NATIVE, alpha + 4L * i, ORDER);
        }
    }

    /** Runs to pixels; alpha comes from {@code alphaFrom}, bit for bit. */
    static void gather(long rgb, int plane, int count, long alphaFrom, long into) {
        VectorMask<Integer> alpha = VectorMask.fromLong(I, ALPHA_LANES);
        int step = Lanes.step;
        for (int i = 0; i < count; i += step) {
            IntVector red = FloatVector.fromMemorySegment(F, NATIVE, rgb + 4L * i, ORDER).reinterpretAsInts();
            IntVector green = FloatVector.fromMemorySegment(F, NATIVE, rgb + 4L * (plane + i), ORDER).reinterpretAsInts();
            IntVector blue = FloatVector.fromMemorySegment(F, NATIVE, rgb + 4L * (2 * plane + i), ORDER).reinterpretAsInts();
            long alphas = alphaFrom + 16L * i;
            long to = into + 16L * i;
            IntVector pairs = PAIRS_LOW.selectFrom(red, green);
            IntVector morePairs = PAIRS_HIGH.selectFrom(red, green);
            QUARTER_0.selectFrom(pairs, blue).blend(IntVector.fromMemorySegment(I, NATIVE, alphas, ORDER), alpha)
                .intoMemorySegment(NATIVE, to, ORDER);
            QUARTER_1.selectFrom(pairs, blue).blend(IntVector.fromMemorySegment(I, NATIVE, alphas + BYTES, ORDER), alpha)
                .intoMemorySegment(NATIVE, to + BYTES, ORDER);
            QUARTER_2.selectFrom(morePairs, blue).blend(IntVector.fromMemorySegment(I, NATIVE, alphas + 2 * BYTES, ORDER), alpha)
                .intoMemorySegment(NATIVE, to + 2 * BYTES, ORDER);
            QUARTER_3.selectFrom(morePairs, blue).blend(IntVector.fromMemorySegment(I, NATIVE, alphas + 3 * BYTES, ORDER), alpha)
                .intoMemorySegment(NATIVE, to + 3 * BYTES, ORDER);
        }
    }

    /** Pixels to runs, chroma scaled by the factor at their luma; the curve fits two registers and is flat-ended. */
    static int spreadScaled(long from, long rgb, int plane, int count, CurveTable curve, float wr, float wb) {
        IntVector a0 = IntVector.fromMemorySegment(I, NATIVE, curve.k0, ORDER);
        IntVector b0 = IntVector.fromMemorySegment(I, NATIVE, curve.k0 + 4L * COUNT, ORDER);
        IntVector a1 = IntVector.fromMemorySegment(I, NATIVE, curve.k1, ORDER);
        IntVector b1 = IntVector.fromMemorySegment(I, NATIVE, curve.k1 + 4L * COUNT, ORDER);
        IntVector a2 = IntVector.fromMemorySegment(I, NATIVE, curve.k2, ORDER);
        IntVector b2 = IntVector.fromMemorySegment(I, NATIVE, curve.k2 + 4L * COUNT, ORDER);
        IntVector a3 = IntVector.fromMemorySegment(I, NATIVE, curve.k3, ORDER);
        IntVector b3 = IntVector.fromMemorySegment(I, NATIVE, curve.k3 + 4L * COUNT, ORDER);
        FloatVector ofRed = FloatVector.broadcast(F, wr);
        FloatVector ofBlue = FloatVector.broadcast(F, wb);
        FloatVector scale = FloatVector.broadcast(F, curve.scale());
        FloatVector offset = FloatVector.broadcast(F, curve.offset());
        IntVector highest = IntVector.broadcast(I, Float.floatToRawIntBits(curve.highest()));
        IntVector largest = IntVector.zero(I);
        int step = Lanes.step;
        for (int i = 0; i < count; i += step) {
            long at = from + 16L * i;
            IntVector v0 = IntVector.fromMemorySegment(I, NATIVE, at, ORDER);
            IntVector v1 = IntVector.fromMemorySegment(I, NATIVE, at + BYTES, ORDER);
            IntVector v2 = IntVector.fromMemorySegment(I, NATIVE, at + 2 * BYTES, ORDER);
            IntVector v3 = IntVector.fromMemorySegment(I, NATIVE, at + 3 * BYTES, ORDER);
            IntVector low = RED_GREEN.selectFrom(v0, v1);
            IntVector high = RED_GREEN.selectFrom(v2, v3);
            IntVector red = FIRST.selectFrom(low, high);
            IntVector green = SECOND.selectFrom(low, high);
            IntVector blue = FIRST.selectFrom(BLUE_ALPHA.selectFrom(v0, v1), BLUE_ALPHA.selectFrom(v2, v3));
            largest = largest.max(red.and(MAGNITUDE)).max(green.and(MAGNITUDE)).max(blue.and(MAGNITUDE));
            FloatVector r = red.reinterpretAsFloats();
            FloatVector g = green.reinterpretAsFloats();
            FloatVector b = blue.reinterpretAsFloats();
            FloatVector luma = b.sub(g).fma(ofBlue, r.sub(g).fma(ofRed, g));
            FloatVector t = luma.fma(scale, offset);
            FloatVector inside = t.reinterpretAsInts().lanewise(UMIN, CurveTable.LOWEST).min(highest).reinterpretAsFloats();
            FloatVector rounded = inside.add(Curve.ROUNDER);
            FloatVector f = inside.sub(rounded.sub(Curve.ROUNDER));
            IntVector j = rounded.reinterpretAsInts();
            FloatVector factor = j.selectFrom(a3, b3).reinterpretAsFloats().fma(f, j.selectFrom(a2, b2).reinterpretAsFloats());
            factor = factor.fma(f, j.selectFrom(a1, b1).reinterpretAsFloats());
            factor = factor.fma(f, j.selectFrom(a0, b0).reinterpretAsFloats());
            factor.fma(r.sub(luma), luma).intoMemorySegment(NATIVE, rgb + 4L * i, ORDER);
            factor.fma(g.sub(luma), luma).intoMemorySegment(NATIVE, rgb + 4L * (plane + i), ORDER);
            factor.fma(b.sub(luma), luma).intoMemorySegment(NATIVE, rgb + 4L * (2 * plane + i), ORDER);
        }
        return largest.reduceLanes(MAX);
    }

    /** Runs to pixels, chroma scaled by the factor at their luma; the curve fits two registers and is flat-ended. */
    static void gatherScaled(long rgb, int plane, int count, CurveTable curve, float wr, float wb, long alphaFrom, long into) {
        IntVector a0 = IntVector.fromMemorySegment(I, NATIVE, curve.k0, ORDER);
        IntVector b0 = IntVector.fromMemorySegment(I, NATIVE, curve.k0 + 4L * COUNT, ORDER);
        IntVector a1 = IntVector.fromMemorySegment(I, NATIVE, curve.k1, ORDER);
        IntVector b1 = IntVector.fromMemorySegment(I, NATIVE, curve.k1 + 4L * COUNT, ORDER);
        IntVector a2 = IntVector.fromMemorySegment(I, NATIVE, curve.k2, ORDER);
        IntVector b2 = IntVector.fromMemorySegment(I, NATIVE, curve.k2 + 4L * COUNT, ORDER);
        IntVector a3 = IntVector.fromMemorySegment(I, NATIVE, curve.k3, ORDER);
        IntVector b3 = IntVector.fromMemorySegment(I, NATIVE, curve.k3 + 4L * COUNT, ORDER);
        FloatVector ofRed = FloatVector.broadcast(F, wr);
        FloatVector ofBlue = FloatVector.broadcast(F, wb);
        FloatVector scale = FloatVector.broadcast(F, curve.scale());
        FloatVector offset = FloatVector.broadcast(F, curve.offset());
        IntVector highest = IntVector.broadcast(I, Float.floatToRawIntBits(curve.highest()));
        VectorMask<Integer> alpha = VectorMask.fromLong(I, ALPHA_LANES);
        int step = Lanes.step;
        for (int i = 0; i < count; i += step) {
            FloatVector r = FloatVector.fromMemorySegment(F, NATIVE, rgb + 4L * i, ORDER);
            FloatVector g = FloatVector.fromMemorySegment(F, NATIVE, rgb + 4L * (plane + i), ORDER);
            FloatVector b = FloatVector.fromMemorySegment(F, NATIVE, rgb + 4L * (2 * plane + i), ORDER);
            FloatVector luma = b.sub(g).fma(ofBlue, r.sub(g).fma(ofRed, g));
            FloatVector t = luma.fma(scale, offset);
            FloatVector inside = t.reinterpretAsInts().lanewise(UMIN, CurveTable.LOWEST).min(highest).reinterpretAsFloats();
            FloatVector rounded = inside.add(Curve.ROUNDER);
            FloatVector f = inside.sub(rounded.sub(Curve.ROUNDER));
            IntVector j = rounded.reinterpretAsInts();
            FloatVector factor = j.selectFrom(a3, b3).reinterpretAsFloats().fma(f, j.selectFrom(a2, b2).reinterpretAsFloats());
            factor = factor.fma(f, j.selectFrom(a1, b1).reinterpretAsFloats());
            factor = factor.fma(f, j.selectFrom(a0, b0).reinterpretAsFloats());
            IntVector red = factor.fma(r.sub(luma), luma).reinterpretAsInts();
            IntVector green = factor.fma(g.sub(luma), luma).reinterpretAsInts();
            IntVector blue = factor.fma(b.sub(luma), luma).reinterpretAsInts();
            long alphas = alphaFrom + 16L * i;
            long to = into + 16L * i;
            IntVector pairs = PAIRS_LOW.selectFrom(red, green);
            IntVector morePairs = PAIRS_HIGH.selectFrom(red, green);
            QUARTER_0.selectFrom(pairs, blue).blend(IntVector.fromMemorySegment(I, NATIVE, alphas, ORDER), alpha)
                .intoMemorySegment(NATIVE, to, ORDER);
            QUARTER_1.selectFrom(pairs, blue).blend(IntVector.fromMemorySegment(I, NATIVE, alphas + BYTES, ORDER), alpha)
                .intoMemorySegment(NATIVE, to + BYTES, ORDER);
            QUARTER_2.selectFrom(morePairs, blue).blend(IntVector.fromMemorySegment(I, NATIVE, alphas + 2 * BYTES, ORDER), alpha)
                .intoMemorySegment(NATIVE, to + 2 * BYTES, ORDER);
            QUARTER_3.selectFrom(morePairs, blue).blend(IntVector.fromMemorySegment(I, NATIVE, alphas + 3 * BYTES, ORDER), alpha)
                .intoMemorySegment(NATIVE, to + 3 * BYTES, ORDER);
        }
    }

    /**
     * The tone curve alone, from memory to other memory; the curve fits two registers. What is written is wrong where the
     * magnitude returned is too large: the source must still be there.
     */
    static int toneOnly(long from, long into, int count, CurveTable curve) {
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
        FloatVector below = FloatVector.broadcast(F, curve.slopeBelow());
        FloatVector above = FloatVector.broadcast(F, curve.slopeAbove());
        IntVector largest = IntVector.zero(I);
        VectorMask<Integer> alpha = VectorMask.fromLong(I, ALPHA_LANES);
        int step = Lanes.step;
        for (int i = 0; i < count; i += step / 4) {
            IntVector pixels = IntVector.fromMemorySegment(I, NATIVE, from + 16L * i, ORDER);
            largest = largest.max(pixels.and(COLOUR_MAGNITUDE));
            FloatVector t = pixels.reinterpretAsFloats().fma(scale, offset);
            FloatVector inside = t.reinterpretAsInts().lanewise(UMIN, CurveTable.LOWEST).min(highest).reinterpretAsFloats();
            FloatVector rounded = inside.add(Curve.ROUNDER);
            FloatVector f = inside.sub(rounded.sub(Curve.ROUNDER));
            IntVector j = rounded.reinterpretAsInts();
            FloatVector y = j.selectFrom(a3, b3).reinterpretAsFloats().fma(f, j.selectFrom(a2, b2).reinterpretAsFloats());
            y = y.fma(f, j.selectFrom(a1, b1).reinterpretAsFloats());
            y = y.fma(f, j.selectFrom(a0, b0).reinterpretAsFloats());
            t.sub(inside).fma(above.blend(below, t.compare(LT, Curve.LOWEST)), y).reinterpretAsInts()
                .blend(pixels, alpha).intoMemorySegment(NATIVE, into + 16L * i, ORDER);
        }
        return largest.reduceLanes(MAX);
    }

    /** As {@link #toneOnly} for a factor of chroma alone; the curve fits two registers and is flat-ended. */
    static int chromaOnly(long from, long into, int count, CurveTable curve, float wr, float wb) {
        IntVector a0 = IntVector.fromMemorySegment(I, NATIVE, curve.k0, ORDER);
        IntVector b0 = IntVector.fromMemorySegment(I, NATIVE, curve.k0 + 4L * COUNT, ORDER);
        IntVector a1 = IntVector.fromMemorySegment(I, NATIVE, curve.k1, ORDER);
        IntVector b1 = IntVector.fromMemorySegment(I, NATIVE, curve.k1 + 4L * COUNT, ORDER);
        IntVector a2 = IntVector.fromMemorySegment(I, NATIVE, curve.k2, ORDER);
        IntVector b2 = IntVector.fromMemorySegment(I, NATIVE, curve.k2 + 4L * COUNT, ORDER);
        IntVector a3 = IntVector.fromMemorySegment(I, NATIVE, curve.k3, ORDER);
        IntVector b3 = IntVector.fromMemorySegment(I, NATIVE, curve.k3 + 4L * COUNT, ORDER);
        FloatVector ofRed = FloatVector.broadcast(F, wr);
        FloatVector ofBlue = FloatVector.broadcast(F, wb);
        FloatVector scale = FloatVector.broadcast(F, curve.scale());
        FloatVector offset = FloatVector.broadcast(F, curve.offset());
        IntVector highest = IntVector.broadcast(I, Float.floatToRawIntBits(curve.highest()));
        IntVector largest = IntVector.zero(I);
        VectorMask<Integer> alpha = VectorMask.fromLong(I, ALPHA_LANES);
        int step = Lanes.step;
        for (int i = 0; i < count; i += step) {
            long at = from + 16L * i;
            long to = into + 16L * i;
            IntVector v0 = IntVector.fromMemorySegment(I, NATIVE, at, ORDER);
            IntVector v1 = IntVector.fromMemorySegment(I, NATIVE, at + BYTES, ORDER);
            IntVector v2 = IntVector.fromMemorySegment(I, NATIVE, at + 2 * BYTES, ORDER);
            IntVector v3 = IntVector.fromMemorySegment(I, NATIVE, at + 3 * BYTES, ORDER);
            IntVector low = RED_GREEN.selectFrom(v0, v1);
            IntVector high = RED_GREEN.selectFrom(v2, v3);
            IntVector red = FIRST.selectFrom(low, high);
            IntVector green = SECOND.selectFrom(low, high);
            IntVector blue = FIRST.selectFrom(BLUE_ALPHA.selectFrom(v0, v1), BLUE_ALPHA.selectFrom(v2, v3));
            largest = largest.max(red.and(MAGNITUDE)).max(green.and(MAGNITUDE)).max(blue.and(MAGNITUDE));
            FloatVector r = red.reinterpretAsFloats();
            FloatVector g = green.reinterpretAsFloats();
            FloatVector b = blue.reinterpretAsFloats();
            FloatVector luma = b.sub(g).fma(ofBlue, r.sub(g).fma(ofRed, g));
            FloatVector t = luma.fma(scale, offset);
            FloatVector inside = t.reinterpretAsInts().lanewise(UMIN, CurveTable.LOWEST).min(highest).reinterpretAsFloats();
            FloatVector rounded = inside.add(Curve.ROUNDER);
            FloatVector f = inside.sub(rounded.sub(Curve.ROUNDER));
            IntVector j = rounded.reinterpretAsInts();
            FloatVector factor = j.selectFrom(a3, b3).reinterpretAsFloats().fma(f, j.selectFrom(a2, b2).reinterpretAsFloats());
            factor = factor.fma(f, j.selectFrom(a1, b1).reinterpretAsFloats());
            factor = factor.fma(f, j.selectFrom(a0, b0).reinterpretAsFloats());
            red = factor.fma(r.sub(luma), luma).reinterpretAsInts();
            green = factor.fma(g.sub(luma), luma).reinterpretAsInts();
            blue = factor.fma(b.sub(luma), luma).reinterpretAsInts();
            IntVector pairs = PAIRS_LOW.selectFrom(red, green);
            IntVector morePairs = PAIRS_HIGH.selectFrom(red, green);
            QUARTER_0.selectFrom(pairs, blue).blend(v0, alpha).intoMemorySegment(NATIVE, to, ORDER);
            QUARTER_1.selectFrom(pairs, blue).blend(v1, alpha).intoMemorySegment(NATIVE, to + BYTES, ORDER);
            QUARTER_2.selectFrom(morePairs, blue).blend(v2, alpha).intoMemorySegment(NATIVE, to + 2 * BYTES, ORDER);
            QUARTER_3.selectFrom(morePairs, blue).blend(v3, alpha).intoMemorySegment(NATIVE, to + 3 * BYTES, ORDER);
        }
        return largest.reduceLanes(MAX);
    }
}
