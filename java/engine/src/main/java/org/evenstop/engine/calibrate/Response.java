// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.calibrate;

import java.util.function.DoubleUnaryOperator;

/**
 * The curves under recovery: level as a uniform cubic B-spline over stops, and the logarithm of the chroma factor as straight
 * lines over luma. Stops are relative to wherever the fit put 0.
 */
final class Response {
    /** Knot distance of the tone curve in stops: fine enough for the kink of a knee. */
    static final double STEP = 0.125;
    static final double CHROMA_STEP = 0.1;
    static final int CHROMA_KNOTS = 12;
    /** The chroma knot whose factor is expected to be near 1: 40 % luma. */
    static final int CHROMA_PINNED = 4;

    final double from;
    final double to;
    final double[] tone;
    final double[] logChroma;

    Response(double from, double to, double[] tone, double[] logChroma) {
        this.from = from;
        this.to = to;
        this.tone = tone;
        this.logChroma = logChroma;
    }

    /** The spline whose coefficients are the function's values at the knots' centres, which smooths by a sixth of the curvature. */
    static Response ofLevels(double from, double to, DoubleUnaryOperator levelOfStops) {
        int segments = (int) Math.ceil((to - from) / STEP);
        double[] tone = new double[segments + 3];
        for (int i = 0; i < tone.length; i++) {
            double x = from + (i - 1) * STEP;
            double middle = levelOfStops.applyAsDouble(x);
            tone[i] = middle - (levelOfStops.applyAsDouble(x - STEP) - 2 * middle + levelOfStops.applyAsDouble(x + STEP)) / 6;
        }
        return new Response(from, from + segments * STEP, tone, new double[CHROMA_KNOTS]);
    }

    Response copy() {
        return new Response(from, to, tone.clone(), logChroma.clone());
    }

    int segmentOf(double x) {
        return Math.max(0, Math.min((int) Math.floor((x - from) / STEP), tone.length - 4));
    }

    /** Weights of the four coefficients from {@code segment} on. */
    static void basis(double f, double[] weights) {
        double g = 1 - f;
        weights[0] = g * g * g / 6;
        weights[1] = (3 * f * f * f - 6 * f * f + 4) / 6;
        weights[3] = f * f * f / 6;
        weights[2] = 1 - weights[0] - weights[1] - weights[3];
    }

    private double fractionAt(double x, int segment) {
        return Math.max(0, Math.min((x - from) / STEP - segment, 1));
    }

    double fraction(double x, int segment) {
        return fractionAt(x, segment);
    }

    /** Level at a place in stops; constant beyond the ends. */
    double level(double x) {
        int k = segmentOf(x);
        double f = fractionAt(x, k);
        double g = 1 - f;
        return (g * g * g * tone[k] + (3 * f * f * f - 6 * f * f + 4) * tone[k + 1] + (3 * g * g * g - 6 * g * g + 4) * tone[k + 2]
            + f * f * f * tone[k + 3]) / 6;
    }

    /** Rise of level per stop. */
    double slope(double x) {
        int k = segmentOf(x);
        double f = fractionAt(x, k);
        double g = 1 - f;
        return (-g * g * tone[k] + (3 * f * f - 4 * f) * tone[k + 1] + (4 * g - 3 * g * g) * tone[k + 2] + f * f * tone[k + 3]) / (2 * STEP);
    }

    /** The place in stops of a level, by bisection between two places; the nearer of them when the level lies outside. */
    double stopsOf(double level, double low, double high) {
        double a = low;
        double b = high;
        for (int i = 0; i < 60; i++) {
            double middle = 0.5 * (a + b);
            if (level(middle) < level) {
                a = middle;
            } else {
                b = middle;
            }
        }
        return 0.5 * (a + b);
    }

    static int chromaKnot(double luma) {
        return Math.max(0, Math.min((int) Math.floor(luma / CHROMA_STEP), CHROMA_KNOTS - 2));
    }

    static double chromaFraction(double luma, int knot) {
        return Math.max(0, Math.min(luma / CHROMA_STEP - knot, 1));
    }

    double chromaFactor(double luma) {
        int m = chromaKnot(luma);
        double f = chromaFraction(luma, m);
        return Math.exp(logChroma[m] + f * (logChroma[m + 1] - logChroma[m]));
    }
}
