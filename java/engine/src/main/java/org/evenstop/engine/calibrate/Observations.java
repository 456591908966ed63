// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.calibrate;

import org.evenstop.engine.level.LumaStandard;

/**
 * What the fit is given: places in the scene ("sites"), each seen at every exposure as luma, R' - Y' and B' - Y'. A site of a
 * single channel has luma only, and one light instead of three.
 */
final class Observations {
    final LumaStandard standard;
    final int sites;
    final int exposures;
    /** {@code [site][exposure][3]}, level fractions. */
    final double[][][] value;
    /** Standard errors: {@code [site][exposure][2]}, of luma and of the two differences. */
    final double[][][] sigma;
    /** {@code [site][exposure]}: may be used at all. */
    final boolean[][] usable;
    final boolean single;
    /** Levels between which a channel counts. */
    final double lowest;
    final double highest;

    Observations(LumaStandard standard, double[][][] value, double[][][] sigma, boolean[][] usable, boolean single, double lowest, double highest) {
        this.standard = standard;
        this.sites = value.length;
        this.exposures = value.length == 0 ? 0 : value[0].length;
        this.value = value;
        this.sigma = sigma;
        this.usable = usable;
        this.single = single;
        this.lowest = lowest;
        this.highest = highest;
    }

    /** The channels of an observation with chroma undone by a factor. */
    void channels(int site, int exposure, double chromaFactor, double[] rgb) {
        double[] v = value[site][exposure];
        double r = v[1] / chromaFactor;
        double b = v[2] / chromaFactor;
        rgb[0] = v[0] + r;
        rgb[1] = v[0] - (standard.redWeight() * r + standard.blueWeight() * b) / standard.greenWeight();
        rgb[2] = v[0] + b;
    }
}
