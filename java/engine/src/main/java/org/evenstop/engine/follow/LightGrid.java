// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.follow;

import org.evenstop.engine.frame.PlanarFrame;
import org.evenstop.engine.level.LumaStandard;

/** One frame as a small grid of scene light, the profile undone: what frames are compared by. */
final class LightGrid {
    static final int MOST_COLUMNS = 64;
    static final int MOST_ROWS = 36;
    private static final int ROWS_READ = 8;
    private static final int CHROMA_ROWS_READ = 4;

    final int columns;
    final int rows;
    /** {@code [3 channels][rows * columns]} stops of light from mid grey; NaN where it can not be told. */
    final float[][] stops;
    /** The same shape: 0..1, how well it can be told. */
    final float[][] weight;
    /** Sum of the weights. */
    final double told;
    /** Mean luma of the frame, a level fraction. */
    final double mean;

    private LightGrid(int columns, int rows, float[][] stops, float[][] weight, double told, double mean) {
        this.columns = columns;
        this.rows = rows;
        this.stops = stops;
        this.weight = weight;
        this.told = told;
        this.mean = mean;
    }

    /** Share of the picture whose light can be told, 0..1. */
    double toldShare() {
        return told / (3.0 * columns * rows);
    }

    static LightGrid of(PlanarFrame frame, LightScale scale) {
        int columns = Math.min(MOST_COLUMNS, frame.sampling().chromaWidth(frame.width()));
        int rows = Math.min(MOST_ROWS, frame.sampling().chromaHeight(frame.height()));
        double[] luma = new double[columns * rows];
        float[] top = new float[columns * rows];
        means(frame, columns, rows, luma, top);
        double[] cb = new double[columns * rows];
        double[] cr = new double[columns * rows];
        chromaMeans(frame, columns, rows, cb, cr);
        LumaStandard standard = frame.standard();
        double crToGreen = standard.redWeight() * standard.crDivisor() / standard.greenWeight();
        double cbToGreen = standard.blueWeight() * standard.cbDivisor() / standard.greenWeight();
        float[][] stops = new float[3][columns * rows];
        float[][] weight = new float[3][columns * rows];
        double told = 0;
        double sum = 0;
        for (int i = 0; i < luma.length; i++) {
            sum += luma[i];
            float y = (float) luma[i];
            float undo = scale.undo(y);
            float[] level = {(float) (y + undo * standard.crDivisor() * cr[i]), (float) (y - undo * (crToGreen * cr[i] + cbToGreen * cb[i])),
                (float) (y + undo * standard.cbDivisor() * cb[i])};
            for (int c = 0; c < 3; c++) {
                float light = top[i] > scale.highest ? Float.NaN : scale.stopsOf(level[c]);
                stops[c][i] = light;
                weight[c][i] = light == light ? scale.weightOf(level[c]) : 0;
                told += weight[c][i];
            }
        }
        return new LightGrid(columns, rows, stops, weight, told, sum / luma.length);
    }

    private static void means(PlanarFrame frame, int columns, int rows, double[] mean, float[] top) {
        float[] line = new float[frame.width()];
        for (int r = 0; r < rows; r++) {
            int from = (int) ((long) frame.height() * r / rows);
            int to = (int) ((long) frame.height() * (r + 1) / rows);
            int count = Math.min(ROWS_READ, to - from);
            for (int k = 0; k < count; k++) {
                frame.readLuma(from + (2 * k + 1) * (to - from) / (2 * count), line);
                for (int c = 0; c < columns; c++) {
                    int left = (int) ((long) frame.width() * c / columns);
                    int right = (int) ((long) frame.width() * (c + 1) / columns);
                    float sum = 0;
                    float highest = top[r * columns + c];
                    for (int x = left; x < right; x++) {
                        sum += line[x];
                        highest = Math.max(highest, line[x]);
                    }
                    mean[r * columns + c] += sum / (double) ((right - left) * count);
                    top[r * columns + c] = highest;
                }
            }
        }
    }

    private static void chromaMeans(PlanarFrame frame, int columns, int rows, double[] cb, double[] cr) {
        int width = frame.sampling().chromaWidth(frame.width());
        int height = frame.sampling().chromaHeight(frame.height());
        float[] blue = new float[width];
        float[] red = new float[width];
        for (int r = 0; r < rows; r++) {
            int from = (int) ((long) height * r / rows);
            int to = (int) ((long) height * (r + 1) / rows);
            int count = Math.min(CHROMA_ROWS_READ, to - from);
            for (int k = 0; k < count; k++) {
                int row = from + (2 * k + 1) * (to - from) / (2 * count);
                frame.readCb(row, blue);
                frame.readCr(row, red);
                for (int c = 0; c < columns; c++) {
                    int left = (int) ((long) width * c / columns);
                    int right = (int) ((long) width * (c + 1) / columns);
                    float sumBlue = 0;
                    float sumRed = 0;
                    for (int x = left; x < right; x++) {
                        sumBlue += blue[x];
                        sumRed += red[x];
                    }
                    cb[r * columns + c] += sumBlue / (double) ((right - left) * count);
                    cr[r * columns + c] += sumRed / (double) ((right - left) * count);
                }
            }
        }
    }
}
