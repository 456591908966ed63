// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.follow;

import java.util.Random;
import org.evenstop.engine.frame.ChromaSampling;
import org.evenstop.engine.frame.PlanarFrame;
import org.evenstop.engine.level.CodeDepth;
import org.evenstop.engine.level.LumaStandard;
import org.evenstop.engine.profile.Profile;

/** An invented place, larger than the frame, filmed at any exposure, from anywhere, with noise and with somebody walking through. */
final class FilmedScene {
    static final int WIDTH = 192;
    static final int HEIGHT = 108;
    static final int PLACE = 640;

    private static final int PER_STOP = 512;

    /** Stops from mid grey. */
    private final float[][] light = new float[3][PLACE * HEIGHT];
    private final float[] level = new float[40 * PER_STOP];
    private final Profile profile;
    private final Random noise = new Random(7);
    private int walkerWidth = 110;
    private double zoom = 1;

    /** @param rise stops by which the place gets brighter from its left edge to its right */
    FilmedScene(Profile profile, long seed, double rise) {
        this.profile = profile;
        for (int i = 0; i < level.length; i++) {
            level[i] = (float) profile.levelOfLight(0.18 * Math.pow(2, i / (double) PER_STOP - 20));
        }
        Random random = new Random(seed);
        double[] bumps = random.doubles(5 * 260).toArray();
        double[] log = new double[PLACE * HEIGHT];
        for (int i = 0; i < 260; i++) {
            double x0 = bumps[5 * i] * PLACE;
            double y0 = bumps[5 * i + 1] * HEIGHT;
            double size = 3 + 22 * bumps[5 * i + 2] * bumps[5 * i + 2];
            double height = 3 * (bumps[5 * i + 3] - 0.5);
            boolean box = bumps[5 * i + 4] < 0.5;
            for (int y = (int) Math.max(0, y0 - 2 * size); y < Math.min(HEIGHT, y0 + 2 * size); y++) {
                for (int x = (int) Math.max(0, x0 - 2 * size); x < Math.min(PLACE, x0 + 2 * size); x++) {
                    double dx = (x - x0) / size;
                    double dy = (y - y0) / size;
                    log[y * PLACE + x] += box ? Math.abs(dx) < 1 && Math.abs(dy) < 1 ? height : 0 : height * Math.exp(-dx * dx - dy * dy);
                }
            }
        }
        for (int y = 0; y < HEIGHT; y++) {
            for (int x = 0; x < PLACE; x++) {
                int at = y * PLACE + x;
                double stops = Math.max(-4, Math.min(1.5, log[at])) + rise * (x / (double) PLACE - 0.5);
                double tint = 0.25 * Math.sin(0.05 * x + 0.09 * y + seed);
                light[0][at] = (float) (stops + tint);
                light[1][at] = (float) (stops);
                light[2][at] = (float) (stops - tint);
            }
        }
    }

    /** Somebody wider than the usual 110 pixels, who may hide the whole picture. */
    FilmedScene walkerOf(int width) {
        walkerWidth = width;
        return this;
    }

    /** Magnification about the middle of the frame, 1 or more. */
    FilmedScene zoomed(double factor) {
        zoom = factor;
        return this;
    }

    /**
     * @param stops  exposure
     * @param left   left edge of the picture in the place, in pixels; between them is bilinear
     * @param walker right edge of somebody dark who comes in from the left, in pixels of the frame; 0 for nobody
     * @param grain  standard deviation of noise in luma, a level fraction
     * @param gain   factor on the finished picture's levels: what a fade does
     */
    PlanarFrame film(double stops, double left, int walker, double grain, double gain) {
        PlanarFrame f = PlanarFrame.allocate(WIDTH, HEIGHT, ChromaSampling.S444, CodeDepth.BITS10, LumaStandard.BT709, false, true, true);
        for (int y = 0; y < HEIGHT; y++) {
            for (int x = 0; x < WIDTH; x++) {
                double[] v = new double[3];
                for (int c = 0; c < 3; c++) {
                    double px = left + 0.5 * WIDTH + (x - 0.5 * WIDTH) / zoom;
                    int py = (int) Math.rint(0.5 * HEIGHT + (y - 0.5 * HEIGHT) / zoom);
                    int at = Math.min(py, HEIGHT - 1) * PLACE + (int) px;
                    double part = px - (int) px;
                    double l = light[c][at] + part * (light[c][at + 1] - light[c][at]);
                    if (x < walker && x > walker - walkerWidth && y > 6) {
                        l = -1.9 + 0.9 * Math.sin(0.3 * (x - walker) + 0.2 * y + c);
                    }
                    v[c] = level[(int) Math.rint((l + stops + 20) * PER_STOP)];
                }
                double luma = LumaStandard.BT709.luma(v[0], v[1], v[2]);
                double s = profile.chromaFactor(luma);
                double cb = s * (v[2] - luma) / LumaStandard.BT709.cbDivisor();
                double cr = s * (v[0] - luma) / LumaStandard.BT709.crDivisor();
                double shown = gain * luma + (grain == 0 ? 0 : grain * noise.nextGaussian());
                f.setLumaCode(x, y, held(64 + 876 * shown));
                f.setCbCode(x, y, held(512 + 896 * gain * cb));
                f.setCrCode(x, y, held(512 + 896 * gain * cr));
            }
        }
        return f;
    }

    PlanarFrame film(double stops) {
        return film(stops, 200, 0, 0.008, 1);
    }

    private static int held(double code) {
        return (int) Math.max(4, Math.min(1019, Math.rint(code)));
    }
}
