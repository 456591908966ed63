// SPDX-License-Identifier: Apache-2.0
package org.evenstop.batch.demo;

import org.evenstop.engine.frame.PlanarFrame;

/** Takes the frames of a clip in order. */
interface FrameSink {
    /** Somewhere to put the next frame: 10 bit 4:2:2, narrow range, chroma on the even columns. */
    PlanarFrame next();

    /** The frame from {@link #next} is filled; {@code seconds} is its time from the start of the clip. */
    void accept(PlanarFrame frame, double seconds);
}
