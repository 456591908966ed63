// SPDX-License-Identifier: Apache-2.0
package org.evenstop.batch.demo;

import org.evenstop.engine.profile.Profile;

/**
 * The camera setting of the demo shoot, invented: a contrasty toe, a soft shoulder to 109 %, chroma that falls as luma rises. A saturating response
 * L^n / (L^n + c), as in K.-I. Naka and W. A. H. Rushton, Journal of Physiology 185, 1966, with numbers of our own; no camera was measured. It is
 * of the family of the shipped profile {@code cinema-soft} but not equal to it, as a real camera would be.
 */
final class HarbourProfile {
    static final String NAME = "harbour";
    /** Highest narrow-range code at 10 bit, 1019, as a level. */
    private static final double CEILING = 955.0 / 876.0;
    private static final double POWER = 0.98;
    private static final double MID_GREY_LEVEL = 0.41;
    private static final double CLIP_STOPS = 5.25;
    private static final double DARKEST_STOPS = -8;
    private static final double STEP = 0.25;

    private HarbourProfile() {
    }

    static Profile create() {
        int count = (int) Math.round((CLIP_STOPS - DARKEST_STOPS) / STEP) + 1;
        double[] stops = new double[count];
        double[] levels = new double[count];
        double half = halfPoint();
        for (int i = 0; i < count; i++) {
            stops[i] = DARKEST_STOPS + i * STEP;
            // Six decimals, as the file stores them: the camera and the file are then one curve.
            levels[i] = i == count - 1 ? rounded(CEILING) : rounded(CEILING * response(stops[i], half) / response(CLIP_STOPS, half));
        }
        return new Profile(NAME, "Harbour (demo camera)",
            "Invented for the demo shoot: saturating response with power 0.98, mid grey at 41 %, clipping at 109 % 5.25 stops above it; "
                + "chroma falls from 1.2 in the shadows to 0.5 at the ceiling. No camera was measured.",
            stops, levels, new double[] {0, 0.12, 0.35, 0.65, 0.90, 1.09}, new double[] {1.20, 1.18, 1.05, 0.86, 0.64, 0.50});
    }

    private static double response(double stops, double half) {
        double v = StrictMath.pow(2, POWER * stops) * half;
        return v / (1 + v);
    }

    /** The response's one free number, so that mid grey lands on its level: solved by halving. */
    private static double halfPoint() {
        double low = 0.01;
        double high = 10;
        for (int i = 0; i < 80; i++) {
            double middle = 0.5 * (low + high);
            if (CEILING * response(0, middle) / response(CLIP_STOPS, middle) < MID_GREY_LEVEL) {
                low = middle;
            } else {
                high = middle;
            }
        }
        return low;
    }

    private static double rounded(double level) {
        return Math.rint(level * 1e6) / 1e6;
    }
}
