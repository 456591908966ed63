// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.measure;

import org.evenstop.engine.frame.Components;
import org.evenstop.engine.frame.PackedFrame;
import org.evenstop.engine.frame.PlanarFrame;
import org.evenstop.engine.level.LumaStandard;

/**
 * Reads any frame as levels, a run of a row at a time: luma at every pixel, R', G', B' at the sites where chroma counts: where it
 * was stored, or at every other of those pixels in a row where it was stored at each and there are many.
 */
abstract class PixelRows {
    private static final MeasureLoops SCALAR = new ScalarLoops();

    /** Frames of more pixels than this have enough of them for chroma to count at every other one, where it was stored at each. */
    static final int MOST_SITES = 1 << 20;

    final int width;
    final int height;
    final LumaStandard standard;
    final int siteShift;
    /** True for 4:2:0: only even rows have sites. */
    final boolean skipsOddRows;
    final MeasureLoops loops;
    /** The frame of which nothing but luma counts; else null. */
    final PlanarFrame lumaOf;

    private PixelRows(int width, int height, LumaStandard standard, int siteShift, boolean skipsOddRows, MeasureLoops loops, PlanarFrame lumaOf) {
        this.width = width;
        this.height = height;
        this.standard = standard;
        this.siteShift = siteShift;
        this.skipsOddRows = skipsOddRows;
        this.loops = loops;
        this.lumaOf = lumaOf;
    }

    static PixelRows of(PlanarFrame frame, MeasureLoops loops) {
        return of(frame, loops, (long) frame.width() * frame.height() > MOST_SITES);
    }

    static PixelRows of(PackedFrame frame, LumaStandard standard, MeasureLoops loops) {
        return of(frame, standard, loops, (long) frame.width() * frame.height() > MOST_SITES);
    }

    /** @param many whether there are so many pixels that chroma counts at every other one */
    static PixelRows of(PlanarFrame frame, MeasureLoops loops, boolean many) {
        return new Planar(frame, loops, many ? 1 : frame.sampling().shiftX(), false);
    }

    /** Rows of which only luma counts, by its codes. */
    static PixelRows ofLuma(PlanarFrame frame) {
        return new Planar(frame, SCALAR, frame.sampling().shiftX(), true);
    }

    static PixelRows of(PackedFrame frame, LumaStandard standard, MeasureLoops loops, boolean many) {
        return new Packed(frame, standard, loops, many ? 1 : 0);
    }

    /** Number of chroma sites in a line, 0 in lines without any. */
    final int sites(int line) {
        return lumaOf != null || skipsOddRows && (line & 1) == 1 ? 0 : width + (1 << siteShift) - 1 >> siteShift;
    }

    /** The first site at or after a pixel. */
    final int siteFrom(int x) {
        return x + (1 << siteShift) - 1 >> siteShift;
    }

    /** @param from even */
    abstract void read(int line, int from, int to, MeasuredRow into);

    /** Luma level of one pixel; {@code scratch} is written to and must be the same from call to call. */
    abstract float lumaAt(int x, int line, MeasuredRow scratch);

    private static final class Planar extends PixelRows {
        private final PlanarFrame frame;
        private final float perLumaCode;

        Planar(PlanarFrame frame, MeasureLoops loops, int siteShift, boolean lumaOnly) {
            super(frame.width(), frame.height(), frame.standard(), siteShift, frame.sampling().shiftY() == 1, loops, lumaOnly ? frame : null);
            this.frame = frame;
            perLumaCode = 1f / frame.lumaSpan();
        }

        @Override
        void read(int line, int from, int to, MeasuredRow into) {
            if (!loops.readLuma(frame, line, from, to, into)) {
                SCALAR.readLuma(frame, line, from, to, into);
            }
            if (sites(line) == 0) {
                return;
            }
            int siteFrom = siteFrom(from);
            int siteTo = siteFrom(to);
            int chromaShift = siteShift - frame.sampling().shiftX();
            if (!loops.readSites(frame, line, siteFrom, siteTo, siteShift, chromaShift, into)) {
                SCALAR.readSites(frame, line, siteFrom, siteTo, siteShift, chromaShift, into);
            }
        }

        @Override
        float lumaAt(int x, int line, MeasuredRow scratch) {
            return (frame.lumaCode(x, line) - frame.blackCode()) * perLumaCode;
        }
    }

    private static final class Packed extends PixelRows {
        private final PackedFrame frame;
        private int held = -1;

        Packed(PackedFrame frame, LumaStandard standard, MeasureLoops loops, int siteShift) {
            super(frame.width(), frame.height(), standard, siteShift, false, loops, null);
            if (frame.components() == Components.ALPHA) {
                throw new IllegalArgumentException("a frame of alpha alone has no levels to measure");
            }
            this.frame = frame;
        }

        @Override
        void read(int line, int from, int to, MeasuredRow into) {
            held = -1;
            if (!loops.read(frame, standard, line, from, to, siteShift, into)) {
                SCALAR.read(frame, standard, line, from, to, siteShift, into);
            }
        }

        @Override
        float lumaAt(int x, int line, MeasuredRow scratch) {
            if (line != held) {
                read(line, 0, width, scratch);
                held = line;
            }
            return scratch.luma[x];
        }
    }
}
