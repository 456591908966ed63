// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.follow;

import org.evenstop.engine.measure.Measurement;
import org.evenstop.engine.measure.NoiseForecast;
import org.evenstop.engine.profile.Profile;
import org.evenstop.engine.solve.Correction;
import org.evenstop.engine.solve.Preset;

/**
 * How far single frames may be lifted and pulled to follow light, beside what the clip's correction does: the preset's largest
 * lift and pull and its limit on noise hold for both together.
 *
 * @param mostLift stops, 0..3: frames in less light are lifted by no more
 * @param mostPull stops, 0..3: frames in more light are lowered by no more
 */
public record FollowLimits(double mostLift, double mostPull) {
    /** A drift beyond this is no drift (own choice, no source). */
    private static final double MOST = 3;
    private static final double STEP = 0.05;

    public FollowLimits {
        if (!(mostLift >= 0 && mostLift <= MOST && mostPull >= 0 && mostPull <= MOST)) {
            throw new IllegalArgumentException("limits of " + mostLift + " and " + mostPull + " stops are outside 0 to " + MOST);
        }
    }

    /**
     * @param clip with its noise
     * @param base the clip's correction
     */
    public static FollowLimits of(Measurement clip, Correction base, Profile profile, Preset preset) {
        double k = base.origin().stops();
        double lift = Math.max(0, Math.min(MOST, preset.largestLift() - k));
        double pull = Math.max(0, Math.min(MOST, preset.largestPull() + k));
        if (clip.tellsNoise()) {
            double allowed = 0;
            while (allowed < lift && noiseOf(clip, profile, k, allowed + STEP) <= preset.noiseLimit()) {
                allowed += STEP;
            }
            lift = Math.min(lift, allowed);
        }
        return new FollowLimits(lift, pull);
    }

    /** What the noise becomes of a frame that many stops darker than the clip, brought to where the clip goes; percent of level. */
    private static double noiseOf(Measurement clip, Profile profile, double k, double darker) {
        return NoiseForecast.noiseAfter(clip, level -> profile.reexposed(level, k), level -> {
            double dark = profile.reexposed(level, -darker);
            return (profile.reexposed(dark + 0.005, k + darker) - profile.reexposed(dark - 0.005, k + darker)) / 0.01;
        });
    }

    /** Light of a frame over the clip's, held to what may be undone; stops. */
    public double held(double stops) {
        return Math.min(Math.max(stops, -mostLift), mostPull);
    }
}
