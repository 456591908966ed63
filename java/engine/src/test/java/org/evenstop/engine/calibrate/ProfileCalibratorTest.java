// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.calibrate;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertThrows;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.util.ArrayList;
import java.util.List;
import java.util.Locale;
import org.evenstop.engine.InputException;
import org.evenstop.engine.frame.ChromaSampling;
import org.evenstop.engine.frame.PlanarFrame;
import org.evenstop.engine.json.EvenstopFiles;
import org.evenstop.engine.level.CodeDepth;
import org.evenstop.engine.profile.Profile;
import org.evenstop.engine.profile.ProfileShapes;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.ValueSource;

/** Profiles recovered from noisy brackets of an invented scene, against the truth. */
class ProfileCalibratorTest {
    private static final double[] EVEN = {-2, -1, 0, 1, 2};
    private static final long SCENE_SEED = 7;
    private static final InventedScene SCENE = new InventedScene(400, 320, SCENE_SEED);

    private static PlanarFrame shot(InventedScene scene, Profile camera, double stops, long seed) {
        return scene.shoot(camera, stops, CodeDepth.BITS10, ChromaSampling.S444, seed);
    }

    private static List<Exposure> bracket(Profile camera, double[] stops, double[] stated) {
        List<Exposure> bracket = new ArrayList<>();
        for (int j = 0; j < stops.length; j++) {
            bracket.add(new Exposure("e" + j, List.of(shot(SCENE, camera, stops[j], 100 + j)), stated == null ? Double.NaN : stated[j]));
        }
        return bracket;
    }

    private static double[] print(String what, Profile camera, CalibrationResult r) {
        double[] e = InventedScene.errors(camera, r.profile(), 0.03, 1.05, 0.03, 1.0);
        System.out.printf(Locale.ROOT, "%s, camera %s, scene seed %d: level mean %.3f %% largest %.3f %% (at %.0f), chroma %.2f %% (at luma %.0f); %s, %d sites%n",
            what, camera.name(), SCENE_SEED, e[0], e[1], e[3], e[2], e[4], r.method().word(), r.sites());
        r.warnings().forEach(w -> System.out.println("    " + w));
        return e;
    }

    private static void assertPromised(double[] errors) {
        assertTrue(errors[0] <= 0.5, "mean level error " + errors[0] + " %");
        assertTrue(errors[1] <= 1.0, "largest level error " + errors[1] + " % at " + errors[3]);
        assertTrue(errors[2] <= 3.0, "chroma error " + errors[2] + " % at luma " + errors[4]);
    }

    @ParameterizedTest
    @ValueSource(longs = {1, 2, 3, 4, 5, 6, 7, 8})
    void fiveNoisyExposuresRecoverRandomCameras(long seed) {
        Profile camera = InventedScene.randomCamera(seed);
        CalibrationResult r = ProfileCalibrator.calibrate("found", bracket(camera, EVEN, EVEN));
        assertPromised(print("five exposures", camera, r));
        assertEquals(CalibrationResult.Method.PLACES, r.method());
        assertTrue(r.warnings().isEmpty(), r.warnings().toString());
        assertTrue(r.covered().levelFrom() < 3 && r.covered().levelTo() > 105, r.covered().toString());
        assertTrue(r.meanResidual() < 0.1, "mean residual " + r.meanResidual());
    }

    @Test
    void shippedFamiliesAreRecovered() {
        for (Profile camera : List.of(ProfileShapes.cinemaSoft(), ProfileShapes.rec709Knee())) {
            assertPromised(print("five exposures", camera, ProfileCalibrator.calibrate("found", bracket(camera, EVEN, EVEN))));
        }
    }

    @Test
    void eightBitsSubsampledAreEnough() {
        Profile camera = ProfileShapes.cinemaSoft();
        List<Exposure> bracket = new ArrayList<>();
        for (int j = 0; j < EVEN.length; j++) {
            bracket.add(new Exposure("e" + j, List.of(SCENE.shoot(camera, EVEN[j], CodeDepth.BITS8, ChromaSampling.S420, 100 + j)), EVEN[j]));
        }
        assertPromised(print("8 bit 4:2:0", camera, ProfileCalibrator.calibrate("found", bracket)));
    }

    @Test
    void chromaThatIsNotOneAtMidLumaIsRecoveredUpToAFactor() {
        Profile camera = ProfileShapes.shouldered("strong", "", "", 0.40, 0.86, 5.5, 0.0015,
            new double[][] {{0, 1.35}, {0.15, 1.35}, {0.40, 1.2}, {0.70, 1.0}, {0.95, 0.74}, {1.09, 0.62}});
        CalibrationResult r = ProfileCalibrator.calibrate("found", bracket(camera, EVEN, EVEN));
        assertPromised(print("chroma 1.2 at mid luma", camera, r));
        assertEquals(1, r.profile().chromaFactor(0.40), 1e-3);
    }

    @Test
    void profileGoesThroughAFileAndHasItsGreyAtFortyPercent() {
        Profile camera = ProfileShapes.cinemaSoft();
        CalibrationResult r = ProfileCalibrator.calibrate("my-camera", bracket(camera, EVEN, EVEN));
        assertEquals(0.40, r.profile().levelOfLight(0.18), 1e-3);
        Profile read = EvenstopFiles.profileFromJson(EvenstopFiles.toJson(r.profile()), "my-camera.json");
        assertEquals("my-camera", read.name());
        for (double light = 0; light < 8; light = light * 1.1 + 1e-4) {
            assertEquals(r.profile().levelOfLight(light), read.levelOfLight(light), 1e-6);
        }
        double floor = r.profile().floor();
        assertTrue(floor > -0.02 && floor < 0.02, "no light gives level " + floor);
    }

    @Test
    void ceilingIsTakenWhereClippingWasSeen() {
        Profile camera = ProfileShapes.rec709Knee();
        CalibrationResult r = ProfileCalibrator.calibrate("found", bracket(camera, EVEN, EVEN));
        assertEquals(109.02, r.covered().ceiling(), 0.1);
        assertEquals(camera.ceiling(), r.profile().ceiling(), 1e-3);
    }

    @Test
    void stepsAreRecoveredWhenNoneAreStated() {
        for (double[] stops : new double[][] {EVEN, {-1.5, -1, -0.5, 0, 0.5, 1, 1.5}, {-2, -1, 0, 1.4, 2}}) {
            for (Profile camera : List.of(ProfileShapes.cinemaSoft(), ProfileShapes.rec709Knee())) {
                CalibrationResult r = ProfileCalibrator.calibrate("found", bracket(camera, stops, null));
                assertPromised(print("no stops stated", camera, r));
                double middle = stops[(stops.length - 1) / 2];
                for (int j = 0; j < stops.length; j++) {
                    assertEquals(stops[j] - middle, r.steps().get(j).found(), 0.03, "step " + j);
                    assertTrue(Double.isNaN(r.steps().get(j).stated()));
                }
                assertTrue(r.notes().stream().anyMatch(n -> n.contains("exponent")), r.notes().toString());
            }
        }
    }

    @Test
    void wrongStopIsNamedAndNotBelieved() {
        Profile camera = ProfileShapes.cinemaSoft();
        CalibrationResult r = ProfileCalibrator.calibrate("found", bracket(camera, new double[] {-2, -1, 0, 1.5, 2}, EVEN));
        assertPromised(print("+1.5 stated as +1", camera, r));
        assertTrue(r.warnings().stream().anyMatch(w -> w.startsWith("e3 fits +1.50 stops, not the stated +1.00")), r.warnings().toString());
        assertEquals(1, r.warnings().size(), r.warnings().toString());
    }

    @Test
    void lightThatChangesOverPartOfThePictureIsSaid() {
        Profile camera = ProfileShapes.cinemaSoft();
        List<Exposure> bracket = bracket(camera, EVEN, EVEN);
        bracket.set(3, new Exposure("cloud", List.of(shot(SCENE.lit(200, 0.75, 0.75, 0.75), camera, 1, 5)), 1));
        CalibrationResult r = ProfileCalibrator.calibrate("found", bracket);
        assertPromised(print("cloud over half of one exposure", camera, r));
        assertTrue(r.warnings().stream().anyMatch(w -> w.startsWith("The light changed in cloud")), r.warnings().toString());
    }

    @Test
    void lightThatChangesColourIsSaid() {
        Profile camera = ProfileShapes.cinemaSoft();
        List<Exposure> bracket = bracket(camera, EVEN, EVEN);
        bracket.set(3, new Exposure("warmer", List.of(shot(SCENE.lit(0, 1.1, 1.0, 0.85), camera, 1, 5)), 1));
        CalibrationResult r = ProfileCalibrator.calibrate("found", bracket);
        assertPromised(print("one exposure warmer", camera, r));
        assertTrue(r.warnings().stream().anyMatch(w -> w.contains("changed colour in warmer")), r.warnings().toString());
    }

    @Test
    void lightThatDriftsWithinAClipIsSaid() {
        Profile camera = ProfileShapes.cinemaSoft();
        List<Exposure> bracket = bracket(camera, EVEN, EVEN);
        bracket.set(2, new Exposure("drift", List.of(shot(SCENE, camera, 0, 5), shot(SCENE, camera, 0.1, 6), shot(SCENE, camera, 0.2, 7)), 0));
        CalibrationResult r = ProfileCalibrator.calibrate("found", bracket);
        print("one clip drifts", camera, r);
        assertTrue(r.warnings().stream().anyMatch(w -> w.startsWith("The light changed within drift")), r.warnings().toString());
    }

    /** Less exact: the bounds are those of comparing histograms while a tenth of the scene comes and goes. */
    @Test
    void movedPicturesAreComparedByHistograms() {
        InventedScene wide = new InventedScene(480, 400, SCENE_SEED);
        for (Profile camera : List.of(ProfileShapes.cinemaSoft(), ProfileShapes.rec709Knee())) {
            List<Exposure> bracket = new ArrayList<>();
            for (int j = 0; j < EVEN.length; j++) {
                bracket.add(new Exposure("m" + j, List.of(shot(wide.window(10 * j, 36 - 9 * j, 400, 320), camera, EVEN[j], 200 + j)), EVEN[j]));
            }
            CalibrationResult r = ProfileCalibrator.calibrate("found", bracket);
            double[] e = print("moved", camera, r);
            assertEquals(CalibrationResult.Method.HISTOGRAMS, r.method());
            assertTrue(r.warnings().get(0).startsWith("The picture moved between"), r.warnings().toString());
            assertTrue(e[0] <= 2 && e[1] <= 5 && e[2] <= 30, "level errors " + e[0] + " and " + e[1] + " %, chroma " + e[2]);
        }
    }

    /** A few things moved: their places are left out and the rest is as exact as ever. */
    @Test
    void partsThatMovedAreLeftOut() {
        Profile camera = ProfileShapes.cinemaSoft();
        List<Exposure> bracket = bracket(camera, EVEN, EVEN);
        PlanarFrame frame = shot(SCENE, camera, 1, 103);
        PlanarFrame other = shot(new InventedScene(400, 320, 99), camera, 1, 103);
        for (int y = 200; y < 300; y++) {
            for (int x = 100; x < 180; x++) {
                frame.setLumaCode(x, y, other.lumaCode(x, y));
                frame.setCbCode(x, y, other.cbCode(x, y));
                frame.setCrCode(x, y, other.crCode(x, y));
            }
        }
        bracket.set(3, new Exposure("walker", List.of(frame), 1));
        CalibrationResult r = ProfileCalibrator.calibrate("found", bracket);
        assertPromised(print("a part moved", camera, r));
        assertEquals(CalibrationResult.Method.PLACES, r.method());
        assertTrue(r.notes().stream().anyMatch(n -> n.contains("left out")), r.notes().toString());
    }

    @Test
    void darkBracketSaysWhatItCovered() {
        double[] stops = {-5, -4.5, -4, -3.5, -3};
        Profile camera = ProfileShapes.cinemaSoft();
        CalibrationResult r = ProfileCalibrator.calibrate("found", bracket(camera, stops, EVEN.clone()));
        assertTrue(r.covered().levelTo() < 60, r.covered().toString());
        assertTrue(Double.isNaN(r.covered().ceiling()));
        assertTrue(r.notes().stream().anyMatch(n -> n.startsWith("Clipping was not seen")), r.notes().toString());
        assertTrue(r.profile().ceiling() <= ProfileShapes.SUPER_WHITE);
    }

    @Test
    void sameFramesGiveTheSameProfile() {
        List<Exposure> bracket = bracket(ProfileShapes.cinemaSoft(), EVEN, EVEN);
        List<Exposure> backwards = new ArrayList<>(bracket);
        java.util.Collections.reverse(backwards);
        assertEquals(EvenstopFiles.toJson(ProfileCalibrator.calibrate("x", bracket).profile()),
            EvenstopFiles.toJson(ProfileCalibrator.calibrate("x", backwards).profile()));
    }

    private static void assertRefused(List<Exposure> bracket, String... words) {
        InputException wrong = assertThrows(InputException.class, () -> ProfileCalibrator.calibrate("x", bracket));
        assertEquals(1, wrong.getMessage().lines().count());
        for (String word : words) {
            assertTrue(wrong.getMessage().contains(word), wrong.getMessage());
        }
        assertFalse(wrong.getMessage().isBlank());
    }

    @Test
    void bracketsThatTellNothingAreRefused() {
        Profile camera = ProfileShapes.cinemaSoft();
        PlanarFrame middle = shot(SCENE, camera, 0, 1);
        assertRefused(bracket(camera, new double[] {0, 1}, new double[] {0, 1}), "2 exposures are too few");
        assertRefused(List.of(new Exposure("a", List.of(middle), -1), new Exposure("b", List.of(middle), 0), new Exposure("c", List.of(middle), 1)),
            "a and b show the same levels");
        assertRefused(List.of(new Exposure("a", List.of(middle), Double.NaN), new Exposure("b", List.of(middle), Double.NaN),
            new Exposure("c", List.of(middle), Double.NaN)), "show the same levels");
        assertRefused(bracket(camera, new double[] {14, 15, 16}, new double[] {-1, 0, 1}), "only 0 of 3", "clipped");
        assertRefused(bracket(camera, new double[] {-18, -17, -16}, new double[] {-1, 0, 1}), "only 0 of 3", "black");
        assertRefused(bracket(camera, new double[] {-1, 0, 1}, new double[] {0, 0.2, 0.4}), "0.40 stops apart");
        assertRefused(bracket(camera, new double[] {-1, 0, 1}, new double[] {0, 1, 40}), "40.0 stops is outside");
        assertRefused(bracket(camera, new double[] {-1, 0, 1}, new double[] {0, Double.NaN, 1}), "for all or for none");
        assertRefused(bracket(camera, new double[] {1, 0, -1}, new double[] {-1, 0, 1}), "do not get brighter");
        List<Exposure> sizes = bracket(camera, EVEN, EVEN);
        sizes.set(1, new Exposure("small", List.of(shot(SCENE.window(0, 0, 200, 160), camera, -1, 1)), -1));
        assertRefused(sizes, "small: is 200x160", "e0 is 400x320");
        sizes.set(1, new Exposure("none", List.of(), -1));
        assertRefused(sizes, "none: there is no frame");
        assertRefused(List.of(new Exposure("a", List.of(shot(SCENE.window(0, 0, 16, 16), camera, 0, 1)), 0)), "16x16 is too small");
    }
}
