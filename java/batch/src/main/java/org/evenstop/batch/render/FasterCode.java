// SPDX-License-Identifier: Apache-2.0
package org.evenstop.batch.render;

import org.evenstop.batch.media.ClipInfo;
import org.evenstop.engine.kernel.Rehearsals;

/**
 * Whether this process has enough to render for the kernel and measuring for wide registers to be compiled. That takes four to five seconds of
 * processor time, beside decoder and encoder that want all of it, and then saves 35 ms a frame of HD: it pays from some 140 such frames on
 * (measured with one clip on two cores; the bound is our own choice).
 */
public final class FasterCode {
    private static final long ENOUGH_PIXELS = 150L * 1920 * 1080;
    /** More frames than a clip can have; headers may say anything. */
    private static final long MOST_FRAMES = 100_000_000;
    private static long known;

    private FasterCode() {
    }

    /** Scalar code serves until enough is known of. */
    public static synchronized void await() {
        Rehearsals.holdBack(!isWorth(known));
    }

    /** Tells of a clip that will be rendered; once for each. */
    public static synchronized void expect(ClipInfo clip) {
        known = sum(known, clip.frames(), clip.shape().width(), clip.shape().height());
        await();
    }

    static long sum(long pixels, long frames, int width, int height) {
        return Math.min(Long.MAX_VALUE / 2, pixels + Math.max(1, Math.min(MOST_FRAMES, frames)) * width * height);
    }

    static boolean isWorth(long pixels) {
        return pixels >= ENOUGH_PIXELS;
    }
}
