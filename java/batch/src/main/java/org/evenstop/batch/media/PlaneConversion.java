// SPDX-License-Identifier: Apache-2.0
package org.evenstop.batch.media;

import java.nio.ByteBuffer;
import org.evenstop.engine.frame.ChromaSampling;
import org.evenstop.engine.frame.PlanarFrame;
import org.evenstop.engine.level.CodeDepth;

/**
 * Brings a planar Y'CbCr frame to another depth, range or chroma sampling, in whole numbers, rounding once. Same size and matrix.
 *
 * <ul>
 * <li>Narrow range gains depth by a shift (exact), loses it by rounding; full range is scaled. Codes are held within the video
 *     range of the target (4..1019 at 10 bit) in narrow range.
 * <li>Chroma rows of 4:2:0 are interpolated linearly to luma rows, where the siting says they lie; of interlaced frames within
 *     their own field: the first field's chroma lies a quarter, the second's three quarters down its pair of field rows (ISO/IEC
 *     13818-2, figure 6-2).
 * <li>Chroma columns midway between luma columns are moved onto the even column, by 3/4 and 1/4 of their neighbours.
 * <li>4:4:4 loses columns by the weights 1/4, 1/2, 1/4 about the even column, 4:2:2 gains them by linear interpolation.
 * </ul>
 *
 * <p>Holds row buffers: one object for each thread.
 */
public final class PlaneConversion {
    /** Weights of the vertical step are eighths, of the horizontal step quarters. */
    private static final int SCALE = 32;

    private final PictureShape from;
    private final PictureShape to;
    private final int[] lumaTable;
    private final int chromaNumerator;
    private final int chromaDenominator;
    private final int[] wide;
    private final int[] row;

    /** @throws IllegalArgumentException when size or matrix differ, or 4:2:0 would have to be made */
    public PlaneConversion(PictureShape from, PictureShape to) {
        if (from.width() != to.width() || from.height() != to.height() || from.standard() != to.standard()) {
            throw new IllegalArgumentException("a conversion keeps size and matrix");
        }
        if (to.sampling() == ChromaSampling.S420 && from.sampling() != ChromaSampling.S420) {
            throw new IllegalArgumentException("4:2:0 is not made from more chroma");
        }
        if (to.fullRange() && !from.fullRange()) {
            throw new IllegalArgumentException("full range is not made from narrow range");
        }
        this.from = from;
        this.to = to;
        lumaTable = lumaTable(from, to);
        chromaNumerator = to.fullRange() ? to.depth().maxCode() : to.depth().chromaSpan();
        chromaDenominator = from.fullRange() ? from.depth().maxCode() : from.depth().chromaSpan();
        wide = new int[from.chromaWidth()];
        row = new int[Math.max(from.chromaWidth(), to.chromaWidth())];
    }

    /** True when nothing would change. */
    public static boolean isNeeded(PictureShape from, PictureShape to) {
        return !from.equals(to);
    }

    private static int[] lumaTable(PictureShape from, PictureShape to) {
        int[] table = new int[1 << from.depth().bits()];
        for (int code = 0; code < table.length; code++) {
            double level = from.fullRange() ? (double) code / from.depth().maxCode() : from.depth().levelOfCode(code);
            double target = to.fullRange() ? level * to.depth().maxCode() : to.depth().codeOfLevel(level);
            table[code] = held((int) Math.floor(target + 0.5), to);
        }
        return table;
    }

    private static int held(int code, PictureShape shape) {
        int low = shape.fullRange() ? 0 : shape.depth().lowestVideoCode();
        int high = shape.fullRange() ? shape.depth().maxCode() : shape.depth().highestVideoCode();
        return Math.min(Math.max(code, low), high);
    }

    /**
     * Converts the luma rows {@code rowFrom} to {@code rowTo} (exclusive) and the chroma rows that go with them. Rows outside are
     * read but not written, so bands of one frame may be converted at once by objects of their own.
     *
     * @param rowFrom even
     * @param rowTo   even, or the height
     */
    public void run(PlanarFrame source, PlanarFrame target, boolean interlaced, int rowFrom, int rowTo) {
        for (int y = rowFrom; y < rowTo; y++) {
            convertLumaRow(source, target, y);
        }
        int shift = to.sampling().shiftY();
        int chromaTo = rowTo == to.height() ? to.chromaHeight() : rowTo >> shift;
        for (int c = rowFrom >> shift; c < chromaTo; c++) {
            convertChromaRow(source.cb(), source.chromaStride(), target.cb(), target.chromaStride(), c, interlaced);
            convertChromaRow(source.cr(), source.chromaStride(), target.cr(), target.chromaStride(), c, interlaced);
        }
    }

    private void convertLumaRow(PlanarFrame source, PlanarFrame target, int y) {
        ByteBuffer in = source.luma();
        ByteBuffer out = target.luma();
        int a = y * source.lumaStride();
        int b = y * target.lumaStride();
        int last = lumaTable.length - 1;
        boolean bytesIn = from.depth() == CodeDepth.BITS8;
        boolean bytesOut = to.depth() == CodeDepth.BITS8;
        for (int x = 0; x < from.width(); x++) {
            int code = bytesIn ? in.get(a + x) & 0xff : Math.min(in.getShort(a + 2 * x) & 0xffff, last);
            int converted = lumaTable[code];
            if (bytesOut) {
                out.put(b + x, (byte) converted);
            } else {
                out.putShort(b + 2 * x, (short) converted);
            }
        }
    }

    private void convertChromaRow(ByteBuffer in, int inStride, ByteBuffer out, int outStride, int c, boolean interlaced) {
        loadRow(in, inStride, c, interlaced);
        int columns = to.chromaWidth();
        resample(columns);
        boolean bytesOut = to.depth() == CodeDepth.BITS8;
        int at = c * outStride;
        // At 12 bit the largest product is 32 * 2048 * 4095 * 2, well inside an int.
        int divisor = SCALE * chromaDenominator;
        int zeroIn = SCALE * from.depth().achromaticCode();
        int zeroOut = to.depth().achromaticCode();
        for (int x = 0; x < columns; x++) {
            int scaled = (row[x] - zeroIn) * chromaNumerator;
            int code = held(zeroOut + Math.floorDiv(2 * scaled + divisor, 2 * divisor), to);
            if (bytesOut) {
                out.put(at + x, (byte) code);
            } else {
                out.putShort(at + 2 * x, (short) code);
            }
        }
    }

    /** The source's chroma at the height of target chroma row c, times 8, at source columns. */
    private void loadRow(ByteBuffer in, int stride, int c, boolean interlaced) {
        if (from.sampling().shiftY() == to.sampling().shiftY()) {
            accumulate(in, stride, c, 8, c, 0);
            return;
        }
        int rows = from.chromaHeight();
        int field = interlaced ? c & 1 : 0;
        int fields = interlaced ? 2 : 1;
        int y = c / fields;
        // Chroma row r lies at 2r + phase/4 in rows of the frame or field.
        int phase = interlaced ? field == 0 ? 1 : 3 : from.chromaTop() ? 0 : 2;
        int own = y >> 1;
        boolean odd = (y & 1) == 1;
        int other = odd ? own + 1 : own - 1;
        int otherWeight = odd ? 4 - phase : phase;
        accumulate(in, stride, rowOfField(own, field, fields, rows), 8 - otherWeight, rowOfField(other, field, fields, rows), otherWeight);
    }

    private static int rowOfField(int r, int field, int fields, int rows) {
        int inField = (rows - field + fields - 1) / fields;
        if (inField < 1) {
            return rows - 1;
        }
        return Math.min(Math.max(r, 0), inField - 1) * fields + field;
    }

    private void accumulate(ByteBuffer in, int stride, int a, int weightA, int b, int weightB) {
        boolean bytes = from.depth() == CodeDepth.BITS8;
        int atA = a * stride;
        int atB = b * stride;
        for (int x = 0; x < wide.length; x++) {
            int codeA = bytes ? in.get(atA + x) & 0xff : in.getShort(atA + 2 * x) & 0xffff;
            int sum = weightA * codeA;
            if (weightB != 0) {
                sum += weightB * (bytes ? in.get(atB + x) & 0xff : in.getShort(atB + 2 * x) & 0xffff);
            }
            wide[x] = sum;
        }
    }

    /** Target columns, times {@link #SCALE}. */
    private void resample(int columns) {
        int last = wide.length - 1;
        boolean same = from.sampling().shiftX() == to.sampling().shiftX();
        if (same && (from.chromaCosited() || !to.chromaCosited() || to.sampling().shiftX() == 0)) {
            for (int x = 0; x < columns; x++) {
                row[x] = 4 * wide[x];
            }
        } else if (same) {
            for (int x = 0; x < columns; x++) {
                row[x] = 3 * wide[x] + wide[Math.max(x - 1, 0)];
            }
        } else if (to.sampling().shiftX() == 1) {
            for (int x = 0; x < columns; x++) {
                int centre = 2 * x;
                row[x] = 2 * wide[centre] + wide[Math.max(centre - 1, 0)] + wide[Math.min(centre + 1, last)];
            }
        } else {
            for (int x = 0; x < columns; x++) {
                int own = x >> 1;
                boolean odd = (x & 1) == 1;
                int other = odd ? Math.min(own + 1, last) : Math.max(own - 1, 0);
                int share = from.chromaCosited() ? odd ? 2 : 0 : 1;
                row[x] = (4 - share) * wide[own] + share * wide[other];
            }
        }
    }
}
