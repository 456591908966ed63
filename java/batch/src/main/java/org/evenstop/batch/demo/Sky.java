// SPDX-License-Identifier: Apache-2.0
package org.evenstop.batch.demo;

/**
 * What lies behind everything: sky with clouds, two ridges of hills, and the light both give to the ground. Directions are unit vectors,
 * x right, y up, z away from the harbour wall. All values are scene light.
 */
final class Sky {
    final double sunX;
    final double sunY;
    final double sunZ;
    /** Light of the sun on a surface square to it. */
    final double[] sun;
    /** Light from above on open ground, and light thrown back from below. */
    final double[] above;
    final double[] below;
    private final double[] zenith;
    private final double[] horizon;
    private final double[] cloudBright;
    private final double[] cloudDark;
    private final double[] hillNear;
    private final double[] hillFar;
    /** Extra light about the place where the sun went down. */
    private final double[] afterglow;
    private final double coverFrom;
    private final boolean day;

    private Sky(boolean day, double[] below) {
        this.day = day;
        this.below = below;
        double x = day ? -0.50 : -0.35;
        double y = day ? 0.55 : -0.03;
        double z = day ? -0.62 : 0.94;
        double n = 1 / Solid.length(x, y, z);
        sunX = x * n;
        sunY = y * n;
        sunZ = z * n;
        sun = day ? new double[] {1.22, 1.13, 1.01} : new double[] {0, 0, 0};
        above = day ? new double[] {0.24, 0.285, 0.36} : new double[] {0.014, 0.018, 0.030};
        zenith = day ? new double[] {0.11, 0.25, 0.56} : new double[] {0.0075, 0.014, 0.036};
        horizon = day ? new double[] {0.66, 0.80, 0.95} : new double[] {0.040, 0.045, 0.066};
        cloudBright = day ? new double[] {1.70, 1.64, 1.56} : new double[] {0.075, 0.040, 0.036};
        cloudDark = day ? new double[] {0.56, 0.63, 0.74} : new double[] {0.011, 0.013, 0.024};
        hillNear = day ? new double[] {0.075, 0.105, 0.062} : new double[] {0.0036, 0.0045, 0.0072};
        hillFar = day ? new double[] {0.235, 0.315, 0.375} : new double[] {0.0105, 0.0125, 0.020};
        afterglow = day ? new double[] {0, 0, 0} : new double[] {0.34, 0.125, 0.035};
        coverFrom = day ? 0.475 : 0.47;
    }

    private Sky(double[] above, double[] below) {
        day = false;
        sunX = 0;
        sunY = 1;
        sunZ = 0;
        double[] none = {0, 0, 0};
        sun = none;
        this.above = above.clone();
        this.below = below.clone();
        zenith = above.clone();
        horizon = above.clone();
        cloudBright = none;
        cloudDark = none;
        hillNear = none;
        hillFar = none;
        afterglow = none;
        coverFrom = 1;
    }

    /** Not a sky at all but the even light that walls throw about in a room. */
    static Sky within(double[] above, double[] below) {
        return new Sky(above, below);
    }

    static Sky day() {
        return new Sky(true, new double[] {0.26, 0.240, 0.212});
    }

    /** By day with a white board held low before the speaker, so that shadows under brow and nose stay open. */
    static Sky dayWithFill() {
        return new Sky(true, new double[] {0.56, 0.525, 0.475});
    }

    static Sky dusk() {
        return new Sky(false, new double[] {0.005, 0.005, 0.006});
    }

    /** Scene light from a direction, into {@code h.light}; below the horizon it is that of the horizon. */
    void look(Hit h, double dx, double dy, double dz) {
        plain(h, dx, dy, dz);
        if (dy > 0.012) {
            clouds(h, dx, dy, dz);
        }
        hills(h, dx, dy, dz);
    }

    /** The same without clouds and hills: what a rough surface mirrors. */
    void plain(Hit h, double dx, double dy, double dz) {
        double up = Math.max(dy, 0);
        double t = 1 - up;
        double band = t * t * t * t;
        band = 0.35 * t * t * t + 0.65 * band * band;
        h.light(Noise.mix(zenith[0], horizon[0], band), Noise.mix(zenith[1], horizon[1], band), Noise.mix(zenith[2], horizon[2], band));
        if (!day) {
            double towards = Math.max(0, (dx * sunX + dz * sunZ) / Math.max(1e-6, Solid.length(dx, dz)));
            double low = 1 - Math.min(1, up * 2.6);
            double share = Noise.powerOfTwo(towards, 2) * low * low * low;
            h.lightR += afterglow[0] * share * low * low;
            h.lightG += afterglow[1] * share * low;
            h.lightB += afterglow[2] * share;
        }
    }

    private void clouds(Hit h, double dx, double dy, double dz) {
        double scale = 1.15 / (dy + 0.09);
        double u = dx * scale + 4.2;
        double v = dz * scale + 1.7;
        double dense = cover(u, v, 6);
        double amount = Noise.step(coverFrom, coverFrom + 0.17, dense) * Noise.step(0.012, 0.10, dy);
        if (amount <= 0) {
            return;
        }
        double towardsSun = cover(u + 0.16 * sunX, v + 0.16 * sunZ, 4);
        double lit = Noise.clamp(0.72 + 4.0 * (dense - towardsSun) - 1.9 * (dense - coverFrom - 0.05), 0, 1);
        h.blendLight(Noise.mix(cloudDark[0], cloudBright[0], lit), Noise.mix(cloudDark[1], cloudBright[1], lit),
            Noise.mix(cloudDark[2], cloudBright[2], lit), amount * 0.95);
    }

    private static double cover(double u, double v, int octaves) {
        return Noise.fractal(u * 0.85, v * 0.85, octaves, 11);
    }

    private void hills(Hit h, double dx, double dy, double dz) {
        if (dz <= 0.05 || dy > 0.14 || dy < -0.02) {
            return;
        }
        double across = dx / dz;
        double rise = dy / dz;
        double far = 0.028 + 0.050 * Noise.fractal(across * 2.1 + 9.3, 0.5, 5, 41) + 0.018 * Noise.sine(across * 0.21 + 0.1);
        double near = -0.012 + 0.066 * Noise.fractal(across * 3.3 + 2.1, 0.5, 6, 53) + 0.012 * across;
        double edge = 0.0008;
        double wood = 0.55 + 0.9 * Noise.fractal(across * 34, rise * 90, 4, 67);
        double share = Noise.step(far + edge, far - edge, rise);
        h.blendLight(hillFar[0] * (0.86 + 0.14 * wood), hillFar[1] * (0.86 + 0.14 * wood), hillFar[2] * (0.86 + 0.14 * wood), share);
        // Fields and woods: two tones of green in soft patches.
        double field = Noise.step(0.46, 0.56, Noise.fractal(across * 9 + 5, rise * 60, 3, 71));
        share = Noise.step(near + edge, near - edge, rise);
        double haze = day ? 0.30 : 0.12;
        h.blendLight(Noise.mix(hillNear[0] * wood * (1 + 0.9 * field), hillFar[0], haze), Noise.mix(hillNear[1] * wood * (1 + 0.6 * field), hillFar[1], haze),
            Noise.mix(hillNear[2] * wood * (1 + 0.3 * field), hillFar[2], haze), share);
    }

    /** Veils a surface with the air between: {@code metres} away. */
    void haze(Hit h, double metres) {
        double share = 1 - 1 / (1 + metres * (day ? 0.0022 : 0.0012));
        h.blendLight(horizon[0] * 0.8, horizon[1] * 0.8, horizon[2] * 0.8, share);
    }

    boolean isDay() {
        return day;
    }
}
