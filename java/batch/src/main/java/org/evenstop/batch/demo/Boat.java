// SPDX-License-Identifier: Apache-2.0
package org.evenstop.batch.demo;

/** A planked wooden boat: where it stands, how it is turned, its size in metres and its paint. Local axes: z to the bow, y up from the keel. */
record Boat(double x, double y, double z, double cosYaw, double sinYaw, double half, double beam, double depth, boolean cabin, boolean mast,
            double paintR, double paintG, double paintB, int material) {
    /** Materials from {@code material} on. */
    static final int HULL = 0;
    static final int CABIN = 1;
    static final int SPAR = 2;
    static final int COUNT = 3;

    /** {@code yawX, yawZ}: where the bow points on the ground, any length. */
    static Boat facing(double x, double y, double z, double yawX, double yawZ, double half, double beam, double depth, boolean cabin, boolean mast,
                       double paintR, double paintG, double paintB, int material) {
        double n = Solid.length(yawX, yawZ);
        return new Boat(x, y, z, yawZ / n, yawX / n, half, beam, depth, cabin, mast, paintR, paintG, paintB, material);
    }

    double localX(double px, double pz) {
        return (px - x) * cosYaw - (pz - z) * sinYaw;
    }

    double localZ(double px, double pz) {
        return (px - x) * sinYaw + (pz - z) * cosYaw;
    }

    /** Box round boat, cabin and mast. */
    double[] box() {
        double a = half * Math.abs(sinYaw) + (beam + 0.08) * Math.abs(cosYaw);
        double c = half * Math.abs(cosYaw) + (beam + 0.08) * Math.abs(sinYaw);
        double high = mast ? half * 2.36 : depth * (cabin ? 2.0 : 1.35);
        return new double[] {x - a, y - 0.09, z - c, x + a, y + high, z + c};
    }

    void probe(Hit h, double px, double py, double pz) {
        double lx = Math.abs(localX(px, pz));
        double ly = py - y;
        double lz = localZ(px, pz);
        double t = Noise.clamp(lz / half, -1, 1);
        double sheer = depth * (1 + 0.22 * t * t + 0.08 * t);
        double full = t > 0 ? 1 - t * t * t : 1 - 0.30 * t * t;
        double high = Noise.clamp(ly / sheer, 0.002, 1);
        double root = Math.sqrt(high);
        double width = beam * full * (0.35 * root + 0.65 * Math.sqrt(root)) - 0.02;
        double side = (lx - width) * 0.62;
        double ends = Math.max(lz - half, -lz - half);
        double hull = Math.max(Math.max(side, ends), Math.max(ly - sheer, -ly));
        double well = Math.max(Math.max(lx - width + 0.07, -lz - half + 0.10), sheer - 0.26 - ly) * 0.7;
        hull = Math.max(hull, -well);
        double keel = Solid.box(lx, ly - 0.02, lz + 0.1 * half, 0.05, 0.10, half * 0.88, 0.01);
        double rail = Math.max(Math.max(Math.abs(ly - sheer) - 0.03, Math.abs(lx - width - 0.005) - 0.045), ends) * 0.62;
        h.offer(Math.min(hull, Math.min(keel, rail)), material + HULL);
        if (cabin) {
            double house = Solid.box(lx, ly - sheer - 0.14 * depth, lz - 0.16 * half, beam * 0.52, depth * 0.40, half * 0.26, 0.05);
            double roof = Solid.box(lx, ly - sheer - 0.56 * depth, lz - 0.15 * half, beam * 0.60, 0.035, half * 0.30, 0.03);
            h.offer(Math.min(house, roof), material + CABIN);
        }
        if (mast) {
            double stick = Solid.cylinder(lx, ly - half * 1.25, lz - 0.3 * half, 0.045, half * 1.1);
            double boom = Solid.rod(lx, ly, lz, 0, sheer + 0.9, 0.28 * half, 0, sheer + 0.8, -0.75 * half, 0.04, 0.03);
            double sail = Solid.rod(lx, ly, lz, 0, sheer + 1.02, 0.2 * half, 0, sheer + 0.9, -0.7 * half, 0.13, 0.07);
            h.offer(Math.min(stick, Math.min(boom, sail)), material + SPAR);
        }
    }

    /** Looks of the part {@code h.material}. */
    void surface(Hit h) {
        double lx = localX(h.x, h.z);
        double ly = h.y - y;
        double lz = localZ(h.x, h.z);
        double t = Noise.clamp(lz / half, -1, 1);
        double sheer = depth * (1 + 0.22 * t * t + 0.08 * t);
        double weather = Noise.fractal(lz * 2.2, ly * 6, lx * 2.2, 4, 301);
        switch (h.material - material) {
            case HULL -> hull(h, lx, ly, lz, sheer, weather);
            case CABIN -> {
                h.albedo(0.74, 0.72, 0.66);
                h.scaleAlbedo(0.86 + 0.22 * weather);
                double around = Math.abs(h.nx * cosYaw - h.nz * sinYaw) > 0.6 ? lz / (half * 0.26) * 1.7 : lx / (beam * 0.5) * 1.1 + 0.5;
                double cell = around - Noise.floor(around);
                double above = (ly - sheer) / depth;
                if (Math.abs(h.ny) < 0.5 && above > 0.20 && above < 0.44 && cell > 0.16 && cell < 0.84) {
                    h.albedo(0.02, 0.025, 0.03);
                    h.mirror = 0.9;
                }
                h.shine = 0.15;
                h.sharpness = 5;
            }
            default -> {
                boolean cloth = ly > sheer + 0.75 && ly < sheer + 1.2 && lz < 0.28 * half;
                if (cloth) {
                    h.albedo(0.62, 0.57, 0.48);
                    h.scaleAlbedo(0.75 + 0.5 * Noise.at(lz * 7, ly * 3, 311));
                } else {
                    h.albedo(0.40, 0.24, 0.11);
                    h.shine = 0.4;
                    h.sharpness = 6;
                }
            }
        }
    }

    private void hull(Hit h, double lx, double ly, double lz, double sheer, double weather) {
        double level = ly / depth;
        double under = sheer - ly;
        boolean inside = h.ny > 0.72 && level > 0.4;
        if (under < 0.045 && under > -0.08) {
            h.albedo(0.36, 0.185, 0.075);
            h.scaleAlbedo(0.7 + 0.6 * Noise.fractal(lz * 3, ly * 60, lx * 25, 3, 303));
            h.shine = 0.5;
            h.sharpness = 6;
            h.mirror = 0.5;
            return;
        }
        if (inside) {
            h.albedo(0.42, 0.32, 0.20);
            h.scaleAlbedo((0.75 + 0.5 * Noise.fractal(lz * 2, lx * 40, 3, 305)) * seam(lx / 0.09, 0.06));
            return;
        }
        if (level < 0.40) {
            h.albedo(0.235, 0.062, 0.042);
            h.blendAlbedo(0.30, 0.20, 0.15, 0.55 * Noise.step(0.55, 0.72, Noise.fractal(lz * 3.5, ly * 5, lx * 3, 5, 307)));
            h.scaleAlbedo(0.75 + 0.5 * weather);
        } else if (level < 0.455) {
            h.albedo(0.80, 0.78, 0.72);
            h.scaleAlbedo(0.8 + 0.3 * weather);
        } else {
            h.albedo(paintR, paintG, paintB);
            // Chalked and rubbed where fenders hung.
            h.blendAlbedo(0.5, 0.5, 0.46, 0.35 * Noise.step(0.56, 0.76, Noise.fractal(lz * 1.5, ly * 4, lx, 5, 309)));
            h.scaleAlbedo(0.84 + 0.3 * weather);
            h.shine = 0.22;
            h.sharpness = 5;
            h.mirror = 0.55;
        }
        double plank = level * 9;
        h.scaleAlbedo(seam(plank, 0.035));
        double from = plank - Noise.floor(plank) - 0.5;
        h.ny += 0.10 * from;
        double n = 1 / Solid.length(h.nx, h.ny, h.nz);
        h.nx *= n;
        h.ny *= n;
        h.nz *= n;
    }

    /** Darkens the seams of boards one unit wide. */
    static double seam(double across, double gap) {
        double cell = across - Noise.floor(across);
        double from = Math.min(cell, 1 - cell);
        return 0.42 + 0.58 * Noise.step(gap * 0.3, gap * 1.4, from);
    }
}
