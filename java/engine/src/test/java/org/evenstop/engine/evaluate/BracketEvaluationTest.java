// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.evaluate;

import static org.junit.jupiter.api.Assertions.assertArrayEquals;
import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertNotEquals;
import static org.junit.jupiter.api.Assertions.assertSame;
import static org.junit.jupiter.api.Assertions.assertThrows;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.util.List;
import java.util.Map;
import org.evenstop.engine.InputException;
import org.evenstop.engine.colour.Ciede2000;
import org.evenstop.engine.colour.Lab;
import org.evenstop.engine.evaluate.BracketEvaluation.Exposed;
import org.evenstop.engine.frame.PlanarFrame;
import org.evenstop.engine.json.EvenstopFiles;
import org.evenstop.engine.level.CodeDepth;
import org.evenstop.engine.profile.Profile;
import org.evenstop.engine.profile.ProfileShapes;
import org.evenstop.engine.solve.Preset;
import org.evenstop.engine.solve.Solver;
import org.junit.jupiter.api.Test;

/** The ground truth of an evaluation: scenes, cameras, differences, and the whole on an invented scene. */
class BracketEvaluationTest {
    private static final Preset EVEN = EvenstopFiles.preset("even");

    /** Soft patches in many colours over some six stops. */
    private static Scene patches() {
        int w = 240;
        int h = 160;
        float[][] light = new float[3][w * h];
        for (int y = 0; y < h; y++) {
            for (int x = 0; x < w; x++) {
                double base = 0.18 * Math.pow(2, 2.2 * Math.sin(x / 19.0) * Math.cos(y / 13.0) + 0.6 * Math.sin(y / 41.0));
                light[0][y * w + x] = (float) (base * (1 + 0.35 * Math.sin(x / 31.0 + 1)));
                light[1][y * w + x] = (float) base;
                light[2][y * w + x] = (float) (base * (1 + 0.35 * Math.cos(y / 23.0)));
            }
        }
        return new Scene(w, h, light);
    }

    @Test
    void aStillIsUndoneAndAveraged() {
        int[] rgb = new int[8 * 8];
        for (int i = 0; i < 64; i++) {
            rgb[i] = (i % 2 == 0 ? 0xFFFFFF : 0x000000) | 0xFF000000;
        }
        Scene scene = Scene.ofSrgb(8, 8, rgb, 16);
        assertEquals(4, scene.width());
        assertEquals(4, scene.height());
        for (float[] plane : scene.light()) {
            for (float l : plane) {
                assertEquals(0.5f, l, 1e-6f);
            }
        }
        assertEquals(0.2140f, Scene.ofSrgb(1, 1, new int[] {0x7F7F7F}, 100).light()[1][0], 2e-3f);
    }

    /** What a profile says is what lands in the codes, and the ceiling is where recording ends. */
    @Test
    void theCameraRecordsWhatItsProfileSays() {
        Profile profile = ProfileShapes.cinemaSoft();
        float[] grey = {0.18f, 0.36f, 0.045f, 40f};
        Scene scene = new Scene(4, 1, new float[][] {grey, grey.clone(), grey.clone()});
        for (CodeDepth depth : List.of(CodeDepth.BITS8, CodeDepth.BITS10)) {
            SceneCamera camera = new SceneCamera(profile, depth, 0, 0);
            for (int stops = -2; stops <= 2; stops++) {
                PlanarFrame f = camera.shoot(scene, stops, 1);
                for (int x = 0; x < 4; x++) {
                    double code = depth.codeOfLevel(profile.levelOfLight(grey[x] * Math.pow(2, stops)));
                    assertEquals(Math.min(code, depth.highestVideoCode()), f.lumaCode(x, 0), 0.5001);
                    assertEquals(depth.achromaticCode(), f.cbCode(x, 0));
                    assertEquals(depth.achromaticCode(), f.crCode(x, 0));
                }
            }
            assertArrayEquals(new boolean[] {true, true, true, false}, camera.recorded(scene, 0));
            assertArrayEquals(new boolean[] {true, true, true, false}, camera.recorded(scene, -2));
        }
    }

    @Test
    void noiseIsOfTheStatedSize() {
        float[] plane = new float[20_000];
        java.util.Arrays.fill(plane, 0.18f);
        Scene scene = new Scene(200, 100, new float[][] {plane, plane, plane});
        // A profile that is a straight line where it matters here.
        Profile profile = ProfileShapes.screen("straight", "", "");
        PlanarFrame f = SceneCamera.noisy(profile, CodeDepth.BITS10).shoot(scene, 0, 5);
        double slope = (profile.levelOfLight(0.181) - profile.levelOfLight(0.179)) / 0.002;
        double light = Math.sqrt(0.0006 * 0.0006 + 0.004 * 0.004 * 0.18);
        double wanted = light * slope * Math.sqrt(0.2126 * 0.2126 + 0.7152 * 0.7152 + 0.0722 * 0.0722) * 876;
        double sum = 0;
        double squares = 0;
        for (int i = 0; i < 20_000; i++) {
            int code = f.lumaCode(i % 200, i / 200);
            sum += code;
            squares += (double) code * code;
        }
        double sigma = Math.sqrt(squares / 20_000 - sum / 20_000 * sum / 20_000);
        // Rounding to codes adds a twelfth to the variance; 4 % is eight standard errors of 20,000 pixels.
        assertEquals(Math.sqrt(wanted * wanted + 1 / 12.0), sigma, 0.04 * sigma);
    }

    @Test
    void differenceOfEvenPicturesIsThatOfTheirColours() {
        PlanarFrame a = even(500, 520, 500);
        PlanarFrame b = even(540, 510, 505);
        boolean[] counts = new boolean[256];
        java.util.Arrays.fill(counts, true);
        double[] one = BlockDifference.rgb(a, 3, 3);
        double[] two = BlockDifference.rgb(b, 3, 3);
        double wanted = Ciede2000.difference(Lab.ofBt709(one[0], one[1], one[2]), Lab.ofBt709(two[0], two[1], two[2]));
        BlockDifference d = BlockDifference.of(a, b, counts);
        assertEquals(4, d.blocks());
        assertEquals(wanted, d.mean(), 1e-9);
        assertEquals(wanted, d.p95(), 1e-9);
        assertEquals(0, BlockDifference.of(a, a, counts).mean(), 0);
        // A block counts where half of its pixels do.
        for (int i = 0; i < 256; i++) {
            counts[i] = i % 16 < 8 && i / 16 < 5;
        }
        assertEquals(1, BlockDifference.of(a, b, counts).blocks());
    }

    private static PlanarFrame even(int luma, int cb, int cr) {
        PlanarFrame f = new SceneCamera(ProfileShapes.srgbScreen(), CodeDepth.BITS10, 0, 0)
            .shoot(new Scene(16, 16, new float[3][256]), 0, 1);
        for (int i = 0; i < 256; i++) {
            f.setLumaCode(i % 16, i / 16, luma);
            f.setCbCode(i % 16, i / 16, cb);
            f.setCrCode(i % 16, i / 16, cr);
        }
        return f;
    }

    /** Any seed gives a profile that its class accepts, with chroma that never rises; nine in ten are told by their tone curve alone. */
    @Test
    void inventionsAreLawfulAndOfTheirFamily() {
        for (Family family : Family.values()) {
            int told = 0;
            for (long seed = 0; seed < 200; seed++) {
                Profile p = family.invent(seed);
                told += Family.of(p) == family ? 1 : 0;
                assertEquals(109.02, 100 * p.ceiling(), 0.01, p.name());
                for (int i = 1; i < p.chromaFactors().length; i++) {
                    assertTrue(p.chromaFactors()[i] <= p.chromaFactors()[i - 1] + 1e-12, p.name());
                }
            }
            assertTrue(told >= 180, family + " told " + told);
            assertArrayEquals(family.invent(7).levels(), family.invent(7).levels());
            assertNotEquals(family.invent(7).levels()[20], family.invent(8).levels()[20]);
            assertSame(family, Family.of(family.shipped()));
        }
    }

    /** The order that everything rests on: nearer with the camera's own curve than with its family's, and both than with baselines. */
    @Test
    void knownIsNearestAndBaselinesAreFar() {
        Calibration told = (frames, stops) -> {
            assertEquals(5, frames.size());
            assertArrayEquals(new double[] {-2, -1, 0, 1, 2}, stops);
            return Family.CINEMA.invent(11);
        };
        Matching same = (clip, reference, correction, profile, preset) -> Solver.solve(clip, profile, preset);
        BracketEvaluation e = BracketEvaluation.of("patches", patches(), SceneCamera.noisy(Family.CINEMA.invent(11), CodeDepth.BITS10), Family.CINEMA,
            EVEN, 3, told, same);
        assertEquals(Way.values().length, e.results().size());
        for (Map.Entry<Way, List<Exposed>> way : e.results().entrySet()) {
            assertEquals(List.of(-2, -1, 1, 2), way.getValue().stream().map(Exposed::stops).toList());
            for (Exposed exposed : way.getValue()) {
                assertTrue(exposed.difference().mean() <= exposed.difference().p95() && exposed.difference().blocks() > 300);
            }
        }
        assertTrue(e.meanAtTwoStops(Way.KNOWN) <= Way.KNOWN.limit(), "known " + e.meanAtTwoStops(Way.KNOWN));
        assertEquals(e.meanAtTwoStops(Way.KNOWN), e.meanAtTwoStops(Way.CALIBRATED), 0);
        assertEquals(e.meanAtTwoStops(Way.RIGHT), e.meanAtTwoStops(Way.MATCHED), 0);
        assertTrue(e.meanAtTwoStops(Way.KNOWN) < e.meanAtTwoStops(Way.RIGHT));
        assertTrue(e.meanAtTwoStops(Way.RIGHT) < e.meanAtTwoStops(Way.WRONG));
        assertTrue(e.meanAtTwoStops(Way.STRETCH) > 5 * e.meanAtTwoStops(Way.KNOWN));
        assertEquals(0, e.results().get(Way.KNOWN).get(0).drift(), 0.05);
    }

    @Test
    void aBracketThatCannotBeCalibratedIsSaidAndTheRestGoesOn() {
        Calibration refuses = (frames, stops) -> {
            throw new InputException("too dark");
        };
        BracketEvaluation e = BracketEvaluation.of("patches", patches(), SceneCamera.noisy(Family.KNEE.invent(2), CodeDepth.BITS8), Family.KNEE, EVEN, 3,
            refuses, null);
        assertFalse(e.results().containsKey(Way.CALIBRATED));
        assertFalse(e.results().containsKey(Way.MATCHED));
        assertEquals(List.of("Not calibrated: too dark"), e.notes());
    }

    @Test
    void whatDoesNotFitIsRefused() {
        assertThrows(IllegalArgumentException.class, () -> new Scene(4, 4, new float[3][15]));
        assertThrows(IllegalArgumentException.class, () -> new SceneCamera(ProfileShapes.cinemaSoft(), CodeDepth.BITS10, -1, 0));
        assertThrows(IllegalArgumentException.class, () -> BlockDifference.of(even(1, 1, 1), even(1, 1, 1), new boolean[3]));
    }
}
