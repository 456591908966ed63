// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.calibrate;

import static org.junit.jupiter.api.Assertions.assertTrue;

import java.util.ArrayList;
import java.util.List;
import java.util.Locale;
import java.util.Random;
import org.bytedeco.javacpp.indexer.FloatIndexer;
import org.bytedeco.javacpp.indexer.UByteIndexer;
import org.bytedeco.opencv.global.opencv_core;
import org.bytedeco.opencv.global.opencv_photo;
import org.bytedeco.opencv.opencv_core.Mat;
import org.bytedeco.opencv.opencv_core.MatVector;
import org.bytedeco.opencv.opencv_photo.CalibrateDebevec;
import org.evenstop.engine.frame.ChromaSampling;
import org.evenstop.engine.frame.PlanarFrame;
import org.evenstop.engine.level.CodeDepth;
import org.evenstop.engine.profile.Profile;
import org.evenstop.engine.profile.ProfileShapes;
import org.junit.jupiter.api.Test;

/**
 * Our calibration beside OpenCV's CalibrateDebevec (4.11, module photo; the method of Debevec and Malik 1997 on 8-bit RGB) on the
 * same exposures of a camera that leaves chroma alone. Curves are compared as light against level, which is what both recover.
 */
class OpenCvAgreementTest {
    private static final double[] STOPS = {-2, -1, 0, 1, 2};
    private static final long SEED = 11;

    @Test
    void curvesAgreeWithOpenCvOnTheSameExposures() {
        double[][] unity = {{0, 1}, {1.09, 1}};
        InventedScene scene = new InventedScene(400, 320, SEED);
        for (Profile camera : List.of(ProfileShapes.shouldered("soft", "", "", 0.40, 0.86, 5.5, 0.0015, unity),
            ProfileShapes.kneed("knee", "", "", 0.85, 4.0, unity))) {
            List<Exposure> bracket = new ArrayList<>();
            MatVector images = new MatVector(STOPS.length);
            float[] times = new float[STOPS.length];
            for (int j = 0; j < STOPS.length; j++) {
                PlanarFrame frame = scene.shoot(camera, STOPS[j], CodeDepth.BITS10, ChromaSampling.S444, SEED + j);
                bracket.add(new Exposure("e" + j, List.of(frame), STOPS[j]));
                images.put(j, rgb(frame));
                times[j] = (float) Math.pow(2, STOPS[j]);
            }
            CalibrationResult ours = ProfileCalibrator.calibrate("found", bracket);
            Mat time = new Mat(STOPS.length, 1, opencv_core.CV_32F);
            try (FloatIndexer at = time.createIndexer()) {
                for (int j = 0; j < times.length; j++) {
                    at.put(j, 0, times[j]);
                }
            }
            Mat response = new Mat();
            CalibrateDebevec debevec = opencv_photo.createCalibrateDebevec(200, 10, false);
            debevec.process(images, response, time);
            compare(camera, ours.profile(), response);
        }
    }

    /** Codes 0..255 of OpenCV stand for levels 0 to 109.02 %. */
    private static Mat rgb(PlanarFrame frame) {
        Mat image = new Mat(frame.height(), frame.width(), opencv_core.CV_8UC3);
        Random dither = new Random(3);
        try (UByteIndexer at = image.createIndexer()) {
            for (int y = 0; y < frame.height(); y++) {
                for (int x = 0; x < frame.width(); x++) {
                    double luma = frame.depth().levelOfCode(frame.lumaCode(x, y));
                    double r = luma + frame.standard().crDivisor() * frame.depth().chromaOfCode(frame.crCode(x, y));
                    double b = luma + frame.standard().cbDivisor() * frame.depth().chromaOfCode(frame.cbCode(x, y));
                    double g = (luma - frame.standard().redWeight() * r - frame.standard().blueWeight() * b) / frame.standard().greenWeight();
                    double[] bgr = {b, g, r};
                    for (int c = 0; c < 3; c++) {
                        long code = (long) Math.floor(bgr[c] * 255 / ProfileShapes.SUPER_WHITE + dither.nextDouble());
                        at.put(y, x, c, (int) Math.max(0, Math.min(code, 255)));
                    }
                }
            }
        }
        return image;
    }

    private static void compare(Profile camera, Profile ours, Mat response) {
        double apart = 0;
        double oursOff = 0;
        double theirsOff = 0;
        int n = 0;
        try (FloatIndexer at = response.createIndexer()) {
            int grey = (int) Math.round(0.40 * 255 / ProfileShapes.SUPER_WHITE);
            double greyLevel = grey * ProfileShapes.SUPER_WHITE / 255;
            for (int code = 24; code <= 224; code++) {
                double level = code * ProfileShapes.SUPER_WHITE / 255;
                double ourStops = Math.log(ours.lightOfLevel(level) / ours.lightOfLevel(greyLevel)) / InventedScene.LN2;
                double trueStops = Math.log(camera.lightOfLevel(level) / camera.lightOfLevel(greyLevel)) / InventedScene.LN2;
                // Of their three curves, one a channel, the mean.
                double theirStops = 0;
                for (int c = 0; c < 3; c++) {
                    theirStops += Math.log(at.get(code, 0, c) / at.get(grey, 0, c)) / InventedScene.LN2 / 3;
                }
                apart += Math.abs(ourStops - theirStops);
                oursOff += Math.abs(ourStops - trueStops);
                theirsOff += Math.abs(theirStops - trueStops);
                n++;
            }
        }
        System.out.printf(Locale.ROOT, "camera %s, seed %d, levels 10 to 96 %%: ours and OpenCV's %.3f stops apart on average; from the truth ours %.3f, OpenCV's %.3f%n",
            camera.name(), SEED, apart / n, oursOff / n, theirsOff / n);
        assertTrue(apart / n < 0.03, "curves lie " + apart / n + " stops apart on average");
        assertTrue(oursOff < theirsOff, "OpenCV's curve is nearer to the truth");
    }
}
