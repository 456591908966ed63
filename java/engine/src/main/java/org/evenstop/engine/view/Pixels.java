// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.view;

import org.evenstop.engine.frame.AlphaState;
import org.evenstop.engine.frame.PackedFrame;
import org.evenstop.engine.kernel.SampleIo;
import org.evenstop.engine.kernel.ScalarKernel;

/** One pixel of a packed colour frame at a time, as levels with alpha divided out. Not for sharing between threads. */
final class Pixels {
    final float[] level = new float[4];
    private final PackedFrame frame;
    private final int channels;
    private final boolean premultiplied;

    Pixels(PackedFrame frame) {
        this.frame = frame;
        channels = frame.components().count();
        premultiplied = channels == 4 && frame.alpha() == AlphaState.PREMULTIPLIED;
    }

    /** Fills {@link #level}; what is no number counts as 0. */
    void read(int column, int row) {
        SampleIo.load(frame.memory(), frame.rowOffset(row) + column * channels * frame.depth().bytes(), frame.depth(), level, channels);
        if (premultiplied && level[3] >= ScalarKernel.SMALLEST_ALPHA) {
            for (int c = 0; c < 3; c++) {
                level[c] /= level[3];
            }
        }
        for (int c = 0; c < 3; c++) {
            level[c] = level[c] == level[c] ? level[c] : 0;
        }
    }

    /** Writes an opaque pixel: a mark is seen even where the picture is not. */
    void write(int column, int row, float r, float g, float b) {
        level[0] = r;
        level[1] = g;
        level[2] = b;
        level[3] = 1;
        SampleIo.store(level, channels, frame.memory(), frame.rowOffset(row) + column * channels * frame.depth().bytes(), frame.depth());
    }
}
