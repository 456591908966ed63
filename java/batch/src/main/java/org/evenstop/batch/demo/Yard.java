// SPDX-License-Identifier: Apache-2.0
package org.evenstop.batch.demo;

import java.util.ArrayList;
import java.util.List;

/** The boatyard out of doors: slip, shed, a boat on her cradle, jetty, moored boats, a test board. By day, or at dusk with its lamps lit. */
final class Yard extends World {
    private static final int CONCRETE = 0;
    private static final int SEA = 1;
    private static final int SHED = 2;
    private static final int ROOF = 3;
    private static final int BARREL = 4;
    private static final int CRATE = 5;
    private static final int BUOY = 6;
    private static final int JETTY = 7;
    private static final int POST = 8;
    private static final int ROPE = 9;
    private static final int BOARD = 10;
    private static final int CARD = 11;
    private static final int TRESTLE = 12;
    private static final int LANTERN = 13;
    private static final int BOATS = 20;

    private static final double SEA_LEVEL = -1.3;
    private static final double EDGE = 15.5;
    /** Test board: centre and half size, facing the slip camera. */
    static final double BOARD_X = -0.92;
    static final double BOARD_Y = 1.12;
    static final double BOARD_Z = 3.6;
    static final double BOARD_HALF_X = 0.46;
    static final double BOARD_HALF_Y = 0.155;
    /** Grey card, 18 %, just right of the board. */
    static final double CARD_X = -0.28;
    static final double CARD_HALF = 0.125;

    private static final double[][] LANTERNS = {{-1.6, 2.7, 8.6}, {5.0, 2.9, 5.9}, {4.2, 2.6, 13.6}, {8.0, 1.9, 24.0}, {8.0, 1.9, 33.0}};

    private static final int BOAT_COUNT = 5;
    /** Bits of the parts, in the order of {@link #parts}. */
    private static final int SHED_PART = 1 << BOAT_COUNT;
    private static final int CLUTTER_PART = SHED_PART << 1;
    private static final int COIL_PART = SHED_PART << 2;
    private static final int CRADLE_PART = SHED_PART << 3;
    private static final int JETTY_PART = SHED_PART << 4;
    private static final int FIRST_LANTERN_PART = SHED_PART << 5;

    private final Boat[] boats;

    Yard(Sky sky, boolean testBoard) {
        this(sky, testBoard, boats());
    }

    private Yard(Sky sky, boolean testBoard, Boat[] boats) {
        super(sky, sky.isDay() ? List.of() : lamps(), 9, 75, sky.isDay() ? 0.7 : 0.9, parts(boats, testBoard));
        this.boats = boats;
    }

    private static double[][] parts(Boat[] boats, boolean testBoard) {
        List<double[]> list = new ArrayList<>();
        for (Boat boat : boats) {
            list.add(boat.box());
        }
        list.add(around(-6.6, 2.3, 11.5, 3.75, 2.5, 3.5));
        list.add(around(-2.35, 0.45, 7.35, 1.05, 0.52, 1.1));
        list.add(around(0.75, 0.09, 6.0, 0.38, 0.11, 0.38));
        list.add(around(boats[0].x(), 0.7, boats[0].z(), 2.3, 0.75, 2.3));
        list.add(around(7.2, -0.55, 26, 1.1, 1.3, 11.6));
        for (double[] lamp : LANTERNS) {
            list.add(around(lamp[0], lamp[1] * 0.5, lamp[2], 0.22, lamp[1] * 0.5 + 0.25, 0.22));
        }
        if (testBoard) {
            list.add(around(-0.68, 0.65, 3.83, 0.8, 0.66, 0.36));
        }
        return list.toArray(new double[0][]);
    }

    private static Boat[] boats() {
        return new Boat[] {
            Boat.facing(2.0, 0.55, 8.4, -0.80, -0.60, 3.1, 1.12, 1.35, true, false, 0.035, 0.130, 0.155, BOATS),
            Boat.facing(-2.6, SEA_LEVEL - 0.35, 24, 0.9, 0.35, 2.6, 0.95, 1.05, false, true, 0.62, 0.60, 0.52, BOATS + Boat.COUNT),
            Boat.facing(3.6, SEA_LEVEL - 0.45, 34, -0.8, 0.5, 3.6, 1.25, 1.35, true, true, 0.31, 0.045, 0.035, BOATS + 2 * Boat.COUNT),
            Boat.facing(-13, SEA_LEVEL - 0.45, 44, 0.7, -0.5, 4.0, 1.3, 1.5, true, true, 0.03, 0.055, 0.13, BOATS + 3 * Boat.COUNT),
            Boat.facing(17.5, SEA_LEVEL - 0.45, 41, -0.4, 0.3, 3.6, 1.2, 1.4, false, true, 0.55, 0.42, 0.10, BOATS + 4 * Boat.COUNT)};
    }

    private static List<Lamp> lamps() {
        List<Lamp> list = new ArrayList<>();
        for (double[] at : LANTERNS) {
            list.add(new Lamp(at[0], at[1], at[2], 2.6, 1.5, 0.62));
        }
        return list;
    }

    @Override
    double plane(Hit h, double ox, double oy, double oz, double dx, double dy, double dz) {
        h.nx = 0;
        h.ny = 1;
        h.nz = 0;
        h.material = CONCRETE;
        if (dy >= -1e-4) {
            return NOTHING;
        }
        double t = -oy / dy;
        if (oz + t * dz < EDGE) {
            return t;
        }
        // The wall between ground and water is met where the ray crosses the edge above the sea.
        double wall = (EDGE - oz) / dz;
        double down = (SEA_LEVEL - oy) / dy;
        if (dz < 0 && wall < down && oy + wall * dy < 0) {
            h.ny = 0;
            h.nz = 1;
            return wall;
        }
        h.material = SEA;
        return down > 4000 ? NOTHING : down;
    }

    @Override
    void probe(Hit h, double x, double y, double z) {
        int parts = h.parts;
        for (int i = 0; i < BOAT_COUNT; i++) {
            if ((parts & 1 << i) != 0) {
                boats[i].probe(h, x, y, z);
            }
        }
        if ((parts & SHED_PART) != 0) {
            shed(h, x, y, z);
        }
        if ((parts & CLUTTER_PART) != 0) {
            clutter(h, x, y, z);
        }
        if ((parts & COIL_PART) != 0) {
            coil(h, x, y, z);
        }
        if ((parts & CRADLE_PART) != 0) {
            cradle(h, x, y, z);
        }
        if ((parts & JETTY_PART) != 0) {
            jetty(h, x, y, z);
        }
        for (int i = 0; i < LANTERNS.length; i++) {
            if ((parts & FIRST_LANTERN_PART << i) != 0) {
                lantern(h, LANTERNS[i], x, y, z);
            }
        }
        if ((parts & FIRST_LANTERN_PART << LANTERNS.length) != 0) {
            board(h, x, y, z);
        }
    }

    private static void shed(Hit h, double x, double y, double z) {
        double bx = x + 6.6;
        double bz = z - 11.5;
        double gable = (y - 2.7) * 0.80 + Math.abs(bz) * 0.60 - 1.75;
        double walls = Math.max(Solid.box(bx, y - 2.2, bz, 3.3, 2.4, 3.0, 0.01), gable);
        double door = Solid.box(bx - 3.3, y - 1.05, bz + 0.6, 0.25, 1.25, 1.05, 0.0);
        h.offer(Math.max(walls, -door), SHED);
        double slope = Math.max(Math.abs(gable - 0.06) - 0.06, Math.max(Math.abs(bx) - 3.65, Math.abs(bz) - 3.35));
        h.offer(Math.max(slope, 2.2 - y) * 0.9, ROOF);
        double frame = Math.max(Solid.box(bx - 3.34, y - 1.05, bz + 0.6, 0.04, 1.36, 1.16, 0.01),
            -Solid.box(bx - 3.3, y - 1.0, bz + 0.6, 0.3, 1.25, 1.05, 0));
        h.offer(frame, TRESTLE);
    }

    private static void clutter(Hit h, double x, double y, double z) {
        barrel(h, x + 2.85, y, z - 7.9);
        barrel(h, x + 2.15, y, z - 8.1);
        h.offer(Solid.box(x + 2.9, y - 0.21, z - 6.7, 0.36, 0.21, 0.27, 0.012), CRATE);
        double tx = 0.94 * (x + 2.85) - 0.34 * (z - 6.75);
        double tz = 0.34 * (x + 2.85) + 0.94 * (z - 6.75);
        h.offer(Solid.box(tx, y - 0.60, tz, 0.30, 0.18, 0.24, 0.012), CRATE);
        h.offer(Solid.sphere(x + 2.02, y - 0.27, z - 6.9, 0.27), BUOY);
        h.offer(Solid.sphere(x + 1.62, y - 0.19, z - 6.55, 0.19), BUOY);
    }

    private static void coil(Hit h, double x, double y, double z) {
        double coil = Math.min(Solid.ring(x - 0.75, y - 0.03, z - 6.0, 0.33, 0.032),
            Math.min(Solid.ring(x - 0.76, y - 0.09, z - 6.01, 0.31, 0.032), Solid.ring(x - 0.74, y - 0.15, z - 5.99, 0.33, 0.032)));
        h.offer(Math.min(coil, Solid.ring(x - 0.75, y - 0.03, z - 6.0, 0.25, 0.034)), ROPE);
    }

    /** Under the boat ashore: shores and two cross beams. */
    private void cradle(Hit h, double x, double y, double z) {
        Boat boat = boats[0];
        double ax = Math.abs(boat.localX(x, z));
        double az = Math.abs(boat.localZ(x, z) + 0.25) - 1.35;
        double beams = Solid.box(ax, y - 0.24, az, 1.25, 0.09, 0.10, 0.012);
        double shores = Solid.rod(ax, y, az, 1.22, 0.2, 0, 0.80, 1.32, 0, 0.055, 0.05);
        double blocks = Solid.box(ax, y - 0.42, az, 0.2, 0.12, 0.13, 0.01);
        double feet = Solid.box(ax - 1.0, y - 0.08, az, 0.18, 0.08, 0.16, 0.01);
        h.offer(Math.min(Math.min(beams, feet), Math.min(shores, blocks)), TRESTLE);
    }

    private static void barrel(Hit h, double x, double y, double z) {
        double bulge = 0.28 + 0.035 - 0.18 * (y - 0.43) * (y - 0.43);
        h.offer(Solid.cylinder(x, y - 0.43, z, bulge, 0.43) * 0.95 - 0.008, BARREL);
    }

    private static void jetty(Hit h, double x, double y, double z) {
        h.offer(Solid.box(x - 7.2, y + 0.12, z - 26, 0.95, 0.10, 11.5, 0.01), JETTY);
        double cell = 3.0;
        double along = z - cell * Noise.floor(Noise.clamp(z, 15, 37) / cell + 0.5);
        double across = Math.abs(x - 7.2) - 0.90;
        h.offer(Solid.cylinder(across, y + 0.55, along, 0.11, 1.2), POST);
    }

    private static void lantern(Hit h, double[] lamp, double x, double y, double z) {
        double lx = x - lamp[0];
        double lz = z - lamp[2];
        h.offer(Solid.cylinder(lx, y - lamp[1] * 0.5 + 0.1, lz, 0.045, lamp[1] * 0.5), POST);
        h.offer(Solid.sphere(lx, y - lamp[1], lz, 0.12), LANTERN);
        h.offer(Solid.cylinder(lx, y - lamp[1] - 0.13, lz, 0.19 - 0.6 * (y - lamp[1] - 0.13), 0.035) * 0.8, POST);
    }

    private static void board(Hit h, double x, double y, double z) {
        h.offer(Solid.box(x - BOARD_X, y - BOARD_Y, z - BOARD_Z - 0.012, BOARD_HALF_X, BOARD_HALF_Y, 0.012, 0.003), BOARD);
        h.offer(Solid.box(x - CARD_X, y - BOARD_Y, z - BOARD_Z - 0.012, CARD_HALF, BOARD_HALF_Y, 0.012, 0.002), CARD);
        double legs = Solid.rod(Math.abs(x - BOARD_X + 0.02), y, z, 0.05, BOARD_Y, BOARD_Z + 0.05, 0.42, 0, BOARD_Z + 0.10, 0.018, 0.018);
        legs = Math.min(legs, Solid.rod(x, y, z, BOARD_X, BOARD_Y, BOARD_Z + 0.06, BOARD_X, 0, BOARD_Z + 0.5, 0.018, 0.018));
        double ledge = Solid.box(x + 0.66, y - BOARD_Y + BOARD_HALF_Y + 0.014, z - BOARD_Z - 0.015, 0.56, 0.013, 0.03, 0.003);
        h.offer(Math.min(legs, ledge), TRESTLE);
    }

    @Override
    boolean surface(Hit h) {
        if (h.material >= BOATS) {
            boats[(h.material - BOATS) / Boat.COUNT].surface(h);
            if (h.y < SEA_LEVEL + 0.12) {
                h.scaleAlbedo(0.5);
            }
            return true;
        }
        switch (h.material) {
            case SEA -> {
                sea(h);
                return false;
            }
            case CONCRETE -> concrete(h);
            case SHED -> shedBoards(h);
            case ROOF -> {
                double sheet = Noise.sine(h.x * 5.5);
                h.albedo(0.17, 0.175, 0.18);
                h.blendAlbedo(0.20, 0.085, 0.04, 0.8 * Noise.step(0.5, 0.66, Noise.fractal(h.x * 1.6, h.z * 0.7, 5, 201)));
                h.scaleAlbedo(0.8 + 0.22 * sheet);
                h.shine = 0.1;
            }
            case BARREL -> {
                boolean hoop = Math.abs(h.y - 0.18) < 0.03 || Math.abs(h.y - 0.68) < 0.03;
                if (hoop) {
                    h.albedo(0.10, 0.085, 0.075);
                    h.shine = 0.25;
                } else {
                    h.albedo(0.25, 0.15, 0.075);
                    h.scaleAlbedo(0.6 + 0.8 * Noise.fractal(h.x * 22, h.y * 2, h.z * 22, 4, 205));
                }
            }
            case CRATE -> {
                h.albedo(0.46, 0.33, 0.19);
                h.scaleAlbedo(Boat.seam(h.y / 0.105, 0.08) * (0.65 + 0.7 * Noise.fractal(h.x * 6, h.y * 60, h.z * 6, 4, 207)));
            }
            case BUOY -> {
                h.albedo(0.72, 0.165, 0.022);
                h.blendAlbedo(0.5, 0.36, 0.24, 0.4 * Noise.step(0.52, 0.7, Noise.fractal(h.x * 9, h.y * 9, h.z * 9, 4, 209)));
                h.shine = 0.5;
                h.sharpness = 5;
                h.mirror = 0.4;
            }
            case JETTY -> {
                h.albedo(0.31, 0.265, 0.21);
                int plank = Noise.floor(h.z / 0.15);
                h.scaleAlbedo((0.7 + 0.5 * Noise.unit(plank, 3, 211)) * Boat.seam(h.z / 0.15, 0.07) * (0.6 + 0.8 * Noise.fractal(h.x * 3, h.z * 40, 4, 213)));
            }
            case POST -> {
                h.albedo(0.085, 0.07, 0.055);
                h.scaleAlbedo(0.6 + 0.9 * Noise.fractal(h.x * 20, h.y * 3, h.z * 20, 3, 215));
            }
            case ROPE -> {
                h.albedo(0.50, 0.40, 0.25);
                h.scaleAlbedo(0.65 + 0.5 * Noise.at(h.x * 60 + h.y * 60, h.z * 60, 217));
            }
            case BOARD -> testPatch(h);
            case CARD -> h.albedo(0.18, 0.18, 0.18);
            case LANTERN -> {
                if (sky.isDay()) {
                    h.albedo(0.75, 0.75, 0.72);
                } else {
                    h.albedo(0, 0, 0);
                    h.glowR = 9;
                    h.glowG = 5.6;
                    h.glowB = 2.5;
                }
            }
            default -> {
                h.albedo(0.34, 0.25, 0.15);
                h.scaleAlbedo(0.6 + 0.8 * Noise.fractal(h.x * 14, h.y * 14, h.z * 14, 4, 219));
            }
        }
        return true;
    }

    private static void testPatch(Hit h) {
        h.albedo(0.035, 0.035, 0.036);
        if (h.nz > -0.7) {
            return;
        }
        double u = ((h.x - BOARD_X) / BOARD_HALF_X * 0.5 + 0.5) * 6;
        double v = (0.5 - (h.y - BOARD_Y) / BOARD_HALF_Y * 0.5) * 2;
        int column = Noise.floor(u);
        int row = Noise.floor(v);
        if (column < 0 || column > 5 || row < 0 || row > 1 || Math.abs(u - column - 0.5) > 0.43 || Math.abs(v - row - 0.5) > 0.43) {
            return;
        }
        int patch = row * 6 + column;
        h.albedo(Patches.value(patch, 0), Patches.value(patch, 1), Patches.value(patch, 2));
    }

    private void concrete(Hit h) {
        double large = Noise.fractal(h.x * 0.45, h.z * 0.45, 5, 221);
        double fine = Noise.fractal(h.x * 9, h.z * 9, 4, 223);
        double grit = Noise.at(h.x * 60, h.z * 60, 225);
        h.albedo(0.30, 0.285, 0.255);
        h.scaleAlbedo(0.55 + 0.45 * large + 0.40 * (fine - 0.5) + 0.16 * grit);
        // Weed and damp towards the water, tracks of paint under the boat, joints between the slabs.
        double damp = Noise.step(9.5, 15, h.z + 4 * (large - 0.5));
        h.blendAlbedo(0.085, 0.095, 0.055, 0.75 * damp);
        h.blendAlbedo(0.10, 0.16, 0.055, 0.55 * Noise.step(0.60, 0.72, Noise.fractal(h.x * 0.9 + 7, h.z * 0.9, 5, 227)));
        double joint = Math.min(Math.abs(h.x * 0.4 - Noise.floor(h.x * 0.4 + 0.5)), Math.abs((h.z + 1) * 0.3 - Noise.floor((h.z + 1) * 0.3 + 0.5)));
        h.scaleAlbedo(0.62 + 0.38 * Noise.step(0.002, 0.012, joint + 0.006 * (fine - 0.5)));
        double puddle = Noise.step(0.57, 0.60, Noise.fractal(h.x * 0.5 + 11, h.z * 0.35, 4, 229)) * Noise.step(4.5, 6.5, h.z);
        h.scaleAlbedo(1 - 0.55 * puddle);
        h.mirror = 0.9 * puddle;
        if (puddle < 0.5) {
            h.roughen(26, 0.5, 231);
        }
    }

    private static void shedBoards(Hit h) {
        boolean end = Math.abs(h.nx) > 0.5;
        double across = (end ? h.z : h.x) / 0.19;
        int board = Noise.floor(across);
        double bx = h.x + 6.6;
        double bz = h.z - 11.5;
        if (end && bx < 3.25 && Math.abs(bz + 0.6) < 1.1 && h.y < 2.35) {
            h.albedo(0.012, 0.012, 0.013);
            return;
        }
        double grain = Noise.fractal(across * 6, h.y * 1.4, 5, 241);
        h.albedo(0.265, 0.070, 0.042);
        h.scaleAlbedo((0.75 + 0.4 * Noise.unit(board, 5, 243)) * Boat.seam(across, 0.06) * (0.72 + 0.56 * grain));
        // Bare grey wood where the paint has gone, more of it near the ground.
        double gone = Noise.step(0.60, 0.74, grain * 0.6 + 0.55 * Noise.fractal(h.x * 1.1 + h.z * 1.1, h.y * 0.9, 4, 245) + 0.10 - 0.05 * h.y);
        h.blendAlbedo(0.30, 0.27, 0.23, 0.8 * gone);
    }

    private void sea(Hit h) {
        double calm = 1 / (1 + 0.030 * h.t);
        double u = h.x * 1.1;
        double v = h.z * 0.75;
        double here = Noise.fractal(u, v, 4, 251);
        double across = Noise.fractal(u + 0.06, v, 4, 251) - here;
        double along = Noise.fractal(u, v + 0.06, 4, 251) - here;
        double patch = 0.35 + 0.9 * Noise.fractal(h.x * 0.05, h.z * 0.12, 3, 257);
        double strength = 1.35 * patch * (0.25 + 0.75 * calm);
        double nx = -strength * across;
        double nz = -strength * along;
        double n = 1 / Solid.length(nx, 1, nz);
        nx *= n;
        nz *= n;
        double ny = n;
        double dx = h.dx;
        double dy = h.dy;
        double dz = h.dz;
        double px = h.x;
        double py = h.y;
        double pz = h.z;
        double distance = h.t;
        double along2 = dx * nx + dy * ny + dz * nz;
        double rx = dx - 2 * along2 * nx;
        double ry = Math.max(0.004, dy - 2 * along2 * ny);
        double rz = dz - 2 * along2 * nz;
        double graze = 1 - Math.min(1, Math.abs(along2));
        double share = 0.03 + 0.90 * graze * graze * graze * graze * (0.6 + 0.4 * calm);
        mirrored(h, px, py + 0.02, pz, rx, ry, rz);
        boolean day = sky.isDay();
        double bodyR = day ? 0.022 : 0.0010;
        double bodyG = day ? 0.075 : 0.0022;
        double bodyB = day ? 0.085 : 0.0034;
        double r = h.lightR * share + bodyR * (1 - share);
        double g = h.lightG * share + bodyG * (1 - share);
        double b = h.lightB * share + bodyB * (1 - share);
        if (day) {
            double glint = Math.max(0, rx * sky.sunX + ry * sky.sunY + rz * sky.sunZ);
            glint = 9 * Noise.powerOfTwo(glint, 7);
            r += glint;
            g += glint;
            b += glint * 0.9;
        } else {
            for (double[] lamp : LANTERNS) {
                double lx = lamp[0] - px;
                double ly = lamp[1] - py;
                double lz = lamp[2] - pz;
                double away = Solid.length(lx, ly, lz);
                double toward = Math.max(0, (rx * lx + ry * ly + rz * lz) / away);
                double streak = 1.9 * Noise.powerOfTwo(toward, 7) + 0.5 * Noise.powerOfTwo(toward, 5);
                r += streak;
                g += streak * 0.58;
                b += streak * 0.24;
            }
        }
        h.light(r, g, b);
        sky.haze(h, distance);
    }

    /** Light from a mirrored direction: the boats and the jetty if they are in the way, else the sky. */
    private void mirrored(Hit h, double ox, double oy, double oz, double dx, double dy, double dz) {
        findParts(h, ox, oy, oz, dx, dy, dz, 0.02);
        double end = Math.min(26, h.leave);
        double t = Math.max(0.05, h.enter);
        for (int i = 0; i < 36 && t < end; i++) {
            double y = oy + t * dy;
            if (y > 8) {
                break;
            }
            h.begin();
            probe(h, ox + t * dx, y, oz + t * dz);
            if (h.nearest < 0.012 + 0.002 * t) {
                h.x = ox + t * dx;
                h.y = y;
                h.z = oz + t * dz;
                h.nx = -dx;
                h.ny = 0.3;
                h.nz = -dz;
                int material = h.material;
                h.matt();
                if (material >= BOATS) {
                    boats[(material - BOATS) / Boat.COUNT].surface(h);
                } else {
                    h.albedo(0.12, 0.10, 0.08);
                }
                // Mirrored sides are seen broken up by ripples, so a rough light is enough.
                double light = sky.isDay() ? 0.75 : 0.02;
                h.light(h.r * light, h.g * light, h.b * light);
                return;
            }
            t += Math.max(h.nearest, 0.02);
        }
        sky.look(h, dx, dy, dz);
    }
}
