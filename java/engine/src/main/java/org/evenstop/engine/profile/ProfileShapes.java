// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.profile;

import java.util.function.DoubleUnaryOperator;
import org.evenstop.engine.level.Transfer;

/**
 * Builds profiles from formulas: the shipped families, and inventions for demo and tests. No camera was measured for these.
 */
public final class ProfileShapes {
    /** Level of code 1019 at 10 bit: the highest video code (ITU-R BT.709-6 clause 4). */
    public static final double SUPER_WHITE = 955.0 / 876.0;

    private ProfileShapes() {
    }

    /**
     * The transfer of ITU-R BT.709-6 item 1.2 up to {@code kneeLevel}, then level rising evenly per stop to 109 % at
     * {@code stopsAtClip} above mid grey. BT.709 has no knee: its place is common practice, no source.
     */
    public static Profile kneed(String name, String label, String note, double kneeLevel, double stopsAtClip, double[][] chroma) {
        double kneeLight = Transfer.bt709OetfInverse(kneeLevel);
        double kneeStops = Math.log(kneeLight / Profile.MID_GREY) / Math.log(2);
        double slope = (SUPER_WHITE - kneeLevel) / (stopsAtClip - kneeStops);
        return sampled(name, label, note, -8, stopsAtClip, s -> {
            if (s > kneeStops) {
                return kneeLevel + slope * (s - kneeStops);
            }
            return Transfer.bt709Oetf(Profile.MID_GREY * Math.pow(2, s));
        }, chroma);
    }

    /**
     * A contrasty curve with a soft shoulder: the saturating response L^n / (L^n + c^n) (K. I. Naka and W. A. H. Rushton,
     * J. Physiol. 185, 1966, there for the eye), scaled to reach 109 % at {@code stopsAtClip}, with c chosen so that mid grey
     * lies at {@code greyLevel}; {@code toe} stops below which shadows fall off faster, as a printed look does.
     */
    public static Profile shouldered(String name, String label, String note, double greyLevel, double n, double stopsAtClip,
                                     double toeLight, double[][] chroma) {
        double clip = Profile.MID_GREY * Math.pow(2, stopsAtClip);
        double low = 1e-3;
        double high = 100;
        for (int i = 0; i < 200; i++) {
            double c = Math.sqrt(low * high);
            if (response(Profile.MID_GREY, n, c, toeLight) / response(clip, n, c, toeLight) * SUPER_WHITE > greyLevel) {
                low = c;
            } else {
                high = c;
            }
        }
        double c = Math.sqrt(low * high);
        double scale = SUPER_WHITE / response(clip, n, c, toeLight);
        return sampled(name, label, note, -8, stopsAtClip,
            s -> scale * response(Profile.MID_GREY * Math.pow(2, s), n, c, toeLight), chroma);
    }

    private static double response(double light, double n, double c, double toeLight) {
        double bent = light * light / (light + toeLight);
        double power = Math.pow(bent, n);
        return power / (power + Math.pow(c, n));
    }

    /** IEC 61966-2-1 (sRGB) encoding, scene light 1 at 100 %, which is also where it clips. */
    public static Profile screen(String name, String label, String note) {
        return sampled(name, label, note, -10, Math.log(1 / Profile.MID_GREY) / Math.log(2),
            s -> Transfer.srgbOfLight(Profile.MID_GREY * Math.pow(2, s)), new double[][] {{0, 1}, {1.09, 1}});
    }

    /** Knots every quarter stop, rounded to what a file holds: 1e-4 stop and 1e-6 of level. */
    public static Profile sampled(String name, String label, String note, double from, double to, DoubleUnaryOperator levelOfStops,
                                  double[][] chroma) {
        int n = (int) Math.ceil((to - from) / 0.25);
        double[] stops = new double[n + 1];
        double[] levels = new double[n + 1];
        for (int i = 0; i <= n; i++) {
            stops[i] = Math.round((from + (to - from) * i / n) * 1e4) / 1e4;
            levels[i] = Math.round(levelOfStops.applyAsDouble(i == n ? to : stops[i]) * 1e6) / 1e6;
        }
        double[] lumas = new double[chroma.length];
        double[] factors = new double[chroma.length];
        for (int i = 0; i < chroma.length; i++) {
            lumas[i] = chroma[i][0];
            factors[i] = chroma[i][1];
        }
        return new Profile(name, label, note, stops, levels, lumas, factors);
    }

    /** The shipped "rec709-knee". */
    public static Profile rec709Knee() {
        return kneed("rec709-knee", "Rec.709 with a knee",
            "Transfer of ITU-R BT.709-6 item 1.2 up to 85 %, then an even rise per stop to 109 % at 4 stops above mid grey; chroma "
                + "falls above the knee. Knee and chroma figures: common practice, no source.",
            0.85, 4.0, new double[][] {{0, 1}, {0.80, 1}, {0.95, 0.88}, {1.09, 0.72}});
    }

    /** The shipped "cinema-soft". */
    public static Profile cinemaSoft() {
        return shouldered("cinema-soft", "Cinema look, soft shoulder",
            "Saturating response L^n/(L^n+c^n), n 0.86, mid grey at 40 %, clipping at 109 % 5.5 stops above it, a toe about 7 stops "
                + "below it; chroma falls from 1.12 in the shadows to 0.52 at the ceiling. Generic by construction, no camera was measured.",
            0.40, 0.86, 5.5, 0.0015, new double[][] {{0, 1.12}, {0.15, 1.12}, {0.40, 1.0}, {0.70, 0.84}, {0.95, 0.62}, {1.09, 0.52}});
    }

    /** The shipped "srgb-screen". */
    public static Profile srgbScreen() {
        return screen("srgb-screen", "sRGB screen",
            "Encoding of IEC 61966-2-1 for pictures made for a computer screen; no levels above 100 %, chroma as it is.");
    }
}
