// SPDX-License-Identifier: Apache-2.0
package org.evenstop.batch.media;

/**
 * When a frame is shown and how its lines were scanned; what outlives the frame itself on its way to the encoder.
 *
 * @param timestamp in the source clip's time base, from the start of the clip
 * @param duration  the same; 0 when the source does not say
 */
public record DecodedFrameTimes(long timestamp, long duration, boolean interlaced, boolean topFieldFirst) {
    public static DecodedFrameTimes of(DecodedFrame frame) {
        return new DecodedFrameTimes(frame.timestamp(), frame.av.duration(), frame.isInterlaced(), frame.isTopFieldFirst());
    }
}
