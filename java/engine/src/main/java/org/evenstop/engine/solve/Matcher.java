// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.solve;

import java.util.ArrayList;
import java.util.List;
import java.util.Locale;
import org.evenstop.engine.curve.Curve;
import org.evenstop.engine.curve.MonotoneCubic;
import org.evenstop.engine.level.LumaStandard;
import org.evenstop.engine.measure.Measurement;
import org.evenstop.engine.measure.PixelSample;
import org.evenstop.engine.profile.Profile;

/** Trial. */
public final class Matcher {
    private static final double FIT = 0.002;
    static int SEARCH = 4096;
    static double MARGIN = 0.02;
    static double[] WIDTHS = {0.08, 0.055, 0.04, 0.03};
    static double[] STEP = {0.04, 0.02, 0.012, 0.006};
    static double TOL = 0.0008;
    static double PENALTY = 0.003;
    static double[] KNOTS = {0.08, 0.2, 0.38, 0.58, 0.8};
    static boolean RESIDUAL = true;
    static String DEBUG = "";
    static double FINEW = 0.03;

    private final Profile profile;
    private final LightTable table;
    private final LumaStandard standard;
    private final Curve toneRef;
    private final Curve chromaOutRef;
    private final boolean plain;
    private final Cloud clip;
    private final Cloud target;

    /** Thinned pixels that were recorded, as luma and the two colour differences. */
    private static final class Cloud {
        double[] y;
        double[] b;
        double[] r;
        int n;
        double amount;
        Cloud(int size) {
            y = new double[size];
            b = new double[size];
            r = new double[size];
        }
        void add(double luma, double bd, double rd) {
            y[n] = luma;
            b[n] = bd;
            r[n++] = rd;
        }
        ColourCells cells(double width) {
            ColourCells cells = new ColourCells(width);
            for (int i = 0; i < n; i++) {
                cells.add(y[i], b[i], r[i], amount);
            }
            cells.soften();
            return cells;
        }
    }

    private Matcher(Measurement clipM, Measurement reference, Correction rc, Profile profile) {
        this.profile = profile;
        table = new LightTable(profile);
        standard = clipM.sample().standard();
        toneRef = rc.tone();
        plain = rc.isToneOnly();
        chromaOutRef = rc.chromaOut();
        clip = new Cloud(clipM.sample().size());
        target = new Cloud(reference.sample().size());
        int stepC = Math.max(1, clipM.sample().size() / SEARCH);
        double[] v = new double[3];
        int seen = 0;
        for (int i = 0; i < clipM.sample().size(); i += stepC, seen++) {
            if (recorded(clipM, i, v)) {
                double y = standard.luma(v[0], v[1], v[2]);
                clip.add(y, v[2] - y, v[0] - y);
            }
        }
        clip.amount = 1.0 / seen;
        seen = 0;
        int stepT = Math.max(1, reference.sample().size() / SEARCH);
        for (int i = 0; i < reference.sample().size(); i += stepT, seen++) {
            if (!recorded(reference, i, v)) {
                continue;
            }
            double y = standard.luma(v[0], v[1], v[2]);
            double in = rc.chromaIn().at((float) y);
            double r2 = toneRef.at((float) (y + in * (v[0] - y)));
            double g2 = toneRef.at((float) (y + in * (v[1] - y)));
            double b2 = toneRef.at((float) (y + in * (v[2] - y)));
            double y2 = standard.luma(r2, g2, b2);
            double out = rc.chromaOut().at((float) y2);
            target.add(y2, out * (b2 - y2), out * (r2 - y2));
        }
        target.amount = 1.0 / seen;
    }

    private boolean recorded(Measurement of, int i, double[] v) {
        PixelSample s = of.sample();
        v[0] = s.level(i, 0);
        v[1] = s.level(i, 1);
        v[2] = s.level(i, 2);
        double y = standard.luma(v[0], v[1], v[2]);
        double undo = 1 / profile.chromaFactor(y);
        double top = Math.min(profile.ceiling(), of.ceiling() / 100) - MARGIN;
        return y + undo * (Math.max(v[0], Math.max(v[1], v[2])) - y) < top && y < top;
    }

    public static MatchResult match(Measurement clip, Measurement reference, Correction referenceCorrection, Profile profile, Preset preset) {
        return new Matcher(clip, reference, referenceCorrection, profile).run(clip, reference, referenceCorrection, preset);
    }

    /** p: stops, offsets at KNOTS, chroma a, b. */
    private final class Trial {
        static final int N = 768;
        final double[] tone = new double[N + 1];
        final double[] chroma = new double[N + 1];
        final MonotoneCubic residual;
        final double[] p;

        Trial(double[] p) {
            this.p = p;
            double black = toneRef.at((float) table.levelOf(table.lightOf(0)));
            double[] x = new double[KNOTS.length + 3];
            double[] y = new double[KNOTS.length + 3];
            x[0] = -0.3;
            y[0] = -0.3;
            x[1] = 0;
            y[1] = 0;
            for (int i = 0; i < KNOTS.length; i++) {
                x[i + 2] = KNOTS[i];
                y[i + 2] = Math.max(KNOTS[i] + p[i + 1], y[i + 1] + 0.25 * (x[i + 2] - x[i + 1]));
            }
            int l = x.length - 1;
            x[l] = 1.2;
            y[l] = y[l - 1] + 0.4;
            residual = new MonotoneCubic(x, y);
            double gain = Math.pow(2, p[0]);
            for (int i = 0; i <= N; i++) {
                double level = -0.4 + 2.0 * i / N;
                tone[i] = tone(level, gain);
                chroma[i] = factor(level);
            }
        }

        double tone(double level, double gain) {
            return residual.valueAt(toneRef.at((float) table.levelOf(table.lightOf(level) * gain)));
        }

        double factor(double luma) {
            double t = Math.min(Math.max(luma, 0), 1.1);
            return profile.chromaFactor(luma) * Math.exp(p[KNOTS.length + 1] * (t - 0.4) + p[KNOTS.length + 2] * ((t - 0.4) * (t - 0.4) - 0.1));
        }

        double out(double luma) {
            double held = plain ? 1 : chromaOutRef.at((float) luma) / profile.chromaFactor(luma);
            return factor(luma) * held;
        }

        private double look(double[] values, double level) {
            double t = Math.min(Math.max((level + 0.4) * (N / 2.0), 0), N - 1e-9);
            int i = (int) t;
            return values[i] + (t - i) * (values[i + 1] - values[i]);
        }

        Cloud apply() {
            Cloud c = new Cloud(clip.n);
            c.amount = clip.amount;
            double[] outs = new double[N + 1];
            for (int i = 0; i <= N; i++) {
                outs[i] = out(-0.4 + 2.0 * i / N);
            }
            double wr = standard.redWeight();
            double wb = standard.blueWeight();
            for (int i = 0; i < clip.n; i++) {
                double y = clip.y[i];
                double undo = 1 / look(chroma, y);
                double bd = undo * clip.b[i];
                double rd = undo * clip.r[i];
                double gd = -(wr * rd + wb * bd) / standard.greenWeight();
                double r2 = look(tone, y + rd);
                double g2 = look(tone, y + gd);
                double b2 = look(tone, y + bd);
                double y2 = standard.luma(r2, g2, b2);
                double f = look(outs, y2);
                c.add(y2, f * (b2 - y2), f * (r2 - y2));
            }
            return c;
        }

        double score(ColourCells wanted, double width) {
            double penalty = 0;
            for (int i = 0; i < KNOTS.length; i++) {
                double bend = p[i + 1] - (i == 0 ? 0 : p[i]);
                penalty += bend * bend / (0.05 * 0.05);
            }
            penalty += p[KNOTS.length + 1] * p[KNOTS.length + 1] + p[KNOTS.length + 2] * p[KNOTS.length + 2];
            return apply().cells(width).common(wanted) - PENALTY * penalty;
        }
    }

    private MatchResult run(Measurement clipM, Measurement reference, Correction rc, Preset preset) {
        List<String> notes = new ArrayList<>();
        double[] p = new double[KNOTS.length + 3];
        ColourCells wanted = target.cells(WIDTHS[0]);
        double best = -1;
        double[] q = p.clone();
        for (double d = -6; d <= 6.001; d += 0.25) {
            q[0] = d;
            double s = new Trial(q).score(wanted, WIDTHS[0]);
            if (s > best) {
                best = s;
                p[0] = d;
            }
        }
        double coarse = best;
        int evals = 0;
        for (int w = 0; w < WIDTHS.length; w++) {
            wanted = target.cells(WIDTHS[w]);
            double step = STEP[w];
            best = new Trial(p).score(wanted, WIDTHS[w]);
            for (int round = 0; round < 12; round++) {
                boolean moved = false;
                double[] start = p.clone();
                for (int j = 0; j < p.length; j++) {
                    if (!RESIDUAL && j > 0) {
                        continue;
                    }
                    double unit = j == 0 ? 3 : j > KNOTS.length ? 5 : 1;
                    for (int sign = -1; sign <= 1; sign += 2) {
                        q = p.clone();
                        q[j] += sign * unit * step;
                        double s = new Trial(q).score(wanted, WIDTHS[w]);
                        evals++;
                        if (s > best + 1e-5) {
                            best = s;
                            p = q;
                            moved = true;
                            break;
                        }
                    }
                }
                if (moved) {
                    q = p.clone();
                    for (int j = 0; j < p.length; j++) {
                        q[j] += p[j] - start[j];
                    }
                    double s = new Trial(q).score(wanted, WIDTHS[w]);
                    if (s > best) {
                        best = s;
                        p = q;
                    }
                } else {
                    if (step < STEP[w] / 3 || step < 0.0012) {
                        break;
                    }
                    step /= 2;
                }
            }
        }
        Trial found = new Trial(p);
        ColourCells c = found.apply().cells(FINEW);
        ColourCells t = target.cells(FINEW);
        double overlap = c.common(t) / Math.max(1e-9, Math.min(c.total(), t.total()));
        double gain = Math.pow(2, p[0]);
        Curve tone = Curve.fit(x -> found.tone(x, gain), FIT);
        Curve chromaIn = Curve.fitFlatEnded(y -> 1 / found.factor(y), FIT);
        Curve chromaOut = Curve.fitFlatEnded(found::out, FIT);
        double k = p[0] + rc.origin().stops();
        DEBUG = String.format(Locale.ROOT, "d %.2f coarse %.3f overlap %.3f evals %d R %s", p[0], coarse, overlap, evals, java.util.Arrays.toString(java.util.Arrays.stream(p).skip(1).map(z -> Math.rint(z * 1000) / 1000).toArray()));
        overlap = Math.min(1, overlap);
        return new MatchResult(Solver.completed(clipM, profile, preset, k, chromaIn, tone, chromaOut, notes), overlap, overlap, true);
    }
}
