// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.solve;

/**
 * What matching a clip to a reference came to.
 *
 * @param correction of the clip; the preset's own where {@code matched} is false
 * @param sureness   0..1: how sure it is that the two show the same scene and were brought together
 * @param overlap    0..1: share of the recorded picture that the two have in common, the smaller of both ways
 * @param matched    false when the match was not sure enough and the preset's anchors were used instead
 */
public record MatchResult(Correction correction, double sureness, double overlap, boolean matched) {
    /** Below this a match is not used (own choice, from trials on photographs; see docs/model.md). */
    public static final double LEAST_SURENESS = 0.5;
    private static final double SURE = 0.75;

    public MatchResult {
        if (!(sureness >= 0 && sureness <= 1) || !(overlap >= 0 && overlap <= 1)) {
            throw new IllegalArgumentException("sureness " + sureness + " and overlap " + overlap + " of a match lie from 0 to 1");
        }
    }

    /** The sureness in words: sure, fairly sure or not sure. */
    public String word() {
        return word(sureness);
    }

    static String word(double sureness) {
        return sureness >= SURE ? "sure" : sureness >= LEAST_SURENESS ? "fairly sure" : "not sure";
    }
}
