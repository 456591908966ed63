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
    static List<Exposure> bracket(InventedScene scene, Profile camera, double[] stops, double[] stated, long seed, CodeDepth d, ChromaSampling s) {
        List<Exposure> list = new ArrayList<>();
        for (int j = 0; j < stops.length; j++) {
            list.add(new Exposure("e" + j, List.of(scene.shoot(camera, stops[j], d, s, seed + j)), stated == null ? Double.NaN : stated[j]));
        }
        return list;
    }

    static void show(String what, Profile camera, List<Exposure> b) {
        long t1 = System.nanoTime();
        try {
            CalibrationResult r = ProfileCalibrator.calibrate("found", b);
            double[] e = InventedScene.errors(camera, r.profile(), 0.03, 1.05, 0.03, 1.0);
            System.out.printf("%s: %s %s mean %.3f max %.3f (at %.1f) chroma %.2f (at %.1f) sites %d resid %.3f time %.2f knots %d %s%n", what, camera.name(), r.method(), e[0], e[1], e[3], e[2], e[4], r.sites(), r.meanResidual(), (System.nanoTime() - t1) / 1e9, r.profile().stops().length, r.covered());
            r.steps().forEach(s -> System.out.printf("   %s %+.2f %+.3f %.3f", s.name(), s.stated(), s.found(), s.residual()));
            System.out.println();
            r.warnings().forEach(w -> System.out.println("   W " + w));
            r.notes().forEach(w -> System.out.println("   N " + w));
        } catch (org.evenstop.engine.InputException x) {
            System.out.println(what + ": " + x.getMessage());
        }
    }

    @Test
    void experiment() {
        double[] stops = {-2, -1, 0, 1, 2};
        InventedScene scene = new InventedScene(480, 384, 7);
        InventedScene big = new InventedScene(560, 464, 7);
        CodeDepth d = CodeDepth.BITS10;
        ChromaSampling s = ChromaSampling.S444;
        List<Profile> cams = List.of(ProfileShapes.cinemaSoft(), ProfileShapes.rec709Knee(), InventedScene.randomCamera(1));
        for (Profile cam : cams) {
            show("plain", cam, bracket(scene, cam, stops, stops, 100, d, s));
            List<Exposure> moving = new ArrayList<>();
            for (int j = 0; j < 5; j++) {
                moving.add(new Exposure("m" + j, List.of(big.window(11 * j, 40 - 9 * j, 480, 384).shoot(cam, stops[j], d, s, 200 + j)), stops[j]));
            }
            show("moving", cam, moving);
            List<Exposure> light = bracket(scene, cam, stops, stops, 100, d, s);
            light.set(3, new Exposure("cloud", List.of(scene.lit(240, 0.75, 0.75, 0.75).shoot(cam, 1, d, s, 5)), 1));
            show("cloud", cam, light);
            light.set(3, new Exposure("warmer", List.of(scene.lit(0, 1.1, 1.0, 0.85).shoot(cam, 1, d, s, 5)), 1));
            show("warmer", cam, light);
            light.set(3, new Exposure("dimmer", List.of(scene.lit(0, 0.8, .8, .8).shoot(cam, 1, d, s, 5)), 1));
            show("dimmer", cam, light);
            List<Exposure> rolled = new ArrayList<>();
            for (int j = 0; j < 5; j++) {
                rolled.add(new Exposure("m" + j, List.of(scene.rolled(37 * j, 29 * j).shoot(cam, stops[j], d, s, 200 + j)), stops[j]));
            }
            show("rolled", cam, rolled);
        }
    }
}
