// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.follow;

import java.util.Arrays;

/**
 * Local parabolas through a track of light over time, weighted by nearness and robustly: W. S. Cleveland, "Robust Locally
 * Weighted Regression", JASA 74(368), 1979. A drift slower than about a second passes unchanged; flicker and single flashes do
 * not. Frames need not be evenly spaced.
 */
final class TrackSmoother {
    /** Reach to either side in seconds, and in frames where they are few (own choices, no source). */
    private static final double REACH = 0.25;
    private static final double REACH_FRAMES = 3.5;
    private static final int ROBUST_ROUNDS = 2;
    private static final double LEAST_SPREAD = 0.004;

    private TrackSmoother() {
    }

    /**
     * @param seconds rising
     * @param stops   as many
     */
    static double[] smoothed(double[] seconds, double[] stops) {
        int n = stops.length;
        if (n < 4) {
            return stops.clone();
        }
        double[] gaps = new double[n - 1];
        for (int i = 0; i + 1 < n; i++) {
            gaps[i] = seconds[i + 1] - seconds[i];
        }
        Arrays.sort(gaps);
        double reach = Math.max(REACH, REACH_FRAMES * gaps[gaps.length / 2]);
        double[] trust = new double[n];
        Arrays.fill(trust, 1);
        double[] smooth = pass(seconds, stops, trust, reach);
        double[] miss = new double[n];
        for (int round = 0; round < ROBUST_ROUNDS; round++) {
            for (int i = 0; i < n; i++) {
                miss[i] = Math.abs(stops[i] - smooth[i]);
            }
            double[] sorted = miss.clone();
            Arrays.sort(sorted);
            double bound = 6 * Math.max(sorted[n / 2], LEAST_SPREAD);
            for (int i = 0; i < n; i++) {
                double u = miss[i] / bound;
                trust[i] = u < 1 ? (1 - u * u) * (1 - u * u) : 0;
            }
            smooth = pass(seconds, stops, trust, reach);
        }
        return smooth;
    }

    private static double[] pass(double[] seconds, double[] stops, double[] trust, double reach) {
        int n = stops.length;
        double[] smooth = new double[n];
        int from = 0;
        for (int i = 0; i < n; i++) {
            while (seconds[i] - seconds[from] >= reach) {
                from++;
            }
            double[] s = new double[5];
            double[] v = new double[3];
            for (int j = from; j < n && seconds[j] - seconds[i] < reach; j++) {
                double t = (seconds[j] - seconds[i]) / reach;
                double near = 1 - Math.abs(t * t * t);
                double w = near * near * near * trust[j];
                for (int k = 0; k < 5; k++) {
                    s[k] += w;
                    if (k < 3) {
                        v[k] += w * stops[j];
                    }
                    w *= t;
                }
            }
            smooth[i] = middle(s, v, stops[i]);
        }
        return smooth;
    }

    /** The parabola's value at 0; a line's or a mean's where there are too few frames for one. */
    private static double middle(double[] s, double[] v, double alone) {
        double m0 = s[2] * s[4] - s[3] * s[3];
        double m1 = s[2] * s[3] - s[1] * s[4];
        double m2 = s[1] * s[3] - s[2] * s[2];
        double determinant = s[0] * m0 + s[1] * m1 + s[2] * m2;
        if (determinant > 1e-6 * s[0] * s[0] * s[0]) {
            return (m0 * v[0] + m1 * v[1] + m2 * v[2]) / determinant;
        }
        double line = s[0] * s[2] - s[1] * s[1];
        if (line > 1e-6 * s[0] * s[0]) {
            return (s[2] * v[0] - s[1] * v[1]) / line;
        }
        return s[0] > 1e-6 ? v[0] / s[0] : alone;
    }
}
