// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.measure;

import java.util.Arrays;

/**
 * Gathers what {@link NoiseMeter} counts, from pairs of rows as 12-bit codes. Sums are kept column by column, so that the loops are wide, and
 * added up once a tile: at columns where no block begins they mean nothing.
 */
final class NoiseTiles {
    private static final int TILE = NoiseMeter.TILE;

    private final int[] above;
    private final int[] below;
    /** Block sums of the pair before this one, and of this one. */
    private final int[][] blocks;
    private final int[] fine;
    private final int[] coarse;
    private final int[] sums;

    NoiseTiles(int width) {
        above = new int[width];
        below = new int[width];
        blocks = new int[2][width];
        fine = new int[width];
        coarse = new int[width];
        sums = new int[width];
    }

    /** Forgets what was gathered. */
    void begin() {
        Arrays.fill(fine, 0);
        Arrays.fill(coarse, 0);
        Arrays.fill(sums, 0);
    }

    /** Where the codes of a row of a tile go, 0 the first. */
    int[] codes(int rowInTile) {
        return (rowInTile & 1) == 0 ? above : below;
    }

    /** Adds columns {@code from..end-1} of a row, whose codes are there; tiles lie from the first of them on, and what is left over does not count. */
    void add(int rowInTile, int from, int end, NoiseMeter noise) {
        int to = from + (end - from) / TILE * TILE;
        if (from == to) {
            return;
        }
        if ((rowInTile & 1) == 1) {
            int half = rowInTile >> 1 & 1;
            addFine(above, below, from, to - 1, fine, blocks[half], sums);
            if (half == 1) {
                addCoarse(blocks[0], blocks[1], from, to - 2, coarse);
            }
        }
        if (rowInTile == TILE - 1) {
            count(from, to, noise);
        }
    }

    private static void addFine(int[] above, int[] below, int from, int to, int[] fine, int[] blocks, int[] sums) {
        for (int x = from; x < to; x++) {
            int a = above[x];
            int b = above[x + 1];
            int c = below[x];
            int d = below[x + 1];
            fine[x] += Math.abs(a - c - (b - d));
            int block = a + c + (b + d);
            blocks[x] = block;
            sums[x] += block;
        }
    }

    /** The same one scale up, on sums of 2x2 pixels. */
    private static void addCoarse(int[] above, int[] below, int from, int to, int[] coarse) {
        for (int x = from; x < to; x++) {
            coarse[x] += Math.abs(above[x] - below[x] - (above[x + 2] - below[x + 2]));
        }
    }

    /** Tiles that are black, clipped or partly transparent say nothing about noise. */
    private void count(int from, int to, NoiseMeter noise) {
        double perPixel = 1.0 / (TILE * TILE * (double) MeasuredRow.CODES);
        for (int tile = from; tile < to; tile += TILE) {
            int tileFine = 0;
            int tileCoarse = 0;
            int sum = 0;
            for (int x = tile; x < tile + TILE; x += 4) {
                tileFine += fine[x] + fine[x + 2];
                sum += sums[x] + sums[x + 2];
                tileCoarse += coarse[x];
            }
            double mean = sum * perPixel;
            if (mean > 0.03 && mean < 0.98) {
                noise.count(tileFine, tileCoarse);
            }
        }
        Arrays.fill(fine, from, to, 0);
        Arrays.fill(coarse, from, to, 0);
        Arrays.fill(sums, from, to, 0);
    }
}
