// SPDX-License-Identifier: Apache-2.0
package org.evenstop.batch.demo;

import java.util.List;

/** Someone close to the camera before a background drawn beforehand and thrown out of focus. */
final class Portrait extends World {
    private static final int PERSON = 0;

    private final Person person;
    private final LightCanvas background;
    private final Eye eye;

    Portrait(Sky sky, Person person, LightCanvas background, Eye eye) {
        super(sky, List.of(), 10, 4, 0.10, new double[][] {person.box()});
        this.person = person;
        this.background = background;
        this.eye = eye;
    }

    static int firstMaterial() {
        return PERSON;
    }

    @Override
    double plane(Hit h, double ox, double oy, double oz, double dx, double dy, double dz) {
        h.material = -1;
        return NOTHING / 2;
    }

    @Override
    void probe(Hit h, double x, double y, double z) {
        person.probe(h, x, y, z);
    }

    @Override
    boolean surface(Hit h) {
        if (h.material >= PERSON) {
            person.surface(h);
            return true;
        }
        double u = Noise.clamp(eye.column(h.dx, h.dy, h.dz), 0, 1) * (background.width() - 1.001);
        double v = Noise.clamp(eye.row(h.dx, h.dy, h.dz), 0, 1) * (background.height() - 1.001);
        int x = (int) u;
        int y = (int) v;
        int at = background.index(x, y);
        int below = at + 3 * background.width();
        double fx = u - x;
        double fy = v - y;
        float[] p = background.rgb();
        h.light(Noise.mix(Noise.mix(p[at], p[at + 3], fx), Noise.mix(p[below], p[below + 3], fx), fy),
            Noise.mix(Noise.mix(p[at + 1], p[at + 4], fx), Noise.mix(p[below + 1], p[below + 4], fx), fy),
            Noise.mix(Noise.mix(p[at + 2], p[at + 5], fx), Noise.mix(p[below + 2], p[below + 5], fx), fy));
        return false;
    }
}
