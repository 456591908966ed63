// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.curve;

import java.util.Arrays;
import java.util.function.DoubleUnaryOperator;
import org.evenstop.engine.level.LumaStandard;

/**
 * A piecewise cubic on uniform knots: the one form in which every curve of a correction is stored, evaluated and sent elsewhere.
 *
 * <p>Between knots it is the cubic Hermite through the two values and slopes. Beyond the first and last knot it goes on as a
 * straight line with the slope of that knot. Evaluation is in {@code float}, in one fixed order, products and their sums in one
 * rounding ({@link Fused}), so that every kernel on every machine comes to the same bits; segment
 * coefficients are computed once, in double. A NaN argument gives NaN; kernels replace NaN before they come here.
 *
 * <p>Monotone curves come from {@link #fit} and {@link #through}, which limit slopes after F. N. Fritsch and R. E. Carlson,
 * "Monotone Piecewise Cubic Interpolation", SIAM J. Numer. Anal. 17(2), 1980.
 */
public final class Curve {
    /** Lowest and highest level that curves of a correction span, as fractions: -7 % and 110 %. */
    public static final double DOMAIN_FROM = -0.07;
    public static final double DOMAIN_TO = 1.10;
    /** Level of code 1019 at 10 bit. */
    private static final double HIGHEST_CODED = (1019 - 64) / 876.0;
    public static final int MIN_SEGMENTS = 1;
    public static final int MAX_SEGMENTS = 512;
    /** Where t = x scale + offset begins: the first knot, half a segment before the first middle. */
    public static final float LOWEST = -0.5f;

    private final double from;
    private final double to;
    private final double[] values;
    private final double[] slopes;

    /**
     * Adding it to a float from -0.5 to below 2^22 rounds to the nearest whole number (halves to even) and leaves that number in
     * the low bits: 1.5 * 2^23.
     */
    public static final float ROUNDER = 12582912f;
    private static final int LOW_BITS = 0x3fffff;

    // What the loops use: t = x * scale + offset runs from -0.5 to segments - 0.5, so that its nearest whole number is the
    // segment and what is left, f = -0.5..0.5, runs from the segment's middle: c0 + f (c1 + f (c2 + f c3)).
    private final float scale;
    private final float offset;
    private final float highest;
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
        offset = (float) (-from / step - 0.5);
        // A hair lower, for the half itself would be rounded to a segment that is not there.
        highest = Math.nextDown(n - 0.5f);
        slopeBelow = (float) (slopes[0] * step);
        slopeAbove = (float) (slopes[n] * step);
        coefficients = new float[4 * n];
        for (int i = 0; i < n; i++) {
            double y0 = values[i];
            double y1 = values[i + 1];
            double m0 = slopes[i] * step;
            double m1 = slopes[i + 1] * step;
            double c2 = 3 * (y1 - y0) - 2 * m0 - m1;
            double c3 = 2 * (y0 - y1) + m0 + m1;
            coefficients[4 * i] = (float) (y0 + m0 / 2 + c2 / 4 + c3 / 8);
            coefficients[4 * i + 1] = (float) (m0 + c2 + 0.75 * c3);
            coefficients[4 * i + 2] = (float) (c2 + 1.5 * c3);
            coefficients[4 * i + 3] = (float) c3;
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
     * As {@link #fit(DoubleUnaryOperator, double)} for a factor of chroma against luma, which need not rise: slopes are kept
     * between neighbouring knots' secants, so it does not overshoot, and are zero at both ends, so it stays constant beyond them.
     * The tolerance is one of level: a miss of the factor counts by how far R', G' and B' can lie from that luma, which is
     * nothing at the ceiling, where every channel is full.
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
            if (best.largestMiss(function, rising ? level -> 1 : Curve::chromaReach) <= tolerance) {
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

    private double largestMiss(DoubleUnaryOperator function, DoubleUnaryOperator weight) {
        double worst = 0;
        int n = 8 * (values.length - 1);
        for (int i = 0; i <= n; i++) {
            double x = from + (to - from) * i / n;
            worst = Math.max(worst, weight.applyAsDouble(x) * Math.abs(function.applyAsDouble(x) - at((float) x)));
        }
        return worst;
    }

    /** The farthest that a channel can lie from a luma when all lie within what a file holds: that of the least weight, blue. */
    private static double chromaReach(double luma) {
        double least = LumaStandard.BT2020.blueWeight();
        double below = (luma - DOMAIN_FROM) / least;
        double above = (HIGHEST_CODED - luma) / least;
        return Math.max(0, Math.min(1, Math.min(below, above)));
    }

    /** The curve's value; any finite or infinite argument. */
    public float at(float x) {
        float t = Fused.multiplyAdd(x, scale, offset);
        float inside = t < LOWEST ? LOWEST : t;
        inside = inside > highest ? highest : inside;
        float rounded = inside + ROUNDER;
        int c = 4 * (Float.floatToRawIntBits(rounded) & LOW_BITS);
        float f = inside - (rounded - ROUNDER);
        float y = Fused.multiplyAdd(f, Fused.multiplyAdd(f, Fused.multiplyAdd(f, coefficients[c + 3], coefficients[c + 2]), coefficients[c + 1]), coefficients[c]);
        // Kept finite, for infinity times a level end would be no number.
        float beyond = Math.min(Math.max(t - inside, -Float.MAX_VALUE), Float.MAX_VALUE);
        return Fused.multiplyAdd(beyond, t < LOWEST ? slopeBelow : slopeAbove, y);
    }

    /** Replaces the first {@code count} arguments, all finite, by the curve's values: the same bits as {@link #at}. */
    public void apply(float[] arguments, int count) {
        apply(arguments, 0, count);
    }

    /** As {@link #apply(float[], int)} for {@code arguments[begin]} to {@code arguments[end - 1]}. */
    public void apply(float[] arguments, int begin, int end) {
        float[] k = coefficients;
        float scale = this.scale;
        float offset = this.offset;
        float highest = this.highest;
        float below = slopeBelow;
        float above = slopeAbove;
        for (int j = begin; j < end; j++) {
            float t = Fused.multiplyAdd(arguments[j], scale, offset);
            if (t >= LOWEST && t <= highest) {
                float rounded = t + ROUNDER;
                int c = 4 * (Float.floatToRawIntBits(rounded) & LOW_BITS);
                float f = t - (rounded - ROUNDER);
                arguments[j] = Fused.multiplyAdd(f, Fused.multiplyAdd(f, Fused.multiplyAdd(f, k[c + 3], k[c + 2]), k[c + 1]), k[c]);
            } else {
                arguments[j] = at(arguments[j]);
            }
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

    /** What a level is multiplied by to count segments; {@link #offset} is added then. */
    public float scale() {
        return scale;
    }

    /** Added to the scaled level: the sum's nearest whole number is the segment's, what is left its argument, -0.5..0.5. */
    public float offset() {
        return offset;
    }

    /** The largest scaled and offset level inside the knots; the smallest is {@link #LOWEST}. */
    public float highest() {
        return highest;
    }

    /** Value per segment before the first knot. */
    public float slopeBelow() {
        return slopeBelow;
    }

    /** Value per segment after the last knot. */
    public float slopeAbove() {
        return slopeAbove;
    }

    /**
     * Copies one coefficient of every segment.
     *
     * @param power 0..3, of the argument -0.5..0.5 from the segment's middle
     * @param into  receives {@link #segmentCount} values from index 0
     */
    public void copyCoefficients(int power, float[] into) {
        for (int i = 0; i < values.length - 1; i++) {
            into[i] = coefficients[4 * i + power];
        }
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
