// SPDX-License-Identifier: Apache-2.0
package org.evenstop.batch.demo;

/**
 * Colours of the painted test row and of skin, as linear BT.709 reflectance (D50 Lab values of the 24-patch colour rendition chart of C. S. McCamy,
 * H. Marcus, J. G. Davidson, Journal of Applied Photographic Engineering 2, 1976, as published by its maker for the charts made before 2014; Bradford to D65).
 */
final class Patches {
    private static final double[] DARK_SKIN = {0.17310, 0.08212, 0.05674};
    private static final double[] LIGHT_SKIN = {0.56833, 0.29268, 0.21835};
    /** Left to right: dark skin, light skin, blue, green, red, yellow, then white to black in six steps. */
    private static final double[][] ROW = {
        DARK_SKIN, LIGHT_SKIN, {0.01710, 0.05023, 0.29224}, {0.05596, 0.30020, 0.06871}, {0.45590, 0.03033, 0.04086}, {0.85736, 0.56752, 0.00685},
        {0.91259, 0.91499, 0.89363}, {0.57982, 0.59207, 0.59340}, {0.35501, 0.36549, 0.36757}, {0.19012, 0.19189, 0.19311},
        {0.08532, 0.08890, 0.09259}, {0.03032, 0.03114, 0.03274}};

    private Patches() {
    }

    static double[] darkSkin() {
        return DARK_SKIN.clone();
    }

    static double[] lightSkin() {
        return LIGHT_SKIN.clone();
    }

    static int count() {
        return ROW.length;
    }

    static double value(int patch, int channel) {
        return ROW[patch][channel];
    }
}
