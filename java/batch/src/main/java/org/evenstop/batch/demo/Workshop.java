// SPDX-License-Identifier: Apache-2.0
package org.evenstop.batch.demo;

import java.util.ArrayList;
import java.util.List;

/** Inside the shed: plank walls, a bench, a dinghy on trestles, someone standing before the window that gives all the light. */
final class Workshop extends World {
    private static final int FLOOR = 0;
    private static final int WALL = 1;
    private static final int CEILING = 2;
    private static final int BARS = 3;
    private static final int BENCH = 4;
    private static final int TIN = 5;
    private static final int ROPE = 6;
    private static final int STEEL = 7;
    private static final int OUTSIDE = 8;
    private static final int BOAT = 20;
    private static final int PERSON = 30;

    private static final double SIDE = 3.2;
    private static final double HEIGHT = 2.9;
    private static final double BACK = 6.4;
    private static final double WINDOW_X = 0.15;
    private static final double WINDOW_Y = 1.68;
    private static final double WINDOW_HALF_X = 1.30;
    private static final double WINDOW_HALF_Y = 0.66;

    private final Sky outside;
    private static final Boat DINGHY = Boat.facing(-2.05, 0.62, 4.3, 0.15, -1, 1.25, 0.55, 0.52, false, false, 0.50, 0.47, 0.38, BOAT);
    private static final Person PERSON_AT_WINDOW = new Person(0.36, 1.53, 1.50, -0.45, -1, Patches.lightSkin(), Person.Hair.KNITTED_CAP, PERSON);

    Workshop(Sky outside) {
        super(indoors(), window(), HEIGHT, 12, 0.8, parts());
        this.outside = outside;
    }

    /** First of the materials of the person at the window. */
    static int personMaterial() {
        return PERSON;
    }

    /** Indoors there is no sun; what the walls throw back stands in for the sky. */
    private static Sky indoors() {
        return Sky.within(new double[] {0.22, 0.21, 0.195}, new double[] {0.19, 0.165, 0.135});
    }

    private static double[][] parts() {
        return new double[][] {PERSON_AT_WINDOW.box(), DINGHY.box(), around(WINDOW_X, WINDOW_Y, BACK - 0.1, WINDOW_HALF_X + 0.2, WINDOW_HALF_Y + 0.2, 0.3),
            around(2.35, 0.62, 4.3, 0.8, 0.64, 1.95), around(-2.05, 0.32, 4.3, 0.65, 0.33, 1.0), around(-SIDE + 0.09, 1.9, 4.4, 0.14, 0.33, 0.33),
            around(0, HEIGHT - 0.12, 2.8, SIDE, 0.13, 3.1)};
    }

    private static List<Lamp> window() {
        List<Lamp> list = new ArrayList<>();
        for (int i = 0; i < 4; i++) {
            double x = WINDOW_X + (i % 2 == 0 ? -0.68 : 0.68);
            double y = WINDOW_Y + (i < 2 ? 0.34 : -0.34);
            list.add(new Lamp(x, y, BACK - 0.12, 1.3, 1.4, 1.5));
        }
        return list;
    }

    @Override
    double lampShare(Lamp lamp, double dx, double dy, double dz) {
        // A window sends light inwards only, by the cosine of the angle (Lambert).
        return Math.max(0, -dz);
    }

    @Override
    double plane(Hit h, double ox, double oy, double oz, double dx, double dy, double dz) {
        double side = dx > 0 ? (SIDE - ox) / dx : dx < 0 ? (-SIDE - ox) / dx : NOTHING;
        double level = dy > 0 ? (HEIGHT - oy) / dy : dy < 0 ? -oy / dy : NOTHING;
        double end = dz > 0 ? (BACK - oz) / dz : dz < 0 ? (-1 - oz) / dz : NOTHING;
        h.nx = 0;
        h.ny = 0;
        h.nz = 0;
        if (side < level && side < end) {
            h.nx = dx > 0 ? -1 : 1;
            h.material = WALL;
            return side;
        }
        if (level < end) {
            h.ny = dy > 0 ? -1 : 1;
            h.material = dy > 0 ? CEILING : FLOOR;
            return level;
        }
        h.nz = dz > 0 ? -1 : 1;
        double x = ox + end * dx - WINDOW_X;
        double y = oy + end * dy - WINDOW_Y;
        h.material = dz > 0 && Math.abs(x) < WINDOW_HALF_X && Math.abs(y) < WINDOW_HALF_Y ? OUTSIDE : WALL;
        return end;
    }

    @Override
    void probe(Hit h, double x, double y, double z) {
        int parts = h.parts;
        if ((parts & 1) != 0) {
            PERSON_AT_WINDOW.probe(h, x, y, z);
        }
        if ((parts & 2) != 0) {
            DINGHY.probe(h, x, y, z);
        }
        if ((parts & 4) != 0) {
            windowFrame(h, x, y, z);
        }
        if ((parts & 8) != 0) {
            bench(h, x, y, z);
        }
        if ((parts & 16) != 0) {
            double sx = Math.abs(x + 2.05);
            h.offer(Math.min(Solid.box(sx, y - 0.58, Math.abs(z - 4.3) - 0.75, 0.55, 0.04, 0.05, 0.008),
                Solid.rod(sx, y, Math.abs(z - 4.3), 0.42, 0.56, 0.75, 0.55, 0, 0.9, 0.025, 0.025)), BENCH);
        }
        if ((parts & 32) != 0) {
            double hx = z - 4.4;
            double coil = Solid.ring(hx, x + SIDE - 0.06, y - 1.9, 0.26, 0.03);
            h.offer(Math.min(coil, Solid.ring(hx - 0.03, x + SIDE - 0.10, y - 1.87, 0.24, 0.03)), ROPE);
        }
        if ((parts & 64) != 0) {
            h.offer(Solid.box(x, y - HEIGHT + 0.12, z - 1.4 * Noise.floor(Noise.clamp(z, 0.5, 6.2) / 1.4 + 0.5), SIDE, 0.11, 0.06, 0.01), BENCH);
        }
    }

    private static void windowFrame(Hit h, double x, double y, double z) {
        double wx = Math.abs(x - WINDOW_X);
        double wy = Math.abs(y - WINDOW_Y);
        double wz = z - BACK;
        double frame = Math.max(Solid.box(wx, wy, wz, WINDOW_HALF_X + 0.09, WINDOW_HALF_Y + 0.09, 0.055, 0.01),
            -Solid.box(wx, wy, wz, WINDOW_HALF_X, WINDOW_HALF_Y, 0.2, 0));
        double uprights = Solid.box(wx - WINDOW_HALF_X / 3, wy, wz, 0.020, WINDOW_HALF_Y, 0.03, 0.004);
        double across = Solid.box(wx, wy, wz, WINDOW_HALF_X, 0.020, 0.03, 0.004);
        double sill = Solid.box(wx, y - WINDOW_Y + WINDOW_HALF_Y + 0.08, wz + 0.12, WINDOW_HALF_X + 0.16, 0.022, 0.15, 0.008);
        h.offer(Math.min(Math.min(frame, uprights), Math.min(across, sill)), BARS);
        h.offer(tins(x - WINDOW_X, y - WINDOW_Y + WINDOW_HALF_Y + 0.058, wz + 0.16), TIN);
    }

    private static void bench(Hit h, double x, double y, double z) {
        double top = Solid.box(x - 2.35, y - 0.90, z - 4.3, 0.75, 0.045, 1.9, 0.01);
        double legs = Solid.box(Math.abs(x - 2.35) - 0.62, y - 0.45, Math.abs(z - 4.3) - 1.6, 0.05, 0.45, 0.05, 0.006);
        double board = Solid.box(x - 2.25, y - 0.965, z - 4.9, 0.08, 0.022, 0.30, 0.008);
        h.offer(Math.min(top, Math.min(legs, board)), BENCH);
        h.offer(Math.min(Solid.box(x - 1.85, y - 1.02, z - 3.1, 0.06, 0.075, 0.14, 0.02),
            Solid.rod(x, y, z, 1.70, 1.02, 2.9, 1.70, 1.02, 3.2, 0.016, 0.016)), STEEL);
        h.offer(Math.min(Solid.cylinder(x - 2.2, y - 1.04, z - 3.9, 0.075, 0.10), Solid.cylinder(x - 2.55, y - 1.08, z - 4.2, 0.10, 0.14)), TIN);
    }

    private static double tins(double x, double y, double z) {
        double a = Solid.cylinder(x + 0.95, y - 0.085, z, 0.06, 0.085);
        double b = Solid.cylinder(x + 0.78, y - 0.06, z + 0.02, 0.05, 0.06);
        double c = Solid.cylinder(x - 1.02, y - 0.11, z, 0.045, 0.11);
        return Math.min(a, Math.min(b, c));
    }

    @Override
    boolean surface(Hit h) {
        if (h.material >= PERSON) {
            PERSON_AT_WINDOW.surface(h);
            return true;
        }
        if (h.material >= BOAT) {
            DINGHY.surface(h);
            return true;
        }
        switch (h.material) {
            case OUTSIDE -> {
                view(h);
                return false;
            }
            case FLOOR -> boards(h, h.x, h.z, 0.20, 0.14, 0.085);
            case WALL -> {
                if (Math.abs(h.nx) > 0.5) {
                    boards(h, h.y, h.z, 0.30, 0.225, 0.15);
                } else {
                    boards(h, h.y, h.x, 0.30, 0.225, 0.15);
                }
            }
            case CEILING -> boards(h, h.x, h.z, 0.22, 0.17, 0.12);
            case BARS -> {
                h.albedo(0.62, 0.60, 0.54);
                h.scaleAlbedo(0.75 + 0.4 * Noise.fractal(h.x * 12, h.y * 12, h.z * 12, 3, 271));
            }
            case TIN -> {
                int which = Noise.floor(h.x * 7);
                h.albedo(0.15 + 0.45 * Noise.unit(which, 1, 273), 0.12 + 0.3 * Noise.unit(which, 2, 273), 0.08 + 0.3 * Noise.unit(which, 3, 273));
                h.shine = 0.6;
                h.sharpness = 5;
            }
            case ROPE -> {
                h.albedo(0.48, 0.38, 0.24);
                h.scaleAlbedo(0.6 + 0.6 * Noise.at(h.z * 60, h.y * 60, 275));
            }
            case STEEL -> {
                h.albedo(0.12, 0.125, 0.13);
                h.shine = 0.8;
                h.sharpness = 5;
            }
            default -> boards(h, h.x * 1.3, h.z, 0.36, 0.25, 0.14);
        }
        return true;
    }

    private static void boards(Hit h, double across, double along, double r, double g, double b) {
        double cell = across / 0.17;
        int board = Noise.floor(cell);
        double grain = Noise.fractal(cell * 7, along * 1.6 + board * 3.1, 5, 281);
        h.albedo(r, g, b);
        h.scaleAlbedo((0.72 + 0.45 * Noise.unit(board, 1, 283)) * Boat.seam(cell, 0.05) * (0.62 + 0.76 * grain));
        h.shine = 0.05;
        h.mirror = 0.10;
    }

    /** The harbour through the glass: sky, hills and a strip of water. */
    private void view(Hit h) {
        double dx = h.dx;
        double dy = h.dy;
        double dz = h.dz;
        if (dy > -0.006) {
            outside.look(h, dx, dy + 0.006, dz);
        } else {
            double ripple = Noise.fractal(dx / -dy * 3, dz / -dy * 1.2, 4, 291) - 0.5;
            outside.look(h, dx, Noise.clamp(-dy + 0.35 * ripple, 0.03, 1), dz);
            double share = 0.62 + 1.1 * dy;
            h.light(h.lightR * share + 0.01, h.lightG * share + 0.03, h.lightB * share + 0.035);
        }
        // The glass is not clean.
        double film = 0.90 + 0.10 * Noise.fractal(h.x * 3, h.y * 3, 4, 293);
        h.light(h.lightR * film, h.lightG * film, h.lightB * film);
    }
}
