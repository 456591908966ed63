// SPDX-License-Identifier: Apache-2.0
package org.evenstop.batch.demo;

import java.util.function.IntConsumer;

/** Draws what an {@link Eye} sees into a {@link LightCanvas}: one ray a pixel, four more where neighbours differ so that edges are smooth. */
final class Painter {
    /** Light brighter than this is cut: it is far above any camera's ceiling, and would only make edges ragged. */
    private static final float BRIGHTEST = 12f;
    private static final double[] OFFSET_X = {0.375, 0.875, 0.125, 0.625};
    private static final double[] OFFSET_Y = {0.125, 0.375, 0.625, 0.875};

    private Painter() {
    }

    static LightCanvas draw(World world, Eye eye, int width, int height, int threads) {
        LightCanvas rough = LightCanvas.blank(width, height);
        byte[] seen = new byte[width * height];
        Rows.forEach(height, threads, () -> {
            Hit h = new Hit();
            return y -> {
                for (int x = 0; x < width; x++) {
                    eye.look(world, h, (x + 0.5) / width, (y + 0.5) / height);
                    put(rough.rgb(), rough.index(x, y), h.lightR, h.lightG, h.lightB);
                    seen[y * width + x] = (byte) h.seen;
                }
            };
        });
        LightCanvas fine = new LightCanvas(width, height, rough.rgb().clone());
        Rows.forEach(height, threads, () -> {
            Hit h = new Hit();
            return (IntConsumer) y -> {
                for (int x = 0; x < width; x++) {
                    if (!isEdge(rough, seen, x, y)) {
                        continue;
                    }
                    int at = rough.index(x, y);
                    double r = rough.rgb()[at];
                    double g = rough.rgb()[at + 1];
                    double b = rough.rgb()[at + 2];
                    for (int i = 0; i < OFFSET_X.length; i++) {
                        eye.look(world, h, (x + OFFSET_X[i]) / width, (y + OFFSET_Y[i]) / height);
                        r += Math.min(h.lightR, BRIGHTEST);
                        g += Math.min(h.lightG, BRIGHTEST);
                        b += Math.min(h.lightB, BRIGHTEST);
                    }
                    put(fine.rgb(), at, r / 5, g / 5, b / 5);
                }
            };
        });
        return fine;
    }

    private static void put(float[] rgb, int at, double r, double g, double b) {
        rgb[at] = Math.min(BRIGHTEST, Math.max(0f, (float) r));
        rgb[at + 1] = Math.min(BRIGHTEST, Math.max(0f, (float) g));
        rgb[at + 2] = Math.min(BRIGHTEST, Math.max(0f, (float) b));
    }

    private static boolean isEdge(LightCanvas canvas, byte[] seen, int x, int y) {
        return x > 0 && differs(canvas, seen, x, y, x - 1, y) || x + 1 < canvas.width() && differs(canvas, seen, x, y, x + 1, y)
            || y > 0 && differs(canvas, seen, x, y, x, y - 1) || y + 1 < canvas.height() && differs(canvas, seen, x, y, x, y + 1);
    }

    private static boolean differs(LightCanvas canvas, byte[] seen, int x, int y, int x2, int y2) {
        if (seen[y * canvas.width() + x] != seen[y2 * canvas.width() + x2]) {
            return true;
        }
        float[] p = canvas.rgb();
        int a = canvas.index(x, y);
        int b = canvas.index(x2, y2);
        for (int c = 0; c < 3; c++) {
            if (Math.abs(p[a + c] - p[b + c]) > 0.17f * (p[a + c] + p[b + c]) + 0.004f) {
                return true;
            }
        }
        return false;
    }
}
