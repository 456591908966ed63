// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.mask;

import java.nio.ByteBuffer;
import java.nio.ByteOrder;
import org.evenstop.engine.frame.AlphaState;
import org.evenstop.engine.frame.Components;
import org.evenstop.engine.frame.FramePlace;
import org.evenstop.engine.frame.PackedFrame;
import org.evenstop.engine.frame.SampleDepth;
import org.evenstop.engine.kernel.CorrectionKernel;
import org.evenstop.engine.kernel.SampleIo;
import org.evenstop.engine.kernel.ScalarKernel;
import org.evenstop.engine.solve.Correction;

/**
 * Two corrections blended by a {@link GraduatedMask}: {@code out = ground + w (sky - ground)} per component, in float, before
 * the result is rounded to the frame's depth. Premultiplied pixels are blended premultiplied.
 *
 * <p>Rows of which all is ground, or all sky, cost one correction. The result depends on a pixel's place in the picture only:
 * tiles, bands and whole frames agree bit for bit. Safe from any number of threads on bands of one frame.
 *
 * @param ground what is done below the mask
 * @param sky    what is done where its weight is 1
 */
public record MaskedCorrection(GraduatedMask mask, Correction ground, Correction sky) {
    /** Rows blended at a time: their floats stay in the second-level cache. */
    private static final int BAND_ROWS = 4;

    /** Memory of a thread, kept so that frames allocate none. */
    private static final class Scratch {
        private static final ThreadLocal<Scratch> OF_THREAD = ThreadLocal.withInitial(Scratch::new);

        private ByteBuffer ground = ByteBuffer.allocateDirect(0);
        private ByteBuffer sky = ByteBuffer.allocateDirect(0);
        private float[] below = new float[0];
        private float[] above = new float[0];
        private float[] weights = new float[0];
        /** One pixel: its samples as they stood, and its levels. */
        private final byte[] kept = new byte[16];
        private final float[] pixel = new float[4];

        /** What is asked about is set last: memory may run out halfway, and the next frame come all the same. */
        static Scratch of(int bandBytes, int rowSamples) {
            Scratch scratch = OF_THREAD.get();
            if (scratch.sky.capacity() < bandBytes) {
                scratch.ground = ByteBuffer.allocateDirect(bandBytes).order(ByteOrder.nativeOrder());
                scratch.sky = ByteBuffer.allocateDirect(bandBytes).order(ByteOrder.nativeOrder());
            }
            if (scratch.weights.length < rowSamples) {
                scratch.below = new float[rowSamples];
                scratch.above = new float[rowSamples];
                scratch.weights = new float[rowSamples];
            }
            return scratch;
        }
    }

    /** True when neither correction changes anything, or the mask leaves the one that does no weight. */
    public boolean isIdentity() {
        return ground.isIdentity() && (sky.isIdentity() || mask.mix() == 0);
    }

    /**
     * Corrects a band of rows. Source and destination are alike in size, components and depth, and may be the same memory.
     *
     * @param rowFrom first row, 0 or more
     * @param rowTo   row after the last, at most the height
     * @param place   where the frame lies in the picture
     * @param strength 0..1, as in {@link CorrectionKernel}
     */
    public void apply(CorrectionKernel kernel, PackedFrame source, PackedFrame destination, int rowFrom, int rowTo, FramePlace place, float strength) {
        ScalarKernel.requireBand(source, destination, rowFrom, rowTo);
        if (source.components() == Components.ALPHA || strength == 0f) {
            kernel.apply(source, destination, rowFrom, rowTo, ground, strength);
            return;
        }
        for (int row = rowFrom; row < rowTo;) {
            int end = row + 1;
            Kind kind = kindOf(place, source.width(), row);
            while (end < rowTo && kindOf(place, source.width(), end) == kind && (kind != Kind.MIXED || end - row < BAND_ROWS)) {
                end++;
            }
            if (kind == Kind.MIXED) {
                blend(kernel, source, destination, row, end, place, strength);
            } else {
                kernel.apply(source, destination, row, end, kind == Kind.GROUND ? ground : sky, strength);
            }
            row = end;
        }
    }

    private enum Kind { GROUND, SKY, MIXED }

    /** Along a row the weight only rises or only falls, so its ends tell. */
    private Kind kindOf(FramePlace place, int width, int row) {
        float left = mask.weight(place.across(0), place.up(row));
        float right = mask.weight(place.across(width - 1), place.up(row));
        if (left == 0 && right == 0) {
            return Kind.GROUND;
        }
        return left == 1 && right == 1 ? Kind.SKY : Kind.MIXED;
    }

    private void blend(CorrectionKernel kernel, PackedFrame source, PackedFrame destination, int rowFrom, int rowTo, FramePlace place, float strength) {
        int width = source.width();
        int channels = source.components().count();
        int samples = width * channels;
        int rows = rowTo - rowFrom;
        Scratch scratch = Scratch.of(4 * samples * BAND_ROWS, samples);
        PackedFrame below = new PackedFrame(scratch.ground, 0, 4 * samples, width, rows, source.components(), SampleDepth.FLOAT, source.alpha());
        PackedFrame above = new PackedFrame(scratch.sky, 0, 4 * samples, width, rows, source.components(), SampleDepth.FLOAT, source.alpha());
        for (int i = 0; i < rows; i++) {
            SampleIo.load(source.memory(), source.rowOffset(rowFrom + i), source.depth(), scratch.below, samples);
            SampleIo.store(scratch.below, samples, below.memory(), below.rowOffset(i), SampleDepth.FLOAT);
        }
        kernel.apply(below, above, 0, rows, sky, strength);
        kernel.apply(below, below, 0, rows, ground, strength);
        for (int i = 0; i < rows; i++) {
            SampleIo.load(below.memory(), below.rowOffset(i), SampleDepth.FLOAT, scratch.below, samples);
            SampleIo.load(above.memory(), above.rowOffset(i), SampleDepth.FLOAT, scratch.above, samples);
            mask.weights(place, rowFrom + i, width, scratch.weights);
            for (int x = 0, j = 0; x < width; x++, j += channels) {
                float w = scratch.weights[x];
                for (int c = j; c < j + 3; c++) {
                    scratch.below[c] = mixed(scratch.below[c], scratch.above[c], w);
                }
            }
            storeRow(scratch, source, destination, rowFrom + i);
        }
    }

    /** Exact at both ends and where there is nothing to mix, infinities included. */
    private static float mixed(float below, float above, float w) {
        return w == 0 || below == above ? below : w == 1 ? above : below + w * (above - below);
    }

    /** Alpha, and pixels whose alpha is too small or too odd to correct, keep the bits of the source. */
    private static void storeRow(Scratch scratch, PackedFrame source, PackedFrame destination, int row) {
        float[] levels = scratch.below;
        byte[] kept = scratch.kept;
        float[] pixel = scratch.pixel;
        int channels = source.components().count();
        int bytes = source.depth().bytes();
        int from = source.rowOffset(row);
        int to = destination.rowOffset(row);
        if (channels == 3) {
            SampleIo.store(levels, 3 * source.width(), destination.memory(), to, destination.depth());
            return;
        }
        boolean premultiplied = source.alpha() == AlphaState.PREMULTIPLIED;
        for (int x = 0; x < source.width(); x++) {
            float alpha = levels[4 * x + 3];
            boolean passes = premultiplied && !(alpha >= ScalarKernel.SMALLEST_ALPHA && alpha <= Float.MAX_VALUE);
            int offset = 4 * bytes * x;
            source.memory().get(from + offset, kept, 0, 4 * bytes);
            if (!passes) {
                System.arraycopy(levels, 4 * x, pixel, 0, 3);
                SampleIo.store(pixel, 3, destination.memory(), to + offset, destination.depth());
                destination.memory().put(to + offset + 3 * bytes, kept, 3 * bytes, bytes);
            } else {
                destination.memory().put(to + offset, kept, 0, 4 * bytes);
            }
        }
    }
}
