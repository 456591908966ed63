// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.solve;

import org.evenstop.engine.curve.MonotoneCubic;

/** One step of lowering the shadows of a picture. Levels are fractions. */
final class Shadows {
    /** Shadows less than this above their level stay. */
    static final double RAISED = 0.002;

    private final MonotoneCubic curve;
    private final double pivot;
    /** True when they were raised but too near the subject to be lowered without tearing the picture apart. */
    final boolean flat;

    /**
     * @param level    of the shadows before
     * @param target   where they go when they lie higher
     * @param pivot    subject level, which stays
     * @param steepest largest slope between shadows and subject
     */
    Shadows(double level, double target, double pivot, double steepest) {
        this.pivot = pivot;
        boolean raised = level > target + RAISED && pivot > level + 0.02;
        flat = raised && (pivot - target) / (pivot - level) > steepest;
        if (raised && !flat) {
            // Below the shadows the curve runs to black, above the subject it goes on unchanged.
            double black = Math.min(0, level - 0.05);
            curve = new MonotoneCubic(
                new double[] {black - 0.2, black, level, pivot, pivot + 0.02, pivot + 0.5},
                new double[] {black - 0.2, black, target, pivot, pivot + 0.02, pivot + 0.5});
        } else {
            curve = null;
        }
    }

    double at(double level) {
        return curve != null && level < pivot ? curve.valueAt(level) : level;
    }

    boolean isLowered() {
        return curve != null;
    }
}
