// SPDX-License-Identifier: Apache-2.0
package org.evenstop.batch.demo;

/** Signed distances in metres (negative inside) from a point to simple solids centred on the origin, and ways to join them. */
final class Solid {
    private Solid() {
    }

    static double length(double x, double y) {
        return Math.sqrt(x * x + y * y);
    }

    static double length(double x, double y, double z) {
        return Math.sqrt(x * x + y * y + z * z);
    }

    static double sphere(double x, double y, double z, double radius) {
        return length(x, y, z) - radius;
    }

    /** First-order distance to an ellipsoid with half axes a, b, c: exact on the surface, a fair step elsewhere. */
    static double ellipsoid(double x, double y, double z, double a, double b, double c) {
        double u = x / a;
        double v = y / b;
        double w = z / c;
        double scaled = length(u, v, w);
        double gradient = length(u / a, v / b, w / c);
        return gradient < 1e-9 ? -Math.min(a, Math.min(b, c)) : scaled * (scaled - 1) / gradient;
    }

    static double box(double x, double y, double z, double a, double b, double c, double rounding) {
        double u = Math.abs(x) - a + rounding;
        double v = Math.abs(y) - b + rounding;
        double w = Math.abs(z) - c + rounding;
        return length(Math.max(u, 0), Math.max(v, 0), Math.max(w, 0)) + Math.min(Math.max(u, Math.max(v, w)), 0) - rounding;
    }

    /** Upright cylinder. */
    static double cylinder(double x, double y, double z, double radius, double halfHeight) {
        double u = length(x, z) - radius;
        double v = Math.abs(y) - halfHeight;
        return Math.min(Math.max(u, v), 0) + length(Math.max(u, 0), Math.max(v, 0));
    }

    /** Ring lying flat. */
    static double ring(double x, double y, double z, double radius, double thickness) {
        return length(length(x, z) - radius, y) - thickness;
    }

    /** Rod with round ends from one point to another, radius going from {@code r0} to {@code r1}. */
    static double rod(double x, double y, double z, double ax, double ay, double az, double bx, double by, double bz, double r0, double r1) {
        double px = x - ax;
        double py = y - ay;
        double pz = z - az;
        double qx = bx - ax;
        double qy = by - ay;
        double qz = bz - az;
        double t = Noise.clamp((px * qx + py * qy + pz * qz) / (qx * qx + qy * qy + qz * qz), 0, 1);
        return length(px - t * qx, py - t * qy, pz - t * qz) - Noise.mix(r0, r1, t);
    }

    /** Union with a fillet of about {@code blend} metres (polynomial smooth minimum; common practice, no source). */
    static double join(double a, double b, double blend) {
        double h = Math.max(blend - Math.abs(a - b), 0) / blend;
        return Math.min(a, b) - h * h * blend * 0.25;
    }

    /** {@code a} without {@code b}, the rim rounded. */
    static double cut(double a, double b, double blend) {
        return -join(-a, b, blend);
    }
}
