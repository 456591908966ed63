// SPDX-License-Identifier: Apache-2.0
package org.evenstop.batch.media;

import java.nio.ByteBuffer;
import java.nio.ByteOrder;
import org.evenstop.engine.frame.ChromaSampling;
import org.evenstop.engine.frame.PlanarFrame;
import org.evenstop.engine.level.CodeDepth;
import org.evenstop.engine.level.LumaStandard;

/**
 * Size and meaning of the frames of a clip, without their memory.
 *
 * @param width        luma columns, 1 or more
 * @param height       luma rows, 1 or more
 * @param fullRange    codes 0..2^n-1 span level 0..1
 * @param chromaCosited true: a chroma column lies on the even luma column; false: midway
 * @param chromaTop    true: a 4:2:0 chroma row lies on the even luma row; false: midway
 */
public record PictureShape(int width, int height, ChromaSampling sampling, CodeDepth depth, LumaStandard standard,
                           boolean fullRange, boolean chromaCosited, boolean chromaTop) {

    public PictureShape {
        if (width < 1 || height < 1 || width > 32768 || height > 32768) {
            throw new IllegalArgumentException("picture size " + width + "x" + height + " is outside 1x1 to 32768x32768");
        }
    }

    public static PictureShape of(PlanarFrame frame) {
        return new PictureShape(frame.width(), frame.height(), frame.sampling(), frame.depth(), frame.standard(), frame.fullRange(),
            frame.chromaCosited(), frame.chromaTop());
    }

    public PictureShape withDepth(CodeDepth other) {
        return new PictureShape(width, height, sampling, other, standard, fullRange, chromaCosited, chromaTop);
    }

    /** Chroma of 4:2:2 and 4:4:4 is put where television puts it: on the even luma column. */
    public PictureShape withSampling(ChromaSampling other) {
        return other == sampling ? this : new PictureShape(width, height, other, depth, standard, fullRange, true, true);
    }

    public PictureShape withFullRange(boolean full) {
        return new PictureShape(width, height, sampling, depth, standard, full, chromaCosited, chromaTop);
    }

    public PictureShape withChromaCosited(boolean cosited) {
        return new PictureShape(width, height, sampling, depth, standard, fullRange, cosited, chromaTop);
    }

    public int chromaWidth() {
        return sampling.chromaWidth(width);
    }

    public int chromaHeight() {
        return sampling.chromaHeight(height);
    }

    /** A frame over planes that lie elsewhere; strides in bytes. */
    public PlanarFrame over(ByteBuffer luma, ByteBuffer cb, ByteBuffer cr, int lumaStride, int chromaStride) {
        return new PlanarFrame(luma, cb, cr, lumaStride, chromaStride, width, height, sampling, depth, standard, fullRange,
            chromaCosited, chromaTop);
    }

    /** A frame in new memory outside the Java heap, rows without padding. */
    public PlanarFrame allocate() {
        int lumaStride = Math.multiplyExact(width, depth.bytesPerSample());
        int chromaStride = chromaWidth() * depth.bytesPerSample();
        return over(plane(lumaStride, height), plane(chromaStride, chromaHeight()), plane(chromaStride, chromaHeight()),
            lumaStride, chromaStride);
    }

    private static ByteBuffer plane(int stride, int rows) {
        return ByteBuffer.allocateDirect(Math.multiplyExact(stride, rows)).order(ByteOrder.nativeOrder());
    }
}
