// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.measure;

/** What one frame adds to a measurement. All sums are integers, so the order in which frames are merged does not matter. */
final class FrameTally {
    static final int CHROMA_ZONES = 18;
    static final int ROW_BANDS = 128;
    /** Luma up to this level (1.5 %) may be a letterbox bar. */
    private static final float BAR_LEVEL = 0.015f;
    /** A picture whose brightest 0.1 % stay below this level is black: 4 %. */
    private static final double BLACK_FRAME = 0.04;
    /** Chroma lengths are summed in units of a millionth. */
    private static final double CHROMA_UNIT = 1e6;

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
    float min = Float.POSITIVE_INFINITY;
    float max = Float.NEGATIVE_INFINITY;
    final int left;
    final int top;
    final int right;
    final int bottom;
    final int width;
    final int height;
    final short[] sample;

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
        countRows(rows);
        sample = keep(rows, sampleSize, ordinal);
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

    private void countRows(PixelRows rows) {
        int[] above = new int[width];
        int[] magnitudes = new int[Math.max(0, right - left) / NoiseMeter.TILE];
        int[] sums = new int[magnitudes.length];
        int[] coarse = new int[magnitudes.length];
        int[][] blocks = new int[2][magnitudes.length * NoiseMeter.TILE / 2];
        boolean held = false;
        for (int row = top; row < bottom; row++) {
            rows.read(row);
            float[] y = rows.luma;
            int band = (int) ((long) (row - top) * ROW_BANDS / Math.max(1, bottom - top));
            long bandTotal = 0;
            long counted = 0;
            for (int x = left; x < right; x++) {
                float level = y[x];
                if (level != level) {
                    continue;
                }
                int step = LevelHistogram.stepOf(level);
                luma.count(step);
                bandTotal += step;
                counted++;
                min = Math.min(min, level);
                max = Math.max(max, level);
            }
            bandSum[band] += bandTotal;
            bandCount[band] += counted;
            if (held) {
                int[] own = blocks[(row - top) >> 1 & 1];
                addNoise(above, y, own, magnitudes, sums);
                if (((row - top) >> 1 & 1) == 1) {
                    addCoarseNoise(blocks[0], own, coarse);
                }
                held = false;
            } else {
                for (int x = left; x < right; x++) {
                    above[x] = code12(y[x]);
                }
                held = true;
            }
            if ((row - top) % NoiseMeter.TILE == NoiseMeter.TILE - 1) {
                countTiles(magnitudes, coarse, sums);
            }
            countSites(rows);
        }
    }

    private static int code12(float level) {
        return level != level ? -1_000_000 : Math.round(level * 3504f);
    }

    private void addNoise(int[] above, float[] below, int[] blocks, int[] magnitudes, int[] sums) {
        int tile = NoiseMeter.TILE;
        for (int t = 0; t < magnitudes.length; t++) {
            int magnitude = 0;
            int sum = 0;
            for (int x = left + t * tile; x < left + (t + 1) * tile; x += 2) {
                int a = above[x];
                int b = above[x + 1];
                int c = code12(below[x]);
                int d = code12(below[x + 1]);
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

    private void countSites(PixelRows rows) {
        double cbScale = 1 / rows.standard.cbDivisor();
        double crScale = 1 / rows.standard.crDivisor();
        for (int i = 0; i < rows.sites; i++) {
            int x = i << rows.siteShift;
            float y = rows.luma[x];
            if (x < left || x >= right || y != y) {
                continue;
            }
            red.count(LevelHistogram.stepOf(rows.r[i]));
            green.count(LevelHistogram.stepOf(rows.g[i]));
            blue.count(LevelHistogram.stepOf(rows.b[i]));
            double cb = (rows.b[i] - y) * cbScale;
            double cr = (rows.r[i] - y) * crScale;
            int step = LevelHistogram.stepOf(y);
            int zone = step * CHROMA_ZONES / LevelHistogram.SIZE;
            zoneCount[zone]++;
            zoneChroma[zone] += Math.round(Math.sqrt(cb * cb + cr * cr) * CHROMA_UNIT);
            sites++;
            if (Skin.counts(y, cb, cr)) {
                skin.count(step);
            }
        }
    }

    /** Keeps pixels at the positions of the R2 sequence (M. Roberts, 2018: multiples of 1/p and 1/p^2, p^3 = p + 1), which fill the frame evenly. */
    private short[] keep(PixelRows rows, int sampleSize, int ordinal) {
        int columns = right - left;
        int lines = bottom - top;
        int n = (int) Math.min(sampleSize, (long) columns * lines);
        long[] positions = new long[n];
        for (int i = 0; i < n; i++) {
            double u = 0.5 + 0.7548776662466927 * (i + 1) + 0.618033988749895 * ordinal;
            double v = 0.5 + 0.5698402909980532 * (i + 1) + 0.324717957244746 * ordinal;
            int x = left + (int) ((u - Math.floor(u)) * columns);
            int y = top + (int) ((v - Math.floor(v)) * lines);
            positions[i] = (long) y << 32 | x;
        }
        // Row by row, so that each row is converted once; the order is part of what is kept.
        java.util.Arrays.sort(positions);
        short[] kept = new short[3 * n];
        int filled = 0;
        int current = -1;
        for (long position : positions) {
            int siteRow = (int) (position >>> 32);
            while (siteRow > 0 && !hasSites(rows, siteRow)) {
                siteRow--;
            }
            if (siteRow != current) {
                rows.read(siteRow);
                current = siteRow;
            }
            int site = (int) position >> rows.siteShift;
            if (rows.luma[site << rows.siteShift] != rows.luma[site << rows.siteShift]) {
                continue;
            }
            kept[filled++] = PixelSample.stored(rows.r[site]);
            kept[filled++] = PixelSample.stored(rows.g[site]);
            kept[filled++] = PixelSample.stored(rows.b[site]);
        }
        return java.util.Arrays.copyOf(kept, filled);
    }

    private static boolean hasSites(PixelRows rows, int row) {
        return !rows.skipsOddRows || (row & 1) == 0;
    }

    boolean isBlack() {
        double bright = luma.percentile(999);
        return !(bright >= BLACK_FRAME);
    }

    double chromaUnit() {
        return CHROMA_UNIT;
    }
}
