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

    /** With a share of the light spread about by the lens, near and far, as lenses do round lamps and windows. */
    LightCanvas withGlare(double share) {
        LightCanvas near = blurred(Math.max(1, width / 160));
        LightCanvas far = blurred(Math.max(1, width / 24));
        float[] sum = new float[rgb.length];
        float kept = (float) (1 - share);
        float half = (float) (share / 2);
        for (int i = 0; i < sum.length; i++) {
            sum[i] = kept * rgb[i] + half * near.rgb[i] + half * far.rgb[i];
        }
        return new LightCanvas(width, height, sum);
    }

    /** The same scene exposed longer: all light times a factor. */
    LightCanvas exposed(double factor) {
        float[] more = new float[rgb.length];
        for (int i = 0; i < more.length; i++) {
            more[i] = (float) (factor * rgb[i]);
        }
        return new LightCanvas(width, height, more);
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
