// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.solve;

import org.evenstop.engine.curve.Curve;
import org.evenstop.engine.curve.MonotoneCubic;
import org.evenstop.engine.level.LumaStandard;
import org.evenstop.engine.profile.Profile;

/**
 * A candidate of matching: the curves that follow from a difference of exposure and from how far the profile is off.
 *
 * <pre>
 * tone(x)     = R(toneOfReference(P(2^d P⁻¹(x))))     d stops between clip and reference
 * s'(Y')      = s(Y') exp(a (Y' - 0.4) + b ((Y' - 0.4)² - 0.1))
 * chromaIn    = 1 / s'      chromaOut = s' · (chromaOut of the reference / s)
 * </pre>
 *
 * R is the identity moved by offsets at fixed levels, rising everywhere, fixed at black. With the right profile R is the identity
 * and a, b are 0: the clip is re-exposed to where the reference was and then treated as the reference is.
 */
final class MatchedCurves {
    /** Levels at which R is moved. */
    private static final double[] KNOTS = {0.08, 0.2, 0.38, 0.58, 0.8};
    static final int OFFSETS = KNOTS.length;
    static final int PARAMETERS = 1 + OFFSETS + 2;
    static final int TILT = 1 + OFFSETS;
    static final int BOW = 2 + OFFSETS;
    /** Smallest slope of R between its knots. */
    private static final double FLATTEST = 0.25;
    private static final int STEPS = 768;
    private static final double FROM = -0.4;
    private static final double TO = 1.6;
    private static final double PER_LEVEL = STEPS / (TO - FROM);

    /** What all candidates of one match share. */
    record Ground(Profile profile, LightTable table, Correction reference, double lumaFrom, double lumaTo) {
    }

    private final Ground ground;
    private final double tilt;
    private final double bow;
    private final double gain;
    private final MonotoneCubic residual;
    private final double largestOffset;

    /** @param p stops, offsets at the knots as level fractions, tilt and bow of the chroma curve */
    MatchedCurves(Ground ground, double[] p) {
        this.ground = ground;
        gain = Math.exp(Math.log(2) * p[0]);
        tilt = p[TILT];
        bow = p[BOW];
        double[] x = new double[OFFSETS + 3];
        double[] y = new double[OFFSETS + 3];
        x[0] = -0.3;
        y[0] = -0.3;
        double largest = 0;
        for (int i = 0; i < OFFSETS; i++) {
            x[i + 2] = KNOTS[i];
            y[i + 2] = Math.max(KNOTS[i] + p[1 + i], y[i + 1] + FLATTEST * (x[i + 2] - x[i + 1]));
            largest = Math.max(largest, Math.abs(y[i + 2] - x[i + 2]));
        }
        // Above the last knot the offset stays what it is there.
        x[OFFSETS + 2] = 1.2;
        y[OFFSETS + 2] = y[OFFSETS + 1] + 1.2 - KNOTS[OFFSETS - 1];
        residual = new MonotoneCubic(x, y);
        largestOffset = largest;
    }

    /** Level after matching; never falls with {@code level}. */
    double tone(double level) {
        LightTable table = ground.table();
        return residual.valueAt(ground.reference().tone().at((float) table.levelOf(table.lightOf(level) * gain)));
    }

    /** s' at this luma; beyond the lumas that the pictures hold it differs from s as much as at their ends. */
    private double factor(double luma) {
        return ground.profile().chromaFactor(luma) * chromaChange(luma);
    }

    private double chromaChange(double luma) {
        double t = Math.min(Math.max(luma, ground.lumaFrom()), ground.lumaTo()) - 0.4;
        return Math.exp(tilt * t + bow * (t * t - 0.1));
    }

    double chromaIn(double luma) {
        return 1 / factor(luma);
    }

    double chromaOut(double luma) {
        Correction reference = ground.reference();
        // A reference that is left as it was recorded has the camera's own chroma.
        double wanted = reference.isToneOnly() ? ground.profile().chromaFactor(luma) : reference.chromaOut().at((float) luma);
        return wanted * chromaChange(luma);
    }

    /** Largest offset of R at a knot, as a level fraction. */
    double largestOffset() {
        return largestOffset;
    }

    /** Largest factor, above 1, by which the chroma curve differs between two lumas that the pictures hold. */
    double largestChromaChange() {
        double least = Double.POSITIVE_INFINITY;
        double most = 0;
        for (int i = 0; i <= 20; i++) {
            double change = chromaChange(ground.lumaFrom() + (ground.lumaTo() - ground.lumaFrom()) * i / 20);
            least = Math.min(least, change);
            most = Math.max(most, change);
        }
        return most / least;
    }

    /** The cloud after the correction. */
    ColourCloud applied(ColourCloud cloud, LumaStandard standard) {
        double[] tones = new double[STEPS + 1];
        double[] in = new double[STEPS + 1];
        double[] out = new double[STEPS + 1];
        for (int i = 0; i <= STEPS; i++) {
            double level = FROM + i / PER_LEVEL;
            tones[i] = tone(level);
            in[i] = chromaIn(level);
            out[i] = chromaOut(level);
        }
        ColourCloud after = new ColourCloud(cloud.size(), cloud.amount());
        for (int i = 0; i < cloud.size(); i++) {
            double y = cloud.luma[i];
            double undo = between(in, y);
            double blue = undo * cloud.blue[i];
            double red = undo * cloud.red[i];
            double green = -(standard.redWeight() * red + standard.blueWeight() * blue) / standard.greenWeight();
            double r = between(tones, y + red);
            double g = between(tones, y + green);
            double b = between(tones, y + blue);
            double luma = standard.luma(r, g, b);
            double redo = between(out, luma);
            after.add(luma, redo * (b - luma), redo * (r - luma));
        }
        return after;
    }

    private static double between(double[] values, double level) {
        double t = Math.min(Math.max((level - FROM) * PER_LEVEL, 0), STEPS - 1e-9);
        int i = (int) t;
        return values[i] + (t - i) * (values[i + 1] - values[i]);
    }

    Curve toneCurve(Stretch fold, double tolerance) {
        return Curve.fit(x -> fold.at(tone(x)), tolerance);
    }
}
