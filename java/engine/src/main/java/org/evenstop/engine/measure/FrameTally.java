// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.measure;

import java.util.stream.IntStream;

/** What one frame adds to a measurement. All sums are integers, so the order in which frames are merged does not matter. */
final class FrameTally {
    static final int CHROMA_ZONES = 18;
    static final int ROW_BANDS = 128;
    /** Luma up to this level (1.5 %) may be a letterbox bar. */
    private static final float BAR_LEVEL = 0.015f;
    /** A picture whose brightest 0.1 % stay below this level is black: 4 %. */
    private static final double BLACK_FRAME = 0.04;
    /** Pixels of a frame that are counted at most, or nearly: a little more than HD. Frames take turns with the rest. */
    private static final long MOST_PIXELS = 2_300_000;

    /** Pixels of a row that are worked on at a time: few enough for what is made of them to stay in the first-level cache. */
    private static final int BLOCK = 768;

    /** What counting a frame of some width needs, kept from frame to frame by one thread. */
    static final class Scratch {
        final MeasuredRow row;
        final RowCounts counts = new RowCounts();
        final NoiseTiles tiles;

        Scratch(int width) {
            row = new MeasuredRow(width);
            tiles = new NoiseTiles(width);
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
    /** Of the picture's strips of tiles, every so many are counted, from this one on: all of them up to HD, a quarter at UHD. */
    private final int everyTile;
    private final int firstTile;

    /**
     * @param scratch    what is needed while counting only, for frames of this width
     * @param sampleSize how many pixel triples to keep at most
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
        long strips = (bottom - top) / NoiseMeter.TILE;
        everyTile = (int) Math.max(1, Math.min(((long) width * height + MOST_PIXELS - 1) / MOST_PIXELS, strips / 4));
        firstTile = ordinal % everyTile;
        long[] positions = positions(rows, sampleSize, ordinal);
        sample = new short[3 * positions.length];
        countRows(rows, scratch, positions);
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

    private boolean isCounted(int row) {
        return (row - top) / NoiseMeter.TILE % everyTile == firstTile;
    }

    private void countRows(PixelRows rows, Scratch scratch, long[] positions) {
        MeasuredRow found = scratch.row;
        RowCounts counts = scratch.counts;
        NoiseTiles tiles = scratch.tiles;
        found.begin();
        counts.begin();
        tiles.begin(left, right);
        int kept = 0;
        for (int row = top; row < bottom; row++) {
            if (!isCounted(row)) {
                continue;
            }
            int inTile = (row - top) % NoiseMeter.TILE;
            int band = (int) ((long) (row - top) * ROW_BANDS / Math.max(1, bottom - top));
            boolean hasSites = rows.sites(row) > 0;
            int[] codes = tiles.codes(inTile);
            for (int block = 0; block < right; block += BLOCK) {
                int from = Math.max(left, block);
                int to = Math.min(right, block + BLOCK);
                if (from >= to) {
                    continue;
                }
                rows.read(row, block, Math.min(width, block + BLOCK), found);
                rows.loops.ofLuma(found, from, to, codes);
                bandSum[band] += found.stepSum;
                bandCount[band] += found.counted;
                if (hasSites) {
                    int siteFrom = rows.siteFrom(from);
                    int siteTo = rows.siteFrom(to);
                    rows.loops.ofSites(found, rows.standard, rows.siteShift, siteFrom, siteTo);
                    counts.countSites(found, from, to, rows.siteShift, siteFrom, siteTo);
                } else {
                    counts.countLuma(found, from, to);
                }
            }
            tiles.add(inTile, noise);
            while (kept < positions.length && positions[kept] >>> 32 == row) {
                keep(found, (int) positions[kept] >> rows.siteShift, rows.siteShift);
                kept++;
            }
        }
        min = found.lowest;
        max = found.highest;
        counts.addTo(this);
    }

    /**
     * Where pixels are kept, as {@code row << 32 | column} in rising order: the R2 sequence (M. Roberts, 2018: multiples of 1/p and
     * 1/p^2 with p^3 = p + 1), which fills the picture evenly, moved to rows that have chroma.
     */
    private long[] positions(PixelRows rows, int sampleSize, int ordinal) {
        int across = right - left;
        int lines = bottom - top;
        int[] countedRows = IntStream.range(top, bottom).filter(this::isCounted).toArray();
        int n = (int) Math.min(sampleSize, (long) across * countedRows.length);
        // In order of columns first, then of lines, which keeps columns in order within a line.
        int[] columns = new int[n];
        int[] next = new int[across + 1];
        for (int i = 0; i < n; i++) {
            double u = 0.5 + 0.7548776662466927 * (i + 1) + 0.618033988749895 * ordinal;
            columns[i] = (int) ((u - (long) u) * across);
            next[columns[i] + 1]++;
        }
        addUp(next);
        int[] lineOf = new int[n];
        int[] ends = new int[lines + 1];
        int[] inOrder = new int[n];
        for (int i = 0; i < n; i++) {
            double v = 0.5 + 0.5698402909980532 * (i + 1) + 0.324717957244746 * ordinal;
            int y = countedRows[(int) ((v - (long) v) * countedRows.length)];
            if (rows.skipsOddRows && (y & 1) == 1) {
                boolean first = everyTile == 1 ? y == top : (y - top) % NoiseMeter.TILE == 0;
                y += !first || y + 1 >= bottom ? -1 : 1;
            }
            lineOf[i] = Math.max(y, top) - top;
            ends[lineOf[i] + 1]++;
            inOrder[next[columns[i]]++] = i;
        }
        addUp(ends);
        long[] positions = new long[n];
        for (int i : inOrder) {
            positions[ends[lineOf[i]]++] = (long) (lineOf[i] + top) << 32 | left + columns[i];
        }
        return positions;
    }

    private static void addUp(int[] counts) {
        for (int i = 1; i < counts.length; i++) {
            counts[i] += counts[i - 1];
        }
    }

    private void keep(MeasuredRow row, int site, int siteShift) {
        float y = row.luma[site << siteShift];
        if (y == y) {
            sample[sampled++] = PixelSample.stored(row.red[site]);
            sample[sampled++] = PixelSample.stored(row.green[site]);
            sample[sampled++] = PixelSample.stored(row.blue[site]);
        }
    }

    boolean isBlack() {
        double bright = luma.percentile(999);
        return !(bright >= BLACK_FRAME);
    }
}
