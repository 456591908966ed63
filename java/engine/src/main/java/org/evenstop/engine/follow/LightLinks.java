// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.follow;

import java.util.Arrays;

/** All comparisons of a clip's frames with each other, brought into agreement by weighted least squares. */
final class LightLinks {
    /** A comparison that misses by this much counts half (Cauchy weights, common practice); in stops. */
    private static final double DOUBTED = 0.04;
    private static final int REWEIGHTINGS = 3;
    private static final int MOST_STEPS = 400;

    private int[] from = new int[512];
    private int[] to = new int[512];
    private double[] stops = new double[512];
    private double[] weight = new double[512];
    private int size;

    /** The light of one frame over that of another, in stops. */
    void add(int first, int second, double ratio, double trust) {
        if (size == from.length) {
            from = Arrays.copyOf(from, 2 * size);
            to = Arrays.copyOf(to, 2 * size);
            stops = Arrays.copyOf(stops, 2 * size);
            weight = Arrays.copyOf(weight, 2 * size);
        }
        from[size] = first;
        to[size] = second;
        stops[size] = ratio;
        weight[size] = trust;
        size++;
    }

    /**
     * Replaces a first guess of each frame's light, in stops, by the values that fit all comparisons best. Frames joined by none keep
     * theirs, and so does the mean of frames that hang together.
     *
     * @param counts frames that take part
     */
    void settle(double[] level, boolean[] counts) {
        double[] w = new double[size];
        for (int round = 0; round <= REWEIGHTINGS; round++) {
            for (int e = 0; e < size; e++) {
                double miss = (level[to[e]] - level[from[e]] - stops[e]) / DOUBTED;
                w[e] = !counts[from[e]] || !counts[to[e]] ? 0 : round == 0 ? weight[e] : weight[e] / (1 + miss * miss);
            }
            solve(level, w);
        }
    }

    /** Conjugate gradients (M. R. Hestenes and E. Stiefel, J. Res. NBS 49(6), 1952), preconditioned by the diagonal. */
    private void solve(double[] level, double[] w) {
        int n = level.length;
        double[] diagonal = new double[n];
        double[] residual = new double[n];
        for (int e = 0; e < size; e++) {
            diagonal[from[e]] += w[e];
            diagonal[to[e]] += w[e];
            double miss = w[e] * (stops[e] - level[to[e]] + level[from[e]]);
            residual[to[e]] += miss;
            residual[from[e]] -= miss;
        }
        double[] direction = new double[n];
        double[] image = new double[n];
        double product = 0;
        for (int i = 0; i < n; i++) {
            direction[i] = diagonal[i] > 0 ? residual[i] / diagonal[i] : 0;
            product += residual[i] * direction[i];
        }
        double enough = 1e-14 * n;
        for (int step = 0; step < MOST_STEPS && product > enough; step++) {
            Arrays.fill(image, 0);
            for (int e = 0; e < size; e++) {
                double flow = w[e] * (direction[to[e]] - direction[from[e]]);
                image[to[e]] += flow;
                image[from[e]] -= flow;
            }
            double curvature = 0;
            for (int i = 0; i < n; i++) {
                curvature += direction[i] * image[i];
            }
            if (!(curvature > 0)) {
                return;
            }
            double length = product / curvature;
            double next = 0;
            for (int i = 0; i < n; i++) {
                level[i] += length * direction[i];
                residual[i] -= length * image[i];
                next += diagonal[i] > 0 ? residual[i] * residual[i] / diagonal[i] : 0;
            }
            double turn = next / product;
            product = next;
            for (int i = 0; i < n; i++) {
                direction[i] = (diagonal[i] > 0 ? residual[i] / diagonal[i] : 0) + turn * direction[i];
            }
        }
    }
}
