// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.solve;

/**
 * How much of a picture lies where in colour: a grid over luma and the two colour differences B'-Y' and R'-Y', softened so that
 * neighbouring cells share what lies between them. Two pictures of one scene fill the same cells; what only one of
 * them shows fills cells that are empty in the other.
 *
 * <p>Levels are fractions. What lies beyond the grid counts in its outermost cells.
 */
final class ColourCells {
    private static final double LUMA_FROM = -0.10;
    private static final double LUMA_TO = 1.20;
    private static final double CHROMA_REACH = 0.60;

    private final int lumas;
    private final int chromas;
    private final double perLuma;
    private final double perChroma;
    private final double[] share;

    /**
     * @param width of a cell in luma, a level fraction; colour differences are divided as finely
     */
    ColourCells(double width) {
        perLuma = 1 / width;
        perChroma = 1 / width;
        lumas = (int) Math.ceil((LUMA_TO - LUMA_FROM) * perLuma) + 2;
        chromas = (int) Math.ceil(2 * CHROMA_REACH * perChroma) + 2;
        share = new double[lumas * chromas * chromas];
    }

    /** Adds a pixel, divided among the eight cells round it. */
    void add(double luma, double blueDifference, double redDifference, double amount) {
        double y = place(luma - LUMA_FROM, perLuma, lumas);
        double u = place(blueDifference + CHROMA_REACH, perChroma, chromas);
        double v = place(redDifference + CHROMA_REACH, perChroma, chromas);
        int iy = (int) y;
        int iu = (int) u;
        int iv = (int) v;
        double fy = y - iy;
        double fu = u - iu;
        double fv = v - iv;
        int at = (iy * chromas + iu) * chromas + iv;
        int nextY = chromas * chromas;
        double a = amount * (1 - fy);
        double b = amount * fy;
        share[at] += a * (1 - fu) * (1 - fv);
        share[at + 1] += a * (1 - fu) * fv;
        share[at + chromas] += a * fu * (1 - fv);
        share[at + chromas + 1] += a * fu * fv;
        share[at + nextY] += b * (1 - fu) * (1 - fv);
        share[at + nextY + 1] += b * (1 - fu) * fv;
        share[at + nextY + chromas] += b * fu * (1 - fv);
        share[at + nextY + chromas + 1] += b * fu * fv;
    }

    private static double place(double offset, double perUnit, int cells) {
        return Math.min(Math.max(offset * perUnit, 0), cells - 1.001);
    }

    /** Smooths by [1 2 1] / 4 in each direction. */
    void soften() {
        soften(chromas * chromas, lumas, 1, chromas * chromas);
        for (int y = 0; y < lumas; y++) {
            int base = y * chromas * chromas;
            for (int u = 0; u < chromas; u++) {
                softenLine(base + u * chromas, 1, chromas);
            }
            for (int v = 0; v < chromas; v++) {
                softenLine(base + v, chromas, chromas);
            }
        }
    }

    private void soften(int lines, int length, int lineStep, int step) {
        for (int i = 0; i < lines; i++) {
            softenLine(i * lineStep, step, length);
        }
    }

    private void softenLine(int from, int step, int length) {
        double before = share[from];
        for (int i = 0, at = from; i < length; i++, at += step) {
            double here = share[at];
            double after = i + 1 < length ? share[at + step] : here;
            share[at] = 0.25 * before + 0.5 * here + 0.25 * after;
            before = here;
        }
    }

    /** What the two have in common, cell by cell: the sum of the smaller amounts. Both grids must be of one width. */
    double common(ColourCells other) {
        double sum = 0;
        for (int i = 0; i < share.length; i++) {
            sum += Math.min(share[i], other.share[i]);
        }
        return sum;
    }

    double total() {
        double sum = 0;
        for (double s : share) {
            sum += s;
        }
        return sum;
    }

    /** The amount at a colour, between the cells round it. */
    double at(double luma, double blueDifference, double redDifference) {
        double y = place(luma - LUMA_FROM, perLuma, lumas);
        double u = place(blueDifference + CHROMA_REACH, perChroma, chromas);
        double v = place(redDifference + CHROMA_REACH, perChroma, chromas);
        int iy = (int) y;
        int iu = (int) u;
        int iv = (int) v;
        double fy = y - iy;
        double fu = u - iu;
        double fv = v - iv;
        int at = (iy * chromas + iu) * chromas + iv;
        return (1 - fy) * plane(at, fu, fv) + fy * plane(at + chromas * chromas, fu, fv);
    }

    private double plane(int at, double fu, double fv) {
        return (1 - fu) * ((1 - fv) * share[at] + fv * share[at + 1])
            + fu * ((1 - fv) * share[at + chromas] + fv * share[at + chromas + 1]);
    }
}
