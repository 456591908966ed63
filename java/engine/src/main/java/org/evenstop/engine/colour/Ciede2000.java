// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.colour;

/**
 * The CIEDE2000 colour difference with kL = kC = kH = 1 (CIE 142:2001), written after G. Sharma, W. Wu and E. N. Dalal, Color
 * Research and Application 30(1), 2005, whose test pairs it meets to 1e-4.
 */
public final class Ciede2000 {
    private static final double POW25_7 = Math.pow(25, 7);

    private Ciede2000() {
    }

    /** Symmetric, 0 for equal colours. */
    public static double difference(Lab one, Lab two) {
        double chromaMean = (Math.hypot(one.a(), one.b()) + Math.hypot(two.a(), two.b())) / 2;
        double g = 0.5 * (1 - Math.sqrt(Math.pow(chromaMean, 7) / (Math.pow(chromaMean, 7) + POW25_7)));
        double a1 = (1 + g) * one.a();
        double a2 = (1 + g) * two.a();
        double c1 = Math.hypot(a1, one.b());
        double c2 = Math.hypot(a2, two.b());
        double h1 = hue(a1, one.b());
        double h2 = hue(a2, two.b());

        double dL = two.l() - one.l();
        double dC = c2 - c1;
        double dh = 0;
        double hMean = h1 + h2;
        if (c1 * c2 != 0) {
            dh = h2 - h1;
            if (dh > 180) {
                dh -= 360;
            } else if (dh < -180) {
                dh += 360;
            }
            if (Math.abs(h1 - h2) <= 180) {
                hMean = (h1 + h2) / 2;
            } else {
                hMean = h1 + h2 < 360 ? (h1 + h2 + 360) / 2 : (h1 + h2 - 360) / 2;
            }
        }
        double dH = 2 * Math.sqrt(c1 * c2) * Math.sin(Math.toRadians(dh) / 2);

        double lMean = (one.l() + two.l()) / 2;
        double cMean = (c1 + c2) / 2;
        double t = 1 - 0.17 * cos(hMean - 30) + 0.24 * cos(2 * hMean) + 0.32 * cos(3 * hMean + 6) - 0.20 * cos(4 * hMean - 63);
        double theta = 30 * Math.exp(-Math.pow((hMean - 275) / 25, 2));
        double rC = 2 * Math.sqrt(Math.pow(cMean, 7) / (Math.pow(cMean, 7) + POW25_7));
        double sL = 1 + 0.015 * Math.pow(lMean - 50, 2) / Math.sqrt(20 + Math.pow(lMean - 50, 2));
        double sC = 1 + 0.045 * cMean;
        double sH = 1 + 0.015 * cMean * t;
        double rT = -Math.sin(Math.toRadians(2 * theta)) * rC;
        double l = dL / sL;
        double c = dC / sC;
        double h = dH / sH;
        return Math.sqrt(l * l + c * c + h * h + rT * c * h);
    }

    private static double hue(double a, double b) {
        if (a == 0 && b == 0) {
            return 0;
        }
        double degrees = Math.toDegrees(Math.atan2(b, a));
        return degrees < 0 ? degrees + 360 : degrees;
    }

    private static double cos(double degrees) {
        return Math.cos(Math.toRadians(degrees));
    }
}
