// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.view;

import org.evenstop.engine.frame.Components;
import org.evenstop.engine.frame.FramePlace;
import org.evenstop.engine.frame.PackedFrame;
import org.evenstop.engine.frame.SampleDepth;
import org.evenstop.engine.kernel.ScalarKernel;

/**
 * Draws a check view over rows that are already corrected. What is drawn depends on a pixel's place in the picture, on its own
 * levels, and on a {@link Waveform} of the whole picture: tiles, bands and threads agree bit for bit. Lines and figures grow
 * with the picture's height. Marks are opaque; where nothing is drawn the pixel keeps its bits.
 */
public final class CheckView {
    /** Height at which level 0 is drawn, in picture heights, and that of a level step from 0 to 1. */
    static final double ZERO_AT = 0.065;
    static final double FULL_SPAN = 0.83;
    /** Levels with a line and a figure, in percent. */
    static final int[] LINES = {0, 10, 20, 30, 40, 50, 60, 70, 80, 90, 100, 109};

    private static final float DIM = 0.3f;
    private static final float LINE = 0.4f;
    private static final float STRONG_LINE = 0.62f;
    private static final float TRACE = 0.95f;
    /** Width of a dark and a light stripe together, along a row, in picture heights. */
    private static final double STRIPES = 1 / 45.0;
    /** Clipped high, clipped low. */
    private static final float[] HIGH_MARK = {1f, 0.35f, 0f};
    private static final float[] LOW_MARK = {0.1f, 0.45f, 1f};
    private static final String BEFORE = "BEFORE";
    private static final String AFTER = "AFTER";

    private final PackedFrame source;
    private final Pixels before;
    private final Pixels after;
    private final PackedFrame frame;
    private final FramePlace place;
    private final ViewSettings settings;
    private final Waveform waveform;
    /** Rows of pixels in a dot of a letter and in a line; columns of a dot. */
    private final int dot;
    private final int dotColumns;
    private final int line;
    private final double pictureRows;

    private CheckView(PackedFrame source, PackedFrame frame, FramePlace place, ViewSettings settings, Waveform waveform) {
        this.source = source;
        this.frame = frame;
        this.place = place;
        this.settings = settings;
        this.waveform = waveform;
        before = new Pixels(source);
        after = new Pixels(frame);
        pictureRows = place.heightInPixels();
        dot = (int) Math.max(1, Math.round(pictureRows / 360));
        dotColumns = (int) Math.max(1, Math.round(dot * place.scaleX() / place.scaleY() / place.pixelAspect()));
        line = (int) Math.max(1, Math.round(pictureRows / 1080));
    }

    /**
     * Draws over rows of a frame.
     *
     * @param source   the same rows before the correction; other memory than {@code frame} for the views that look at it
     * @param frame    the corrected rows, RGBA or RGB; with Alpha alone nothing is drawn
     * @param rowFrom  first row, 0 or more
     * @param rowTo    row after the last, at most the height
     * @param place    where the frame lies in the picture
     * @param waveform of the whole corrected picture; needed by {@link View#WAVEFORM}, else null
     * @throws IllegalArgumentException when frames differ in shape, rows lie outside, or the waveform is missing
     */
    public static void draw(PackedFrame source, PackedFrame frame, int rowFrom, int rowTo, FramePlace place, ViewSettings settings,
                            Waveform waveform) {
        ScalarKernel.requireBand(source, frame, rowFrom, rowTo);
        if (settings.view() == View.WAVEFORM && waveform == null) {
            throw new IllegalArgumentException("a waveform view needs the waveform of the whole picture");
        }
        if (frame.components() == Components.ALPHA || settings.view() == View.PICTURE) {
            return;
        }
        CheckView view = new CheckView(source, frame, place, settings, waveform);
        for (int row = rowFrom; row < rowTo; row++) {
            switch (settings.view()) {
                case WAVEFORM -> view.waveformRow(row);
                case ZEBRA -> view.zebraRow(row);
                case CLIPPED -> view.clippedRow(row);
                case SPLIT -> view.splitRow(row);
                case PICTURE -> { }
            }
        }
    }

    /** Height of a level, in picture heights from the bottom. */
    static double heightOf(double level) {
        return ZERO_AT + FULL_SPAN * level;
    }

    // ---- waveform

    private void waveformRow(int row) {
        double up = place.up(row);
        double level = (up - ZERO_AT) / FULL_SPAN;
        double half = 0.5 / pictureRows / FULL_SPAN;
        float grid = gridAt(row);
        int pictureRow = place.pictureRow(row);
        for (int x = 0; x < frame.width(); x++) {
            after.read(x, row);
            float r = DIM * held(after.level[0]);
            float g = DIM * held(after.level[1]);
            float b = DIM * held(after.level[2]);
            if (grid > 0) {
                r = Math.max(r, grid);
                g = Math.max(g, grid);
                b = Math.max(b, grid);
            }
            double share = place.shareAcross(x);
            float trace = share < 0 || share > 1 ? 0 : waveform.brightest(share, level - half, level + half);
            r += trace * (TRACE - r);
            g += trace * (TRACE - g);
            b += trace * (TRACE - b);
            int ink = figureAt(place.pictureColumn(x), pictureRow);
            if (ink >= 0) {
                r = g = b = ink;
            }
            after.write(x, row, r, g, b);
        }
    }

    private static float held(float level) {
        return Math.min(Math.max(level, 0f), 1.1f);
    }

    /** Brightness of the line that covers this row; 0 where none does. */
    private float gridAt(int row) {
        for (int percent : LINES) {
            int lowest = rowOfLine(percent);
            int pictureRow = place.pictureRow(row);
            if (pictureRow >= lowest && pictureRow < lowest + line) {
                return percent == 0 || percent == 100 ? STRONG_LINE : LINE;
            }
        }
        return 0;
    }

    /** Lowest row of a line, counted from the picture's bottom: its middle lies on the level. */
    private int rowOfLine(int percent) {
        return (int) Math.round(pictureRows * heightOf(percent / 100.0) - 0.5 * line);
    }

    /** 1 on a figure, 0 on the dark ground round it, -1 elsewhere. Figures stand at the left edge, each in the middle of its line. */
    private int figureAt(int column, int row) {
        int across = Math.floorDiv(column, dotColumns) - 2;
        if (across < -1 || across > Lettering.width("100%")) {
            return -1;
        }
        for (int percent : LINES) {
            int middle = rowOfLine(percent) + line / 2;
            int up = Math.floorDiv(row - middle + Lettering.HEIGHT * dot / 2, dot);
            if (up >= -1 && up <= Lettering.HEIGHT) {
                return letterAt(percent + "%", across, up);
            }
        }
        return -1;
    }

    private static int letterAt(String text, int across, int up) {
        if (across < -1 || across > Lettering.width(text) || up < -1 || up > Lettering.HEIGHT) {
            return -1;
        }
        return Lettering.isSet(text, across, up) ? 1 : 0;
    }

    // ---- zebra

    private void zebraRow(int row) {
        double up = place.up(row);
        // Dark stripes where the level is a bright one, light ones where it is dark.
        float ink = settings.zebraLevel() > 0.4 ? 0f : 1f;
        for (int x = 0; x < frame.width(); x++) {
            double phase = (place.across(x) + up) / STRIPES;
            if (phase - Math.floor(phase) >= 0.5) {
                continue;
            }
            after.read(x, row);
            if (settings.standard().luma(after.level[0], after.level[1], after.level[2]) >= settings.zebraLevel()) {
                after.write(x, row, ink, ink, ink);
            }
        }
    }

    // ---- clipped

    private void clippedRow(int row) {
        double top = source.depth() == SampleDepth.BYTE || source.depth() == SampleDepth.SHORT ? Math.min(settings.ceiling(), 1) : settings.ceiling();
        for (int x = 0; x < frame.width(); x++) {
            before.read(x, row);
            float highest = Math.max(before.level[0], Math.max(before.level[1], before.level[2]));
            if (highest >= top) {
                after.write(x, row, HIGH_MARK[0], HIGH_MARK[1], HIGH_MARK[2]);
            } else if (highest <= settings.floor()) {
                after.write(x, row, LOW_MARK[0], LOW_MARK[1], LOW_MARK[2]);
            } else {
                after.read(x, row);
                float grey = (float) (0.6 * settings.standard().luma(held(after.level[0]), held(after.level[1]), held(after.level[2])));
                after.write(x, row, grey, grey, grey);
            }
        }
    }

    // ---- split

    private void splitRow(int row) {
        int middle = (int) Math.round(settings.split() * place.widthInPixels());
        int half = dotColumns;
        int up = Math.floorDiv(place.pictureRow(row), dot) - 4;
        int pixelBytes = frame.components().count() * frame.depth().bytes();
        for (int x = 0; x < frame.width(); x++) {
            int column = place.pictureColumn(x);
            int fromLine = column - middle;
            int ink = Math.max(letterAt(BEFORE, Math.floorDiv(fromLine, dotColumns) + Lettering.width(BEFORE) + 4, up),
                letterAt(AFTER, Math.floorDiv(fromLine, dotColumns) - 4, up));
            if (fromLine >= -half && fromLine < half) {
                // White between two dark edges: seen on any picture.
                float level = fromLine >= -(half + 1) / 2 && fromLine < (half + 1) / 2 ? 1 : 0;
                after.write(x, row, level, level, level);
            } else if (ink >= 0) {
                after.write(x, row, ink, ink, ink);
            } else if (fromLine < 0) {
                for (int i = 0; i < pixelBytes; i++) {
                    frame.memory().put(frame.rowOffset(row) + x * pixelBytes + i, source.memory().get(source.rowOffset(row) + x * pixelBytes + i));
                }
            }
        }
    }
}
