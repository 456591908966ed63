// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.kernel;

import java.nio.ByteBuffer;
import org.evenstop.engine.curve.Curve;
import org.evenstop.engine.curve.Fused;
import org.evenstop.engine.frame.AlphaState;
import org.evenstop.engine.frame.Components;
import org.evenstop.engine.frame.PackedFrame;
import org.evenstop.engine.frame.PlanarFrame;
import org.evenstop.engine.frame.SampleDepth;
import org.evenstop.engine.solve.Correction;

/**
 * The reference kernel in plain Java: blocks of a row are read into planar float arrays, corrected, and written back. One piece
 * of maths serves every format, so all formats agree.
 */
public final class ScalarKernel implements CorrectionKernel {
    /** Pixels in a block: small enough that its arrays stay in the first-level cache. */
    static final int BLOCK = 512;
    /** Premultiplied pixels with less alpha than this pass unchanged: dividing by it would amplify rounding without end. */
    public static final float SMALLEST_ALPHA = 1f / 65536;
    private static final ThreadLocal<PlanarPass> PLANAR_OF_THREAD = ThreadLocal.withInitial(PlanarPass::new);

    @Override
    public String name() {
        return "scalar";
    }

    @Override
    public void apply(PackedFrame source, PackedFrame destination, int rowFrom, int rowTo, Correction correction, float strength) {
        requireBand(source, destination, rowFrom, rowTo);
        if (strength == 0f || correction.isIdentity() || source.components() == Components.ALPHA) {
            copyRows(source, destination, rowFrom, rowTo);
            return;
        }
        Block block = Block.ofThread(correction, strength);
        for (int row = rowFrom; row < rowTo; row++) {
            apply(block, source, destination, row, 0, source.width());
        }
    }

    /**
     * Corrects {@code count} pixels of one row, from column {@code x} on: what a kernel for wide registers leaves to this one. Frame and correction are such as
     * {@link #apply} does not merely copy, and were asked for by {@link #requireBand}.
     */
    public void applyToRun(PackedFrame source, PackedFrame destination, int row, int x, int count, Correction correction, float strength) {
        apply(Block.ofThread(correction, strength), source, destination, row, x, x + count);
    }

    private static void apply(Block block, PackedFrame source, PackedFrame destination, int row, int from, int to) {
        for (int x = from; x < to; x += BLOCK) {
            int n = Math.min(BLOCK, to - x);
            block.load(source, row, x, n);
            block.correct(n);
            block.store(source, destination, row, x, n);
        }
    }

    private static void copyRows(PackedFrame source, PackedFrame destination, int rowFrom, int rowTo) {
        for (int row = rowFrom; row < rowTo; row++) {
            destination.memory().put(destination.rowOffset(row), source.memory(), source.rowOffset(row), source.rowBytes());
        }
    }

    @Override
    public void apply(PlanarFrame source, PlanarFrame destination, int rowFrom, int rowTo, Correction correction, float strength) {
        requireBand(source, destination, rowFrom, rowTo);
        PLANAR_OF_THREAD.get().run(source, destination, rowFrom, rowTo, correction, strength);
    }

    /** Refuses frames of different shapes, rows that are not theirs and a read-only destination, with an IllegalArgumentException that says which. */
    public static void requireBand(PackedFrame source, PackedFrame destination, int rowFrom, int rowTo) {
        requireSameShape(source, destination);
        requireWritable(destination.memory());
        requireRows(rowFrom, rowTo, source.height());
    }

    /** As above; rows of 4:2:0 frames come in pairs. */
    public static void requireBand(PlanarFrame source, PlanarFrame destination, int rowFrom, int rowTo) {
        requireSameShape(source, destination);
        requireWritable(destination.luma());
        requireWritable(destination.cb());
        requireWritable(destination.cr());
        requireRows(rowFrom, rowTo, source.height());
        int evenness = (1 << source.sampling().shiftY()) - 1;
        if ((rowFrom & evenness) != 0 || (rowTo & evenness) != 0 && rowTo != source.height()) {
            throw new IllegalArgumentException("rows " + rowFrom + ".." + rowTo + " of a 4:2:0 frame must be even");
        }
    }

    private static void requireRows(int rowFrom, int rowTo, int height) {
        if (rowFrom < 0 || rowTo > height || rowFrom > rowTo) {
            throw new IllegalArgumentException("rows " + rowFrom + ".." + rowTo + " lie outside a frame of " + height + " rows");
        }
    }

    private static void requireWritable(ByteBuffer memory) {
        if (memory.isReadOnly()) {
            throw new IllegalArgumentException("the destination's memory is read-only; a buffer that can be written is needed");
        }
    }

    private static void requireSameShape(PackedFrame a, PackedFrame b) {
        if (a.width() != b.width() || a.height() != b.height() || a.components() != b.components() || a.depth() != b.depth()) {
            throw new IllegalArgumentException("source " + a.width() + "x" + a.height() + " " + a.components() + " " + a.depth()
                + " and destination " + b.width() + "x" + b.height() + " " + b.components() + " " + b.depth() + " differ");
        }
    }

    private static void requireSameShape(PlanarFrame a, PlanarFrame b) {
        if (a.width() != b.width() || a.height() != b.height() || a.sampling() != b.sampling() || a.depth() != b.depth()
            || a.fullRange() != b.fullRange()) {
            throw new IllegalArgumentException("source and destination of a planar correction differ in size, sampling, depth or range");
        }
    }

    /** Pixels in flight and the correction applied to them: one for each thread, kept, so that a frame allocates nothing. */
    static final class Block {
        /** The largest half float; levels beyond are taken as it. */
        private static final float LARGEST = 65504f;
        private static final int LARGEST_BITS = Float.floatToRawIntBits(LARGEST);
        /** Of an offset to which a block's bytes are added. */
        private static final int FARTHEST = 1 << 30;
        private static final ThreadLocal<Block> OF_THREAD = ThreadLocal.withInitial(Block::new);

        private final float[] r = new float[BLOCK];
        private final float[] g = new float[BLOCK];
        private final float[] b = new float[BLOCK];
        private final float[] a = new float[BLOCK];
        private final float[] luma = new float[BLOCK];
        private final float[] factors = new float[BLOCK];
        private final int[] alphas = new int[BLOCK];
        private final float[] raw = new float[4 * BLOCK];
        private final FloatStage stage = new FloatStage();
        private final float[] keptR = new float[BLOCK];
        private final float[] keptG = new float[BLOCK];
        private final float[] keptB = new float[BLOCK];
        private Curve chromaIn;
        private Curve tone;
        private Curve chromaOut;
        private boolean changesChromaIn;
        private boolean changesTone;
        private boolean changesChromaOut;
        private float wr;
        private float wb;
        private float strength;

        /** This thread's block, set to a correction; good until the next call on the same thread. */
        static Block ofThread(Correction correction, float strength) {
            Block block = OF_THREAD.get();
            block.chromaIn = correction.chromaIn();
            block.tone = correction.tone();
            block.chromaOut = correction.chromaOut();
            block.changesChromaIn = !block.chromaIn.isConstant(1);
            block.changesTone = !block.tone.isIdentity();
            block.changesChromaOut = !block.chromaOut.isConstant(1);
            block.wr = (float) correction.standard().redWeight();
            block.wb = (float) correction.standard().blueWeight();
            block.strength = strength;
            return block;
        }

        void load(PackedFrame frame, int row, int x, int n) {
            int channels = frame.components().count();
            int offset = frame.rowOffset(row) + x * channels * frame.depth().bytes();
            boolean premultiplied = frame.alpha() == AlphaState.PREMULTIPLIED && channels == 4;
            if (isTakenDirectly(frame, offset)) {
                loadFloats(frame.memory(), offset, n);
                return;
            }
            if (frame.depth() == SampleDepth.FLOAT && !frame.memory().isDirect()) {
                // Kept apart: a loop that meets both kinds of memory is half as fast on either.
                stage.load(frame.memory(), offset, raw, n * channels);
            } else {
                SampleIo.load(frame.memory(), offset, frame.depth(), raw, n * channels);
            }
            if (premultiplied) {
                loadDivided(n);
                return;
            }
            for (int i = 0, j = 0; i < n; i++, j += channels) {
                r[i] = finite(raw[j]);
                g[i] = finite(raw[j + 1]);
                b[i] = finite(raw[j + 2]);
            }
        }

        /** RGBA floats outside the heap that need no dividing; and not at the far end of two gigabytes. */
        private static boolean isTakenDirectly(PackedFrame frame, int offset) {
            return frame.depth() == SampleDepth.FLOAT && frame.components() == Components.RGBA && frame.alpha() != AlphaState.PREMULTIPLIED
                && frame.memory().isDirect() && offset <= FARTHEST;
        }

        private void loadFloats(ByteBuffer memory, int offset, int n) {
            int at = bounded(offset);
            int count = Math.min(n, BLOCK);
            float[] r = this.r;
            float[] g = this.g;
            float[] b = this.b;
            int[] alphas = this.alphas;
            // Negative as soon as one value is beyond, so that the loop has no branches.
            int room = 0;
            for (int i = 0; i < count; i++) {
                int red = memory.getInt(at + 16 * i);
                int green = memory.getInt(at + 16 * i + 4);
                int blue = memory.getInt(at + 16 * i + 8);
                room |= LARGEST_BITS - (red & Integer.MAX_VALUE) | LARGEST_BITS - (green & Integer.MAX_VALUE) | LARGEST_BITS - (blue & Integer.MAX_VALUE);
                r[i] = Float.intBitsToFloat(red);
                g[i] = Float.intBitsToFloat(green);
                b[i] = Float.intBitsToFloat(blue);
                alphas[i] = memory.getInt(at + 16 * i + 12);
            }
            if (room >= 0) {
                return;
            }
            for (int i = 0; i < count; i++) {
                r[i] = finite(r[i]);
                g[i] = finite(g[i]);
                b[i] = finite(b[i]);
            }
        }

        /**
         * The offset itself. Told its bounds where it is used, the compiler sees that no sum with it overflows, and finds an address in one instruction, not four:
         * a frame takes four fifths of the time (Java 17).
         */
        private static int bounded(int offset) {
            return Math.max(0, Math.min(offset, FARTHEST));
        }

        private void loadDivided(int n) {
            for (int i = 0, j = 0; i < n; i++, j += 4) {
                float alpha = raw[j + 3];
                float divisor = alpha >= SMALLEST_ALPHA ? alpha : 1f;
                a[i] = alpha;
                r[i] = finite(raw[j] / divisor);
                g[i] = finite(raw[j + 1] / divisor);
                b[i] = finite(raw[j + 2] / divisor);
            }
        }

        void store(PackedFrame source, PackedFrame frame, int row, int x, int n) {
            int channels = frame.components().count();
            SampleDepth depth = frame.depth();
            int offset = frame.rowOffset(row) + x * channels * depth.bytes();
            boolean premultiplied = source.alpha() == AlphaState.PREMULTIPLIED && channels == 4;
            if (isTakenDirectly(source, source.rowOffset(row) + x * 16) && frame.memory().isDirect() && offset <= FARTHEST) {
                storeFloats(frame.memory(), offset, n);
                return;
            }
            if (premultiplied) {
                storeMultiplied(n);
            } else {
                for (int i = 0, j = 0; i < n; i++, j += channels) {
                    raw[j] = r[i];
                    raw[j + 1] = g[i];
                    raw[j + 2] = b[i];
                }
            }
            SampleIo.store(raw, n * channels, frame.memory(), offset, depth);
            if (channels == 4) {
                restoreExactSamples(source, frame, row, x, n, premultiplied);
            }
        }

        private void storeFloats(ByteBuffer memory, int offset, int n) {
            int at = bounded(offset);
            int count = Math.min(n, BLOCK);
            float[] r = this.r;
            float[] g = this.g;
            float[] b = this.b;
            int[] alphas = this.alphas;
            for (int i = 0; i < count; i++) {
                memory.putFloat(at + 16 * i, r[i]);
                memory.putFloat(at + 16 * i + 4, g[i]);
                memory.putFloat(at + 16 * i + 8, b[i]);
                memory.putInt(at + 16 * i + 12, alphas[i]);
            }
        }

        private void storeMultiplied(int n) {
            for (int i = 0, j = 0; i < n; i++, j += 4) {
                if (!passes(a[i])) {
                    raw[j] = r[i] * a[i];
                    raw[j + 1] = g[i] * a[i];
                    raw[j + 2] = b[i] * a[i];
                }
            }
        }

        /** Whether a premultiplied pixel of this alpha stays as it is: too little to divide by, infinite, or no number. */
        private static boolean passes(float alpha) {
            return !(alpha >= SMALLEST_ALPHA && alpha <= Float.MAX_VALUE);
        }

        /** Alpha, and premultiplied pixels that passed, keep their very bits (a NaN keeps its payload). */
        private void restoreExactSamples(PackedFrame source, PackedFrame frame, int row, int x, int n, boolean premultiplied) {
            int bytes = frame.depth().bytes();
            int from = source.rowOffset(row) + x * 4 * bytes;
            int to = frame.rowOffset(row) + x * 4 * bytes;
            for (int i = 0; i < n; i++) {
                boolean passed = premultiplied && passes(a[i]);
                for (int channel = passed ? 0 : 3; channel < 4; channel++) {
                    int k = (4 * i + channel) * bytes;
                    if (bytes == 4) {
                        frame.memory().putInt(to + k, source.memory().getInt(from + k));
                    } else if (bytes == 2) {
                        frame.memory().putShort(to + k, source.memory().getShort(from + k));
                    } else {
                        frame.memory().put(to + k, source.memory().get(from + k));
                    }
                }
            }
        }

        /** The whole model on the first n pixels of the block, in place. */
        void correct(int n) {
            if (strength == 1f) {
                correctFully(n);
                return;
            }
            System.arraycopy(r, 0, keptR, 0, n);
            System.arraycopy(g, 0, keptG, 0, n);
            System.arraycopy(b, 0, keptB, 0, n);
            correctFully(n);
            for (int i = 0; i < n; i++) {
                r[i] = Fused.multiplyAdd(strength, r[i] - keptR[i], keptR[i]);
                g[i] = Fused.multiplyAdd(strength, g[i] - keptG[i], keptG[i]);
                b[i] = Fused.multiplyAdd(strength, b[i] - keptB[i], keptB[i]);
            }
        }

        private void correctFully(int n) {
            if (changesChromaIn) {
                scaleChroma(chromaIn, n);
            }
            if (changesTone) {
                tone.apply(r, n);
                tone.apply(g, n);
                tone.apply(b, n);
            }
            if (changesChromaOut) {
                scaleChroma(chromaOut, n);
            }
        }

        private void scaleChroma(Curve factor, int n) {
            float[] r = this.r;
            float[] g = this.g;
            float[] b = this.b;
            float[] y = luma;
            float[] s = factors;
            for (int i = 0; i < n; i++) {
                // Around green, so that a grey pixel's luma is its level exactly although the rounded weights may not sum to one.
                y[i] = Fused.multiplyAdd(wb, b[i] - g[i], Fused.multiplyAdd(wr, r[i] - g[i], g[i]));
                s[i] = y[i];
            }
            factor.apply(s, n);
            for (int i = 0; i < n; i++) {
                r[i] = Fused.multiplyAdd(s[i], r[i] - y[i], y[i]);
                g[i] = Fused.multiplyAdd(s[i], g[i] - y[i], y[i]);
                b[i] = Fused.multiplyAdd(s[i], b[i] - y[i], y[i]);
            }
        }

        private static float finite(float value) {
            if (value >= -LARGEST && value <= LARGEST) {
                return value;
            }
            return value != value ? 0f : value < 0 ? -LARGEST : LARGEST;
        }
    }
}
