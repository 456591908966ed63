// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.solve;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.io.File;
import java.io.IOException;
import java.io.UncheckedIOException;
import java.nio.file.Files;
import java.nio.file.Path;
import java.util.ArrayList;
import java.util.Arrays;
import java.util.List;
import java.util.Locale;
import java.util.stream.Collectors;
import java.util.stream.IntStream;
import org.evenstop.engine.frame.PlanarFrame;
import org.evenstop.engine.json.EvenstopFiles;
import org.evenstop.engine.profile.Profile;
import org.junit.jupiter.api.BeforeAll;
import org.junit.jupiter.api.Test;

/**
 * What a correction promises of every picture, whatever the preset and the profile: every photograph of the test material through the three
 * shipped profiles at -2 stops, the presets taking turns so that each picture meets each of them; with -Devenstop.study=full each
 * preset with each profile at -2, 0 and +2 stops. Figures are left in target/promises-everywhere.txt.
 */
class PromisesOnEveryPictureTest {
    private static final int PIXELS = 8_000;
    private static final int[] STOPS = {-2, 0, 2};
    private static final List<String> PRESETS = List.of("even", "face", "landscape", "lowLight", "airy");
    private static final boolean FULL = "full".equals(System.getProperty("evenstop.study"));

    private record Found(String scene, String profile, String preset, int stops, double lost, Correction correction, double newlyClipped, double twice, double skinTurn) {
        /** Whether something held the exposure back: what is held back goes on where it stopped when solved again. */
        boolean isHeldBack() {
            return correction.origin().notes().stream().anyMatch(n -> n.contains("less than asked for") || n.startsWith("Wanted") || n.startsWith("Skin stays")
                || n.startsWith("The clip is noisier"));
        }

        double allowedTwice() {
            if (preset.equals("face") || preset.equals("airy")) {
                return scene.equals("astronaut.png") ? 0.01 : 0.08;
            }
            return 0.01;
        }

        @Override
        public String toString() {
            return String.format(Locale.ROOT, "%s, %s, %s, %+d stops: corrected by %+.2f, lost %.1f %%, newly clipped %.3f %%, twice %.2f %%, skin %+.2f degrees%s",
                scene, profile, preset, stops, correction.origin().stops(), 100 * lost, 100 * newlyClipped, 100 * twice, skinTurn, isHeldBack() ? ", held back" : "");
        }
    }

    private static List<Found> all = List.of();

    @BeforeAll
    static void shootAndSolve() throws IOException {
        File[] files = PromisesTest.material().listFiles((folder, name) -> name.endsWith(".png") || name.endsWith(".jpg"));
        if (files == null) {
            files = new File[0];
        }
        Arrays.sort(files);
        File[] stills = files;
        all = IntStream.range(0, stills.length + 3).parallel().boxed().flatMap(i -> found(i, i < 3 ? null : stills[i - 3]).stream()).toList();
        Files.writeString(Path.of("target", "promises-everywhere.txt"), all.stream().map(f -> f + "\n").collect(Collectors.joining()));
    }

    private static List<Found> found(int index, File still) {
        Bracket scene;
        try {
            scene = still == null ? Exposures.invented(index, 150, 100) : Bracket.ofStill(still, PIXELS);
        } catch (IOException e) {
            throw new UncheckedIOException(e);
        }
        String name = still == null ? "invented " + index : still.getName();
        List<Found> found = new ArrayList<>();
        int turn = index;
        for (String profileName : EvenstopFiles.profileNames()) {
            Profile profile = EvenstopFiles.profile(profileName);
            for (String presetName : PRESETS) {
                turn++;
                PlanarFrame right = FULL || turn % 3 == 0 ? right(scene, profile, EvenstopFiles.preset(presetName)) : null;
                for (int e = 0; e < STOPS.length; e++) {
                    if (FULL || e == 0 && turn % 3 == 0) {
                        found.add(found(name, scene, profile, presetName, STOPS[e], right));
                    }
                }
            }
        }
        return found;
    }

    /** What the right exposure comes to, without noise. */
    private static PlanarFrame right(Bracket scene, Profile profile, Preset preset) {
        Correction correction = Solver.solve(Bracket.measure(scene.shoot(profile, 0, true, 900), "right"), profile, preset);
        return Bracket.corrected(scene.shoot(profile, 0, false, 0), correction);
    }

    private static Found found(String name, Bracket scene, Profile profile, String presetName, int stops, PlanarFrame right) {
        Preset preset = EvenstopFiles.preset(presetName);
        PlanarFrame shot = scene.shoot(profile, stops, true, 900 + stops);
        Correction correction = Solver.solve(Bracket.measure(shot, name), profile, preset);
        PlanarFrame result = Bracket.corrected(shot, correction);
        Correction again = Solver.solve(Bracket.measure(result, name), profile, preset);
        boolean[] recorded = scene.recorded(profile, stops);
        int lost = 0;
        for (boolean r : recorded) {
            lost += r ? 0 : 1;
        }
        return new Found(name, profile.name(), presetName, stops, lost / (double) recorded.length, correction, Exposures.newlyClipped(shot, result, preset),
            Exposures.meanLumaChange(result, Bracket.corrected(result, again)), Exposures.skinTurn(scene, profile, stops, result, right));
    }

    /** All misses at once: one run tells what to mend. */
    private static void none(String what, List<Found> broken) {
        assertEquals(0, broken.size(), what + " broken:\n" + broken.stream().map(Found::toString).collect(Collectors.joining("\n")));
    }

    @Test
    void everyPresetAndProfileMetThePictures() {
        for (String preset : PRESETS) {
            assertTrue(all.stream().anyMatch(f -> f.preset.equals(preset)), preset);
        }
        for (String profile : EvenstopFiles.profileNames()) {
            assertTrue(all.stream().anyMatch(f -> f.profile.equals(profile)), profile);
        }
    }

    @Test
    void toneNeverFallsAndGreysStayGrey() {
        List<Found> broken = new ArrayList<>();
        for (Found f : all) {
            float last = Float.NEGATIVE_INFINITY;
            boolean falls = false;
            for (int i = 0; i <= 16_384; i++) {
                float level = f.correction.tone().at(-0.2f + 1.5f * i / 16_384);
                falls |= level < last - 1.2e-7f;
                last = Math.max(last, level);
            }
            if (falls || !Exposures.staysGrey(f.correction)) {
                broken.add(f);
            }
        }
        none("monotone tone or exact neutrals", broken);
    }

    @Test
    void nothingNewIsClipped() {
        none("at most 0.1 % newly clipped", all.stream().filter(f -> f.newlyClipped > 0.001).toList());
    }

    /**
     * Skin keeps its hue within 1 degree in the mean, where what came of the right exposure is the same picture: nothing lost, nothing held back. Known: the
     * fig with airy, where nobody is, up to 3: what has the colour of skin there differs from one exposure to the other.
     */
    @Test
    void skinKeepsItsHue() {
        List<Found> looked = all.stream().filter(f -> !Double.isNaN(f.skinTurn) && f.lost <= 0.03 && !f.isHeldBack()).toList();
        assertTrue(looked.size() >= 10, "skin was found in " + looked.size() + " results only");
        none("hue of skin within 1 degree", looked.stream()
            .filter(f -> Math.abs(f.skinTurn) > (f.scene.equals("fig.jpg") && f.preset.equals("airy") ? 3 : 1)).toList());
    }

    /**
     * Less than 1 % where nothing held the exposure back. Known: face and airy on pictures without a face, up to 8 %: what has the colour of skin loses
     * it, or gains it, as highlights are folded, and the second solution sees another set of it. In the full study (1215 results) this fails for one more: the
     * mountains through srgb-screen with landscape, 1.7 %. There the hue of skin fails for two: coffee with face and airy, by 3 degrees.
     */
    @Test
    void doneTwiceChangesNothing() {
        none("done twice changes less than allowed", all.stream().filter(f -> f.lost <= 0.03 && !f.isHeldBack() && f.twice >= f.allowedTwice()).toList());
    }
}
