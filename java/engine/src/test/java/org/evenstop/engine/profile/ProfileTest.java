// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.profile;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertThrows;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.util.List;
import org.evenstop.engine.level.Transfer;
import org.junit.jupiter.api.Test;

/** Profiles rise, invert, and re-expose forth and back. */
class ProfileTest {
    private static final int STEPS = 65_537;
    private static final List<Profile> PROFILES = List.of(ProfileShapes.cinemaSoft(), ProfileShapes.rec709Knee(), ProfileShapes.srgbScreen());

    private static double level(int step) {
        return -0.07 + 1.17 * step / (STEPS - 1);
    }

    @Test
    void solvedCurveRisesAndItsInverseUndoesIt() {
        for (Profile profile : PROFILES) {
            double lastLight = Double.NEGATIVE_INFINITY;
            double bias = 0;
            for (int i = 0; i < STEPS; i++) {
                double light = profile.lightOfLevel(level(i));
                assertTrue(light > lastLight, profile.name());
                lastLight = light;
                double error = profile.solvedLevel(light) - level(i);
                assertEquals(0, error, 1e-11, profile.name());
                bias += error / STEPS;
            }
            assertEquals(0, bias, 1e-12);
        }
    }

    @Test
    void levelsRiseWithLightUpToTheCeiling() {
        for (Profile profile : PROFILES) {
            double last = Double.NEGATIVE_INFINITY;
            for (int i = 0; i < STEPS; i++) {
                double light = -0.001 + Math.pow(2, -14 + 22.0 * i / (STEPS - 1)) * 0.18;
                double level = profile.levelOfLight(light);
                assertTrue(level >= last - 1e-15 && level <= profile.ceiling(), profile.name());
                if (level < profile.trustedLevel() - 1e-9) {
                    assertEquals(level, profile.solvedLevel(light), 1e-9, profile.name());
                }
                last = level;
            }
            assertEquals(profile.ceiling(), profile.levelOfLight(1e6), 0);
            assertEquals(profile.floor(), profile.levelOfLight(0), 1e-12);
            assertTrue(profile.levelOfLight(-0.01) < profile.floor());
            assertTrue(Double.isNaN(profile.levelOfLight(Double.NaN)));
            assertTrue(profile.ceiling() <= 1.0902);
        }
    }

    /** k stops and back is the identity; no stops is it to the bit; a then b stops is a + b. */
    @Test
    void reexposuresAddUp() {
        for (Profile profile : PROFILES) {
            for (int i = 0; i < STEPS; i += 32) {
                double level = level(i);
                assertEquals(level, profile.reexposed(level, 0), 0);
                for (double k : new double[] {-3, -0.7, 0.4, 2}) {
                    assertEquals(level, profile.reexposed(profile.reexposed(level, k), -k), 1e-10, profile.name());
                    assertEquals(profile.reexposed(level, k + 0.5), profile.reexposed(profile.reexposed(level, k), 0.5), 1e-10, profile.name());
                }
            }
        }
    }

    /** What the shapes say they are: BT.709 below the knee, sRGB all the way, mid grey at 40 % for the cinema look. */
    @Test
    void shapesMeetTheirFormulas() {
        Profile knee = ProfileShapes.rec709Knee();
        // Left out: the step of the published curve at light 0.018, which an interpolation can not have, and the knot before the knee.
        for (double light = 0.03; light < 0.59; light += 0.003) {
            assertEquals(Transfer.bt709Oetf(light), knee.levelOfLight(light), 2e-4, "light " + light);
        }
        assertEquals(0.409008, knee.levelOfLight(0.18), 2e-6);
        Profile screen = ProfileShapes.srgbScreen();
        for (double light = 0.0005; light < 1; light += 0.0007) {
            assertEquals(Transfer.srgbOfLight(light), screen.levelOfLight(light), 2e-4, "light " + light);
        }
        assertEquals(1, screen.ceiling(), 0);
        assertEquals(0.40, ProfileShapes.cinemaSoft().levelOfLight(0.18), 2e-6);
        for (Profile profile : List.of(knee, ProfileShapes.cinemaSoft())) {
            assertEquals(109.0183, 100 * profile.ceiling(), 1e-4);
        }
    }

    @Test
    void chromaIsConstantBeyondItsEnds() {
        Profile profile = ProfileShapes.cinemaSoft();
        assertEquals(1.12, profile.chromaFactor(-5), 0);
        assertEquals(0.52, profile.chromaFactor(5), 1e-12);
        assertEquals(1, profile.chromaFactor(0.40), 1e-12);
    }

    @Test
    void badKnotsAreRefusedWithTheirValue() {
        double[] stops = {-8, -2, 0, 2};
        double[] levels = {0, 0.2, 0.4, 0.9};
        double[] lumas = {0, 1};
        double[] factors = {1, 0.5};
        new Profile("good", "", "", stops, levels, lumas, factors);
        refused("stops of tone knot 0: -21", () -> new Profile("p", "", "", new double[] {-21, -2, 0, 2}, levels, lumas, factors));
        refused("stops of tone knot 3: NaN", () -> new Profile("p", "", "", new double[] {-8, -2, 0, Double.NaN}, levels, lumas, factors));
        refused("tone knot 2", () -> new Profile("p", "", "", new double[] {-8, -2, -2, 2}, levels, lumas, factors));
        refused("tone knot 2", () -> new Profile("p", "", "", stops, new double[] {0, 0.4, 0.4, 0.9}, lumas, factors));
        refused("level of tone knot 3", () -> new Profile("p", "", "", stops, new double[] {0, 0.2, 0.4, 1.2}, lumas, factors));
        refused("tone knots", () -> new Profile("p", "", "", new double[] {0, 1}, new double[] {0, 1}, lumas, factors));
        refused("chroma knots", () -> new Profile("p", "", "", stops, levels, new double[] {0}, new double[] {1}));
        refused("chroma knot 1", () -> new Profile("p", "", "", stops, levels, new double[] {1, 0}, factors));
        refused("factor of chroma knot 1: 0.01", () -> new Profile("p", "", "", stops, levels, lumas, new double[] {1, 0.01}));
        refused("each", () -> new Profile("p", "", "", stops, levels, lumas, new double[] {1, 1, 1}));
    }

    private static void refused(String word, Runnable make) {
        String message = assertThrows(IllegalArgumentException.class, make::run).getMessage();
        assertTrue(message.contains(word), message);
    }
}
