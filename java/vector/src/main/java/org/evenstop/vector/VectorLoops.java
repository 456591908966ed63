// SPDX-License-Identifier: Apache-2.0
package org.evenstop.vector;

import static jdk.incubator.vector.VectorOperators.ADD;
import static jdk.incubator.vector.VectorOperators.F2I;
import static jdk.incubator.vector.VectorOperators.GE;
import static jdk.incubator.vector.VectorOperators.GT;
import static jdk.incubator.vector.VectorOperators.LT;
import static jdk.incubator.vector.VectorOperators.MAX;
import static jdk.incubator.vector.VectorOperators.MIN;
import static jdk.incubator.vector.VectorOperators.NE;
import static jdk.incubator.vector.VectorOperators.OR;
import static jdk.incubator.vector.VectorOperators.SQRT;
import static org.evenstop.vector.FloatPixels.BLUE_ALPHA;
import static org.evenstop.vector.FloatPixels.BYTES;
import static org.evenstop.vector.FloatPixels.FIRST;
import static org.evenstop.vector.FloatPixels.RED_GREEN;
import static org.evenstop.vector.FloatPixels.SECOND;
import static org.evenstop.vector.Lanes.COUNT;
import static org.evenstop.vector.Lanes.F;
import static org.evenstop.vector.Lanes.I;
import static org.evenstop.vector.Lanes.ORDER;
import static org.evenstop.vector.Memory.NATIVE;

import java.lang.ref.Reference;
import java.util.Arrays;
import jdk.incubator.vector.FloatVector;
import jdk.incubator.vector.IntVector;
import jdk.incubator.vector.VectorMask;
import org.evenstop.engine.frame.AlphaState;
import org.evenstop.engine.frame.Components;
import org.evenstop.engine.frame.PackedFrame;
import org.evenstop.engine.frame.PlanarFrame;
import org.evenstop.engine.frame.SampleDepth;
import org.evenstop.engine.level.LumaStandard;
import org.evenstop.engine.measure.LevelHistogram;
import org.evenstop.engine.measure.MeasureLoops;
import org.evenstop.engine.measure.MeasuredRow;
import org.evenstop.engine.measure.ScalarLoops;
import org.evenstop.engine.measure.Skin;

/**
 * The loops of measuring for wide registers. They do what {@link ScalarLoops} do, operation by operation. Frames they read are RGBA in
 * native memory whose levels lie between -2 and 2 and whose alpha, where it counts, is 1; everything else is left to the scalar loops, and so
 * is what is left of a run when the registers have taken theirs.
 */
public final class VectorLoops implements MeasureLoops {
    /** Pixels converted at a time. */
    private static final int STAGED = Runs.BLOCK;
    private static final int PIXEL_BYTES = 16;
    /** The bit of a float that no magnitude below 2 has set, and every other, infinite and NaN as well. */
    private static final int LARGE = 0x40000000;
    private static final float PER_STEP = LevelHistogram.STEPS_PER_UNIT;
    private static final float STEP_ZERO = LevelHistogram.ZERO + 0.5f;
    private static final int LAST_STEP = LevelHistogram.SIZE - 1;

    /** Of two registers: every other lane. */
    private static final IntVector EVEN = Lanes.of(lane -> 2 * lane);
    private static final VectorMask<Integer> COLOUR = Lanes.of(lane -> lane % 4).compare(LT, 3);
    private static final int ONE = Float.floatToRawIntBits(1f);

    private final ScalarLoops scalar = new ScalarLoops();
    private final ThreadLocal<Stage> stages = ThreadLocal.withInitial(Stage::new);

    /** Where samples of other depths are turned into floats. */
    private static final class Stage {
        private final Scratch scratch = new Scratch();
        final long floats = scratch.floats(4 * STAGED);
        final Samples samples = new Samples();
    }

    /** @throws UnsupportedOperationException where registers are too narrow to pay, bytes lie the other way round, or native access is refused */
    public VectorLoops() {
        Lanes.require();
        Memory.require();
    }

    @Override
    public String name() {
        return "vector";
    }

    @Override
    public boolean read(PackedFrame frame, LumaStandard standard, int line, int from, int to, int siteShift, MeasuredRow row) {
        if (frame.components() != Components.RGBA || !frame.memory().isDirect()) {
            return false;
        }
        float wr = (float) standard.redWeight();
        float wb = (float) standard.blueWeight();
        int step = COUNT << siteShift;
        int whole = from + (to - from) / step * step;
        int pixelBytes = 4 * frame.depth().bytes();
        Stage stage = stages.get();
        long at = Memory.at(frame.memory(), frame.rowOffset(line) + (long) from * pixelBytes, (long) pixelBytes * (whole - from));
        boolean weighted = frame.alpha() != AlphaState.OPAQUE;
        int seen = 0;
        if (frame.depth() == SampleDepth.FLOAT) {
            Memory.touched(at, (long) PIXEL_BYTES * (whole - from));
            if (weighted && !isOpaque(at, whole - from)) {
                return false;
            }
            seen = siteShift == 0 ? takeApart(at, from, whole, wr, wb, row.luma, row.red, row.green, row.blue)
                : takeApartHalf(at, from, whole, wr, wb, row.luma, row.red, row.green, row.blue);
        } else {
            long floats = stage.floats;
            for (int x = from; x < whole; x += STAGED) {
                int n = Math.min(STAGED, whole - x);
                long here = at + (long) (x - from) * pixelBytes;
                switch (frame.depth()) {
                    case BYTE -> Samples.ofBytes(here, floats, 4 * n);
                    case SHORT -> Samples.ofShorts(here, floats, 4 * n);
                    default -> stage.samples.ofHalves(here, floats, 4 * n);
                }
                if (weighted && !isOpaque(floats, n)) {
                    return false;
                }
                seen |= siteShift == 0 ? takeApart(floats, x, x + n, wr, wb, row.luma, row.red, row.green, row.blue)
                    : takeApartHalf(floats, x, x + n, wr, wb, row.luma, row.red, row.green, row.blue);
            }
        }
        Reference.reachabilityFence(frame);
        Reference.reachabilityFence(stage);
        if ((seen & LARGE) != 0) {
            return false;
        }
        return whole == to || scalar.read(frame, standard, line, whole, to, siteShift, row);
    }

    private static boolean isOpaque(long from, int count) {
        VectorMask<Integer> opaque = I.maskAll(true);
        for (long at = from; at < from + (long) PIXEL_BYTES * count; at += BYTES) {
            opaque = opaque.and(IntVector.fromMemorySegment(I, NATIVE, at, ORDER).eq(ONE).or(COLOUR));
        }
        return opaque.allTrue();
    }

    /** Every pixel is a site. Returns the bits that any sample has set. */
    private static int takeApart(long at, int from, int to, float wr, float wb, float[] luma, float[] r, float[] g, float[] b) {
        IntVector seen = IntVector.zero(I);
        for (int x = from; x < to; x += COUNT) {
            long here = at + (long) PIXEL_BYTES * (x - from);
            IntVector v0 = IntVector.fromMemorySegment(I, NATIVE, here, ORDER);
            IntVector v1 = IntVector.fromMemorySegment(I, NATIVE, here + BYTES, ORDER);
            IntVector v2 = IntVector.fromMemorySegment(I, NATIVE, here + 2 * BYTES, ORDER);
            IntVector v3 = IntVector.fromMemorySegment(I, NATIVE, here + 3 * BYTES, ORDER);
            seen = seen.or(v0).or(v1.or(v2).or(v3));
            IntVector low = RED_GREEN.selectFrom(v0, v1);
            IntVector high = RED_GREEN.selectFrom(v2, v3);
            IntVector red = FIRST.selectFrom(low, high);
            IntVector green = SECOND.selectFrom(low, high);
            IntVector blue = FIRST.selectFrom(BLUE_ALPHA.selectFrom(v0, v1), BLUE_ALPHA.selectFrom(v2, v3));
            FloatVector fr = red.reinterpretAsFloats();
            FloatVector fg = green.reinterpretAsFloats();
            FloatVector fb = blue.reinterpretAsFloats();
            fg.add(fr.sub(fg).mul(wr)).add(fb.sub(fg).mul(wb)).intoArray(luma, x);
            fr.intoArray(r, x);
            fg.intoArray(g, x);
            fb.intoArray(b, x);
        }
        return seen.reduceLanes(OR);
    }

    /** Every other pixel is a site, from the first on. */
    private static int takeApartHalf(long at, int from, int to, float wr, float wb, float[] luma, float[] r, float[] g, float[] b) {
        IntVector seen = IntVector.zero(I);
        for (int x = from; x < to; x += 2 * COUNT) {
            long here = at + (long) PIXEL_BYTES * (x - from);
            IntVector v0 = IntVector.fromMemorySegment(I, NATIVE, here, ORDER);
            IntVector v1 = IntVector.fromMemorySegment(I, NATIVE, here + BYTES, ORDER);
            IntVector v2 = IntVector.fromMemorySegment(I, NATIVE, here + 2 * BYTES, ORDER);
            IntVector v3 = IntVector.fromMemorySegment(I, NATIVE, here + 3 * BYTES, ORDER);
            seen = seen.or(v0).or(v1.or(v2).or(v3));
            IntVector low = RED_GREEN.selectFrom(v0, v1);
            IntVector high = RED_GREEN.selectFrom(v2, v3);
            IntVector red = FIRST.selectFrom(low, high);
            IntVector green = SECOND.selectFrom(low, high);
            IntVector blue = FIRST.selectFrom(BLUE_ALPHA.selectFrom(v0, v1), BLUE_ALPHA.selectFrom(v2, v3));
            FloatVector fr = red.reinterpretAsFloats();
            FloatVector fg = green.reinterpretAsFloats();
            FloatVector fb = blue.reinterpretAsFloats();
            fg.add(fr.sub(fg).mul(wr)).add(fb.sub(fg).mul(wb)).intoArray(luma, x);
            here += 4 * BYTES;
            v0 = IntVector.fromMemorySegment(I, NATIVE, here, ORDER);
            v1 = IntVector.fromMemorySegment(I, NATIVE, here + BYTES, ORDER);
            v2 = IntVector.fromMemorySegment(I, NATIVE, here + 2 * BYTES, ORDER);
            v3 = IntVector.fromMemorySegment(I, NATIVE, here + 3 * BYTES, ORDER);
            seen = seen.or(v0).or(v1.or(v2).or(v3));
            low = RED_GREEN.selectFrom(v0, v1);
            high = RED_GREEN.selectFrom(v2, v3);
            IntVector red1 = FIRST.selectFrom(low, high);
            IntVector green1 = SECOND.selectFrom(low, high);
            IntVector blue1 = FIRST.selectFrom(BLUE_ALPHA.selectFrom(v0, v1), BLUE_ALPHA.selectFrom(v2, v3));
            fr = red1.reinterpretAsFloats();
            fg = green1.reinterpretAsFloats();
            fb = blue1.reinterpretAsFloats();
            fg.add(fr.sub(fg).mul(wr)).add(fb.sub(fg).mul(wb)).intoArray(luma, x + COUNT);
            int site = x >> 1;
            EVEN.selectFrom(red, red1).reinterpretAsFloats().intoArray(r, site);
            EVEN.selectFrom(green, green1).reinterpretAsFloats().intoArray(g, site);
            EVEN.selectFrom(blue, blue1).reinterpretAsFloats().intoArray(b, site);
        }
        return seen.reduceLanes(OR);
    }

    @Override
    public boolean readLuma(PlanarFrame frame, int line, int from, int to, MeasuredRow row) {
        if (!frame.luma().isDirect()) {
            return false;
        }
        int bytes = frame.depth().bytesPerSample();
        int whole = from + (to - from) / COUNT * COUNT;
        CodeRuns.read(frame.luma(), (long) line * frame.lumaStride() + (long) from * bytes, bytes == 1, 0,
            frame.blackCode(), 1f / frame.lumaSpan(), from, whole, row.luma);
        return whole == to || scalar.readLuma(frame, line, whole, to, row);
    }

    @Override
    public boolean readSites(PlanarFrame frame, int line, int from, int to, int siteShift, int chromaShift, MeasuredRow row) {
        if (!frame.cb().isDirect() || !frame.cr().isDirect() || siteShift != 1) {
            return false;
        }
        int bytes = frame.depth().bytesPerSample();
        // Of the last pair the second half may lie beyond the memory.
        int whole = from + (to - from - chromaShift) / COUNT * COUNT;
        if (whole > from) {
            long at = (long) (line >> frame.sampling().shiftY()) * frame.chromaStride() + ((long) from << chromaShift) * bytes;
            int zero = frame.depth().achromaticCode();
            float perCode = 1f / frame.chromaSpan();
            CodeRuns.read(frame.cb(), at, bytes == 1, chromaShift, zero, perCode, from, whole, row.blue);
            CodeRuns.read(frame.cr(), at, bytes == 1, chromaShift, zero, perCode, from, whole, row.red);
            LumaStandard standard = frame.standard();
            toColours(row, from, whole, (float) standard.crDivisor(), (float) standard.cbDivisor(),
                (float) (standard.redWeight() * standard.crDivisor() / standard.greenWeight()),
                (float) (standard.blueWeight() * standard.cbDivisor() / standard.greenWeight()));
        }
        return scalar.readSites(frame, line, whole, to, siteShift, chromaShift, row);
    }

    /** Cb and Cr, in the places of blue and red, to R', G', B'; two pixels to a site. */
    private static void toColours(MeasuredRow row, int from, int to, float crToRed, float cbToBlue, float crToGreen, float cbToGreen) {
        float[] luma = row.luma;
        float[] red = row.red;
        float[] green = row.green;
        float[] blue = row.blue;
        for (int i = from; i < to; i += COUNT) {
            FloatVector y = EVEN.selectFrom(FloatVector.fromArray(F, luma, 2 * i).reinterpretAsInts(),
                FloatVector.fromArray(F, luma, 2 * i + COUNT).reinterpretAsInts()).reinterpretAsFloats();
            FloatVector cb = FloatVector.fromArray(F, blue, i);
            FloatVector cr = FloatVector.fromArray(F, red, i);
            y.add(cr.mul(crToRed)).intoArray(red, i);
            y.sub(cr.mul(crToGreen)).sub(cb.mul(cbToGreen)).intoArray(green, i);
            y.add(cb.mul(cbToBlue)).intoArray(blue, i);
        }
    }

    @Override
    public void ofLuma(MeasuredRow row, int from, int to, int[] codes) {
        int whole = from + (to - from) / COUNT * COUNT;
        if (!lumaOf(row, from, whole, codes)) {
            scalar.ofLuma(row, from, to, codes);
            return;
        }
        if (whole < to) {
            long sum = row.stepSum;
            scalar.ofLuma(row, whole, to, codes);
            row.stepSum += sum;
            row.counted += whole - from;
        }
    }

    /** False when some pixel does not count; the extremes are right all the same. */
    private static boolean lumaOf(MeasuredRow row, int from, int to, int[] codes) {
        float[] luma = row.luma;
        int[] steps = row.lumaSteps;
        FloatVector low = FloatVector.broadcast(F, row.lowest);
        FloatVector high = FloatVector.broadcast(F, row.highest);
        VectorMask<Float> missing = F.maskAll(false);
        IntVector sum = IntVector.zero(I);
        for (int x = from; x < to; x += COUNT) {
            FloatVector y = FloatVector.fromArray(F, luma, x);
            low = low.blend(y, y.compare(LT, low));
            high = high.blend(y, y.compare(GT, high));
            missing = missing.or(y.compare(NE, y));
            IntVector step = ((IntVector) y.mul(PER_STEP).add(STEP_ZERO).convertShape(F2I, I, 0)).max(0).min(LAST_STEP);
            step.intoArray(steps, x);
            sum = sum.add(step);
            ((IntVector) y.mul(MeasuredRow.CODES).add(8192.5f).convertShape(F2I, I, 0)).sub(8192).intoArray(codes, x);
        }
        row.lowest = low.reduceLanes(MIN);
        row.highest = high.reduceLanes(MAX);
        row.stepSum = sum.reduceLanes(ADD);
        row.counted = to - from;
        return !missing.anyTrue();
    }

    @Override
    public void ofSites(MeasuredRow row, LumaStandard standard, int siteShift, int from, int to) {
        int n = to - from;
        int whole = n / COUNT * COUNT;
        if (whole < n) {
            // First, for it leaves its skin at the first words.
            scalar.ofSites(row, standard, siteShift, from + whole, to);
        }
        long last = whole < n ? row.skin[0] : 0;
        if (siteShift == 0) {
            System.arraycopy(row.luma, from, row.siteLuma, from, whole);
            System.arraycopy(row.lumaSteps, from, row.siteSteps, from, whole);
        } else {
            everyOther(row.luma, row.siteLuma, row.lumaSteps, row.siteSteps, from, from + whole);
        }
        stepsOf(row.red, row.redSteps, from, from + whole);
        stepsOf(row.green, row.greenSteps, from, from + whole);
        stepsOf(row.blue, row.blueSteps, from, from + whole);
        Arrays.fill(row.skin, 0, (n + 63) / 64, 0);
        chromaOf(row, (float) (1 / standard.cbDivisor()), (float) (1 / standard.crDivisor()), from, whole);
        if (whole < n) {
            row.skin[whole >> 6] |= last << whole;
            if ((n - 1) >> 6 > whole >> 6) {
                row.skin[(whole >> 6) + 1] |= last >>> -whole;
            }
        }
    }

    private static void everyOther(float[] luma, float[] siteLuma, int[] steps, int[] siteSteps, int from, int to) {
        for (int i = from; i < to; i += COUNT) {
            EVEN.selectFrom(FloatVector.fromArray(F, luma, 2 * i).reinterpretAsInts(), FloatVector.fromArray(F, luma, 2 * i + COUNT).reinterpretAsInts())
                .reinterpretAsFloats().intoArray(siteLuma, i);
            EVEN.selectFrom(IntVector.fromArray(I, steps, 2 * i), IntVector.fromArray(I, steps, 2 * i + COUNT)).intoArray(siteSteps, i);
        }
    }

    private static void stepsOf(float[] levels, int[] steps, int from, int to) {
        for (int i = from; i < to; i += COUNT) {
            ((IntVector) FloatVector.fromArray(F, levels, i).mul(PER_STEP).add(STEP_ZERO).convertShape(F2I, I, 0)).max(0).min(LAST_STEP)
                .intoArray(steps, i);
        }
    }

    private static void chromaOf(MeasuredRow row, float cbScale, float crScale, int from, int n) {
        float[] luma = row.siteLuma;
        float[] red = row.red;
        float[] blue = row.blue;
        int[] chroma = row.chroma;
        long[] skin = row.skin;
        for (int k = 0; k < n; k += COUNT) {
            int i = from + k;
            FloatVector y = FloatVector.fromArray(F, luma, i);
            FloatVector cb = FloatVector.fromArray(F, blue, i).sub(y).mul(cbScale);
            FloatVector cr = FloatVector.fromArray(F, red, i).sub(y).mul(crScale);
            FloatVector squared = cb.mul(cb).add(cr.mul(cr));
            ((IntVector) squared.lanewise(SQRT).mul(MeasuredRow.CHROMA_UNIT).add(0.5f).convertShape(F2I, I, 0)).intoArray(chroma, i);
            // Inside every bound: what Skin sums up is 0 exactly where none of its terms is below 0.
            FloatVector ratio = y.mul(y);
            VectorMask<Float> inside = cr.mul(Skin.FROM_CB).sub(cb.mul(Skin.FROM_CR)).compare(GE, 0f)
                .and(cb.mul(Skin.TO_CR).sub(cr.mul(Skin.TO_CB)).compare(GE, 0f))
                .and(y.mul(Skin.OF_LUMA).add(cr.mul(Skin.OF_CR)).add(cb).compare(GE, 0f))
                .and(y.compare(GE, 0f))
                .and(squared.sub(Skin.LEAST_SQUARED).compare(GE, 0f))
                .and(squared.sub(ratio.mul(Skin.LEAST_RATIO)).compare(GE, 0f))
                .and(ratio.mul(Skin.MOST_RATIO).sub(squared).compare(GE, 0f));
            skin[k >> 6] |= inside.toLong() << k;
        }
    }

    @Override
    public void addFine(int[] above, int[] below, int from, int to, int[] fine, int[] blocks, int[] sums) {
        int whole = from + (to - from) / COUNT * COUNT;
        for (int x = from; x < whole; x += COUNT) {
            IntVector a = IntVector.fromArray(I, above, x);
            IntVector b = IntVector.fromArray(I, above, x + 1);
            IntVector c = IntVector.fromArray(I, below, x);
            IntVector d = IntVector.fromArray(I, below, x + 1);
            IntVector.fromArray(I, fine, x).add(a.sub(c).sub(b.sub(d)).abs()).intoArray(fine, x);
            IntVector block = a.add(c).add(b.add(d));
            block.intoArray(blocks, x);
            IntVector.fromArray(I, sums, x).add(block).intoArray(sums, x);
        }
        scalar.addFine(above, below, whole, to, fine, blocks, sums);
    }

    @Override
    public void addCoarse(int[] above, int[] below, int from, int to, int[] coarse) {
        int whole = from + (to - from) / COUNT * COUNT;
        for (int x = from; x < whole; x += COUNT) {
            IntVector fromLeft = IntVector.fromArray(I, above, x).sub(IntVector.fromArray(I, below, x));
            IntVector fromRight = IntVector.fromArray(I, above, x + 2).sub(IntVector.fromArray(I, below, x + 2));
            IntVector.fromArray(I, coarse, x).add(fromLeft.sub(fromRight).abs()).intoArray(coarse, x);
        }
        scalar.addCoarse(above, below, whole, to, coarse);
    }
}
