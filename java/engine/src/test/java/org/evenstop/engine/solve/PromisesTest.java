// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.solve;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;
import static org.junit.jupiter.api.Assumptions.assumeTrue;

import java.io.File;
import java.io.IOException;
import java.io.UncheckedIOException;
import java.nio.file.Files;
import java.nio.file.Path;
import java.util.ArrayList;
import java.util.List;
import java.util.Locale;
import java.util.Map;
import java.util.concurrent.ConcurrentHashMap;
import java.util.stream.Collectors;
import java.util.stream.IntStream;
import org.evenstop.engine.json.EvenstopFiles;
import org.junit.jupiter.api.BeforeAll;
import org.junit.jupiter.api.Test;

/**
 * What a correction promises, on invented scenes and, where the folder of test material is there, on real photographs: each is shot at
 * -2, -1, 0, +1 and +2 stops with noise into 10 bit, and every exposure is measured, solved and corrected by itself, through the profile
 * it was shot with and the preset "even".
 *
 * <p>All figures are left in target/promises.txt. The material is looked for in the folder that EVENSTOP_MATERIAL names, else in build/material of this folder or one above it.
 */
class PromisesTest {
    private static final int PIXELS = 45_000;
    private static final List<String> STILLS = List.of("astronaut.png", "chelsea.png", "coffee.png", "castle-maintenon.jpg", "hazy-beach.jpg",
        "white-lamps.jpg", "warm-interior.jpg", "mountains.jpg", "citrus-fruits.jpg", "dogs.jpg", "seed-heads.jpg");
    /** Also shot through the knee, where most of these lose highlights at +2 stops. */
    private static final List<String> THROUGH_KNEE = List.of("astronaut.png", "coffee.png", "hazy-beach.jpg", "white-lamps.jpg", "warm-interior.jpg",
        "seed-heads.jpg");

    /** What was found for one exposure of one scene. */
    private record Found(String scene, String profile, int stops, double lost, Correction correction, double difference, double newlyClipped,
                         double skinTurn, double twice) {
        @Override
        public String toString() {
            return String.format(Locale.ROOT, "%s, %s, %+d stops: corrected by %+.2f, lost %.1f %%, dE %.2f, newly clipped %.3f %%, skin %+.2f degrees, twice %.2f %%",
                scene, profile, stops, correction.origin().stops(), 100 * lost, difference, 100 * newlyClipped, skinTurn, 100 * twice);
        }
    }

    private static final Map<String, List<Found>> FOUND = new ConcurrentHashMap<>();

    static File material() {
        String named = System.getenv("EVENSTOP_MATERIAL");
        if (named != null && !named.isBlank()) {
            return new File(named);
        }
        for (File folder = new File("").getAbsoluteFile(); folder != null; folder = folder.getParentFile()) {
            File inside = new File(folder, "build/material");
            if (inside.isDirectory()) {
                return inside;
            }
        }
        return new File("build/material");
    }

    static void assumeMaterial() {
        boolean there = new File(material(), STILLS.get(0)).isFile();
        String why = "skipped: no photographs in " + material() + "; .ci/fetch-material fetches them, EVENSTOP_MATERIAL names another folder";
        if (!there) {
            System.err.println("PromisesTest: " + why);
        }
        assumeTrue(there, why);
    }

    @BeforeAll
    static void shootAndSolve() throws IOException {
        List<String[]> cases = new ArrayList<>();
        for (String scene : List.of("meadow", "window", "garden")) {
            cases.add(new String[] {scene, "cinema-soft"});
            cases.add(new String[] {scene, "rec709-knee"});
        }
        for (String still : STILLS) {
            if (new File(material(), still).isFile()) {
                cases.add(new String[] {still, "cinema-soft"});
                if (THROUGH_KNEE.contains(still)) {
                    cases.add(new String[] {still, "rec709-knee"});
                }
            }
        }
        IntStream.range(0, cases.size()).parallel().forEach(i -> FOUND.put(cases.get(i)[0] + " " + cases.get(i)[1], found(cases.get(i)[0], cases.get(i)[1])));
        Files.writeString(Path.of("target", "promises.txt"), all().stream().map(f -> f + "\n").collect(Collectors.joining()));
    }

    private static List<Found> found(String name, String profile) {
        int invented = List.of("meadow", "window", "garden").indexOf(name);
        Bracket scene;
        try {
            scene = invented >= 0 ? Exposures.invented(invented, 270, 180) : Bracket.ofStill(new File(material(), name), PIXELS);
        } catch (IOException e) {
            throw new UncheckedIOException(e);
        }
        Exposures e = new Exposures(scene, EvenstopFiles.profile(profile), EvenstopFiles.preset("even"));
        List<Found> found = new ArrayList<>();
        for (int i = 0; i < Exposures.STOPS.length; i++) {
            found.add(new Found(name, profile, Exposures.STOPS[i], e.lost(i), e.correction[i], e.differenceFromRight(i), e.newlyClipped(i), e.skinTurn(i),
                i % 2 == 0 ? e.changeWhenDoneTwice(i) : 0));
        }
        return found;
    }

    private static List<Found> all() {
        return FOUND.entrySet().stream().sorted(Map.Entry.comparingByKey()).flatMap(e -> e.getValue().stream()).toList();
    }

    @Test
    void toneNeverFalls() {
        for (Found f : all()) {
            float last = Float.NEGATIVE_INFINITY;
            for (int i = 0; i <= 65_536; i++) {
                float level = f.correction.tone().at(-0.2f + 1.5f * i / 65_536);
                assertTrue(level >= last - 1.2e-7f, f.scene);
                last = Math.max(last, level);
            }
        }
    }

    @Test
    void neutralsStayExactlyNeutral() {
        for (Found f : all()) {
            assertTrue(Exposures.staysGrey(f.correction), f.toString());
        }
    }

    /** At most 0.1 % of the picture leaves the range of EBU R 103, or the preset's highlight level by more than 2 %. */
    @Test
    void nothingNewIsClipped() {
        for (Found f : all()) {
            assertTrue(f.newlyClipped <= 0.001, f.toString());
        }
    }

    /** Pixels that count as skin keep their hue within 1 degree in the mean, whatever the exposure was. */
    @Test
    void skinKeepsItsHue() {
        int looked = 0;
        for (Found f : all()) {
            if (!Double.isNaN(f.skinTurn)) {
                assertTrue(Math.abs(f.skinTurn) <= 1, f.toString());
                looked++;
            }
        }
        assertTrue(looked >= 20, "skin was found in " + looked + " exposures only");
    }

    /** A corrected clip that is measured and solved again changes by less than 1 %, however much light was lost. */
    @Test
    void doneTwiceChangesNothing() {
        for (Found f : all()) {
            assertTrue(f.twice < 0.01, f.toString());
        }
    }

    /**
     * Every exposure of a scene lands on one picture: the mean of dE00 is at most 0.5 over all of them. Single ones may miss it where light
     * was lost, for then where the highlights lay has to be guessed: at +2 stops through the knee the invented window (1.5 with 12 % of the
     * picture lost), white-lamps (1.3, 30 %) and hazy-beach (0.8, 41 %) more than others. Where no more than 3 % is lost, each exposure is within 0.75.
     */
    @Test
    void everyExposureLandsOnOnePicture() {
        double sum = 0;
        int n = 0;
        for (Found f : all()) {
            if (f.stops != 0) {
                sum += f.difference;
                n++;
                assertTrue(f.lost > 0.03 || f.difference <= 0.75, f.toString());
            }
        }
        double mean = sum / n;
        assertTrue(mean <= 0.5, "mean dE00 is " + mean + " over " + n + " exposures");
        // A stop of exposure is worth a stop of correction: from -2 to +1 stops the corrections differ by three.
        for (List<Found> scene : FOUND.values()) {
            if (scene.get(3).lost <= 0.03) {
                assertEquals(3, scene.get(0).correction.origin().stops() - scene.get(3).correction.origin().stops(), 0.12, scene.get(0).toString());
            }
        }
    }

    @Test
    void realPhotographsWereAmongThem() {
        assumeMaterial();
        long stills = FOUND.keySet().stream().filter(name -> name.contains(".")).count();
        assertEquals(STILLS.size() + THROUGH_KNEE.size(), stills, "pictures missing in " + material());
    }

    /** The bridge at night is lifted by no more than 2 stops, and by less where a low-light scene is named one. */
    @Test
    void nightStaysNight() throws IOException {
        assumeMaterial();
        Bracket bridge = Bracket.ofStill(new File(material(), "cincinnati-bridge.jpg"), PIXELS);
        for (String profile : List.of("cinema-soft", "rec709-knee")) {
            var measured = Bracket.measure(bridge.shoot(EvenstopFiles.profile(profile), 0, true, 1), "bridge");
            double even = Solver.solve(measured, EvenstopFiles.profile(profile), EvenstopFiles.preset("even")).origin().stops();
            double low = Solver.solve(measured, EvenstopFiles.profile(profile), EvenstopFiles.preset("lowLight")).origin().stops();
            assertTrue(even <= 2, profile + ": lifted by " + even);
            assertTrue(low < even, profile + ": " + low + " as low light, " + even + " else");
        }
    }

    @Test
    void lowLightLiftsLessThanTheDefault() {
        Bracket street = Exposures.invented(3, 270, 180);
        var measured = Bracket.measure(street.shoot(EvenstopFiles.profile("cinema-soft"), 0, true, 1), "street");
        Correction even = Solver.solve(measured, EvenstopFiles.profile("cinema-soft"), EvenstopFiles.preset("even"));
        Correction low = Solver.solve(measured, EvenstopFiles.profile("cinema-soft"), EvenstopFiles.preset("lowLight"));
        assertTrue(low.origin().stops() <= 2 && low.origin().stops() < even.origin().stops(), low.origin() + " " + even.origin());
        assertTrue(low.origin().after().p50() < 25, "a night street stays dark: " + low.origin().after());
    }
}
