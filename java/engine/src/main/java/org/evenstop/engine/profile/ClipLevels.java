// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.profile;

import java.util.Arrays;
import java.util.List;
import org.evenstop.engine.level.LumaStandard;
import org.evenstop.engine.measure.Measurement;
import org.evenstop.engine.measure.PixelSample;

/** The levels of one clip, sorted, without the chroma that each chroma curve would have put in: ready to be compared. */
final class ClipLevels {
    /** Pixels looked at; the comparison needs quantiles only. */
    private static final int PIXELS = 12_288;
    /** Shares of the picture at which levels are compared. */
    static final double[] RANKS = ranks();

    final Measurement measurement;
    final double medianLuma;
    /** {@code [chroma curve][3 channels][rank]} level fractions. */
    final float[][][] quantiles;

    ClipLevels(Measurement measurement, List<Profile> chromaCurves) {
        this.measurement = measurement;
        PixelSample sample = measurement.sample();
        LumaStandard standard = sample.standard();
        int step = Math.max(1, sample.size() / PIXELS);
        int n = (sample.size() + step - 1) / step;
        float[] luma = new float[n];
        float[][] level = new float[3][n];
        for (int i = 0, j = 0; i < sample.size(); i += step, j++) {
            for (int c = 0; c < 3; c++) {
                level[c][j] = (float) sample.level(i, c);
            }
            luma[j] = (float) standard.luma(level[0][j], level[1][j], level[2][j]);
        }
        quantiles = new float[chromaCurves.size()][3][];
        float[] bare = new float[n];
        for (int curve = 0; curve < chromaCurves.size(); curve++) {
            float[] undo = undoTable(chromaCurves.get(curve));
            for (int c = 0; c < 3; c++) {
                for (int j = 0; j < n; j++) {
                    int at = Math.min(Math.max((int) (luma[j] * 512 + 64), 0), undo.length - 1);
                    bare[j] = luma[j] + undo[at] * (level[c][j] - luma[j]);
                }
                Arrays.sort(bare);
                quantiles[curve][c] = new float[RANKS.length];
                for (int r = 0; r < RANKS.length; r++) {
                    quantiles[curve][c][r] = bare[(int) (RANKS[r] * (n - 1))];
                }
            }
        }
        Arrays.sort(luma);
        medianLuma = luma[n / 2];
    }

    private static float[] undoTable(Profile profile) {
        float[] undo = new float[64 + 600];
        for (int i = 0; i < undo.length; i++) {
            undo[i] = (float) (1 / profile.chromaFactor((i - 63.5) / 512));
        }
        return undo;
    }

    private static double[] ranks() {
        double[] ranks = new double[50];
        for (int i = 0; i < 48; i++) {
            ranks[i] = 0.01 + 0.98 * i / 47;
        }
        ranks[48] = 0.995;
        ranks[49] = 0.998;
        return ranks;
    }
}
