// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.calibrate;

import java.util.Arrays;

/**
 * Whether two exposures show the same thing at the same place. Tiles of their small pictures are compared by the normalised
 * correlation of luma gradients, which a rising curve leaves high and movement does not (common practice, no source).
 */
final class Registration {
    static final int TILE = 16;
    /** Correlation under which a tile has moved, and the share of tiles from which the pictures have (own choices, no source). */
    private static final double SAME = 0.6;
    private static final double ALL_MOVED = 0.35;
    private static final int REACH = 6;

    /** Tiles with enough detail in both to tell. */
    final int told;
    /** Of them, those that do not match in place. */
    final int moved;
    /** The displacement at which the pictures match best, in pixels of the frame. */
    final int shiftX;
    final int shiftY;
    /** {@code [tileRows * tileColumns]}: this part of the picture moved. */
    final boolean[] movedTile;
    final int tileColumns;
    private final boolean shifted;

    private Registration(int told, int moved, int shiftX, int shiftY, boolean shifted, boolean[] movedTile, int tileColumns) {
        this.told = told;
        this.moved = moved;
        this.shiftX = shiftX;
        this.shiftY = shiftY;
        this.shifted = shifted;
        this.movedTile = movedTile;
        this.tileColumns = tileColumns;
    }

    boolean canTell() {
        return told >= 6;
    }

    double movedShare() {
        return told == 0 ? 0 : moved / (double) told;
    }

    /** The whole picture moved, or so much of it that places can not be compared. */
    boolean isLost() {
        return canTell() && (movedShare() > ALL_MOVED || shifted && movedShare() > 0.15);
    }

    static Registration of(ExposurePicture a, ExposurePicture b, double highest) {
        int w = a.outlineWidth;
        int h = a.outlineHeight;
        int tileColumns = Math.max(1, w / TILE);
        int tileRows = Math.max(1, h / TILE);
        double[] energyA = energies(a, highest, tileColumns, tileRows);
        double[] energyB = energies(b, highest, tileColumns, tileRows);
        double leastA = threshold(energyA);
        double leastB = threshold(energyB);
        boolean[] movedTile = new boolean[tileColumns * tileRows];
        boolean[] detailed = new boolean[tileColumns * tileRows];
        int told = 0;
        int moved = 0;
        for (int t = 0; t < movedTile.length; t++) {
            if (energyA[t] < leastA || energyB[t] < leastB) {
                continue;
            }
            double[] sums = correlate(a, b, t % tileColumns * TILE, t / tileColumns * TILE, 0, 0, highest);
            if (sums[3] < 0.5 * TILE * TILE) {
                continue;
            }
            detailed[t] = true;
            told++;
            if (sums[0] < SAME * Math.sqrt(sums[1] * sums[2])) {
                movedTile[t] = true;
                moved++;
            }
        }
        int bestX = 0;
        int bestY = 0;
        boolean shifted = false;
        if (told > 0 && moved > 0.1 * told) {
            double best = overall(a, b, detailed, tileColumns, 0, 0, highest);
            double inPlace = best;
            for (int dy = -REACH; dy <= REACH; dy++) {
                for (int dx = -REACH; dx <= REACH; dx++) {
                    double there = overall(a, b, detailed, tileColumns, dx, dy, highest);
                    if (there > best + 1e-9) {
                        best = there;
                        bestX = dx;
                        bestY = dy;
                    }
                }
            }
            shifted = best > inPlace + 0.1;
        }
        return new Registration(told, moved, bestX * a.outlineStep, bestY * a.outlineStep, shifted, movedTile, tileColumns);
    }

    private static double overall(ExposurePicture a, ExposurePicture b, boolean[] detailed, int tileColumns, int dx, int dy, double highest) {
        double product = 0;
        double squareA = 0;
        double squareB = 0;
        for (int t = 0; t < detailed.length; t++) {
            if (detailed[t]) {
                double[] sums = correlate(a, b, t % tileColumns * TILE, t / tileColumns * TILE, dx, dy, highest);
                product += sums[0];
                squareA += sums[1];
                squareB += sums[2];
            }
        }
        return product / Math.sqrt(squareA * squareB + 1e-12);
    }

    /** Sums over a tile of the gradients' products, their squares in each picture, and the places that count. */
    private static double[] correlate(ExposurePicture a, ExposurePicture b, int x0, int y0, int dx, int dy, double highest) {
        double[] sums = new double[4];
        int w = a.outlineWidth;
        int h = a.outlineHeight;
        for (int y = y0; y < Math.min(y0 + TILE, h - 1); y++) {
            for (int x = x0; x < Math.min(x0 + TILE, w - 1); x++) {
                int bx = x + dx;
                int by = y + dy;
                if (bx < 0 || by < 0 || bx >= w - 1 || by >= h - 1) {
                    continue;
                }
                int at = y * w + x;
                int bt = by * w + bx;
                if (!counts(a.outline, at, w, highest) || !counts(b.outline, bt, w, highest)) {
                    continue;
                }
                double ax = a.outline[at + 1] - a.outline[at];
                double ay = a.outline[at + w] - a.outline[at];
                double gx = b.outline[bt + 1] - b.outline[bt];
                double gy = b.outline[bt + w] - b.outline[bt];
                sums[0] += ax * gx + ay * gy;
                sums[1] += ax * ax + ay * ay;
                sums[2] += gx * gx + gy * gy;
                sums[3]++;
            }
        }
        return sums;
    }

    private static boolean counts(float[] outline, int at, int w, double highest) {
        return inside(outline[at], highest) && inside(outline[at + 1], highest) && inside(outline[at + w], highest);
    }

    private static boolean inside(float level, double highest) {
        return level > 0.01 && level < highest;
    }

    private static double[] energies(ExposurePicture a, double highest, int tileColumns, int tileRows) {
        double[] energy = new double[tileColumns * tileRows];
        for (int t = 0; t < energy.length; t++) {
            double[] sums = correlate(a, a, t % tileColumns * TILE, t / tileColumns * TILE, 0, 0, highest);
            energy[t] = sums[3] < 0.5 * TILE * TILE ? 0 : sums[1] / sums[3];
        }
        return energy;
    }

    /** Mean squared gradient that noise does not reach: six times that of the quietest tenth of the tiles, within bounds. */
    private static double threshold(double[] energies) {
        double[] sorted = Arrays.stream(energies).filter(e -> e > 0).sorted().toArray();
        double quiet = sorted.length == 0 ? 0 : sorted[sorted.length / 10];
        return Math.max(0.005 * 0.005, Math.min(6 * quiet, 0.02 * 0.02));
    }
}
