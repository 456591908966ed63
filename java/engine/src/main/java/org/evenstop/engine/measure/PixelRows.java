// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.measure;

import java.nio.ByteBuffer;
import java.nio.ByteOrder;
import org.evenstop.engine.frame.AlphaState;
import org.evenstop.engine.frame.ChromaSampling;
import org.evenstop.engine.frame.Components;
import org.evenstop.engine.frame.PackedFrame;
import org.evenstop.engine.frame.PlanarFrame;
import org.evenstop.engine.frame.SampleDepth;
import org.evenstop.engine.kernel.SampleIo;
import org.evenstop.engine.level.LumaStandard;

/**
 * Reads any frame a row at a time as levels: luma at every pixel, R', G', B' at the sites where chroma was stored.
 * The arrays are reused from row to row.
 */
abstract class PixelRows {
    final int width;
    final int height;
    final LumaStandard standard;
    /** Luma level of each pixel of the row read last; NaN where a pixel does not count (transparent). */
    final float[] luma;
    /** Number of chroma sites in the row read last; 0 on rows without any. */
    int sites;
    /** Levels at the sites; site i lies at pixel column {@code i << siteShift}. */
    final float[] r;
    final float[] g;
    final float[] b;
    final int siteShift;
    /** True for 4:2:0: only even rows have sites. */
    final boolean skipsOddRows;

    private PixelRows(int width, int height, LumaStandard standard, int siteShift, boolean skipsOddRows) {
        this.width = width;
        this.height = height;
        this.standard = standard;
        this.siteShift = siteShift;
        this.skipsOddRows = skipsOddRows;
        luma = new float[width];
        r = new float[width];
        g = new float[width];
        b = new float[width];
    }

    static PixelRows of(PlanarFrame frame) {
        return new Planar(frame);
    }

    static PixelRows of(PackedFrame frame, LumaStandard standard) {
        return new Packed(frame, standard);
    }

    abstract void read(int row);

    /** Luma level of one pixel without reading the row. */
    abstract float lumaAt(int x, int row);

    private static final class Planar extends PixelRows {
        private final PlanarFrame frame;
        private final float perLumaCode;
        private final float crToRed;
        private final float cbToBlue;
        private final float crToGreen;
        private final float cbToGreen;

        Planar(PlanarFrame frame) {
            super(frame.width(), frame.height(), frame.standard(), frame.sampling().shiftX(), frame.sampling().shiftY() == 1);
            this.frame = frame;
            perLumaCode = 1f / frame.lumaSpan();
            crToRed = (float) standard.crDivisor();
            cbToBlue = (float) standard.cbDivisor();
            crToGreen = (float) (standard.redWeight() * standard.crDivisor() / standard.greenWeight());
            cbToGreen = (float) (standard.blueWeight() * standard.cbDivisor() / standard.greenWeight());
        }

        @Override
        void read(int row) {
            frame.readLuma(row, luma);
            ChromaSampling sampling = frame.sampling();
            if ((row & (1 << sampling.shiftY()) - 1) != 0) {
                sites = 0;
                return;
            }
            sites = sampling.chromaWidth(width);
            frame.readCb(row >> sampling.shiftY(), b);
            frame.readCr(row >> sampling.shiftY(), r);
            for (int i = 0; i < sites; i++) {
                float y = luma[i << siteShift];
                float cb = b[i];
                float cr = r[i];
                r[i] = y + crToRed * cr;
                g[i] = y - crToGreen * cr - cbToGreen * cb;
                b[i] = y + cbToBlue * cb;
            }
        }

        @Override
        float lumaAt(int x, int row) {
            return (frame.lumaCode(x, row) - frame.blackCode()) * perLumaCode;
        }
    }

    private static final class Packed extends PixelRows {
        private final PackedFrame frame;
        private final float[] raw;
        private int held = -1;
        private boolean transparent;

        Packed(PackedFrame frame, LumaStandard standard) {
            super(frame.width(), frame.height(), standard, 0, false);
            if (frame.components() == Components.ALPHA) {
                throw new IllegalArgumentException("a frame of alpha alone has no levels to measure");
            }
            this.frame = frame;
            raw = new float[frame.width() * frame.components().count()];
        }

        @Override
        void read(int row) {
            if (row == held) {
                return;
            }
            held = row;
            sites = width;
            int channels = frame.components().count();
            if (frame.depth() == SampleDepth.FLOAT) {
                ByteBuffer pixels = frame.memory().slice(frame.rowOffset(row), frame.rowBytes());
                pixels.order(ByteOrder.nativeOrder()).asFloatBuffer().get(raw);
            } else {
                SampleIo.load(frame.memory(), frame.rowOffset(row), frame.depth(), raw, raw.length);
            }
            if (channels == 3 || frame.alpha() == AlphaState.OPAQUE) {
                readOpaque(channels);
            } else {
                readWeighted(frame.alpha() == AlphaState.PREMULTIPLIED);
            }
            lumaOf(r, g, b, (float) standard.redWeight(), (float) standard.blueWeight(), luma, width);
            if (transparent) {
                leaveOutTransparent();
            }
        }

        private void readOpaque(int channels) {
            transparent = false;
            for (int x = 0, j = 0; x < width; x++, j += channels) {
                r[x] = finite(raw[j]);
                g[x] = finite(raw[j + 1]);
                b[x] = finite(raw[j + 2]);
            }
        }

        private void readWeighted(boolean premultiplied) {
            transparent = false;
            for (int x = 0, j = 0; x < width; x++, j += 4) {
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
        }

        private void leaveOutTransparent() {
            for (int x = 0; x < width; x++) {
                if (!(raw[4 * x + 3] >= 0.5f)) {
                    luma[x] = Float.NaN;
                }
            }
        }

        /** Around green, as the kernels take it: exact for grey. */
        private static void lumaOf(float[] r, float[] g, float[] b, float wr, float wb, float[] luma, int width) {
            for (int x = 0; x < width; x++) {
                luma[x] = g[x] + wr * (r[x] - g[x]) + wb * (b[x] - g[x]);
            }
        }

        @Override
        float lumaAt(int x, int row) {
            read(row);
            return luma[x];
        }

        private static float finite(float value) {
            if (value >= -2f && value <= 2f) {
                return value;
            }
            return value != value ? 0f : value < 0f ? -2f : 2f;
        }
    }
}
