// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.solve;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.util.Arrays;
import java.util.List;
import java.util.Random;
import org.evenstop.engine.frame.PlanarFrame;
import org.evenstop.engine.json.EvenstopFiles;
import org.evenstop.engine.profile.Profile;
import org.junit.jupiter.api.Test;

/** Skin is never pulled towards one shade: a face keeps the level it has beside others, alone in a scene and with another in one picture. */
class SkinShadesTest {
    private static final int WIDTH = 240;
    private static final int HEIGHT = 160;
    private static final Profile CINEMA = EvenstopFiles.profile("cinema-soft");
    /** Linear light of the ColorChecker's light and dark skin (D. Pascale, 2006). */
    private static final double[] LIGHT = {0.56833, 0.29268, 0.21835};
    private static final double[] DARK = {0.17310, 0.08212, 0.05674};

    /** Greens and greys of fixed grain, with a face on the left, one on the right, or both; null leaves the place to the greens. */
    private static Bracket scene(double[] left, double[] right) {
        float[][] light = new float[3][WIDTH * HEIGHT];
        Random random = new Random(77);
        for (int i = 0; i < WIDTH * HEIGHT; i++) {
            double u = i % WIDTH / (double) WIDTH;
            double v = i / WIDTH / (double) HEIGHT;
            double[] face = inside(u, v, 0.3) ? left : inside(u, v, 0.7) ? right : null;
            double[] c = face != null ? face : v < 0.3 ? new double[] {0.5, 0.55, 0.62} : new double[] {0.11, 0.15, 0.07};
            double grain = Math.pow(2, (face != null ? 0.15 : 1.2) * random.nextGaussian());
            for (int k = 0; k < 3; k++) {
                light[k][i] = (float) (c[k] * grain);
            }
        }
        return new Bracket(WIDTH, HEIGHT, light);
    }

    private static boolean inside(double u, double v, double centre) {
        return Math.hypot((u - centre) * 1.5, v - 0.55) < 0.16;
    }

    private static double[] times(double[] colour, double stops) {
        return Arrays.stream(colour).map(c -> c * Math.pow(2, stops)).toArray();
    }

    private static Correction solved(PlanarFrame frame, String preset) {
        return Solver.solve(Bracket.measure(frame, "faces"), CINEMA, EvenstopFiles.preset(preset));
    }

    /** Median luma in percent of the face about a place. */
    private static double level(PlanarFrame f, double centre) {
        double[] lumas = new double[WIDTH * HEIGHT];
        int n = 0;
        for (int y = 0; y < HEIGHT; y++) {
            for (int x = 0; x < WIDTH; x++) {
                if (inside(x / (double) WIDTH, y / (double) HEIGHT, centre)) {
                    lumas[n++] = 100 * f.depth().levelOfCode(f.lumaCode(x, y));
                }
            }
        }
        Arrays.sort(lumas, 0, n);
        return lumas[n / 2];
    }

    /** Two faces that both lie inside the preset's range get one exposure, whichever of them is there; each keeps its own level. */
    @Test
    void shadesInsideTheRangeAreLeftWhereTheyAre() {
        for (String preset : List.of("even", "face")) {
            Preset p = EvenstopFiles.preset(preset);
            double[] levels = new double[2];
            double[] stops = new double[2];
            double[][] shades = {times(DARK, 1.9), times(LIGHT, 0.7)};
            for (int i = 0; i < 2; i++) {
                PlanarFrame frame = scene(shades[i], null).shoot(CINEMA, 0, true, 5);
                Correction correction = solved(frame, preset);
                levels[i] = level(Bracket.corrected(frame, correction), 0.3);
                stops[i] = correction.origin().stops();
                assertTrue(levels[i] > p.skinFrom() && levels[i] < p.skinTo(), preset + ": the test wants skin inside the range, found " + levels[i]);
            }
            assertTrue(levels[1] - levels[0] > 6, preset + ": " + Arrays.toString(levels));
            assertEquals(stops[0], stops[1], 0.08, preset + ": the shade of the face moved the exposure");
        }
    }

    /** Both in one picture: the stops of light between them stay what they are, at every exposure. */
    @Test
    void facesBesideEachOtherKeepTheirDistance() {
        Bracket both = scene(DARK, LIGHT);
        double apart = Math.log(luma(LIGHT) / luma(DARK)) / Math.log(2);
        for (String preset : List.of("even", "face", "airy")) {
            for (double exposure : new double[] {-2, 0, 1}) {
                PlanarFrame frame = both.shoot(CINEMA, exposure, true, 6);
                PlanarFrame result = Bracket.corrected(frame, solved(frame, preset));
                double dark = level(result, 0.3);
                double light = level(result, 0.7);
                double left = Math.log(CINEMA.lightOfLevel(light / 100) / CINEMA.lightOfLevel(dark / 100)) / Math.log(2);
                // The stretch may set them a little further apart, as it does everything; nothing may bring them together.
                assertTrue(left >= apart - 0.1 && left <= apart + 0.4, preset + " at " + exposure + " stops: dark " + dark + " %, light " + light + " %, " + left + " stops apart, shot " + apart);
            }
        }
    }

    private static double luma(double[] c) {
        return 0.2126 * c[0] + 0.7152 * c[1] + 0.0722 * c[2];
    }

    /** Outside the range each goes towards the end that is nearer to it, not to a level of their own. */
    @Test
    void shadesOutsideTheRangeGoToTheNearerEnd() {
        Preset face = EvenstopFiles.preset("face");
        double[] levels = new double[2];
        double[][] shades = {times(DARK, -0.2), times(LIGHT, 1.2)};
        for (int i = 0; i < 2; i++) {
            PlanarFrame frame = scene(shades[i], null).shoot(CINEMA, 0, true, 7);
            // The same preset without an eye for skin shows where the face would lie by itself.
            Preset blind = face.withSubject(Subject.LANDSCAPE);
            double alone = level(Bracket.corrected(frame, Solver.solve(Bracket.measure(frame, "faces"), CINEMA, blind)), 0.3);
            assertTrue(i == 0 ? alone < face.skinFrom() : alone > face.skinTo(), "the test wants skin outside the range, found " + alone);
            levels[i] = level(Bracket.corrected(frame, solved(frame, "face")), 0.3);
            assertTrue(i == 0 ? levels[i] > alone : levels[i] < alone, levels[i] + " after " + alone);
        }
        assertTrue(levels[0] <= face.skinFrom() + 1, "dark skin was taken past the lower end: " + levels[0]);
        assertTrue(levels[1] >= face.skinTo() - 1, "light skin was taken past the upper end: " + levels[1]);
    }
}
