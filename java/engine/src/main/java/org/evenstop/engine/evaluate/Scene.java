// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.evaluate;

import org.evenstop.engine.level.Transfer;

/**
 * A picture as scene light: three planes R, G, B of {@code height} rows of {@code width} values, row 0 at the top. Scene-linear, BT.709
 * primaries, 0.18 is mid grey at the right exposure; never negative. The arrays are the scene itself and are only read.
 */
public record Scene(int width, int height, float[][] light) {
    public Scene {
        if (width < 1 || height < 1) {
            throw new IllegalArgumentException("scene size " + width + "x" + height + " is empty; at least 1x1 is needed");
        }
        if (light.length != 3 || light[0].length != width * height || light[1].length != width * height || light[2].length != width * height) {
            throw new IllegalArgumentException("a scene of " + width + "x" + height + " needs three planes of " + (long) width * height + " values");
        }
    }

    /**
     * Undoes the display curve of a still (IEC 61966-2-1) and averages squares of pixels, as a camera that reads more photosites
     * than it writes pixels does.
     *
     * @param rgb    {@code [height][width]} 8-bit values as 0xRRGGBB; higher bits are ignored
     * @param pixels about how many are wanted; a picture of fewer stays as it is
     */
    public static Scene ofSrgb(int width, int height, int[] rgb, int pixels) {
        int step = Math.max(1, (int) Math.round(Math.sqrt(width * (double) height / pixels)));
        int w = Math.max(1, width / step);
        int h = Math.max(1, height / step);
        step = Math.min(step, Math.min(width, height));
        float[] decode = new float[256];
        for (int i = 0; i < 256; i++) {
            decode[i] = (float) Transfer.lightOfSrgb(i / 255.0);
        }
        float[][] light = new float[3][w * h];
        float share = 1f / (step * step);
        for (int y = 0; y < Math.min(height, h * step); y++) {
            for (int x = 0; x < Math.min(width, w * step); x++) {
                int value = rgb[y * width + x];
                int i = y / step * w + x / step;
                light[0][i] += share * decode[value >> 16 & 255];
                light[1][i] += share * decode[value >> 8 & 255];
                light[2][i] += share * decode[value & 255];
            }
        }
        return new Scene(w, h, light);
    }

    /** The strongest channel of a pixel. */
    float highest(int i) {
        return Math.max(light[0][i], Math.max(light[1][i], light[2][i]));
    }
}
