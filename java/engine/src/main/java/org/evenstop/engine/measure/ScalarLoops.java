// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.measure;

import java.nio.ByteBuffer;
import java.nio.ByteOrder;
import org.evenstop.engine.frame.AlphaState;
import org.evenstop.engine.frame.PackedFrame;
import org.evenstop.engine.frame.PlanarFrame;
import org.evenstop.engine.frame.SampleDepth;
import org.evenstop.engine.kernel.FloatStage;
import org.evenstop.engine.kernel.SampleIo;
import org.evenstop.engine.level.LumaStandard;

/**
 * The loops of measuring in plain Java, for every frame. Each does little, so that the compiler turns it into wide instructions where it
 * can.
 */
public final class ScalarLoops implements MeasureLoops {
    private static final float PER_STEP = LevelHistogram.STEPS_PER_UNIT;
    private static final float STEP_ZERO = LevelHistogram.ZERO + 0.5f;
    /** Pixels of a run for which a view of the memory does not pay: what registers leave of a row, which allocates nothing so. */
    private static final int SHORT = 64;
    private static final ThreadLocal<Scratch> SCRATCH = ThreadLocal.withInitial(() -> new Scratch(0));

    /** What lies between two loops. */
    private static final class Scratch {
        final float[] raw;
        final float[] r;
        final float[] g;
        final float[] b;
        final float[] cb;
        final float[] cr;
        final float[] margin;
        final FloatStage stage = new FloatStage();

        Scratch(int count) {
            raw = new float[4 * count];
            r = new float[count];
            g = new float[count];
            b = new float[count];
            cb = new float[count];
            cr = new float[count];
            margin = new float[count];
        }

        static Scratch of(int count) {
            Scratch held = SCRATCH.get();
            if (held.r.length < count) {
                held = new Scratch(count);
                SCRATCH.set(held);
            }
            return held;
        }
    }

    @Override
    public String name() {
        return "scalar";
    }

    @Override
    public boolean read(PackedFrame frame, LumaStandard standard, int line, int from, int to, int siteShift, MeasuredRow row) {
        int channels = frame.components().count();
        int n = to - from;
        Scratch s = Scratch.of(n);
        int offset = frame.rowOffset(line) + from * channels * frame.depth().bytes();
        if (frame.depth() == SampleDepth.FLOAT && n <= SHORT) {
            s.stage.load(frame.memory(), offset, s.raw, n * channels);
        } else if (frame.depth() == SampleDepth.FLOAT) {
            ByteBuffer pixels = frame.memory().slice(offset, 4 * n * channels);
            pixels.order(ByteOrder.nativeOrder()).asFloatBuffer().get(s.raw, 0, n * channels);
        } else {
            SampleIo.load(frame.memory(), offset, frame.depth(), s.raw, n * channels);
        }
        boolean transparent = false;
        if (channels == 3 || frame.alpha() == AlphaState.OPAQUE) {
            takeApart(s.raw, channels, n, s.r, s.g, s.b);
        } else {
            transparent = takeApartWeighted(s.raw, frame.alpha() == AlphaState.PREMULTIPLIED, n, s.r, s.g, s.b);
        }
        lumaOf(s.r, s.g, s.b, (float) standard.redWeight(), (float) standard.blueWeight(), n, row.luma, from);
        if (transparent) {
            for (int x = 0; x < n; x++) {
                if (!(s.raw[4 * x + 3] >= 0.5f)) {
                    row.luma[from + x] = Float.NaN;
                }
            }
        }
        toSites(s.r, n, from, siteShift, row.red);
        toSites(s.g, n, from, siteShift, row.green);
        toSites(s.b, n, from, siteShift, row.blue);
        return true;
    }

    private static void takeApart(float[] raw, int channels, int n, float[] r, float[] g, float[] b) {
        for (int x = 0, j = 0; x < n; x++, j += channels) {
            r[x] = finite(raw[j]);
            g[x] = finite(raw[j + 1]);
            b[x] = finite(raw[j + 2]);
        }
    }

    private static void toSites(float[] levels, int n, int from, int siteShift, float[] sites) {
        if (siteShift == 0) {
            System.arraycopy(levels, 0, sites, from, n);
            return;
        }
        for (int i = 0, x = 0; x < n; i++, x += 2) {
            sites[(from >> 1) + i] = levels[x];
        }
    }

    /** True when some pixel has less than half opacity. */
    private static boolean takeApartWeighted(float[] raw, boolean premultiplied, int n, float[] r, float[] g, float[] b) {
        boolean transparent = false;
        for (int x = 0, j = 0; x < n; x++, j += 4) {
            float alpha = raw[j + 3];
            if (!(alpha >= 0.5f)) {
                transparent = true;
                r[x] = 0f;
                g[x] = 0f;
                b[x] = 0f;
            } else {
                float divisor = premultiplied ? alpha : 1f;
                r[x] = finite(raw[j] / divisor);
                g[x] = finite(raw[j + 1] / divisor);
                b[x] = finite(raw[j + 2] / divisor);
            }
        }
        return transparent;
    }

    private static float finite(float value) {
        if (value >= -2f && value <= 2f) {
            return value;
        }
        return value != value ? 0f : value < 0f ? -2f : 2f;
    }

    /** Around green, as the kernels take it: exact for grey. */
    private static void lumaOf(float[] r, float[] g, float[] b, float wr, float wb, int n, float[] luma, int from) {
        for (int x = 0; x < n; x++) {
            luma[from + x] = g[x] + wr * (r[x] - g[x]) + wb * (b[x] - g[x]);
        }
    }

    @Override
    public boolean readLuma(PlanarFrame frame, int line, int from, int to, MeasuredRow row) {
        frame.readLuma(line, from, to, row.luma);
        return true;
    }

    @Override
    public boolean readSites(PlanarFrame frame, int line, int from, int to, int siteShift, int chromaShift, MeasuredRow row) {
        LumaStandard standard = frame.standard();
        float crToRed = (float) standard.crDivisor();
        float cbToBlue = (float) standard.cbDivisor();
        float crToGreen = (float) (standard.redWeight() * standard.crDivisor() / standard.greenWeight());
        float cbToGreen = (float) (standard.blueWeight() * standard.cbDivisor() / standard.greenWeight());
        int chromaLine = line >> frame.sampling().shiftY();
        frame.readCb(chromaLine, from, to, chromaShift, row.blue);
        frame.readCr(chromaLine, from, to, chromaShift, row.red);
        for (int i = from; i < to; i++) {
            float y = row.luma[i << siteShift];
            float cb = row.blue[i];
            float cr = row.red[i];
            row.red[i] = y + crToRed * cr;
            row.green[i] = y - crToGreen * cr - cbToGreen * cb;
            row.blue[i] = y + cbToBlue * cb;
        }
        return true;
    }

    @Override
    public void ofLuma(MeasuredRow row, int from, int to, int[] codes) {
        boolean all = extremes(row, from, to);
        steps(row.luma, from, to, row.lumaSteps);
        codes(row.luma, from, to, codes);
        row.stepSum = sum(row.lumaSteps, from, to);
        row.counted = to - from;
        if (!all) {
            leaveOut(row, from, to, codes);
        }
    }

    private static void leaveOut(MeasuredRow row, int from, int to, int[] codes) {
        for (int x = from; x < to; x++) {
            if (row.luma[x] != row.luma[x]) {
                row.stepSum -= row.lumaSteps[x];
                row.lumaSteps[x] = MeasuredRow.NONE;
                codes[x] = MeasuredRow.NO_CODE;
                row.counted--;
            }
        }
    }

    /** False when some pixel does not count. */
    private static boolean extremes(MeasuredRow row, int from, int to) {
        float[] y = row.luma;
        float low0 = row.lowest;
        float low1 = row.lowest;
        float low2 = row.lowest;
        float low3 = row.lowest;
        float high0 = row.highest;
        float high1 = row.highest;
        float high2 = row.highest;
        float high3 = row.highest;
        int missing = 0;
        int x = from;
        // Four at once: each extreme waits for the one before it.
        for (; x + 3 < to; x += 4) {
            float a = y[x];
            float b = y[x + 1];
            float c = y[x + 2];
            float d = y[x + 3];
            low0 = a < low0 ? a : low0;
            low1 = b < low1 ? b : low1;
            low2 = c < low2 ? c : low2;
            low3 = d < low3 ? d : low3;
            high0 = a > high0 ? a : high0;
            high1 = b > high1 ? b : high1;
            high2 = c > high2 ? c : high2;
            high3 = d > high3 ? d : high3;
            missing += a != a | b != b | c != c | d != d ? 1 : 0;
        }
        for (; x < to; x++) {
            float a = y[x];
            low0 = a < low0 ? a : low0;
            high0 = a > high0 ? a : high0;
            missing += a != a ? 1 : 0;
        }
        row.lowest = Math.min(Math.min(low0, low1), Math.min(low2, low3));
        row.highest = Math.max(Math.max(high0, high1), Math.max(high2, high3));
        return missing == 0;
    }

    private static void steps(float[] level, int from, int to, int[] steps) {
        for (int x = from; x < to; x++) {
            steps[x] = Math.min(Math.max((int) (level[x] * PER_STEP + STEP_ZERO), 0), LevelHistogram.SIZE - 1);
        }
    }

    private static void codes(float[] level, int from, int to, int[] codes) {
        for (int x = from; x < to; x++) {
            codes[x] = (int) (level[x] * MeasuredRow.CODES + 8192.5f) - 8192;
        }
    }

    private static int sum(int[] steps, int from, int to) {
        int sum = 0;
        for (int x = from; x < to; x++) {
            sum += steps[x];
        }
        return sum;
    }

    @Override
    public void ofSites(MeasuredRow row, LumaStandard standard, int siteShift, int from, int to) {
        int n = to - from;
        Scratch s = Scratch.of(n);
        if (siteShift == 0) {
            System.arraycopy(row.luma, from, row.siteLuma, from, n);
            System.arraycopy(row.lumaSteps, from, row.siteSteps, from, n);
        } else {
            for (int i = 0; i < n; i++) {
                row.siteLuma[from + i] = row.luma[2 * (from + i)];
                row.siteSteps[from + i] = row.lumaSteps[2 * (from + i)];
            }
        }
        steps(row.red, from, to, row.redSteps);
        steps(row.green, from, to, row.greenSteps);
        steps(row.blue, from, to, row.blueSteps);
        differences(row.blue, row.siteLuma, (float) (1 / standard.cbDivisor()), from, n, s.cb);
        differences(row.red, row.siteLuma, (float) (1 / standard.crDivisor()), from, n, s.cr);
        chromaOf(s.cb, s.cr, n, row.chroma, from);
        skinMargins(row.siteLuma, from, s.cb, s.cr, n, s.margin);
        for (int word = 0; word < n + 63 >> 6; word++) {
            row.skin[word] = 0;
        }
        for (int i = 0; i < n; i++) {
            if (s.margin[i] >= 0f) {
                row.skin[i >> 6] |= 1L << i;
            }
        }
    }

    private static void differences(float[] colour, float[] y, float scale, int from, int n, float[] into) {
        for (int i = 0; i < n; i++) {
            into[i] = (colour[from + i] - y[from + i]) * scale;
        }
    }

    private static void chromaOf(float[] cb, float[] cr, int n, int[] chroma, int from) {
        for (int i = 0; i < n; i++) {
            chroma[from + i] = (int) ((float) Math.sqrt(cb[i] * cb[i] + cr[i] * cr[i]) * MeasuredRow.CHROMA_UNIT + 0.5f);
        }
    }

    /** Three loops: one with all of it is too long for the compiler to widen. */
    private static void skinMargins(float[] y, int from, float[] cb, float[] cr, int n, float[] margin) {
        for (int i = 0; i < n; i++) {
            margin[i] = Skin.hueMargin(cb[i], cr[i]);
        }
        for (int i = 0; i < n; i++) {
            margin[i] += Skin.yellowMargin(y[from + i], cb[i], cr[i]);
        }
        for (int i = 0; i < n; i++) {
            margin[i] += Skin.chromaMargin(y[from + i], cb[i], cr[i]);
        }
    }

    @Override
    public void addFine(int[] above, int[] below, int from, int to, int[] fine, int[] blocks, int[] sums) {
        for (int x = from; x < to; x++) {
            int a = above[x];
            int b = above[x + 1];
            int c = below[x];
            int d = below[x + 1];
            fine[x] += Math.abs(a - c - (b - d));
            int block = a + c + (b + d);
            blocks[x] = block;
            sums[x] += block;
        }
    }

    @Override
    public void addCoarse(int[] above, int[] below, int from, int to, int[] coarse) {
        for (int x = from; x < to; x++) {
            coarse[x] += Math.abs(above[x] - below[x] - (above[x + 2] - below[x + 2]));
        }
    }
}
