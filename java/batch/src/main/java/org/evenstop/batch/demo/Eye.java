// SPDX-License-Identifier: Apache-2.0
package org.evenstop.batch.demo;

/** Where a picture is taken from: position, unit axes, and half the width and height of the view one metre ahead. */
record Eye(double x, double y, double z, double[] ahead, double[] right, double[] up, double halfWidth, double halfHeight) {

    /** Looks at a point, upright; {@code halfWidth} metres to each side at one metre; {@code aspect} is width over height. */
    static Eye at(double x, double y, double z, double lookX, double lookY, double lookZ, double halfWidth, double aspect) {
        double ax = lookX - x;
        double ay = lookY - y;
        double az = lookZ - z;
        double n = 1 / Solid.length(ax, ay, az);
        ax *= n;
        ay *= n;
        az *= n;
        double m = 1 / Solid.length(ax, az);
        double rx = az * m;
        double rz = -ax * m;
        double[] up = {-ay * ax * m, Solid.length(ax, az), -ay * az * m};
        return new Eye(x, y, z, new double[] {ax, ay, az}, new double[] {rx, 0, rz}, up, halfWidth, halfWidth / aspect);
    }

    /** Column of a direction, 0 at the left edge and 1 at the right. */
    double column(double dx, double dy, double dz) {
        double depth = dx * ahead[0] + dy * ahead[1] + dz * ahead[2];
        return 0.5 + 0.5 * (dx * right[0] + dy * right[1] + dz * right[2]) / (depth * halfWidth);
    }

    /** Row of a direction, 0 at the top edge and 1 at the bottom. */
    double row(double dx, double dy, double dz) {
        double depth = dx * ahead[0] + dy * ahead[1] + dz * ahead[2];
        return 0.5 - 0.5 * (dx * up[0] + dy * up[1] + dz * up[2]) / (depth * halfHeight);
    }

    /** Light from a point of the picture, both coordinates 0..1 from the top left, into {@code h.light}. */
    void look(World world, Hit h, double column, double row) {
        double u = (2 * column - 1) * halfWidth;
        double v = (1 - 2 * row) * halfHeight;
        double dx = ahead[0] + u * right[0] + v * up[0];
        double dy = ahead[1] + u * right[1] + v * up[1];
        double dz = ahead[2] + u * right[2] + v * up[2];
        double n = 1 / Solid.length(dx, dy, dz);
        world.look(h, x, y, z, dx * n, dy * n, dz * n);
    }
}
