// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.calibrate;

import java.util.ArrayList;
import java.util.Comparator;
import java.util.List;

/**
 * Chooses the blocks to calibrate from: flat ones, for the mean of a textured block is bent by the curve; spread over dark and
 * bright, grey and coloured.
 */
final class SiteChoice {
    private static final int BINS = 32;
    private static final int PER_BIN = 36;
    /** Largest spread inside a block, in stops, as far as the mid-tone slope tells it. */
    private static final double FLAT = 0.4;

    private SiteChoice() {
    }

    private record Candidate(int block, double texture) {
    }

    /** @param moved blocks to leave out */
    static Observations of(List<ExposurePicture> pictures, boolean[] moved, double lowest, double highest, double clipped) {
        ExposurePicture first = pictures.get(0);
        int exposures = pictures.size();
        int n = first.columns * first.rows;
        List<List<Candidate>> bins = new ArrayList<>();
        for (int i = 0; i < 2 * BINS; i++) {
            bins.add(new ArrayList<>());
        }
        for (int i = 0; i < n; i++) {
            if (moved[i]) {
                continue;
            }
            int used = 0;
            double texture = 0;
            double chroma = 0;
            double level = 0;
            for (ExposurePicture p : pictures) {
                level += Math.max(0, Math.min(p.mean[0][i], 1.1)) / exposures;
                if (isUsable(p, i, clipped)) {
                    double slope = StepScale.USUAL_SLOPE * Math.min(1, Math.max(p.mean[0][i], 0.01) / 0.25);
                    if (p.mean[0][i] > lowest && p.mean[0][i] < highest) {
                        texture += p.spread[i] / slope;
                        chroma = Math.max(chroma, Math.abs(p.mean[1][i]) + Math.abs(p.mean[2][i]));
                        used++;
                    }
                }
            }
            if (used < 2 || texture / used > FLAT) {
                continue;
            }
            int bin = Math.min((int) (BINS * Math.sqrt(level / 1.1)), BINS - 1);
            bins.get(2 * bin + (chroma > 0.06 ? 1 : 0)).add(new Candidate(i, texture / used));
        }
        List<Integer> chosen = new ArrayList<>();
        for (List<Candidate> bin : bins) {
            // Flattest first; the block number makes the order one and the same everywhere.
            bin.sort(Comparator.comparingDouble(Candidate::texture).thenComparingInt(Candidate::block));
            for (int k = 0; k < Math.min(PER_BIN, bin.size()); k++) {
                chosen.add(bin.get(k).block);
            }
        }
        double[][][] value = new double[chosen.size()][exposures][3];
        double[][][] sigma = new double[chosen.size()][exposures][2];
        boolean[][] usable = new boolean[chosen.size()][exposures];
        for (int s = 0; s < chosen.size(); s++) {
            int i = chosen.get(s);
            for (int j = 0; j < exposures; j++) {
                ExposurePicture p = pictures.get(j);
                for (int c = 0; c < 3; c++) {
                    value[s][j][c] = p.mean[c][i];
                }
                sigma[s][j][0] = p.lumaSigma[i];
                sigma[s][j][1] = p.chromaSigma[i];
                usable[s][j] = isUsable(p, i, clipped);
            }
        }
        return new Observations(first.standard, value, sigma, usable, false, lowest, highest);
    }

    private static boolean isUsable(ExposurePicture p, int block, double clipped) {
        return p.steady[block] && p.highest[block] < clipped && p.lowest[block] > -0.066;
    }
}
