// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.measure;

import java.util.Arrays;
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
    /** Chroma lengths are summed in units of a millionth. */
    static final float CHROMA_UNIT = 1e6f;

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
    private final RowSteps steps;
    /** Of the picture's strips of tiles, every so many are counted, from this one on: all of them up to HD, a quarter at UHD. */
    private final int everyTile;
    private final int firstTile;

    /**
     * @param sampleSize how many pixel triples to keep at most
     * @param ordinal    which frame this is: moves the sampling positions
     */
    FrameTally(PixelRows rows, double seconds, int sampleSize, int ordinal) {
        this.seconds = seconds;
        width = rows.width;
        height = rows.height;
        int barTop = 0;
        while (barTop < height && isBarRow(rows, barTop)) {
            barTop++;
        }
        int barBottom = height;
        while (barBottom > barTop && isBarRow(rows, barBottom - 1)) {
            barBottom--;
        }
        boolean wide = barTop < height && isBarPair(barTop, height - barBottom, height);
        top = wide ? barTop : 0;
        bottom = wide ? barBottom : height;
        int barLeft = 0;
        int barRight = width;
        if (barTop < height) {
            while (barLeft < width && isBarColumn(rows, barLeft)) {
                barLeft++;
            }
            while (barRight > barLeft && isBarColumn(rows, barRight - 1)) {
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
        steps = new RowSteps(width);
        countRows(rows, positions);
    }

    /** Bars come in pairs of like size and are not just a stray dark line. */
    private static boolean isBarPair(int first, int second, int size) {
        return first >= 2 && second >= 2 && Math.abs(first - second) <= Math.max(2, size / 50) && first + second < size / 2
            && first + second >= size / 50;
    }

    private static boolean isBarRow(PixelRows rows, int row) {
        for (int x = 0; x < rows.width; x++) {
            if (!(rows.lumaAt(x, row) <= BAR_LEVEL)) {
                return false;
            }
        }
        return true;
    }

    private boolean isBarColumn(PixelRows rows, int column) {
        // Packed rows are converted whole to answer, so every eighth row has to do; a bar is dark in all of them.
        for (int y = top; y < bottom; y += 8) {
            if (!(rows.lumaAt(column, y) <= BAR_LEVEL)) {
                return false;
            }
        }
        return true;
    }

    private boolean isCounted(int row) {
        return (row - top) / NoiseMeter.TILE % everyTile == firstTile;
    }

    private void countRows(PixelRows rows, long[] positions) {
        int[] above = new int[width];
        int[] own = new int[width];
        int tiles = Math.max(0, right - left) / NoiseMeter.TILE;
        int[] fine = new int[tiles];
        int[] coarse = new int[tiles];
        int[] sums = new int[tiles];
        int[][] blocks = new int[2][tiles * NoiseMeter.TILE / 2];
        int kept = 0;
        for (int row = top; row < bottom; row++) {
            int inTile = (row - top) % NoiseMeter.TILE;
            if (!isCounted(row)) {
                continue;
            }
            rows.read(row);
            int[] codes = (inTile & 1) == 0 ? above : own;
            steps.ofLuma(rows.luma, left, right, codes);
            int band = (int) ((long) (row - top) * ROW_BANDS / Math.max(1, bottom - top));
            bandSum[band] += steps.countLuma(left, right);
            bandCount[band] += steps.counted;
            if ((inTile & 1) == 1) {
                int half = inTile >> 1 & 1;
                addNoise(above, own, blocks[half], fine, sums);
                if (half == 1) {
                    addCoarseNoise(blocks[0], blocks[1], coarse);
                }
            }
            if (inTile == NoiseMeter.TILE - 1) {
                countTiles(fine, coarse, sums);
            }
            if (rows.sites > 0) {
                int from = left + (1 << rows.siteShift) - 1 >> rows.siteShift;
                int to = Math.min(rows.sites, right + (1 << rows.siteShift) - 1 >> rows.siteShift);
                steps.countSites(rows, from, to);
                while (kept < positions.length && positions[kept] >>> 32 == row) {
                    keep(rows, (int) positions[kept] >> rows.siteShift);
                    kept++;
                }
            }
        }
        min = steps.lowest;
        max = steps.highest;
        steps.addTo(this);
    }

    private void addNoise(int[] above, int[] below, int[] blocks, int[] magnitudes, int[] sums) {
        int tile = NoiseMeter.TILE;
        for (int t = 0; t < magnitudes.length; t++) {
            int magnitude = 0;
            int sum = 0;
            for (int x = left + t * tile; x < left + (t + 1) * tile; x += 2) {
                int a = above[x];
                int b = above[x + 1];
                int c = below[x];
                int d = below[x + 1];
                magnitude += Math.abs(a - b - c + d);
                int block = a + b + c + d;
                blocks[(x - left) >> 1] = block;
                sum += block;
            }
            magnitudes[t] += magnitude;
            sums[t] += sum;
        }
    }

    /** The same one scale up, on sums of 2x2 pixels. */
    private static void addCoarseNoise(int[] above, int[] below, int[] coarse) {
        int across = NoiseMeter.TILE / 2;
        for (int t = 0; t < coarse.length; t++) {
            for (int i = t * across; i < (t + 1) * across; i += 2) {
                coarse[t] += Math.abs(above[i] - above[i + 1] - below[i] + below[i + 1]);
            }
        }
    }

    /** Tiles that are black, clipped or partly transparent say nothing about noise. */
    private void countTiles(int[] magnitudes, int[] coarse, int[] sums) {
        double perPixel = 1.0 / (NoiseMeter.TILE * NoiseMeter.TILE * 3504.0);
        for (int t = 0; t < magnitudes.length; t++) {
            double mean = sums[t] * perPixel;
            if (mean > 0.03 && mean < 0.98) {
                noise.count(magnitudes[t], coarse[t]);
            }
            magnitudes[t] = 0;
            coarse[t] = 0;
            sums[t] = 0;
        }
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
        int[] columns = new int[n];
        int[] lineOf = new int[n];
        int[] ends = new int[lines + 1];
        for (int i = 0; i < n; i++) {
            double u = 0.5 + 0.7548776662466927 * (i + 1) + 0.618033988749895 * ordinal;
            double v = 0.5 + 0.5698402909980532 * (i + 1) + 0.324717957244746 * ordinal;
            columns[i] = left + (int) ((u - Math.floor(u)) * across);
            int y = countedRows[(int) ((v - Math.floor(v)) * countedRows.length)];
            if (rows.skipsOddRows && (y & 1) == 1) {
                boolean first = everyTile == 1 ? y == top : (y - top) % NoiseMeter.TILE == 0;
                y += !first || y + 1 >= bottom ? -1 : 1;
            }
            lineOf[i] = Math.max(y, top) - top;
            ends[lineOf[i] + 1]++;
        }
        for (int line = 0; line < lines; line++) {
            ends[line + 1] += ends[line];
        }
        long[] positions = new long[n];
        int[] next = ends.clone();
        for (int i = 0; i < n; i++) {
            positions[next[lineOf[i]]++] = (long) (lineOf[i] + top) << 32 | columns[i];
        }
        for (int line = 0; line < lines; line++) {
            Arrays.sort(positions, ends[line], ends[line + 1]);
        }
        return positions;
    }

    private void keep(PixelRows rows, int site) {
        float y = rows.luma[site << rows.siteShift];
        if (y == y) {
            sample[sampled++] = PixelSample.stored(rows.r[site]);
            sample[sampled++] = PixelSample.stored(rows.g[site]);
            sample[sampled++] = PixelSample.stored(rows.b[site]);
        }
    }

    boolean isBlack() {
        double bright = luma.percentile(999);
        return !(bright >= BLACK_FRAME);
    }
}
