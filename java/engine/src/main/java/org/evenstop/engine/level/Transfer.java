// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.level;

/**
 * The published curves between light and level. Levels are fractions (1.0 = 100 %); scene light is relative (1.0 = the light
 * that gives 100 %), display light is in cd/m² where a display's white and black are given, else relative.
 *
 * <p>Nothing is clamped unless said: straight parts go on below 0, powers go on above 1. NaN gives NaN.
 */
public final class Transfer {
    /** Light at which the transfer of BT.709 turns from a line to a power. */
    private static final double BT709_BREAK = 0.018;
    private static final double BT1886_POWER = 2.4;

    private Transfer() {
    }

    /**
     * Level of scene light: ITU-R BT.709-6 item 1.2 with its three-digit constants, so there is a step of 0.00025 at light 0.018.
     * Below 0 the straight part goes on.
     */
    public static double bt709Oetf(double light) {
        return light < BT709_BREAK ? 4.5 * light : 1.099 * Math.pow(light, 0.45) - 0.099;
    }

    /** Scene light of a level, the inverse of {@link #bt709Oetf}; levels inside the step are light 0.018. */
    public static double bt709OetfInverse(double level) {
        return level < 4.5 * BT709_BREAK ? level / 4.5 : Math.max(BT709_BREAK, Math.pow((level + 0.099) / 1.099, 1 / 0.45));
    }

    /**
     * Luminance that a reference display shows for a level: ITU-R BT.1886 Annex 1.
     *
     * @param level levels so low that the formula has no power count as the lowest that has
     * @param white luminance of level 1 in cd/m², above {@code black}
     * @param black luminance of level 0 in cd/m², 0 or more
     */
    public static double bt1886Eotf(double level, double white, double black) {
        requireDisplay(white, black);
        double whiteRoot = Math.pow(white, 1 / BT1886_POWER);
        double blackRoot = Math.pow(black, 1 / BT1886_POWER);
        // a (V + b)^2.4 with a and b written out, so that white and black come out to the last digit.
        return Math.pow(Math.max(level * (whiteRoot - blackRoot) + blackRoot, 0), BT1886_POWER);
    }

    /** Level of a luminance in cd/m², the inverse of {@link #bt1886Eotf}; luminance below 0 counts as 0. */
    public static double bt1886EotfInverse(double luminance, double white, double black) {
        requireDisplay(white, black);
        double whiteRoot = Math.pow(white, 1 / BT1886_POWER);
        double blackRoot = Math.pow(black, 1 / BT1886_POWER);
        return (Math.pow(Math.max(luminance, 0), 1 / BT1886_POWER) - blackRoot) / (whiteRoot - blackRoot);
    }

    private static void requireDisplay(double white, double black) {
        if (!(black >= 0 && white > black && Double.isFinite(white))) {
            throw new IllegalArgumentException("display of white " + white + " and black " + black
                + " cd/m2; black must be 0 or more and white above it");
        }
    }

    /** Value of light on a computer screen: IEC 61966-2-1 (sRGB). Below 0 the straight part goes on. */
    public static double srgbOfLight(double light) {
        return light <= 0.0031308 ? 12.92 * light : 1.055 * Math.pow(light, 1 / 2.4) - 0.055;
    }

    /** Light of an sRGB value, the inverse of {@link #srgbOfLight} as the standard rounds its constants. */
    public static double lightOfSrgb(double value) {
        return value <= 0.04045 ? value / 12.92 : Math.pow((value + 0.055) / 1.055, 2.4);
    }
}
