// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.profile;

import java.awt.image.BufferedImage;
import java.io.File;
import java.io.IOException;
import java.util.ArrayList;
import java.util.List;
import java.util.Random;
import javax.imageio.ImageIO;
import org.evenstop.engine.frame.ChromaSampling;
import org.evenstop.engine.frame.PlanarFrame;
import org.evenstop.engine.level.CodeDepth;
import org.evenstop.engine.level.LumaStandard;
import org.evenstop.engine.measure.ClipMeter;
import org.evenstop.engine.measure.Measurement;

/** Scenes as light, real and invented, and cameras of each family with random numbers: material with a known answer. */
final class InventedShoot {
    static final List<String> FAMILIES = List.of("cinema-soft", "rec709-knee", "srgb-screen");

    private InventedShoot() {
    }

    /** Scene light, three planes, 0.18 mid grey. */
    record Scene(String name, int width, int height, float[][] light) {
    }

    /** A still's light (IEC 61966-2-1 undone), averaged over squares down to some 60,000 pixels. */
    static Scene ofStill(File file) throws IOException {
        BufferedImage image = ImageIO.read(file);
        int step = Math.max(1, (int) Math.round(Math.sqrt(image.getWidth() * (double) image.getHeight() / 60_000)));
        int w = image.getWidth() / step;
        int h = image.getHeight() / step;
        float[][] light = new float[3][w * h];
        float[] decode = new float[256];
        for (int i = 0; i < 256; i++) {
            double v = i / 255.0;
            decode[i] = (float) ((v <= 0.04045 ? v / 12.92 : Math.pow((v + 0.055) / 1.055, 2.4)) / (step * step));
        }
        for (int y = 0; y < h * step; y++) {
            for (int x = 0; x < w * step; x++) {
                int rgb = image.getRGB(x, y);
                int i = y / step * w + x / step;
                light[0][i] += decode[rgb >> 16 & 255];
                light[1][i] += decode[rgb >> 8 & 255];
                light[2][i] += decode[rgb & 255];
            }
        }
        return new Scene(file.getName(), w, h, light);
    }

    /** Coloured things of random size, one before the other, each shaded across, under a sky or a wall, a few of them lamps. */
    static Scene invented(long seed) {
        Random random = new Random(seed);
        int w = 264;
        int h = 176;
        float[][] light = new float[3][w * h];
        double contrast = 0.6 + 0.9 * random.nextDouble();
        int things = 40 + random.nextInt(200);
        double warmth = 0.15 * random.nextGaussian();
        for (int t = 0; t < things + 2; t++) {
            int cx = random.nextInt(w);
            int cy = t == 0 ? h / 4 : random.nextInt(h);
            int rx = t < 2 ? w : 3 + random.nextInt(5 + w / (3 + t / 8));
            int ry = t < 2 ? h : 3 + random.nextInt(5 + h / (3 + t / 8));
            double base = Math.pow(2, contrast * 1.3 * random.nextGaussian() - 0.3 + (random.nextInt(40) == 0 ? 3 : 0));
            double colour = 0.10 + 0.35 * Math.abs(random.nextGaussian());
            double[] tint = {Math.exp(colour * random.nextGaussian() + warmth), Math.exp(0.5 * colour * random.nextGaussian()),
                Math.exp(colour * random.nextGaussian() - warmth)};
            double slopeX = random.nextGaussian() * 0.8;
            double slopeY = random.nextGaussian() * 0.8;
            double grain = 0.12 * random.nextDouble();
            boolean round = random.nextBoolean();
            for (int y = Math.max(0, cy - ry); y < Math.min(h, cy + ry); y++) {
                for (int x = Math.max(0, cx - rx); x < Math.min(w, cx + rx); x++) {
                    double u = (x - cx) / (double) rx;
                    double v = (y - cy) / (double) ry;
                    if (t >= 2 && round && u * u + v * v > 1) {
                        continue;
                    }
                    double shade = 0.18 * base * Math.pow(2, slopeX * u + slopeY * v + grain * random.nextGaussian());
                    for (int c = 0; c < 3; c++) {
                        light[c][y * w + x] = (float) (shade * tint[c]);
                    }
                }
            }
        }
        return new Scene("invented " + seed, w, h, light);
    }

    /** A camera of a family (0..2, as {@link #FAMILIES}) with numbers of its own, wider and finer than the chooser's own members. */
    static Profile camera(int family, Random random) {
        if (family == 0) {
            double from = 1.0 + 0.25 * random.nextDouble();
            double to = 0.42 + 0.25 * random.nextDouble();
            double[] at = {0, 0.15, 0.40, 0.70, 0.95, 1.09};
            double[] share = {0, 0.02, 0.20, 0.5, 0.84, 1};
            double bend = 0.8 + 0.5 * random.nextDouble();
            double[][] chroma = new double[6][];
            for (int i = 0; i < 6; i++) {
                chroma[i] = new double[] {at[i], from + (to - from) * Math.pow(share[i], bend)};
            }
            return ProfileShapes.shouldered("camera", "", "", 0.36 + 0.10 * random.nextDouble(), 0.72 + 0.36 * random.nextDouble(),
                4.6 + 1.6 * random.nextDouble(), 0.0004 + 0.0025 * random.nextDouble(), chroma);
        }
        if (family == 1) {
            double to = 0.55 + 0.4 * random.nextDouble();
            double all = 0.92 + 0.16 * random.nextDouble();
            return ProfileShapes.kneed("camera", "", "", 0.75 + 0.15 * random.nextDouble(), 3.3 + 1.5 * random.nextDouble(),
                new double[][] {{0, all}, {0.80, all}, {0.95, all * (1 + to) / 2}, {1.09, all * to}});
        }
        double all = 0.95 + 0.10 * random.nextDouble();
        Profile screen = ProfileShapes.srgbScreen();
        return new Profile("camera", "", "", screen.stops(), screen.levels(), new double[] {0, 1.09}, new double[] {all, all});
    }

    /** One exposure, with read and shot noise (invented), in 10-bit 4:4:4 narrow range, measured. */
    static Measurement shot(Scene scene, Profile camera, double stops, long seed) {
        PlanarFrame frame = PlanarFrame.allocate(scene.width(), scene.height(), ChromaSampling.S444, CodeDepth.BITS10, LumaStandard.BT709, false,
            true, false);
        Random random = new Random(seed);
        double gain = Math.pow(2, stops);
        double[] v = new double[3];
        LumaStandard standard = LumaStandard.BT709;
        for (int i = 0; i < scene.width() * scene.height(); i++) {
            for (int c = 0; c < 3; c++) {
                double l = scene.light()[c][i] * gain;
                v[c] = camera.levelOfLight(l + random.nextGaussian() * Math.sqrt(0.0006 * 0.0006 + 0.004 * 0.004 * Math.max(l, 0)));
            }
            double y = standard.luma(v[0], v[1], v[2]);
            double s = camera.chromaFactor(y);
            int x = i % scene.width();
            int row = i / scene.width();
            frame.setLumaCode(x, row, held(CodeDepth.BITS10.roundedCodeOfLevel(y)));
            frame.setCbCode(x, row, held(CodeDepth.BITS10.roundedCodeOfChroma(s * (v[2] - y) / standard.cbDivisor())));
            frame.setCrCode(x, row, held(CodeDepth.BITS10.roundedCodeOfChroma(s * (v[0] - y) / standard.crDivisor())));
        }
        ClipMeter meter = new ClipMeter(standard);
        meter.add(frame, 0);
        return meter.finish(scene.name());
    }

    private static int held(int code) {
        return Math.min(Math.max(code, 4), 1019);
    }

    /** Every still of a folder that can be read as a picture. */
    static List<Scene> stills(File folder) throws IOException {
        List<Scene> scenes = new ArrayList<>();
        File[] files = folder.listFiles((f, name) -> name.matches(".*\\.(jpg|png)"));
        java.util.Arrays.sort(files);
        for (File file : files) {
            scenes.add(ofStill(file));
        }
        return scenes;
    }
}
