// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.follow;

import org.evenstop.engine.profile.Profile;

/** A profile read backwards, tabulated: which scene light a level means, and how far that can be trusted. */
final class LightScale {
    private static final double LN2 = Math.log(2);
    private static final double FROM = -0.07;
    private static final int PER_LEVEL = 2048;
    private static final int SIZE = (int) (1.20 * PER_LEVEL);
    /** Levels under this are dark enough for noise and veil to count (own choice, no source). */
    private static final double DARKEST = 0.03;
    /** Distance kept from the ceiling, and the smallest rise of level per stop from which light is read (own choices, no source). */
    private static final double NEAR_CEILING = 0.015;
    private static final double LEAST_SLOPE = 0.03;
    /** Rise per stop from which a level counts in full. */
    private static final double FULL_SLOPE = 0.12;

    /** Highest level at which light is read. */
    final float highest;
    private final float[] stops = new float[SIZE];
    private final float[] weight = new float[SIZE];
    private final float[] undo = new float[SIZE];

    /** @param clipCeiling level fraction at which the clip's own highlights pile up, or one above it where they do not */
    LightScale(Profile profile, double clipCeiling) {
        highest = (float) (Math.min(Math.min(profile.trustedLevel(), profile.ceiling() - NEAR_CEILING), clipCeiling - NEAR_CEILING));
        for (int i = 0; i < SIZE; i++) {
            double level = FROM + i / (double) PER_LEVEL;
            undo[i] = (float) (1 / profile.chromaFactor(level));
            double light = profile.lightOfLevel(level);
            double rise = light > 0 ? profile.reexposed(level, 0.05) - level : 0;
            boolean isRead = level >= DARKEST && level <= highest && rise >= 0.05 * LEAST_SLOPE;
            stops[i] = isRead ? (float) (Math.log(light / Profile.MID_GREY) / LN2) : Float.NaN;
            weight[i] = isRead ? (float) Math.min(1, rise / 0.05 / FULL_SLOPE) : 0;
        }
    }

    private static int place(float level) {
        float at = (float) ((level - FROM) * PER_LEVEL);
        return at > 0 ? Math.min((int) at, SIZE - 2) : 0;
    }

    /** Stops of light from mid grey; NaN where the level does not tell. */
    float stopsOf(float level) {
        int i = place(level);
        float part = (float) ((level - FROM) * PER_LEVEL) - i;
        return stops[i] + part * (stops[i + 1] - stops[i]);
    }

    /** 0..1: how well the level tells its light. */
    float weightOf(float level) {
        return weight[place(level)];
    }

    /** What the profile's chroma is divided by at this luma, as a factor. */
    float undo(float luma) {
        return undo[place(luma)];
    }
}
