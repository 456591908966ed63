// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.measure;

/**
 * What counts as skin: a sector of hue about the skin line, bounds on chroma relative to luma, and a bound on yellow; never a test of
 * luma itself, so that dark and light skin count alike.
 *
 * <p>The line: dark and light skin of the ColorChecker lie at 120.7 and 119.5 degrees of the BT.709 (Cb, Cr) plane, those of EBU
 * Tech 3325 v2.0 at 122.5 and 122.3, with chroma over luma of 0.18 to 0.31. Measured skin spreads further: light skin of little red lies
 * at 132 (means of two published samples), and a contrasty curve gives dark, under-exposed skin a chroma over luma of up to
 * 0.8. Wood and orange cloth lie between, at 125 to 140 with much chroma; the bound on yellow leaves most of them out: in the plane of
 * (Cb, Cr) over luma it is a straight line. All bounds are our own choice, no source; what they find is in docs/skin.md.
 *
 * @param share         part of the picture that counts as skin, 0..1
 * @param median        median luma of those pixels in percent; NaN where there are none
 * @param lowerQuartile 25th percentile, likewise
 * @param upperQuartile 75th percentile, likewise
 */
public record Skin(double share, double median, double lowerQuartile, double upperQuartile) {
    public static final double HUE_FROM_DEGREES = 107;
    public static final double HUE_TO_DEGREES = 133;
    /** Smallest and largest chroma over luma. */
    public static final double LEAST_SATURATION = 0.09;
    public static final double MOST_SATURATION = 0.8;
    /** Most of -Cb: this share of luma and that of Cr. */
    public static final double YELLOW_OF_LUMA = 0.10;
    public static final double YELLOW_OF_CR = 0.46;
    /** Less chroma than this (fraction of the -0.5..0.5 span) is as likely noise as colour. */
    public static final double LEAST_CHROMA = 0.012;
    /** Share of the picture from which on skin is taken for a subject (own choice, no source). */
    public static final double SUBJECT_SHARE = 0.015;

    // How far to either side of a bound a pixel counts in part (own choice, no source).
    private static final double HUE_EDGE = Math.sin(Math.toRadians(6));
    private static final double YELLOW_EDGE = 0.03;
    private static final double LEAST_SATURATION_EDGE = 0.02;
    private static final double LEAST_CHROMA_EDGE = 0.004;
    private static final double MOST_SATURATION_EDGE = 0.1;

    // The bounds in single precision, as pixels are judged: directions of the hues, shares, and squares.
    public static final float FROM_CB = (float) Math.cos(Math.toRadians(HUE_FROM_DEGREES));
    public static final float FROM_CR = (float) Math.sin(Math.toRadians(HUE_FROM_DEGREES));
    public static final float TO_CB = (float) Math.cos(Math.toRadians(HUE_TO_DEGREES));
    public static final float TO_CR = (float) Math.sin(Math.toRadians(HUE_TO_DEGREES));
    public static final float OF_LUMA = (float) YELLOW_OF_LUMA;
    public static final float OF_CR = (float) YELLOW_OF_CR;
    public static final float LEAST_SQUARED = (float) (LEAST_CHROMA * LEAST_CHROMA);
    public static final float LEAST_RATIO = (float) (LEAST_SATURATION * LEAST_SATURATION);
    public static final float MOST_RATIO = (float) (MOST_SATURATION * MOST_SATURATION);

    /** Whether a pixel counts: luma as a fraction, chroma as -0.5..0.5. In single precision, as pixels are counted. */
    public static boolean counts(double luma, double cb, double cr) {
        return counts((float) luma, (float) cb, (float) cr);
    }

    static boolean counts(float luma, float cb, float cr) {
        return margin(luma, cb, cr) >= 0f;
    }

    /**
     * 0 where a pixel lies inside every bound, else twice the sum of what it lies outside by, below 0; NaN for what is no number.
     * Sums of t - |t| because loops of those become wide instructions, and comparisons do not; in three parts because long ones do not either.
     */
    private static float margin(float luma, float cb, float cr) {
        return hueMargin(cb, cr) + yellowMargin(luma, cb, cr) + chromaMargin(luma, cb, cr);
    }

    static float hueMargin(float cb, float cr) {
        float fromLow = FROM_CB * cr - FROM_CR * cb;
        float fromHigh = cb * TO_CR - cr * TO_CB;
        return fromLow - Math.abs(fromLow) + (fromHigh - Math.abs(fromHigh));
    }

    static float yellowMargin(float luma, float cb, float cr) {
        float fromYellow = OF_LUMA * luma + OF_CR * cr + cb;
        return fromYellow - Math.abs(fromYellow) + (luma - Math.abs(luma));
    }

    static float chromaMargin(float luma, float cb, float cr) {
        float squared = cb * cb + cr * cr;
        float ratio = luma * luma;
        float overLeast = squared - LEAST_SQUARED;
        float overLeastRatio = squared - LEAST_RATIO * ratio;
        float underMost = MOST_RATIO * ratio - squared;
        return overLeast - Math.abs(overLeast) + (overLeastRatio - Math.abs(overLeastRatio)) + (underMost - Math.abs(underMost));
    }

    /**
     * How surely a pixel counts, 0..1: all well inside the bounds, half of it at one of them, nothing well outside. For searches in which pixels must not come and
     * go at a step. Luma as a fraction, chroma as -0.5..0.5; 0 where luma or chroma is 0, negative or no number.
     */
    public static double likeness(double luma, double cb, double cr) {
        double chroma = Math.sqrt(cb * cb + cr * cr);
        if (!(luma > 0 && chroma > 0)) {
            return 0;
        }
        double saturation = chroma / luma;
        double hue = ramp(Math.min(FROM_CB * cr - FROM_CR * cb, cb * TO_CR - cr * TO_CB) / chroma, HUE_EDGE);
        double yellow = ramp((YELLOW_OF_LUMA * luma + YELLOW_OF_CR * cr + cb) / luma, YELLOW_EDGE);
        double coloured = Math.min(ramp(saturation - LEAST_SATURATION, LEAST_SATURATION_EDGE), ramp(chroma - LEAST_CHROMA, LEAST_CHROMA_EDGE));
        return hue * yellow * coloured * ramp(MOST_SATURATION - saturation, MOST_SATURATION_EDGE);
    }

    private static double ramp(double inside, double reach) {
        return Math.min(Math.max(0.5 + 0.5 * inside / reach, 0), 1);
    }

    /** True when there is enough skin for it to be the subject. */
    public boolean isSubject() {
        return share >= SUBJECT_SHARE;
    }
}
