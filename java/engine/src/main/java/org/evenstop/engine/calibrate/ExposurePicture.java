// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.calibrate;

import org.evenstop.engine.level.LumaStandard;

/**
 * What is kept of one exposure for calibration: area means of blocks of 4x4 or 8x8 pixels over all its frames. Immutable;
 * made by {@link ExposureMeter}.
 */
public final class ExposurePicture {
    private final String name;
    private final double stops;
    final int width;
    final int height;
    final LumaStandard standard;
    final int block;
    final int columns;
    final int rows;
    /** {@code [3][rows * columns]}: mean luma, R' - Y' and B' - Y', as level fractions. */
    final float[][] mean;
    /** Standard deviation inside a block, texture and noise together, as a level fraction. */
    final float[] spread;
    /** Standard error of the block's mean luma, at most (texture counts as noise); {@code chromaSigma} of the differences. */
    final float[] lumaSigma;
    final float[] chromaSigma;
    final float[] lowest;
    final float[] highest;
    /** False where the block changed from frame to frame by more than its noise. */
    final boolean[] steady;
    final int outlineStep;
    final int outlineWidth;
    final int outlineHeight;
    /** Luma of a picture at most 640 wide, {@code [outlineHeight][outlineWidth]}. */
    final float[] outline;
    final double[] frameMeans;
    /** As {@code mean}, of single pixels of the first frame spread over it: for histograms, which edges inside blocks would bend. */
    final float[][] sample;
    private final double ceiling;

    ExposurePicture(String name, double stops, int width, int height, LumaStandard standard, int block, int columns, int rows, float[][] mean,
                    float[] spread, float[] lumaSigma, float[] chromaSigma, float[] lowest, float[] highest, boolean[] steady, int outlineStep,
                    int outlineWidth, int outlineHeight, float[] outline, long[] histogram, double[] frameMeans,
                    float[][] sample) {
        this.name = name;
        this.stops = stops;
        this.width = width;
        this.height = height;
        this.standard = standard;
        this.block = block;
        this.columns = columns;
        this.rows = rows;
        this.mean = mean;
        this.spread = spread;
        this.lumaSigma = lumaSigma;
        this.chromaSigma = chromaSigma;
        this.lowest = lowest;
        this.highest = highest;
        this.steady = steady;
        this.outlineStep = outlineStep;
        this.outlineWidth = outlineWidth;
        this.outlineHeight = outlineHeight;
        this.outline = outline;
        this.frameMeans = frameMeans;
        this.sample = sample;
        ceiling = pileUp(histogram);
    }

    public String name() {
        return name;
    }

    /** Stated exposure in stops, NaN when it is not known. */
    public double stops() {
        return stops;
    }

    public int frames() {
        return frameMeans.length;
    }

    /** Luma level at which highlights pile up, so that the camera must have clipped there; NaN when they do not. */
    double ceiling() {
        return ceiling;
    }

    double meanLuma() {
        double sum = 0;
        for (double m : frameMeans) {
            sum += m;
        }
        return sum / frameMeans.length;
    }

    /** A pile-up: over 0.05 % of pixels within 0.4 % of level of the top, and more than twice what lies in the 1.2 % below (own choice). */
    private static double pileUp(long[] histogram) {
        long total = 0;
        int top = 0;
        for (int i = 0; i < histogram.length; i++) {
            total += histogram[i];
            if (histogram[i] > 0) {
                top = i;
            }
        }
        int near = (int) (0.004 * ExposureMeter.HISTOGRAM_PER_LEVEL);
        long inTop = 0;
        long below = 0;
        int fullest = top;
        for (int i = Math.max(0, top - 4 * near); i <= top; i++) {
            if (i >= top - near) {
                inTop += histogram[i];
                fullest = histogram[i] > histogram[fullest] ? i : fullest;
            } else {
                below += histogram[i];
            }
        }
        return inTop > 0.0005 * total && inTop > 2 * below
            ? (fullest - ExposureMeter.HISTOGRAM_OFFSET) / (double) ExposureMeter.HISTOGRAM_PER_LEVEL : Double.NaN;
    }
}
