// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.curve;

/**
 * Monotone C1 interpolation through points at any spacing, in double precision; straight beyond the ends.
 * Source: F. N. Fritsch and R. E. Carlson, SIAM J. Numer. Anal. 17(2), 1980. The limiter is applied to three-point slopes.
 */
public final class MonotoneCubic {
    private final double[] x;
    private final double[] y;
    private final double[] slope;

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
        int i = segment(at);
        double h = x[i + 1] - x[i];
        double f = (at - x[i]) / h;
        double m0 = slope[i] * h;
        double m1 = slope[i + 1] * h;
        double dy = y[i + 1] - y[i];
        return y[i] + f * (m0 + f * (3 * dy - 2 * m0 - m1 + f * (m0 + m1 - 2 * dy)));
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
            if (valueAt(middle) <= value) {
                a = middle;
            } else {
                b = middle;
            }
        }
        return 0.5 * (a + b);
    }

    private int segment(double at) {
        int low = 0;
        int high = x.length - 1;
        while (high - low > 1) {
            int middle = (low + high) >>> 1;
            if (x[middle] <= at) {
                low = middle;
            } else {
                high = middle;
            }
        }
        return low;
    }

    public double slopeAtStart() {
        return slope[0];
    }

    public double slopeAtEnd() {
        return slope[slope.length - 1];
    }
}
