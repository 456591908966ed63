// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.kernel;

import java.nio.ByteBuffer;
import org.evenstop.engine.frame.ChromaSampling;
import org.evenstop.engine.frame.PlanarFrame;
import org.evenstop.engine.level.CodeDepth;

/**
 * The scalar correction of a planar Y'CbCr frame, without a detour over an RGB picture.
 *
 * <p>Luma is corrected at every luma sample with chroma interpolated to it; chroma is corrected at its own sites with luma
 * averaged to them. So chroma is never resampled: what a correction leaves alone stays as it was, and nothing is blurred.
 * At 4:4:4 both are the same pixel and the result is that of a packed frame.
 */
final class PlanarPass {
    private final PlanarFrame source;
    private final PlanarFrame destination;
    private final ScalarKernel.Block block;
    private final boolean copyOnly;
    private final int chromaWidth;
    private final int chromaHeight;
    private final float black;
    private final float perLumaCode;
    private final float perChromaCode;
    private final float achromatic;
    private final float wr;
    private final float wg;
    private final float wb;
    private final float crToRed;
    private final float cbToBlue;
    private final float crToGreen;
    private final float cbToGreen;
    private final float[] cbRow;
    private final float[] crRow;
    private final float[] lumaRow;

    PlanarPass(PlanarFrame source, PlanarFrame destination, ScalarKernel.Block block, boolean copyOnly) {
        this.source = source;
        this.destination = destination;
        this.block = block;
        this.copyOnly = copyOnly;
        chromaWidth = source.sampling().chromaWidth(source.width());
        chromaHeight = source.sampling().chromaHeight(source.height());
        black = source.blackCode();
        perLumaCode = 1f / source.lumaSpan();
        perChromaCode = 1f / source.chromaSpan();
        achromatic = source.depth().achromaticCode();
        wr = (float) source.standard().redWeight();
        wg = (float) source.standard().greenWeight();
        wb = (float) source.standard().blueWeight();
        crToRed = (float) source.standard().crDivisor();
        cbToBlue = (float) source.standard().cbDivisor();
        crToGreen = (float) (source.standard().redWeight() * source.standard().crDivisor() / source.standard().greenWeight());
        cbToGreen = (float) (source.standard().blueWeight() * source.standard().cbDivisor() / source.standard().greenWeight());
        cbRow = new float[chromaWidth];
        crRow = new float[chromaWidth];
        lumaRow = new float[source.width()];
    }

    void run(int rowFrom, int rowTo) {
        int shift = source.sampling().shiftY();
        int mask = (1 << shift) - 1;
        for (int row = rowFrom; row < rowTo; row++) {
            boolean withChroma = (row & mask) == 0;
            if (copyOnly) {
                copyRow(source.luma(), destination.luma(), source.lumaStride(), destination.lumaStride(), row, source.width());
                if (withChroma) {
                    copyRow(source.cb(), destination.cb(), source.chromaStride(), destination.chromaStride(), row >> shift, chromaWidth);
                    copyRow(source.cr(), destination.cr(), source.chromaStride(), destination.chromaStride(), row >> shift, chromaWidth);
                }
            } else if (source.sampling() == ChromaSampling.S444) {
                correctFullRow(row);
            } else {
                correctLumaRow(row);
                if (withChroma) {
                    correctChromaRow(row >> shift);
                }
            }
        }
    }

    private void copyRow(ByteBuffer from, ByteBuffer to, int fromStride, int toStride, int row, int samples) {
        to.put(row * toStride, from, row * fromStride, samples * source.depth().bytesPerSample());
    }

    private void correctFullRow(int row) {
        for (int x = 0; x < source.width(); x += ScalarKernel.BLOCK) {
            int n = Math.min(ScalarKernel.BLOCK, source.width() - x);
            for (int i = 0; i < n; i++) {
                float y = (source.lumaCode(x + i, row) - black) * perLumaCode;
                toRgb(i, y, chroma(source.cb(), row, x + i), chroma(source.cr(), row, x + i));
            }
            block.correct(n);
            for (int i = 0; i < n; i++) {
                storeLuma(i, x + i, row);
                storeChroma(i, x + i, row);
            }
        }
    }

    private void correctLumaRow(int row) {
        interpolateChromaRow(row);
        boolean cosited = source.chromaCosited();
        for (int x = 0; x < source.width(); x += ScalarKernel.BLOCK) {
            int n = Math.min(ScalarKernel.BLOCK, source.width() - x);
            for (int i = 0; i < n; i++) {
                float y = (source.lumaCode(x + i, row) - black) * perLumaCode;
                int column = x + i >> 1;
                boolean odd = (x + i & 1) == 1;
                int other = odd ? Math.min(column + 1, chromaWidth - 1) : Math.max(column - 1, 0);
                float share = cosited ? odd ? 0.5f : 0f : 0.25f;
                toRgb(i, y, cbRow[column] + share * (cbRow[other] - cbRow[column]), crRow[column] + share * (crRow[other] - crRow[column]));
            }
            block.correctLumaOnly(n);
            for (int i = 0; i < n; i++) {
                storeLuma(i, x + i, row);
            }
        }
    }

    /** Chroma of the luma row, at chroma columns. */
    private void interpolateChromaRow(int row) {
        int shift = source.sampling().shiftY();
        int own = row >> shift;
        float share = 0;
        int other = own;
        if (shift == 1) {
            boolean odd = (row & 1) == 1;
            share = source.chromaTop() ? odd ? 0.5f : 0f : 0.25f;
            other = odd ? Math.min(own + 1, chromaHeight - 1) : Math.max(own - 1, 0);
        }
        for (int c = 0; c < chromaWidth; c++) {
            float cb = chroma(source.cb(), own, c);
            float cr = chroma(source.cr(), own, c);
            cbRow[c] = share == 0 ? cb : cb + share * (chroma(source.cb(), other, c) - cb);
            crRow[c] = share == 0 ? cr : cr + share * (chroma(source.cr(), other, c) - cr);
        }
    }

    private void correctChromaRow(int chromaRow) {
        averageLumaRow(chromaRow);
        boolean cosited = source.chromaCosited();
        int last = source.width() - 1;
        for (int c = 0; c < chromaWidth; c += ScalarKernel.BLOCK) {
            int n = Math.min(ScalarKernel.BLOCK, chromaWidth - c);
            for (int i = 0; i < n; i++) {
                int x = 2 * (c + i);
                float right = lumaRow[Math.min(x + 1, last)];
                float y = cosited ? 0.5f * lumaRow[x] + 0.25f * (lumaRow[Math.max(x - 1, 0)] + right) : 0.5f * (lumaRow[x] + right);
                toRgb(i, y, chroma(source.cb(), chromaRow, c + i), chroma(source.cr(), chromaRow, c + i));
            }
            block.correct(n);
            for (int i = 0; i < n; i++) {
                storeChroma(i, c + i, chromaRow);
            }
        }
    }

    /** Luma at the height of a chroma row, at luma columns. */
    private void averageLumaRow(int chromaRow) {
        int last = source.height() - 1;
        int own = source.sampling().shiftY() == 0 ? chromaRow : 2 * chromaRow;
        int below = source.sampling().shiftY() == 0 ? own : Math.min(own + 1, last);
        int above = source.sampling().shiftY() == 1 && source.chromaTop() ? Math.max(own - 1, 0) : own;
        float ownShare = source.sampling().shiftY() == 0 ? 1f : 0.5f;
        float sideShare = source.sampling().shiftY() == 0 ? 0f : source.chromaTop() ? 0.25f : 0.5f;
        for (int x = 0; x < source.width(); x++) {
            float code = ownShare * source.lumaCode(x, own);
            if (sideShare != 0) {
                code += sideShare * source.lumaCode(x, below);
            }
            if (above != own || source.chromaTop() && sideShare != 0) {
                code += sideShare * source.lumaCode(x, above);
            }
            lumaRow[x] = (code - black) * perLumaCode;
        }
    }

    private float chroma(ByteBuffer plane, int row, int column) {
        int at = row * source.chromaStride();
        int code = source.depth() == CodeDepth.BITS8 ? plane.get(at + column) & 0xff : plane.getShort(at + 2 * column) & 0xffff;
        return (code - achromatic) * perChromaCode;
    }

    private void toRgb(int i, float y, float cb, float cr) {
        block.r[i] = y + crToRed * cr;
        block.g[i] = y - crToGreen * cr - cbToGreen * cb;
        block.b[i] = y + cbToBlue * cb;
    }

    private void storeLuma(int i, int x, int row) {
        float y = wr * block.r[i] + wg * block.g[i] + wb * block.b[i];
        destination.setLumaCode(x, row, held(y / perLumaCode + black));
    }

    private void storeChroma(int i, int column, int row) {
        float y = wr * block.r[i] + wg * block.g[i] + wb * block.b[i];
        destination.setCbCode(column, row, held((block.b[i] - y) / (cbToBlue * perChromaCode) + achromatic));
        destination.setCrCode(column, row, held((block.r[i] - y) / (crToRed * perChromaCode) + achromatic));
    }

    private int held(float code) {
        return Math.min(Math.max((int) Math.floor(code + 0.5f), source.lowestCode()), source.highestCode());
    }
}
