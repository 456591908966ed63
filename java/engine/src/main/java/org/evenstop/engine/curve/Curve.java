// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.curve;

import java.util.Arrays;
import java.util.function.DoubleUnaryOperator;

/**
 * A piecewise cubic on uniform knots: the one form in which every curve of a correction is stored, evaluated and sent elsewhere.
 *
 * <p>Between knots it is the cubic Hermite through the two values and slopes. Beyond the first and last knot it goes on as a
 * straight line with the slope of that knot. Evaluation is in {@code float}: segment coefficients are computed once, in double.
 * A NaN argument gives NaN; kernels replace NaN before they come here.
 *
 * <p>Monotone curves come from {@link #fit} and {@link #through}, which limit slopes after F. N. Fritsch and R. E. Carlson,
 * "Monotone Piecewise Cubic Interpolation", SIAM J. Numer. Anal. 17(2), 1980.
 */
public final class Curve {
    /** Lowest and highest level that curves of a correction span, as fractions: -7 % and 110 %. */
    public static final double DOMAIN_FROM = -0.07;
    public static final double DOMAIN_TO = 1.10;
    public static final int MIN_SEGMENTS = 1;
    public static final int MAX_SEGMENTS = 512;

    private final double from;
    private final double to;
    private final double[] values;
    private final double[] slopes;

    // What the loops use: t = x * scale + offset runs 0..segments; coefficients are c0 + f (c1 + f (c2 + f c3)).
    private final float scale;
    private final float offset;
    private final float segments;
    private final float slopeBelow;
    private final float slopeAbove;
    private final float[] coefficients;

    /**
     * @param from   argument of the first knot
     * @param to     argument of the last knot, above {@code from}
     * @param values value at each knot, 2..513 of them
     * @param slopes derivative (value per argument) at each knot
     */
    public Curve(double from, double to, double[] values, double[] slopes) {
        if (!(from < to) || !Double.isFinite(from) || !Double.isFinite(to)) {
            throw new IllegalArgumentException("curve runs from " + from + " to " + to + "; the first must be the smaller, both finite");
        }
        if (values.length < MIN_SEGMENTS + 1 || values.length > MAX_SEGMENTS + 1 || values.length != slopes.length) {
            throw new IllegalArgumentException("curve has " + values.length + " values and " + slopes.length
                + " slopes; give the same number of both, from 2 to " + (MAX_SEGMENTS + 1));
        }
        for (int i = 0; i < values.length; i++) {
            if (!Double.isFinite(values[i]) || !Double.isFinite(slopes[i])) {
                throw new IllegalArgumentException("curve knot " + i + " is not finite: value " + values[i] + ", slope " + slopes[i]);
            }
        }
        this.from = from;
        this.to = to;
        this.values = values.clone();
        this.slopes = slopes.clone();
        int n = values.length - 1;
        double step = (to - from) / n;
        scale = (float) (1 / step);
        offset = (float) (-from / step);
        segments = n;
        slopeBelow = (float) (slopes[0] * step);
        slopeAbove = (float) (slopes[n] * step);
        coefficients = new float[4 * n];
        for (int i = 0; i < n; i++) {
            double y0 = values[i];
            double y1 = values[i + 1];
            double m0 = slopes[i] * step;
            double m1 = slopes[i + 1] * step;
            coefficients[4 * i] = (float) y0;
            coefficients[4 * i + 1] = (float) m0;
            coefficients[4 * i + 2] = (float) (3 * (y1 - y0) - 2 * m0 - m1);
            coefficients[4 * i + 3] = (float) (2 * (y0 - y1) + m0 + m1);
        }
    }

    /** The straight line y = x over the usual domain. */
    public static Curve identity() {
        return new Curve(DOMAIN_FROM, DOMAIN_TO, new double[] {DOMAIN_FROM, DOMAIN_TO}, new double[] {1, 1});
    }

    /** The same value everywhere. */
    public static Curve constant(double value) {
        return new Curve(DOMAIN_FROM, DOMAIN_TO, new double[] {value, value}, new double[] {0, 0});
    }

    /**
     * The monotone curve nearest a non-decreasing function: 32 segments over the usual domain, doubled while the curve misses
     * the function by more than {@code tolerance} anywhere on a grid eight times finer than the knots, up to 512.
     *
     * @param function  non-decreasing, finite on -0.07..1.10
     * @param tolerance largest allowed miss, as a level (0.002 is 0.2 %)
     */
    public static Curve fit(DoubleUnaryOperator function, double tolerance) {
        return fit(function, DOMAIN_FROM, DOMAIN_TO, tolerance, true);
    }

    /**
     * As {@link #fit(DoubleUnaryOperator, double)} for a curve that need not rise, such as chroma against luma: slopes are kept
     * between neighbouring knots' secants, so it does not overshoot, and are zero at both ends, so it stays constant beyond them.
     */
    public static Curve fitFlatEnded(DoubleUnaryOperator function, double tolerance) {
        return fit(function, DOMAIN_FROM, DOMAIN_TO, tolerance, false);
    }

    private static Curve fit(DoubleUnaryOperator function, double from, double to, double tolerance, boolean rising) {
        Curve best = null;
        for (int n = 32; n <= MAX_SEGMENTS; n *= 2) {
            double step = (to - from) / n;
            double[] y = new double[n + 1];
            double[] m = new double[n + 1];
            for (int i = 0; i <= n; i++) {
                double x = from + i * step;
                y[i] = function.applyAsDouble(x);
                if (rising && i > 0) {
                    y[i] = Math.max(y[i], y[i - 1]);
                }
            }
            double h = step * 1e-3;
            for (int i = 0; i <= n; i++) {
                double x = from + i * step;
                double low = i == 0 ? x : x - h;
                double high = i == n ? x : x + h;
                m[i] = (function.applyAsDouble(high) - function.applyAsDouble(low)) / (high - low);
            }
            if (!rising) {
                m[0] = 0;
                m[n] = 0;
            }
            limitSlopes(step, y, m);
            best = new Curve(from, to, y, m);
            if (best.largestMiss(function) <= tolerance) {
                break;
            }
        }
        return best;
    }

    /**
     * The monotone curve through given points, resampled on uniform knots.
     *
     * @param x strictly increasing arguments, 2 or more
     * @param y non-decreasing values
     */
    public static Curve through(double[] x, double[] y, double tolerance) {
        return fit(new MonotoneCubic(x, y)::valueAt, tolerance);
    }

    /** Fritsch-Carlson: no segment may overshoot its end values. Slopes are scaled in place. */
    static void limitSlopes(double step, double[] y, double[] m) {
        for (int i = 0; i + 1 < y.length; i++) {
            double secant = (y[i + 1] - y[i]) / step;
            if (secant == 0) {
                m[i] = 0;
                m[i + 1] = 0;
                continue;
            }
            double a = m[i] / secant;
            double b = m[i + 1] / secant;
            if (a < 0) {
                m[i] = 0;
                a = 0;
            }
            if (b < 0) {
                m[i + 1] = 0;
                b = 0;
            }
            double length = a * a + b * b;
            if (length > 9) {
                double t = 3 / Math.sqrt(length);
                m[i] = t * a * secant;
                m[i + 1] = t * b * secant;
            }
        }
    }

    private double largestMiss(DoubleUnaryOperator function) {
        double worst = 0;
        int n = 8 * (values.length - 1);
        for (int i = 0; i <= n; i++) {
            double x = from + (to - from) * i / n;
            worst = Math.max(worst, Math.abs(function.applyAsDouble(x) - at((float) x)));
        }
        return worst;
    }

    /** The curve's value; any finite or infinite argument. */
    public float at(float x) {
        float t = x * scale + offset;
        float inside = t > 0f ? t : 0f;
        inside = inside < segments ? inside : segments;
        int i = (int) inside;
        i = i < (int) segments ? i : (int) segments - 1;
        float f = inside - i;
        int c = 4 * i;
        float y = coefficients[c] + f * (coefficients[c + 1] + f * (coefficients[c + 2] + f * coefficients[c + 3]));
        // Inside the knots the distance is a true zero; it is kept finite, for infinity times a level end would be no number.
        float beyond = Math.min(Math.max(t - inside, -Float.MAX_VALUE), Float.MAX_VALUE);
        return y + beyond * (t < 0f ? slopeBelow : slopeAbove);
    }

    /** Replaces the first {@code count} arguments, all finite, by the curve's values: the same bits as {@link #at}. */
    public void apply(float[] arguments, int count) {
        float[] k = coefficients;
        float scale = this.scale;
        float offset = this.offset;
        float last = segments;
        int lastSegment = (int) last - 1;
        float below = slopeBelow;
        float above = slopeAbove;
        for (int j = 0; j < count; j++) {
            float t = arguments[j] * scale + offset;
            float inside = t > 0f ? t : 0f;
            inside = inside < last ? inside : last;
            int i = (int) inside;
            i = i < lastSegment ? i : lastSegment;
            float f = inside - i;
            int c = 4 * i;
            float y = k[c] + f * (k[c + 1] + f * (k[c + 2] + f * k[c + 3]));
            arguments[j] = y + (t - inside) * (t < 0f ? below : above);
        }
    }

    public double from() {
        return from;
    }

    public double to() {
        return to;
    }

    public int segmentCount() {
        return values.length - 1;
    }

    public double[] values() {
        return values.clone();
    }

    public double[] slopes() {
        return slopes.clone();
    }

    /** Segment coefficients {@code [segments][4]}, lowest power first, in the argument f = 0..1 of the segment. */
    public float[] coefficients() {
        return coefficients.clone();
    }

    /** True when the curve is y = x within float rounding of a level. */
    public boolean isIdentity() {
        for (int i = 0; i < values.length; i++) {
            double x = from + (to - from) * i / (values.length - 1);
            if (Math.abs(values[i] - x) > 1e-7 || Math.abs(slopes[i] - 1) > 1e-6) {
                return false;
            }
        }
        return true;
    }

    /** True when the curve has this value everywhere. */
    public boolean isConstant(double value) {
        for (int i = 0; i < values.length; i++) {
            if (Math.abs(values[i] - value) > 1e-7 || Math.abs(slopes[i]) > 1e-7) {
                return false;
            }
        }
        return true;
    }

    /** True when no value falls below the one before it and every segment is monotone. */
    public boolean isNonDecreasing() {
        double step = (to - from) / (values.length - 1);
        for (int i = 0; i + 1 < values.length; i++) {
            double secant = (values[i + 1] - values[i]) / step;
            if (secant < 0 || slopes[i] < 0 || slopes[i + 1] < 0) {
                return false;
            }
            double a = slopes[i];
            double b = slopes[i + 1];
            // Files round slopes to nine decimals.
            if (a * a + b * b > 9 * secant * secant * (1 + 1e-6) + 1e-12) {
                return false;
            }
        }
        return true;
    }

    @Override
    public boolean equals(Object other) {
        return other instanceof Curve that && from == that.from && to == that.to && Arrays.equals(values, that.values)
            && Arrays.equals(slopes, that.slopes);
    }

    @Override
    public int hashCode() {
        return 31 * Arrays.hashCode(values) + Arrays.hashCode(slopes);
    }
}
