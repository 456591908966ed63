// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.follow;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertThrows;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.util.ArrayList;
import java.util.List;
import java.util.Random;
import java.util.function.IntFunction;
import org.evenstop.engine.curve.Curve;
import org.evenstop.engine.frame.ChromaSampling;
import org.evenstop.engine.frame.PlanarFrame;
import org.evenstop.engine.json.EvenstopFiles;
import org.evenstop.engine.kernel.ScalarKernel;
import org.evenstop.engine.level.CodeDepth;
import org.evenstop.engine.level.LumaStandard;
import org.evenstop.engine.measure.ClipMeter;
import org.evenstop.engine.profile.Profile;
import org.evenstop.engine.solve.Correction;
import org.evenstop.engine.solve.CorrectionOrigin;
import org.evenstop.engine.solve.Solver;
import org.junit.jupiter.api.Test;

/** What becomes of the flicker of clips whose light stays, in frames corrected one by one. */
class FlickerMeterTest {
    private static final Profile SOFT = EvenstopFiles.profile("cinema-soft");
    /** Rounding of 20,736 pixels to 10 bit moves a mean by 0.00023 %; the largest of a hundred changes misses by 3.5 times the root of 2 of that. */
    private static final double ROUNDING = 1.2e-5;

    private static List<PlanarFrame> film(int frames, IntFunction<PlanarFrame> camera) {
        List<PlanarFrame> clip = new ArrayList<>();
        for (int i = 0; i < frames; i++) {
            clip.add(camera.apply(i));
        }
        return clip;
    }

    private static Correction solved(List<PlanarFrame> clip, String preset) {
        ClipMeter meter = new ClipMeter(LumaStandard.BT709);
        for (int i = 0; i < clip.size(); i += 4) {
            meter.add(clip.get(i), i / 25.0);
        }
        return Solver.solve(meter.finish("scene"), SOFT, EvenstopFiles.preset(preset));
    }

    private static FlickerTrim trim(List<PlanarFrame> clip, FollowedCorrection followed) {
        LightMeter light = new LightMeter(SOFT, 1.09);
        FlickerMeter flicker = new FlickerMeter(followed, 1);
        for (int i = 0; i < clip.size(); i++) {
            light.add(clip.get(i), i / 25.0);
            flicker.add(clip.get(i));
        }
        return flicker.finish(light.finish());
    }

    private static double mean(PlanarFrame frame) {
        long sum = 0;
        for (int y = 0; y < frame.height(); y++) {
            for (int x = 0; x < frame.width(); x++) {
                sum += frame.lumaCode(x, y);
            }
        }
        return (sum / (double) (frame.width() * frame.height()) - frame.blackCode()) / frame.lumaSpan();
    }

    /** Mean levels as recorded, with the clip's correction alone, and with each frame trimmed. */
    private static double[][] means(List<PlanarFrame> clip, FollowedCorrection followed, FlickerTrim trim) {
        double[][] means = new double[3][clip.size()];
        PlanarFrame out = clip.get(0).allocateLike();
        for (int i = 0; i < clip.size(); i++) {
            means[0][i] = mean(clip.get(i));
            new ScalarKernel().apply(clip.get(i), out, 0, out.height(), followed.base(), 1f);
            means[1][i] = mean(out);
            new ScalarKernel().apply(clip.get(i), out, 0, out.height(), followed.at(trim.stopsAt(i)), 1f);
            means[2][i] = mean(out);
        }
        return means;
    }

    private static double[] meanAndMost(double[] means) {
        double sum = 0;
        double most = 0;
        for (int i = 1; i < means.length; i++) {
            sum += Math.abs(means[i] - means[i - 1]);
            most = Math.max(most, Math.abs(means[i] - means[i - 1]));
        }
        return new double[] {sum / (means.length - 1), most};
    }

    /** No level of the correction moves by more than a code, nor by more from one frame to the next. */
    private static void assertUnderACode(FollowedCorrection followed, FlickerTrim trim, int frames) {
        for (int i = 0; i < frames; i++) {
            Curve now = followed.at(trim.stopsAt(i)).tone();
            Curve before = followed.at(trim.stopsAt(Math.max(0, i - 1))).tone();
            for (float x = 0; x < SOFT.ceiling(); x += 0.001f) {
                assertEquals(followed.base().tone().at(x), now.at(x), 1.01 * FlickerMeter.MOST, "frame " + i + ", level " + x);
                assertEquals(before.at(x), now.at(x), 1.05 * FlickerMeter.MOST, "from frame " + (i - 1) + " to " + i + ", level " + x);
            }
        }
    }

    @Test
    void lampsAndNoiseFlickerNoMoreThanAsShot() {
        for (double stops : new double[] {-2, 0, 2}) {
            for (double flicker : new double[] {0, 0.0072}) {
                FilmedScene scene = new FilmedScene(SOFT, 11, 0);
                List<PlanarFrame> clip = film(50, i -> scene.film(stops + flicker * Math.sin(2 * Math.PI * 0.17 * i), 200, 0, 0.004, 1));
                for (String preset : List.of("even", "airy", "landscape")) {
                    FollowedCorrection followed = new FollowedCorrection(solved(clip, preset), SOFT);
                    FlickerTrim trim = trim(clip, followed);
                    double[][] means = means(clip, followed, trim);
                    double[] shot = meanAndMost(means[0]);
                    double[] plain = meanAndMost(means[1]);
                    double[] kept = meanAndMost(means[2]);
                    System.out.printf("%+.0f stops, flicker %.4f, %-9s: mean and largest change %.4f %.4f %% as shot, %.4f %.4f corrected, %.4f %.4f trimmed%n", stops, flicker,
                        preset, 100 * shot[0], 100 * shot[1], 100 * plain[0], 100 * plain[1], 100 * kept[0], 100 * kept[1]);
                    assertTrue(kept[0] <= shot[0] + ROUNDING && kept[1] <= shot[1] + ROUNDING, preset + " at " + stops);
                    if (stops == -2) {
                        assertTrue(plain[0] > 1.3 * shot[0], "the correction alone makes it larger: " + plain[0]);
                    }
                    assertEquals(shot[0], trim.changeAsShot(), 1e-9);
                    assertEquals(plain[0], trim.changeUntrimmed(), 0.05 * plain[0]);
                    assertUnderACode(followed, trim, clip.size());
                }
            }
        }
    }

    @Test
    void aCorrectionNowhereSteeperThanOneLeavesTheClipAlone() {
        FilmedScene scene = new FilmedScene(SOFT, 11, 0);
        List<PlanarFrame> clip = film(30, i -> scene.film(-0.5 + 0.01 * Math.sin(i)));
        for (double slope : new double[] {0.7, 1, 1.3}) {
            Correction flat = new Correction(Curve.constant(1), Curve.fit(x -> 0.03 + slope * x, 1e-4), Curve.constant(1), LumaStandard.BT709,
                CorrectionOrigin.none());
            FlickerTrim trim = trim(clip, new FollowedCorrection(flat, SOFT));
            assertEquals(slope <= 1, trim.isNone(), "slope " + slope);
            assertEquals(slope * trim.changeAsShot(), trim.changeUntrimmed(), 1e-3 * trim.changeAsShot());
            assertTrue(trim.changeTrimmed() <= Math.min(slope, 1) * trim.changeAsShot() * 1.0001);
        }
    }

    /** A shot's trims are what they would be without the shots beside it. */
    @Test
    void nothingIsCarriedAcrossACut() {
        FilmedScene yard = new FilmedScene(SOFT, 11, 0);
        FilmedScene shed = new FilmedScene(SOFT, 23, 0);
        List<PlanarFrame> first = film(25, i -> yard.film(-2 + 0.007 * Math.sin(1.1 * i)));
        List<PlanarFrame> second = film(25, i -> shed.film(-1.2 + 0.005 * Math.sin(0.7 * i)));
        List<PlanarFrame> both = new ArrayList<>(first);
        both.addAll(second);
        FollowedCorrection followed = new FollowedCorrection(solved(both, "even"), SOFT);
        FlickerTrim trim = trim(both, followed);
        FlickerTrim firstAlone = trim(first, followed);
        FlickerTrim secondAlone = trim(second, followed);
        for (int i = 0; i < 25; i++) {
            assertEquals(firstAlone.stopsAt(i), trim.stopsAt(i), 0, "frame " + i);
            assertEquals(secondAlone.stopsAt(i), trim.stopsAt(25 + i), 0, "frame " + (25 + i));
        }
        assertTrue(!firstAlone.isNone() && !secondAlone.isNone());
    }

    /** Somebody walks in and stays: the picture changes as the correction has it, trims stay under a code, and before and after nothing swings. */
    @Test
    void whatWalksInIsNotTakenForFlicker() {
        FilmedScene scene = new FilmedScene(SOFT, 11, 0);
        List<PlanarFrame> clip = film(60, i -> scene.film(-2, 200, Math.min(100, Math.max(0, 6 * (i - 20))), 0.008, 1));
        FollowedCorrection followed = new FollowedCorrection(solved(clip, "even"), SOFT);
        FlickerTrim trim = trim(clip, followed);
        double[][] means = means(clip, followed, trim);
        double goes = means[1][59] - means[1][0];
        System.out.printf("walks in: mean goes by %.2f %% as shot, %.2f %% corrected, %.2f %% trimmed%n", 100 * (means[0][59] - means[0][0]), 100 * goes,
            100 * (means[2][59] - means[2][0]));
        assertTrue(Math.abs(goes) > 0.02, "goes by " + goes);
        assertEquals(goes, means[2][59] - means[2][0], 2 * FlickerMeter.MOST);
        assertUnderACode(followed, trim, clip.size());
        assertTrue(meanAndMost(means[2])[0] <= meanAndMost(means[1])[0]);
        for (int i = 1; i < 60; i++) {
            double plain = means[1][i] - means[1][i - 1];
            assertEquals(plain, means[2][i] - means[2][i - 1], 1.05 * FlickerMeter.MOST);
        }
    }

    /** The change of the mean that is forecast is that of the frames corrected, however chroma lies. Where frames come out at 8 bit, rounding adds to it. */
    @Test
    void theForecastHoldsForEveryKindOfFrame() {
        FilmedScene scene = new FilmedScene(SOFT, 11, 0);
        FollowedCorrection followed = new FollowedCorrection(solved(film(5, i -> scene.film(-2)), "airy"), SOFT);
        for (ChromaSampling sampling : ChromaSampling.values()) {
            for (CodeDepth depth : CodeDepth.values()) {
                for (boolean isPlain : new boolean[] {true, false}) {
                    List<PlanarFrame> clip = film(8, i -> coloured(sampling, depth, isPlain, i));
                    FlickerTrim trim = trim(clip, followed);
                    double actual = meanAndMost(means(clip, followed, trim)[1])[0];
                    String what = sampling + ", " + depth + (isPlain ? "" : ", full range, chroma midway");
                    System.out.printf("%s: change of the mean %.6f, forecast %.6f%n", what, actual, trim.changeUntrimmed());
                    assertTrue(actual > 0.002, what + ": " + actual);
                    assertEquals(actual, trim.changeUntrimmed(), 0.005 * actual + (depth == CodeDepth.BITS8 ? 3e-5 : 1e-5), what);
                }
            }
        }
    }

    /** Coloured noise, dark to bright, an odd number of pixels across and down; its chroma comes and goes. */
    private static PlanarFrame coloured(ChromaSampling sampling, CodeDepth depth, boolean isPlain, int index) {
        PlanarFrame f = PlanarFrame.allocate(161, 91, sampling, depth, LumaStandard.BT709, !isPlain, isPlain, isPlain);
        Random random = new Random(3);
        for (int y = 0; y < f.height(); y++) {
            for (int x = 0; x < f.width(); x++) {
                double level = 0.08 + 0.03 * ((x / 20 * 7 + y / 13 * 3) % 11) + 0.02 * random.nextGaussian() + 0.002 * (index % 2);
                f.setLumaCode(x, y, (int) Math.rint(f.blackCode() + f.lumaSpan() * Math.max(0, level)));
            }
        }
        double chroma = 0.02 + 0.003 * (index % 3);
        for (int y = 0; y < sampling.chromaHeight(f.height()); y++) {
            for (int x = 0; x < sampling.chromaWidth(f.width()); x++) {
                f.setCbCode(x, y, (int) Math.rint(depth.achromaticCode() + f.chromaSpan() * chroma * random.nextGaussian()));
                f.setCrCode(x, y, (int) Math.rint(depth.achromaticCode() + f.chromaSpan() * chroma * random.nextGaussian()));
            }
        }
        return f;
    }

    @Test
    void whatHasNoPictureIsLeftAlone() {
        FilmedScene scene = new FilmedScene(SOFT, 11, 0);
        List<PlanarFrame> clip = film(10, i -> scene.film(-2, 200, 0, 0, 0));
        assertTrue(trim(clip, new FollowedCorrection(solved(film(5, i -> scene.film(-2)), "even"), SOFT)).isNone());
        assertEquals(0, FlickerTrim.none().stopsAt(3), 0);
        FlickerMeter meter = new FlickerMeter(new FollowedCorrection(Correction.identity(LumaStandard.BT709), SOFT), 1);
        LightMeter light = new LightMeter(SOFT, 1.09);
        light.add(clip.get(0), 0);
        assertThrows(IllegalArgumentException.class, () -> meter.finish(light.finish()));
        meter.add(clip.get(0));
        assertTrue(meter.finish(light.finish()).isNone());
    }
}
