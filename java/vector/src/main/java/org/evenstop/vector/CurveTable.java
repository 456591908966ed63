// SPDX-License-Identifier: Apache-2.0
package org.evenstop.vector;

import static jdk.incubator.vector.VectorOperators.LSHL;
import static jdk.incubator.vector.VectorOperators.LT;
import static jdk.incubator.vector.VectorOperators.NE;
import static jdk.incubator.vector.VectorOperators.UMIN;
import static org.evenstop.vector.Lanes.COUNT;
import static org.evenstop.vector.Lanes.F;
import static org.evenstop.vector.Lanes.I;

import jdk.incubator.vector.FloatVector;
import jdk.incubator.vector.IntVector;
import jdk.incubator.vector.VectorMask;
import org.evenstop.engine.curve.Curve;

/**
 * A curve laid out for registers, and the loops that evaluate it: the same operations in the same order as {@link Curve#at},
 * so the same bits.
 *
 * <p>Where the coefficients of all segments fit two, four or eight registers for each power, they stay there (or nearby) and a permutation by the
 * segment's number looks them up (only its low bits count, which is why it needs no masking); curves of more segments are
 * looked up in memory.
 */
final class CurveTable {
    private static final int SEGMENT_BITS = 0x3fffff;
    /**
     * Bits of the lowest level inside, which is negative. Read as whole numbers, the bits of two floats of one sign are ordered as their magnitudes, so the
     * unsigned minimum with a negative float raises what lies below it and leaves the rest, and the signed minimum with a
     * positive one lowers what lies above it: one operation each, where comparing and blending would take two.
     */
    static final int LOWEST = Float.floatToRawIntBits(Curve.LOWEST);

    /** The most segments, in whole registers, and one register more. */
    private static final int REGISTERED = Lanes.roundedUp(Curve.MAX_SEGMENTS) + COUNT;

    /** Coefficients by power, as the bits of floats; unused segments hold what was there before. */
    final int[] k0 = new int[REGISTERED];
    final int[] k1 = new int[REGISTERED];
    final int[] k2 = new int[REGISTERED];
    final int[] k3 = new int[REGISTERED];
    private final float[] ofPower = new float[Curve.MAX_SEGMENTS];
    private final float[] inMemory = new float[4 * Curve.MAX_SEGMENTS];
    private final int[] places = new int[COUNT];
    private Curve curve = Curve.identity();

    /** Lays out a curve; does nothing when it is the one laid out already. */
    void set(Curve next) {
        if (next == curve) {
            return;
        }
        curve = next;
        lay(0, k0);
        lay(1, k1);
        lay(2, k2);
        lay(3, k3);
    }

    private void lay(int power, int[] registers) {
        curve.copyCoefficients(power, ofPower);
        for (int i = 0; i < curve.segmentCount(); i++) {
            registers[i] = Float.floatToRawIntBits(ofPower[i]);
            inMemory[4 * i + power] = ofPower[i];
        }
    }

    /** True when two registers for each power hold the curve. */
    boolean fitsTwo() {
        return curve.segmentCount() <= 2 * COUNT;
    }

    /** True when the curve is constant beyond its knots as well. */
    boolean isFlatEnded() {
        return curve.slopeBelow() == 0f && curve.slopeAbove() == 0f;
    }

    float scale() {
        return curve.scale();
    }

    float offset() {
        return curve.offset();
    }

    float highest() {
        return curve.highest();
    }

    float slopeBelow() {
        return curve.slopeBelow();
    }

    float slopeAbove() {
        return curve.slopeAbove();
    }

    /** The segment at a place from 0 to {@link #highest}: places count segments from the middle of the first. */
    static int segmentAt(float place) {
        return Float.floatToRawIntBits(place + Curve.ROUNDER) & SEGMENT_BITS;
    }

    /** Replaces levels {@code x[from]} to {@code x[from + count - 1]}, all finite; count is a multiple of the lanes. */
    void apply(float[] x, int from, int count) {
        apply(x, from, from + count, scale(), offset());
    }

    /** As {@link #apply} for levels that are given as their places among the segments. */
    void applyAtPlaces(float[] places, int from, int count) {
        apply(places, from, from + count, 1f, 0f);
    }

    private void apply(float[] x, int from, int end, float scale, float offset) {
        if (fitsTwo()) {
            applyTwo(x, from, end, scale, offset);
        } else if (curve.segmentCount() <= 4 * COUNT) {
            applyFour(x, from, end, scale, offset);
        } else if (curve.segmentCount() <= 8 * COUNT) {
            applyEight(x, from, end, scale, offset);
        } else {
            applyInMemory(x, from, end, scale, offset);
        }
    }

    /** Replaces places that lie within two neighbouring registers. */
    void applyWithin(float[] places, int from, int count, int register) {
        int even = COUNT * (register + 1 & ~1);
        int odd = COUNT * (register | 1);
        IntVector a0 = IntVector.fromArray(I, k0, even);
        IntVector b0 = IntVector.fromArray(I, k0, odd);
        IntVector a1 = IntVector.fromArray(I, k1, even);
        IntVector b1 = IntVector.fromArray(I, k1, odd);
        IntVector a2 = IntVector.fromArray(I, k2, even);
        IntVector b2 = IntVector.fromArray(I, k2, odd);
        IntVector a3 = IntVector.fromArray(I, k3, even);
        IntVector b3 = IntVector.fromArray(I, k3, odd);
        int end = from + count;
        for (int i = from; i < end; i += COUNT) {
            FloatVector t = FloatVector.fromArray(F, places, i);
            FloatVector rounded = t.add(Curve.ROUNDER);
            FloatVector f = t.sub(rounded.sub(Curve.ROUNDER));
            IntVector j = rounded.reinterpretAsInts();
            FloatVector y = j.selectFrom(a3, b3).reinterpretAsFloats().fma(f, j.selectFrom(a2, b2).reinterpretAsFloats());
            y = y.fma(f, j.selectFrom(a1, b1).reinterpretAsFloats());
            y.fma(f, j.selectFrom(a0, b0).reinterpretAsFloats()).intoArray(places, i);
        }
    }

    private void applyTwo(float[] x, int from, int end, float toScale, float toOffset) {
        IntVector a0 = IntVector.fromArray(I, k0, 0);
        IntVector b0 = IntVector.fromArray(I, k0, COUNT);
        IntVector a1 = IntVector.fromArray(I, k1, 0);
        IntVector b1 = IntVector.fromArray(I, k1, COUNT);
        IntVector a2 = IntVector.fromArray(I, k2, 0);
        IntVector b2 = IntVector.fromArray(I, k2, COUNT);
        IntVector a3 = IntVector.fromArray(I, k3, 0);
        IntVector b3 = IntVector.fromArray(I, k3, COUNT);
        FloatVector scale = FloatVector.broadcast(F, toScale);
        FloatVector offset = FloatVector.broadcast(F, toOffset);
        IntVector highest = IntVector.broadcast(I, Float.floatToRawIntBits(highest()));
        FloatVector below = FloatVector.broadcast(F, slopeBelow());
        FloatVector above = FloatVector.broadcast(F, slopeAbove());
        for (int i = from; i < end; i += COUNT) {
            FloatVector t = FloatVector.fromArray(F, x, i).fma(scale, offset);
            FloatVector inside = t.reinterpretAsInts().lanewise(UMIN, LOWEST).min(highest).reinterpretAsFloats();
            FloatVector rounded = inside.add(Curve.ROUNDER);
            FloatVector f = inside.sub(rounded.sub(Curve.ROUNDER));
            IntVector j = rounded.reinterpretAsInts();
            FloatVector y = j.selectFrom(a3, b3).reinterpretAsFloats().fma(f, j.selectFrom(a2, b2).reinterpretAsFloats());
            y = y.fma(f, j.selectFrom(a1, b1).reinterpretAsFloats());
            y = y.fma(f, j.selectFrom(a0, b0).reinterpretAsFloats());
            t.sub(inside).fma(above.blend(below, t.compare(LT, Curve.LOWEST)), y).intoArray(x, i);
        }
    }

    private void applyFour(float[] x, int from, int end, float toScale, float toOffset) {
        IntVector a0 = IntVector.fromArray(I, k0, 0);
        IntVector b0 = IntVector.fromArray(I, k0, COUNT);
        IntVector c0 = IntVector.fromArray(I, k0, 2 * COUNT);
        IntVector d0 = IntVector.fromArray(I, k0, 3 * COUNT);
        IntVector a1 = IntVector.fromArray(I, k1, 0);
        IntVector b1 = IntVector.fromArray(I, k1, COUNT);
        IntVector c1 = IntVector.fromArray(I, k1, 2 * COUNT);
        IntVector d1 = IntVector.fromArray(I, k1, 3 * COUNT);
        IntVector a2 = IntVector.fromArray(I, k2, 0);
        IntVector b2 = IntVector.fromArray(I, k2, COUNT);
        IntVector c2 = IntVector.fromArray(I, k2, 2 * COUNT);
        IntVector d2 = IntVector.fromArray(I, k2, 3 * COUNT);
        IntVector a3 = IntVector.fromArray(I, k3, 0);
        IntVector b3 = IntVector.fromArray(I, k3, COUNT);
        IntVector c3 = IntVector.fromArray(I, k3, 2 * COUNT);
        IntVector d3 = IntVector.fromArray(I, k3, 3 * COUNT);
        FloatVector scale = FloatVector.broadcast(F, toScale);
        FloatVector offset = FloatVector.broadcast(F, toOffset);
        IntVector highest = IntVector.broadcast(I, Float.floatToRawIntBits(highest()));
        FloatVector below = FloatVector.broadcast(F, slopeBelow());
        FloatVector above = FloatVector.broadcast(F, slopeAbove());
        for (int i = from; i < end; i += COUNT) {
            FloatVector t = FloatVector.fromArray(F, x, i).fma(scale, offset);
            FloatVector inside = t.reinterpretAsInts().lanewise(UMIN, LOWEST).min(highest).reinterpretAsFloats();
            FloatVector rounded = inside.add(Curve.ROUNDER);
            FloatVector f = inside.sub(rounded.sub(Curve.ROUNDER));
            IntVector j = rounded.reinterpretAsInts();
            VectorMask<Integer> upper = j.and(2 * COUNT).compare(NE, 0);
            FloatVector y = j.selectFrom(a3, b3).blend(j.selectFrom(c3, d3), upper).reinterpretAsFloats().fma(f, j.selectFrom(a2, b2).blend(j.selectFrom(c2, d2), upper).reinterpretAsFloats());
            y = y.fma(f, j.selectFrom(a1, b1).blend(j.selectFrom(c1, d1), upper).reinterpretAsFloats());
            y = y.fma(f, j.selectFrom(a0, b0).blend(j.selectFrom(c0, d0), upper).reinterpretAsFloats());
            t.sub(inside).fma(above.blend(below, t.compare(LT, Curve.LOWEST)), y).intoArray(x, i);
        }
    }

    /** Lifts of two stops and more need so many segments near black; looking them up in memory takes three times as long. */
    private void applyEight(float[] x, int from, int end, float toScale, float toOffset) {
        IntVector p00 = IntVector.fromArray(I, k0, 0);
        IntVector p01 = IntVector.fromArray(I, k0, COUNT);
        IntVector p02 = IntVector.fromArray(I, k0, 2 * COUNT);
        IntVector p03 = IntVector.fromArray(I, k0, 3 * COUNT);
        IntVector p04 = IntVector.fromArray(I, k0, 4 * COUNT);
        IntVector p05 = IntVector.fromArray(I, k0, 5 * COUNT);
        IntVector p06 = IntVector.fromArray(I, k0, 6 * COUNT);
        IntVector p07 = IntVector.fromArray(I, k0, 7 * COUNT);
        IntVector p10 = IntVector.fromArray(I, k1, 0);
        IntVector p11 = IntVector.fromArray(I, k1, COUNT);
        IntVector p12 = IntVector.fromArray(I, k1, 2 * COUNT);
        IntVector p13 = IntVector.fromArray(I, k1, 3 * COUNT);
        IntVector p14 = IntVector.fromArray(I, k1, 4 * COUNT);
        IntVector p15 = IntVector.fromArray(I, k1, 5 * COUNT);
        IntVector p16 = IntVector.fromArray(I, k1, 6 * COUNT);
        IntVector p17 = IntVector.fromArray(I, k1, 7 * COUNT);
        IntVector p20 = IntVector.fromArray(I, k2, 0);
        IntVector p21 = IntVector.fromArray(I, k2, COUNT);
        IntVector p22 = IntVector.fromArray(I, k2, 2 * COUNT);
        IntVector p23 = IntVector.fromArray(I, k2, 3 * COUNT);
        IntVector p24 = IntVector.fromArray(I, k2, 4 * COUNT);
        IntVector p25 = IntVector.fromArray(I, k2, 5 * COUNT);
        IntVector p26 = IntVector.fromArray(I, k2, 6 * COUNT);
        IntVector p27 = IntVector.fromArray(I, k2, 7 * COUNT);
        IntVector p30 = IntVector.fromArray(I, k3, 0);
        IntVector p31 = IntVector.fromArray(I, k3, COUNT);
        IntVector p32 = IntVector.fromArray(I, k3, 2 * COUNT);
        IntVector p33 = IntVector.fromArray(I, k3, 3 * COUNT);
        IntVector p34 = IntVector.fromArray(I, k3, 4 * COUNT);
        IntVector p35 = IntVector.fromArray(I, k3, 5 * COUNT);
        IntVector p36 = IntVector.fromArray(I, k3, 6 * COUNT);
        IntVector p37 = IntVector.fromArray(I, k3, 7 * COUNT);
        FloatVector scale = FloatVector.broadcast(F, toScale);
        FloatVector offset = FloatVector.broadcast(F, toOffset);
        IntVector highest = IntVector.broadcast(I, Float.floatToRawIntBits(highest()));
        FloatVector below = FloatVector.broadcast(F, slopeBelow());
        FloatVector above = FloatVector.broadcast(F, slopeAbove());
        for (int i = from; i < end; i += COUNT) {
            FloatVector t = FloatVector.fromArray(F, x, i).fma(scale, offset);
            FloatVector inside = t.reinterpretAsInts().lanewise(UMIN, LOWEST).min(highest).reinterpretAsFloats();
            FloatVector rounded = inside.add(Curve.ROUNDER);
            FloatVector f = inside.sub(rounded.sub(Curve.ROUNDER));
            IntVector j = rounded.reinterpretAsInts();
            VectorMask<Integer> odd = j.and(2 * COUNT).compare(NE, 0);
            VectorMask<Integer> upper = j.and(4 * COUNT).compare(NE, 0);
            FloatVector y = j.selectFrom(p30, p31).blend(j.selectFrom(p32, p33), odd)
                .blend(j.selectFrom(p34, p35).blend(j.selectFrom(p36, p37), odd), upper).reinterpretAsFloats();
            y = y.fma(f, j.selectFrom(p20, p21).blend(j.selectFrom(p22, p23), odd)
                .blend(j.selectFrom(p24, p25).blend(j.selectFrom(p26, p27), odd), upper).reinterpretAsFloats());
            y = y.fma(f, j.selectFrom(p10, p11).blend(j.selectFrom(p12, p13), odd)
                .blend(j.selectFrom(p14, p15).blend(j.selectFrom(p16, p17), odd), upper).reinterpretAsFloats());
            y = y.fma(f, j.selectFrom(p00, p01).blend(j.selectFrom(p02, p03), odd)
                .blend(j.selectFrom(p04, p05).blend(j.selectFrom(p06, p07), odd), upper).reinterpretAsFloats());
            t.sub(inside).fma(above.blend(below, t.compare(LT, Curve.LOWEST)), y).intoArray(x, i);
        }
    }

    private void applyInMemory(float[] x, int from, int end, float toScale, float toOffset) {
        float[] table = inMemory;
        int[] at = places;
        FloatVector scale = FloatVector.broadcast(F, toScale);
        FloatVector offset = FloatVector.broadcast(F, toOffset);
        IntVector highest = IntVector.broadcast(I, Float.floatToRawIntBits(highest()));
        FloatVector below = FloatVector.broadcast(F, slopeBelow());
        FloatVector above = FloatVector.broadcast(F, slopeAbove());
        for (int i = from; i < end; i += COUNT) {
            FloatVector t = FloatVector.fromArray(F, x, i).fma(scale, offset);
            FloatVector inside = t.reinterpretAsInts().lanewise(UMIN, LOWEST).min(highest).reinterpretAsFloats();
            FloatVector rounded = inside.add(Curve.ROUNDER);
            FloatVector f = inside.sub(rounded.sub(Curve.ROUNDER));
            IntVector j = rounded.reinterpretAsInts();
            j.and(SEGMENT_BITS).lanewise(LSHL, 2).intoArray(at, 0);
            FloatVector y = FloatVector.fromArray(F, table, 3, at, 0).fma(f, FloatVector.fromArray(F, table, 2, at, 0));
            y = y.fma(f, FloatVector.fromArray(F, table, 1, at, 0));
            y = y.fma(f, FloatVector.fromArray(F, table, 0, at, 0));
            t.sub(inside).fma(above.blend(below, t.compare(LT, Curve.LOWEST)), y).intoArray(x, i);
        }
    }
}
