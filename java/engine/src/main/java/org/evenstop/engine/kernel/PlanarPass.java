// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.kernel;

import java.nio.ByteBuffer;
import java.util.Arrays;
import org.evenstop.engine.curve.Curve;
import org.evenstop.engine.curve.Fused;
import org.evenstop.engine.frame.ChromaSampling;
import org.evenstop.engine.frame.PlanarFrame;
import org.evenstop.engine.level.CodeDepth;
import org.evenstop.engine.solve.Correction;

/**
 * The scalar correction of a planar Y'CbCr frame, without a detour over an RGB picture.
 *
 * <p>Luma is corrected at every luma sample with chroma interpolated to it; chroma is corrected at its own sites with luma
 * averaged to them. So chroma is never resampled: what a correction leaves alone stays as it was, and nothing is blurred.
 * At 4:4:4 both are the same pixel and the result is that of a packed frame.
 *
 * <p>Luma and chroma are at hand, so the factors of chroma multiply chroma, and a strength below 1 mixes luma and chroma: within the rounding of
 * a float what the model does to R, G and B.
 */
final class PlanarPass {
    private final float[] luma = new float[ScalarKernel.BLOCK];
    private final float[] cb = new float[ScalarKernel.BLOCK];
    private final float[] cr = new float[ScalarKernel.BLOCK];
    private final float[] r = new float[ScalarKernel.BLOCK];
    private final float[] g = new float[ScalarKernel.BLOCK];
    private final float[] b = new float[ScalarKernel.BLOCK];
    private final float[] corrected = new float[ScalarKernel.BLOCK];
    private final float[] factors = new float[ScalarKernel.BLOCK];
    private final float[] codes = new float[ScalarKernel.BLOCK];
    private PlanarFrame source;
    private PlanarFrame destination;
    private Curve chromaIn;
    private Curve tone;
    private Curve chromaOut;
    private boolean changesChromaIn;
    private boolean changesTone;
    private boolean changesChromaOut;
    private float strength;
    private int chromaWidth;
    private int chromaHeight;
    private float black;
    private float perLumaCode;
    private float perChromaCode;
    private float achromatic;
    private float wr;
    private float wg;
    private float wb;
    private float crToRed;
    private float cbToBlue;
    private float crToGreen;
    private float cbToGreen;
    private float[] cbRow = {};
    private float[] crRow = {};
    private float[] lumaRow = {};
    private float[] otherRow = {};
    private float[] aboveRow = {};

    void run(PlanarFrame source, PlanarFrame destination, int rowFrom, int rowTo, Correction correction, float strength) {
        this.source = source;
        this.destination = destination;
        this.strength = strength;
        chromaIn = correction.chromaIn();
        tone = correction.tone();
        chromaOut = correction.chromaOut();
        changesChromaIn = !chromaIn.isConstant(1);
        changesTone = !tone.isIdentity();
        changesChromaOut = !chromaOut.isConstant(1);
        boolean isCopy = strength == 0f || correction.isIdentity();
        try {
            prepare();
            run(rowFrom, rowTo, isCopy);
        } finally {
            // This pass outlives the frames.
            this.source = null;
            this.destination = null;
        }
    }

    private void prepare() {
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
        // The last to be set: memory may run out halfway, and the next frame come all the same.
        if (aboveRow.length < source.width()) {
            cbRow = new float[source.width()];
            crRow = new float[source.width()];
            lumaRow = new float[source.width()];
            otherRow = new float[source.width()];
            aboveRow = new float[source.width()];
        }
    }

    private void run(int rowFrom, int rowTo, boolean isCopy) {
        int shift = source.sampling().shiftY();
        int mask = (1 << shift) - 1;
        for (int row = rowFrom; row < rowTo; row++) {
            boolean withChroma = (row & mask) == 0;
            if (isCopy) {
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
        source.readLuma(row, lumaRow);
        source.readCb(row, cbRow);
        source.readCr(row, crRow);
        for (int x = 0; x < source.width(); x += ScalarKernel.BLOCK) {
            int n = Math.min(ScalarKernel.BLOCK, source.width() - x);
            System.arraycopy(lumaRow, x, luma, 0, n);
            System.arraycopy(cbRow, x, cb, 0, n);
            System.arraycopy(crRow, x, cr, 0, n);
            correctTone(n);
            storeLuma(x, n, row);
            storeChroma(x, n, row);
        }
    }

    private void correctLumaRow(int row) {
        source.readLuma(row, lumaRow);
        interpolateChromaRow(row);
        boolean cosited = source.chromaCosited();
        int last = chromaWidth - 1;
        for (int x = 0; x < source.width(); x += ScalarKernel.BLOCK) {
            int n = Math.min(ScalarKernel.BLOCK, source.width() - x);
            System.arraycopy(lumaRow, x, luma, 0, n);
            // Blocks begin on even columns.
            for (int i = 0; i < n; i += 2) {
                int own = x + i >> 1;
                int left = own > 0 ? own - 1 : 0;
                float share = cosited ? 0f : 0.25f;
                cb[i] = between(cbRow, own, left, share);
                cr[i] = between(crRow, own, left, share);
            }
            for (int i = 1; i < n; i += 2) {
                int own = x + i >> 1;
                int right = own < last ? own + 1 : last;
                float share = cosited ? 0.5f : 0.25f;
                cb[i] = between(cbRow, own, right, share);
                cr[i] = between(crRow, own, right, share);
            }
            correctTone(n);
            storeLuma(x, n, row);
        }
    }

    private static float between(float[] row, int own, int other, float share) {
        return Fused.multiplyAdd(share, row[other] - row[own], row[own]);
    }

    /** Chroma at the height of a luma row, at chroma columns. */
    private void interpolateChromaRow(int row) {
        int shift = source.sampling().shiftY();
        int own = row >> shift;
        source.readCb(own, cbRow);
        source.readCr(own, crRow);
        if (shift == 0) {
            return;
        }
        boolean odd = (row & 1) == 1;
        float share = source.chromaTop() ? odd ? 0.5f : 0f : 0.25f;
        int other = odd ? Math.min(own + 1, chromaHeight - 1) : Math.max(own - 1, 0);
        if (share == 0f || other == own) {
            return;
        }
        source.readCb(other, otherRow);
        mix(cbRow, otherRow, share, chromaWidth);
        source.readCr(other, otherRow);
        mix(crRow, otherRow, share, chromaWidth);
    }

    private static void mix(float[] own, float[] other, float share, int n) {
        for (int i = 0; i < n; i++) {
            own[i] = Fused.multiplyAdd(share, other[i] - own[i], own[i]);
        }
    }

    /** Follows {@link #correctLumaRow} of the first luma row that it goes with: of 4:2:2 the rows are at hand, and may be written over already. */
    private void correctChromaRow(int chromaRow) {
        if (source.sampling().shiftY() == 1) {
            averageLumaRow(chromaRow);
            source.readCb(chromaRow, cbRow);
            source.readCr(chromaRow, crRow);
        }
        boolean cosited = source.chromaCosited();
        int last = source.width() - 1;
        for (int c = 0; c < chromaWidth; c += ScalarKernel.BLOCK) {
            int n = Math.min(ScalarKernel.BLOCK, chromaWidth - c);
            for (int i = 0; i < n; i++) {
                int x = 2 * (c + i);
                float right = lumaRow[x < last ? x + 1 : last];
                luma[i] = cosited ? 0.5f * lumaRow[x] + 0.25f * (lumaRow[x > 0 ? x - 1 : 0] + right) : 0.5f * (lumaRow[x] + right);
            }
            System.arraycopy(cbRow, c, cb, 0, n);
            System.arraycopy(crRow, c, cr, 0, n);
            correctTone(n);
            storeChroma(c, n, chromaRow);
        }
    }

    /** Luma at the height of a chroma row of 4:2:0, at luma columns. */
    private void averageLumaRow(int chromaRow) {
        int own = 2 * chromaRow;
        int below = Math.min(own + 1, source.height() - 1);
        source.readLuma(own, lumaRow);
        source.readLuma(below, otherRow);
        if (!source.chromaTop()) {
            mix(lumaRow, otherRow, 0.5f, source.width());
            return;
        }
        source.readLuma(Math.max(own - 1, 0), aboveRow);
        for (int x = 0; x < source.width(); x++) {
            lumaRow[x] = 0.5f * lumaRow[x] + 0.25f * (aboveRow[x] + otherRow[x]);
        }
    }

    /** From luma and chroma to what undoing chroma and tone make of R, G and B, and the luma of that, which redoing chroma leaves as it is. */
    private void correctTone(int n) {
        if (changesChromaIn) {
            System.arraycopy(luma, 0, factors, 0, n);
            chromaIn.apply(factors, n);
        } else {
            Arrays.fill(factors, 0, n, 1f);
        }
        for (int i = 0; i < n; i++) {
            float blue = factors[i] * cb[i];
            float red = factors[i] * cr[i];
            r[i] = Fused.multiplyAdd(crToRed, red, luma[i]);
            g[i] = Fused.multiplyAdd(-cbToGreen, blue, Fused.multiplyAdd(-crToGreen, red, luma[i]));
            b[i] = Fused.multiplyAdd(cbToBlue, blue, luma[i]);
        }
        if (changesTone) {
            tone.apply(r, n);
            tone.apply(g, n);
            tone.apply(b, n);
        }
        for (int i = 0; i < n; i++) {
            corrected[i] = Fused.multiplyAdd(wb, b[i], Fused.multiplyAdd(wg, g[i], wr * r[i]));
        }
    }

    private void storeLuma(int x, int n, int row) {
        float perLevel = 1f / perLumaCode;
        float zero = black + 0.5f;
        for (int i = 0; i < n; i++) {
            float level = strength == 1f ? corrected[i] : Fused.multiplyAdd(strength, corrected[i] - luma[i], luma[i]);
            codes[i] = Fused.multiplyAdd(level, perLevel, zero);
        }
        write(destination.luma(), row * destination.lumaStride(), x, n);
    }

    private void storeChroma(int column, int n, int row) {
        if (changesChromaOut) {
            System.arraycopy(corrected, 0, factors, 0, n);
            chromaOut.apply(factors, n);
        } else {
            Arrays.fill(factors, 0, n, 1f);
        }
        int offset = row * destination.chromaStride();
        chromaCodes(b, cb, cbToBlue, n);
        write(destination.cb(), offset, column, n);
        chromaCodes(r, cr, crToRed, n);
        write(destination.cr(), offset, column, n);
    }

    /** @param toPrimary what chroma is multiplied by to say how far the primary lies above luma */
    private void chromaCodes(float[] primary, float[] chroma, float toPrimary, int n) {
        float perDifference = 1f / (toPrimary * perChromaCode);
        float zero = achromatic + 0.5f;
        for (int i = 0; i < n; i++) {
            float difference = factors[i] * (primary[i] - corrected[i]);
            if (strength != 1f) {
                float own = toPrimary * chroma[i];
                difference = Fused.multiplyAdd(strength, difference - own, own);
            }
            codes[i] = Fused.multiplyAdd(difference, perDifference, zero);
        }
    }

    /** Writes the first n codes, to which a half was added, rounded and held within what may be encoded. */
    private void write(ByteBuffer plane, int offset, int column, int n) {
        int lowest = source.lowestCode();
        int highest = source.highestCode();
        boolean bytes = source.depth() == CodeDepth.BITS8;
        for (int i = 0; i < n; i++) {
            // Truncation goes the wrong way below zero, where the bound decides anyway.
            int rounded = (int) codes[i];
            int held = rounded < lowest ? lowest : rounded > highest ? highest : rounded;
            if (bytes) {
                plane.put(offset + column + i, (byte) held);
            } else {
                plane.putShort(offset + 2 * (column + i), (short) held);
            }
        }
    }
}
