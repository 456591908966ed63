// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.calibrate;

import java.util.ArrayList;
import java.util.List;
import org.evenstop.engine.frame.ChromaSampling;
import org.evenstop.engine.level.CodeDepth;
import org.evenstop.engine.profile.Profile;
import org.evenstop.engine.profile.ProfileShapes;
import org.junit.jupiter.api.Test;

class ProfileCalibratorTest {
    static List<Exposure> bracket(InventedScene scene, Profile camera, double[] stops, long seed) {
        List<Exposure> list = new ArrayList<>();
        for (int j = 0; j < stops.length; j++) {
            list.add(new Exposure("e" + j, List.of(scene.shoot(camera, stops[j], CodeDepth.BITS10, ChromaSampling.S444, seed + j)), stops[j]));
        }
        return list;
    }

    @Test
    void experiment() {
        double[] stops = {-2, -1, 0, 1, 2};
        List<Profile> cameras = new ArrayList<>(List.of(ProfileShapes.cinemaSoft(), ProfileShapes.rec709Knee()));
        for (int s = 1; s <= 8; s++) {
            cameras.add(InventedScene.randomCamera(s));
        }
        InventedScene scene = new InventedScene(480, 384, 7);
        for (Profile camera : cameras) {
            long t = System.nanoTime();
            List<Exposure> b = bracket(scene, camera, stops, 100);
            long t1 = System.nanoTime();
            CalibrationResult r = ProfileCalibrator.calibrate("found", b);
            double[] e = InventedScene.errors(camera, r.profile(), 0.03, 1.05, 0.03, 1.0);
            System.out.printf("%s mean %.3f max %.3f (at %.1f) chroma %.2f (at %.1f) sites %d resid %.3f time %.2f (shoot %.2f) %s%n", camera.name(), e[0], e[1], e[3], e[2], e[4], r.sites(), r.meanResidual(), (System.nanoTime() - t1) / 1e9, (t1 - t) / 1e9, r.covered());
            r.steps().forEach(s -> System.out.printf("   %s %+.2f %+.3f %.3f%n", s.name(), s.stated(), s.found(), s.residual()));
            r.warnings().forEach(w -> System.out.println("   W " + w));
            r.notes().forEach(w -> System.out.println("   N " + w));
        }
    }
}
