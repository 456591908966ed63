// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.calibrate;

import java.util.Arrays;
import org.evenstop.engine.InputException;
import org.evenstop.engine.frame.ChromaSampling;
import org.evenstop.engine.frame.PlanarFrame;
import org.evenstop.engine.level.LumaStandard;

/**
 * Gathers one exposure from its frames, so that a clip never has to be held in memory: area means of small blocks over space and
 * time, their spread, a small picture for the check that nothing moved, and a histogram of luma for the ceiling.
 * Not safe for use by several threads at once; frames are read during {@link #add} only.
 */
public final class ExposureMeter {
    /** Codes of the luma histogram per unit of level, as at 12 bit. */
    static final int HISTOGRAM_PER_LEVEL = 3504;
    static final int HISTOGRAM_OFFSET = 256;
    static final int HISTOGRAM_SIZE = 4352;
    private static final int SAMPLE = 60_000;
    private static final int WIDEST_OUTLINE = 640;

    private final String name;
    private final double stops;

    private int width;
    private int height;
    private LumaStandard standard;
    private ChromaSampling sampling;
    private double lumaStep;
    private double chromaStep;
    private int block;
    private int columns;
    private int rows;
    private int outlineStep;
    private int outlineWidth;
    private int outlineHeight;
    private int frames;
    private double[] luma;
    private double[] red;
    private double[] blue;
    private double[] lumaSquares;
    private double[] chromaSquares;
    private double[] frameSquares;
    private float[] lowest;
    private float[] highest;
    private double[] outline;
    private long[] histogram;
    private double[] frameMeans;
    private float[][] sample;

    /**
     * @param name  for messages
     * @param stops stated exposure, NaN when it is not known
     */
    public ExposureMeter(String name, double stops) {
        this.name = name;
        this.stops = stops;
    }

    /** @throws InputException when the frame's size or matrix differs from the first one's, or it is too small */
    public void add(PlanarFrame frame) {
        if (frames == 0) {
            begin(frame);
        } else if (frame.width() != width || frame.height() != height || frame.standard() != standard) {
            throw new InputException(name + ": frame " + (frames + 1) + " is " + frame.width() + "x" + frame.height() + " "
                + frame.standard().label() + ", the first is " + width + "x" + height + " " + standard.label()
                + "; give frames of one size and matrix");
        }
        if (frames == 0) {
            sample = sampled(frame);
        }
        frameMeans = Arrays.copyOf(frameMeans, frames + 1);
        frameMeans[frames++] = addLuma(frame);
        addChroma(frame);
    }

    private void begin(PlanarFrame frame) {
        if (frame.width() < 32 || frame.height() < 32) {
            throw new InputException(name + ": " + frame.width() + "x" + frame.height() + " is too small to calibrate from; give at least 32x32");
        }
        width = frame.width();
        height = frame.height();
        standard = frame.standard();
        sampling = frame.sampling();
        lumaStep = 1.0 / frame.lumaSpan();
        chromaStep = standard.cbDivisor() / frame.chromaSpan();
        block = (long) frame.width() * frame.height() < 200_000 ? 4 : 8;
        columns = frame.width() / block;
        rows = frame.height() / block;
        int n = columns * rows;
        luma = new double[n];
        red = new double[n];
        blue = new double[n];
        lumaSquares = new double[n];
        chromaSquares = new double[n];
        frameSquares = new double[n];
        lowest = new float[n];
        highest = new float[n];
        Arrays.fill(lowest, Float.POSITIVE_INFINITY);
        Arrays.fill(highest, Float.NEGATIVE_INFINITY);
        outlineStep = Math.max(1, (frame.width() + WIDEST_OUTLINE - 1) / WIDEST_OUTLINE);
        outlineWidth = frame.width() / outlineStep;
        outlineHeight = frame.height() / outlineStep;
        outline = new double[outlineWidth * outlineHeight];
        histogram = new long[HISTOGRAM_SIZE];
        frameMeans = new double[0];
    }

    /** Every n-th site of chroma with the mean of its luma, so many that histograms are smooth. */
    private static float[][] sampled(PlanarFrame frame) {
        int shiftX = frame.sampling().shiftX();
        int shiftY = frame.sampling().shiftY();
        int across = frame.width() >> shiftX;
        int down = frame.height() >> shiftY;
        int step = Math.max(1, (int) Math.ceil(Math.sqrt((double) across * down / SAMPLE)));
        int n = (across / step) * (down / step);
        float[][] sample = new float[3][n];
        double achromatic = frame.depth().achromaticCode();
        int at = 0;
        for (int y = 0; y < down / step; y++) {
            for (int x = 0; x < across / step; x++) {
                int column = x * step;
                int row = y * step;
                int codes = 0;
                for (int i = 0; i < 1 << shiftX + shiftY; i++) {
                    codes += frame.lumaCode((column << shiftX) + (i & shiftX), (row << shiftY) + (i >> shiftX));
                }
                sample[0][at] = (float) ((codes / (double) (1 << shiftX + shiftY) - frame.blackCode()) / frame.lumaSpan());
                sample[1][at] = (float) ((frame.crCode(column, row) - achromatic) * frame.standard().crDivisor() / frame.chromaSpan());
                sample[2][at] = (float) ((frame.cbCode(column, row) - achromatic) * frame.standard().cbDivisor() / frame.chromaSpan());
                at++;
            }
        }
        return sample;
    }

    private double addLuma(PlanarFrame frame) {
        double perCode = 1.0 / frame.lumaSpan();
        int black = frame.blackCode();
        double total = 0;
        double[] blockSum = new double[columns];
        for (int y = 0; y < frame.height(); y++) {
            int blockRow = y / block;
            int outlineRow = y / outlineStep;
            for (int x = 0; x < frame.width(); x++) {
                double level = (frame.lumaCode(x, y) - black) * perCode;
                total += level;
                int bin = (int) Math.round(level * HISTOGRAM_PER_LEVEL) + HISTOGRAM_OFFSET;
                histogram[Math.min(Math.max(bin, 0), HISTOGRAM_SIZE - 1)]++;
                int column = x / block;
                if (blockRow < rows && column < columns) {
                    int at = blockRow * columns + column;
                    luma[at] += level;
                    lumaSquares[at] += level * level;
                    lowest[at] = Math.min(lowest[at], (float) level);
                    highest[at] = Math.max(highest[at], (float) level);
                    blockSum[column] += level;
                }
                int outlineColumn = x / outlineStep;
                if (outlineRow < outlineHeight && outlineColumn < outlineWidth) {
                    outline[outlineRow * outlineWidth + outlineColumn] += level;
                }
            }
            if (blockRow < rows && y % block == block - 1) {
                for (int column = 0; column < columns; column++) {
                    double mean = blockSum[column] / (block * block);
                    frameSquares[blockRow * columns + column] += mean * mean;
                    blockSum[column] = 0;
                }
            }
        }
        return total / ((double) frame.width() * frame.height());
    }

    private void addChroma(PlanarFrame frame) {
        double achromatic = frame.depth().achromaticCode();
        double perRed = frame.standard().crDivisor() / frame.chromaSpan();
        double perBlue = frame.standard().cbDivisor() / frame.chromaSpan();
        int blockWidth = block >> frame.sampling().shiftX();
        int blockHeight = block >> frame.sampling().shiftY();
        for (int y = 0; y < rows * blockHeight; y++) {
            for (int x = 0; x < columns * blockWidth; x++) {
                int at = y / blockHeight * columns + x / blockWidth;
                double r = (frame.crCode(x, y) - achromatic) * perRed;
                double b = (frame.cbCode(x, y) - achromatic) * perBlue;
                red[at] += r;
                blue[at] += b;
                chromaSquares[at] += r * r + b * b;
            }
        }
    }

    /** @throws InputException when no frame was added */
    public ExposurePicture finish() {
        if (frames == 0) {
            throw new InputException(name + ": there is no frame in it; give a still or a clip with at least one picture");
        }
        int n = columns * rows;
        double lumaCount = (double) frames * block * block;
        double chromaCount = (double) frames * (block >> sampling.shiftX()) * (block >> sampling.shiftY());
        float[][] mean = new float[3][n];
        float[] spread = new float[n];
        float[] lumaSigma = new float[n];
        float[] chromaSigma = new float[n];
        boolean[] steady = new boolean[n];
        for (int i = 0; i < n; i++) {
            double y = luma[i] / lumaCount;
            double r = red[i] / chromaCount;
            double b = blue[i] / chromaCount;
            mean[0][i] = (float) y;
            mean[1][i] = (float) r;
            mean[2][i] = (float) b;
            double lumaVariance = Math.max(0, lumaSquares[i] / lumaCount - y * y);
            double chromaVariance = Math.max(0, chromaSquares[i] / chromaCount - r * r - b * b);
            spread[i] = (float) Math.sqrt(lumaVariance + 0.5 * chromaVariance);
            // Rounding to codes spreads evenly over one of them: variance 1/12 code.
            lumaSigma[i] = (float) Math.sqrt((lumaVariance + lumaStep * lumaStep / 12) / lumaCount);
            chromaSigma[i] = (float) Math.sqrt((0.5 * chromaVariance + chromaStep * chromaStep / 12) / chromaCount);
            double overTime = Math.max(0, frameSquares[i] / frames - y * y);
            steady[i] = overTime <= 16 * lumaVariance / (block * block) + 0.004 * 0.004;
        }
        float[] small = new float[outline.length];
        double outlineCount = (double) frames * outlineStep * outlineStep;
        for (int i = 0; i < small.length; i++) {
            small[i] = (float) (outline[i] / outlineCount);
        }
        return new ExposurePicture(name, stops, width, height, standard, block, columns, rows, mean, spread, lumaSigma,
            chromaSigma, lowest.clone(), highest.clone(), steady, outlineStep, outlineWidth, outlineHeight, small, histogram.clone(), frameMeans.clone(), sample);
    }
}
