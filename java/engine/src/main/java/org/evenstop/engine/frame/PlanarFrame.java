// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.frame;

import java.nio.ByteBuffer;
import java.nio.ByteOrder;
import org.evenstop.engine.level.CodeDepth;
import org.evenstop.engine.level.LumaStandard;

/**
 * A view of a planar Y'CbCr frame as a decoder hands it over, planes {@code [rows][columns]}, row 0 at the top. Nothing is copied.
 *
 * @param luma           Y' plane, {@code height} rows of {@code width} samples
 * @param cb             Cb plane, {@code sampling.chromaHeight(height)} rows of {@code sampling.chromaWidth(width)} samples
 * @param cr             Cr plane, the same
 * @param lumaStride     bytes from a luma row to the next, at least a row; {@code chromaStride} likewise for both chroma planes
 * @param depth          8 bit samples are bytes, 10 and 12 bit are 16-bit words in native order
 * @param standard       the matrix the codes were made with
 * @param fullRange      true: codes 0..2^n-1 span level 0..1 (as in JPEG); false: narrow range
 * @param chromaCosited  true: a chroma column lies on the even luma column (MPEG-2, H.264 default); false: midway
 * @param chromaTop      true: a 4:2:0 chroma row lies on the even luma row; false: midway between two rows
 */
public record PlanarFrame(ByteBuffer luma, ByteBuffer cb, ByteBuffer cr, int lumaStride, int chromaStride, int width, int height,
                          ChromaSampling sampling, CodeDepth depth, LumaStandard standard, boolean fullRange,
                          boolean chromaCosited, boolean chromaTop) {

    public PlanarFrame {
        if (width < 1 || height < 1) {
            throw new IllegalArgumentException("frame size " + width + "x" + height + " is empty; at least 1x1 is needed");
        }
        check("luma", luma, lumaStride, width, height, depth);
        check("Cb", cb, chromaStride, sampling.chromaWidth(width), sampling.chromaHeight(height), depth);
        check("Cr", cr, chromaStride, sampling.chromaWidth(width), sampling.chromaHeight(height), depth);
        luma = luma.duplicate().clear().order(ByteOrder.nativeOrder());
        cb = cb.duplicate().clear().order(ByteOrder.nativeOrder());
        cr = cr.duplicate().clear().order(ByteOrder.nativeOrder());
    }

    private static void check(String plane, ByteBuffer buffer, int stride, int columns, int rows, CodeDepth depth) {
        long rowBytes = (long) columns * depth.bytesPerSample();
        if (stride < rowBytes) {
            throw new IllegalArgumentException(plane + " stride of " + stride + " bytes is shorter than a row of " + rowBytes + " bytes");
        }
        if ((long) (rows - 1) * stride + rowBytes > buffer.capacity()) {
            throw new IllegalArgumentException(plane + " plane of " + columns + "x" + rows + " with stride " + stride
                + " does not fit a buffer of " + buffer.capacity() + " bytes");
        }
    }

    /** A frame in new heap memory with the same shape and meaning as this one, rows without padding. */
    public PlanarFrame allocateLike() {
        return allocate(width, height, sampling, depth, standard, fullRange, chromaCosited, chromaTop);
    }

    public static PlanarFrame allocate(int width, int height, ChromaSampling sampling, CodeDepth depth, LumaStandard standard,
                                       boolean fullRange, boolean chromaCosited, boolean chromaTop) {
        int bytes = depth.bytesPerSample();
        int lumaStride = Math.multiplyExact(width, bytes);
        int chromaStride = sampling.chromaWidth(width) * bytes;
        int chromaBytes = Math.multiplyExact(chromaStride, sampling.chromaHeight(height));
        return new PlanarFrame(ByteBuffer.allocate(Math.multiplyExact(lumaStride, height)), ByteBuffer.allocate(chromaBytes),
            ByteBuffer.allocate(chromaBytes), lumaStride, chromaStride, width, height, sampling, depth, standard, fullRange,
            chromaCosited, chromaTop);
    }

    /** Code of level 0: black of the depth in narrow range, 0 in full range. */
    public int blackCode() {
        return fullRange ? 0 : depth.blackCode();
    }

    /** Codes from level 0 to level 1. */
    public int lumaSpan() {
        return fullRange ? depth.maxCode() : depth.lumaSpan();
    }

    public int chromaSpan() {
        return fullRange ? depth.maxCode() : depth.chromaSpan();
    }

    /** Lowest code that may be written: timing references are left out in narrow range. */
    public int lowestCode() {
        return fullRange ? 0 : depth.lowestVideoCode();
    }

    public int highestCode() {
        return fullRange ? depth.maxCode() : depth.highestVideoCode();
    }

    /** Reads a luma row as levels, one for each column. */
    public void readLuma(int row, float[] levels) {
        readLuma(row, 0, width, levels);
    }

    /** Reads a row of Cb as -0.5..0.5, one for each chroma column. */
    public void readCb(int chromaRow, float[] chroma) {
        readCb(chromaRow, 0, sampling.chromaWidth(width), 0, chroma);
    }

    /** As {@link #readCb(int, float[])} for Cr. */
    public void readCr(int chromaRow, float[] chroma) {
        readCr(chromaRow, 0, sampling.chromaWidth(width), 0, chroma);
    }

    /** Reads columns {@code from..to-1} of a luma row as levels, each into its column's place. */
    public void readLuma(int row, int from, int to, float[] levels) {
        read(luma, row * lumaStride, from, to, 0, blackCode(), 1f / lumaSpan(), levels);
    }

    /**
     * Reads Cb as {@link #readCb(int, float[])} does.
     *
     * @param shift places {@code from..to-1} receive columns {@code from << shift} and so on
     */
    public void readCb(int chromaRow, int from, int to, int shift, float[] chroma) {
        read(cb, chromaRow * chromaStride, from, to, shift, depth.achromaticCode(), 1f / chromaSpan(), chroma);
    }

    /** The same for Cr. */
    public void readCr(int chromaRow, int from, int to, int shift, float[] chroma) {
        read(cr, chromaRow * chromaStride, from, to, shift, depth.achromaticCode(), 1f / chromaSpan(), chroma);
    }

    private void read(ByteBuffer plane, int offset, int from, int to, int shift, int zero, float perCode, float[] into) {
        if (depth == CodeDepth.BITS8) {
            for (int i = from; i < to; i++) {
                into[i] = ((plane.get(offset + (i << shift)) & 0xff) - zero) * perCode;
            }
        } else {
            for (int i = from; i < to; i++) {
                into[i] = ((plane.getShort(offset + (2 * i << shift)) & 0xffff) - zero) * perCode;
            }
        }
    }

    public int lumaCode(int x, int y) {
        return code(luma, y * lumaStride, x);
    }

    public int cbCode(int column, int row) {
        return code(cb, row * chromaStride, column);
    }

    public int crCode(int column, int row) {
        return code(cr, row * chromaStride, column);
    }

    public void setLumaCode(int x, int y, int code) {
        setCode(luma, y * lumaStride, x, code);
    }

    public void setCbCode(int column, int row, int code) {
        setCode(cb, row * chromaStride, column, code);
    }

    public void setCrCode(int column, int row, int code) {
        setCode(cr, row * chromaStride, column, code);
    }

    private int code(ByteBuffer plane, int rowOffset, int column) {
        return depth == CodeDepth.BITS8 ? plane.get(rowOffset + column) & 0xff : plane.getShort(rowOffset + 2 * column) & 0xffff;
    }

    private void setCode(ByteBuffer plane, int rowOffset, int column, int code) {
        if (depth == CodeDepth.BITS8) {
            plane.put(rowOffset + column, (byte) code);
        } else {
            plane.putShort(rowOffset + 2 * column, (short) code);
        }
    }
}
