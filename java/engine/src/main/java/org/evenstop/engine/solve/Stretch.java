// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.solve;

import org.evenstop.engine.curve.MonotoneCubic;

/**
 * The stretch S of a correction: one rising curve on each channel that lowers raised shadows to their level and folds what lies
 * above the highlight level below it by a soft shoulder. Where neither is needed it is the identity, so a corrected clip
 * asks for nothing when it is solved again.
 *
 * <p>Levels are fractions.
 */
final class Stretch {
    /** How far below the highlight level the shoulder begins, in units of what must be folded. */
    private static final double SHOULDER = 1.6;
    private static final double LOWEST_SHOULDER = 0.45;

    private final MonotoneCubic shadows;
    private final double pivot;
    private final double knee;
    private final double bend;
    /** True when shadows were raised but too near the subject to be lowered without tearing the picture apart. */
    final boolean flat;

    /**
     * @param shadow         level of the shadows before
     * @param shadowTarget   where they go when they lie higher
     * @param pivot          subject level, which stays
     * @param top            highest level in the picture before, as good as all pixels lie below
     * @param highlightLevel where that goes when it lies higher
     * @param steepest       largest slope between shadows and subject
     */
    Stretch(double shadow, double shadowTarget, double pivot, double top, double highlightLevel, double steepest) {
        this.pivot = pivot;
        boolean raised = shadow > shadowTarget + 0.002 && pivot > shadow + 0.02;
        double slope = raised ? (pivot - shadowTarget) / (pivot - shadow) : 1;
        flat = raised && slope > steepest;
        if (raised && !flat) {
            // Below the shadows the curve runs to black, above the subject it goes on unchanged.
            double black = Math.min(0, shadow - 0.05);
            shadows = new MonotoneCubic(
                new double[] {black - 0.2, black, shadow, pivot, pivot + 0.02, pivot + 0.5},
                new double[] {black - 0.2, black, shadowTarget, pivot, pivot + 0.02, pivot + 0.5});
        } else {
            shadows = null;
        }
        if (top > highlightLevel + 1e-4) {
            double excess = top - highlightLevel;
            knee = Math.max(Math.min(highlightLevel - SHOULDER * excess, highlightLevel - 0.01), Math.min(LOWEST_SHOULDER, highlightLevel - 0.05));
            double over = top - knee;
            bend = (over / (highlightLevel - knee) - 1) / over;
        } else {
            knee = Double.POSITIVE_INFINITY;
            bend = 0;
        }
    }

    double at(double level) {
        double x = shadows != null && level < pivot ? shadows.valueAt(level) : level;
        if (x <= knee) {
            return x;
        }
        double over = x - knee;
        return knee + over / (1 + bend * over);
    }

    boolean lowersShadows() {
        return shadows != null;
    }

    boolean foldsHighlights() {
        return knee != Double.POSITIVE_INFINITY;
    }
}
