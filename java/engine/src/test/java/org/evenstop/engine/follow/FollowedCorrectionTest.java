// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.follow;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertSame;
import static org.junit.jupiter.api.Assertions.assertThrows;
import static org.junit.jupiter.api.Assertions.assertTrue;

import org.evenstop.engine.frame.PlanarFrame;
import org.evenstop.engine.json.EvenstopFiles;
import org.evenstop.engine.kernel.ScalarKernel;
import org.evenstop.engine.level.LumaStandard;
import org.evenstop.engine.measure.ClipMeter;
import org.evenstop.engine.profile.Profile;
import org.evenstop.engine.solve.Correction;
import org.evenstop.engine.solve.Solver;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.ValueSource;

/** Corrections for frames in other light than the clip's. */
class FollowedCorrectionTest {
    private static Correction solved(Profile profile, String preset) {
        ClipMeter meter = new ClipMeter(LumaStandard.BT709);
        meter.add(new FilmedScene(profile, 11, 0).film(-1), 0);
        return Solver.solve(meter.finish("scene"), profile, EvenstopFiles.preset(preset));
    }

    private static PlanarFrame corrected(PlanarFrame frame, Correction correction) {
        PlanarFrame out = frame.allocateLike();
        new ScalarKernel().apply(frame, out, 0, frame.height(), correction, 1f);
        return out;
    }

    @Test
    void noDifferenceIsTheCorrectionItself() {
        Profile soft = EvenstopFiles.profile("cinema-soft");
        Correction base = solved(soft, "even");
        FollowedCorrection followed = new FollowedCorrection(base, soft);
        assertSame(base, followed.at(0));
        assertSame(base, followed.base());
        assertThrows(IllegalArgumentException.class, () -> followed.at(Double.NaN));
        assertThrows(IllegalArgumentException.class, () -> followed.at(9));
    }

    /** The light a frame has more or less is gone after it: the same picture comes out. */
    @ParameterizedTest
    @ValueSource(strings = {"cinema-soft", "rec709-knee", "srgb-screen"})
    void framesInOtherLightComeOutAlike(String name) {
        Profile profile = EvenstopFiles.profile(name);
        Correction base = solved(profile, "even");
        FollowedCorrection followed = new FollowedCorrection(base, profile);
        PlanarFrame wanted = corrected(new FilmedScene(profile, 11, 0).film(-1, 200, 0, 0, 1), base);
        for (double e : new double[] {-0.7, -0.06, 0.01, 0.31, 0.8}) {
            PlanarFrame recorded = new FilmedScene(profile, 11, 0).film(-1 + e, 200, 0, 0, 1);
            PlanarFrame got = corrected(recorded, followed.at(e));
            double worst = 0;
            int highest = (int) (64 + 876 * Math.min(0.9 * profile.ceiling(), profile.trustedLevel()));
            for (int y = 0; y < got.height(); y++) {
                for (int x = 0; x < got.width(); x++) {
                    int code = recorded.lumaCode(x, y);
                    if (code > 64 + 60 && code < highest) {
                        worst = Math.max(worst, Math.abs(got.lumaCode(x, y) - wanted.lumaCode(x, y)) / 876.0);
                    }
                }
            }
            System.out.printf("%s, %+.2f stops: largest difference %.4f of level%n", name, e, worst);
            assertTrue(worst < 0.012, name + " at " + e + ": " + worst);
        }
    }

    /** Steps from one light to the next are as fine as the light's, tone never falls, and nothing leaves the ceiling that did not before. */
    @ParameterizedTest
    @ValueSource(strings = {"cinema-soft", "rec709-knee", "srgb-screen"})
    void lightThatGlidesMakesNoSteps(String name) {
        Profile profile = EvenstopFiles.profile(name);
        Correction base = solved(profile, "even");
        FollowedCorrection followed = new FollowedCorrection(base, profile);
        float top = base.tone().at((float) profile.ceiling());
        Correction last = followed.at(-1.5);
        for (double e = -1.5; e <= 1.5; e += 0.005) {
            Correction now = followed.at(e);
            float before = Float.NEGATIVE_INFINITY;
            for (int i = 0; i <= 1000; i++) {
                float x = (float) (-0.07 + i * (profile.ceiling() + 0.07) / 1000);
                float y = now.tone().at(x);
                assertTrue(y >= before, name + ": tone falls at " + x + ", " + e + " stops");
                before = y;
                assertEquals(last.tone().at(x), y, 0.002, name + ": step at level " + x + ", " + e + " stops");
            }
            assertTrue(before <= Math.max(top, base.tone().at((float) profile.ceiling())) + 0.002, name + ": top " + before + " over " + top);
            last = now;
        }
    }

    @Test
    void aClipThatIsRightStillHasItsChromaUndoneInOtherLight() {
        Profile soft = EvenstopFiles.profile("cinema-soft");
        FollowedCorrection followed = new FollowedCorrection(Correction.identity(LumaStandard.BT709), soft);
        assertTrue(followed.at(0).isIdentity());
        Correction other = followed.at(0.5);
        assertEquals(1 / soft.chromaFactor(0.3), other.chromaIn().at(0.3f), 0.004);
        assertEquals(soft.chromaFactor(0.3), other.chromaOut().at(0.3f), 0.004);
        assertEquals(soft.reexposed(0.5, -0.5), other.tone().at(0.5f), 0.002);
    }
}
