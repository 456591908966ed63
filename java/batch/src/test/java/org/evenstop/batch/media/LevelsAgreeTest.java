// SPDX-License-Identifier: Apache-2.0
package org.evenstop.batch.media;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.nio.file.Path;
import java.util.Optional;
import org.evenstop.engine.frame.PlanarFrame;
import org.evenstop.engine.measure.ClipMeter;
import org.evenstop.engine.measure.LevelSummary;
import org.junit.jupiter.api.Assumptions;
import org.junit.jupiter.api.io.TempDir;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;
import org.junit.jupiter.params.provider.ValueSource;

/**
 * Our levels against FFmpeg's signalstats filter (its documentation: YLOW and YHIGH are the 10th and 90th percentile) on the same
 * frames, within one code.
 */
class LevelsAgreeTest {
    @TempDir
    Path folder;

    @ParameterizedTest
    @CsvSource({"yuv420p, 1", "yuv422p, 1", "yuv444p, 1", "yuv420p10, 4", "yuv422p10, 4", "yuv444p10, 4"})
    void onClipsMadeHere(String format, int scale) {
        // A sloping field with a noise of its own, a dark and a bright patch beyond 0..100 %.
        TestClip.Painter painter = (f, plane, x, y) -> {
            if (plane > 0) {
                return 128 * scale + (x + y + f) % (20 * scale);
            }
            int noise = (x * 7919 + y * 104729 + f * 1299709) % 23;
            return x < 20 && y < 20 ? 6 * scale : x > 140 && y > 80 ? 249 * scale : (30 + x + noise) * scale + (x * y + f) % scale;
        };
        compare(TestClip.make().format(format).size(161, 97).frames(4).paint(painter).write(folder.resolve("a.mkv")), 4);
    }

    @ParameterizedTest
    @ValueSource(strings = {"cityCC0.mpg", "cockatoo.mp4", "realshort.mp4", "motion.mov"})
    void onRealClips(String name) {
        Optional<Path> clip = Material.find(name);
        Assumptions.assumeTrue(clip.isPresent(), name + " was not fetched; EVENSTOP_MATERIAL may name its folder");
        compare(clip.get(), 40);
    }

    private static void compare(Path clip, int frames) {
        try (ClipReader reader = ClipReader.open(clip)) {
            SignalStats stats = null;
            int compared = 0;
            for (DecodedFrame frame = reader.next(); frame != null && compared < frames; frame = reader.next()) {
                if (stats == null) {
                    stats = new SignalStats(frame);
                }
                SignalStats.Values theirs = stats.of(frame);
                ClipMeter meter = new ClipMeter(frame.picture().standard());
                meter.add(frame.picture(), 0);
                LevelSummary ours = meter.finish("frame").levels();
                String where = clip.getFileName() + " frame " + compared;
                assertEquals(theirs.min(), code(frame.picture(), ours.min()), 1, where + " YMIN");
                assertEquals(theirs.low(), code(frame.picture(), ours.p10()), 1, where + " YLOW");
                assertEquals(theirs.average(), average(frame.picture()), 1, where + " YAVG of the planes");
                assertEquals(theirs.average(), code(frame.picture(), ours.mean()), 1, where + " YAVG");
                assertEquals(theirs.high(), code(frame.picture(), ours.p90()), 1, where + " YHIGH");
                assertEquals(theirs.max(), code(frame.picture(), ours.max()), 1, where + " YMAX");
                frame.release();
                compared++;
            }
            assertTrue(compared > 0);
            stats.close();
        }
    }

    private static double code(PlanarFrame frame, double percent) {
        return frame.blackCode() + percent / 100 * frame.lumaSpan();
    }

    private static double average(PlanarFrame frame) {
        long sum = 0;
        for (int y = 0; y < frame.height(); y++) {
            for (int x = 0; x < frame.width(); x++) {
                sum += frame.lumaCode(x, y);
            }
        }
        return (double) sum / frame.width() / frame.height();
    }
}
