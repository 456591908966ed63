// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.level;

/**
 * Luma weights and colour-difference scaling of the three television standards.
 * Sources: ITU-R BT.601-7, ITU-R BT.709-6 items 3.2 and 3.3, ITU-R BT.2020-2 (non-constant luminance).
 *
 * <p>With R', G', B' as levels (0..1 nominal): {@code Y' = wr R' + wg G' + wb B'}, {@code Cb = (B' - Y') / cbDivisor},
 * {@code Cr = (R' - Y') / crDivisor}, so that Cb and Cr span -0.5..0.5 at full saturation.
 */
public enum LumaStandard {
    BT601("BT.601", 0.299, 0.587, 0.114),
    BT709("BT.709", 0.2126, 0.7152, 0.0722),
    BT2020("BT.2020", 0.2627, 0.6780, 0.0593);

    private final String label;
    private final double red;
    private final double green;
    private final double blue;

    LumaStandard(String label, double red, double green, double blue) {
        this.label = label;
        this.red = red;
        this.green = green;
        this.blue = blue;
    }

    /** The standard's name as files and tables write it, e.g. {@code BT.709}. */
    public String label() {
        return label;
    }

    public double redWeight() {
        return red;
    }

    public double greenWeight() {
        return green;
    }

    public double blueWeight() {
        return blue;
    }

    /** 2 (1 - wb): 1.772, 1.8556 or 1.8814. */
    public double cbDivisor() {
        return 2 * (1 - blue);
    }

    /** 2 (1 - wr): 1.402, 1.5748 or 1.4746. */
    public double crDivisor() {
        return 2 * (1 - red);
    }

    public double luma(double r, double g, double b) {
        return red * r + green * g + blue * b;
    }
}
