// SPDX-License-Identifier: Apache-2.0
package org.evenstop.batch.media;

import java.nio.ByteBuffer;
import java.nio.ByteOrder;
import org.bytedeco.ffmpeg.avutil.AVComponentDescriptor;
import org.bytedeco.ffmpeg.avutil.AVFrame;
import org.bytedeco.ffmpeg.avutil.AVPixFmtDescriptor;
import org.bytedeco.ffmpeg.global.avutil;
import org.bytedeco.javacpp.BytePointer;
import org.evenstop.engine.InputException;
import org.evenstop.engine.frame.ChromaSampling;
import org.evenstop.engine.frame.PlanarFrame;
import org.evenstop.engine.level.CodeDepth;
import org.evenstop.engine.level.LumaStandard;

/**
 * How the samples of a decoder's pixel format become planar Y'CbCr at 8, 10 or 12 bit.
 *
 * <p>Planar formats of those depths are used where they lie. Everything else is put in order by our own code: interleaved
 * chroma (nv12, p010, packed 4:2:2) is taken apart; 9 bit goes to 10, 14 and 16 bit to 12 (rounded); grey gets achromatic
 * chroma; R'G'B' and palettes go through the matrix of the standard to 4:4:4 narrow range, at 10 bit from 8 to 10 bit sources,
 * at 12 bit from deeper ones. Either byte order is read. Alpha is left out.
 */
final class PixelLayout {
    enum Kind { PLANES, SAMPLES, GREY, RGB, PALETTE }

    private static final int MAX_COMPONENTS = 4;

    private final int format;
    private final String name;
    private final Kind kind;
    private final int sourceBits;
    private final ChromaSampling sampling;
    private final CodeDepth depth;
    private final boolean bigEndian;
    private final boolean hasAlpha;
    private final int[] plane = new int[MAX_COMPONENTS];
    private final int[] step = new int[MAX_COMPONENTS];
    private final int[] offset = new int[MAX_COMPONENTS];
    private final int[] shift = new int[MAX_COMPONENTS];

    private PixelLayout(int format, AVPixFmtDescriptor descriptor, String clip) {
        this.format = format;
        name = Libav.text(descriptor.name());
        long flags = descriptor.flags();
        int components = descriptor.nb_components();
        bigEndian = (flags & avutil.AV_PIX_FMT_FLAG_BE) != 0;
        hasAlpha = (flags & avutil.AV_PIX_FMT_FLAG_ALPHA) != 0;
        boolean refused = (flags & (avutil.AV_PIX_FMT_FLAG_BITSTREAM | avutil.AV_PIX_FMT_FLAG_HWACCEL | avutil.AV_PIX_FMT_FLAG_BAYER
            | avutil.AV_PIX_FMT_FLAG_FLOAT | avutil.AV_PIX_FMT_FLAG_XYZ)) != 0;
        if (refused) {
            throw new InputException(clip + ": pixel format " + name + " is not a display-referred picture in whole numbers; convert the clip"
                + " to Y'CbCr or R'G'B' of 8 to 16 bit first");
        }
        for (int i = 0; i < components; i++) {
            AVComponentDescriptor c = descriptor.comp(i);
            plane[i] = c.plane();
            step[i] = c.step();
            offset[i] = c.offset();
            shift[i] = c.shift();
        }
        sourceBits = widestComponent(descriptor, components);
        if ((flags & avutil.AV_PIX_FMT_FLAG_PAL) != 0) {
            kind = Kind.PALETTE;
            sampling = ChromaSampling.S444;
            depth = CodeDepth.BITS10;
            return;
        }
        if ((flags & avutil.AV_PIX_FMT_FLAG_RGB) != 0) {
            kind = Kind.RGB;
            sampling = ChromaSampling.S444;
            depth = sourceBits <= 10 ? CodeDepth.BITS10 : CodeDepth.BITS12;
            return;
        }
        depth = sourceBits <= 8 ? CodeDepth.BITS8 : sourceBits <= 10 ? CodeDepth.BITS10 : CodeDepth.BITS12;
        if (components < 3) {
            kind = Kind.GREY;
            sampling = ChromaSampling.S420;
            return;
        }
        sampling = samplingOf(descriptor.log2_chroma_w(), descriptor.log2_chroma_h(), clip);
        kind = isPlain() ? Kind.PLANES : Kind.SAMPLES;
    }

    /** @throws InputException for formats that are no picture in whole numbers, or a sampling other than 4:2:0, 4:2:2, 4:4:4 */
    static PixelLayout of(int format, String clip) {
        AVPixFmtDescriptor descriptor = format < 0 ? null : avutil.av_pix_fmt_desc_get(format);
        if (descriptor == null || descriptor.isNull()) {
            throw new InputException(clip + ": the decoder names no pixel format; the clip is damaged or its codec is unknown to FFmpeg");
        }
        return new PixelLayout(format, descriptor, clip);
    }

    private static int widestComponent(AVPixFmtDescriptor descriptor, int components) {
        int bits = 0;
        for (int i = 0; i < Math.min(components, 3); i++) {
            bits = Math.max(bits, descriptor.comp(i).depth());
        }
        return bits;
    }

    private ChromaSampling samplingOf(int shiftX, int shiftY, String clip) {
        for (ChromaSampling candidate : ChromaSampling.values()) {
            if (candidate.shiftX() == shiftX && candidate.shiftY() == shiftY) {
                return candidate;
            }
        }
        throw new InputException(clip + ": chroma sampling of pixel format " + name
            + " is not supported; 4:2:0, 4:2:2 and 4:4:4 are: convert the clip first");
    }

    private boolean isPlain() {
        if (bigEndian != (ByteOrder.nativeOrder() == ByteOrder.BIG_ENDIAN) && sourceBits > 8 || sourceBits != depth.bits()) {
            return false;
        }
        for (int i = 0; i < 3; i++) {
            if (plane[i] != i || offset[i] != 0 || shift[i] != 0 || step[i] != depth.bytesPerSample()) {
                return false;
            }
        }
        return true;
    }

    int format() {
        return format;
    }

    String name() {
        return name;
    }

    Kind kind() {
        return kind;
    }

    int sourceBits() {
        return sourceBits;
    }

    ChromaSampling sampling() {
        return sampling;
    }

    CodeDepth depth() {
        return depth;
    }

    boolean hasAlpha() {
        return hasAlpha;
    }

    /** True when the colour in the file is R'G'B', so that the matrix is ours to choose. */
    boolean isRgb() {
        return kind == Kind.RGB || kind == Kind.PALETTE;
    }

    /** yuvj names and untagged grey are full range by definition of the pixel format (libavutil/pixfmt.h). */
    boolean isFullRangeByName() {
        return name.startsWith("yuvj") || kind == Kind.GREY;
    }

    /** True when the planes of this very frame can be used where they lie. */
    boolean isViewable(AVFrame frame) {
        return kind == Kind.PLANES && frame.linesize(0) > 0 && frame.linesize(1) > 0 && frame.linesize(1) == frame.linesize(2);
    }

    /** The frame's planes, not copied. They stay valid as long as the AVFrame keeps its reference. */
    static PlanarFrame view(AVFrame frame, PictureShape shape) {
        return shape.over(buffer(frame, 0, shape.height(), shape.width(), shape.depth()),
            buffer(frame, 1, shape.chromaHeight(), shape.chromaWidth(), shape.depth()),
            buffer(frame, 2, shape.chromaHeight(), shape.chromaWidth(), shape.depth()), frame.linesize(0), frame.linesize(1));
    }

    private static ByteBuffer buffer(AVFrame frame, int plane, int rows, int columns, CodeDepth depth) {
        long bytes = (long) (rows - 1) * frame.linesize(plane) + (long) columns * depth.bytesPerSample();
        return bytes(frame.data(plane), 0, bytes);
    }

    private static ByteBuffer bytes(BytePointer data, long from, long count) {
        BytePointer range = data.getPointer(from).limit(count).capacity(count);
        return range.asByteBuffer().order(ByteOrder.nativeOrder());
    }

    /**
     * Puts the frame's samples in order.
     *
     * @param fullRange of the source's codes; {@code target} has the same range except for R'G'B', where it is narrow
     */
    void rearrange(AVFrame frame, boolean fullRange, PlanarFrame target) {
        switch (kind) {
            case PLANES, SAMPLES -> {
                copyComponent(frame, 0, fullRange, target.luma(), target.lumaStride(), target.width(), target.height());
                int columns = target.sampling().chromaWidth(target.width());
                int rows = target.sampling().chromaHeight(target.height());
                copyComponent(frame, 1, fullRange, target.cb(), target.chromaStride(), columns, rows);
                copyComponent(frame, 2, fullRange, target.cr(), target.chromaStride(), columns, rows);
            }
            case GREY -> {
                copyComponent(frame, 0, fullRange, target.luma(), target.lumaStride(), target.width(), target.height());
                for (int row = 0; row < target.sampling().chromaHeight(target.height()); row++) {
                    for (int column = 0; column < target.sampling().chromaWidth(target.width()); column++) {
                        target.setCbCode(column, row, depth.achromaticCode());
                        target.setCrCode(column, row, depth.achromaticCode());
                    }
                }
            }
            case RGB -> convertRgb(frame, fullRange, target);
            case PALETTE -> convertPalette(frame, target);
        }
    }

    private void copyComponent(AVFrame frame, int component, boolean fullRange, ByteBuffer to, int toStride, int columns, int rows) {
        Rows from = new Rows(frame, component, rows, columns);
        int targetMax = depth.maxCode();
        int sourceMax = (1 << sourceBits) - 1;
        int difference = sourceBits - depth.bits();
        for (int row = 0; row < rows; row++) {
            for (int column = 0; column < columns; column++) {
                int code = from.code(row, column);
                if (difference != 0 && fullRange) {
                    code = (int) (((long) code * targetMax + sourceMax / 2) / sourceMax);
                } else if (difference > 0) {
                    code = Math.min(code + (1 << difference - 1) >> difference, targetMax);
                } else if (difference < 0) {
                    code <<= -difference;
                }
                if (depth == CodeDepth.BITS8) {
                    to.put(row * toStride + column, (byte) code);
                } else {
                    to.putShort(row * toStride + 2 * column, (short) code);
                }
            }
        }
    }

    private void convertRgb(AVFrame frame, boolean fullRange, PlanarFrame target) {
        Rows r = new Rows(frame, 0, target.height(), target.width());
        Rows g = new Rows(frame, 1, target.height(), target.width());
        Rows b = new Rows(frame, 2, target.height(), target.width());
        int max = (1 << sourceBits) - 1;
        boolean full = fullRange || sourceBits < 8;
        double black = full ? 0 : 16 << sourceBits - 8;
        double perCode = full ? 1.0 / max : 1.0 / (219 << sourceBits - 8);
        for (int y = 0; y < target.height(); y++) {
            for (int x = 0; x < target.width(); x++) {
                store(target, x, y, (r.code(y, x) - black) * perCode, (g.code(y, x) - black) * perCode, (b.code(y, x) - black) * perCode);
            }
        }
    }

    private void convertPalette(AVFrame frame, PlanarFrame target) {
        Rows index = new Rows(frame, 0, target.height(), target.width());
        ByteBuffer colours = bytes(frame.data(1), 0, 1024);
        for (int y = 0; y < target.height(); y++) {
            for (int x = 0; x < target.width(); x++) {
                int argb = colours.getInt(4 * index.code(y, x));
                store(target, x, y, (argb >> 16 & 0xff) / 255.0, (argb >> 8 & 0xff) / 255.0, (argb & 0xff) / 255.0);
            }
        }
    }

    private static void store(PlanarFrame target, int x, int y, double r, double g, double b) {
        LumaStandard standard = target.standard();
        double luma = standard.luma(r, g, b);
        target.setLumaCode(x, y, held(target, target.depth().codeOfLevel(luma)));
        target.setCbCode(x, y, held(target, target.depth().achromaticCode() + target.chromaSpan() * (b - luma) / standard.cbDivisor()));
        target.setCrCode(x, y, held(target, target.depth().achromaticCode() + target.chromaSpan() * (r - luma) / standard.crDivisor()));
    }

    private static int held(PlanarFrame target, double code) {
        return Math.min(Math.max((int) Math.floor(code + 0.5), target.lowestCode()), target.highestCode());
    }

    /** One component of a frame, addressed by row and column as libavutil's pixel descriptor lays it out. */
    private final class Rows {
        private final ByteBuffer bytes;
        private final int stride;
        private final int first;
        private final int step;
        private final int shift;
        private final int mask;
        private final int wordBytes;

        Rows(AVFrame frame, int component, int rows, int columns) {
            int line = frame.linesize(plane[component]);
            step = PixelLayout.this.step[component];
            shift = PixelLayout.this.shift[component];
            int bits = kind == Kind.PALETTE ? 8 : componentBits(component);
            mask = (1 << bits) - 1;
            int used = bits + shift;
            wordBytes = used <= 8 ? 1 : used <= 16 ? 2 : 4;
            int inRow = offset[component] + (bigEndian && wordBytes == 1 && sourceBits < 8 ? 1 : 0);
            long rowBytes = (long) (columns - 1) * step + inRow + wordBytes;
            long before = line < 0 ? (long) (rows - 1) * line : 0;
            long count = (long) (rows - 1) * Math.abs(line) + rowBytes;
            bytes = PixelLayout.bytes(frame.data(plane[component]), before, count)
                .order(bigEndian ? ByteOrder.BIG_ENDIAN : ByteOrder.LITTLE_ENDIAN);
            stride = line;
            first = (int) -before + inRow;
        }

        private int componentBits(int component) {
            AVPixFmtDescriptor descriptor = avutil.av_pix_fmt_desc_get(format);
            return descriptor.comp(component).depth();
        }

        int code(int row, int column) {
            int at = first + row * stride + column * step;
            int word = switch (wordBytes) {
                case 1 -> bytes.get(at) & 0xff;
                case 2 -> bytes.getShort(at) & 0xffff;
                default -> bytes.getInt(at);
            };
            return widened(word >>> shift & mask);
        }

        /** Formats such as 5-6-5 hold components of unequal width: the narrower ones are stretched to the widest. */
        private int widened(int code) {
            int widest = (1 << sourceBits) - 1;
            return mask == widest || kind == Kind.PALETTE ? code : (code * widest + mask / 2) / mask;
        }
    }
}
