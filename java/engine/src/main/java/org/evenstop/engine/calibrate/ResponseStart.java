// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.calibrate;

import java.util.Arrays;

/**
 * A first curve and first steps, by linear least squares: the inverse curve g, the logarithms of the lights and the exposure
 * steps of {@code g(level) = light + step} at once, with g smooth (P. E. Debevec and J. Malik, "Recovering High Dynamic Range
 * Radiance Maps from Photographs", SIGGRAPH 1997; steps among the unknowns as T. Mitsunaga and S. K. Nayar, "Radiometric Self
 * Calibration", CVPR 1999, have them). All three channels share g. Chroma is left as recorded; coloured samples count less.
 *
 * <p>Steps are found up to a factor, since {@code a g} fits as well as g does: the first step is set to 0, the last to 1 here.
 */
final class ResponseStart {
    private static final double FIRST = 0.0;
    private static final double SPACING = 0.02;
    private static final int KNOTS = 56;
    private static final int ROUNDS = 8;

    /** Places of the knots' levels, rising. */
    final double[] places;
    /** Step of each exposure, the first 0, the last 1. */
    final double[] steps;

    private ResponseStart(double[] places, double[] steps) {
        this.places = places;
        this.steps = steps;
    }

    static ResponseStart of(Observations seen) {
        int exposures = seen.exposures;
        int n = KNOTS + exposures;
        double[] g = null;
        double scale = Double.NaN;
        double[] rgb = new double[3];
        double[] levels = new double[exposures];
        double[] weights = new double[exposures];
        double[] residualsKept = new double[3 * seen.sites * exposures];
        for (int round = 0; round < ROUNDS; round++) {
            double[][] a = new double[n][n];
            double[] b = new double[n];
            double total = 0;
            int kept = 0;
            double[] row = new double[n];
            double[] mean = new double[n];
            for (int i = 0; i < seen.sites; i++) {
                for (int c = 0; c < (seen.single ? 1 : 3); c++) {
                    int used = 0;
                    for (int j = 0; j < exposures; j++) {
                        weights[j] = 0;
                        if (!seen.usable[i][j]) {
                            continue;
                        }
                        double[] value = seen.value[i][j];
                        seen.channels(i, j, 1, rgb);
                        double v = rgb[c];
                        levels[j] = v;
                        if (v > seen.lowest && v < seen.highest) {
                            double chroma = Math.abs(value[1]) + Math.abs(value[2]);
                            double dark = Math.min(1, v / 0.2);
                            weights[j] = dark * dark * Math.min(1, (seen.highest - v) / 0.05) / (1 + sq(chroma / 0.08));
                            used++;
                        }
                    }
                    if (used < 2) {
                        continue;
                    }
                    if (g != null) {
                        double centre = 0;
                        double sum = 0;
                        for (int j = 0; j < exposures; j++) {
                            if (weights[j] > 0) {
                                centre += weights[j] * (at(g, levels[j]) - g[KNOTS + j]);
                                sum += weights[j];
                            }
                        }
                        centre /= sum;
                        for (int j = 0; j < exposures; j++) {
                            if (weights[j] > 0) {
                                double r = Math.abs(at(g, levels[j]) - g[KNOTS + j] - centre);
                                residualsKept[kept++] = r;
                                weights[j] /= 1 + sq(r / (2.5 * scale));
                            }
                        }
                    }
                    // The light of the site is eliminated: rows minus their weighted mean.
                    Arrays.fill(mean, 0);
                    double sum = 0;
                    for (int j = 0; j < exposures; j++) {
                        if (weights[j] > 0) {
                            add(mean, levels[j], j, weights[j]);
                            sum += weights[j];
                        }
                    }
                    if (!(sum > 0)) {
                        continue;
                    }
                    total += sum;
                    for (int k = 0; k < n; k++) {
                        mean[k] /= sum;
                    }
                    for (int j = 0; j < exposures; j++) {
                        if (weights[j] == 0) {
                            continue;
                        }
                        Arrays.fill(row, 0);
                        add(row, levels[j], j, 1);
                        for (int k = 0; k < n; k++) {
                            row[k] -= mean[k];
                        }
                        for (int p = 0; p < n; p++) {
                            double w = weights[j] * row[p];
                            if (w != 0) {
                                for (int q = 0; q <= p; q++) {
                                    a[p][q] += w * row[q];
                                }
                            }
                        }
                    }
                }
            }
            // Smoothness in the sense of the paper, relative to the data; then what theory leaves open.
            double smooth = 1e-3 * total / KNOTS;
            for (int k = 1; k + 1 < KNOTS; k++) {
                double w = smooth * sq(Math.min(1, (FIRST + k * SPACING) / 0.3));
                int[] at = {k - 1, k, k + 1};
                double[] d = {1, -2, 1};
                for (int p = 0; p < 3; p++) {
                    for (int q = 0; q <= p; q++) {
                        a[at[p]][at[q]] += (w + 1e-9 * total) * d[p] * d[q];
                    }
                }
            }
            pin(a, b, (int) Math.round((0.4 - FIRST) / SPACING), 0, total);
            pin(a, b, KNOTS, 0, total);
            pin(a, b, n - 1, 1, 100 * total);
            for (int k = 0; k < n; k++) {
                a[k][k] += 1e-12 * total;
            }
            double[] solved = NormalEquations.solve(a, b);
            if (solved == null) {
                return null;
            }
            g = solved;
            if (kept > 0) {
                Arrays.sort(residualsKept, 0, kept);
                scale = Math.max(1.48 * residualsKept[kept / 2], 1e-4);
            } else {
                scale = 0.05;
            }
        }
        double[] places = Arrays.copyOf(g, KNOTS);
        for (int k = 1; k < KNOTS; k++) {
            places[k] = Math.max(places[k], places[k - 1] + 1e-4);
        }
        return new ResponseStart(places, Arrays.copyOfRange(g, KNOTS, n));
    }

    private static void pin(double[][] a, double[] b, int k, double value, double weight) {
        a[k][k] += weight;
        b[k] += weight * value;
    }

    private static void add(double[] row, double level, int exposure, double weight) {
        double t = (level - FIRST) / SPACING;
        int k = Math.max(0, Math.min((int) Math.floor(t), KNOTS - 2));
        double f = t - k;
        row[k] += weight * (1 - f);
        row[k + 1] += weight * f;
        row[KNOTS + exposure] -= weight;
    }

    private static double at(double[] g, double level) {
        double t = (level - FIRST) / SPACING;
        int k = Math.max(0, Math.min((int) Math.floor(t), KNOTS - 2));
        return g[k] + (t - k) * (g[k + 1] - g[k]);
    }

    private static double sq(double x) {
        return x * x;
    }

    /** Place of a level, in units of the whole span of steps, 0 at 40 %. */
    double placeOf(double level) {
        return at(places, level);
    }

    /** Rise of level per unit of place between 35 and 50 %. */
    double midSlope() {
        return 0.15 / (placeOf(0.50) - placeOf(0.35));
    }

    /** Level of a place; beyond the knots that were reached it falls as light does, or rises evenly. */
    double levelOf(double place, double unitsToStops, double lowest, double highest) {
        double low = placeOf(lowest);
        double high = placeOf(highest);
        if (place < low) {
            return lowest * Math.pow(2, Math.max((place - low) * unitsToStops, -30));
        }
        if (place > high) {
            double slope = 0.06 / Math.max(high - placeOf(highest - 0.06), 1e-3);
            return highest + slope * (place - high);
        }
        double a = lowest;
        double b = highest;
        for (int i = 0; i < 50; i++) {
            double middle = 0.5 * (a + b);
            if (placeOf(middle) < place) {
                a = middle;
            } else {
                b = middle;
            }
        }
        return 0.5 * (a + b);
    }
}
