// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.calibrate;

import java.util.Arrays;

/**
 * Refines curve, chroma factors, steps and the lights of all sites together, so that what the camera model predicts comes nearest
 * to what was recorded: weighted least squares in level (so noise counts as it fell, also in the dark), Gauss-Newton with
 * Marquardt's damping, the lights of each site eliminated (Schur complement), outliers weighted down after Cauchy's function.
 *
 * <p>The model of a site at light x (stops, three channels) and step e: {@code v = P(x + e)}, {@code Y' = w v}, recorded are
 * Y', s(Y') (R - Y') and s(Y') (B - Y').
 *
 * <p>What theory leaves open is held (M. D. Grossberg and S. K. Nayar, PAMI 25(11), 2003): the steps by the caller's expectation of
 * them, for they fit with any exponent; bumps of P that repeat every step of an even bracket by the cost of third differences,
 * whose magnitude counts, not its square, which lets a knee stay sharp. Factors on chroma can be traded for the scene's own
 * chroma where P is a power or a logarithm of light; elsewhere its bend tells them, so s is only expected to be near 1 at 40 % luma.
 */
final class ResponseFit {
    private static final double OUTLIER = 3;
    /** Cost of roughness: this times the magnitude of third differences of the tone coefficients... */
    private static final double ROUGHNESS_COST = 3000;
    /** ...rounded off below these, round by round less. */
    private static final double[] ROUGHNESS = {0.01, 0.003, 0.001, 0.0003};
    /** Standard error of the expectation that the chroma factor is 1 at 40 % luma, in its logarithm. */
    private static final double CHROMA_HELD = 0.1;
    private static final double HELD_SIGMA = 1e-4;
    /** Least standard error of a level: what texture and the model itself leave. */
    private static final double SIGMA_FLOOR = 0.0004;

    private final Observations seen;
    private final double[] expected;
    private final double[] expectedSigma;
    private final boolean chromaFree;
    private final double[][] held;

    Response response;
    double[] steps;
    /** {@code [site][3]} (or 1), stops. */
    final double[][] lights;
    final boolean[][] counts;
    final boolean[] siteCounts;
    /** Factor on all standard errors that makes the residuals' size agree with them. */
    double sigmaScale = 1;
    private double roughness = ROUGHNESS[0];

    private final int toneCount;
    private final int unknowns;
    private final int channels;

    // Work space for one observation.
    private final double[] rgb = new double[3];
    private final double[] v = new double[3];
    private final double[] d = new double[3];
    private final int[] segment = new int[3];
    private final double[][] weights = new double[3][4];
    private final double[][] byLevel = new double[3][3];
    private final double[] residual = new double[3];
    private int chromaAt;
    private double chromaFraction;
    private double factor;
    private double differenceRed;
    private double differenceBlue;

    /**
     * @param expected      step of each exposure
     * @param expectedSigma how far it may lie off in stops; infinite where nothing is expected
     * @param chromaFree    estimate the chroma factors
     */
    ResponseFit(Observations seen, Response start, double[] steps, double[] expected, double[] expectedSigma, boolean chromaFree) {
        this.seen = seen;
        this.response = start.copy();
        this.steps = steps.clone();
        this.expected = expected.clone();
        this.expectedSigma = expectedSigma.clone();
        this.chromaFree = chromaFree;
        held = heldMeans();
        toneCount = start.tone.length;
        unknowns = toneCount + Response.CHROMA_KNOTS + seen.exposures;
        channels = seen.single ? 1 : 3;
        lights = new double[seen.sites][channels];
        counts = new boolean[seen.sites][seen.exposures];
        siteCounts = new boolean[seen.sites];
        startLights();
    }

    /** Mean and slope of the expected steps' misses, over those that are expected: shift and exponent, which data can not tell. */
    private double[][] heldMeans() {
        double n = 0;
        double mean = 0;
        for (int j = 0; j < expected.length; j++) {
            if (Double.isFinite(expectedSigma[j])) {
                n++;
                mean += expected[j];
            }
        }
        mean /= n;
        double square = 0;
        for (int j = 0; j < expected.length; j++) {
            square += Double.isFinite(expectedSigma[j]) ? sq(expected[j] - mean) : 0;
        }
        double[][] rows = new double[2][expected.length];
        for (int j = 0; j < expected.length; j++) {
            if (Double.isFinite(expectedSigma[j])) {
                rows[0][j] = 1 / n;
                rows[1][j] = (expected[j] - mean) / square;
            }
        }
        return rows;
    }

    private void startLights() {
        double[] sum = new double[3];
        double[] weight = new double[3];
        double last = response.to;
        for (int i = 0; i < seen.sites; i++) {
            Arrays.fill(sum, 0);
            Arrays.fill(weight, 0);
            for (int j = 0; j < seen.exposures; j++) {
                if (!seen.usable[i][j]) {
                    continue;
                }
                seen.channels(i, j, response.chromaFactor(seen.value[i][j][0]), rgb);
                for (int c = 0; c < channels; c++) {
                    if (rgb[c] > seen.lowest && rgb[c] < seen.highest) {
                        double x = response.stopsOf(rgb[c], response.from, last);
                        double slope = Math.max(response.slope(x), 1e-4);
                        sum[c] += slope * slope * (x - steps[j]);
                        weight[c] += slope * slope;
                    }
                }
            }
            siteCounts[i] = true;
            for (int c = 0; c < channels; c++) {
                siteCounts[i] &= weight[c] > 0;
                lights[i][c] = sum[c] / weight[c];
            }
        }
    }

    /** Decides anew which observations count, and by how much standard errors were too small; then iterates. */
    void run(int rounds, int iterations) {
        for (int round = 0; round < rounds; round++) {
            gate();
            rescale();
            roughness = ROUGHNESS[Math.min(round, ROUGHNESS.length - 1)];
            iterate(iterations);
        }
        gate();
        rescale();
    }

    private void gate() {
        for (int i = 0; i < seen.sites; i++) {
            int used = 0;
            for (int j = 0; j < seen.exposures; j++) {
                counts[i][j] = false;
                if (!seen.usable[i][j] || !siteCounts[i]) {
                    continue;
                }
                boolean inside = true;
                for (int c = 0; c < channels; c++) {
                    double x = lights[i][c] + steps[j];
                    double level = response.level(x);
                    inside &= x > response.from && x < response.to && level > seen.lowest && level < seen.highest;
                }
                counts[i][j] = inside;
                used += inside ? 1 : 0;
            }
            if (used < 2) {
                Arrays.fill(counts[i], false);
            }
        }
    }

    private void rescale() {
        double[] sizes = new double[seen.sites * seen.exposures];
        int n = 0;
        for (int i = 0; i < seen.sites; i++) {
            for (int j = 0; j < seen.exposures; j++) {
                if (counts[i][j]) {
                    predict(i, j, response, steps[j], lights[i]);
                    sizes[n++] = Math.sqrt(squaredError(i, j, 1));
                }
            }
        }
        if (n == 0) {
            sigmaScale = 1;
            return;
        }
        Arrays.sort(sizes, 0, n);
        // Median of the length of 1 (of 3) standard normal deviates: 0.67 (1.54).
        sigmaScale = Math.max(1, sizes[n / 2] / (seen.single ? 0.67 : 1.54));
    }

    /** Fills levels and residuals of an observation. */
    private void predict(int site, int exposure, Response curve, double step, double[] light) {
        double luma = 0;
        for (int c = 0; c < 3; c++) {
            double x = light[channels == 1 ? 0 : c] + step;
            if (channels == 1 && c > 0) {
                v[c] = v[0];
            } else {
                v[c] = curve.level(x);
            }
        }
        luma = seen.standard.luma(v[0], v[1], v[2]);
        double[] value = seen.value[site][exposure];
        residual[0] = value[0] - luma;
        if (channels == 3) {
            chromaAt = Response.chromaKnot(luma);
            chromaFraction = Response.chromaFraction(luma, chromaAt);
            factor = Math.exp(curve.logChroma[chromaAt]
                + chromaFraction * (curve.logChroma[chromaAt + 1] - curve.logChroma[chromaAt]));
            differenceRed = v[0] - luma;
            differenceBlue = v[2] - luma;
            residual[1] = value[1] - factor * differenceRed;
            residual[2] = value[2] - factor * differenceBlue;
        } else {
            residual[1] = 0;
            residual[2] = 0;
        }
    }

    private double sigma(int site, int exposure, int part) {
        return Math.sqrt(sq(seen.sigma[site][exposure][part == 0 ? 0 : 1]) + sq(SIGMA_FLOOR));
    }

    private double squaredError(int site, int exposure, double scale) {
        double lumaSigma = scale * sigma(site, exposure, 0);
        double chromaSigma = scale * sigma(site, exposure, 1);
        return sq(residual[0] / lumaSigma) + (sq(residual[1]) + sq(residual[2])) / sq(chromaSigma);
    }

    private double cost(Response curve, double[] atSteps, double[][] atLights) {
        double cost = 0;
        for (int i = 0; i < seen.sites; i++) {
            for (int j = 0; j < seen.exposures; j++) {
                if (counts[i][j]) {
                    predict(i, j, curve, atSteps[j], atLights[i]);
                    cost += sq(OUTLIER) * Math.log1p(squaredError(i, j, sigmaScale) / sq(OUTLIER));
                }
            }
        }
        for (int k = 0; k + 3 < toneCount; k++) {
            cost += 2 * ROUGHNESS_COST * (Math.hypot(thirdDifference(curve.tone, k), roughness) - roughness);
        }
        for (int k = 0; k + 2 < Response.CHROMA_KNOTS; k++) {
            cost += sq((curve.logChroma[k] - 2 * curve.logChroma[k + 1] + curve.logChroma[k + 2]) / 0.05);
        }
        for (int k = 0; k + 1 < Response.CHROMA_KNOTS; k++) {
            cost += sq((curve.logChroma[k + 1] - curve.logChroma[k]) / 0.3);
        }
        cost += sq(curve.logChroma[Response.CHROMA_PINNED] / CHROMA_HELD);
        for (int j = 0; j < seen.exposures; j++) {
            cost += sq((atSteps[j] - expected[j]) / expectedSigma[j]);
        }
        for (double[] row : held) {
            double miss = 0;
            for (int j = 0; j < row.length; j++) {
                miss += row[j] * (atSteps[j] - expected[j]);
            }
            cost += sq(miss / HELD_SIGMA);
        }
        return cost;
    }

    private static double thirdDifference(double[] a, int k) {
        return a[k + 3] - 3 * a[k + 2] + 3 * a[k + 1] - a[k];
    }

    private void iterate(int iterations) {
        double damping = 1e-3;
        double before = cost(response, steps, lights);
        for (int iteration = 0; iteration < iterations; iteration++) {
            boolean better = false;
            double gained = 0;
            for (int attempt = 0; attempt < 6 && !better; attempt++) {
                Response curve = response.copy();
                double[] newSteps = steps.clone();
                double[][] newLights = new double[seen.sites][];
                for (int i = 0; i < seen.sites; i++) {
                    newLights[i] = lights[i].clone();
                }
                if (step(damping, curve, newSteps, newLights)) {
                    double after = cost(curve, newSteps, newLights);
                    if (after < before) {
                        better = true;
                        gained = before - after;
                        before = after;
                        response = curve;
                        steps = newSteps;
                        for (int i = 0; i < seen.sites; i++) {
                            lights[i] = newLights[i];
                        }
                    }
                }
                damping = better ? Math.max(damping / 10, 1e-12) : Math.max(damping * 10, 1e-8);
            }
            if (!better || gained < 1e-7 * before) {
                return;
            }
        }
    }

    /** One damped step of Gauss-Newton, added to curve, steps and lights. */
    private boolean step(double damping, Response curve, double[] newSteps, double[][] newLights) {
        int n = unknowns;
        int chromaFrom = toneCount;
        int stepsFrom = toneCount + Response.CHROMA_KNOTS;
        double[][] a = new double[n][n];
        double[] b = new double[n];
        double[][][] coupling = new double[seen.sites][][];
        int[][] columns = new int[seen.sites][];
        double[][][] inverse = new double[seen.sites][][];
        double[][] siteRight = new double[seen.sites][];
        double[][] w = new double[channels][n];
        int[] index = new int[15];
        double[][] jacobian = new double[3][15];
        double[][] byLight = new double[3][3];
        double[] wr = {seen.standard.redWeight(), seen.standard.greenWeight(), seen.standard.blueWeight()};
        for (int i = 0; i < seen.sites; i++) {
            double[][] u = new double[channels][channels];
            boolean any = false;
            double[] right = new double[channels];
            for (int j = 0; j < seen.exposures; j++) {
                if (!counts[i][j]) {
                    continue;
                }
                any = true;
                predict(i, j, response, steps[j], lights[i]);
                double robust = 1 / (1 + squaredError(i, j, sigmaScale) / sq(OUTLIER));
                double lumaWeight = robust / sq(sigmaScale * sigma(i, j, 0));
                double chromaWeight = robust / sq(sigmaScale * sigma(i, j, 1));
                int parts = channels == 1 ? 1 : 3;
                double chromaSlope = channels == 1 ? 0
                    : factor * (response.logChroma[chromaAt + 1] - response.logChroma[chromaAt]) / Response.CHROMA_STEP;
                int entries = 0;
                for (int c = 0; c < channels; c++) {
                    double x = lights[i][c] + steps[j];
                    segment[c] = response.segmentOf(x);
                    Response.basis(response.fraction(x, segment[c]), weights[c]);
                    d[c] = response.slope(x);
                    byLevel[0][c] = channels == 1 ? 1 : wr[c];
                    if (channels == 3) {
                        byLevel[1][c] = factor * ((c == 0 ? 1 : 0) - wr[c]) + chromaSlope * wr[c] * differenceRed;
                        byLevel[2][c] = factor * ((c == 2 ? 1 : 0) - wr[c]) + chromaSlope * wr[c] * differenceBlue;
                    }
                    for (int q = 0; q < 4; q++) {
                        index[entries] = segment[c] + q;
                        for (int p = 0; p < parts; p++) {
                            jacobian[p][entries] = byLevel[p][c] * weights[c][q];
                        }
                        entries++;
                    }
                }
                index[entries] = stepsFrom + j;
                for (int p = 0; p < parts; p++) {
                    jacobian[p][entries] = 0;
                    for (int c = 0; c < channels; c++) {
                        byLight[p][c] = byLevel[p][c] * d[c];
                        jacobian[p][entries] += byLight[p][c];
                    }
                }
                entries++;
                if (channels == 3 && chromaFree) {
                    for (int q = 0; q < 2; q++) {
                        double hat = q == 0 ? 1 - chromaFraction : chromaFraction;
                        index[entries] = chromaFrom + chromaAt + q;
                        jacobian[0][entries] = 0;
                        jacobian[1][entries] = factor * differenceRed * hat;
                        jacobian[2][entries] = factor * differenceBlue * hat;
                        entries++;
                    }
                }
                for (int p = 0; p < parts; p++) {
                    double weight = p == 0 ? lumaWeight : chromaWeight;
                    double[] row = jacobian[p];
                    for (int s = 0; s < entries; s++) {
                        double ws = weight * row[s];
                        double[] target = a[index[s]];
                        for (int t = 0; t < entries; t++) {
                            target[index[t]] += ws * row[t];
                        }
                        b[index[s]] += ws * residual[p];
                        for (int c = 0; c < channels; c++) {
                            w[c][index[s]] += ws * byLight[p][c];
                        }
                    }
                    for (int c = 0; c < channels; c++) {
                        double wc = weight * byLight[p][c];
                        right[c] += wc * residual[p];
                        for (int e = 0; e < channels; e++) {
                            u[c][e] += wc * byLight[p][e];
                        }
                    }
                }
            }
            if (!any) {
                continue;
            }
            for (int c = 0; c < channels; c++) {
                u[c][c] = u[c][c] * (1 + damping) + 1e-9;
            }
            double[][] inv = channels == 1 ? new double[][] {{1 / u[0][0]}} : invert(u);
            // Most columns of the coupling are 0: keep the others.
            int filled = 0;
            int[] at = new int[n];
            for (int k = 0; k < n; k++) {
                boolean filledHere = false;
                for (int c = 0; c < channels; c++) {
                    filledHere |= w[c][k] != 0;
                }
                if (filledHere) {
                    at[filled++] = k;
                }
            }
            at = Arrays.copyOf(at, filled);
            double[][] packed = new double[channels][filled];
            double[][] half = new double[channels][filled];
            for (int c = 0; c < channels; c++) {
                for (int k = 0; k < filled; k++) {
                    packed[c][k] = w[c][at[k]];
                }
                Arrays.fill(w[c], 0);
            }
            for (int c = 0; c < channels; c++) {
                for (int k = 0; k < filled; k++) {
                    for (int e = 0; e < channels; e++) {
                        half[c][k] += inv[c][e] * packed[e][k];
                    }
                }
            }
            columns[i] = at;
            coupling[i] = packed;
            inverse[i] = inv;
            siteRight[i] = right;
            for (int c = 0; c < channels; c++) {
                for (int p = 0; p < filled; p++) {
                    double f = packed[c][p];
                    double[] target = a[at[p]];
                    for (int q = 0; q < filled; q++) {
                        target[at[q]] -= f * half[c][q];
                    }
                    b[at[p]] -= half[c][p] * right[c];
                }
            }
        }
        addPenalties(a, b, chromaFrom, stepsFrom);
        for (int k = 0; k < n; k++) {
            a[k][k] = a[k][k] * (1 + damping) + 1e-6;
        }
        double[] change = NormalEquations.solve(a, b);
        if (change == null) {
            return false;
        }
        for (int k = 0; k < toneCount; k++) {
            curve.tone[k] += change[k];
        }
        for (int k = 0; k < Response.CHROMA_KNOTS; k++) {
            curve.logChroma[k] = Math.max(-2, Math.min(curve.logChroma[k] + change[chromaFrom + k], 1.3));
        }
        for (int j = 0; j < newSteps.length; j++) {
            newSteps[j] += change[stepsFrom + j];
        }
        for (int i = 0; i < seen.sites; i++) {
            if (coupling[i] == null) {
                continue;
            }
            double[] left = siteRight[i].clone();
            for (int c = 0; c < channels; c++) {
                for (int k = 0; k < columns[i].length; k++) {
                    left[c] -= coupling[i][c][k] * change[columns[i][k]];
                }
            }
            for (int c = 0; c < channels; c++) {
                double move = 0;
                for (int e = 0; e < channels; e++) {
                    move += inverse[i][c][e] * left[e];
                }
                newLights[i][c] += Math.max(-1, Math.min(move, 1));
            }
        }
        return true;
    }

    private void addPenalties(double[][] a, double[] b, int chromaFrom, int stepsFrom) {
        double[] third = {-1, 3, -3, 1};
        for (int k = 0; k + 3 < toneCount; k++) {
            double difference = thirdDifference(response.tone, k);
            double w = ROUGHNESS_COST / Math.hypot(difference, roughness);
            addPenalty(a, b, k, third, w, difference);
        }
        double[] c = response.logChroma;
        double[] second = {1, -2, 1};
        for (int k = 0; k + 2 < Response.CHROMA_KNOTS; k++) {
            addPenalty(a, b, chromaFrom + k, second, 1 / sq(0.05), c[k] - 2 * c[k + 1] + c[k + 2]);
        }
        double[] firstDifference = {-1, 1};
        for (int k = 0; k + 1 < Response.CHROMA_KNOTS; k++) {
            addPenalty(a, b, chromaFrom + k, firstDifference, 1 / sq(0.3), c[k + 1] - c[k]);
        }
        double[] one = {1};
        addPenalty(a, b, chromaFrom + Response.CHROMA_PINNED, one, 1 / sq(CHROMA_HELD), c[Response.CHROMA_PINNED]);
        for (int j = 0; j < seen.exposures; j++) {
            addPenalty(a, b, stepsFrom + j, one, 1 / sq(expectedSigma[j]), steps[j] - expected[j]);
        }
        for (double[] row : held) {
            double miss = 0;
            for (int j = 0; j < row.length; j++) {
                miss += row[j] * (steps[j] - expected[j]);
            }
            addPenalty(a, b, stepsFrom, row, 1 / sq(HELD_SIGMA), miss);
        }
    }

    private static void addPenalty(double[][] a, double[] b, int from, double[] row, double weight, double value) {
        for (int p = 0; p < row.length; p++) {
            for (int q = 0; q < row.length; q++) {
                a[from + p][from + q] += weight * row[p] * row[q];
            }
            b[from + p] -= weight * row[p] * value;
        }
    }

    private static double[][] invert(double[][] m) {
        double c00 = m[1][1] * m[2][2] - m[1][2] * m[2][1];
        double c01 = m[1][2] * m[2][0] - m[1][0] * m[2][2];
        double c02 = m[1][0] * m[2][1] - m[1][1] * m[2][0];
        double det = m[0][0] * c00 + m[0][1] * c01 + m[0][2] * c02;
        double f = 1 / det;
        return new double[][] {
            {f * c00, f * (m[0][2] * m[2][1] - m[0][1] * m[2][2]), f * (m[0][1] * m[1][2] - m[0][2] * m[1][1])},
            {f * c01, f * (m[0][0] * m[2][2] - m[0][2] * m[2][0]), f * (m[0][2] * m[1][0] - m[0][0] * m[1][2])},
            {f * c02, f * (m[0][1] * m[2][0] - m[0][0] * m[2][1]), f * (m[0][0] * m[1][1] - m[0][1] * m[1][0])}};
    }

    /** Residuals of luma and the two differences as level fractions, and in [3] the squared size against its standard error. */
    double[] residuals(int site, int exposure) {
        predict(site, exposure, response, steps[exposure], lights[site]);
        return new double[] {residual[0], residual[1], residual[2], squaredError(site, exposure, sigmaScale)};
    }

    private static double sq(double x) {
        return x * x;
    }
}
