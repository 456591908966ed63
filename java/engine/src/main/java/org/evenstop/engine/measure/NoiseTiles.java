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
        above = new int[width + MeasureLoops.CODES_BEYOND];
        below = new int[width + MeasureLoops.CODES_BEYOND];
        blocks = new int[2][width + MeasureLoops.CODES_BEYOND];
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
    void add(MeasureLoops loops, int rowInTile, int from, int end, NoiseMeter noise) {
        int to = from + (end - from) / TILE * TILE;
        if (from == to) {
            return;
        }
        if ((rowInTile & 1) == 1) {
            int half = rowInTile >> 1 & 1;
            loops.addFine(above, below, from, to, fine, blocks[half], sums);
            if (half == 1) {
                loops.addCoarse(blocks[0], blocks[1], from, to, coarse);
            }
        }
        if (rowInTile == TILE - 1) {
            count(from, to, noise);
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
            noise.count(tileFine, tileCoarse, mean);
        }
        Arrays.fill(fine, from, to, 0);
        Arrays.fill(coarse, from, to, 0);
        Arrays.fill(sums, from, to, 0);
    }
}
