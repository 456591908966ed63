// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.curve;

/**
 * Monotone C1 interpolation through points at any spacing, in double precision; straight beyond the ends.
 * Source: F. N. Fritsch and R. E. Carlson, SIAM J. Numer. Anal. 17(2), 1980. The limiter is applied to three-point slopes.
 */
public final class MonotoneCubic {
    /** As many for each point. */
    private static final int CELLS = 4;

    private final double[] x;
    private final double[] y;
    private final double[] slope;
    /** Of each segment, of its cubic by the share of the way through it: the factors of the first, second and third power. */
    private final double[] first;
    private final double[] second;
    private final double[] third;
    /** For cells of equal width the first segment that reaches into it, and cells an argument. */
    private final int[] begins;
    private final double perArgument;

    /**
     * @param x strictly increasing, 2 or more, finite
     * @param y as many, finite; where y rises (falls) between two points the curve rises (falls) all the way
     */
    public MonotoneCubic(double[] x, double[] y) {
        if (x.length != y.length || x.length < 2) {
            throw new IllegalArgumentException("interpolation needs as many values as arguments, 2 or more; there are "
                + x.length + " arguments and " + y.length + " values");
        }
        for (int i = 0; i < x.length; i++) {
            if (!Double.isFinite(x[i]) || !Double.isFinite(y[i]) || i > 0 && x[i] <= x[i - 1]) {
                throw new IllegalArgumentException("interpolation point " + i + " (" + x[i] + ", " + y[i]
                    + ") must be finite and its argument above the one before");
            }
        }
        this.x = x.clone();
        this.y = y.clone();
        int n = x.length;
        double[] h = new double[n - 1];
        double[] d = new double[n - 1];
        for (int i = 0; i < n - 1; i++) {
            h[i] = x[i + 1] - x[i];
            d[i] = (y[i + 1] - y[i]) / h[i];
        }
        slope = new double[n];
        slope[0] = n == 2 ? d[0] : end(h[0], h[1], d[0], d[1]);
        slope[n - 1] = n == 2 ? d[0] : end(h[n - 2], h[n - 3], d[n - 2], d[n - 3]);
        for (int i = 1; i < n - 1; i++) {
            slope[i] = d[i - 1] * d[i] <= 0 ? 0 : (h[i] * d[i - 1] + h[i - 1] * d[i]) / (h[i - 1] + h[i]);
        }
        for (int i = 0; i < n - 1; i++) {
            if (d[i] == 0) {
                slope[i] = 0;
                slope[i + 1] = 0;
                continue;
            }
            double a = slope[i] / d[i];
            double b = slope[i + 1] / d[i];
            double length = a * a + b * b;
            if (length > 9) {
                double t = 3 / Math.sqrt(length);
                slope[i] = t * a * d[i];
                slope[i + 1] = t * b * d[i];
            }
        }
        first = new double[n - 1];
        second = new double[n - 1];
        third = new double[n - 1];
        for (int i = 0; i < n - 1; i++) {
            double m0 = slope[i] * h[i];
            double m1 = slope[i + 1] * h[i];
            double dy = y[i + 1] - y[i];
            first[i] = m0;
            second[i] = 3 * dy - 2 * m0 - m1;
            third[i] = m0 + m1 - 2 * dy;
        }
        begins = new int[CELLS * n + 1];
        perArgument = CELLS * n / (x[n - 1] - x[0]);
        for (int cell = 0, i = 0; cell < begins.length; cell++) {
            while (i < n - 2 && cellOf(x[i + 1]) < cell) {
                i++;
            }
            begins[cell] = i;
        }
    }

    private int cellOf(double at) {
        return Math.min((int) ((at - x[0]) * perArgument), begins.length - 1);
    }

    /** Three-point end slope, kept on the side of its own secant. */
    private static double end(double h0, double h1, double d0, double d1) {
        double m = ((2 * h0 + h1) * d0 - h0 * d1) / (h0 + h1);
        if (m * d0 <= 0) {
            return 0;
        }
        return d0 * d1 <= 0 && Math.abs(m) > 3 * Math.abs(d0) ? 3 * d0 : m;
    }

    public double valueAt(double at) {
        int n = x.length;
        if (at <= x[0]) {
            return y[0] + (at - x[0]) * slope[0];
        }
        if (at >= x[n - 1]) {
            return y[n - 1] + (at - x[n - 1]) * slope[n - 1];
        }
        return valueIn(segment(at), at);
    }

    private double valueIn(int i, double at) {
        double f = (at - x[i]) / (x[i + 1] - x[i]);
        return y[i] + f * (first[i] + f * (second[i] + f * third[i]));
    }

    /**
     * The argument at which a strictly rising curve has this value, to double precision (bisection guarding Newton steps).
     * Beyond the ends the straight continuation is inverted; an end slope of 0 gives that end.
     */
    public double argumentOf(double value) {
        int n = x.length;
        if (value <= y[0]) {
            return slope[0] > 0 ? x[0] + (value - y[0]) / slope[0] : x[0];
        }
        if (value >= y[n - 1]) {
            return slope[n - 1] > 0 ? x[n - 1] + (value - y[n - 1]) / slope[n - 1] : x[n - 1];
        }
        int low = 0;
        int high = n - 1;
        while (high - low > 1) {
            int middle = (low + high) >>> 1;
            if (y[middle] <= value) {
                low = middle;
            } else {
                high = middle;
            }
        }
        double a = x[low];
        double b = x[low + 1];
        for (int i = 0; i < 80 && b - a > 1e-15 * Math.max(1, Math.abs(a)); i++) {
            double middle = 0.5 * (a + b);
            if (valueIn(low, middle) <= value) {
                a = middle;
            } else {
                b = middle;
            }
        }
        return 0.5 * (a + b);
    }

    private int segment(double at) {
        int i = begins[cellOf(at)];
        while (i < x.length - 2 && x[i + 1] <= at) {
            i++;
        }
        return i;
    }

    public double slopeAtStart() {
        return slope[0];
    }

    public double slopeAtEnd() {
        return slope[slope.length - 1];
    }
}
