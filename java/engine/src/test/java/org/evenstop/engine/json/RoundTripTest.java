// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.json;

import static org.junit.jupiter.api.Assertions.assertArrayEquals;
import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.util.List;
import java.util.Random;
import org.evenstop.engine.curve.Curve;
import org.evenstop.engine.frame.AlphaState;
import org.evenstop.engine.frame.Components;
import org.evenstop.engine.frame.PackedFrame;
import org.evenstop.engine.frame.SampleDepth;
import org.evenstop.engine.kernel.ScalarKernel;
import org.evenstop.engine.level.LumaStandard;
import org.evenstop.engine.measure.Measurement;
import org.evenstop.engine.profile.Profile;
import org.evenstop.engine.solve.Correction;
import org.evenstop.engine.solve.CorrectionOrigin;
import org.evenstop.engine.solve.Solver;
import org.junit.jupiter.api.Test;

/** What is written and read again gives the same pixels. */
class RoundTripTest {
    /** An eighth of a 10-bit code. */
    private static final double EIGHTH = 1 / 8.0 / 876;

    private static PackedFrame pixels() {
        PackedFrame frame = PackedFrame.allocate(4096, 1, Components.RGB, SampleDepth.FLOAT, AlphaState.OPAQUE);
        Random random = new Random(6);
        for (int i = 0; i < 3 * 4096; i++) {
            frame.memory().putFloat(4 * i, -0.1f + 1.25f * random.nextFloat());
        }
        return frame;
    }

    private static void requireSamePixels(Correction one, Correction two, String what) {
        PackedFrame a = pixels();
        PackedFrame b = pixels();
        new ScalarKernel().apply(a, a, 0, 1, one, 1);
        new ScalarKernel().apply(b, b, 0, 1, two, 1);
        for (int i = 0; i < 3 * 4096; i++) {
            assertEquals(a.memory().getFloat(4 * i), b.memory().getFloat(4 * i), EIGHTH, what);
        }
    }

    @Test
    void correctionsGiveTheSamePixels() {
        Measurement measured = Examples.measurement();
        for (String profileName : EvenstopFiles.profileNames()) {
            Profile profile = EvenstopFiles.profile(profileName);
            for (String preset : EvenstopFiles.presetNames()) {
                for (double trim : new double[] {0, -2, 3}) {
                    Correction made = Solver.solve(measured, profile, EvenstopFiles.preset(preset).withExposureTrim(trim));
                    Correction read = EvenstopFiles.correctionFromJson(EvenstopFiles.toJson(made), "c.json");
                    requireSamePixels(made, read, profileName + " " + preset + " " + trim);
                    assertEquals(made.origin(), read.origin());
                    assertEquals(made.standard(), read.standard());
                    assertEquals(EvenstopFiles.toJson(made), EvenstopFiles.toJson(read), "written again it is the same text");
                }
            }
        }
    }

    @Test
    void curvesWithAsManyKnotsAsThereMayBe() {
        Curve kinked = Curve.fit(x -> x < 0.5 ? 0 : Math.min(1, (x - 0.5) * 20), 1e-9);
        assertEquals(Curve.MAX_SEGMENTS, kinked.segmentCount());
        Correction made = new Correction(Curve.constant(1.3), kinked, Curve.constant(0), LumaStandard.BT2020, CorrectionOrigin.none());
        Correction read = EvenstopFiles.correctionFromJson(EvenstopFiles.toJson(made), "c.json");
        requireSamePixels(made, read, "kinked");
        assertEquals(LumaStandard.BT2020, read.standard());
        Correction identity = Correction.identity(LumaStandard.BT601);
        assertTrue(EvenstopFiles.correctionFromJson(EvenstopFiles.toJson(identity), "c.json").isIdentity(), "the identity stays one");
    }

    @Test
    void measurementsComeBackWhole() {
        Measurement made = Examples.measurement();
        Measurement read = EvenstopFiles.measurementFromJson(EvenstopFiles.toJson(made, true), "m.json");
        assertEquals(made, read);
        Measurement bare = EvenstopFiles.measurementFromJson(EvenstopFiles.toJson(made, false), "m.json");
        assertEquals(0, bare.sample().size());
        assertEquals(made.levels(), bare.levels());
        assertTrue(EvenstopFiles.toJson(List.of(made, made), false).startsWith("["));
        requireSamePixels(Solver.solve(made, EvenstopFiles.profile("cinema-soft"), EvenstopFiles.preset("even")),
            Solver.solve(read, EvenstopFiles.profile("cinema-soft"), EvenstopFiles.preset("even")), "solved from what was read");
    }

    @Test
    void profilesComeBack() {
        for (String name : EvenstopFiles.profileNames()) {
            Profile made = EvenstopFiles.profile(name);
            Profile read = EvenstopFiles.profileFromJson(EvenstopFiles.toJson(made), "p.json");
            assertArrayEquals(made.levels(), read.levels(), 1e-11);
            for (double light = 0; light < 4; light += 0.01) {
                assertEquals(made.levelOfLight(light), read.levelOfLight(light), 1e-9, name);
            }
        }
    }
}
