// SPDX-License-Identifier: Apache-2.0
package org.evenstop.batch.render;

import java.util.concurrent.atomic.AtomicLong;
import org.evenstop.batch.media.ClipInfo;
import org.evenstop.engine.kernel.Rehearsals;

/**
 * Whether this process has enough to render for the kernel and measuring for wide registers to be compiled. That takes four to five seconds of
 * processor time, beside decoder and encoder that want all of it, and then saves 35 ms a frame of HD: it pays from some 140 such frames on
 * (measured with one clip on two cores; the bound is our own choice).
 */
public final class FasterCode {
    private static final long ENOUGH_PIXELS = 150L * 1920 * 1080;
    private static final AtomicLong KNOWN = new AtomicLong();

    private FasterCode() {
    }

    /** Scalar code serves until enough is known of. */
    public static void await() {
        Rehearsals.holdBack(!isWorth(KNOWN.get()));
    }

    /** Tells of a clip that will be rendered; once for each. */
    public static void expect(ClipInfo clip) {
        Rehearsals.holdBack(!isWorth(KNOWN.addAndGet(Math.max(1, clip.frames()) * clip.shape().width() * clip.shape().height())));
    }

    static boolean isWorth(long pixels) {
        return pixels >= ENOUGH_PIXELS;
    }
}
