// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.solve;

import java.util.Random;
import org.evenstop.engine.frame.AlphaState;
import org.evenstop.engine.frame.Components;
import org.evenstop.engine.frame.PackedFrame;
import org.evenstop.engine.frame.PlanarFrame;
import org.evenstop.engine.frame.SampleDepth;
import org.evenstop.engine.kernel.ScalarKernel;
import org.evenstop.engine.measure.Measurement;
import org.evenstop.engine.measure.Skin;
import org.evenstop.engine.profile.Profile;

/** One scene shot at -2 to +2 stops through one profile, each exposure measured, solved and corrected, and what came of it. */
final class Exposures {
    /** EBU R 103 v3.0 (May 2020), Annex 1, Table 1: codes 20 to 984 at 10 bit for R', G' and B'. */
    private static final double R103_LOW = -44.0 / 876;
    private static final double R103_HIGH = 920.0 / 876;
    static final int[] STOPS = {-2, -1, 0, 1, 2};

    final Bracket scene;
    final Profile profile;
    final Preset preset;
    final PlanarFrame[] shot = new PlanarFrame[STOPS.length];
    final Correction[] correction = new Correction[STOPS.length];
    final PlanarFrame[] result = new PlanarFrame[STOPS.length];
    private final PlanarFrame rightWithoutNoise;

    Exposures(Bracket scene, Profile profile, Preset preset) {
        this.scene = scene;
        this.profile = profile;
        this.preset = preset;
        for (int i = 0; i < STOPS.length; i++) {
            shot[i] = scene.shoot(profile, STOPS[i], true, 100 + i);
            correction[i] = Solver.solve(Bracket.measure(shot[i], "shot"), profile, preset);
            result[i] = Bracket.corrected(shot[i], correction[i]);
        }
        rightWithoutNoise = Bracket.corrected(scene.shoot(profile, 0, false, 0), correction[2]);
    }

    /** Mean CIEDE2000 between the result of one exposure and that of the right one, on 8x8 block means of what both recorded. */
    double differenceFromRight(int i) {
        boolean[] counts = scene.recorded(profile, STOPS[i]);
        boolean[] right = scene.recorded(profile, 0);
        for (int p = 0; p < counts.length; p++) {
            counts[p] &= right[p];
        }
        return Bracket.difference(result[i], result[2], counts)[0];
    }

    /**
     * Share of the picture that was inside and comes out outside: of the range of EBU R 103 in R', G' or B', or in luma of the
     * preset's highlight level plus 2 %.
     */
    double newlyClipped(int i) {
        return newlyClipped(shot[i], result[i], preset);
    }

    static double newlyClipped(PlanarFrame before, PlanarFrame after, Preset preset) {
        int lost = 0;
        double most = (preset.highlightLevel() + 2) / 100;
        for (int y = 0; y < before.height(); y++) {
            for (int x = 0; x < before.width(); x++) {
                lost += isInside(before, x, y, most) && !isInside(after, x, y, most) ? 1 : 0;
            }
        }
        return lost / (double) (before.width() * before.height());
    }

    private static boolean isInside(PlanarFrame f, int x, int y, double mostLuma) {
        double[] rgb = Bracket.rgb(f, x, y);
        for (double v : rgb) {
            if (v < R103_LOW || v > R103_HIGH) {
                return false;
            }
        }
        return f.depth().levelOfCode(f.lumaCode(x, y)) <= mostLuma;
    }

    /**
     * Mean turn of hue in degrees of pixels that count as skin in the right exposure's result and were recorded in both; NaN where
     * they are fewer than 200. Pixels under 10 % of luma are left out: their chroma is a few codes, of which one turns the hue by several
     * degrees, so what is measured there is rounding. The right exposure is taken without noise here: chosen by a noisy hue, pixels at the edge of the
     * sector would seem to turn out of it by themselves.
     */
    double skinTurn(int i) {
        return skinTurn(scene, profile, STOPS[i], result[i], rightWithoutNoise);
    }

    /**
     * The same for any two pictures of a scene.
     *
     * @param a result of an exposure
     * @param b what the right exposure comes to, without noise
     */
    static double skinTurn(Bracket scene, Profile profile, double stops, PlanarFrame a, PlanarFrame b) {
        boolean[] recorded = scene.recorded(profile, stops);
        boolean[] right = scene.recorded(profile, 0);
        double sum = 0;
        int n = 0;
        for (int p = 0; p < recorded.length; p++) {
            int x = p % a.width();
            int y = p / a.width();
            double cb = b.depth().chromaOfCode(b.cbCode(x, y));
            double cr = b.depth().chromaOfCode(b.crCode(x, y));
            double luma = b.depth().levelOfCode(b.lumaCode(x, y));
            if (!recorded[p] || !right[p] || luma < 0.10 || !Skin.counts(luma, cb, cr)) {
                continue;
            }
            double turn = Math.toDegrees(Math.atan2(a.depth().chromaOfCode(a.crCode(x, y)), a.depth().chromaOfCode(a.cbCode(x, y))) - Math.atan2(cr, cb));
            sum += turn > 180 ? turn - 360 : turn < -180 ? turn + 360 : turn;
            n++;
        }
        return n < 200 ? Double.NaN : sum / n;
    }

    /** Share of pixels with a channel at the camera's ceiling. */
    double lost(int i) {
        int n = 0;
        boolean[] recorded = scene.recorded(profile, STOPS[i]);
        for (boolean r : recorded) {
            n += r ? 0 : 1;
        }
        return n / (double) recorded.length;
    }

    /** Mean change of luma (fraction) when the result is measured, solved and corrected once more. */
    double changeWhenDoneTwice(int i) {
        Measurement again = Bracket.measure(result[i], "result");
        return meanLumaChange(result[i], Bracket.corrected(result[i], Solver.solve(again, profile, preset)));
    }

    static double meanLumaChange(PlanarFrame a, PlanarFrame b) {
        double sum = 0;
        for (int y = 0; y < a.height(); y++) {
            for (int x = 0; x < a.width(); x++) {
                sum += Math.abs(a.depth().levelOfCode(a.lumaCode(x, y)) - b.depth().levelOfCode(b.lumaCode(x, y)));
            }
        }
        return sum / a.width() / a.height();
    }

    /** Invented scenes, always at hand: 0 a meadow under a sky with a person, 1 an interior with a window, 2 a garden, 3 a night street with lamps. */
    static Bracket invented(int which, int width, int height) {
        float[][] light = new float[3][width * height];
        Random random = new java.util.Random(which);
        double[][] grain = smoothNoise(width, height, random);
        for (int y = 0; y < height; y++) {
            for (int x = 0; x < width; x++) {
                double u = x / (double) width;
                double v = y / (double) height;
                double g = grain[y][x];
                double face = Math.hypot((u - 0.5) * 1.6, v - 0.5);
                double[] c;
                switch (which) {
                    case 0 -> c = v < 0.35 ? new double[] {0.45 + 0.2 * v, 0.55 + 0.2 * v, 0.72} : new double[] {0.06, 0.10, 0.03};
                    case 1 -> c = u > 0.75 && v < 0.5 ? new double[] {0.8, 0.85, 0.95} : new double[] {0.20, 0.15, 0.10};
                    case 2 -> c = new double[] {0.10 + 0.25 * Math.abs(Math.sin(9 * u)), 0.18, 0.05 + 0.2 * Math.abs(Math.cos(7 * v))};
                    default -> c = new double[] {0.012, 0.011, 0.014};
                }
                if (which < 2 && face < 0.16) {
                    // Linear light of the ColorChecker's light and dark skin (D. Pascale, 2006).
                    c = which == 0 ? new double[] {0.568, 0.293, 0.218} : new double[] {0.173, 0.082, 0.057};
                    double shade = 0.6 + 0.5 * (0.16 - face) / 0.16;
                    c = new double[] {c[0] * shade, c[1] * shade, c[2] * shade};
                }
                if (which == 3 && Math.hypot(u % 0.25 - 0.12, v - 0.4) < 0.02) {
                    c = new double[] {0.9, 0.7, 0.4};
                }
                for (int k = 0; k < 3; k++) {
                    light[k][y * width + x] = (float) (c[k] * Math.pow(2, 1.6 * g));
                }
            }
        }
        return new Bracket(width, height, light);
    }

    /** Values about -1 to 1 with structure at several sizes. */
    private static double[][] smoothNoise(int width, int height, Random random) {
        double[][] sum = new double[height][width];
        for (int cell = 64; cell >= 4; cell /= 2) {
            int columns = width / cell + 2;
            double[] nodes = new double[columns * (height / cell + 2)];
            for (int i = 0; i < nodes.length; i++) {
                nodes[i] = random.nextDouble() - 0.5;
            }
            for (int y = 0; y < height; y++) {
                for (int x = 0; x < width; x++) {
                    int i = y / cell * columns + x / cell;
                    double fx = x % cell / (double) cell;
                    double fy = y % cell / (double) cell;
                    double top = nodes[i] + fx * (nodes[i + 1] - nodes[i]);
                    double bottom = nodes[i + columns] + fx * (nodes[i + columns + 1] - nodes[i + columns]);
                    sum[y][x] += (top + fy * (bottom - top)) * cell / 48.0;
                }
            }
        }
        return sum;
    }

    /** Whether greys from -10 to 115 % come out exactly grey. */
    static boolean staysGrey(Correction correction) {
        PackedFrame frame = PackedFrame.allocate(4097, 1, Components.RGB, SampleDepth.FLOAT, AlphaState.OPAQUE);
        for (int i = 0; i < 3 * 4097; i++) {
            frame.memory().putFloat(4 * i, -0.1f + 1.25f * (i / 3) / 4096);
        }
        new ScalarKernel().apply(frame, frame, 0, 1, correction, 1);
        for (int i = 0; i < 4097; i++) {
            float r = frame.memory().getFloat(12 * i);
            if (r != frame.memory().getFloat(12 * i + 4) || r != frame.memory().getFloat(12 * i + 8)) {
                return false;
            }
        }
        return true;
    }
}
