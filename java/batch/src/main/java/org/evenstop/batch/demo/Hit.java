// SPDX-License-Identifier: Apache-2.0
package org.evenstop.batch.demo;

/** Scratch of one thread while it follows a ray: what is nearest, what was hit, how its surface looks, and the light that comes back. */
final class Hit {
    /** Distance to the nearest solid at the probed point, and its material. */
    double nearest;
    int material;
    /** Bit per part of the set that is worth asking, and where along the ray the first of them begins and the last ends. */
    int parts;
    double enter;
    double leave;
    /** Material the ray ended on, −1 for the sky: tells one thing from the next at edges. */
    int seen;

    /** Point hit, unit normal, unit direction of travel, distance from the eye. */
    double x;
    double y;
    double z;
    double nx;
    double ny;
    double nz;
    double dx;
    double dy;
    double dz;
    double t;

    /** Albedo per channel; highlight strength and sharpness (2^sharpness lobe); how far light wraps past the terminator. */
    double r;
    double g;
    double b;
    double shine;
    int sharpness;
    double wrap;
    /** Least share of the sky's light in a hollow: skin lets some through. */
    double fill;
    /** Share of the surroundings mirrored at grazing angles. */
    double mirror;
    /** Own light. */
    double glowR;
    double glowG;
    double glowB;

    /** Scene light towards the eye. */
    double lightR;
    double lightG;
    double lightB;

    void begin() {
        nearest = 1e9;
        material = -1;
    }

    void offer(double distance, int what) {
        if (distance < nearest) {
            nearest = distance;
            material = what;
        }
    }

    void albedo(double red, double green, double blue) {
        r = red;
        g = green;
        b = blue;
    }

    void scaleAlbedo(double factor) {
        r *= factor;
        g *= factor;
        b *= factor;
    }

    void blendAlbedo(double red, double green, double blue, double share) {
        r += (red - r) * share;
        g += (green - g) * share;
        b += (blue - b) * share;
    }

    void light(double red, double green, double blue) {
        lightR = red;
        lightG = green;
        lightB = blue;
    }

    void blendLight(double red, double green, double blue, double share) {
        lightR += (red - lightR) * share;
        lightG += (green - lightG) * share;
        lightB += (blue - lightB) * share;
    }

    void matt() {
        shine = 0;
        sharpness = 4;
        wrap = 0;
        fill = 0.06;
        mirror = 0;
        glowR = 0;
        glowG = 0;
        glowB = 0;
    }

    /** Tilts the normal by the slope of a solid noise: grain, pores, ripples. */
    void roughen(double scale, double strength, int seed) {
        double here = Noise.at(x * scale, y * scale, z * scale, seed);
        double sx = Noise.at(x * scale + 0.3, y * scale, z * scale, seed) - here;
        double sy = Noise.at(x * scale, y * scale + 0.3, z * scale, seed) - here;
        double sz = Noise.at(x * scale, y * scale, z * scale + 0.3, seed) - here;
        nx -= strength * sx;
        ny -= strength * sy;
        nz -= strength * sz;
        double n = 1 / Solid.length(nx, ny, nz);
        nx *= n;
        ny *= n;
        nz *= n;
    }
}
