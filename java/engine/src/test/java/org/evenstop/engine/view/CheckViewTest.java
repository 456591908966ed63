// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.view;

import static org.junit.jupiter.api.Assertions.assertArrayEquals;
import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertNotEquals;
import static org.junit.jupiter.api.Assertions.assertThrows;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.util.ArrayList;
import java.util.List;
import java.util.Map;
import java.util.Random;
import org.evenstop.engine.Published;
import org.evenstop.engine.frame.AlphaState;
import org.evenstop.engine.frame.Components;
import org.evenstop.engine.frame.FramePlace;
import org.evenstop.engine.frame.PackedFrame;
import org.evenstop.engine.frame.SampleDepth;
import org.evenstop.engine.kernel.SampleIo;
import org.evenstop.engine.level.LumaStandard;
import org.junit.jupiter.api.Test;

/** Check views: at the right level, of one size at every resolution, the same in tiles. */
class CheckViewTest {
    private static final Waveform.Rendering NOTHING = (picture, place) -> { };

    private static ViewSettings settings(View view) {
        return new ViewSettings(view, 0.7, 0.5, 0, 1.085, LumaStandard.BT709);
    }

    private static PackedFrame frame(int width, int height, SampleDepth depth) {
        return PackedFrame.allocate(width, height, Components.RGBA, depth, AlphaState.UNPREMULTIPLIED);
    }

    private static void set(PackedFrame frame, int x, int y, double r, double g, double b) {
        int channels = frame.components().count();
        SampleIo.store(new float[] {(float) r, (float) g, (float) b, 1}, channels, frame.memory(),
            frame.rowOffset(y) + x * channels * frame.depth().bytes(), frame.depth());
    }

    private static float level(PackedFrame frame, int x, int y, int component) {
        float[] one = new float[1];
        SampleIo.load(frame.memory(), frame.rowOffset(y) + (x * frame.components().count() + component) * frame.depth().bytes(), frame.depth(), one, 1);
        return one[0];
    }

    private static PackedFrame copy(PackedFrame frame) {
        PackedFrame copy = PackedFrame.allocate(frame.width(), frame.height(), frame.components(), frame.depth(), frame.alpha());
        copy.memory().put(0, frame.memory(), 0, frame.memory().capacity());
        return copy;
    }

    private static byte[] bytes(PackedFrame frame) {
        byte[] all = new byte[frame.memory().capacity()];
        frame.memory().get(0, all);
        return all;
    }

    private static PackedFrame noise(int width, int height, SampleDepth depth) {
        PackedFrame frame = frame(width, height, depth);
        Random random = new Random(5);
        for (int y = 0; y < height; y++) {
            for (int x = 0; x < width; x++) {
                set(frame, x, y, 1.15 * random.nextDouble() - 0.03, 1.15 * random.nextDouble() - 0.03, 1.15 * random.nextDouble() - 0.03);
            }
        }
        return frame;
    }

    /** Vertical bars of the published levels, each as wide as the next. */
    private static PackedFrame bars(int width, int height, SampleDepth depth, List<double[]> levels) {
        PackedFrame frame = frame(width, height, depth);
        for (int y = 0; y < height; y++) {
            for (int x = 0; x < width; x++) {
                double[] bar = levels.get(x * levels.size() / width);
                set(frame, x, y, bar[0], bar[1], bar[2]);
            }
        }
        return frame;
    }

    /**
     * In every bar of the published patterns the trace is brightest at the height of its luma code, and the code's level reads
     * off the percent lines. SMPTE RP 219, ITU-R BT.1729, as in published/colour-bars.csv.
     */
    @Test
    void theTraceOfColourBarsStandsAtTheirPublishedLevels() {
        List<double[]> levels = new ArrayList<>();
        List<Integer> codes = new ArrayList<>();
        for (Map<String, String> row : Published.rows("colour-bars.csv")) {
            if (row.get("standard").equals("BT.709") && row.get("pattern").startsWith("RP219") && !row.get("r").isEmpty()) {
                levels.add(new double[] {Published.number(row, "r"), Published.number(row, "g"), Published.number(row, "b")});
                codes.add(Published.code(row, "y10"));
            }
        }
        assertTrue(levels.size() >= 16, "only " + levels.size() + " bars");
        for (int height : new int[] {1080, 2160}) {
            int barWidth = height / 24;
            int width = barWidth * levels.size();
            PackedFrame picture = bars(width, height, SampleDepth.FLOAT, levels);
            FramePlace place = FramePlace.whole(width, height);
            PackedFrame shown = copy(picture);
            CheckView.draw(picture, shown, 0, height, place, settings(View.WAVEFORM), Waveform.of(picture, place, LumaStandard.BT709, NOTHING));
            // The first bars lie under the figures at the left edge.
            for (int bar = 3; bar < levels.size(); bar++) {
                int x = barWidth * bar + barWidth / 2;
                int brightest = 0;
                for (int y = 0; y < height; y++) {
                    if (level(shown, x, y, 1) > level(shown, x, brightest, 1) + 1e-4) {
                        brightest = y;
                    }
                }
                double shownLevel = (place.up(brightest) - CheckView.ZERO_AT) / CheckView.FULL_SPAN;
                assertEquals((codes.get(bar) - 64) / 876.0, shownLevel, 0.0035, "bar " + bar + " at " + height + " rows");
            }
        }
    }

    /** A black picture shows the lines alone: each in the row of its level, as thick as the height asks for. */
    @Test
    void percentLinesStandAtTheirLevels() {
        for (int height : new int[] {270, 540, 1080, 2160}) {
            int width = height;
            PackedFrame picture = frame(width, height, SampleDepth.FLOAT);
            FramePlace place = FramePlace.whole(width, height);
            // Luma beyond what is shown leaves the trace at its lowest step, out of the way of the lines.
            for (int y = 0; y < height; y++) {
                for (int x = 0; x < width; x++) {
                    set(picture, x, y, -0.2, -0.2, -0.2);
                }
            }
            PackedFrame shown = copy(picture);
            CheckView.draw(picture, shown, 0, height, place, settings(View.WAVEFORM), Waveform.of(picture, place, LumaStandard.BT709, NOTHING));
            List<Double> found = new ArrayList<>();
            int from = -1;
            for (int y = (int) (0.06 * height); y <= height; y++) {
                boolean lit = y < height && level(shown, width / 2, y, 0) > 0.35;
                if (lit && from < 0) {
                    from = y;
                } else if (!lit && from >= 0) {
                    assertEquals(Math.max(1, Math.round(height / 1080.0)), y - from, "thickness at " + height + " rows");
                    found.add((0.5 * (from + y) / height - CheckView.ZERO_AT) / CheckView.FULL_SPAN);
                    from = -1;
                }
            }
            assertEquals(CheckView.LINES.length, found.size(), height + " rows");
            for (int i = 0; i < found.size(); i++) {
                assertEquals(CheckView.LINES[i] / 100.0, found.get(i), 0.6 / height / CheckView.FULL_SPAN, height + " rows");
            }
        }
    }

    @Test
    void figuresGrowWithThePictureAndFitBetweenTheLines() {
        int[] heights = {1080, 2160};
        int[] rows = new int[2];
        for (int i = 0; i < 2; i++) {
            int height = heights[i];
            PackedFrame picture = frame(400, height, SampleDepth.BYTE);
            FramePlace place = FramePlace.whole(400, height);
            PackedFrame shown = copy(picture);
            CheckView.draw(picture, shown, 0, height, place, settings(View.WAVEFORM), Waveform.of(picture, place, LumaStandard.BT709, NOTHING));
            int middle = (int) (CheckView.heightOf(0.5) * height);
            int lowest = Integer.MAX_VALUE;
            int highest = 0;
            for (int y = middle - height / 24; y < middle + height / 24; y++) {
                for (int x = 0; x < 40 * height / 1080; x++) {
                    if (level(shown, x, y, 0) == 1) {
                        lowest = Math.min(lowest, y);
                        highest = Math.max(highest, y);
                    }
                }
            }
            rows[i] = highest - lowest + 1;
            assertEquals(middle, 0.5 * (lowest + highest), height / 360.0, "figures stand in the middle of their line");
        }
        assertEquals(21, rows[0], "seven dots of three rows at HD");
        assertEquals(42, rows[1], "twice as large at UHD");
    }

    @Test
    void tilesOfEveryViewAreTheWholeInEveryDepth() {
        int width = 150;
        int height = 90;
        FramePlace place = FramePlace.whole(width, height);
        for (SampleDepth depth : SampleDepth.values()) {
            PackedFrame source = noise(width, height, depth);
            for (View view : View.values()) {
                Waveform waveform = Waveform.of(source, place, LumaStandard.BT709, NOTHING);
                PackedFrame whole = copy(source);
                CheckView.draw(source, whole, 0, height, place, settings(view), waveform);
                PackedFrame tiled = copy(source);
                for (int y = 77; y >= 0; y -= 11) {
                    int h = Math.min(11 + (y == 77 ? 2 : 0), height - y);
                    for (int x = 0; x < width; x += 40) {
                        int w = Math.min(40, width - x);
                        CheckView.draw(part(source, x, y, w, h), part(tiled, x, y, w, h), 0, h, place.shifted(x, y), settings(view),
                            Waveform.of(source, place, LumaStandard.BT709, NOTHING));
                    }
                }
                assertArrayEquals(bytes(whole), bytes(tiled), view + " " + depth);
                if (view == View.PICTURE) {
                    assertArrayEquals(bytes(source), bytes(whole), "the picture has nothing drawn on it");
                } else {
                    assertNotEquals(java.util.Arrays.hashCode(bytes(source)), java.util.Arrays.hashCode(bytes(whole)), view + " draws something");
                }
            }
        }
    }

    private static PackedFrame part(PackedFrame frame, int x, int y, int width, int height) {
        int pixel = frame.components().count() * frame.depth().bytes();
        return new PackedFrame(frame.memory(), frame.rowOffset(y) + x * pixel, frame.strideBytes(), width, height, frame.components(),
            frame.depth(), frame.alpha());
    }

    @Test
    void zebraMarksWhatReachesItsLevelAndNothingElse() {
        PackedFrame source = frame(300, 100, SampleDepth.FLOAT);
        for (int y = 0; y < 100; y++) {
            for (int x = 0; x < 300; x++) {
                double level = x < 100 ? 0.699 : x < 200 ? 0.7001 : 1.2;
                set(source, x, y, level, level, level);
            }
        }
        PackedFrame shown = copy(source);
        CheckView.draw(source, shown, 0, 100, FramePlace.whole(300, 100), settings(View.ZEBRA), null);
        int[] marked = new int[3];
        for (int y = 0; y < 100; y++) {
            for (int x = 0; x < 300; x++) {
                if (level(shown, x, y, 0) == 0) {
                    marked[x / 100]++;
                } else {
                    assertEquals(level(source, x, y, 0), level(shown, x, y, 0), "what is not marked stays");
                }
            }
        }
        assertEquals(0, marked[0]);
        assertEquals(5000, marked[1], 600, "half of the area is stripes");
        assertEquals(5000, marked[2], 600);
    }

    @Test
    void clippedAreasGetTwoFlatMarks() {
        PackedFrame source = frame(4, 1, SampleDepth.FLOAT);
        set(source, 0, 0, 0.5, 0.4, 0.3);
        set(source, 1, 0, 0.5, 1.09, 0.3);
        set(source, 2, 0, -0.01, -0.02, 0);
        set(source, 3, 0, -0.01, 0.2, 0);
        PackedFrame shown = copy(source);
        CheckView.draw(source, shown, 0, 1, FramePlace.whole(4, 1), settings(View.CLIPPED), null);
        assertEquals(level(shown, 0, 0, 0), level(shown, 0, 0, 2), "what is not clipped is grey");
        assertEquals(1f, level(shown, 1, 0, 0));
        assertEquals(1f, level(shown, 2, 0, 2));
        assertEquals(level(shown, 3, 0, 0), level(shown, 3, 0, 1));
        PackedFrame bytes = frame(2, 1, SampleDepth.BYTE);
        set(bytes, 0, 0, 1, 0.5, 0.5);
        set(bytes, 1, 0, 0.99, 0.5, 0.5);
        PackedFrame marked = copy(bytes);
        CheckView.draw(bytes, marked, 0, 1, FramePlace.whole(2, 1), settings(View.CLIPPED), null);
        assertEquals(0f, level(marked, 0, 0, 2), "the highest code is a ceiling");
        assertEquals(level(marked, 1, 0, 0), level(marked, 1, 0, 2));
    }

    @Test
    void splitShowsTheSourceOnTheLeftOfALine() {
        int width = 640;
        int height = 360;
        PackedFrame source = noise(width, height, SampleDepth.SHORT);
        PackedFrame corrected = frame(width, height, SampleDepth.SHORT);
        PackedFrame shown = copy(corrected);
        CheckView.draw(source, shown, 0, height, FramePlace.whole(width, height), settings(View.SPLIT), null);
        for (int y = height / 2; y < height; y++) {
            for (int x = 0; x < width; x++) {
                if (Math.abs(x - 320) > 3) {
                    assertEquals(level(x < 320 ? source : corrected, x, y, 1), level(shown, x, y, 1), x + "," + y);
                }
            }
            assertEquals(1f, level(shown, 320, y, 1), "the line");
        }
        for (double edge : new double[] {0, 1}) {
            PackedFrame all = copy(corrected);
            CheckView.draw(source, all, 0, height, FramePlace.whole(width, height),
                new ViewSettings(View.SPLIT, 0.7, edge, 0, 1.085, LumaStandard.BT709), null);
            assertEquals(level(edge == 1 ? source : corrected, 300, 350, 1), level(all, 300, 350, 1));
        }
    }

    /** A half-size proxy shows its lines and trace at the same heights as the full picture. */
    @Test
    void aProxyShowsTheSameView() {
        List<double[]> levels = List.of(new double[] {0, 0, 0}, new double[] {0.42, 0.42, 0.42}, new double[] {1, 1, 1});
        PackedFrame full = bars(600, 400, SampleDepth.FLOAT, levels);
        PackedFrame half = bars(300, 200, SampleDepth.FLOAT, levels);
        FramePlace place = FramePlace.whole(600, 400);
        FramePlace small = new FramePlace(0, 0, 600, 400, 0.5, 0.5, 1, 0, 0);
        PackedFrame shownFull = copy(full);
        PackedFrame shownHalf = copy(half);
        CheckView.draw(full, shownFull, 0, 400, place, settings(View.WAVEFORM), Waveform.of(full, place, LumaStandard.BT709, NOTHING));
        CheckView.draw(half, shownHalf, 0, 200, small, settings(View.WAVEFORM), Waveform.of(half, small, LumaStandard.BT709, NOTHING));
        assertEquals(brightest(shownFull, 300) / 400.0, brightest(shownHalf, 150) / 200.0, 0.006);
    }

    private static int brightest(PackedFrame frame, int x) {
        int brightest = 0;
        for (int y = 0; y < frame.height(); y++) {
            brightest = level(frame, x, y, 0) > level(frame, x, brightest, 0) ? y : brightest;
        }
        return brightest;
    }

    @Test
    void refusesWhatItCannotDraw() {
        PackedFrame a = frame(4, 4, SampleDepth.BYTE);
        assertThrows(IllegalArgumentException.class, () -> CheckView.draw(a, a, 0, 4, FramePlace.whole(4, 4), settings(View.WAVEFORM), null));
        assertThrows(IllegalArgumentException.class, () -> new ViewSettings(View.ZEBRA, 1.5, 0.5, 0, 1, LumaStandard.BT709));
        assertThrows(IllegalArgumentException.class, () -> new ViewSettings(View.SPLIT, 0.7, -0.1, 0, 1, LumaStandard.BT709));
        assertTrue(assertThrows(org.evenstop.engine.InputException.class, () -> View.ofWord("scope")).getMessage().contains("waveform"));
        assertEquals(View.SPLIT, View.ofWord("split"));
    }
}
