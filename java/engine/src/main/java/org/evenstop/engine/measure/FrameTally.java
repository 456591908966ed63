// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.measure;

import java.util.Arrays;
import org.evenstop.engine.frame.PlanarFrame;

/** What one frame adds to a measurement. All sums are integers, so the order in which frames are merged does not matter. */
final class FrameTally {
    static final int CHROMA_ZONES = 18;
    static final int ROW_BANDS = 128;
    /** Luma up to this level (1.5 %) may be a letterbox bar. */
    private static final float BAR_LEVEL = 0.015f;
    /** A picture whose brightest 0.1 % stay below this level is black: 4 %. */
    private static final double BLACK_FRAME = 0.04;
    /** Frames of more pixels than this, a little more than HD, are not counted whole. */
    private static final long WHOLE_PIXELS = 2_300_000;
    /** Pixels that are counted of those, or nearly. Frames take turns with the rest. */
    private static final long PART_PIXELS = 1_150_000;

    /** Pixels of a row that are worked on at a time: few enough for what is made of them to stay in the first-level cache. */
    private static final int BLOCK = 768;
    /** Columns of a cell, as many tiles across; its rows are those of a tile. */
    private static final int CELL = 16 * NoiseMeter.TILE;

    /**
     * What counting a frame needs, kept from frame to frame by one thread: memory that was not used before costs a fault for each of its pages,
     * and as much time as counting.
     */
    static final class Scratch {
        private static final ThreadLocal<Scratch> HELD = new ThreadLocal<>();

        final MeasuredRow row;
        final RowCounts counts = new RowCounts();
        final CodeCounts codes = new CodeCounts();
        final NoiseTiles tiles;
        private final int width;
        /** Places as they fall and by rising columns, line and column in one number: all that is sorted stays in the second-level cache. */
        private int[] fallen = new int[0];
        private int[] byColumn;
        /** Columns of the places kept, line by line; those of a line end where {@code ends} has it. */
        private int[] places;
        private int[] ends = new int[0];
        /** The rows of the counted cells: which line, and from which column on. */
        private int[] cellLines = new int[0];
        private int[] cellColumns;
        private final int[] perColumn;

        private Scratch(int width) {
            this.width = width;
            row = new MeasuredRow(width);
            tiles = new NoiseTiles(width);
            perColumn = new int[width + 1];
        }

        /** That of this thread, for frames of a width. */
        static Scratch of(int width) {
            Scratch held = HELD.get();
            if (held == null || held.width < width) {
                held = new Scratch(width);
                HELD.set(held);
            }
            return held;
        }

        void hold(int lineCount, int cells) {
            if (ends.length <= lineCount) {
                ends = new int[lineCount + 1];
            }
            if (cellLines.length < lineCount * cells) {
                cellLines = new int[lineCount * cells];
                cellColumns = new int[lineCount * cells];
            }
        }

        void keep(int most) {
            if (fallen.length < most) {
                fallen = new int[most];
                byColumn = new int[most];
                places = new int[most];
            }
        }
    }

    final double seconds;
    final LevelHistogram luma = new LevelHistogram();
    final LevelHistogram red = new LevelHistogram();
    final LevelHistogram green = new LevelHistogram();
    final LevelHistogram blue = new LevelHistogram();
    final LevelHistogram skin = new LevelHistogram();
    final NoiseMeter noise = new NoiseMeter();
    final long[] zoneCount = new long[CHROMA_ZONES];
    final long[] zoneChroma = new long[CHROMA_ZONES];
    final long[] bandSum = new long[ROW_BANDS];
    final long[] bandCount = new long[ROW_BANDS];
    long sites;
    float min;
    float max;
    final int left;
    final int top;
    final int right;
    final int bottom;
    final int width;
    final int height;
    /** Kept pixels as stored levels; only the first {@code sampled} values count. */
    final short[] sample;
    int sampled;
    /** Of the picture's cells every so many are counted, those of each strip moved on from the last one's: all of them up to HD. */
    private final int everyCell;
    private final int ordinal;

    /**
     * @param scratch    what is needed while counting only, for frames of this size
     * @param sampleSize how many pixel triples to keep at most; 0 where only luma counts
     * @param ordinal    which frame this is: moves the sampling positions
     */
    FrameTally(PixelRows rows, Scratch scratch, double seconds, int sampleSize, int ordinal) {
        this.seconds = seconds;
        width = rows.width;
        height = rows.height;
        int barTop = 0;
        while (barTop < height && isBarRow(rows, scratch.row, barTop)) {
            barTop++;
        }
        int barBottom = height;
        while (barBottom > barTop && isBarRow(rows, scratch.row, barBottom - 1)) {
            barBottom--;
        }
        boolean wide = barTop < height && isBarPair(barTop, height - barBottom, height);
        top = wide ? barTop : 0;
        bottom = wide ? barBottom : height;
        int barLeft = 0;
        int barRight = width;
        if (barTop < height) {
            while (barLeft < width && isBarColumn(rows, scratch.row, barLeft)) {
                barLeft++;
            }
            while (barRight > barLeft && isBarColumn(rows, scratch.row, barRight - 1)) {
                barRight--;
            }
        }
        boolean tall = barLeft < width && isBarPair(barLeft, width - barRight, width);
        left = tall ? barLeft : 0;
        right = tall ? barRight : width;
        long cells = (long) (bottom - top) / NoiseMeter.TILE * ((right - left) / CELL);
        long pixels = (long) width * height;
        everyCell = pixels <= WHOLE_PIXELS ? 1 : (int) Math.max(1, Math.min((pixels + PART_PIXELS - 1) / PART_PIXELS, cells / 16));
        this.ordinal = ordinal;
        int places = places(rows, scratch, sampleSize);
        sample = new short[3 * places];
        if (rows.lumaOf != null) {
            countLuma(rows.lumaOf, scratch);
        } else {
            countRows(rows, scratch);
        }
    }

    /** Bars come in pairs of like size and are not just a stray dark line. */
    private static boolean isBarPair(int first, int second, int size) {
        return first >= 2 && second >= 2 && Math.abs(first - second) <= Math.max(2, size / 50) && first + second < size / 2
            && first + second >= size / 50;
    }

    private static boolean isBarRow(PixelRows rows, MeasuredRow scratch, int row) {
        for (int x = 0; x < rows.width; x++) {
            if (!(rows.lumaAt(x, row, scratch) <= BAR_LEVEL)) {
                return false;
            }
        }
        return true;
    }

    private boolean isBarColumn(PixelRows rows, MeasuredRow scratch, int column) {
        // Packed rows are converted whole to answer, so every eighth row has to do; a bar is dark in all of them.
        for (int y = top; y < bottom; y += 8) {
            if (!(rows.lumaAt(column, y, scratch) <= BAR_LEVEL)) {
                return false;
            }
        }
        return true;
    }

    private int cellsAcross() {
        return everyCell == 1 ? 1 : (right - left + CELL - 1) / CELL;
    }

    /** Where all are counted, a cell is the whole of a strip. */
    private boolean isCounted(int row, int cell) {
        if (everyCell == 1) {
            return true;
        }
        int strip = (row - top) / NoiseMeter.TILE;
        // Neighbouring strips' cells lie apart (own choice, no source).
        int apart = (int) (0.382 * everyCell) | 1;
        return (cell + apart * strip + ordinal) % everyCell == 0;
    }

    private void countLuma(PlanarFrame frame, Scratch scratch) {
        scratch.codes.begin();
        int cells = cellsAcross();
        for (int row = top; row < bottom; row++) {
            for (int cell = 0; cell < cells; cell++) {
                if (isCounted(row, cell)) {
                    scratch.codes.count(frame, row, cellFrom(cell), cellTo(cell, cells));
                }
            }
        }
        scratch.codes.addTo(this, frame);
    }

    private int cellFrom(int cell) {
        return left + cell * CELL;
    }

    private int cellTo(int cell, int cells) {
        return cells == 1 ? right : Math.min(right, cellFrom(cell) + CELL);
    }

    private void countRows(PixelRows rows, Scratch scratch) {
        scratch.row.begin();
        scratch.counts.begin();
        scratch.tiles.begin();
        int cells = cellsAcross();
        int kept = 0;
        for (int row = top; row < bottom; row++) {
            for (int cell = 0; cell < cells; cell++) {
                if (isCounted(row, cell)) {
                    int cellFrom = cellFrom(cell);
                    int cellTo = cellTo(cell, cells);
                    // All at once, so that memory is read in long runs, which processors fetch ahead.
                    rows.read(row, cellFrom & ~1, cellTo, scratch.row);
                    for (int from = cellFrom; from < cellTo; from += BLOCK) {
                        count(rows, scratch, row, from, Math.min(cellTo, from + BLOCK));
                    }
                }
            }
            int end = scratch.ends[row - top];
            keep(scratch.row, scratch.places, kept, end, rows.siteShift);
            kept = end;
        }
        min = scratch.row.lowest;
        max = scratch.row.highest;
        scratch.counts.addTo(this);
    }

    /** Pixels {@code from..to-1} of a row that was read. */
    private void count(PixelRows rows, Scratch scratch, int row, int from, int to) {
        MeasuredRow found = scratch.row;
        int inTile = (row - top) % NoiseMeter.TILE;
        int band = (int) ((long) (row - top) * ROW_BANDS / Math.max(1, bottom - top));
        rows.loops.ofLuma(found, from, to, scratch.tiles.codes(inTile));
        bandSum[band] += found.stepSum;
        bandCount[band] += found.counted;
        if (rows.sites(row) > 0) {
            int siteFrom = rows.siteFrom(from);
            int siteTo = rows.siteFrom(to);
            rows.loops.ofSites(found, rows.standard, rows.siteShift, siteFrom, siteTo);
            scratch.counts.countSites(found, from, to, rows.siteShift, siteFrom, siteTo);
        } else {
            scratch.counts.countLuma(found, from, to);
        }
        scratch.tiles.add(rows.loops, inTile, from, to, noise);
    }

    /**
     * Where pixels are kept, by rows from {@code top} on and in each by rising columns from {@code left} on: the R2 sequence (M. Roberts,
     * 2018: multiples of 1/p and 1/p^2 with p^3 = p + 1), which fills the picture evenly, moved to rows that have chroma. Returns how many.
     */
    private int places(PixelRows rows, Scratch scratch, int sampleSize) {
        int across = right - left;
        int lines = bottom - top;
        int cells = cellsAcross();
        scratch.hold(lines, cells);
        int[] lineOf = scratch.cellLines;
        int[] fromOf = scratch.cellColumns;
        int counted = 0;
        for (int line = 0; line < lines; line++) {
            for (int cell = 0; cell < cells; cell++) {
                if (isCounted(top + line, cell)) {
                    lineOf[counted] = lineWithChroma(rows, line);
                    fromOf[counted] = cell * CELL;
                    counted++;
                }
            }
        }
        int width = cells == 1 ? across : Math.min(across, CELL);
        int n = (int) Math.min(sampleSize, (long) width * counted);
        scratch.keep(n);
        int[] fallen = scratch.fallen;
        int columnBits = 32 - Integer.numberOfLeadingZeros(across);
        int[] ends = scratch.ends;
        int[] next = scratch.perColumn;
        Arrays.fill(next, 0, across + 1, 0);
        Arrays.fill(ends, 0, lines + 1, 0);
        for (int i = 0; i < n; i++) {
            double u = 0.5 + 0.7548776662466927 * (i + 1) + 0.618033988749895 * ordinal;
            double v = 0.5 + 0.5698402909980532 * (i + 1) + 0.324717957244746 * ordinal;
            int place = (int) ((v - (long) v) * counted);
            int from = fromOf[place];
            int column = from + (int) ((u - (long) u) * Math.min(width, across - from));
            int line = lineOf[place];
            fallen[i] = line << columnBits | column;
            next[column + 1]++;
            ends[line + 1]++;
        }
        addUp(next, across + 1);
        addUp(ends, lines + 1);
        // In order of columns first, then of lines, which keeps columns in order within a line.
        int[] byColumn = scratch.byColumn;
        int columnMask = (1 << columnBits) - 1;
        for (int i = 0; i < n; i++) {
            int place = fallen[i];
            byColumn[next[place & columnMask]++] = place;
        }
        int[] sorted = scratch.places;
        for (int i = 0; i < n; i++) {
            int place = byColumn[i];
            sorted[ends[place >>> columnBits]++] = place & columnMask;
        }
        return n;
    }

    /** Of a line of 4:2:0 without chroma the one above, or below where that is not counted. */
    private int lineWithChroma(PixelRows rows, int line) {
        int y = top + line;
        if (rows.skipsOddRows && (y & 1) == 1) {
            boolean first = everyCell == 1 ? line == 0 : line % NoiseMeter.TILE == 0;
            y += !first || y + 1 >= bottom ? -1 : 1;
        }
        return Math.max(y, top) - top;
    }

    private static void addUp(int[] counts, int n) {
        for (int i = 1; i < n; i++) {
            counts[i] += counts[i - 1];
        }
    }

    /** Keeps places {@code from..to-1}, which lie in the row read last. */
    private void keep(MeasuredRow row, int[] columns, int from, int to, int siteShift) {
        int n = sampled;
        for (int k = from; k < to; k++) {
            int site = left + columns[k] >> siteShift;
            float y = row.luma[site << siteShift];
            if (y == y) {
                sample[n] = PixelSample.stored(row.red[site]);
                sample[n + 1] = PixelSample.stored(row.green[site]);
                sample[n + 2] = PixelSample.stored(row.blue[site]);
                n += 3;
            }
        }
        sampled = n;
    }

    boolean isBlack() {
        double bright = luma.percentile(999);
        return !(bright >= BLACK_FRAME);
    }
}
