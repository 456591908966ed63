// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.follow;

/**
 * By how many stops one frame has more light than another, judged by the places that show the same in both.
 *
 * <p>The commonest ratio is looked for first (whatever walks in makes other ratios, and they do not agree with each other), then
 * refined together with a displacement and a zoom of the whole picture, so that a pan over a scene that gets brighter to one side
 * is no change of light: B. D. Lucas and T. Kanade (IJCAI 1981) on log light with an offset, weighted after J. W. Tukey's biweight.
 *
 * @param stops      light of the second over light of the first
 * @param place      where the second shows what the first shows
 * @param agreeing   share of the compared places that agree within {@value #AGREES} stops, 0..1
 * @param compared   share of the better told frame that could be compared, 0..1
 */
record LightRatio(double stops, PlaceShift place, double agreeing, double compared) {
    /** Places agree when their ratios differ by less (own choice, no source). */
    static final double AGREES = 0.12;
    /** Under this share of agreement a larger displacement is looked for. */
    private static final double DOUBTFUL = 0.5;
    private static final int REACH = 4;
    private static final double MOST_STOPS = 4;
    private static final int BINS_A_STOP = 64;
    private static final int HALF_WINDOW = 4;
    private static final int ROUGH_BINS = 12;
    private static final double BIWEIGHT = 0.25;
    private static final int ROUNDS = 6;
    private static final double MOST_ZOOM_STEP = 0.04;
    private static final double MOST_ZOOM = 2;

    private static final LightRatio NONE = new LightRatio(0, PlaceShift.NONE, 0, 0);

    /** The first frame's places with where and how they lie in the second; reused over the rounds of one comparison. */
    private static final class Places {
        private final LightGrid a;
        private final LightGrid b;
        final float[] difference;
        final float[] weight;
        double compared;

        Places(LightGrid a, LightGrid b) {
            this.a = a;
            this.b = b;
            difference = new float[3 * a.columns * a.rows];
            weight = new float[difference.length];
        }

        /** Differences in stops with the second frame displaced, bilinear between its places. */
        void displace(PlaceShift place) {
            int n = a.columns * a.rows;
            double middleX = 0.5 * (a.columns - 1);
            double middleY = 0.5 * (a.rows - 1);
            compared = 0;
            for (int y = 0; y < a.rows; y++) {
                double by = middleY + place.zoom() * (y - middleY) + place.y();
                int y0 = (int) Math.floor(by);
                float fy = (float) (by - y0);
                boolean between = fy > 1e-4f;
                boolean isRow = y0 >= 0 && y0 + (between ? 1 : 0) < a.rows;
                for (int x = 0; x < a.columns; x++) {
                    double bx = middleX + place.zoom() * (x - middleX) + place.x();
                    int x0 = (int) Math.floor(bx);
                    float fx = (float) (bx - x0);
                    boolean beside = fx > 1e-4f;
                    boolean isIn = isRow && x0 >= 0 && x0 + (beside ? 1 : 0) < a.columns;
                    int at = y * a.columns + x;
                    int from = y0 * a.columns + x0;
                    for (int c = 0; c < 3; c++) {
                        float w = 0;
                        if (isIn && a.weight[c][at] > 0) {
                            float[] s = b.stops[c];
                            float[] ws = b.weight[c];
                            float value = beside ? s[from] + fx * (s[from + 1] - s[from]) : s[from];
                            float other = Math.min(ws[from], beside ? ws[from + 1] : 1);
                            if (between) {
                                int below = from + a.columns;
                                float next = beside ? s[below] + fx * (s[below + 1] - s[below]) : s[below];
                                value += fy * (next - value);
                                other = Math.min(other, Math.min(ws[below], beside ? ws[below + 1] : 1));
                            }
                            if (other > 0) {
                                w = Math.min(other, a.weight[c][at]);
                                difference[c * n + at] = value - a.stops[c][at];
                            }
                        }
                        weight[c * n + at] = w;
                        compared += w;
                    }
                }
            }
        }
    }

    /** @param start where to look for the displacement first */
    static LightRatio between(LightGrid a, LightGrid b, PlaceShift start) {
        Places places = new Places(a, b);
        LightRatio best = refined(places, start);
        if (best.agreeing >= DOUBTFUL) {
            return best;
        }
        double most = 0;
        int bestX = 0;
        int bestY = 0;
        int channel = bestTold(a);
        for (int dy = -REACH; dy <= REACH; dy++) {
            for (int dx = -REACH; dx <= REACH; dx++) {
                double agreed = roughly(a, b, channel, (int) Math.rint(start.x()) + dx, (int) Math.rint(start.y()) + dy);
                if (agreed > most) {
                    most = agreed;
                    bestX = dx;
                    bestY = dy;
                }
            }
        }
        LightRatio other = refined(places, new PlaceShift(Math.rint(start.x()) + bestX, Math.rint(start.y()) + bestY, 1));
        return other.agreeing * Math.min(1, 2 * other.compared) > best.agreeing * Math.min(1, 2 * best.compared) ? other : best;
    }

    private static int bestTold(LightGrid grid) {
        double[] told = new double[3];
        for (int c = 0; c < 3; c++) {
            for (float w : grid.weight[c]) {
                told[c] += w;
            }
        }
        return told[1] >= 0.8 * Math.max(told[0], told[2]) ? 1 : told[0] >= told[2] ? 0 : 2;
    }

    /** Share of every fourth place of one channel that has the commonest ratio at a displacement by whole places. */
    private static double roughly(LightGrid a, LightGrid b, int channel, int shiftX, int shiftY) {
        int[] counts = new int[(int) (2 * MOST_STOPS * ROUGH_BINS) + 1];
        int compared = 0;
        int all = 0;
        float[] s = a.stops[channel];
        float[] t = b.stops[channel];
        for (int y = 0; y < a.rows; y += 2) {
            for (int x = 0; x < a.columns; x += 2) {
                int at = y * a.columns + x;
                if (a.weight[channel][at] == 0) {
                    continue;
                }
                all++;
                int there = (y + shiftY) * a.columns + x + shiftX;
                if (x + shiftX < 0 || x + shiftX >= a.columns || y + shiftY < 0 || y + shiftY >= a.rows || b.weight[channel][there] == 0) {
                    continue;
                }
                int bin = Math.round((t[there] - s[at] + (float) MOST_STOPS) * ROUGH_BINS);
                if (bin >= 0 && bin < counts.length) {
                    counts[bin]++;
                    compared++;
                }
            }
        }
        int most = 0;
        for (int i = 1; i + 1 < counts.length; i++) {
            most = Math.max(most, counts[i - 1] + counts[i] + counts[i + 1]);
        }
        return most / Math.max(Math.max(1.0, compared), 0.5 * all);
    }

    /** The commonest difference, in stops. */
    private static double commonest(Places places) {
        int size = (int) (2 * MOST_STOPS * BINS_A_STOP) + 1;
        double[] counts = new double[size];
        for (int i = 0; i < places.weight.length; i++) {
            if (places.weight[i] > 0) {
                int at = (int) Math.rint((places.difference[i] + MOST_STOPS) * BINS_A_STOP);
                if (at >= 0 && at < size) {
                    counts[at] += places.weight[i];
                }
            }
        }
        double most = -1;
        int bin = 0;
        for (int i = 0; i < size; i++) {
            double sum = 0;
            for (int j = -HALF_WINDOW; j <= HALF_WINDOW; j++) {
                if (i + j >= 0 && i + j < size) {
                    sum += (HALF_WINDOW + 1 - Math.abs(j)) * counts[i + j];
                }
            }
            if (sum > most) {
                most = sum;
                bin = i;
            }
        }
        return bin / (double) BINS_A_STOP - MOST_STOPS;
    }

    private static LightRatio refined(Places places, PlaceShift start) {
        LightGrid a = places.a;
        PlaceShift place = start;
        places.displace(place);
        if (places.compared < 1) {
            return NONE;
        }
        double stops = commonest(places);
        for (int round = 0; round < ROUNDS; round++) {
            double[][] m = equations(places, stops);
            if (m[0][0] < 1) {
                break;
            }
            // A little is held against moving, so that a picture without detail stays where it is.
            double hold = 1e-3 * m[0][0];
            m[1][1] += hold;
            m[2][2] += hold;
            m[3][3] += hold * a.columns * a.columns / 16.0;
            double[] step = solved(m);
            stops += step[0];
            place = new PlaceShift(place.x() + bounded(step[1], 1), place.y() + bounded(step[2], 1),
                Math.min(Math.max(place.zoom() + bounded(step[3], MOST_ZOOM_STEP), 1 / MOST_ZOOM), MOST_ZOOM));
            places.displace(place);
            if (Math.abs(step[0]) < 1e-5 && Math.abs(step[1]) < 1e-3 && Math.abs(step[2]) < 1e-3 && Math.abs(step[3]) < 1e-4) {
                break;
            }
        }
        double agreed = 0;
        for (int i = 0; i < places.weight.length; i++) {
            if (places.weight[i] > 0 && Math.abs(places.difference[i] - stops) < AGREES) {
                agreed += places.weight[i];
            }
        }
        return new LightRatio(stops, place, places.compared < 1 ? 0 : agreed / places.compared,
            Math.min(1, places.compared / Math.max(1, Math.max(a.told, places.b.told))));
    }

    private static double bounded(double step, double most) {
        return Math.min(Math.max(step, -most), most);
    }

    /** Normal equations {@code [4][5]} for what to add to stops, columns, rows and zoom. */
    private static double[][] equations(Places places, double stops) {
        LightGrid a = places.a;
        int n = a.columns * a.rows;
        double[][] m = new double[4][5];
        double[] row = new double[5];
        row[0] = 1;
        for (int c = 0; c < 3; c++) {
            float[] s = a.stops[c];
            for (int y = 0; y < a.rows; y++) {
                for (int x = 0; x < a.columns; x++) {
                    int at = y * a.columns + x;
                    float w = places.weight[c * n + at];
                    double r = places.difference[c * n + at] - stops;
                    if (w == 0 || r >= BIWEIGHT || r <= -BIWEIGHT) {
                        continue;
                    }
                    double u = r / BIWEIGHT;
                    double v = w * (1 - u * u) * (1 - u * u);
                    double gx = x > 0 && x + 1 < a.columns ? 0.5 * (s[at + 1] - s[at - 1]) : 0;
                    double gy = y > 0 && y + 1 < a.rows ? 0.5 * (s[at + a.columns] - s[at - a.columns]) : 0;
                    row[1] = gx == gx ? -gx : 0;
                    row[2] = gy == gy ? -gy : 0;
                    row[3] = row[1] * (x - 0.5 * (a.columns - 1)) + row[2] * (y - 0.5 * (a.rows - 1));
                    row[4] = r;
                    for (int i = 0; i < 4; i++) {
                        double vi = v * row[i];
                        for (int j = i; j < 5; j++) {
                            m[i][j] += vi * row[j];
                        }
                    }
                }
            }
        }
        for (int i = 1; i < 4; i++) {
            for (int j = 0; j < i; j++) {
                m[i][j] = m[j][i];
            }
        }
        return m;
    }

    /** Gaussian elimination of four equations, positive definite. */
    private static double[] solved(double[][] m) {
        int n = m.length;
        for (int i = 0; i < n; i++) {
            for (int j = i + 1; j < n; j++) {
                double f = m[j][i] / m[i][i];
                for (int k = i; k <= n; k++) {
                    m[j][k] -= f * m[i][k];
                }
            }
        }
        double[] x = new double[n];
        for (int i = n - 1; i >= 0; i--) {
            double sum = m[i][n];
            for (int k = i + 1; k < n; k++) {
                sum -= m[i][k] * x[k];
            }
            x[i] = sum / m[i][i];
        }
        return x;
    }
}
