// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.follow;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertThrows;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.util.Arrays;
import java.util.function.IntFunction;
import java.util.function.IntToDoubleFunction;
import org.evenstop.engine.frame.PlanarFrame;
import org.evenstop.engine.json.EvenstopFiles;
import org.evenstop.engine.profile.Profile;
import org.junit.jupiter.api.Test;

/** What is found in clips whose light is known frame by frame. */
class LightMeterTest {
    private static final Profile SOFT = EvenstopFiles.profile("cinema-soft");
    private static final double NO_CEILING = 1.09;

    private static LightTrack track(Profile profile, int frames, IntToDoubleFunction seconds, IntFunction<PlanarFrame> film) {
        LightMeter meter = new LightMeter(profile, NO_CEILING);
        for (int i = 0; i < frames; i++) {
            meter.add(film.apply(i), seconds.applyAsDouble(i));
        }
        return meter.finish();
    }

    private static LightTrack track(int frames, IntFunction<PlanarFrame> film) {
        return track(SOFT, frames, i -> i / 25.0, film);
    }

    private static FilmedScene yard() {
        return new FilmedScene(SOFT, 11, 0);
    }

    /** Largest miss against the truth, both about their medians. */
    private static double miss(LightTrack track, int from, int to, IntToDoubleFunction truth) {
        double[] wanted = new double[to - from];
        for (int i = from; i < to; i++) {
            wanted[i - from] = truth.applyAsDouble(i);
        }
        double[] sorted = wanted.clone();
        Arrays.sort(sorted);
        double worst = 0;
        for (int i = from; i < to; i++) {
            worst = Math.max(worst, Math.abs(track.stopsAt(i) - (wanted[i - from] - sorted[sorted.length / 2])));
        }
        return worst;
    }

    private static void assertSteady(String what, LightTrack track) {
        System.out.printf("%s: range %.4f, %d shots, %d not judged%n", what, track.range(), track.shots().size(), track.framesNotJudged());
        assertTrue(track.isSteady(), what + ": range " + track.range());
        for (int i = 0; i < track.frames(); i++) {
            assertEquals(0, track.stopsAt(i), 0, what);
        }
    }

    private static double hunting(int i) {
        return 1.2 * Math.sin(2 * Math.PI * i / 50.0) + 0.3 * i / 100;
    }

    @Test
    void aHuntingIrisIsFoundFrameByFrame() {
        FilmedScene scene = yard();
        LightTrack track = track(100, i -> scene.film(hunting(i)));
        double miss = miss(track, 0, 100, LightMeterTest::hunting);
        System.out.printf("hunting iris: largest miss %.4f stops, %d keys%n", miss, track.shots().get(0).keys().size());
        assertTrue(miss < 0.05, "miss " + miss);
        assertEquals(1, track.shots().size());
        assertEquals(0, track.cuts());
        assertTrue(track.shots().get(0).keys().size() < 40, "sparse: " + track.shots().get(0).keys().size());
        for (int i = 1; i < 100; i++) {
            assertEquals(hunting(i) - hunting(i - 1), track.stopsAt(i) - track.stopsAt(i - 1), 0.02, "step at " + i);
        }
    }

    @Test
    void aSlowDriftOverAPanIsFoundWithoutThePan() {
        FilmedScene scene = new FilmedScene(SOFT, 5, 2);
        IntToDoubleFunction truth = i -> 0.5 * Math.sin(i / 40.0);
        LightTrack track = track(200, i -> scene.film(truth.applyAsDouble(i), 20 + 2.0 * i, 0, 0.008, 1));
        double miss = miss(track, 0, 200, truth);
        System.out.printf("drift over a pan: largest miss %.4f stops%n", miss);
        assertTrue(miss < 0.1, "miss " + miss);
        assertEquals(0, track.cuts());
    }

    @Test
    void aLongSteadyClipIsLeftAloneToTheLastFrame() {
        FilmedScene scene = yard();
        assertSteady("long and noisy", track(700, i -> scene.film(0, 200, 0, 0.012, 1)));
        assertSteady("hand-held", track(200, i -> scene.film(0, 200 + 3 * Math.sin(i / 7.0), 0, 0.008, 1)));
    }

    @Test
    void aPanOverASceneThatGetsBrighterIsNoDrift() {
        FilmedScene scene = new FilmedScene(SOFT, 5, 2);
        assertSteady("pan", track(200, i -> scene.film(0, 20 + 2.0 * i, 0, 0.008, 1)));
    }

    @Test
    void somebodyWhoWalksInIsNoDrift() {
        FilmedScene scene = yard();
        assertSteady("walker", track(160, i -> scene.film(0, 200, 2 * i, 0.008, 1)));
        IntToDoubleFunction truth = i -> i < 60 ? 0 : 0.6 * Math.min(1, (i - 60) / 40.0);
        LightTrack track = track(160, i -> scene.film(truth.applyAsDouble(i), 200, 2 * i, 0.008, 1));
        double miss = miss(track, 0, 160, truth);
        System.out.printf("walker and automatic exposure: largest miss %.4f stops%n", miss);
        assertTrue(miss < 0.06, "miss " + miss);
    }

    /** For a while nothing of the place can be seen, and nothing sure can be said; before and after, it is the same. */
    @Test
    void whatComesBackAfterThePictureWasHiddenIsWhatItWas() {
        FilmedScene scene = yard().walkerOf(260);
        LightTrack track = track(100, i -> scene.film(0, 200, 5 * i, 0.008, 1));
        System.out.printf("close pass: range %.4f%n", track.range());
        assertEquals(1, track.shots().size());
        assertEquals(track.stopsAt(5), track.stopsAt(95), 0.01);
        assertTrue(track.range() < 0.15, "range " + track.range());
    }

    /** Every frame is half another picture: whatever is found there, nothing is done. */
    @Test
    void whereTooMuchMovesNothingIsFollowed() {
        FilmedScene scene = yard().walkerOf(100);
        LightTrack track = track(80, i -> scene.film(hunting(i), 200, 60 + 67 * i % 130, 0.008, 1));
        System.out.printf("too much: range %.4f, %d of %d shots unsure%n", track.range(), track.unsureShots(), track.shots().size());
        assertTrue(track.unsureShots() > 0);
        assertTrue(track.isSteady());
        assertEquals(0, track.stopsAt(40), 0);
    }

    @Test
    void aZoomIsNoDrift() {
        FilmedScene scene = new FilmedScene(SOFT, 5, 2);
        assertSteady("zoom", track(150, i -> scene.zoomed(1 + i / 150.0).film(0)));
    }

    @Test
    void shotsAreJudgedEachByItself() {
        FilmedScene one = yard();
        FilmedScene other = new FilmedScene(SOFT, 23, 0);
        IntToDoubleFunction drift = i -> i < 60 ? -0.4 : 0.5 * Math.sin((i - 60) / 15.0);
        LightTrack track = track(140, i -> i < 60 ? one.film(-0.4) : other.film(drift.applyAsDouble(i)));
        assertEquals(1, track.cuts());
        assertEquals(59, track.shots().get(0).lastFrame());
        assertEquals(60, track.shots().get(1).firstFrame());
        assertTrue(!track.shots().get(0).isFollowed() && track.shots().get(1).isFollowed());
        for (int i = 0; i < 60; i++) {
            assertEquals(0, track.stopsAt(i), 0);
        }
        assertTrue(miss(track, 60, 140, drift) < 0.05);
    }

    @Test
    void fadesAndBlackFramesAreNotFollowed() {
        FilmedScene scene = yard();
        IntToDoubleFunction gain = i -> i < 20 ? i / 20.0 : i < 80 ? 1 : i < 100 ? (100 - i) / 20.0 : i < 106 ? 0 : i < 126 ? (i - 106) / 20.0 : i < 180 ? 1
            : Math.max(0, (200 - i) / 20.0);
        assertSteady("fades", track(206, i -> scene.film(0, 200, 0, 0.004, gain.applyAsDouble(i))));
        IntToDoubleFunction truth = i -> 0.4 * Math.sin(i / 12.0);
        LightTrack track = track(206, i -> scene.film(truth.applyAsDouble(i), 200, 0, 0.004, gain.applyAsDouble(i)));
        double worst = 0;
        double middle = track.stopsAt(50) - truth.applyAsDouble(50);
        for (int i = 24; i < 76; i++) {
            worst = Math.max(worst, Math.abs(track.stopsAt(i) - truth.applyAsDouble(i) - middle));
        }
        for (int i = 0; i < 206; i++) {
            assertTrue(Math.abs(track.stopsAt(i)) < 0.6, "frame " + i + " is taken for " + track.stopsAt(i) + " stops");
        }
        System.out.printf("drift between fades: largest miss %.4f stops%n", worst);
        assertTrue(worst < 0.05, "miss " + worst);
        // Fading frames keep the light of the picture they fade from.
        assertEquals(track.stopsAt(85), track.stopsAt(98), 1e-6);
    }

    @Test
    void flickerAndFlashesArePassedOver() {
        FilmedScene scene = yard();
        assertSteady("flicker", track(120, i -> scene.film(i % 2 == 0 ? 0.1 : -0.1)));
        assertSteady("flash", track(100, i -> scene.film(i == 40 || i == 41 ? 1.5 : 0)));
        assertSteady("white-out", track(100, i -> scene.film(i == 40 ? 9 : 0)));
    }

    @Test
    void unevenTimesAreTimes() {
        FilmedScene scene = yard();
        double[] at = new double[90];
        for (int i = 1; i < 90; i++) {
            at[i] = at[i - 1] + (i % 3 == 0 ? 0.1 : i % 3 == 1 ? 0.02 : 0.04);
        }
        IntToDoubleFunction truth = i -> 0.8 * Math.sin(2 * Math.PI * at[i] / 2.5);
        LightTrack track = track(SOFT, 90, i -> at[i], i -> scene.film(truth.applyAsDouble(i)));
        double miss = miss(track, 0, 90, truth);
        System.out.printf("uneven times: largest miss %.4f stops%n", miss);
        assertTrue(miss < 0.06, "miss " + miss);
        LightTrack broken = track(SOFT, 40, i -> i < 20 ? i / 25.0 : Double.NaN, i -> scene.film(0));
        assertTrue(broken.isSteady() && broken.frames() == 40);
    }

    @Test
    void aWrongProfileStillHalvesTheDrift() {
        FilmedScene scene = yard();
        Profile wrong = EvenstopFiles.profile("rec709-knee");
        LightTrack track = track(wrong, 100, i -> i / 25.0, i -> scene.film(hunting(i)));
        FilmedScene clean = yard();
        double before = 0;
        double after = 0;
        for (int i = 0; i < 100; i++) {
            // What a mid grey becomes.
            double level = SOFT.levelOfLight(0.18 * Math.pow(2, hunting(i)));
            before = Math.max(before, Math.abs(level - SOFT.levelOfLight(0.18 * Math.pow(2, hunting(50)))));
            after = Math.max(after, Math.abs(wrong.reexposed(level, -track.stopsAt(i)) - wrong.reexposed(SOFT.levelOfLight(0.18 * Math.pow(2, hunting(50))), -track.stopsAt(50))));
        }
        System.out.printf("wrong profile: grey moves %.3f before, %.3f after%n", before, after);
        assertTrue(after < 0.5 * before, after + " of " + before);
        assertTrue(clean != scene);
    }

    @Test
    void clipsWithoutPictureOrOfOneFrameAreSteady() {
        FilmedScene scene = yard();
        LightTrack black = track(30, i -> scene.film(0, 200, 0, 0.002, 0));
        assertSteady("black", black);
        assertEquals(0, black.shots().size());
        assertEquals(30, black.framesNotJudged());
        assertSteady("one frame", track(1, i -> scene.film(0)));
        assertSteady("three frames", track(3, i -> scene.film(0.3 * i / 100)));
        assertEquals(0, track(1, i -> scene.film(0)).stopsAt(99), 0);
        assertThrows(IllegalStateException.class, () -> new LightMeter(SOFT, NO_CEILING).finish());
    }
}
