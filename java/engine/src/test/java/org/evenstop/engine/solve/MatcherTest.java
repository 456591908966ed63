// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.solve;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertThrows;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.io.File;
import java.io.IOException;
import java.nio.file.Files;
import java.nio.file.Path;
import java.util.ArrayList;
import java.util.Arrays;
import java.util.List;
import java.util.Locale;
import org.evenstop.engine.frame.PlanarFrame;
import org.evenstop.engine.json.EvenstopFiles;
import org.evenstop.engine.level.LumaStandard;
import org.evenstop.engine.measure.Measurement;
import org.evenstop.engine.measure.PixelSample;
import org.evenstop.engine.profile.Profile;
import org.evenstop.engine.profile.ProfileShapes;
import org.junit.jupiter.api.Test;

/** Matching clips of one scene to a reference, with ground truth: brackets of invented scenes and of real photographs, with noise. */
class MatcherTest {
    private static final Preset EVEN = EvenstopFiles.preset("even");
    private static final Profile SOFT = ProfileShapes.cinemaSoft();
    private static final Profile KNEE = ProfileShapes.rec709Knee();
    /** Cameras that no shipped profile describes. */
    private static final Profile INVENTED_SOFT = ProfileShapes.shouldered("invented-soft", "", "", 0.36, 1.0, 4.8, 0.003,
        new double[][] {{0, 1.2}, {0.2, 1.15}, {0.5, 1.0}, {0.8, 0.75}, {1.09, 0.45}});
    private static final Profile INVENTED_KNEE = ProfileShapes.kneed("invented-knee", "", "", 0.78, 4.5,
        new double[][] {{0, 1}, {0.7, 1}, {1.09, 0.6}});
    private static final double[] BOTH_SIDES = {-2, -1, 1, 2};
    private static final List<String> STILLS = List.of("astronaut.png", "castle-maintenon.jpg", "mountains.jpg", "sunset.jpg",
        "white-lamps.jpg");

    /** A reference shot, solved by itself, and its picture. */
    private static final class Reference {
        final Bracket scene;
        final Profile camera;
        final Profile through;
        final double stops;
        final Measurement measurement;
        final Correction correction;
        final PlanarFrame picture;

        Reference(Bracket scene, Profile camera, Profile through, double stops) {
            this.scene = scene;
            this.camera = camera;
            this.through = through;
            this.stops = stops;
            PlanarFrame shot = scene.shoot(camera, stops, true, 77);
            measurement = Bracket.measure(shot, "reference.mov");
            correction = Solver.solve(measurement, through, EVEN);
            picture = Bracket.corrected(shot, correction);
        }

        MatchResult match(PlanarFrame clip) {
            return Matcher.match(Bracket.measure(clip, "clip.mov"), measurement, correction, through, EVEN);
        }

        /** Mean CIEDE2000 on block means between a matched clip and the reference's picture, of what both recorded. */
        double difference(PlanarFrame clip, Correction c, double clipStops) {
            boolean[] counts = scene.recorded(camera, clipStops);
            boolean[] mine = scene.recorded(camera, stops);
            for (int i = 0; i < counts.length; i++) {
                counts[i] &= mine[i];
            }
            return Bracket.difference(Bracket.corrected(clip, c), picture, counts)[0];
        }
    }

    private static Bracket invented(int which) {
        return Exposures.invented(which, 320, 200);
    }

    /** The left part of one scene beside the right part of another. */
    private static Bracket beside(Bracket left, Bracket right, double share) {
        float[][] light = new float[3][];
        for (int c = 0; c < 3; c++) {
            light[c] = right.light[c].clone();
            for (int i = 0; i < light[c].length; i++) {
                if (i % left.width < share * left.width) {
                    light[c][i] = left.light[c][i];
                }
            }
        }
        return new Bracket(left.width, left.height, light);
    }

    private static void assertPromises(String which, PlanarFrame clip, Correction c) {
        assertTrue(c.tone().isNonDecreasing(), which);
        assertTrue(Exposures.staysGrey(c), which + ": greys");
        double clipped = Exposures.newlyClipped(clip, Bracket.corrected(clip, c), EVEN);
        assertTrue(clipped <= 0.001, which + ": newly clipped " + clipped);
    }

    @Test
    void knownProfileLandsOnTheReference() {
        for (int scene = 0; scene < 3; scene++) {
            Reference reference = new Reference(invented(scene), SOFT, SOFT, 0);
            for (double stops : BOTH_SIDES) {
                String which = "scene " + scene + " at " + stops;
                PlanarFrame clip = reference.scene.shoot(SOFT, stops, true, 5);
                MatchResult result = reference.match(clip);
                assertTrue(result.matched() && result.word().equals("sure"), which + ": " + result.sureness());
                assertEquals(reference.correction.origin().stops() - stops, result.correction().origin().stops(), 0.1, which);
                double difference = reference.difference(clip, result.correction(), stops);
                assertTrue(difference <= 0.5, which + ": dE " + difference);
                assertTrue(result.correction().origin().notes().get(0).startsWith("Matched to reference.mov: sure"),
                    result.correction().origin().notes().toString());
                assertPromises(which, clip, result.correction());
            }
        }
    }

    @Test
    void unknownProfileLandsOnTheReferenceThroughEitherFamily() {
        for (Profile camera : List.of(INVENTED_SOFT, INVENTED_KNEE)) {
            for (Profile through : List.of(SOFT, KNEE)) {
                double sum = 0;
                for (int scene = 0; scene < 3; scene++) {
                    Reference reference = new Reference(invented(scene), camera, through, 0);
                    for (double stops : new double[] {-2, 2}) {
                        String which = camera.name() + " through " + through.name() + ", scene " + scene + " at " + stops;
                        PlanarFrame clip = reference.scene.shoot(camera, stops, true, 6);
                        MatchResult result = reference.match(clip);
                        assertTrue(result.matched(), which);
                        double difference = reference.difference(clip, result.correction(), stops);
                        // The pale room holds little colour to go by; single pictures may be off further than the mean.
                        assertTrue(difference <= 3, which + ": dE " + difference);
                        sum += difference / 6;
                        assertPromises(which, clip, result.correction());
                    }
                }
                assertTrue(sum <= 1.5, camera.name() + " through " + through.name() + ": mean dE " + sum);
            }
        }
    }

    @Test
    void whatOnlyOneOfThemShowsDoesNotPull() {
        for (Profile through : List.of(INVENTED_SOFT, KNEE)) {
            Bracket common = invented(2);
            Reference reference = new Reference(beside(common, invented(0), 0.5), INVENTED_SOFT, through, 0);
            Bracket other = beside(common, invented(1), 0.5);
            boolean[] counts = other.recorded(INVENTED_SOFT, 1);
            for (int i = 0; i < counts.length; i++) {
                counts[i] &= i % other.width < other.width / 2 - 8;
            }
            for (double stops : BOTH_SIDES) {
                String which = "through " + through.name() + " at " + stops;
                PlanarFrame clip = other.shoot(INVENTED_SOFT, stops, true, 8);
                MatchResult result = reference.match(clip);
                assertTrue(result.matched(), which + ": " + result.sureness());
                assertTrue(result.overlap() < 0.9, which + ": " + result.overlap());
                double difference = Bracket.difference(Bracket.corrected(clip, result.correction()), reference.picture, counts)[0];
                assertTrue(difference <= 2, which + ": dE " + difference);
            }
        }
    }

    @Test
    void anotherSceneIsNotMatched() {
        Reference reference = new Reference(invented(0), SOFT, SOFT, 0);
        for (double stops : new double[] {-2, 0, 2}) {
            PlanarFrame clip = invented(3).shoot(SOFT, stops, true, 9);
            Measurement measured = Bracket.measure(clip, "clip.mov");
            MatchResult result = Matcher.match(measured, reference.measurement, reference.correction, SOFT, EVEN);
            assertFalse(result.matched(), "at " + stops + ": " + result.sureness());
            assertEquals("not sure", result.word());
            Correction own = Solver.solve(measured, SOFT, EVEN);
            assertEquals(own.tone(), result.correction().tone());
            assertEquals(own.chromaOut(), result.correction().chromaOut());
            String note = result.correction().origin().notes().get(0);
            assertTrue(note.startsWith("Not matched to reference.mov: not sure") && note.contains("solved by preset even instead"), note);
        }
    }

    @Test
    void clippedPartsOfEitherDoNotCount() {
        Bracket window = invented(1);
        Reference bright = new Reference(window, SOFT, SOFT, 3);
        for (double stops : new double[] {-1, 0, 1}) {
            PlanarFrame clip = window.shoot(SOFT, stops, true, 10);
            MatchResult result = bright.match(clip);
            assertTrue(result.matched(), "at " + stops + ": " + result.sureness());
            double difference = bright.difference(clip, result.correction(), stops);
            assertTrue(difference <= 0.8, "at " + stops + ": dE " + difference);
            assertPromises("at " + stops, clip, result.correction());
        }
        Reference right = new Reference(window, SOFT, SOFT, 0);
        PlanarFrame blown = window.shoot(SOFT, 3, true, 11);
        MatchResult result = right.match(blown);
        assertTrue(result.matched());
        assertTrue(right.difference(blown, result.correction(), 3) <= 0.8, "dE " + right.difference(blown, result.correction(), 3));
    }

    /** Through a curve that is not the camera's: 1.30 % was found, 1.03 with an earlier correction of the reference, and the bound set after it. */
    @Test
    void matchedTwiceChangesLittleMore() {
        Reference reference = new Reference(invented(0), INVENTED_SOFT, SOFT, 0);
        PlanarFrame clip = reference.scene.shoot(INVENTED_SOFT, 1.5, true, 12);
        PlanarFrame once = Bracket.corrected(clip, reference.match(clip).correction());
        PlanarFrame twice = Bracket.corrected(once, reference.match(once).correction());
        double sum = 0;
        for (int y = 0; y < once.height(); y++) {
            for (int x = 0; x < once.width(); x++) {
                sum += Math.abs(once.lumaCode(x, y) - twice.lumaCode(x, y)) / 876.0;
            }
        }
        double mean = sum / once.width() / once.height();
        assertTrue(mean < 0.014, "mean change of luma " + mean);
    }

    @Test
    void theReferenceItselfGetsItsOwnPicture() {
        Reference reference = new Reference(invented(2), SOFT, SOFT, -1);
        MatchResult result = Matcher.match(reference.measurement, reference.measurement, reference.correction, SOFT, EVEN);
        assertEquals(1, result.sureness(), 1e-9);
        assertEquals(1, result.overlap(), 1e-3);
        for (float x = 0; x <= 1; x += 0.05f) {
            assertEquals(reference.correction.tone().at(x), result.correction().tone().at(x), 0.004, "at " + x);
        }
    }

    @Test
    void thePresetsLimitsHold() {
        Reference reference = new Reference(invented(0), SOFT, SOFT, 0);
        PlanarFrame clip = reference.scene.shoot(SOFT, -2, true, 13);
        MatchResult result = Matcher.match(Bracket.measure(clip, "clip.mov"), reference.measurement, reference.correction, SOFT,
            EVEN.withLargestLift(0.5));
        assertEquals(0.5, result.correction().origin().stops(), 0.011);
        assertTrue(result.correction().origin().notes().stream().anyMatch(n -> n.startsWith("Wanted a lift of")),
            result.correction().origin().notes().toString());
    }

    /** With no lift and no pull the reference keeps its exposure, and the others still follow it. */
    @Test
    void aPresetThatKeepsExposureStillLetsClipsFollow() {
        Preset tuck = EvenstopFiles.preset("tuck");
        Bracket scene = invented(2);
        Measurement dark = Bracket.measure(scene.shoot(SOFT, -1, true, 14), "dark.mov");
        MatchResult result = Matcher.match(Bracket.measure(scene.shoot(SOFT, 1, true, 15), "clip.mov"), dark, Solver.solve(dark, SOFT, tuck), SOFT, tuck);
        assertEquals(-2, result.correction().origin().stops(), 0.1);
    }

    @Test
    void aMeasurementWithoutPixelsIsRefusedByName() {
        Reference reference = new Reference(invented(2), SOFT, SOFT, 0);
        Measurement m = reference.measurement;
        Measurement empty = new Measurement("bare.json", m.frames(), m.levels(), m.red(), m.green(), m.blue(), m.clippedHigh(), m.clippedLow(),
            m.ceiling(), m.skin(), m.subject(), m.noise(), m.noiseTiles(), m.detail(), m.chroma(), m.area(), m.horizon(), new PixelSample(LumaStandard.BT709, new short[0]), m.notes());
        String message = assertThrows(IllegalArgumentException.class,
            () -> Matcher.match(m, empty, reference.correction, SOFT, EVEN)).getMessage();
        assertTrue(message.startsWith("bare.json: ") && message.contains("measure the clip again"), message);
    }

    @Test
    void blackAndWhitePicturesAreNoTrouble() {
        Bracket dark = new Bracket(64, 64, new float[3][64 * 64]);
        float[][] white = new float[3][64 * 64];
        for (float[] plane : white) {
            Arrays.fill(plane, 100);
        }
        Bracket blown = new Bracket(64, 64, white);
        Reference reference = new Reference(blown, SOFT, SOFT, 0);
        MatchResult lost = reference.match(blown.shoot(SOFT, 1, false, 1));
        assertFalse(lost.matched());
        assertEquals(0, lost.overlap());
        assertFalse(reference.match(dark.shoot(SOFT, 0, false, 1)).matched());
    }

    /** The row "profile unknown, reference clip given" of the table of success: at most 1.5 at two stops either way. */
    @Test
    void realPhotographsLandOnTheReference() throws IOException {
        PromisesTest.assumeMaterial();
        List<String> lines = new ArrayList<>();
        List<Profile[]> cases = List.of(new Profile[] {SOFT, SOFT}, new Profile[] {INVENTED_SOFT, SOFT}, new Profile[] {INVENTED_SOFT, KNEE},
            new Profile[] {INVENTED_KNEE, SOFT});
        double[] sum = new double[cases.size()];
        int pictures = 0;
        for (String still : STILLS) {
            File file = new File(PromisesTest.material(), still);
            if (!file.isFile()) {
                continue;
            }
            pictures++;
            Bracket scene = Bracket.ofStill(file, 60_000);
            for (int i = 0; i < cases.size(); i++) {
                Reference reference = new Reference(scene, cases.get(i)[0], cases.get(i)[1], 0);
                for (double stops : new double[] {-2, 2}) {
                    PlanarFrame clip = scene.shoot(cases.get(i)[0], stops, true, 20);
                    MatchResult result = reference.match(clip);
                    double difference = reference.difference(clip, result.correction(), stops);
                    String which = String.format(Locale.ROOT, "%s, %s through %s, %+.0f stops: dE %.2f, sure %.2f, overlap %.2f", still,
                        cases.get(i)[0].name(), cases.get(i)[1].name(), stops, difference, result.sureness(), result.overlap());
                    lines.add(which);
                    assertTrue(result.matched(), which);
                    assertPromises(which, clip, result.correction());
                    sum[i] += difference;
                }
            }
        }
        for (int i = 0; i < cases.size(); i++) {
            lines.add(String.format(Locale.ROOT, "%s through %s, mean of %d pictures at -2 and +2 stops: dE %.2f", cases.get(i)[0].name(),
                cases.get(i)[1].name(), pictures, sum[i] / (2 * pictures)));
        }
        Files.createDirectories(Path.of("target"));
        Files.write(Path.of("target", "matching.txt"), lines);
        for (int i = 0; i < cases.size(); i++) {
            assertTrue(sum[i] / (2 * pictures) <= (i == 0 ? 0.5 : 1.5), lines.get(lines.size() - cases.size() + i));
        }
    }

    /** No photograph is taken for another. */
    @Test
    void realPhotographsAreToldApart() throws IOException {
        PromisesTest.assumeMaterial();
        for (int i = 0; i < STILLS.size(); i++) {
            File one = new File(PromisesTest.material(), STILLS.get(i));
            File other = new File(PromisesTest.material(), STILLS.get((i + 1) % STILLS.size()));
            if (!one.isFile() || !other.isFile()) {
                continue;
            }
            Reference reference = new Reference(Bracket.ofStill(one, 60_000), INVENTED_SOFT, SOFT, 0);
            MatchResult result = reference.match(Bracket.ofStill(other, 60_000).shoot(INVENTED_SOFT, 1, true, 21));
            assertFalse(result.matched(), one.getName() + " and " + other.getName() + ": sure " + result.sureness());
        }
    }
}
