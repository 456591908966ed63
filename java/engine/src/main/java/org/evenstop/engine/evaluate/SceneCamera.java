// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.evaluate;

import java.util.Random;
import org.evenstop.engine.frame.ChromaSampling;
import org.evenstop.engine.frame.PlanarFrame;
import org.evenstop.engine.level.CodeDepth;
import org.evenstop.engine.level.LumaStandard;
import org.evenstop.engine.profile.Profile;

/**
 * Shoots a scene at any exposure through a profile: light times 2^stops, sensor noise, tone curve on R, G and B alike, chroma scaled by
 * the chroma curve at the luma, BT.709 Y'CbCr 4:4:4 in the narrow range, held within the video codes.
 *
 * @param profile   the camera setting
 * @param depth     8, 10 or 12 bit
 * @param readNoise standard deviation in light, whatever the light
 * @param shotNoise standard deviation per square root of light
 */
public record SceneCamera(Profile profile, CodeDepth depth, double readNoise, double shotNoise) {
    /** Read noise in light, 8.2 stops below mid grey, and shot noise, 40 dB at mid grey (invented). */
    public static final double READ_NOISE = 0.0006;
    public static final double SHOT_NOISE = 0.004;

    public SceneCamera {
        if (!(readNoise >= 0 && readNoise <= 1 && shotNoise >= 0 && shotNoise <= 1)) {
            throw new IllegalArgumentException("noise of " + readNoise + " and " + shotNoise + " is outside 0 to 1");
        }
    }

    /** A camera with the usual noise of this class. */
    public static SceneCamera noisy(Profile profile, CodeDepth depth) {
        return new SceneCamera(profile, depth, READ_NOISE, SHOT_NOISE);
    }

    /**
     * One exposure.
     *
     * @param stops exposure error
     * @param seed  of the noise; the same seed gives the same frame
     */
    public PlanarFrame shoot(Scene scene, double stops, long seed) {
        PlanarFrame frame = PlanarFrame.allocate(scene.width(), scene.height(), ChromaSampling.S444, depth, LumaStandard.BT709, false, true, false);
        Random random = new Random(seed);
        boolean noisy = readNoise > 0 || shotNoise > 0;
        double gain = Math.pow(2, stops);
        double[] v = new double[3];
        float[][] light = scene.light();
        for (int row = 0, i = 0; row < scene.height(); row++) {
            for (int x = 0; x < scene.width(); x++, i++) {
                for (int c = 0; c < 3; c++) {
                    double l = light[c][i] * gain;
                    if (noisy) {
                        l += random.nextGaussian() * Math.sqrt(readNoise * readNoise + shotNoise * shotNoise * Math.max(l, 0));
                    }
                    v[c] = profile.levelOfLight(l);
                }
                double y = LumaStandard.BT709.luma(v[0], v[1], v[2]);
                double s = profile.chromaFactor(y);
                frame.setLumaCode(x, row, held(depth.roundedCodeOfLevel(y)));
                frame.setCbCode(x, row, held(depth.roundedCodeOfChroma(s * (v[2] - y) / LumaStandard.BT709.cbDivisor())));
                frame.setCrCode(x, row, held(depth.roundedCodeOfChroma(s * (v[0] - y) / LumaStandard.BT709.crDivisor())));
            }
        }
        return frame;
    }

    private int held(int code) {
        return Math.min(Math.max(code, depth.lowestVideoCode()), depth.highestVideoCode());
    }

    /**
     * Which pixels had all their light recorded at an exposure: no channel at the camera's ceiling. At the other end this camera
     * has no floor: light of 0 lies at black, and noise below it is recorded too.
     */
    public boolean[] recorded(Scene scene, double stops) {
        double[] knots = profile.stops();
        double most = Profile.MID_GREY * Math.pow(2, knots[knots.length - 1]);
        boolean[] recorded = new boolean[scene.width() * scene.height()];
        double gain = Math.pow(2, stops);
        for (int i = 0; i < recorded.length; i++) {
            recorded[i] = scene.highest(i) * gain < most;
        }
        return recorded;
    }

    /** Share of the pixels whose strongest channel lies under twice the read noise: they are more noise than picture. */
    public double shareInNoise(Scene scene, double stops) {
        double gain = Math.pow(2, stops);
        int n = 0;
        int all = scene.width() * scene.height();
        for (int i = 0; i < all; i++) {
            n += scene.highest(i) * gain < 2 * readNoise ? 1 : 0;
        }
        return n / (double) all;
    }
}
