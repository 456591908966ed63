// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.measure;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.io.IOException;
import java.nio.file.Files;
import java.nio.file.Path;
import java.util.ArrayList;
import java.util.LinkedHashMap;
import java.util.List;
import java.util.Locale;
import java.util.Map;
import java.util.Random;
import org.evenstop.engine.Published;
import org.evenstop.engine.evaluate.Family;
import org.evenstop.engine.evaluate.Scene;
import org.evenstop.engine.evaluate.SceneCamera;
import org.evenstop.engine.frame.PlanarFrame;
import org.evenstop.engine.level.CodeDepth;
import org.evenstop.engine.profile.Profile;
import org.evenstop.engine.profile.ProfileShapes;
import org.junit.jupiter.api.BeforeAll;
import org.junit.jupiter.api.Test;

/**
 * How often skin is found, by class of skin: published colours and a spread of people about each, shot at -2 to +2 stops through the
 * three shipped profiles and two invented ones into 10-bit codes. The table stands in docs/skin.md; target/skin-classes.txt holds it anew.
 */
class SkinClassesTest {
    private static final double[] STOPS = {-2, -1, 0, 1, 2};
    private static final int MIDDLE = 2;
    private static final int PEOPLE = 400;
    private static final long SEED = 20_261_125;
    /** Spread of L*, a*, b* among 148 people: I. S. Yun et al., 2010. Taken for every class, and without correlation, for want of more. */
    private static final double[] SPREAD = {4.86, 2.65, 2.39};
    private static final List<Profile> CAMERAS = List.of(ProfileShapes.cinemaSoft(), ProfileShapes.rec709Knee(), ProfileShapes.srgbScreen(),
        Family.CINEMA.invent(SEED), Family.KNEE.invent(SEED));

    /** Shares found by class: {@code [camera][exposure]}. */
    private static final Map<String, double[][]> FOUND = new LinkedHashMap<>();

    @BeforeAll
    static void shoot() throws IOException {
        Random random = new Random(SEED);
        Map<String, List<double[]>> people = new LinkedHashMap<>();
        for (Map<String, String> row : Published.rows("skin-colours.csv")) {
            List<double[]> kind = people.computeIfAbsent(row.get("kind"), k -> new ArrayList<>());
            double[] lab = {Published.number(row, "l"), Published.number(row, "a"), Published.number(row, "b")};
            for (int i = 0; i < PEOPLE; i++) {
                kind.add(lightOfLab(lab[0] + SPREAD[0] * random.nextGaussian(), lab[1] + SPREAD[1] * random.nextGaussian(),
                    lab[2] + SPREAD[2] * random.nextGaussian(), row.get("white")));
            }
        }
        people.forEach((kind, colours) -> FOUND.put(kind, found(colours)));
        Files.writeString(Path.of("target", "skin-classes.txt"), table());
        System.out.print(table());
    }

    /**
     * Linear BT.709 R, G, B of CIE L*a*b* (CIE 15), a white of D50 adapted to D65 after Bradford (ICC.1:2022 Annex E, and its inverse at D65);
     * the matrix to R, G, B is that of SMPTE RP 177.
     */
    private static double[] lightOfLab(double l, double a, double b, String white) {
        boolean d50 = white.equals("D50");
        double fy = (l + 16) / 116;
        double x = cubed(fy + a / 500) * (d50 ? 0.9642 : 0.95046);
        double y = cubed(fy);
        double z = cubed(fy - b / 200) * (d50 ? 0.8249 : 1.08906);
        if (d50) {
            double x65 = 0.9555766 * x - 0.0230393 * y + 0.0631636 * z;
            double y65 = -0.0282895 * x + 1.0099416 * y + 0.0210077 * z;
            z = 0.0122982 * x - 0.0204830 * y + 1.3299098 * z;
            x = x65;
            y = y65;
        }
        return new double[] {Math.max(0, 3.2409699 * x - 1.5373832 * y - 0.4986108 * z), Math.max(0, -0.9692436 * x + 1.8759675 * y + 0.0415551 * z),
            Math.max(0, 0.0556301 * x - 0.2039770 * y + 1.0569715 * z)};
    }

    private static double cubed(double f) {
        return f > 6.0 / 29 ? f * f * f : 3 * 36.0 / 841 * (f - 4.0 / 29);
    }

    private static Scene scene(List<double[]> colours) {
        float[][] light = new float[3][colours.size()];
        for (int i = 0; i < colours.size(); i++) {
            for (int c = 0; c < 3; c++) {
                light[c][i] = (float) colours.get(i)[c];
            }
        }
        return new Scene(colours.size(), 1, light);
    }

    private static boolean[] counted(Scene scene, Profile camera, double stops) {
        PlanarFrame f = new SceneCamera(camera, CodeDepth.BITS10, 0, 0).shoot(scene, stops, 0);
        boolean[] counted = new boolean[f.width()];
        for (int x = 0; x < f.width(); x++) {
            counted[x] = Skin.counts(f.depth().levelOfCode(f.lumaCode(x, 0)), f.depth().chromaOfCode(f.cbCode(x, 0)), f.depth().chromaOfCode(f.crCode(x, 0)));
        }
        return counted;
    }

    private static double[][] found(List<double[]> colours) {
        Scene scene = scene(colours);
        double[][] found = new double[CAMERAS.size()][STOPS.length];
        for (int c = 0; c < CAMERAS.size(); c++) {
            for (int e = 0; e < STOPS.length; e++) {
                for (boolean one : counted(scene, CAMERAS.get(c), STOPS[e])) {
                    found[c][e] += one ? 1.0 / colours.size() : 0;
                }
            }
        }
        return found;
    }

    private static double atExposure(String kind, int e) {
        double sum = 0;
        for (double[] camera : FOUND.get(kind)) {
            sum += camera[e] / CAMERAS.size();
        }
        return sum;
    }

    private static double overall(String kind) {
        double sum = 0;
        for (int e = 0; e < STOPS.length; e++) {
            sum += atExposure(kind, e) / STOPS.length;
        }
        return sum;
    }

    private static String table() {
        StringBuilder text = new StringBuilder(String.format(Locale.ROOT, "seed %d, %d cameras, %d people about each published colour; found, in percent%n%-22s",
            SEED, CAMERAS.size(), PEOPLE, "class"));
        for (double stops : STOPS) {
            text.append(String.format(Locale.ROOT, " %+5.0f", stops));
        }
        text.append("   all\n");
        for (String kind : FOUND.keySet()) {
            text.append(String.format(Locale.ROOT, "%-22s", kind));
            for (int e = 0; e < STOPS.length; e++) {
                text.append(String.format(Locale.ROOT, " %5.0f", 100 * atExposure(kind, e)));
            }
            text.append(String.format(Locale.ROOT, " %5.0f%n", 100 * overall(kind)));
        }
        return text.toString();
    }

    /** The conversion used here gives the light published for the chart, to what its table is rounded to. */
    @Test
    void colourOfTheChartIsItsPublishedLight() {
        for (String[] pair : new String[][] {{"24-patch chart light", "light skin"}, {"24-patch chart dark", "dark skin"}}) {
            Map<String, String> lab = row("skin-colours.csv", "name", pair[0]);
            Map<String, String> light = row("colour-checker.csv", "patch", pair[1]);
            double[] rgb = lightOfLab(Published.number(lab, "l"), Published.number(lab, "a"), Published.number(lab, "b"), lab.get("white"));
            assertEquals(Published.number(light, "linearR"), rgb[0], 6e-4);
            assertEquals(Published.number(light, "linearG"), rgb[1], 6e-4);
            assertEquals(Published.number(light, "linearB"), rgb[2], 6e-4);
        }
    }

    private static Map<String, String> row(String table, String column, String value) {
        return Published.rows(table).stream().filter(r -> r.get(column).equals(value)).findFirst().orElseThrow();
    }

    /** At the right exposure, where the solver judges, nine of ten light, medium and dark, and the darkest within twenty points of the light. */
    @Test
    void darkIsFoundLikeLightAtTheRightExposure() {
        double light = atExposure("light", MIDDLE);
        for (String kind : List.of("light", "medium", "dark")) {
            assertTrue(atExposure(kind, MIDDLE) >= 0.90, kind + "\n" + table());
        }
        assertTrue(atExposure("darkest", MIDDLE) >= light - 0.20, table());
    }

    /** Over all exposures no class of dark skin is found less often than light skin (two points allowed for chance). */
    @Test
    void darkIsNotBehindLightWhenShotWrong() {
        for (String kind : List.of("medium", "dark", "darkest")) {
            assertTrue(overall(kind) >= overall("light") - 0.02, kind + "\n" + table());
        }
        // Shot two stops under, where chroma over luma grows in a contrasty toe, and dark skin most.
        assertTrue(atExposure("dark", 0) >= 0.85 && atExposure("darkest", 0) >= 0.55, table());
    }

    /**
     * Known and not mended: light skin of little red lies beside beige walls and pale wood. A sector that held nine in ten of it (to 140
     * degrees) made the exposure of scenes with such walls depend on noise.
     */
    @Test
    void lightSkinOfLittleRedIsFoundInMostPeople() {
        assertTrue(atExposure("light with little red", MIDDLE) >= 0.50, table());
    }

    /** Nothing else on the chart is taken for skin, whatever the camera and the exposure, but for clipped colours: at most 1 in 100. */
    @Test
    void otherPatchesStayOut() {
        List<double[]> others = new ArrayList<>();
        List<String> names = new ArrayList<>();
        for (Map<String, String> row : Published.rows("colour-checker.csv")) {
            if (!row.get("patch").endsWith("skin")) {
                others.add(new double[] {Math.max(0, Published.number(row, "linearR")), Published.number(row, "linearG"), Published.number(row, "linearB")});
                names.add(row.get("patch"));
            }
        }
        Scene scene = scene(others);
        List<String> taken = new ArrayList<>();
        for (Profile camera : CAMERAS) {
            for (double stops : STOPS) {
                boolean[] counted = counted(scene, camera, stops);
                for (int i = 0; i < counted.length; i++) {
                    if (counted[i]) {
                        taken.add(String.format(Locale.ROOT, "%s, %s, %+.0f stops", names.get(i), camera.name(), stops));
                    }
                }
            }
        }
        System.out.println("other patches taken for skin: " + taken);
        assertTrue(taken.size() <= 0.01 * others.size() * CAMERAS.size() * STOPS.length, taken.toString());
    }
}
