// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.follow;

import java.util.List;

/**
 * A stretch of a clip without a cut.
 *
 * @param firstFrame  index of its first frame
 * @param lastFrame   index of its last frame
 * @param fromSeconds time of its first frame
 * @param toSeconds   time of its last frame
 * @param lowest      least light in it, in stops from its median; 0 or below
 * @param highest     most light in it, likewise; 0 or above
 * @param isSure      false when so much moves that its light can not be told
 * @param keys        how its light runs; empty when it is left alone, being steady or not sure
 */
public record LightShot(int firstFrame, int lastFrame, double fromSeconds, double toSeconds, double lowest, double highest,
                        boolean isSure, List<LightKey> keys) {
    public LightShot {
        keys = List.copyOf(keys);
    }

    /** Stops between its least and its most light. */
    public double range() {
        return highest - lowest;
    }

    public boolean isFollowed() {
        return !keys.isEmpty();
    }
}
