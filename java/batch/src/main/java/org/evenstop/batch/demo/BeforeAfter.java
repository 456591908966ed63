// SPDX-License-Identifier: Apache-2.0
package org.evenstop.batch.demo;

import java.util.List;
import org.evenstop.engine.frame.PlanarFrame;

/** The picture that shows what was done: in each column a clip as it was shot above the same frame after, five columns to a pair of rows. */
final class BeforeAfter {
    private static final int COLUMNS = 5;
    private static final int CELL_WIDTH = 384;
    private static final int CELL_HEIGHT = 216;
    private static final int GAP = 6;
    private static final int LABEL = 26;
    private static final int BACKGROUND = 24;
    private static final int INK = 205;

    private final Picture picture;
    private int count;

    BeforeAfter(int clips) {
        int columns = Math.min(COLUMNS, clips);
        int pairs = (clips + COLUMNS - 1) / COLUMNS;
        picture = new Picture(GAP + columns * (CELL_WIDTH + GAP), GAP + pairs * pairHeight(), BACKGROUND);
    }

    private static int pairHeight() {
        return 2 * (LABEL + CELL_HEIGHT) + 3 * GAP;
    }

    void add(String shotHow, PlanarFrame before, String done, PlanarFrame after) {
        int left = GAP + count % COLUMNS * (CELL_WIDTH + GAP);
        int top = GAP + count / COLUMNS * pairHeight();
        label(shotHow, left, top);
        picture.put(before, left, top + LABEL, CELL_WIDTH, CELL_HEIGHT);
        label(done, left, top + LABEL + CELL_HEIGHT);
        picture.put(after, left, top + 2 * LABEL + CELL_HEIGHT, CELL_WIDTH, CELL_HEIGHT);
        count++;
    }

    private void label(String text, int left, int top) {
        int size = Picture.widthOf(text, 2) <= CELL_WIDTH ? 2 : 1;
        picture.write(text, left, top + (LABEL - 7 * size) / 2, size, INK);
    }

    /** Joins labels and pictures into a PNG file. */
    byte[] png() {
        return picture.png();
    }

    static BeforeAfter of(List<Shot> shots) {
        return new BeforeAfter(shots.size());
    }
}
