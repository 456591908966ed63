// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.calibrate;

import java.util.Arrays;
import java.util.List;

/**
 * Comparison of exposures whose pictures do not register: equal shares of a histogram hold the same lights, whatever moved
 * (intensity mapping functions; M. D. Grossberg and S. K. Nayar, "Determining the Camera Response from Images: What Is
 * Knowable?", PAMI 25(11), 2003). Each percentile of R, of G and of B, chroma undone, is a site of a single channel.
 */
final class HistogramSites {
    private static final int PERCENTILES = 120;
    /** Standard error of a percentile's level: what came into the picture or left it. */
    private static final double SIGMA = 0.003;
    private static final int ZONES = 24;
    private static final int CHROMA_SAMPLE = 12_000;

    private HistogramSites() {
    }

    static Observations of(List<ExposurePicture> pictures, Response response, double lowest, double highest) {
        ExposurePicture first = pictures.get(0);
        int exposures = pictures.size();
        double[][][] value = new double[3 * PERCENTILES][exposures][3];
        double[][][] sigma = new double[3 * PERCENTILES][exposures][2];
        boolean[][] usable = new boolean[3 * PERCENTILES][exposures];
        double[] rgb = new double[3];
        for (int j = 0; j < exposures; j++) {
            ExposurePicture p = pictures.get(j);
            int n = p.sample[0].length;
            double[][] channels = new double[3][n];
            for (int i = 0; i < n; i++) {
                channels(p, i, response.chromaFactor(p.sample[0][i]), rgb);
                for (int c = 0; c < 3; c++) {
                    channels[c][i] = rgb[c];
                }
            }
            for (int c = 0; c < 3; c++) {
                Arrays.sort(channels[c]);
                for (int q = 0; q < PERCENTILES; q++) {
                    double at = (q + 0.5) / PERCENTILES * n;
                    // Mean over the percentile's share, so that steps of the histogram do not matter.
                    int from = Math.max(0, (int) (at - 0.4 * n / PERCENTILES));
                    int to = Math.min(n, Math.max(from + 1, (int) (at + 0.4 * n / PERCENTILES)));
                    double sum = 0;
                    for (int k = from; k < to; k++) {
                        sum += channels[c][k];
                    }
                    int site = c * PERCENTILES + q;
                    value[site][j][0] = sum / (to - from);
                    sigma[site][j][0] = SIGMA;
                    sigma[site][j][1] = SIGMA;
                    usable[site][j] = true;
                }
            }
        }
        return new Observations(first.standard, value, sigma, usable, true, lowest, highest);
    }

    private static void channels(ExposurePicture p, int block, double factor, double[] rgb) {
        double y = p.sample[0][block];
        double r = p.sample[1][block] / factor;
        double b = p.sample[2][block] / factor;
        rgb[0] = y + r;
        rgb[1] = y - (p.standard.redWeight() * r + p.standard.blueWeight() * b) / p.standard.greenWeight();
        rgb[2] = y + b;
    }

    /**
     * Chroma factors from how much chroma each zone of luma holds: what exposure a shows, re-exposed to exposure b by the curve,
     * against what b shows there; linear least squares on the logarithms.
     *
     * @param steps stops of each exposure
     */
    static void updateChroma(List<ExposurePicture> pictures, Response response, double[] steps, double lowest, double highest) {
        int n = Response.CHROMA_KNOTS;
        double[][] a = new double[n][n];
        double[] right = new double[n];
        double[] rgb = new double[3];
        double[] hat = new double[n];
        double total = 0;
        double zoneWidth = 1.1 / ZONES;
        for (int j = 0; j < steps.length; j++) {
            ExposurePicture to = pictures.get(j);
            double[] shown = new double[ZONES];
            double[] shownCount = new double[ZONES];
            int toStep = Math.max(1, to.sample[0].length / CHROMA_SAMPLE);
            for (int i = 0; i < to.sample[0].length; i += toStep) {
                double y = to.sample[0][i];
                int zone = (int) Math.floor(y / zoneWidth);
                channels(to, i, response.chromaFactor(y), rgb);
                if (zone >= 0 && zone < ZONES && inside(rgb, lowest, highest)) {
                    shown[zone] += Math.hypot(to.sample[1][i], to.sample[2][i]);
                    shownCount[zone]++;
                }
            }
            for (int k = Math.max(0, j - 1); k <= Math.min(steps.length - 1, j + 1); k++) {
                if (k == j) {
                    continue;
                }
                ExposurePicture from = pictures.get(k);
                double[] due = new double[ZONES];
                double[] dueCount = new double[ZONES];
                double[][] sourceHats = new double[ZONES][n];
                int fromStep = Math.max(1, from.sample[0].length / CHROMA_SAMPLE);
                for (int i = 0; i < from.sample[0].length; i += fromStep) {
                    double y = from.sample[0][i];
                    channels(from, i, response.chromaFactor(y), rgb);
                    if (!inside(rgb, lowest, highest)) {
                        continue;
                    }
                    for (int c = 0; c < 3; c++) {
                        double x = response.stopsOf(rgb[c], response.from, response.to);
                        rgb[c] = response.level(x + steps[j] - steps[k]);
                    }
                    if (!inside(rgb, lowest, highest)) {
                        continue;
                    }
                    double luma = from.standard.luma(rgb[0], rgb[1], rgb[2]);
                    int zone = (int) Math.floor(luma / zoneWidth);
                    if (zone < 0 || zone >= ZONES) {
                        continue;
                    }
                    // With the factor of where it came from multiplied in again: what would be due were s 1 in both places.
                    double chroma = Math.hypot(rgb[0] - luma, rgb[2] - luma);
                    due[zone] += chroma;
                    dueCount[zone]++;
                    addHat(sourceHats[zone], y, chroma);
                }
                for (int zone = 0; zone < ZONES; zone++) {
                    double ratio = shownCount[zone] / Math.max(dueCount[zone], 1);
                    if (dueCount[zone] < 20 || ratio < 0.8 || ratio > 1.25 || due[zone] < 0.01 * dueCount[zone]) {
                        continue;
                    }
                    // log s(here) - mean log s(there) = log(shown / due) - mean log s(there) as it was when due was reckoned.
                    Arrays.fill(hat, 0);
                    addHat(hat, (zone + 0.5) * zoneWidth, 1);
                    double before = 0;
                    for (int m = 0; m < n; m++) {
                        double share = sourceHats[zone][m] / due[zone];
                        before += share * response.logChroma[m];
                        hat[m] -= share;
                    }
                    double wanted = Math.log(shown[zone] / shownCount[zone] / (due[zone] / dueCount[zone])) - before;
                    double weight = Math.sqrt(dueCount[zone]);
                    total += weight;
                    for (int p = 0; p < n; p++) {
                        for (int q = 0; q < n; q++) {
                            a[p][q] += weight * hat[p] * hat[q];
                        }
                        right[p] += weight * hat[p] * wanted;
                    }
                }
            }
        }
        if (total == 0) {
            return;
        }
        for (int k = 0; k + 2 < n; k++) {
            double[] second = {1, -2, 1};
            for (int p = 0; p < 3; p++) {
                for (int q = 0; q < 3; q++) {
                    a[k + p][k + q] += 0.2 * total * second[p] * second[q];
                }
            }
        }
        for (int k = 0; k < n; k++) {
            a[k][k] += 1e-6 * total;
        }
        a[Response.CHROMA_PINNED][Response.CHROMA_PINNED] += 1e3 * total;
        double[] solved = NormalEquations.solve(a, right);
        if (solved != null) {
            for (int k = 0; k < n; k++) {
                response.logChroma[k] = Math.max(-2, Math.min(solved[k], 1.3));
            }
        }
    }

    private static void addHat(double[] row, double luma, double weight) {
        int m = Response.chromaKnot(luma);
        double f = Response.chromaFraction(luma, m);
        row[m] += weight * (1 - f);
        row[m + 1] += weight * f;
    }

    private static boolean inside(double[] rgb, double lowest, double highest) {
        for (double v : rgb) {
            if (!(v > lowest && v < highest)) {
                return false;
            }
        }
        return true;
    }
}
