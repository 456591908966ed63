// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.colour;

/**
 * CIE 1976 L*a*b* of display-referred pictures (CIE 15), white D65 (x 0.3127, y 0.3290), for measuring differences between pictures.
 */
public record Lab(double l, double a, double b) {
    private static final double XN = 0.3127 / 0.3290;
    private static final double ZN = (1 - 0.3127 - 0.3290) / 0.3290;

    /**
     * The colour that a reference display shows for BT.709 R'G'B': display light is the level to the power 2.4 (ITU-R BT.1886 with
     * black at zero), primaries are those of BT.709 (SMPTE RP 177 matrix). Levels are fractions; below 0 counts as 0, above 1 is kept.
     */
    public static Lab ofBt709(double red, double green, double blue) {
        double r = Math.pow(Math.max(red, 0), 2.4);
        double g = Math.pow(Math.max(green, 0), 2.4);
        double b = Math.pow(Math.max(blue, 0), 2.4);
        return ofXyz(0.4123907993 * r + 0.3575843394 * g + 0.1804807884 * b, 0.2126390059 * r + 0.7151686788 * g + 0.0721923154 * b,
            0.0193308187 * r + 0.1191947798 * g + 0.9505321522 * b);
    }

    /** From CIE XYZ scaled so that white has Y = 1. */
    public static Lab ofXyz(double x, double y, double z) {
        double fx = f(x / XN);
        double fy = f(y);
        double fz = f(z / ZN);
        return new Lab(116 * fy - 16, 500 * (fx - fy), 200 * (fy - fz));
    }

    private static double f(double t) {
        double delta = 6.0 / 29;
        return t > delta * delta * delta ? Math.cbrt(t) : t / (3 * delta * delta) + 4.0 / 29;
    }
}
