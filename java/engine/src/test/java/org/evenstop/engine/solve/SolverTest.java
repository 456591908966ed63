// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.solve;

import static org.junit.jupiter.api.Assertions.assertArrayEquals;
import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertThrows;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.util.List;
import java.util.Random;
import org.evenstop.engine.curve.Curve;
import org.evenstop.engine.frame.ChromaSampling;
import org.evenstop.engine.frame.PlanarFrame;
import org.evenstop.engine.json.EvenstopFiles;
import org.evenstop.engine.kernel.ScalarKernel;
import org.evenstop.engine.level.CodeDepth;
import org.evenstop.engine.level.LumaStandard;
import org.evenstop.engine.measure.ClipMeter;
import org.evenstop.engine.measure.Measurement;
import org.evenstop.engine.measure.NoiseForecast;
import org.evenstop.engine.profile.Profile;
import org.junit.jupiter.api.Test;

/** Limits and presets of the solver on invented pictures. */
class SolverTest {
    private static final Profile SOFT = EvenstopFiles.profile("cinema-soft");
    private static final Preset EVEN = EvenstopFiles.preset("even");

    private static Measurement garden(double stops) {
        return Bracket.measure(Exposures.invented(2, 180, 120).shoot(SOFT, stops, true, 3), "garden");
    }

    /** Greys from black to 109 % evenly, with a muted colour over the lower half. */
    private static PlanarFrame ramp() {
        PlanarFrame f = PlanarFrame.allocate(1016, 64, ChromaSampling.S444, CodeDepth.BITS10, LumaStandard.BT709, false, true, true);
        for (int y = 0; y < 64; y++) {
            for (int x = 0; x < 1016; x++) {
                f.setLumaCode(x, y, 4 + x);
                f.setCbCode(x, y, y < 32 ? 512 : 500);
                f.setCrCode(x, y, y < 32 ? 512 : 528);
            }
        }
        return f;
    }

    /** Levels up to 109 % come under 100 %, all of them in order and apart; what lies well below stays to the code. */
    @Test
    void tuckBringsSuperWhiteUnderWhiteInOrder() {
        PlanarFrame f = ramp();
        for (String profile : List.of("cinema-soft", "rec709-knee")) {
            Correction tuck = Solver.solve(Bracket.measure(f, "ramp"), EvenstopFiles.profile(profile), EvenstopFiles.preset("tuck"));
            assertEquals(0, tuck.origin().stops(), 0);
            PlanarFrame out = Bracket.corrected(f, tuck);
            for (int y = 0; y < 64; y += 40) {
                for (int x = 1; x < 1016; x++) {
                    assertTrue(out.lumaCode(x, y) >= out.lumaCode(x - 1, y), "order");
                    assertTrue(out.lumaCode(x, y) <= 940, "code " + (4 + x) + " came out at " + out.lumaCode(x, y));
                }
            }
            for (int code = 4; code <= 600; code++) {
                assertEquals(code, out.lumaCode(code - 4, 0), "below the shoulder nothing moves");
            }
            for (int code = 600; code < 1019; code++) {
                double level = CodeDepth.BITS10.levelOfCode(code);
                assertTrue(tuck.tone().at((float) CodeDepth.BITS10.levelOfCode(code + 1)) > tuck.tone().at((float) level), "apart at " + code);
            }
            assertTrue(out.lumaCode(1015, 0) > out.lumaCode(940 - 4, 0) + 5, "highlights keep some of their range");
        }
    }

    @Test
    void tuckLeavesALegalClipAlone() {
        PlanarFrame f = PlanarFrame.allocate(256, 16, ChromaSampling.S444, CodeDepth.BITS10, LumaStandard.BT709, false, true, true);
        for (int y = 0; y < 16; y++) {
            for (int x = 0; x < 256; x++) {
                f.setLumaCode(x, y, 64 + 3 * x);
                f.setCbCode(x, y, 512);
                f.setCrCode(x, y, 512);
            }
        }
        assertTrue(Solver.solve(Bracket.measure(f, "legal"), SOFT, EvenstopFiles.preset("tuck")).isIdentity());
    }

    @Test
    void strengthLiesBetween() {
        PlanarFrame shot = Exposures.invented(1, 180, 120).shoot(SOFT, -1.5, true, 4);
        Correction c = Solver.solve(Bracket.measure(shot, "window"), SOFT, EVEN);
        PlanarFrame full = Bracket.corrected(shot, c);
        double last = 0;
        for (float strength : new float[] {0, 0.25f, 0.5f, 0.75f, 1}) {
            PlanarFrame out = shot.allocateLike();
            new ScalarKernel().apply(shot, out, 0, shot.height(), c, strength);
            double change = Exposures.meanLumaChange(shot, out);
            assertTrue(strength == 0 ? change == 0 : change > last);
            last = change;
            for (int x = 0; x < shot.width(); x++) {
                int a = shot.lumaCode(x, 60);
                int b = full.lumaCode(x, 60);
                assertEquals(a + strength * (b - a), out.lumaCode(x, 60), 1.01);
            }
        }
    }

    /** Two fifths of the picture are clipped: what comes of it is judged by the same guess of what was lost, and left. */
    @Test
    void whatWasClippedIsKnownAgainInTheResult() {
        Profile screen = EvenstopFiles.profile("srgb-screen");
        PlanarFrame shot = Exposures.invented(0, 150, 100).shoot(screen, 2, true, 5);
        Correction first = Solver.solve(Bracket.measure(shot, "over"), screen, EVEN);
        assertTrue(first.origin().stops() < -2, first.origin().toString());
        Correction again = Solver.solve(Bracket.measure(Bracket.corrected(shot, first), "over"), screen, EVEN);
        assertEquals(0, again.origin().stops(), 0.02);
        assertTrue(again.origin().notes().stream().anyMatch(n -> n.contains("ends at one level")), again.origin().toString());
    }

    /** A frame of one grey is no pile of lost light. */
    @Test
    void oneGreyHasLostNothing() {
        PlanarFrame f = PlanarFrame.allocate(64, 64, ChromaSampling.S444, CodeDepth.BITS10, LumaStandard.BT709, false, true, true);
        for (int y = 0; y < 64; y++) {
            for (int x = 0; x < 64; x++) {
                f.setLumaCode(x, y, 300);
                f.setCbCode(x, y, 512);
                f.setCrCode(x, y, 512);
            }
        }
        assertTrue(Solver.solve(Bracket.measure(f, "grey"), SOFT, EVEN).origin().notes().stream().noneMatch(n -> n.contains("gone")));
    }

    @Test
    void limitsOfThePresetHold() {
        Measurement dark = garden(-3);
        assertEquals(1, Solver.solve(dark, SOFT, EVEN.withLargestLift(1)).origin().stops(), 1e-9);
        assertTrue(Solver.solve(dark, SOFT, EVEN.withLargestLift(1)).origin().notes().stream().anyMatch(n -> n.contains("the preset allows 1.0")));
        assertEquals(0, Solver.solve(dark, SOFT, EVEN.withLargestLift(0)).origin().stops(), 1e-9);
        double solved = Solver.solve(garden(0), SOFT, EVEN).origin().stops();
        for (double trim : new double[] {-1, 0.5, 2}) {
            assertEquals(solved + trim, Solver.solve(garden(0), SOFT, EVEN.withExposureTrim(trim)).origin().stops(), 2e-4);
        }
        // A lower highlight level folds more.
        Correction low = Solver.solve(garden(1), SOFT, EVEN.withHighlightLevel(70).withExposureTrim(1));
        assertTrue(low.origin().after().p99_5() <= 71, low.origin().after().toString());
        // Raised shadows go down to their level where the picture has the range for it, and stay where it has not, with a note.
        Correction kept = Solver.solve(garden(0), SOFT, EVEN.withShadowLevel(30));
        double shadow = kept.origin().after().p0_5();
        Correction lowered = Solver.solve(garden(0), SOFT, EVEN.withShadowLevel(0.7 * shadow));
        assertEquals(0.7 * shadow, lowered.origin().after().p0_5(), 0.6);
        Correction flat = Solver.solve(garden(0), SOFT, EVEN.withShadowLevel(0));
        assertTrue(flat.origin().notes().stream().anyMatch(n -> n.startsWith("Shadows were left")), flat.origin().toString());
    }

    /** Chroma balance acts on the last curve alone, in proportion. */
    @Test
    void chromaBalanceScalesChromaOut() {
        Measurement m = garden(-1);
        Correction one = Solver.solve(m, SOFT, EVEN);
        for (double factor : new double[] {0, 0.5, 0.8}) {
            Correction c = Solver.solve(m, SOFT, EVEN.withChromaBalance(factor));
            assertEquals(one.tone(), c.tone());
            assertEquals(one.chromaIn(), c.chromaIn());
            for (float y = 0; y < 1; y += 0.05f) {
                assertEquals(factor * one.chromaOut().at(y), c.chromaOut().at(y), 0.004);
            }
        }
    }

    /** A clip that is noisier than the preset allows is not lifted, or less. */
    @Test
    void noiseHoldsALiftBack() {
        Bracket scene = Exposures.invented(2, 180, 120);
        PlanarFrame shot = scene.shoot(SOFT, -2, false, 1);
        Random random = new Random(4);
        for (int y = 0; y < shot.height(); y++) {
            for (int x = 0; x < shot.width(); x++) {
                shot.setLumaCode(x, y, Math.max(4, shot.lumaCode(x, y) + (int) Math.round(30 * random.nextGaussian())));
            }
        }
        Measurement noisy = Bracket.measure(shot, "noisy");
        assertEquals(3.4, noisy.noise(), 0.8, "sigma of 30 codes");
        Preset strict = EvenstopFiles.preset("lowLight");
        Correction c = Solver.solve(noisy, SOFT, strict);
        assertEquals(0, c.origin().stops(), 0);
        assertTrue(c.origin().notes().stream().anyMatch(n -> n.contains("noisier")), c.origin().notes().toString());
        double free = Solver.solve(Bracket.measure(scene.shoot(SOFT, -2, false, 1), "clean"), SOFT, EVEN).origin().stops();
        double held = Solver.solve(noisy, SOFT, EVEN).origin().stops();
        assertTrue(held < free - 0.3, held + " stops with noise, " + free + " without");
    }

    /** Greys from dark to bright, and over a tenth of them lumas of skin's colour, or grey as well. */
    private static double stopsWith(double lumaFrom, double lumaTo, boolean skin) {
        PlanarFrame f = PlanarFrame.allocate(256, 100, ChromaSampling.S444, CodeDepth.BITS10, LumaStandard.BT709, false, true, true);
        for (int y = 0; y < 100; y++) {
            for (int x = 0; x < 256; x++) {
                boolean patch = y < 12;
                double luma = patch ? lumaFrom * Math.pow(lumaTo / lumaFrom, x / 255.0) : 0.05 + 0.8 * x / 255;
                f.setLumaCode(x, y, (int) Math.round(64 + 876 * luma));
                // 120 degrees, chroma 0.25 of luma.
                f.setCbCode(x, y, 512 + (patch && skin ? (int) Math.round(-896 * 0.125 * luma) : 0));
                f.setCrCode(x, y, 512 + (patch && skin ? (int) Math.round(896 * 0.2165 * luma) : 0));
            }
        }
        return Solver.solve(Bracket.measure(f, "patch"), SOFT, EVEN).origin().stops();
    }

    /** Where no face was asked for, dark skin that is one thing lifts the picture by an eighth of a stop at most; what scatters from dark to bright by nothing. */
    @Test
    void skinThatScattersSaysNothing() {
        double together = stopsWith(0.14, 0.18, true) - stopsWith(0.14, 0.18, false);
        assertTrue(together > 0.05 && together <= 0.126, "one thing moved the picture by " + together);
        assertEquals(0, stopsWith(0.06, 0.6, true) - stopsWith(0.06, 0.6, false), 0.002, "scattered");
    }

    /** Light from 6 stops under mid grey to 2 over it, smooth; the larger the power, the more of the picture is dark. */
    private static Bracket slope(double power) {
        float[][] light = new float[3][360 * 240];
        for (int i = 0; i < light[0].length; i++) {
            double place = Math.pow(i / 360 / 240.0 * 0.9 + i % 360 / 360.0 * 0.1, power);
            for (float[] plane : light) {
                plane[i] = (float) (0.18 * Math.pow(2, -6 + 8 * place));
            }
        }
        return new Bracket(360, 240, light);
    }

    /** What is foretold of the noise of dark clips once they are lifted is what is then measured, within a fifth, whatever level most of a picture lies at. */
    @Test
    void noiseAfterALiftIsForetold() {
        for (double power : new double[] {0.5, 1, 2}) {
            for (Profile camera : List.of(SOFT, EvenstopFiles.profile("rec709-knee"))) {
                for (int stops = -3; stops <= -1; stops++) {
                    PlanarFrame shot = slope(power).shoot(camera, stops, true, 5);
                    Measurement before = Bracket.measure(shot, "dark");
                    Correction c = Solver.solve(before, camera, EVEN);
                    double found = Bracket.measure(Bracket.corrected(shot, c), "lifted").noise();
                    double foretold = NoiseForecast.noiseAfter(before, level -> c.tone().at((float) level));
                    assertEquals(1, found / foretold, 0.2, "power " + power + ", " + camera.name() + ", " + stops + " stops, lifted " + c.origin().stops()
                        + ": foretold " + foretold + " %, found " + found);
                }
            }
        }
    }

    /** Where the limit on noise holds a lift back, noise ends at the limit, within an eighth. */
    @Test
    void aLiftIsHeldToTheLimitOnNoise() {
        Profile camera = EvenstopFiles.profile("rec709-knee");
        for (double power : new double[] {2, 3}) {
            PlanarFrame shot = slope(power).shoot(camera, -4, true, 5);
            Correction c = Solver.solve(Bracket.measure(shot, "dark"), camera, EVEN);
            assertTrue(c.origin().notes().stream().anyMatch(n -> n.contains("keep noise at or under")), c.origin().notes().toString());
            double found = Bracket.measure(Bracket.corrected(shot, c), "lifted").noise();
            assertEquals(EVEN.noiseLimit(), found, EVEN.noiseLimit() / 8, "power " + power + ", lifted " + c.origin().stops());
        }
    }

    /** However dark a picture was shot, its shadows end at their level: half of the values of dark noise lie under black, a lift spreads them, and what is written is folded. */
    @Test
    void noiseUnderBlackIsNoShadow() {
        Profile screen = EvenstopFiles.profile("srgb-screen");
        Preset airy = EvenstopFiles.preset("airy");
        int n = 300 * 200;
        for (double dark : new double[] {0.001, 0.002, 0.004}) {
            float[][] light = new float[3][n];
            for (int i = 0; i < n; i++) {
                light[0][i] = (float) (i < 0.01 * n ? dark : 0.02 * Math.pow(25, i / (double) n));
            }
            light[1] = light[0];
            light[2] = light[0];
            PlanarFrame shot = new Bracket(300, 200, light).shoot(screen, -3, true, 5);
            Correction lifted = Solver.solveAt(Bracket.measure(shot, "dark"), screen, airy, 5);
            double shadow = Bracket.measure(Bracket.corrected(shot, lifted), "lifted").levels().p0_5();
            assertTrue(shadow < airy.shadowLevel() + 0.25, "shadows of " + dark + " end at " + shadow);
        }
    }

    private static Measurement withNoise(Measurement m, double noise, int tiles) {
        return new Measurement(m.clip(), m.frames(), m.levels(), m.red(), m.green(), m.blue(), m.clippedHigh(), m.clippedLow(), m.ceiling(),
            m.skin(), m.subject(), noise, tiles, m.detail(), m.chroma(), m.area(), m.horizon(), m.sample(), m.notes());
    }

    /** Noise of few tiles is known less well: a clip with half the noise that is allowed is lifted less if 64 tiles tell so than if a thousand do; under 64 they say nothing. */
    @Test
    void theFewerTilesTellOfNoiseTheEarlierALiftStops() {
        Profile camera = EvenstopFiles.profile("rec709-knee");
        Measurement m = Bracket.measure(slope(3).shoot(camera, -4, true, 5), "dark");
        double half = 0.5 * EVEN.noiseLimit();
        double free = Solver.solve(withNoise(m, half, 63), camera, EVEN).origin().stops();
        double few = Solver.solve(withNoise(m, half, 64), camera, EVEN).origin().stops();
        double many = Solver.solve(withNoise(m, half, 1000), camera, EVEN).origin().stops();
        assertTrue(few < many - 0.2 && many < free - 0.2, few + " stops for 64 tiles, " + many + " for 1000, " + free + " for fewer");
        for (int more : new int[] {0, 1001, Integer.MAX_VALUE}) {
            assertEquals(many, Solver.solve(withNoise(m, half, more), camera, EVEN).origin().stops(), 0, more + " tiles");
        }
    }

    /** Where a third of the light was lost, a change that hardly shows is not worth making, for what it goes by is a guess; a larger one is made, and a trim is added in full to either. */
    @Test
    void whatGoesByLittleIsNotWorthALittleChange() {
        Profile screen = EvenstopFiles.profile("srgb-screen");
        int n = 300 * 200;
        float[][] light = new float[3][n];
        for (int i = 0; i < n; i++) {
            light[0][i] = i < 0.35 * n ? 6 : (float) (0.01 * Math.pow(60, i / (double) n));
        }
        light[1] = light[0];
        light[2] = light[0];
        Bracket scene = new Bracket(300, 200, light);
        double right = Solver.solve(Bracket.measure(scene.shoot(screen, 0, false, 1), "lost"), screen, EVEN).origin().stops();
        assertTrue(Math.abs(right) > 0.3, "right by chance: " + right);
        Measurement near = Bracket.measure(scene.shoot(screen, right - 0.05, false, 1), "near");
        assertEquals(0, Solver.solve(near, screen, EVEN).origin().stops(), 0);
        assertEquals(0.15, Solver.solve(near, screen, EVEN.withExposureTrim(0.15)).origin().stops(), 1e-9);
        assertEquals(0.15, Solver.solve(near, screen, EvenstopFiles.preset("tuck").withExposureTrim(0.15)).origin().stops(), 1e-9);
        Measurement far = Bracket.measure(scene.shoot(screen, right - 0.4, false, 1), "far");
        double made = Solver.solve(far, screen, EVEN).origin().stops();
        assertEquals(0.4, made, 0.1);
        assertEquals(made + 0.15, Solver.solve(far, screen, EVEN.withExposureTrim(0.15)).origin().stops(), 1e-3);
    }

    /**
     * Dark reds whose red stays while green and blue are lowered: once is not enough for their luma, and what one more solution would lower is lowered at once, each time no
     * steeper than the preset allows.
     */
    @Test
    void shadowsThatEndTooHighAreLoweredAgain() {
        Profile screen = EvenstopFiles.profile("srgb-screen");
        Preset airy = EvenstopFiles.preset("airy");
        int n = 300 * 200;
        float[][] light = new float[3][n];
        for (int i = 0; i < n; i++) {
            double place = i / (double) n;
            boolean red = place < 0.1;
            light[0][i] = (float) (red ? 0.085 + 0.3 * place : 0.06 * Math.pow(18, place));
            light[1][i] = (float) (red ? 0.02 + 0.3 * place : 0.05 * Math.pow(20, place));
            light[2][i] = (float) (red ? 0.016 + 0.3 * place : 0.05 * Math.pow(20, place));
        }
        PlanarFrame shot = new Bracket(300, 200, light).shoot(screen, 0, false, 5);
        Correction c = Solver.solve(Bracket.measure(shot, "reds"), screen, airy);
        PlanarFrame once = Bracket.corrected(shot, c);
        Measurement finished = Bracket.measure(once, "finished");
        assertEquals(airy.shadowLevel(), finished.levels().p0_5(), 0.25);
        assertTrue(Exposures.meanLumaChange(once, Bracket.corrected(once, Solver.solve(finished, screen, airy))) < 0.005);
        double steepest = 0;
        for (double level = 0; level < 0.9; level += 0.002) {
            double before = screen.reexposed(level + 0.002, c.origin().stops()) - screen.reexposed(level, c.origin().stops());
            steepest = Math.max(steepest, (c.tone().at((float) (level + 0.002)) - c.tone().at((float) level)) / before);
        }
        assertTrue(steepest > airy.steepest() + 0.2, "slope " + steepest + ": lowered once only");
        assertTrue(steepest < Math.pow(airy.steepest(), 3), "slope " + steepest);
    }

    /** A measurement of before detail was kept by level: the slope at the median has to do, as it did then. */
    @Test
    void withoutDetailNoiseIsForetoldAtTheMedian() {
        Measurement m = Bracket.measure(slope(1).shoot(SOFT, -2, true, 5), "dark");
        Measurement bare = new Measurement(m.clip(), m.frames(), m.levels(), m.red(), m.green(), m.blue(), m.clippedHigh(), m.clippedLow(), m.ceiling(),
            m.skin(), m.subject(), m.noise(), m.noiseTiles(), List.of(), m.chroma(), m.area(), m.horizon(), m.sample(), m.notes());
        assertEquals(3 * m.noise(), NoiseForecast.noiseAfter(bare, level -> 3 * level), 1e-9);
        assertEquals(3 * m.noise(), NoiseForecast.noiseAfter(m, level -> 3 * Math.min(level, 0.3)), 0.2 * m.noise());
    }

    /** One grey, a desk of near-uniform grey, a picture with nothing bright: nothing is torn apart. */
    @Test
    void picturesWithoutRangeDoNotExplode() {
        for (int spread : new int[] {0, 3, 20}) {
            PlanarFrame f = PlanarFrame.allocate(160, 90, ChromaSampling.S420, CodeDepth.BITS8, LumaStandard.BT709, false, true, false);
            Random random = new Random(spread);
            for (int y = 0; y < 90; y++) {
                for (int x = 0; x < 160; x++) {
                    f.setLumaCode(x, y, 150 + (spread == 0 ? 0 : random.nextInt(spread)));
                    f.setCbCode(x / 2, y / 2, 126);
                    f.setCrCode(x / 2, y / 2, 130);
                }
            }
            for (String profile : EvenstopFiles.profileNames()) {
                for (String preset : EvenstopFiles.presetNames()) {
                    Preset wanted = EvenstopFiles.preset(preset);
                    Correction c = Solver.solve(Bracket.measure(f, "grey"), EvenstopFiles.profile(profile), wanted);
                    double steepest = 0;
                    for (int code = 150; code < 150 + spread; code++) {
                        double from = CodeDepth.BITS8.levelOfCode(code);
                        double to = CodeDepth.BITS8.levelOfCode(code + 1);
                        steepest = Math.max(steepest, (c.tone().at((float) to) - c.tone().at((float) from)) / (to - from));
                    }
                    assertTrue(steepest <= 2.2, profile + " " + preset + ": slope " + steepest);
                }
            }
        }
    }

    /** Whatever was measured, every profile and preset gives a correction that never falls, keeps greys grey and can be written and read. */
    @Test
    void anySampleIsSolved() {
        Random random = new Random(99);
        for (int kind = 0; kind < 8; kind++) {
            PlanarFrame f = PlanarFrame.allocate(40, 30, ChromaSampling.S444, CodeDepth.BITS10, LumaStandard.values()[kind % 3], false, true, true);
            for (int y = 0; y < 30; y++) {
                for (int x = 0; x < 40; x++) {
                    int luma = switch (kind) {
                        case 0 -> 64;
                        case 1 -> 1019;
                        case 2 -> 4;
                        case 3 -> random.nextBoolean() ? 64 : 1019;
                        case 4 -> x < 1 ? 940 : 80;
                        default -> 4 + random.nextInt(1016);
                    };
                    f.setLumaCode(x, y, luma);
                    f.setCbCode(x, y, kind < 5 ? 512 : kind == 5 ? 4 + random.nextInt(1016) : 480);
                    f.setCrCode(x, y, kind < 5 ? 512 : kind == 5 ? 4 + random.nextInt(1016) : 560);
                }
            }
            ClipMeter meter = new ClipMeter(f.standard(), 1024);
            meter.add(f, 0);
            Measurement m = meter.finish("kind " + kind);
            for (String profile : EvenstopFiles.profileNames()) {
                for (String preset : EvenstopFiles.presetNames()) {
                    Correction c = Solver.solve(m, EvenstopFiles.profile(profile), EvenstopFiles.preset(preset));
                    String what = "kind " + kind + " " + profile + " " + preset;
                    assertTrue(c.tone().isNonDecreasing() && Exposures.staysGrey(c), what);
                    assertEquals(f.standard(), c.standard(), what);
                    for (String note : c.origin().notes()) {
                        assertTrue(note.endsWith(".") && note.lines().count() == 1, note);
                    }
                    EvenstopFiles.correctionFromJson(EvenstopFiles.toJson(c), what);
                }
            }
        }
    }

    @Test
    void sameMeasurementGivesTheSameCorrection() {
        Measurement m = garden(-1);
        assertEquals(EvenstopFiles.toJson(Solver.solve(m, SOFT, EVEN)), EvenstopFiles.toJson(Solver.solve(m, SOFT, EVEN)));
    }

    /** What is said to come out does. */
    @Test
    void predictedLevelsAreThoseOfTheResult() {
        PlanarFrame shot = Exposures.invented(0, 180, 120).shoot(SOFT, -1, true, 6);
        Measurement before = Bracket.measure(shot, "meadow");
        Correction c = Solver.solve(before, SOFT, EVEN);
        Measurement after = Bracket.measure(Bracket.corrected(shot, c), "meadow");
        assertEquals(before.levels(), c.origin().before());
        double[] said = {c.origin().after().p10(), c.origin().after().p50(), c.origin().after().p90(), c.origin().after().p99()};
        double[] found = {after.levels().p10(), after.levels().p50(), after.levels().p90(), after.levels().p99()};
        assertArrayEquals(found, said, 0.5);
    }

    @Test
    void measurementsWithoutPixelsAreRefused() {
        Measurement m = EvenstopFiles.measurementFromJson(EvenstopFiles.toJson(garden(0), false), "m.json");
        String message = assertThrows(IllegalArgumentException.class, () -> Solver.solve(m, SOFT, EVEN)).getMessage();
        assertTrue(message.contains("garden") && message.contains("measure the clip again"), message);
    }

    @Test
    void correctionsThatCannotBeAreRefused() {
        Curve one = Curve.constant(1);
        Curve falling = new Curve(0, 1, new double[] {1, 0}, new double[] {-1, -1});
        CorrectionOrigin none = CorrectionOrigin.none();
        refused("never fall", () -> new Correction(one, falling, one, LumaStandard.BT709, none));
        refused("chromaIn holds 0.0", () -> new Correction(Curve.constant(0), Curve.identity(), one, LumaStandard.BT709, none));
        refused("chromaOut holds -1.0", () -> new Correction(one, Curve.identity(), Curve.constant(-1), LumaStandard.BT709, none));
        refused("chromaOut holds 101.0", () -> new Correction(one, Curve.identity(), Curve.constant(101), LumaStandard.BT709, none));
        assertTrue(new Correction(one, Curve.identity(), one, LumaStandard.BT709, none).isIdentity());
        assertTrue(new Correction(one, Curve.constant(0.5), one, LumaStandard.BT709, none).isToneOnly());
    }

    @Test
    void presetsThatCannotBeAreRefusedWithTheirRange() {
        refused("highlightLevel 130 is above 109; give a percent value from 50 to 109", () -> EVEN.withHighlightLevel(130));
        refused("exposureTrim -4 is below -3", () -> EVEN.withExposureTrim(-4));
        refused("chromaBalance NaN is not a number", () -> EVEN.withChromaBalance(Double.NaN));
        refused("largestLift Infinity is above 6", () -> EVEN.withLargestLift(Double.POSITIVE_INFINITY));
        refused("shadowLevel 31 is above 30", () -> EVEN.withShadowLevel(31));
        assertEquals(Subject.FACE, EVEN.withSubject(Subject.FACE).subject());
    }

    private static void refused(String word, Runnable make) {
        String message = assertThrows(IllegalArgumentException.class, make::run).getMessage();
        assertTrue(message.contains(word), message);
    }
}
