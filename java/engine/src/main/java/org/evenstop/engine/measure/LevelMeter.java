// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.measure;

import java.util.ArrayList;
import java.util.List;
import org.evenstop.engine.InputException;
import org.evenstop.engine.frame.PlanarFrame;

/**
 * Gathers the luma levels of a clip and nothing else: those that a {@link ClipMeter} finds in the same frames, in a fraction of its time. Not
 * safe for use by several threads at once; frames are read during the call only.
 */
public final class LevelMeter {
    private final List<FrameTally> tallies = new ArrayList<>();

    /** @param seconds time of the frame in the clip */
    public void add(PlanarFrame frame, double seconds) {
        PixelRows rows = PixelRows.ofLuma(frame);
        tallies.add(new FrameTally(rows, FrameTally.Scratch.of(rows.width), seconds, 0, tallies.size()));
    }

    public int frames() {
        return tallies.size();
    }

    /**
     * @param clip name for messages
     * @throws InputException when there is nothing to measure
     */
    public LevelSummary finish(String clip) {
        LevelHistogram luma = new LevelHistogram();
        float min = Float.POSITIVE_INFINITY;
        float max = Float.NEGATIVE_INFINITY;
        for (FrameTally t : ClipMeter.counted(clip, tallies, new ArrayList<>())) {
            luma.add(t.luma);
            min = Math.min(min, t.min);
            max = Math.max(max, t.max);
        }
        return ClipMeter.summary(luma, min, max);
    }
}
