// SPDX-License-Identifier: Apache-2.0
package org.evenstop.batch.demo;

import java.util.Arrays;
import java.util.List;
import java.util.Locale;
import org.evenstop.engine.evaluate.Scene;

/** The places of the demo shoot as scene light, for measuring how well exposures of one scene land on one picture. */
public final class DemoScenes {
    private DemoScenes() {
    }

    /** Names of the places, in a fixed order. */
    public static List<String> names() {
        return Arrays.stream(Views.values()).map(DemoScenes::nameOf).toList();
    }

    private static String nameOf(Views view) {
        return "demo-" + view.name().toLowerCase(Locale.ROOT);
    }

    /**
     * Draws a place.
     *
     * @param name   one of {@link #names}
     * @param pixels about how many; 16:9
     */
    public static Scene draw(String name, int pixels, int threads) {
        Views view = Arrays.stream(Views.values()).filter(v -> nameOf(v).equals(name)).findFirst()
            .orElseThrow(() -> new IllegalArgumentException("no place of the demo is called " + name));
        int width = Math.max(32, (int) Math.round(Math.sqrt(pixels * 16 / 9.0)));
        int height = Math.max(18, Math.round(width * 9f / 16));
        LightCanvas canvas = view.draw(width, height, threads);
        float[][] light = new float[3][width * height];
        for (int i = 0; i < width * height; i++) {
            for (int c = 0; c < 3; c++) {
                light[c][i] = canvas.rgb()[3 * i + c];
            }
        }
        return new Scene(width, height, light);
    }
}
