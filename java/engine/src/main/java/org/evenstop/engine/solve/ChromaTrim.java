// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.solve;

/**
 * Factors on chroma for the dark and the bright part of a corrected picture, one fading into the other about the subject's
 * level. Neutral stays neutral, since chroma is scaled about luma.
 *
 * @param dark   factor well below the subject's level, 0..2
 * @param bright factor well above it, 0..2
 */
public record ChromaTrim(double dark, double bright) {
    public static final ChromaTrim NONE = new ChromaTrim(1, 1);
    /** Half the width of the fade, as a fraction of level (own choice, no source). */
    private static final double REACH = 0.2;

    public ChromaTrim {
        Preset.require("darkChroma", dark, 0, 2, "factor");
        Preset.require("brightChroma", bright, 0, 2, "factor");
    }

    /** True when it changes nothing. */
    public boolean isNone() {
        return dark == 1 && bright == 1;
    }

    /**
     * The factor for a luma.
     *
     * @param luma    a fraction of level
     * @param subject the subject's level, where the factor is halfway between the two
     */
    public double factor(double luma, double subject) {
        double t = Math.min(Math.max((luma - subject + REACH) / (2 * REACH), 0), 1);
        return dark + (bright - dark) * t * t * (3 - 2 * t);
    }
}
