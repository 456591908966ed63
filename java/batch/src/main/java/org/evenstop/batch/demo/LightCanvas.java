// SPDX-License-Identifier: Apache-2.0
package org.evenstop.batch.demo;

/**
 * A still picture of scene light, {@code [height][width][3]} RGB, row 0 at the top. Scene-linear, BT.709 primaries and white;
 * 0.18 is mid grey at the right exposure, 1.0 about a white wall in the sun, the sun on water far above it. Never negative.
 * The arrays are the picture itself: written once while it is drawn, only read afterwards.
 */
record LightCanvas(int width, int height, float[] rgb) {
    LightCanvas {
        if (rgb.length != Math.multiplyExact(Math.multiplyExact(width, height), 3)) {
            throw new IllegalArgumentException("a canvas of " + width + "x" + height + " needs " + 3L * width * height + " values, not " + rgb.length);
        }
    }

    static LightCanvas blank(int width, int height) {
        return new LightCanvas(width, height, new float[width * height * 3]);
    }

    int index(int x, int y) {
        return 3 * (y * width + x);
    }

    /** Enlarged to another size, bilinear: for backgrounds that are out of focus anyway. */
    LightCanvas enlarged(int newWidth, int newHeight) {
        LightCanvas result = blank(newWidth, newHeight);
        double stepX = (double) width / newWidth;
        double stepY = (double) height / newHeight;
        for (int y = 0; y < newHeight; y++) {
            double sy = Noise.clamp((y + 0.5) * stepY - 0.5, 0, height - 1.001);
            int y0 = (int) sy;
            float fy = (float) (sy - y0);
            for (int x = 0; x < newWidth; x++) {
                double sx = Noise.clamp((x + 0.5) * stepX - 0.5, 0, width - 1.001);
                int x0 = (int) sx;
                float fx = (float) (sx - x0);
                int from = index(x0, y0);
                int to = result.index(x, y);
                for (int c = 0; c < 3; c++) {
                    float top = rgb[from + c] + (rgb[from + 3 + c] - rgb[from + c]) * fx;
                    int below = from + 3 * width;
                    float bottom = rgb[below + c] + (rgb[below + 3 + c] - rgb[below + c]) * fx;
                    result.rgb[to + c] = top + (bottom - top) * fy;
                }
            }
        }
        return result;
    }

    /** Three running means of {@code 2 radius + 1} each way, which is close to a lens out of focus; edges are repeated. */
    LightCanvas blurred(int radius) {
        float[] a = rgb.clone();
        float[] b = new float[a.length];
        for (int pass = 0; pass < 3; pass++) {
            for (int y = 0; y < height; y++) {
                runningMean(a, b, 3 * y * width, 3, width, radius);
            }
            for (int x = 0; x < width; x++) {
                runningMean(b, a, 3 * x, 3 * width, height, radius);
            }
        }
        return new LightCanvas(width, height, a);
    }

    private static void runningMean(float[] from, float[] to, int start, int stride, int count, int radius) {
        float share = 1f / (2 * radius + 1);
        for (int c = 0; c < 3; c++) {
            int base = start + c;
            // A double sum: in float the subtraction of what leaves would drift along a row with the sun in it.
            double sum = 0;
            for (int i = -radius; i <= radius; i++) {
                sum += from[base + stride * Math.min(Math.max(i, 0), count - 1)];
            }
            for (int i = 0; i < count; i++) {
                to[base + stride * i] = Math.max(0f, (float) sum * share);
                sum += from[base + stride * Math.min(i + radius + 1, count - 1)] - from[base + stride * Math.max(i - radius, 0)];
            }
        }
    }
}
