// SPDX-License-Identifier: Apache-2.0
package org.evenstop.vector;

import static jdk.incubator.vector.VectorOperators.LSHL;
import static jdk.incubator.vector.VectorOperators.LT;
import static jdk.incubator.vector.VectorOperators.NE;
import static jdk.incubator.vector.VectorOperators.UMIN;
import static org.evenstop.vector.Lanes.COUNT;
import static org.evenstop.vector.Lanes.F;
import static org.evenstop.vector.Lanes.I;
import static org.evenstop.vector.Lanes.ORDER;
import static org.evenstop.vector.Memory.NATIVE;

import java.lang.foreign.ValueLayout;
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

    private static final int NOWHERE = Integer.MIN_VALUE;

    /** The most segments, in whole registers, and one register more: a window may end there. */
    private static final int REGISTERED = Lanes.roundedUp(Curve.MAX_SEGMENTS) + COUNT;

    private final Scratch scratch = new Scratch();
    /** Coefficients by power; unused segments hold what was there before. */
    final long k0 = scratch.floats(REGISTERED);
    final long k1 = scratch.floats(REGISTERED);
    final long k2 = scratch.floats(REGISTERED);
    final long k3 = scratch.floats(REGISTERED);
    private final float[] ofPower = new float[Curve.MAX_SEGMENTS];
    private final float[] inMemory = new float[4 * Curve.MAX_SEGMENTS];
    private final int[] places = new int[COUNT];
    /** Coefficients of neighbouring segments, two registers for each power, each in the lane that the low bits of the segment's number name. */
    final long window = scratch.floats(8 * COUNT);
    private int windowFrom = NOWHERE;
    private Curve curve = Curve.identity();

    /** Lays out a curve; does nothing when it is the one laid out already. */
    void set(Curve next) {
        if (next == curve) {
            return;
        }
        curve = next;
        windowFrom = NOWHERE;
        lay(0, k0);
        lay(1, k1);
        lay(2, k2);
        lay(3, k3);
    }

    private void lay(int power, long registers) {
        curve.copyCoefficients(power, ofPower);
        for (int i = 0; i < curve.segmentCount(); i++) {
            NATIVE.set(ValueLayout.JAVA_FLOAT, registers + 4L * i, ofPower[i]);
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

    /** Replaces levels, all finite; count is a multiple of the lanes. */
    void apply(long x, int count) {
        apply(x, count, scale(), offset());
    }

    /** As {@link #apply} for levels that are given as their places among the segments. */
    void applyAtPlaces(long places, int count) {
        apply(places, count, 1f, 0f);
    }

    private void apply(long x, int count, float scale, float offset) {
        if (fitsTwo()) {
            applyTwo(x, count, scale, offset);
        } else if (curve.segmentCount() <= 4 * COUNT) {
            applyFour(x, count, scale, offset);
        } else if (curve.segmentCount() <= 8 * COUNT) {
            applyEight(x, count, scale, offset);
        } else {
            applyInMemory(x, count, scale, offset);
        }
    }

    /**
     * Moves the window to where it shows all segments {@code first..last}, if it does not yet.
     *
     * @return false where they are too many for it
     */
    boolean shows(int first, int last) {
        if (last - first >= 2 * COUNT) {
            return false;
        }
        if (windowFrom == NOWHERE || first < windowFrom || last >= windowFrom + 2 * COUNT) {
            // As far on either side: the next block is likely to lie near.
            windowFrom = Math.max(0, (first + last + 1) / 2 - COUNT);
            show(k0, window);
            show(k1, window + 8L * COUNT);
            show(k2, window + 16L * COUNT);
            show(k3, window + 24L * COUNT);
        }
        return true;
    }

    private void show(long registers, long into) {
        for (int segment = windowFrom; segment < windowFrom + 2 * COUNT; segment++) {
            int lane = segment & 2 * COUNT - 1;
            NATIVE.set(ValueLayout.JAVA_FLOAT, into + 4L * lane, NATIVE.get(ValueLayout.JAVA_FLOAT, registers + 4L * segment));
        }
    }

    /** Replaces places that lie within the window. */
    void applyWithin(long places, int count) {
        IntVector a0 = IntVector.fromMemorySegment(I, NATIVE, window, ORDER);
        IntVector b0 = IntVector.fromMemorySegment(I, NATIVE, window + 4L * COUNT, ORDER);
        IntVector a1 = IntVector.fromMemorySegment(I, NATIVE, window + 8L * COUNT, ORDER);
        IntVector b1 = IntVector.fromMemorySegment(I, NATIVE, window + 12L * COUNT, ORDER);
        IntVector a2 = IntVector.fromMemorySegment(I, NATIVE, window + 16L * COUNT, ORDER);
        IntVector b2 = IntVector.fromMemorySegment(I, NATIVE, window + 20L * COUNT, ORDER);
        IntVector a3 = IntVector.fromMemorySegment(I, NATIVE, window + 24L * COUNT, ORDER);
        IntVector b3 = IntVector.fromMemorySegment(I, NATIVE, window + 28L * COUNT, ORDER);
        for (int i = 0; i < count; i += COUNT) {
            FloatVector t = FloatVector.fromMemorySegment(F, NATIVE, places + 4L * i, ORDER);
            FloatVector rounded = t.add(Curve.ROUNDER);
            FloatVector f = t.sub(rounded.sub(Curve.ROUNDER));
            IntVector j = rounded.reinterpretAsInts();
            FloatVector y = j.selectFrom(a3, b3).reinterpretAsFloats().fma(f, j.selectFrom(a2, b2).reinterpretAsFloats());
            y = y.fma(f, j.selectFrom(a1, b1).reinterpretAsFloats());
            y.fma(f, j.selectFrom(a0, b0).reinterpretAsFloats()).intoMemorySegment(NATIVE, places + 4L * i, ORDER);
        }
    }

    private void applyTwo(long x, int count, float toScale, float toOffset) {
        IntVector a0 = IntVector.fromMemorySegment(I, NATIVE, k0, ORDER);
        IntVector b0 = IntVector.fromMemorySegment(I, NATIVE, k0 + 4L * COUNT, ORDER);
        IntVector a1 = IntVector.fromMemorySegment(I, NATIVE, k1, ORDER);
        IntVector b1 = IntVector.fromMemorySegment(I, NATIVE, k1 + 4L * COUNT, ORDER);
        IntVector a2 = IntVector.fromMemorySegment(I, NATIVE, k2, ORDER);
        IntVector b2 = IntVector.fromMemorySegment(I, NATIVE, k2 + 4L * COUNT, ORDER);
        IntVector a3 = IntVector.fromMemorySegment(I, NATIVE, k3, ORDER);
        IntVector b3 = IntVector.fromMemorySegment(I, NATIVE, k3 + 4L * COUNT, ORDER);
        FloatVector scale = FloatVector.broadcast(F, toScale);
        FloatVector offset = FloatVector.broadcast(F, toOffset);
        IntVector highest = IntVector.broadcast(I, Float.floatToRawIntBits(highest()));
        FloatVector below = FloatVector.broadcast(F, slopeBelow());
        FloatVector above = FloatVector.broadcast(F, slopeAbove());
        for (int i = 0; i < count; i += COUNT) {
            FloatVector t = FloatVector.fromMemorySegment(F, NATIVE, x + 4L * i, ORDER).fma(scale, offset);
            FloatVector inside = t.reinterpretAsInts().lanewise(UMIN, LOWEST).min(highest).reinterpretAsFloats();
            FloatVector rounded = inside.add(Curve.ROUNDER);
            FloatVector f = inside.sub(rounded.sub(Curve.ROUNDER));
            IntVector j = rounded.reinterpretAsInts();
            FloatVector y = j.selectFrom(a3, b3).reinterpretAsFloats().fma(f, j.selectFrom(a2, b2).reinterpretAsFloats());
            y = y.fma(f, j.selectFrom(a1, b1).reinterpretAsFloats());
            y = y.fma(f, j.selectFrom(a0, b0).reinterpretAsFloats());
            t.sub(inside).fma(above.blend(below, t.compare(LT, Curve.LOWEST)), y).intoMemorySegment(NATIVE, x + 4L * i, ORDER);
        }
    }

    private void applyFour(long x, int count, float toScale, float toOffset) {
        IntVector a0 = IntVector.fromMemorySegment(I, NATIVE, k0, ORDER);
        IntVector b0 = IntVector.fromMemorySegment(I, NATIVE, k0 + 4L * COUNT, ORDER);
        IntVector c0 = IntVector.fromMemorySegment(I, NATIVE, k0 + 4L * (2 * COUNT), ORDER);
        IntVector d0 = IntVector.fromMemorySegment(I, NATIVE, k0 + 4L * (3 * COUNT), ORDER);
        IntVector a1 = IntVector.fromMemorySegment(I, NATIVE, k1, ORDER);
        IntVector b1 = IntVector.fromMemorySegment(I, NATIVE, k1 + 4L * COUNT, ORDER);
        IntVector c1 = IntVector.fromMemorySegment(I, NATIVE, k1 + 4L * (2 * COUNT), ORDER);
        IntVector d1 = IntVector.fromMemorySegment(I, NATIVE, k1 + 4L * (3 * COUNT), ORDER);
        IntVector a2 = IntVector.fromMemorySegment(I, NATIVE, k2, ORDER);
        IntVector b2 = IntVector.fromMemorySegment(I, NATIVE, k2 + 4L * COUNT, ORDER);
        IntVector c2 = IntVector.fromMemorySegment(I, NATIVE, k2 + 4L * (2 * COUNT), ORDER);
        IntVector d2 = IntVector.fromMemorySegment(I, NATIVE, k2 + 4L * (3 * COUNT), ORDER);
        IntVector a3 = IntVector.fromMemorySegment(I, NATIVE, k3, ORDER);
        IntVector b3 = IntVector.fromMemorySegment(I, NATIVE, k3 + 4L * COUNT, ORDER);
        IntVector c3 = IntVector.fromMemorySegment(I, NATIVE, k3 + 4L * (2 * COUNT), ORDER);
        IntVector d3 = IntVector.fromMemorySegment(I, NATIVE, k3 + 4L * (3 * COUNT), ORDER);
        FloatVector scale = FloatVector.broadcast(F, toScale);
        FloatVector offset = FloatVector.broadcast(F, toOffset);
        IntVector highest = IntVector.broadcast(I, Float.floatToRawIntBits(highest()));
        FloatVector below = FloatVector.broadcast(F, slopeBelow());
        FloatVector above = FloatVector.broadcast(F, slopeAbove());
        for (int i = 0; i < count; i += COUNT) {
            FloatVector t = FloatVector.fromMemorySegment(F, NATIVE, x + 4L * i, ORDER).fma(scale, offset);
            FloatVector inside = t.reinterpretAsInts().lanewise(UMIN, LOWEST).min(highest).reinterpretAsFloats();
            FloatVector rounded = inside.add(Curve.ROUNDER);
            FloatVector f = inside.sub(rounded.sub(Curve.ROUNDER));
            IntVector j = rounded.reinterpretAsInts();
            VectorMask<Integer> upper = j.and(2 * COUNT).compare(NE, 0);
            FloatVector y = j.selectFrom(a3, b3).blend(j.selectFrom(c3, d3), upper).reinterpretAsFloats().fma(f, j.selectFrom(a2, b2).blend(j.selectFrom(c2, d2), upper).reinterpretAsFloats());
            y = y.fma(f, j.selectFrom(a1, b1).blend(j.selectFrom(c1, d1), upper).reinterpretAsFloats());
            y = y.fma(f, j.selectFrom(a0, b0).blend(j.selectFrom(c0, d0), upper).reinterpretAsFloats());
            t.sub(inside).fma(above.blend(below, t.compare(LT, Curve.LOWEST)), y).intoMemorySegment(NATIVE, x + 4L * i, ORDER);
        }
    }

    /** Lifts of two stops and more need so many segments near black; looking them up in memory takes three times as long. */
    private void applyEight(long x, int count, float toScale, float toOffset) {
        IntVector p00 = IntVector.fromMemorySegment(I, NATIVE, k0, ORDER);
        IntVector p01 = IntVector.fromMemorySegment(I, NATIVE, k0 + 4L * COUNT, ORDER);
        IntVector p02 = IntVector.fromMemorySegment(I, NATIVE, k0 + 4L * (2 * COUNT), ORDER);
        IntVector p03 = IntVector.fromMemorySegment(I, NATIVE, k0 + 4L * (3 * COUNT), ORDER);
        IntVector p04 = IntVector.fromMemorySegment(I, NATIVE, k0 + 4L * (4 * COUNT), ORDER);
        IntVector p05 = IntVector.fromMemorySegment(I, NATIVE, k0 + 4L * (5 * COUNT), ORDER);
        IntVector p06 = IntVector.fromMemorySegment(I, NATIVE, k0 + 4L * (6 * COUNT), ORDER);
        IntVector p07 = IntVector.fromMemorySegment(I, NATIVE, k0 + 4L * (7 * COUNT), ORDER);
        IntVector p10 = IntVector.fromMemorySegment(I, NATIVE, k1, ORDER);
        IntVector p11 = IntVector.fromMemorySegment(I, NATIVE, k1 + 4L * COUNT, ORDER);
        IntVector p12 = IntVector.fromMemorySegment(I, NATIVE, k1 + 4L * (2 * COUNT), ORDER);
        IntVector p13 = IntVector.fromMemorySegment(I, NATIVE, k1 + 4L * (3 * COUNT), ORDER);
        IntVector p14 = IntVector.fromMemorySegment(I, NATIVE, k1 + 4L * (4 * COUNT), ORDER);
        IntVector p15 = IntVector.fromMemorySegment(I, NATIVE, k1 + 4L * (5 * COUNT), ORDER);
        IntVector p16 = IntVector.fromMemorySegment(I, NATIVE, k1 + 4L * (6 * COUNT), ORDER);
        IntVector p17 = IntVector.fromMemorySegment(I, NATIVE, k1 + 4L * (7 * COUNT), ORDER);
        IntVector p20 = IntVector.fromMemorySegment(I, NATIVE, k2, ORDER);
        IntVector p21 = IntVector.fromMemorySegment(I, NATIVE, k2 + 4L * COUNT, ORDER);
        IntVector p22 = IntVector.fromMemorySegment(I, NATIVE, k2 + 4L * (2 * COUNT), ORDER);
        IntVector p23 = IntVector.fromMemorySegment(I, NATIVE, k2 + 4L * (3 * COUNT), ORDER);
        IntVector p24 = IntVector.fromMemorySegment(I, NATIVE, k2 + 4L * (4 * COUNT), ORDER);
        IntVector p25 = IntVector.fromMemorySegment(I, NATIVE, k2 + 4L * (5 * COUNT), ORDER);
        IntVector p26 = IntVector.fromMemorySegment(I, NATIVE, k2 + 4L * (6 * COUNT), ORDER);
        IntVector p27 = IntVector.fromMemorySegment(I, NATIVE, k2 + 4L * (7 * COUNT), ORDER);
        IntVector p30 = IntVector.fromMemorySegment(I, NATIVE, k3, ORDER);
        IntVector p31 = IntVector.fromMemorySegment(I, NATIVE, k3 + 4L * COUNT, ORDER);
        IntVector p32 = IntVector.fromMemorySegment(I, NATIVE, k3 + 4L * (2 * COUNT), ORDER);
        IntVector p33 = IntVector.fromMemorySegment(I, NATIVE, k3 + 4L * (3 * COUNT), ORDER);
        IntVector p34 = IntVector.fromMemorySegment(I, NATIVE, k3 + 4L * (4 * COUNT), ORDER);
        IntVector p35 = IntVector.fromMemorySegment(I, NATIVE, k3 + 4L * (5 * COUNT), ORDER);
        IntVector p36 = IntVector.fromMemorySegment(I, NATIVE, k3 + 4L * (6 * COUNT), ORDER);
        IntVector p37 = IntVector.fromMemorySegment(I, NATIVE, k3 + 4L * (7 * COUNT), ORDER);
        FloatVector scale = FloatVector.broadcast(F, toScale);
        FloatVector offset = FloatVector.broadcast(F, toOffset);
        IntVector highest = IntVector.broadcast(I, Float.floatToRawIntBits(highest()));
        FloatVector below = FloatVector.broadcast(F, slopeBelow());
        FloatVector above = FloatVector.broadcast(F, slopeAbove());
        for (int i = 0; i < count; i += COUNT) {
            FloatVector t = FloatVector.fromMemorySegment(F, NATIVE, x + 4L * i, ORDER).fma(scale, offset);
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
            t.sub(inside).fma(above.blend(below, t.compare(LT, Curve.LOWEST)), y).intoMemorySegment(NATIVE, x + 4L * i, ORDER);
        }
    }

    private void applyInMemory(long x, int count, float toScale, float toOffset) {
        float[] table = inMemory;
        int[] at = places;
        FloatVector scale = FloatVector.broadcast(F, toScale);
        FloatVector offset = FloatVector.broadcast(F, toOffset);
        IntVector highest = IntVector.broadcast(I, Float.floatToRawIntBits(highest()));
        FloatVector below = FloatVector.broadcast(F, slopeBelow());
        FloatVector above = FloatVector.broadcast(F, slopeAbove());
        for (int i = 0; i < count; i += COUNT) {
            FloatVector t = FloatVector.fromMemorySegment(F, NATIVE, x + 4L * i, ORDER).fma(scale, offset);
            FloatVector inside = t.reinterpretAsInts().lanewise(UMIN, LOWEST).min(highest).reinterpretAsFloats();
            FloatVector rounded = inside.add(Curve.ROUNDER);
            FloatVector f = inside.sub(rounded.sub(Curve.ROUNDER));
            IntVector j = rounded.reinterpretAsInts();
            j.and(SEGMENT_BITS).lanewise(LSHL, 2).intoArray(at, 0);
            FloatVector y = FloatVector.fromArray(F, table, 3, at, 0).fma(f, FloatVector.fromArray(F, table, 2, at, 0));
            y = y.fma(f, FloatVector.fromArray(F, table, 1, at, 0));
            y = y.fma(f, FloatVector.fromArray(F, table, 0, at, 0));
            t.sub(inside).fma(above.blend(below, t.compare(LT, Curve.LOWEST)), y).intoMemorySegment(NATIVE, x + 4L * i, ORDER);
        }
    }
}
