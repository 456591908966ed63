// SPDX-License-Identifier: Apache-2.0
package org.evenstop.batch.demo;

import static org.junit.jupiter.api.Assertions.assertArrayEquals;
import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertThrows;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.util.Arrays;
import java.util.HashSet;
import java.util.Set;
import org.evenstop.engine.frame.PlanarFrame;
import org.evenstop.engine.json.EvenstopFiles;
import org.evenstop.engine.level.CodeDepth;
import org.evenstop.engine.profile.Profile;
import org.junit.jupiter.api.Test;

/** The demo shoot: same bytes every time, exposures true in scene light, levels and colours where they should be. */
class DemoShootTest {
    private static final int WIDTH = 192;
    private static final int HEIGHT = 108;

    private static byte[] bytes(PlanarFrame frame) {
        byte[] all = new byte[frame.luma().capacity() + frame.cb().capacity() + frame.cr().capacity()];
        frame.luma().duplicate().get(all, 0, frame.luma().capacity());
        frame.cb().duplicate().get(all, frame.luma().capacity(), frame.cb().capacity());
        frame.cr().duplicate().get(all, frame.luma().capacity() + frame.cb().capacity(), frame.cr().capacity());
        return all;
    }

    private static byte[] filmed(DemoShoot shoot, Shot shot, int index) {
        PlanarFrame frame = Camera.allocate(shoot.width(), shoot.height());
        shoot.film(shot, index, frame);
        return bytes(frame);
    }

    @Test
    void sameBytesTwiceAndOnAnyNumberOfThreads() {
        DemoShoot one = new DemoShoot(WIDTH, HEIGHT, 3, 1);
        DemoShoot again = new DemoShoot(WIDTH, HEIGHT, 3, 1);
        DemoShoot four = new DemoShoot(WIDTH, HEIGHT, 3, 4);
        for (Shot shot : DemoShoot.shots()) {
            byte[] first = filmed(one, shot, 1);
            assertArrayEquals(first, filmed(again, shot, 1), shot.name() + " twice");
            assertArrayEquals(first, filmed(four, shot, 1), shot.name() + " on four threads");
        }
    }

    @Test
    void framesOfAClipDifferAndTheCameraMoves() {
        DemoShoot shoot = new DemoShoot(WIDTH, HEIGHT, 24, 2);
        Shot shot = DemoShoot.shots().get(0);
        assertFalse(Arrays.equals(filmed(shoot, shot, 0), filmed(shoot, shot, 1)));
        Set<Integer> places = new HashSet<>();
        for (int i = 0; i < 24; i++) {
            places.add(1000 * shoot.left(shot, i) + shoot.top(shot, i));
        }
        assertTrue(places.size() > 2, "window stood at " + places);
    }

    @Test
    void everyWindowLiesOnItsCanvas() {
        DemoShoot shoot = new DemoShoot(WIDTH, HEIGHT, 240, 1);
        for (Shot shot : DemoShoot.shots()) {
            for (int i = 0; i < 240; i++) {
                int left = shoot.left(shot, i);
                int top = shoot.top(shot, i);
                assertTrue(left >= 0 && left <= 2 * Math.max(2, WIDTH / 64) && top >= 0 && top <= 2 * Math.max(2, HEIGHT / 72),
                    shot.name() + " frame " + i + ": " + left + "," + top);
            }
        }
    }

    @Test
    void lightIsFiniteAndNeverNegative() {
        for (Views view : Views.values()) {
            LightCanvas canvas = view.draw(96, 54, 2);
            float most = 0;
            // The dusk is exposed long enough for its lamps to lie far above any daylight.
            float bound = view == Views.DUSK ? 32 : 12;
            for (float v : canvas.rgb()) {
                assertTrue(v >= 0 && v <= bound, view + " holds light " + v);
                most = Math.max(most, v);
            }
            assertTrue(most > 0.1, view + " is dark: brightest light " + most);
        }
    }

    /** Stops are a factor on scene light: each code is that of the profile at light times 2^stops. */
    @Test
    void exposureIsTrueInScenelight() {
        Profile profile = HarbourProfile.create();
        Camera camera = new Camera(profile);
        int width = 400;
        LightCanvas ramp = LightCanvas.blank(width, 2);
        for (int x = 0; x < width; x++) {
            float light = (float) (0.18 * Math.pow(2, -6 + 9.0 * x / width));
            for (int y = 0; y < 2; y++) {
                Arrays.fill(ramp.rgb(), ramp.index(x, y), ramp.index(x, y) + 3, light);
            }
        }
        for (double stops : new double[] {-2, -1.3, 0, 0.8, 2}) {
            PlanarFrame frame = Camera.allocate(width, 2);
            camera.record(ramp, 0, 0, frame, stops, 0, 1, 0, 1);
            for (int x = 0; x < width; x++) {
                double wanted = CodeDepth.BITS10.codeOfLevel(profile.levelOfLight(ramp.rgb()[ramp.index(x, 1)] * Math.pow(2, stops)));
                assertEquals(wanted, frame.lumaCode(x, 1), 0.65, "light " + ramp.rgb()[ramp.index(x, 1)] + " at " + stops + " stops");
                if (x % 2 == 0) {
                    assertEquals(512, frame.cbCode(x / 2, 1), "grey has no chroma");
                    assertEquals(512, frame.crCode(x / 2, 1), "grey has no chroma");
                }
            }
        }
    }

    /** The clip that is two stops under holds a quarter of the light of the one that is right, wherever neither is clipped. */
    @Test
    void underexposedClipHoldsAQuarterOfTheLight() {
        DemoShoot shoot = new DemoShoot(WIDTH, HEIGHT, 1, 2);
        Profile profile = shoot.profile();
        PlanarFrame right = Camera.allocate(WIDTH, HEIGHT);
        PlanarFrame under = Camera.allocate(WIDTH, HEIGHT);
        Shot shot = DemoShoot.shot("03-slip-under");
        shoot.truth(shot, 0, 0, right);
        shoot.truth(shot, 0, shot.stopsAt(0), under);
        double sum = 0;
        int count = 0;
        for (int y = 0; y < HEIGHT; y++) {
            for (int x = 0; x < WIDTH; x += 2) {
                // Nearly grey, so that luma stands for all three channels.
                if (Math.abs(right.cbCode(x / 2, y) - 512) < 6 && Math.abs(right.crCode(x / 2, y) - 512) < 6 && right.lumaCode(x, y) > 250
                    && right.lumaCode(x, y) < 700) {
                    sum += Math.log(profile.lightOfLevel(CodeDepth.BITS10.levelOfCode(right.lumaCode(x, y)))
                        / profile.lightOfLevel(CodeDepth.BITS10.levelOfCode(under.lumaCode(x, y)))) / Math.log(2);
                    count++;
                }
            }
        }
        assertTrue(count > 100, "only " + count + " grey places");
        assertEquals(2, sum / count, 0.03, "stops between the clips");
    }

    @Test
    void overexposedClipReachesTheTopOfTheScale() {
        DemoShoot shoot = new DemoShoot(WIDTH, HEIGHT, 1, 2);
        PlanarFrame frame = Camera.allocate(WIDTH, HEIGHT);
        shoot.film(DemoShoot.shot("02-slip-over"), 0, frame);
        int highest = 0;
        int above = 0;
        for (int y = 0; y < HEIGHT; y++) {
            for (int x = 0; x < WIDTH; x++) {
                highest = Math.max(highest, frame.lumaCode(x, y));
                above += frame.lumaCode(x, y) > 940 ? 1 : 0;
            }
        }
        assertTrue(highest >= 1010, "highest code " + highest);
        assertTrue(above > WIDTH * HEIGHT / 20, above + " samples above 100 %");
    }

    @Test
    void everyCodeIsVideoAndBarsAreBlack() {
        DemoShoot shoot = new DemoShoot(WIDTH, HEIGHT, 1, 2);
        for (Shot shot : DemoShoot.shots()) {
            PlanarFrame frame = Camera.allocate(WIDTH, HEIGHT);
            shoot.film(shot, 0, frame);
            int bars = shot.barRows(WIDTH, HEIGHT);
            for (int y = 0; y < HEIGHT; y++) {
                boolean bar = y < bars || y >= HEIGHT - bars;
                for (int x = 0; x < WIDTH; x++) {
                    int code = frame.lumaCode(x, y);
                    assertTrue(bar ? code == 64 : code >= 4 && code <= 1019, shot.name() + " luma " + code + " at " + x + "," + y);
                }
                for (int x = 0; x < WIDTH / 2; x++) {
                    int cb = frame.cbCode(x, y);
                    int cr = frame.crCode(x, y);
                    assertTrue(bar ? cb == 512 && cr == 512 : Math.min(cb, cr) >= 4 && Math.max(cb, cr) <= 1019, shot.name() + " chroma " + cb + "," + cr);
                }
            }
        }
        assertEquals(14, DemoShoot.shot("08-jetty-wide").barRows(WIDTH, HEIGHT), "rows of a 2.39 bar in 192x108");
        assertEquals(138, DemoShoot.shot("08-jetty-wide").barRows(1920, 1080), "rows of a 2.39 bar in 1920x1080");
    }

    @Test
    void irisClipSwingsBothWays() {
        Shot shot = DemoShoot.shot("09-shed-iris");
        double least = 9;
        double most = -9;
        for (int i = 0; i < 24; i++) {
            least = Math.min(least, shot.stopsAt(DemoShoot.seconds(i)));
            most = Math.max(most, shot.stopsAt(DemoShoot.seconds(i)));
        }
        assertTrue(least < -0.5 && most > 1, least + " to " + most + " stops");
    }

    /** BT.709 transfer (BT.709-6 item 1.2) and no chroma curve: what patches are published for. */
    private static Profile neutral() {
        int count = 60;
        double[] stops = new double[count];
        double[] levels = new double[count];
        for (int i = 0; i < count; i++) {
            stops[i] = -9 + 0.19 * i;
            double light = 0.18 * Math.pow(2, stops[i]);
            levels[i] = light < 0.018 ? 4.5 * light : 1.099 * Math.pow(light, 0.45) - 0.099;
        }
        return new Profile("neutral", "BT.709", "BT.709-6 item 1.2", stops, levels, new double[] {0, 1.09}, new double[] {1, 1});
    }

    private static double hue(double cb, double cr) {
        return Math.toDegrees(Math.atan2(cr, cb));
    }

    /** Hue angles of the dark and light skin patches of the 24-patch chart (D50 Lab as published, Bradford to D65, BT.709 transfer): 120.7 and 119.5. */
    @Test
    void skinPatchesHaveThePublishedHue() {
        Camera camera = new Camera(neutral());
        double[][] skins = {Patches.darkSkin(), Patches.lightSkin()};
        double[] published = {120.7, 119.5};
        int[] publishedLuma = {313, 567};
        for (int i = 0; i < 2; i++) {
            LightCanvas flat = LightCanvas.blank(16, 2);
            for (int j = 0; j < flat.rgb().length; j++) {
                flat.rgb()[j] = (float) skins[i][j % 3];
            }
            PlanarFrame frame = Camera.allocate(16, 2);
            camera.record(flat, 0, 0, frame, 0, 0, 1, 0, 1);
            assertEquals(published[i], hue(frame.cbCode(3, 1) - 512, frame.crCode(3, 1) - 512), 0.5, "hue of skin " + i);
            assertEquals(publishedLuma[i], frame.lumaCode(6, 1), 1, "luma code of skin " + i);
        }
    }

    /** The faces keep that hue within a few degrees under sun and sky. */
    @Test
    void facesHaveSkinHue() {
        DemoShoot shoot = new DemoShoot(320, 180, 1, 2);
        Camera camera = new Camera(neutral());
        Views[] views = {Views.SAILMAKER, Views.BUILDER};
        double[] published = {120.7, 119.5};
        int[] faceX = {190, 123};
        int[] faceY = {72, 76};
        for (int i = 0; i < 2; i++) {
            LightCanvas canvas = shoot.canvas(views[i]);
            PlanarFrame frame = Camera.allocate(320, 180);
            camera.record(canvas, 5, 2, frame, 0, 0, 1, 0, 1);
            double[] hues = new double[20 * 20];
            double[] lumas = new double[hues.length];
            for (int j = 0; j < hues.length; j++) {
                int x = faceX[i] - 20 + 2 * (j % 20);
                int y = faceY[i] - 20 + 2 * (j / 20);
                hues[j] = hue(frame.cbCode(x / 2, y) - 512, frame.crCode(x / 2, y) - 512);
                lumas[j] = CodeDepth.BITS10.levelOfCode(frame.lumaCode(x, y));
            }
            Arrays.sort(hues);
            Arrays.sort(lumas);
            assertEquals(published[i], hues[hues.length / 2], 7, views[i] + " hue in degrees");
            double median = lumas[lumas.length / 2];
            assertTrue(i == 0 ? median > 0.18 && median < 0.42 : median > 0.42 && median < 0.78, views[i] + " skin level " + median);
        }
    }

    @Test
    void harbourProfileIsWhatItSaysAndComesBackFromItsFile() {
        Profile profile = HarbourProfile.create();
        assertEquals(0.41, profile.levelOfLight(0.18), 1e-5);
        assertEquals(1019, CodeDepth.BITS10.codeOfLevel(profile.ceiling()), 0.01);
        assertTrue(profile.chromaFactor(0.05) > profile.chromaFactor(0.5) && profile.chromaFactor(0.5) > profile.chromaFactor(1.05));
        double before = -1;
        for (int i = 0; i <= 4000; i++) {
            double level = profile.levelOfLight(0.18 * Math.pow(2, -9 + 14.2 * i / 4000));
            assertTrue(level > before, "not rising at step " + i);
            before = level;
        }
        assertTrue(EvenstopFiles.toJson(profile).contains("\"harbour\""));
    }

    @Test
    void sizesAndWindowsOutOfBoundsAreRefused() {
        assertThrows(IllegalArgumentException.class, () -> new DemoShoot(16, 9, 1, 1));
        assertThrows(IllegalArgumentException.class, () -> new DemoShoot(WIDTH, HEIGHT, 0, 1));
        Camera camera = new Camera(HarbourProfile.create());
        PlanarFrame frame = Camera.allocate(32, 18);
        LightCanvas small = LightCanvas.blank(40, 20);
        assertThrows(IllegalArgumentException.class, () -> camera.record(small, 9, 0, frame, 0, 1, 1, 0, 1));
    }

    @Test
    void sineIsASine() {
        for (int i = -500; i <= 500; i++) {
            assertEquals(Math.sin(2 * Math.PI * i / 173.0), Noise.sine(i / 173.0), 0.002);
        }
    }
}
