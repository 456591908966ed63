// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.calibrate;

import java.util.ArrayList;
import java.util.List;
import org.evenstop.engine.profile.Profile;
import org.evenstop.engine.profile.ProfileShapes;

/**
 * Makes a profile of a recovered curve: anchors it, makes it rise everywhere, and continues it beyond what was covered.
 *
 * <p>Below: straight in light down to no light, or, where that would end below the lowest level seen, as a power of light that
 * ends there. Above: straight per stop to the ceiling where the camera was seen to clip, else a roll-off towards 109 %.
 */
final class ProfileAssembly {
    private static final double SPACING = 0.0625;
    private static final int MOST_KNOTS = 180;
    private static final double BELOW = 0.25;
    private static final double LEAST_RISE = 2e-5;
    private static final double LAST_LUMA = 1.09;
    private static final double LN2 = Math.log(2);

    private ProfileAssembly() {
    }

    /**
     * @param response  the curve, over places
     * @param from      covered places, to {@code to}
     * @param anchor    place of mid grey
     * @param scale     stops per unit of place
     * @param floorSeen lowest level in any picture
     * @param ceiling   level of clipping, NaN when not seen
     */
    static Profile of(String name, String label, String note, Response response, double from, double to, double anchor, double scale,
                      double floorSeen, double ceiling) {
        double lowLevel = response.level(from);
        double lowSlope = Math.max(response.slope(from) / scale, 1e-3);
        double lowStops = (from - anchor) * scale;
        double floor = lowLevel - lowSlope / LN2;
        double power = 1;
        double leastFloor = Math.max(-0.07, Math.min(floorSeen, 0));
        if (floor < leastFloor) {
            floor = leastFloor;
            power = lowSlope / LN2 / (lowLevel - floor);
        }
        List<double[]> knots = new ArrayList<>();
        // The part below, from where it is flat to double precision of a file.
        for (double s = lowStops - 12; s < lowStops - 0.5 * BELOW; s += BELOW) {
            double level = floor + (lowLevel - floor) * Math.pow(2, power * (s - lowStops));
            double next = floor + (lowLevel - floor) * Math.pow(2, power * (s + BELOW - lowStops));
            if (next - level > LEAST_RISE && s > -20) {
                knots.add(new double[] {s, level});
            }
        }
        int n = Math.max(4, Math.min((int) Math.ceil((to - from) * scale / SPACING), MOST_KNOTS));
        for (int i = 0; i <= n; i++) {
            double x = from + (to - from) * i / n;
            knots.add(new double[] {(x - anchor) * scale, response.level(x)});
        }
        double highStops = (to - anchor) * scale;
        double highLevel = response.level(to);
        double highSlope = Math.max((highLevel - response.level(to - 0.5 / scale)) / 0.5, 0.004);
        if (ceiling == ceiling) {
            double left = Math.max(ceiling - highLevel, LEAST_RISE);
            double stops = Math.max(left / highSlope, 0.02);
            int more = Math.max(1, (int) Math.ceil(stops / 0.5));
            for (int i = 1; i <= more; i++) {
                knots.add(new double[] {highStops + stops * i / more, highLevel + left * i / more});
            }
        } else {
            double left = ProfileShapes.SUPER_WHITE - highLevel;
            for (double s = 0.25; s <= 6 && left > 2 * LEAST_RISE; s += 0.25) {
                double level = highLevel + left * (1 - Math.exp(-highSlope * s / left));
                if (level - knots.get(knots.size() - 1)[1] < 1e-3) {
                    break;
                }
                knots.add(new double[] {highStops + s, level});
            }
        }
        return new Profile(name, label, note, places(knots), rising(knots), chromaLumas(), chromaFactors(response));
    }

    private static double[] places(List<double[]> knots) {
        double[] stops = new double[knots.size()];
        for (int i = 0; i < stops.length; i++) {
            stops[i] = Math.round(knots.get(i)[0] * 1e5) / 1e5;
        }
        return stops;
    }

    /** The nearest levels that never fall (pool adjacent violators), then each at least a trifle above the one before. */
    private static double[] rising(List<double[]> knots) {
        int n = knots.size();
        double[] value = new double[n];
        int[] count = new int[n];
        int blocks = 0;
        for (double[] knot : knots) {
            value[blocks] = knot[1];
            count[blocks++] = 1;
            while (blocks > 1 && value[blocks - 2] > value[blocks - 1]) {
                int both = count[blocks - 2] + count[blocks - 1];
                value[blocks - 2] = (value[blocks - 2] * count[blocks - 2] + value[blocks - 1] * count[blocks - 1]) / both;
                count[blocks - 2] = both;
                blocks--;
            }
        }
        double[] levels = new double[n];
        int at = 0;
        for (int k = 0; k < blocks; k++) {
            for (int i = 0; i < count[k]; i++) {
                levels[at++] = value[k];
            }
        }
        // From the top down, so that the ceiling stays where it was seen.
        levels[n - 1] = Math.round(Math.min(levels[n - 1], ProfileShapes.SUPER_WHITE) * 1e7) / 1e7;
        for (int i = n - 2; i >= 0; i--) {
            levels[i] = Math.round(Math.min(levels[i], levels[i + 1] - 0.1 * LEAST_RISE) * 1e7) / 1e7;
        }
        for (int i = 0; i < n; i++) {
            levels[i] = Math.max(levels[i], -0.07 + 1e-6 * i);
        }
        return levels;
    }

    private static double[] chromaLumas() {
        double[] lumas = new double[Response.CHROMA_KNOTS];
        for (int k = 0; k < lumas.length; k++) {
            lumas[k] = Math.round(k * Response.CHROMA_STEP * 1e6) / 1e6;
        }
        lumas[lumas.length - 1] = LAST_LUMA;
        return lumas;
    }

    private static double[] chromaFactors(Response response) {
        double[] factors = new double[Response.CHROMA_KNOTS];
        for (int k = 0; k < factors.length; k++) {
            factors[k] = Math.round(Math.max(0.05, Math.min(response.chromaFactor(k == factors.length - 1 ? LAST_LUMA : k * Response.CHROMA_STEP), 4)) * 1e6) / 1e6;
        }
        return factors;
    }
}
