// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.view;

import org.evenstop.engine.frame.AlphaState;
import org.evenstop.engine.frame.FramePlace;
import org.evenstop.engine.frame.PackedFrame;
import org.evenstop.engine.frame.SampleDepth;
import org.evenstop.engine.level.LumaStandard;

/**
 * How luma is spread over the levels in each part of the width of one picture, from a fixed grid of its pixels. It is made once
 * from the whole picture, so every tile drawn from it agrees. Immutable.
 */
public final class Waveform {
    /** Levels shown, as fractions. */
    static final double LOWEST = -0.07;
    static final double HIGHEST = 1.10;
    private static final int STEPS_PER_UNIT = 800;
    private static final int STEPS = (int) Math.round((HIGHEST - LOWEST) * STEPS_PER_UNIT) + 1;
    /** Largest grid of pixels looked at. */
    private static final int MOST_COLUMNS = 640;
    private static final int MOST_ROWS = 360;
    /** Pixels of a full grid's column that make a step of level this bright: 1 - 1/e. */
    private static final double BRIGHT_COUNT = 1.5;

    /** Corrects a small picture in place. */
    @FunctionalInterface
    public interface Rendering {
        /**
         * @param picture float pixels, the whole picture thinned out
         * @param place   where they lie
         */
        void apply(PackedFrame picture, FramePlace place);
    }

    private final int columns;
    /** {@code [columns][STEPS]} brightness 0..1. */
    private final float[] brightness;

    private Waveform(int columns, float[] brightness) {
        this.columns = columns;
        this.brightness = brightness;
    }

    /**
     * The waveform of what a rendering makes of a picture.
     *
     * @param source    all of the picture, RGB or RGBA
     * @param place     where it lies
     * @param rendering what is done to it before it is looked at
     */
    public static Waveform of(PackedFrame source, FramePlace place, LumaStandard standard, Rendering rendering) {
        int across = Math.min(MOST_COLUMNS, source.width());
        int rows = Math.min(MOST_ROWS, source.height());
        PackedFrame small = PackedFrame.allocate(across, rows, source.components(), SampleDepth.FLOAT, AlphaState.UNPREMULTIPLIED);
        Pixels from = new Pixels(source);
        int channels = source.components().count();
        for (int y = 0; y < rows; y++) {
            int row = (int) ((y + 0.5) * source.height() / rows);
            for (int x = 0; x < across; x++) {
                from.read((int) ((x + 0.5) * source.width() / across), row);
                for (int c = 0; c < channels; c++) {
                    small.memory().putFloat(small.rowOffset(y) + 4 * (x * channels + c), from.level[c]);
                }
            }
        }
        double left = (place.pixelX()) * place.pixelAspect() / place.scaleX();
        double bottom = place.pixelY() / place.scaleY();
        double scaleX = place.scaleX() * across / source.width();
        double scaleY = place.scaleY() * rows / source.height();
        // The thinned pixels lie on a grid of their own that begins at the frame's corner.
        FramePlace thinned = new FramePlace(place.x1() - left, place.y1() - bottom, place.x2() - left, place.y2() - bottom, scaleX, scaleY,
            place.pixelAspect(), 0, 0);
        rendering.apply(small, thinned);
        return counted(small, thinned, standard);
    }

    private static Waveform counted(PackedFrame small, FramePlace place, LumaStandard standard) {
        int columns = Math.min(MOST_COLUMNS, small.width());
        float[] counts = new float[columns * STEPS];
        Pixels pixels = new Pixels(small);
        for (int x = 0; x < small.width(); x++) {
            int column = (int) Math.floor(place.shareAcross(x) * columns);
            if (column < 0 || column >= columns) {
                continue;
            }
            for (int y = 0; y < small.height(); y++) {
                pixels.read(x, y);
                double luma = standard.luma(pixels.level[0], pixels.level[1], pixels.level[2]);
                double held = Math.min(Math.max(luma, LOWEST), HIGHEST);
                count(counts, column * STEPS, (held - LOWEST) * STEPS_PER_UNIT);
            }
        }
        double bright = BRIGHT_COUNT * small.height() / MOST_ROWS;
        float[] brightness = new float[counts.length];
        for (int i = 0; i < counts.length; i++) {
            brightness[i] = counts[i] == 0 ? 0 : (float) (1 - Math.exp(-counts[i] / bright));
        }
        return new Waveform(columns, brightness);
    }

    /**
     * A pixel counts for three steps, by the weights of a quadratic B-spline: codes of the source are not as far apart as steps, and
     * counted for the nearest alone they would show as stripes.
     */
    private static void count(float[] counts, int column, double step) {
        int middle = (int) Math.round(step);
        double off = step - middle;
        if (middle > 0) {
            counts[column + middle - 1] += (float) (0.5 * (0.5 - off) * (0.5 - off));
        }
        counts[column + middle] += (float) (0.75 - off * off);
        if (middle < STEPS - 1) {
            counts[column + middle + 1] += (float) (0.5 * (0.5 + off) * (0.5 + off));
        }
    }

    /**
     * Brightness of the trace, 0..1, smooth between its steps: the highest over a range of levels, so that a row of few pixels
     * misses nothing.
     *
     * @param share of the picture's width, 0..1
     * @param from  lowest level of the range, a fraction; beyond those shown there is no trace
     * @param to    highest level of the range
     */
    float brightest(double share, double from, double to) {
        double column = Math.min(Math.max(share * columns - 0.5, 0), columns - 1);
        int c = (int) Math.min(column, Math.max(columns - 2, 0));
        float between = (float) (column - c);
        double first = (from - LOWEST) * STEPS_PER_UNIT;
        double last = (to - LOWEST) * STEPS_PER_UNIT;
        float highest = Math.max(at(c, between, first), at(c, between, last));
        for (int step = (int) Math.ceil(first); step <= last; step++) {
            highest = Math.max(highest, at(c, between, step));
        }
        return highest;
    }

    private float at(int c, float betweenColumns, double step) {
        int s = (int) Math.floor(step);
        float betweenSteps = (float) (step - s);
        float left = mixed(c, s, betweenSteps);
        return columns == 1 ? left : left + betweenColumns * (mixed(c + 1, s, betweenSteps) - left);
    }

    private float mixed(int column, int step, float between) {
        float below = cell(column, step);
        return below + between * (cell(column, step + 1) - below);
    }

    private float cell(int column, int step) {
        return step < 0 || step >= STEPS ? 0 : brightness[column * STEPS + step];
    }
}
