// SPDX-License-Identifier: Apache-2.0
package org.evenstop.batch.demo;

import java.util.List;

/**
 * A set that can be looked at: solids given by their distance, planes found directly, one sun, a sky and a few lamps. Follows rays and lights
 * what they meet. Instances are immutable; all scratch is in {@link Hit}. (Sphere tracing: J. C. Hart, "Sphere tracing: a geometric method for the
 * antialiased ray tracing of implicit surfaces", The Visual Computer 12, 1996. Half-vector highlights: J. F. Blinn, SIGGRAPH 1977.)
 */
abstract class World {
    /** A point light: its light at one metre. */
    record Lamp(double x, double y, double z, double red, double green, double blue) {
    }

    /** Taken off a lamp's inverse square, so that it ends 16 m away instead of being followed for ever. */
    private static final double FADED = 1.0 / (16 * 16);
    static final double NOTHING = 1e8;

    final Sky sky;
    private final List<Lamp> lamps;
    /** No solid reaches above this height, and none lies farther from the eye than {@code reach}. */
    private final double top;
    private final double reach;
    /** How far a surface looks for others that take its sky away, in metres. */
    private final double closeness;

    /** Box of each part of the set: least x, y, z, then greatest. At most 31. */
    private final double[][] parts;

    World(Sky sky, List<Lamp> lamps, double top, double reach, double closeness, double[][] parts) {
        this.parts = parts;
        this.sky = sky;
        this.lamps = List.copyOf(lamps);
        this.top = top;
        this.reach = reach;
        this.closeness = closeness;
    }

    /** A box by its centre and half size. */
    static double[] around(double x, double y, double z, double a, double b, double c) {
        return new double[] {x - a, y - b, z - c, x + a, y + b, z + c};
    }

    /** Notes in {@code h} which parts a ray passes within {@code margin} of, and from where to where. */
    final void findParts(Hit h, double ox, double oy, double oz, double dx, double dy, double dz, double margin) {
        double ix = 1 / dx;
        double iy = 1 / dy;
        double iz = 1 / dz;
        int found = 0;
        double enter = NOTHING;
        double leave = 0;
        for (int i = 0; i < parts.length; i++) {
            double[] p = parts[i];
            double x1 = (p[0] - margin - ox) * ix;
            double x2 = (p[3] + margin - ox) * ix;
            double y1 = (p[1] - margin - oy) * iy;
            double y2 = (p[4] + margin - oy) * iy;
            double z1 = (p[2] - margin - oz) * iz;
            double z2 = (p[5] + margin - oz) * iz;
            double from = Math.max(Math.max(Math.min(x1, x2), Math.min(y1, y2)), Math.max(Math.min(z1, z2), 0));
            double to = Math.min(Math.min(Math.max(x1, x2), Math.max(y1, y2)), Math.max(z1, z2));
            if (from <= to) {
                found |= 1 << i;
                enter = Math.min(enter, from);
                leave = Math.max(leave, to);
            }
        }
        h.parts = found;
        h.enter = enter;
        h.leave = leave;
    }

    private void findPartsNear(Hit h, double x, double y, double z, double margin) {
        int found = 0;
        for (int i = 0; i < parts.length; i++) {
            double[] p = parts[i];
            if (x > p[0] - margin && x < p[3] + margin && y > p[1] - margin && y < p[4] + margin && z > p[2] - margin && z < p[5] + margin) {
                found |= 1 << i;
            }
        }
        h.parts = found;
    }

    /** Offers {@code h} the distance from a point of every solid whose part is in {@code h.parts}. */
    abstract void probe(Hit h, double x, double y, double z);

    /** Distance along a ray to the nearest plane, with its material and normal in {@code h}; {@link #NOTHING} for the open sky. */
    abstract double plane(Hit h, double ox, double oy, double oz, double dx, double dy, double dz);

    /** Gives the surface at {@code h.x, h.y, h.z} its looks. Returns false when it has set {@code h.light} itself. */
    abstract boolean surface(Hit h);

    /** Scene light that arrives at the eye from a direction, into {@code h.light}. */
    final void look(Hit h, double ox, double oy, double oz, double dx, double dy, double dz) {
        double far = plane(h, ox, oy, oz, dx, dy, dz);
        int planeMaterial = h.material;
        double planeX = h.nx;
        double planeY = h.ny;
        double planeZ = h.nz;
        h.dx = dx;
        h.dy = dy;
        h.dz = dz;
        findParts(h, ox, oy, oz, dx, dy, dz, 0.02);
        double limit = Math.min(Math.min(far, reach), h.leave);
        double t = Math.max(0.02, h.enter);
        for (int i = 0; i < 140 && t < limit; i++) {
            double y = oy + t * dy;
            if (y > top && dy >= 0) {
                break;
            }
            h.begin();
            probe(h, ox + t * dx, y, oz + t * dz);
            if (h.nearest < 0.00035 * t) {
                h.t = t;
                h.x = ox + t * dx;
                h.y = y;
                h.z = oz + t * dz;
                int material = h.material;
                normal(h, 0.0006 * t + 0.0002);
                h.material = material;
                finish(h);
                return;
            }
            t += h.nearest * 0.92;
        }
        if (far < NOTHING) {
            h.t = far;
            h.x = ox + far * dx;
            h.y = oy + far * dy;
            h.z = oz + far * dz;
            h.nx = planeX;
            h.ny = planeY;
            h.nz = planeZ;
            h.material = planeMaterial;
            finish(h);
        } else {
            h.seen = -1;
            sky.look(h, dx, dy, dz);
        }
    }

    private void finish(Hit h) {
        h.matt();
        h.seen = h.material;
        if (surface(h)) {
            illuminate(h);
            sky.haze(h, h.t);
        }
    }

    private void normal(Hit h, double e) {
        double a = distance(h, h.x + e, h.y - e, h.z - e);
        double b = distance(h, h.x - e, h.y - e, h.z + e);
        double c = distance(h, h.x - e, h.y + e, h.z - e);
        double d = distance(h, h.x + e, h.y + e, h.z + e);
        double x = a - b - c + d;
        double y = -a - b + c + d;
        double z = -a + b - c + d;
        double n = 1 / Math.max(1e-12, Solid.length(x, y, z));
        h.nx = x * n;
        h.ny = y * n;
        h.nz = z * n;
    }

    final double distance(Hit h, double x, double y, double z) {
        h.begin();
        probe(h, x, y, z);
        return h.nearest;
    }

    /** Lights the surface in {@code h}: sun with a soft shadow, sky and ground by the normal, lamps, highlights. */
    final void illuminate(Hit h) {
        double px = h.x + h.nx * (0.0015 + 0.0008 * h.t);
        double py = h.y + h.ny * (0.0015 + 0.0008 * h.t);
        double pz = h.z + h.nz * (0.0015 + 0.0008 * h.t);
        double open = openness(h, px, py, pz);
        double up = 0.5 + 0.5 * h.ny;
        double red = h.r * open * Noise.mix(sky.below[0], sky.above[0], up);
        double green = h.g * open * Noise.mix(sky.below[1], sky.above[1], up);
        double blue = h.b * open * Noise.mix(sky.below[2], sky.above[2], up);
        double facing = h.nx * sky.sunX + h.ny * sky.sunY + h.nz * sky.sunZ;
        if (sky.isDay() && facing > -h.wrap) {
            double free = unshadowed(h, px, py, pz, sky.sunX, sky.sunY, sky.sunZ, 30, 22);
            if (free > 0) {
                // Light that wandered under the skin comes out redder.
                red += h.r * sky.sun[0] * free * wrapped(facing, h.wrap);
                green += h.g * sky.sun[1] * free * wrapped(facing, h.wrap * 0.45);
                blue += h.b * sky.sun[2] * free * wrapped(facing, h.wrap * 0.3);
                if (h.shine > 0) {
                    double lobe = highlight(h, sky.sunX, sky.sunY, sky.sunZ) * free * Noise.step(0, 0.1, facing);
                    red += lobe * sky.sun[0];
                    green += lobe * sky.sun[1];
                    blue += lobe * sky.sun[2];
                }
            }
        }
        for (int i = 0; i < lamps.size(); i++) {
            Lamp lamp = lamps.get(i);
            double lx = lamp.x - px;
            double ly = lamp.y - py;
            double lz = lamp.z - pz;
            double away = Solid.length(lx, ly, lz);
            lx /= away;
            ly /= away;
            lz /= away;
            double lampFacing = h.nx * lx + h.ny * ly + h.nz * lz;
            double share = lampShare(lamp, -lx, -ly, -lz) * Math.max(0, 1 / (away * away + 0.02) - FADED);
            if (lampFacing > -h.wrap && share > 0) {
                double free = unshadowed(h, px, py, pz, lx, ly, lz, away - 0.16, 9);
                double lobe = h.shine > 0 && lampFacing > 0 ? highlight(h, lx, ly, lz) : 0;
                red += free * share * lamp.red * (h.r * wrapped(lampFacing, h.wrap) + lobe);
                green += free * share * lamp.green * (h.g * wrapped(lampFacing, h.wrap * 0.45) + lobe);
                blue += free * share * lamp.blue * (h.b * wrapped(lampFacing, h.wrap * 0.3) + lobe);
            }
        }
        if (h.mirror > 0) {
            double along = h.dx * h.nx + h.dy * h.ny + h.dz * h.nz;
            double graze = 1 - Math.min(1, Math.abs(along));
            double share = h.mirror * (0.06 + 0.94 * graze * graze * graze * graze) * open;
            sky.plain(h, h.dx - 2 * along * h.nx, h.dy - 2 * along * h.ny, h.dz - 2 * along * h.nz);
            red += h.lightR * share;
            green += h.lightG * share;
            blue += h.lightB * share;
        }
        h.light(red + h.glowR, green + h.glowG, blue + h.glowB);
    }

    /** How much of a lamp's light goes in a direction; 1 all round unless the set has shades or a window. */
    double lampShare(Lamp lamp, double dx, double dy, double dz) {
        return 1;
    }

    private static double wrapped(double facing, double wrap) {
        double v = (facing + wrap) / (1 + wrap);
        return v <= 0 ? 0 : wrap == 0 ? v : v * (0.55 * v + 0.45);
    }

    private static double highlight(Hit h, double lx, double ly, double lz) {
        double hx = lx - h.dx;
        double hy = ly - h.dy;
        double hz = lz - h.dz;
        double n = Solid.length(hx, hy, hz);
        double cosine = (hx * h.nx + hy * h.ny + hz * h.nz) / n;
        return cosine <= 0 ? 0 : h.shine * Noise.powerOfTwo(cosine, h.sharpness);
    }

    /** 1 in full light, 0 in shadow, between in the half shadow; {@code hardness} is about one over the light's angular size. */
    private double unshadowed(Hit h, double px, double py, double pz, double lx, double ly, double lz, double until, double hardness) {
        findParts(h, px, py, pz, lx, ly, lz, 0.2);
        if (h.parts == 0) {
            return 1;
        }
        double free = 1;
        double t = Math.max(0.012, h.enter);
        double end = Math.min(until, h.leave);
        int material = h.material;
        for (int i = 0; i < 40 && t < end; i++) {
            double y = py + t * ly;
            if (y > top) {
                break;
            }
            double d = distance(h, px + t * lx, y, pz + t * lz);
            free = Math.min(free, 0.5 + 0.5 * hardness * d / t);
            if (free <= 0) {
                break;
            }
            t += Noise.clamp(d, 0.006 + 0.012 * t, 1.2);
        }
        h.material = material;
        free = Noise.clamp(free, 0, 1);
        return free * free * (3 - 2 * free);
    }

    private double openness(Hit h, double px, double py, double pz) {
        findPartsNear(h, px, py, pz, closeness);
        if (h.parts == 0) {
            return 1;
        }
        double taken = 0;
        double weight = 1;
        int material = h.material;
        for (int i = 1; i <= 4; i++) {
            double reachNow = closeness * (0.08 + 0.23 * i * i * 0.25);
            double d = distance(h, px + reachNow * h.nx, py + reachNow * h.ny, pz + reachNow * h.nz);
            taken += weight * Noise.clamp(1 - d / reachNow, 0, 1);
            weight *= 0.72;
        }
        h.material = material;
        return Noise.clamp(1 - 0.42 * taken, h.fill, 1);
    }
}
