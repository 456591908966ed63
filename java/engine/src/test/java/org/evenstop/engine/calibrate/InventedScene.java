// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.calibrate;

import java.util.Random;
import org.evenstop.engine.frame.ChromaSampling;
import org.evenstop.engine.frame.PlanarFrame;
import org.evenstop.engine.level.CodeDepth;
import org.evenstop.engine.level.LumaStandard;
import org.evenstop.engine.profile.Profile;
import org.evenstop.engine.profile.ProfileShapes;

/** A still scene of surfaces from dark to bright, grey and coloured, some of them textured, and cameras to shoot it with: ground truth. */
final class InventedScene {
    static final double LN2 = Math.log(2);
    final int width;
    final int height;
    final float[][] light;

    /** Surfaces of 25x25 pixels with soft shading across each; a fifth of them are textured. Lights from -6.5 to +3 stops about 0.18. */
    InventedScene(int width, int height, long seed) {
        this.width = width;
        this.height = height;
        light = new float[3][width * height];
        Random random = new Random(seed);
        int columns = (width + 24) / 25;
        int rows = (height + 24) / 25;
        for (int py = 0; py < rows; py++) {
            for (int px = 0; px < columns; px++) {
                double stops = -6.5 + 9.5 * random.nextDouble();
                double strength = random.nextDouble() < 0.35 ? 0.03 : 0.9 * random.nextDouble();
                double[] tint = {strength * random.nextGaussian(), strength * random.nextGaussian(), strength * random.nextGaussian()};
                double mean = (tint[0] + tint[1] + tint[2]) / 3;
                double slopeX = 0.012 * random.nextGaussian();
                double slopeY = 0.012 * random.nextGaussian();
                double texture = random.nextInt(5) == 0 ? 0.35 : 0.01;
                for (int y = 25 * py; y < Math.min(25 * py + 25, height); y++) {
                    for (int x = 25 * px; x < Math.min(25 * px + 25, width); x++) {
                        double at = stops + slopeX * (x - 25 * px) + slopeY * (y - 25 * py) + texture * random.nextGaussian();
                        for (int c = 0; c < 3; c++) {
                            light[c][y * width + x] = (float) (0.18 * Math.pow(2, at + tint[c] - mean));
                        }
                    }
                }
            }
        }
    }

    InventedScene(int width, int height, float[][] light) {
        this.width = width;
        this.height = height;
        this.light = light;
    }

    /** A part of the scene, as a camera that was turned a little sees it. */
    InventedScene window(int x0, int y0, int w, int h) {
        float[][] part = new float[3][w * h];
        for (int c = 0; c < 3; c++) {
            for (int y = 0; y < h; y++) {
                System.arraycopy(light[c], (y + y0) * width + x0, part[c], y * w, w);
            }
        }
        return new InventedScene(w, h, part);
    }

    /** The same things at other places: all moved to the right and down, what leaves comes in on the other side. */
    InventedScene rolled(int dx, int dy) {
        float[][] moved = new float[3][width * height];
        for (int c = 0; c < 3; c++) {
            for (int i = 0; i < moved[c].length; i++) {
                moved[c][(i / width + dy) % height * width + (i % width + dx) % width] = light[c][i];
            }
        }
        return new InventedScene(width, height, moved);
    }

    /** The scene with lights multiplied, per channel, right of a column. */
    InventedScene lit(int fromColumn, double red, double green, double blue) {
        double[] gain = {red, green, blue};
        float[][] changed = new float[3][];
        for (int c = 0; c < 3; c++) {
            changed[c] = light[c].clone();
            for (int i = 0; i < changed[c].length; i++) {
                if (i % width >= fromColumn) {
                    changed[c][i] *= (float) gain[c];
                }
            }
        }
        return new InventedScene(width, height, changed);
    }

    /**
     * One frame in narrow range, with read noise of 0.0006 and shot noise of 0.004 sqrt(light) (invented). Chroma of subsampled
     * frames is the mean over the sites' pixels.
     */
    PlanarFrame shoot(Profile camera, double stops, CodeDepth depth, ChromaSampling sampling, long seed) {
        PlanarFrame frame = PlanarFrame.allocate(width, height, sampling, depth, LumaStandard.BT709, false, false, false);
        Random random = new Random(seed);
        double gain = Math.pow(2, stops);
        double[] v = new double[3];
        int chromaWidth = sampling.chromaWidth(width);
        int chromaHeight = sampling.chromaHeight(height);
        double[] cb = new double[chromaWidth * chromaHeight];
        double[] cr = new double[chromaWidth * chromaHeight];
        int[] count = new int[cb.length];
        for (int i = 0; i < width * height; i++) {
            for (int c = 0; c < 3; c++) {
                double l = light[c][i] * gain;
                l += random.nextGaussian() * Math.sqrt(0.0006 * 0.0006 + 0.004 * 0.004 * Math.max(l, 0));
                v[c] = camera.levelOfLight(l);
            }
            double y = LumaStandard.BT709.luma(v[0], v[1], v[2]);
            double s = camera.chromaFactor(y);
            int x = i % width;
            int row = i / width;
            frame.setLumaCode(x, row, held(depth, depth.roundedCodeOfLevel(y)));
            int site = (row >> sampling.shiftY()) * chromaWidth + (x >> sampling.shiftX());
            cb[site] += s * (v[2] - y) / LumaStandard.BT709.cbDivisor();
            cr[site] += s * (v[0] - y) / LumaStandard.BT709.crDivisor();
            count[site]++;
        }
        for (int i = 0; i < cb.length; i++) {
            frame.setCbCode(i % chromaWidth, i / chromaWidth, held(depth, depth.roundedCodeOfChroma(cb[i] / count[i])));
            frame.setCrCode(i % chromaWidth, i / chromaWidth, held(depth, depth.roundedCodeOfChroma(cr[i] / count[i])));
        }
        return frame;
    }

    private static int held(CodeDepth depth, int code) {
        return Math.min(Math.max(code, depth.lowestVideoCode()), depth.highestVideoCode());
    }

    /** A random lawful camera; its chroma factor is 1 at 40 % luma. */
    static Profile randomCamera(long seed) {
        Random random = new Random(seed);
        double shadows = 0.9 + 0.3 * random.nextDouble();
        double top = 0.45 + 0.45 * random.nextDouble();
        double[][] chroma = {{0, shadows}, {0.2, 1 + 0.7 * (shadows - 1)}, {0.4, 1}, {0.7, 1 - 0.4 * (1 - top)}, {0.95, 1 - 0.85 * (1 - top)}, {1.09, top}};
        if (random.nextInt(3) == 0) {
            return ProfileShapes.kneed("knee-" + seed, "", "", 0.75 + 0.15 * random.nextDouble(), 3.4 + random.nextDouble(), chroma);
        }
        return ProfileShapes.shouldered("soft-" + seed, "", "", 0.35 + 0.12 * random.nextDouble(), 0.72 + 0.35 * random.nextDouble(),
            4.5 + 1.5 * random.nextDouble(), 0.0005 + 0.0025 * random.nextDouble(), chroma);
    }

    /**
     * Mean and largest error of level, in percent, between two levels of the true curve, with the arbitrary scale of light set so
     * that they meet at 40 %; then the largest relative error of the chroma factor between two lumas, scaled to meet at 40 %.
     */
    static double[] errors(Profile truth, Profile found, double levelFrom, double levelTo, double lumaFrom, double lumaTo) {
        double shift = Math.log(found.lightOfLevel(0.40) / truth.lightOfLevel(0.40));
        double sum = 0;
        double most = 0;
        double where = 0;
        int n = 0;
        for (double level = levelFrom; level <= levelTo; level += 0.0025) {
            double light = truth.lightOfLevel(level);
            double error = Math.abs(found.levelOfLight(light * Math.exp(shift)) - truth.levelOfLight(light));
            sum += error;
            n++;
            if (error > most) {
                most = error;
                where = level;
            }
        }
        double chroma = 0;
        double whereChroma = 0;
        double scale = truth.chromaFactor(0.4) / found.chromaFactor(0.4);
        for (double y = lumaFrom; y <= lumaTo; y += 0.005) {
            double error = Math.abs(found.chromaFactor(y) * scale / truth.chromaFactor(y) - 1);
            if (error > chroma) {
                chroma = error;
                whereChroma = y;
            }
        }
        return new double[] {100 * sum / n, 100 * most, 100 * chroma, 100 * where, 100 * whereChroma};
    }
}
