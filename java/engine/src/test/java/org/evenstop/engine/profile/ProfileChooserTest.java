// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.profile;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.io.File;
import java.io.IOException;
import java.util.ArrayList;
import java.util.List;
import java.util.Locale;
import java.util.Random;
import org.evenstop.engine.frame.ChromaSampling;
import org.evenstop.engine.frame.PlanarFrame;
import org.evenstop.engine.level.CodeDepth;
import org.evenstop.engine.level.LumaStandard;
import org.evenstop.engine.measure.ClipMeter;
import org.evenstop.engine.measure.Measurement;
import org.junit.jupiter.api.Test;

/** Choosing a profile from what a shoot shows, on cameras and scenes the chooser was not made from. */
class ProfileChooserTest {
    private static final long SEED = 20260411;

    private static List<Measurement> bracket(InventedShoot.Scene scene, Profile camera, double... stops) {
        List<Measurement> shoot = new ArrayList<>();
        for (double s : stops) {
            shoot.add(InventedShoot.shot(scene, camera, s, Math.round(1000 * s) + 7));
        }
        return shoot;
    }

    private static InventedShoot.Scene reframed(InventedShoot.Scene s, Random random) {
        int w = s.width() * 3 / 4;
        int h = s.height() * 3 / 4;
        int x = random.nextInt(s.width() - w);
        int y = random.nextInt(s.height() - h);
        float[][] light = new float[3][w * h];
        for (int c = 0; c < 3; c++) {
            for (int row = 0; row < h; row++) {
                System.arraycopy(s.light()[c], (y + row) * s.width() + x, light[c], row * w, w);
            }
        }
        return new InventedShoot.Scene(s.name() + ", reframed", w, h, light);
    }

    /** What kind of shoot, and what came of it: rows are the true family, columns what was said, the last for "can not tell". */
    private static final class Table {
        final String kind;
        final int[][] said = new int[3][4];
        int sure;
        int sureAndRight;
        int likely;
        int likelyAndRight;

        Table(String kind) {
            this.kind = kind;
        }

        void count(int truth, ProfileChoice choice) {
            int taken = InventedShoot.FAMILIES.indexOf(choice.profile().name());
            said[truth][choice.told() ? taken : 3]++;
            if (choice.told() && choice.sureness() >= ProfileChoice.SURE) {
                sure++;
                sureAndRight += taken == truth ? 1 : 0;
            } else if (choice.told()) {
                likely++;
                likelyAndRight += taken == truth ? 1 : 0;
            }
        }

        @Override
        public String toString() {
            StringBuilder text = new StringBuilder(String.format(Locale.ROOT, "%-40s sure %d, of them right %d; likely %d, of them right %d%n", kind, sure,
                sureAndRight, likely, likelyAndRight));
            for (int f = 0; f < 3; f++) {
                text.append(String.format(Locale.ROOT, "    shot through %-12s taken for cinema %3d, knee %3d, screen %3d; can not tell %3d%n",
                    InventedShoot.FAMILIES.get(f), said[f][0], said[f][1], said[f][2], said[f][3]));
            }
            return text.toString();
        }
    }

    /**
     * Set EVENSTOP_MATERIAL to the folder of photographs to have them in the table: every third, or all with
     * -Devenstop.study=full.
     */
    @Test
    void whereItIsSureItIsRight() throws IOException {
        List<InventedShoot.Scene> scenes = new ArrayList<>();
        boolean full = "full".equals(System.getProperty("evenstop.study"));
        for (int i = 0; i < (full ? 12 : 5); i++) {
            scenes.add(InventedShoot.invented(SEED + i));
        }
        String material = System.getenv("EVENSTOP_MATERIAL");
        if (material == null) {
            System.out.println("ProfileChooserTest: no photographs in the table; EVENSTOP_MATERIAL is not set");
        } else {
            List<InventedShoot.Scene> stills = InventedShoot.stills(new File(material));
            for (int i = full ? 0 : 1; i < stills.size(); i += full ? 1 : 3) {
                scenes.add(stills.get(i));
            }
        }
        Table single = new Table("one clip");
        Table one = new Table("one scene, 3 to 5 exposures");
        Table different = new Table("5 different scenes");
        Table moved = new Table("one scene reframed, 4 exposures");
        Table mixed = new Table("3 different scenes and one twice");
        Random random = new Random(SEED);
        int n = scenes.size();
        for (int s = 0; s < n; s++) {
            InventedShoot.Scene scene = scenes.get(s);
            for (int f = 0; f < 3; f++) {
                single.count(f, ProfileChooser.choose(bracket(scene, InventedShoot.camera(f, random), -1.5 + 3.5 * random.nextDouble())));

                double[] stops = new double[3 + random.nextInt(3)];
                double step = 0.5 + 0.7 * random.nextDouble();
                double middle = random.nextDouble() - 0.5;
                for (int i = 0; i < stops.length; i++) {
                    stops[i] = middle + step * (i - 0.5 * (stops.length - 1));
                }
                one.count(f, ProfileChooser.choose(bracket(scene, InventedShoot.camera(f, random), stops)));

                Profile camera = InventedShoot.camera(f, random);
                List<Measurement> shoot = new ArrayList<>();
                for (int i = 0; i < 5; i++) {
                    shoot.add(InventedShoot.shot(scenes.get((s + i * (n / 5)) % n), camera, -1 + 2.2 * random.nextDouble(), random.nextLong()));
                }
                different.count(f, ProfileChooser.choose(shoot));

                camera = InventedShoot.camera(f, random);
                shoot = new ArrayList<>();
                for (int i = 0; i < 4; i++) {
                    shoot.add(InventedShoot.shot(reframed(scene, random), camera, -1.5 + 0.9 * i, random.nextLong()));
                }
                moved.count(f, ProfileChooser.choose(shoot));

                camera = InventedShoot.camera(f, random);
                shoot = new ArrayList<>(bracket(scene, camera, 0.6));
                for (int i = 1; i <= 3; i++) {
                    shoot.add(InventedShoot.shot(scenes.get((s + i * (n / 4)) % n), camera, -1 + 2.2 * random.nextDouble(), random.nextLong()));
                }
                shoot.addAll(bracket(scene, camera, -0.9));
                mixed.count(f, ProfileChooser.choose(shoot));
            }
        }
        System.out.println("ProfileChooserTest, seed " + SEED + ", " + n + " scenes through random cameras of each family:");
        int sure = 0;
        int right = 0;
        for (Table table : List.of(single, one, different, moved, mixed)) {
            System.out.print(table);
            sure += table.sure;
            right += table.sureAndRight;
        }
        assertTrue(right >= 0.95 * sure, right + " of " + sure + " right where it was sure");
        for (Table table : List.of(one, mixed)) {
            assertTrue(table.sureAndRight >= 0.95 * 3 * n, table.kind + ": sure and right in only " + table.sureAndRight + " of " + 3 * n);
        }
    }

    @Test
    void saysTheSameTwiceAndGivesTheEvidence() {
        List<Measurement> shoot = bracket(InventedShoot.invented(3), InventedShoot.camera(0, new Random(3)), -1, 0, 1);
        ProfileChoice choice = ProfileChooser.choose(shoot);
        assertEquals(choice.line(), ProfileChooser.choose(shoot).line());
        assertEquals(choice.perFamilyScores(), ProfileChooser.choose(shoot).perFamilyScores());
        assertEquals("cinema-soft", choice.profile().name());
        assertTrue(choice.line().startsWith("profile: cinema-soft (sure: 0."), choice.line());
        assertTrue(choice.line().contains("pairs of clips of one scene"), choice.line());
        assertEquals(InventedShoot.FAMILIES, choice.perFamilyScores().stream().map(ProfileChoice.FamilyScore::profile).toList());
        assertEquals(1, choice.perFamilyScores().stream().mapToDouble(ProfileChoice.FamilyScore::probability).sum(), 1e-3);
        assertTrue(choice.perFamilyScores().get(0).leftPercent() < 0.6, choice.toString());
        assertTrue(choice.perFamilyScores().get(1).leftPercent() > 1.5, choice.toString());
    }

    @Test
    void clipsOfDifferentScenesAreNotTakenForOne() {
        List<Measurement> shoot = new ArrayList<>();
        Profile camera = InventedShoot.camera(1, new Random(9));
        for (int i = 0; i < 5; i++) {
            shoot.add(InventedShoot.shot(InventedShoot.invented(500 + i), camera, -1 + 0.5 * i, i));
        }
        ProfileChoice choice = ProfileChooser.choose(shoot);
        assertTrue(Double.isNaN(choice.perFamilyScores().get(0).leftPercent()), choice.toString());
    }

    /** Two clips of one scene between which more than exposure changed: that may silence the chooser, not mislead it. */
    @Test
    void lightThatChangedDoesNotMakeItSureOfTheWrongOne() {
        Random random = new Random(SEED + 100);
        int told = 0;
        for (int change = 0; change < 5; change++) {
            for (int f = 0; f < 3; f++) {
                InventedShoot.Scene scene = InventedShoot.invented(SEED + 200 + change);
                float[][] light = new float[3][scene.width() * scene.height()];
                for (int c = 0; c < 3; c++) {
                    for (int i = 0; i < light[c].length; i++) {
                        double l = scene.light()[c][i];
                        double x = i % scene.width() / (double) scene.width();
                        light[c][i] = (float) switch (change) {
                            case 0 -> l + 0.02;                              // veil
                            case 1 -> l * (c == 0 ? 1.1 : c == 2 ? 0.88 : 1); // white balance
                            case 2 -> l * Math.pow(2, 0.5 * (x - 0.5));      // light from a side
                            case 3 -> 0.18 * Math.pow(l / 0.18, 0.9);        // flatter light
                            default -> x > 0.5 ? l : 0.8 * l;                // half in the shade
                        };
                    }
                }
                Profile camera = InventedShoot.camera(f, random);
                ProfileChoice choice = ProfileChooser.choose(List.of(InventedShoot.shot(scene, camera, -0.9, random.nextLong()),
                    InventedShoot.shot(new InventedShoot.Scene("changed", scene.width(), scene.height(), light), camera, 0.5, random.nextLong())));
                boolean sure = choice.told() && choice.sureness() >= ProfileChoice.SURE;
                told += sure ? 1 : 0;
                assertTrue(!sure || choice.profile().name().equals(InventedShoot.FAMILIES.get(f)),
                    "change " + change + ", truth " + InventedShoot.FAMILIES.get(f) + ": " + choice.line());
            }
        }
        System.out.println("ProfileChooserTest: sure, and right, in " + told + " of 15 shoots whose light changed");
    }

    @Test
    void oneExposureRepeatedSaysNothingAndAsksForABracket() {
        ProfileChoice choice = ProfileChooser.choose(bracket(InventedShoot.invented(11), InventedShoot.camera(0, new Random(1)), -1.2, -1.21, -1.19));
        assertFalse(choice.told(), choice.line());
        assertEquals("cinema-soft", choice.profile().name());
        assertTrue(choice.line().contains("calibrate") && choice.line().contains("five exposures"), choice.line());
        assertTrue(Double.isNaN(choice.perFamilyScores().get(0).leftPercent()), choice.toString());
    }

    @Test
    void nothingToGoByIsTheDefault() {
        ProfileChoice none = ProfileChooser.choose(List.of());
        assertFalse(none.told());
        assertEquals("cinema-soft", none.profile().name());
        assertTrue(none.line().contains("there is no clip to go by"), none.line());
        List<Measurement> flat = new ArrayList<>();
        for (int code : new int[] {64, 80, 400, 940, 1019}) {
            PlanarFrame frame = PlanarFrame.allocate(64, 36, ChromaSampling.S420, CodeDepth.BITS10, LumaStandard.BT709, false, true, false);
            for (int y = 0; y < 36; y++) {
                for (int x = 0; x < 64; x++) {
                    frame.setLumaCode(x, y, code);
                    frame.setCbCode(x / 2, y / 2, 512);
                    frame.setCrCode(x / 2, y / 2, 512);
                }
            }
            ClipMeter meter = new ClipMeter(LumaStandard.BT709);
            meter.add(frame, 0);
            flat.add(meter.finish("flat " + code));
        }
        ProfileChoice choice = ProfileChooser.choose(flat);
        assertFalse(choice.told(), choice.line());
        assertTrue(choice.sureness() >= 0 && choice.sureness() <= 1, choice.toString());
    }

    @Test
    void aPileUpAtHundredPercentIsAScreen() {
        ProfileChoice choice = ProfileChooser.choose(bracket(InventedShoot.invented(21), ProfileShapes.srgbScreen(), 1.5));
        assertEquals("srgb-screen", choice.profile().name());
        assertTrue(choice.line().contains("pile up"), choice.line());
    }

    @Test
    void aNamedProfileIsDoubtedOnlyOnStrongEvidence() {
        Profile camera = InventedShoot.camera(0, new Random(77));
        List<Measurement> shoot = bracket(InventedShoot.invented(31), camera, -1, 0.4, 1.5);
        assertEquals("", ProfileChooser.objection(shoot, ProfileShapes.cinemaSoft()).orElse(""));
        assertEquals("", ProfileChooser.objection(shoot, camera).orElse(""), "the camera's own profile");
        String note = ProfileChooser.objection(shoot, ProfileShapes.rec709Knee()).orElse("");
        assertTrue(note.contains("cinema-soft") && note.contains("rec709-knee") && note.contains("is used"), note);
        assertTrue(ProfileChooser.objection(shoot, InventedShoot.camera(1, new Random(5))).isPresent(), "a file of the wrong family");
        assertEquals("", ProfileChooser.objection(shoot.subList(0, 1), ProfileShapes.rec709Knee()).orElse(""), "one clip is not strong evidence");
        assertEquals("", ProfileChooser.objection(List.of(), camera).orElse(""));
    }
}
