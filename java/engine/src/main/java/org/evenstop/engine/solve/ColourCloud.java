// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.solve;

import java.util.Arrays;

/** Pixels as points in luma and the two colour differences B'-Y' and R'-Y', each with the same share of its picture. */
final class ColourCloud {
    final double[] luma;
    final double[] blue;
    final double[] red;
    private final double amount;
    private int size;

    /** @param amount share of the picture that each point stands for */
    ColourCloud(int capacity, double amount) {
        luma = new double[capacity];
        blue = new double[capacity];
        red = new double[capacity];
        this.amount = amount;
    }

    void add(double y, double blueDifference, double redDifference) {
        luma[size] = y;
        blue[size] = blueDifference;
        red[size++] = redDifference;
    }

    int size() {
        return size;
    }

    double amount() {
        return amount;
    }

    /** Share of the picture that the points stand for. */
    double total() {
        return size * amount;
    }

    ColourCells cells(double width) {
        ColourCells cells = new ColourCells(width);
        for (int i = 0; i < size; i++) {
            cells.add(luma[i], blue[i], red[i], amount);
        }
        cells.soften();
        return cells;
    }

    /** A luma below which this share of the points lies; 0 when there are none. */
    double lumaAt(double share) {
        double[] sorted = Arrays.copyOf(luma, size);
        Arrays.sort(sorted);
        return size == 0 ? 0 : sorted[Math.min(size - 1, (int) (share * size))];
    }
}
