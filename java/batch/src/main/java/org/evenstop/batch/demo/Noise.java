// SPDX-License-Identifier: Apache-2.0
package org.evenstop.batch.demo;

/**
 * Seeded lattice noise for textures: stateless, so any thread may ask for any point, and built from integer hashing and plain
 * IEEE arithmetic alone, so every machine draws the same picture. (Value noise and fractal sums: common practice, no source.)
 */
final class Noise {
    private Noise() {
    }

    /** Well mixed 32 bits for a lattice point. */
    static int hash(int x, int y, int z) {
        int h = x * 0x9E3779B1 ^ y * 0x85EBCA77 ^ z * 0xC2B2AE3D;
        h ^= h >>> 15;
        h *= 0x2C1B3C6D;
        h ^= h >>> 12;
        h *= 0x297A2D39;
        return h ^ h >>> 15;
    }

    /** Uniform in 0..1 for a lattice point. */
    static double unit(int x, int y, int z) {
        return (hash(x, y, z) >>> 8) * 0x1p-24;
    }

    static int floor(double v) {
        int i = (int) v;
        return v < i ? i - 1 : i;
    }

    /** Smooth noise in 0..1 with one feature a unit. */
    static double at(double x, double y, int seed) {
        int ix = floor(x);
        int iy = floor(y);
        double fx = fade(x - ix);
        double fy = fade(y - iy);
        double top = mix(unit(ix, iy, seed), unit(ix + 1, iy, seed), fx);
        double bottom = mix(unit(ix, iy + 1, seed), unit(ix + 1, iy + 1, seed), fx);
        return mix(top, bottom, fy);
    }

    static double at(double x, double y, double z, int seed) {
        int iz = floor(z);
        double fz = fade(z - iz);
        return mix(at(x, y, seed + iz * 7919), at(x, y, seed + (iz + 1) * 7919), fz);
    }

    /** Sum of octaves, each twice as fine and half as strong; 0..1 with mean 0.5. */
    static double fractal(double x, double y, int octaves, int seed) {
        double sum = 0;
        double weight = 0.5;
        double total = 0;
        for (int i = 0; i < octaves; i++) {
            sum += weight * at(x, y, seed + i);
            total += weight;
            weight *= 0.5;
            // Turned a little each time, so that the lattices of the octaves do not line up.
            double turned = 1.6 * x + 1.2 * y;
            y = -1.2 * x + 1.6 * y + 3.7;
            x = turned + 1.3;
        }
        return sum / total;
    }

    static double fractal(double x, double y, double z, int octaves, int seed) {
        double sum = 0;
        double weight = 0.5;
        double total = 0;
        for (int i = 0; i < octaves; i++) {
            sum += weight * at(x, y, z, seed + i);
            total += weight;
            weight *= 0.5;
            double turned = 1.6 * x + 1.2 * y;
            y = -1.2 * x + 1.6 * y + 3.7;
            x = turned + 1.3;
            z = 2.03 * z + 0.7;
        }
        return sum / total;
    }

    static double mix(double a, double b, double t) {
        return a + (b - a) * t;
    }

    static double clamp(double v, double low, double high) {
        return v < low ? low : v > high ? high : v;
    }

    /** 0 below {@code from}, 1 above {@code to}, smooth between. */
    static double step(double from, double to, double v) {
        return fade(clamp((v - from) / (to - from), 0, 1));
    }

    /** Sine of {@code turns} full turns, within 0.002: the same bits everywhere, which Math.sin does not promise. */
    static double sine(double turns) {
        double t = turns - floor(turns);
        double half = t < 0.5 ? t : t - 0.5;
        double arch = 16 * half * (0.5 - half);
        // Bhaskara's rational arch: 4p / (5 - p) with p = 4u(1-u) on the half turn.
        double s = 4 * arch / (5 - arch);
        return t < 0.5 ? s : -s;
    }

    /** {@code base} to a power of two, by squaring: sharp lobes without Math.pow. */
    static double powerOfTwo(double base, int doublings) {
        double v = base;
        for (int i = 0; i < doublings; i++) {
            v *= v;
        }
        return v;
    }

    private static double fade(double t) {
        return t * t * (3 - 2 * t);
    }
}
