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
 * What a correction promises of every picture, whatever the preset and the profile (the hue of skin is PromisesTest's): every photograph of the test material through the three
 * shipped profiles at -2 stops, the presets taking turns so that each picture meets each of them; with -Devenstop.study=full each
 * preset with each profile at -2, 0 and +2 stops. Figures are left in target/promises-everywhere.txt.
 */
class PromisesOnEveryPictureTest {
    private static final int PIXELS = 8_000;
    private static final int[] STOPS = {-2, 0, 2};
    private static final List<String> PRESETS = List.of("even", "face", "landscape", "lowLight", "airy");
    private static final boolean FULL = "full".equals(System.getProperty("evenstop.study"));

    private record Found(String scene, String profile, String preset, int stops, double lost, Correction correction, double newlyClipped, double twice) {
        /** Whether something held the exposure back: what is held back goes on where it stopped when solved again. */
        boolean isHeldBack() {
            return correction.origin().notes().stream().anyMatch(n -> n.contains("less than asked for") || n.startsWith("Wanted") || n.startsWith("Skin stays")
                || n.startsWith("The clip is noisier"));
        }

        boolean isAstronautMadeAiry() {
            return scene.equals("astronaut.png") && profile.equals("srgb-screen") && preset.equals("airy") && stops == -2;
        }

        double allowedTwice() {
            return preset.equals("even") ? 0.025 : preset.equals("face") || preset.equals("airy") ? 0.10 : scene.equals("fig.jpg") ? 0.02 : 0.01;
        }

        @Override
        public String toString() {
            return String.format(Locale.ROOT, "%s, %s, %s, %+d stops: corrected by %+.2f, lost %.1f %%, newly clipped %.3f %%, twice %.2f %%%s",
                scene, profile, preset, stops, correction.origin().stops(), 100 * lost, 100 * newlyClipped, 100 * twice, isHeldBack() ? ", held back" : "");
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
                for (int e = 0; e < STOPS.length; e++) {
                    if (FULL || e == 0 && turn % 3 == 0) {
                        found.add(found(name, scene, profile, presetName, STOPS[e]));
                    }
                }
            }
        }
        return found;
    }

    private static Found found(String name, Bracket scene, Profile profile, String presetName, int stops) {
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
            Exposures.meanLumaChange(result, Bracket.corrected(result, again)));
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

    /**
     * Known: made airy by three or four stops, white things with colour in them pass the range a little oftener: the mountains on a screen 0.13 %, the
     * bridge through the knee 0.11 %, the astronaut on a screen 0.8 %, all shot two stops under.
     */
    @Test
    void nothingNewIsClipped() {
        none("at most 0.1 % newly clipped", all.stream().filter(f -> f.newlyClipped > (f.isAstronautMadeAiry() ? 0.012 : f.preset.equals("airy") ? 0.0015 : 0.001)).toList());
    }

    /**
     * Less than 1 % where skin has no say (known: the fig on a screen, 1.64 %, whose lower half is nearly black). Skin outside the range is moved by a limited part of the way, more the more of it there is, so solving
     * again takes a further step: up to 2.5 % of level with the preset even, up to 10 % with face and airy.
     */
    @Test
    void doneTwiceChangesNothing() {
        none("done twice changes less than allowed", all.stream().filter(f -> f.lost <= 0.03 && !f.isHeldBack() && f.twice >= f.allowedTwice()).toList());
    }
}
