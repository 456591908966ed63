// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.follow;

import java.util.Arrays;

/**
 * Which frames of a clip fade to or from a blank one, and are therefore not followed. A fade is a stretch beside blank frames
 * over which the mean level runs steadily towards theirs; at the clip's beginning and end also one that reaches well under the clip's usual level.
 */
final class Fades {
    /** The frame counts, is blank, fades towards what comes after it, or comes up from what lay before. */
    enum Kind { PICTURE, BLANK, OUT, IN }

    /** Frames over which a fade must be seen to go on, and by how much of the level at least (own choices, no source). */
    private static final int LAG = 3;
    private static final double LEAST_CHANGE = 0.006;
    /** A clip that begins or ends under this part of its usual level, having run there steadily, fades. */
    private static final double FADED = 0.35;

    private final Kind[] kinds;
    private final double[] mean;
    private final int frames;

    /**
     * @param mean  mean level of each frame, a fraction; {@code frames} of them count
     * @param blank frames without picture
     * @param black mean level under which a blank frame is black; others are white
     */
    Fades(double[] mean, boolean[] blank, int frames, double black) {
        this.mean = mean;
        this.frames = frames;
        kinds = new Kind[frames];
        for (int i = 0; i < frames; i++) {
            kinds[i] = blank[i] ? Kind.BLANK : Kind.PICTURE;
        }
        for (int i = 0; i < frames; i++) {
            if (blank[i]) {
                // Only a blank stretch of both ends of a fade counts: a flash of one white frame is none.
                int sign = mean[i] < black ? 1 : -1;
                if (i > 0 && !blank[i - 1]) {
                    walk(i - 1, -1, sign, Kind.OUT);
                }
                if (i + 1 < frames && !blank[i + 1]) {
                    walk(i + 1, 1, sign, Kind.IN);
                }
            }
        }
        double[] sorted = Arrays.copyOf(mean, frames);
        Arrays.sort(sorted);
        double usual = sorted[frames / 2];
        if (mean[0] < FADED * usual && kinds[0] == Kind.PICTURE) {
            walk(0, 1, 1, Kind.IN);
        }
        if (mean[frames - 1] < FADED * usual && kinds[frames - 1] == Kind.PICTURE) {
            walk(frames - 1, -1, 1, Kind.OUT);
        }
    }

    /** Marks frames as long as the level rises (sign 1) or falls (sign -1) on the way. */
    private void walk(int start, int way, int sign, Kind kind) {
        int end = start;
        for (int i = start; i + LAG * way >= 0 && i + LAG * way < frames; i += way) {
            int ahead = i + LAG * way;
            if (kinds[i] == Kind.BLANK || sign * (mean[ahead] - mean[i]) < LEAST_CHANGE * Math.abs(mean[i]) + 1e-4) {
                break;
            }
            end = ahead;
        }
        if (end != start) {
            for (int i = start; i != end + way; i += way) {
                if (kinds[i] == Kind.PICTURE) {
                    kinds[i] = kind;
                }
            }
        }
    }

    Kind kind(int frame) {
        return kinds[frame];
    }

    /** Frames that are followed. */
    boolean[] counts() {
        boolean[] counts = new boolean[frames];
        for (int i = 0; i < frames; i++) {
            counts[i] = kinds[i] == Kind.PICTURE;
        }
        return counts;
    }
}
