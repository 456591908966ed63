// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.measure;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertThrows;

import java.util.Random;
import org.evenstop.engine.InputException;
import org.evenstop.engine.frame.ChromaSampling;
import org.evenstop.engine.frame.PlanarFrame;
import org.evenstop.engine.level.CodeDepth;
import org.evenstop.engine.level.LumaStandard;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.EnumSource;

/** Levels alone are those of a whole measurement. */
class LevelMeterTest {
    private static PlanarFrame frame(ChromaSampling sampling, CodeDepth depth, boolean isFullRange, double level, int bar, long seed) {
        PlanarFrame frame = PlanarFrame.allocate(1279, 962, sampling, depth, LumaStandard.BT709, isFullRange, true, true);
        Random random = new Random(seed);
        for (int y = 0; y < frame.height(); y++) {
            for (int x = 0; x < frame.width(); x++) {
                boolean inBar = y < bar || y >= frame.height() - bar;
                double wanted = inBar ? 0 : level * (0.2 + x / 1279.0) + 0.02 * random.nextGaussian();
                int code = (int) Math.round(frame.blackCode() + frame.lumaSpan() * wanted);
                frame.setLumaCode(x, y, Math.min(Math.max(code, frame.lowestCode()), frame.highestCode()));
            }
        }
        return frame;
    }

    @ParameterizedTest
    @EnumSource(ChromaSampling.class)
    void levelsAreThoseOfAMeasurement(ChromaSampling sampling) {
        for (CodeDepth depth : CodeDepth.values()) {
            boolean isFullRange = depth == CodeDepth.BITS8;
            ClipMeter all = new ClipMeter(LumaStandard.BT709);
            LevelMeter levels = new LevelMeter();
            // Black and a fade at the ends, a bar, and pictures.
            double[] bright = {0, 0.2, 0.7, 0.75, 0.8, 0.85};
            for (int i = 0; i < bright.length; i++) {
                PlanarFrame frame = frame(sampling, depth, isFullRange, bright[i], 70, i);
                all.add(frame, i);
                levels.add(frame, i);
            }
            assertEquals(bright.length, levels.frames());
            assertEquals(all.finish("clip").levels(), levels.finish("clip"), sampling + " " + depth);
        }
    }

    @Test
    void withoutFramesThereAreNoLevels() {
        assertThrows(InputException.class, () -> new LevelMeter().finish("clip"));
    }
}
