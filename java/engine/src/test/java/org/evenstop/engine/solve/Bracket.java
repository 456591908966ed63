// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.solve;

import java.awt.image.BufferedImage;
import java.io.File;
import java.io.IOException;
import java.util.Arrays;
import java.util.Random;
import javax.imageio.ImageIO;
import org.evenstop.engine.colour.Ciede2000;
import org.evenstop.engine.colour.Lab;
import org.evenstop.engine.frame.ChromaSampling;
import org.evenstop.engine.frame.PlanarFrame;
import org.evenstop.engine.kernel.ScalarKernel;
import org.evenstop.engine.level.CodeDepth;
import org.evenstop.engine.level.LumaStandard;
import org.evenstop.engine.level.Transfer;
import org.evenstop.engine.measure.ClipMeter;
import org.evenstop.engine.measure.Measurement;
import org.evenstop.engine.profile.Profile;

/**
 * A picture as scene light, shot at any exposure through a profile with sensor noise into 10-bit codes: the ground truth for
 * tests of the solver.
 */
final class Bracket {
    final int width;
    final int height;
    /** Scene light, three planes, 0.18 mid grey. */
    final float[][] light;

    Bracket(int width, int height, float[][] light) {
        this.width = width;
        this.height = height;
        this.light = light;
    }

    /**
     * Undoes the display curve of a still (IEC 61966-2-1) and averages squares of pixels so that about as many as given are left, as
     * a camera that reads more photosites than it writes pixels does.
     */
    static Bracket ofStill(File file, int pixels) throws IOException {
        BufferedImage image = ImageIO.read(file);
        int step = Math.max(1, (int) Math.round(Math.sqrt(image.getWidth() * (double) image.getHeight() / pixels)));
        int w = image.getWidth() / step;
        int h = image.getHeight() / step;
        float[] decode = new float[256];
        for (int i = 0; i < 256; i++) {
            decode[i] = (float) Transfer.lightOfSrgb(i / 255.0);
        }
        float[][] light = new float[3][w * h];
        float share = 1f / (step * step);
        for (int y = 0; y < h * step; y++) {
            for (int x = 0; x < w * step; x++) {
                int rgb = image.getRGB(x, y);
                int i = y / step * w + x / step;
                light[0][i] += share * decode[rgb >> 16 & 255];
                light[1][i] += share * decode[rgb >> 8 & 255];
                light[2][i] += share * decode[rgb & 255];
            }
        }
        return new Bracket(w, h, light);
    }

    /**
     * One exposure as a 4:4:4 10-bit frame.
     *
     * @param stops exposure error
     * @param noisy with read noise of 0.0006 and shot noise of 0.004 sqrt(light), in light (invented)
     */
    PlanarFrame shoot(Profile camera, double stops, boolean noisy, long seed) {
        PlanarFrame frame = PlanarFrame.allocate(width, height, ChromaSampling.S444, CodeDepth.BITS10, LumaStandard.BT709, false, true, false);
        Random random = new Random(seed);
        double gain = Math.pow(2, stops);
        double[] v = new double[3];
        for (int i = 0; i < width * height; i++) {
            for (int c = 0; c < 3; c++) {
                double l = light[c][i] * gain;
                if (noisy) {
                    l += random.nextGaussian() * Math.sqrt(0.0006 * 0.0006 + 0.004 * 0.004 * Math.max(l, 0));
                }
                v[c] = camera.levelOfLight(l);
            }
            double y = LumaStandard.BT709.luma(v[0], v[1], v[2]);
            double s = camera.chromaFactor(y);
            int x = i % width;
            int row = i / width;
            frame.setLumaCode(x, row, held(CodeDepth.BITS10.roundedCodeOfLevel(y)));
            frame.setCbCode(x, row, held(CodeDepth.BITS10.roundedCodeOfChroma(s * (v[2] - y) / LumaStandard.BT709.cbDivisor())));
            frame.setCrCode(x, row, held(CodeDepth.BITS10.roundedCodeOfChroma(s * (v[0] - y) / LumaStandard.BT709.crDivisor())));
        }
        return frame;
    }

    private static int held(int code) {
        return Math.min(Math.max(code, 4), 1019);
    }

    /** Which pixels had all their light recorded: no channel at the camera's ceiling. */
    boolean[] recorded(Profile camera, double stops) {
        double most = Profile.MID_GREY * Math.pow(2, camera.stops()[camera.stops().length - 1]);
        boolean[] recorded = new boolean[width * height];
        double gain = Math.pow(2, stops);
        for (int i = 0; i < recorded.length; i++) {
            recorded[i] = Math.max(light[0][i], Math.max(light[1][i], light[2][i])) * gain < most;
        }
        return recorded;
    }

    static Measurement measure(PlanarFrame frame, String name) {
        ClipMeter meter = new ClipMeter(frame.standard());
        meter.add(frame, 0);
        return meter.finish(name);
    }

    static PlanarFrame corrected(PlanarFrame frame, Correction correction) {
        PlanarFrame out = frame.allocateLike();
        new ScalarKernel().apply(frame, out, 0, frame.height(), correction, 1f);
        return out;
    }

    /** Mean and 95th percentile of CIEDE2000 between 8x8 block means of the pixels that count. */
    static double[] difference(PlanarFrame a, PlanarFrame b, boolean[] counts) {
        int blocks = 0;
        double[] differences = new double[(a.width() / 8 + 1) * (a.height() / 8 + 1)];
        for (int by = 0; by + 8 <= a.height(); by += 8) {
            for (int bx = 0; bx + 8 <= a.width(); bx += 8) {
                double[] sumA = new double[3];
                double[] sumB = new double[3];
                int n = 0;
                for (int y = by; y < by + 8; y++) {
                    for (int x = bx; x < bx + 8; x++) {
                        if (counts[y * a.width() + x]) {
                            n++;
                            addRgb(a, x, y, sumA);
                            addRgb(b, x, y, sumB);
                        }
                    }
                }
                if (n >= 32) {
                    differences[blocks++] = Ciede2000.difference(Lab.ofBt709(sumA[0] / n, sumA[1] / n, sumA[2] / n),
                        Lab.ofBt709(sumB[0] / n, sumB[1] / n, sumB[2] / n));
                }
            }
        }
        double[] sorted = Arrays.copyOf(differences, blocks);
        Arrays.sort(sorted);
        return blocks == 0 ? new double[] {0, 0} : new double[] {Arrays.stream(sorted).average().orElse(0), sorted[(int) (0.95 * (blocks - 1))]};
    }

    static double[] rgb(PlanarFrame f, int x, int y) {
        double[] rgb = new double[3];
        addRgb(f, x, y, rgb);
        return rgb;
    }

    private static void addRgb(PlanarFrame f, int x, int y, double[] sum) {
        double luma = f.depth().levelOfCode(f.lumaCode(x, y));
        double cb = f.depth().chromaOfCode(f.cbCode(x, y));
        double cr = f.depth().chromaOfCode(f.crCode(x, y));
        double r = luma + f.standard().crDivisor() * cr;
        double b = luma + f.standard().cbDivisor() * cb;
        sum[0] += r;
        sum[1] += (luma - f.standard().redWeight() * r - f.standard().blueWeight() * b) / f.standard().greenWeight();
        sum[2] += b;
    }
}
