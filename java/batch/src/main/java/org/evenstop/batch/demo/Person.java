// SPDX-License-Identifier: Apache-2.0
package org.evenstop.batch.demo;

/**
 * An invented head and shoulders. Local axes in metres: origin between the ears, x to the figure's side, y up, the face looks to −z.
 * Skin albedo is that of a published patch; everything else is made up.
 */
final class Person {
    enum Hair { KNITTED_CAP, CURLS }

    static final int SKIN = 0;
    static final int EYE = 1;
    static final int HAIR = 2;
    static final int CLOTH = 3;
    static final int COUNT = 4;

    private final double x;
    private final double y;
    private final double z;
    private final double cos;
    private final double sin;
    private final double[] skin;
    private final Hair hair;
    private final int material;

    /** {@code turnX, turnZ}: where the face looks on the ground, any length. */
    Person(double x, double y, double z, double turnX, double turnZ, double[] skin, Hair hair, int material) {
        double n = Solid.length(turnX, turnZ);
        this.x = x;
        this.y = y;
        this.z = z;
        this.cos = -turnZ / n;
        this.sin = -turnX / n;
        this.skin = skin.clone();
        this.hair = hair;
        this.material = material;
    }

    private double localX(double px, double pz) {
        return (px - x) * cos - (pz - z) * sin;
    }

    private double localZ(double px, double pz) {
        return (px - x) * sin + (pz - z) * cos;
    }

    /** Box round the figure, however it is turned. */
    double[] box() {
        return World.around(x, y - 0.31, z, 0.36, 0.52, 0.36);
    }

    void probe(Hit h, double wx, double wy, double wz) {
        double py = wy - y;
        double bound = Solid.ellipsoid(wx - x, py + 0.30, wz - z, 0.36, 0.52, 0.36);
        if (bound > 0.12) {
            h.offer(bound, material);
            return;
        }
        double px = localX(wx, wz);
        double pz = localZ(wx, wz);
        double ax = Math.abs(px);
        cloth(h, ax, px, py, pz);
        double aroundHead = Solid.ellipsoid(px, py + 0.03, pz, 0.125, 0.22, 0.14);
        if (aroundHead > 0.03) {
            h.offer(aroundHead, material + SKIN);
            return;
        }
        head(h, ax, py, pz);
        hair(h, px, ax, py, pz);
    }

    private void head(Hit h, double ax, double y, double z) {
        double d = Solid.ellipsoid(ax, y - 0.030, z - 0.012, 0.0745, 0.093, 0.096);
        d = Solid.join(d, Solid.ellipsoid(ax, y + 0.040, z + 0.026, 0.0565, 0.082, 0.066), 0.045);
        d = Solid.join(d, Solid.ellipsoid(ax, y + 0.098, z + 0.060, 0.026, 0.020, 0.024), 0.040);
        d = Solid.join(d, Solid.ellipsoid(ax - 0.044, y + 0.070, z + 0.012, 0.014, 0.030, 0.030), 0.040);
        double neck = Solid.rod(ax, y, z, 0, -0.06, 0.020, 0, -0.24, 0.038, 0.050, 0.058);
        d = Solid.join(d, neck, 0.030);
        if (d < 0.05) {
            d = Solid.join(d, Solid.ellipsoid(ax - 0.042, y + 0.026, z + 0.064, 0.020, 0.016, 0.018), 0.028);
            d = Solid.join(d, Solid.rod(ax, y, z, 0.010, 0.024, -0.083, 0.047, 0.022, -0.066, 0.0085, 0.0065), 0.020);
            // Sockets before the nose, so that its root stays between them.
            d = Solid.cut(d, Solid.ellipsoid(ax - 0.0305, y - 0.004, z + 0.094, 0.0175, 0.0125, 0.0165), 0.018);
            d = Solid.join(d, Solid.rod(ax, y, z, 0, 0.014, -0.083, 0, -0.028, -0.1015, 0.0070, 0.0112), 0.016);
            d = Solid.join(d, Solid.ellipsoid(ax, y + 0.0405, z + 0.0985, 0.0055, 0.0080, 0.0100), 0.014);
            d = Solid.join(d, Solid.ellipsoid(ax - 0.0130, y + 0.032, z + 0.0925, 0.0080, 0.0072, 0.0090), 0.013);
            d = Solid.cut(d, Solid.ellipsoid(ax - 0.0085, y + 0.0420, z + 0.0975, 0.0034, 0.0022, 0.0045), 0.003);
            // Mouth: two soft lips and the line between them.
            d = Solid.join(d, Solid.ellipsoid(ax, y + 0.066, z + 0.082, 0.029, 0.016, 0.0115), 0.018);
            d = Solid.join(d, Solid.ellipsoid(ax - 0.006, y + 0.0635, z + 0.0905, 0.015, 0.0042, 0.0052), 0.008);
            d = Solid.join(d, Solid.ellipsoid(ax, y + 0.0755, z + 0.0895, 0.0165, 0.0050, 0.0062), 0.008);
            double smile = 0.0690 - 2.2 * ax * ax;
            d = Solid.cut(d, Solid.ellipsoid(ax, y + smile, z + 0.0975, 0.0245, 0.0012, 0.012), 0.004);
            double ear = Solid.ellipsoid(ax - 0.0775, y + 0.002, z - 0.016 - 0.25 * (y + 0.002), 0.0085, 0.031, 0.019);
            ear = Solid.cut(ear, Solid.ellipsoid(ax - 0.0875, y - 0.004, z - 0.012 - 0.25 * y, 0.0075, 0.020, 0.011), 0.006);
            d = Solid.join(d, ear, 0.008);
            double ex = ax - 0.0305;
            double ey = y - 0.0035;
            double ez = z + 0.0735;
            double ball = Solid.sphere(ex, ey, ez, 0.0132);
            // An almond between two arcs, held open in the lid's shell.
            double almond = Math.max(Solid.length(ex, ey + 0.0162) - 0.0222, Solid.length(ex, ey - 0.0180) - 0.0222);
            double lid = Solid.cut(Solid.sphere(ex, ey, ez, 0.0150), Math.max(almond, z + 0.07), 0.0012);
            d = Solid.join(d, lid, 0.006);
            h.offer(ball, material + EYE);
        }
        h.offer(d, material + SKIN);
    }

    private void hair(Hit h, double px, double ax, double y, double z) {
        if (hair == Hair.KNITTED_CAP) {
            double rim = y - 0.055 - 0.20 * (-z) + 0.02;
            double crown = Solid.ellipsoid(ax, y - 0.048, z - 0.014, 0.0850, 0.094, 0.1060);
            if (crown < 0.03) {
                double turn = Math.abs(z - 0.014) > ax ? ax / (Math.abs(z - 0.014) + 1e-9) : 2 - Math.abs(z - 0.014) / (ax + 1e-9);
                double rib = Math.abs(Noise.sine(turn * 7.5));
                double fold = Noise.step(0.050, 0.044, rim);
                crown -= 0.0020 * rib + 0.0065 * fold;
            }
            h.offer(Solid.cut(crown, rim, 0.006) * 0.9, material + HAIR);
            // Short hair shows at the temples and the nape.
            double under = Solid.ellipsoid(ax, y - 0.026, z - 0.016, 0.0785, 0.092, 0.0975);
            double kept = Math.min(Math.min(z - 0.004 + 0.3 * y, y + 0.060), 0.08 - y);
            h.offer(Solid.cut(under, kept, 0.004), material + HAIR);
        } else {
            double cap = Solid.ellipsoid(ax, y - 0.044, z - 0.016, 0.0855, 0.0950, 0.1010);
            if (cap < 0.03) {
                cap -= 0.009 * Noise.fractal(px * 120, y * 120, z * 120, 2, 401);
                double ax2 = ax * ax;
                double front = 0.072 - 3.5 * ax2;
                double line = front - y;
                // Hairline: above the forehead in front, down to the ears and the nape behind.
                double behind = 0.022 - 0.12 * (y - 0.03) - z;
                double region = Math.min(line, Math.max(behind, -0.075 - y));
                h.offer(Solid.cut(cap, -region, 0.008) * 0.75, material + HAIR);
            } else {
                h.offer(cap, material + HAIR);
            }
        }
    }

    private void cloth(Hit h, double ax, double px, double y, double z) {
        double body = Solid.rod(ax, y, z, 0, -0.255, 0.045, 0.165, -0.285, 0.045, 0.075, 0.070);
        body = Solid.join(body, Solid.ellipsoid(ax, y + 0.49, z - 0.045, 0.205, 0.27, 0.125), 0.08);
        body = Solid.join(body, Solid.rod(ax, y, z, 0.200, -0.31, 0.045, 0.245, -0.63, 0.05, 0.062, 0.052), 0.05);
        // A tall rolled collar.
        double tilt = y + 0.176 + 0.16 * z;
        double collar = Solid.length(Math.max(Math.abs(tilt) - 0.020, 0), Solid.length(ax, z - 0.028) - 0.0640) - 0.0125;
        if (Math.min(body, collar) < 0.05) {
            body = Solid.join(body, Solid.rod(ax, y, z, 0.03, -0.185, 0.042, 0.13, -0.232, 0.045, 0.035, 0.045), 0.05);
            body -= 0.016 * (Noise.fractal(px * 7, y * 5, z * 7, 3, 411) - 0.5);
            body = Solid.join(body, collar, 0.035);
        } else {
            body = Math.min(body, collar) - 0.02;
        }
        h.offer(body * 0.92, material + CLOTH);
    }

    void surface(Hit h) {
        double lx = localX(h.x, h.z);
        double ax = Math.abs(lx);
        double ly = h.y - y;
        double lz = localZ(h.x, h.z);
        switch (h.material - material) {
            case SKIN -> skin(h, ax, lx, ly, lz);
            case EYE -> eye(h, lx < 0 ? -1 : 1, ax, lx, ly);
            case HAIR -> {
                if (hair == Hair.KNITTED_CAP && (ly > 0.035 - 0.20 * lz || ly > 0.10)) {
                    h.albedo(0.50, 0.085, 0.045);
                    h.scaleAlbedo(0.8 + 0.4 * Noise.fractal(lx * 300, ly * 300, lz * 300, 2, 421));
                    h.wrap = 0.15;
                } else {
                    boolean dark = hair == Hair.CURLS;
                    h.albedo(dark ? 0.022 : 0.11, dark ? 0.016 : 0.066, dark ? 0.013 : 0.035);
                    h.scaleAlbedo(0.5 + Noise.fractal(lx * 260, ly * (dark ? 260 : 60), lz * 260, 2, 423));
                    h.roughen(dark ? 150 : 260, 1.6, 425);
                    h.shine = dark ? 0.05 : 0.03;
                    h.sharpness = 3;
                }
            }
            default -> {
                double knit = Noise.fractal(lx * 230, ly * 170, lz * 230, 2, 431);
                if (hair == Hair.KNITTED_CAP) {
                    h.albedo(0.042, 0.066, 0.115);
                } else {
                    h.albedo(0.60, 0.36, 0.055);
                }
                double row = Noise.sine(ly * 75 + 0.6 * Noise.at(lx * 9, ly * 9, 433));
                double stitch = Noise.sine((ax + 0.0015 * row) * 90);
                h.scaleAlbedo(0.72 + 0.45 * knit + 0.08 * row + 0.06 * stitch);
                h.ny += 0.16 * row;
                h.roughen(190, 0.5, 435);
                h.wrap = 0.12;
                h.fill = 0.25;
            }
        }
    }

    private void skin(Hit h, double ax, double lx, double ly, double lz) {
        h.albedo(skin[0], skin[1], skin[2]);
        double mottle = Noise.fractal(lx * 42, ly * 42, lz * 42, 4, 441);
        h.scaleAlbedo(0.93 + 0.14 * mottle);
        h.wrap = 0.30;
        h.fill = 0.60;
        h.shine = 0.035;
        h.sharpness = 4;
        boolean front = lz < -0.03;
        if (front) {
            double cheek = Noise.step(0.032, 0.006, Solid.length(ax - 0.043, (ly + 0.030) * 1.2));
            double nose = Noise.step(0.022, 0.004, Solid.length(ax, ly + 0.032));
            // Warmer where the blood is near: more red kept than green and blue.
            double warm = 0.16 * cheek + 0.13 * nose;
            h.g *= 1 - warm;
            h.b *= 1 - warm;
            double upper = Solid.length(ax / 0.0235, (ly + 0.0645 - 1.6 * ax * ax) / 0.0058) - 1;
            double lower = Solid.length(ax / 0.0215, (ly + 0.0745 - 2.2 * ax * ax) / 0.0068) - 1;
            double lips = Noise.step(0.16, -0.22, Math.min(upper, lower));
            h.blendAlbedo(skin[0] * 0.82, skin[1] * 0.60, skin[2] * 0.64, lips);
            h.shine += 0.05 * lips;
            double gap = Noise.step(0.0022, 0.0006, Math.abs(ly + 0.0690 - 2.2 * ax * ax)) * Noise.step(0.026, 0.022, ax);
            h.scaleAlbedo(1 - 0.55 * gap);
            brows(h, ax, lx, ly);
            lashes(h, ax, ly);
            if (hair == Hair.KNITTED_CAP) {
                // A day's beard.
                double beard = Noise.step(-0.034, -0.052, ly - 0.35 * Math.max(0, ax - 0.02)) * (1 - lips) * Noise.step(-0.150, -0.120, ly);
                double bristle = Noise.at(lx * 900, ly * 900, lz * 900, 447);
                h.blendAlbedo(0.16, 0.105, 0.075, beard * (0.20 + 0.35 * bristle));
                h.shine *= 1 - 0.6 * beard;
            }
        }
        h.roughen(420, 0.22, 443);
    }

    private void brows(Hit h, double ax, double lx, double ly) {
        double along = (ax - 0.033) / 0.021;
        double arch = 0.0265 - 0.0035 * along * along + 0.0012 * along;
        double thick = 0.0036 * (1 - 0.35 * along);
        double brow = Noise.step(1.3, 0.55, Math.abs(ly - arch) / thick) * Noise.step(1.12, 0.88, Math.abs(along));
        double strand = Noise.at(lx * 520 + ly * 700, ly * 160, 445);
        boolean dark = hair == Hair.CURLS;
        h.blendAlbedo(dark ? 0.016 : 0.085, dark ? 0.012 : 0.05, dark ? 0.010 : 0.03, brow * (0.45 + 0.5 * strand));
    }

    private static void lashes(Hit h, double ax, double ly) {
        double ex = ax - 0.0305;
        double ey = ly - 0.0035;
        double upper = Solid.length(ex, ey + 0.0162) - 0.0222;
        double line = Noise.step(0.0016, 0.0004, Math.abs(upper)) * Noise.step(-0.002, 0.001, ey) * Noise.step(0.0165, 0.014, Math.abs(ex));
        h.blendAlbedo(0.02, 0.015, 0.012, 0.85 * line);
    }

    private void eye(Hit h, int side, double ax, double lx, double ly) {
        // Both eyes look a little to one side, so the iris is not mirrored.
        double ex = lx - side * 0.0305;
        double ey = ly - 0.0038;
        double from = Solid.length(ex, ey);
        h.albedo(0.52, 0.48, 0.44);
        double edge = Math.abs(ax - 0.0305) / 0.014;
        h.scaleAlbedo(1 - 0.35 * edge * edge);
        boolean dark = hair == Hair.CURLS;
        double iris = Noise.step(0.0066, 0.0058, from);
        double fibre = 0.7 + 0.6 * Noise.at(ex * 1500, ey * 1500, 451);
        h.blendAlbedo((dark ? 0.045 : 0.10) * fibre, (dark ? 0.024 : 0.125) * fibre, (dark ? 0.013 : 0.115) * fibre, iris);
        h.scaleAlbedo(1 - 0.5 * iris * Noise.step(0.0046, 0.0062, from));
        h.blendAlbedo(0.006, 0.006, 0.006, Noise.step(0.0029, 0.0023, from));
        // The upper lid shades the ball.
        h.scaleAlbedo(1 - 0.55 * Noise.step(0.001, 0.0062, ey));
        h.shine = 1.1;
        h.sharpness = 9;
        h.mirror = 0.12;
    }
}
