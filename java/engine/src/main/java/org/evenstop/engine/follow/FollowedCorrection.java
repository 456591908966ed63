// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.follow;

import java.util.HashMap;
import java.util.Map;
import java.util.function.DoubleUnaryOperator;
import org.evenstop.engine.curve.Curve;
import org.evenstop.engine.profile.Profile;
import org.evenstop.engine.solve.Correction;

/**
 * The correction of a clip for light that differs from the light it is meant for: the frame is re-exposed to that light between
 * undoing the profile's chroma and the correction's own tone curve,
 *
 * <pre>
 * tone of a frame with e stops more light = tone o P(2^-e P^-1)
 * </pre>
 *
 * Chroma curves stay as they are: chroma is undone at the level that was recorded and redone at the level that results.
 *
 * <p>Tone curves are fitted at whole eighths of a stop, when first asked for, and blended knot by knot between them. A blend of
 * rising cubics that are held to Fritsch and Carlson's bound is another one. Not safe for use by several threads.
 */
public final class FollowedCorrection {
    static final double GRID = 0.125;
    private static final double FIT = 0.001;
    private static final double FIT_CHROMA = 0.002;
    /** Smaller changes of light than this get the clip's correction itself. */
    private static final double NOTHING = 1e-7;
    /** How far below the ceiling light lifted beyond it begins to be folded, in units of what must be folded. */
    private static final double SHOULDER = 1.6;

    private final Correction base;
    private final Profile profile;
    private final Curve chromaIn;
    private final Curve chromaOut;
    private final Map<Integer, Curve> tones = new HashMap<>();

    /**
     * @param base    the clip's correction
     * @param profile through which the light was read
     */
    public FollowedCorrection(Correction base, Profile profile) {
        this.base = base;
        this.profile = profile;
        // A clip that is right as it stands has no chroma to undo; its frames in other light have.
        boolean fromProfile = base.isToneOnly() && base.tone().isIdentity();
        chromaIn = fromProfile ? Curve.fitFlatEnded(y -> 1 / profile.chromaFactor(y), FIT_CHROMA) : base.chromaIn();
        chromaOut = fromProfile ? Curve.fitFlatEnded(profile::chromaFactor, FIT_CHROMA) : base.chromaOut();
        tones.put(0, base.tone());
    }

    /** The correction itself, for the light it is meant for. */
    public Correction base() {
        return base;
    }

    /**
     * @param stops light of the frame over the light the clip's correction is meant for, -8..8
     * @return the correction of that frame; the clip's own where there is no difference
     */
    public Correction at(double stops) {
        if (!(stops >= -8 && stops <= 8)) {
            throw new IllegalArgumentException(stops + " stops of drift are outside -8 to 8");
        }
        if (Math.abs(stops) < NOTHING) {
            return base;
        }
        int below = (int) Math.floor(stops / GRID);
        double part = stops / GRID - below;
        Curve tone = blend(tone(below), tone(below + 1), part);
        return new Correction(chromaIn, tone, chromaOut, base.standard(), base.origin());
    }

    private Curve tone(int step) {
        return tones.computeIfAbsent(step, s -> Curve.fit(composed(-s * GRID), FIT));
    }

    private DoubleUnaryOperator composed(double k) {
        DoubleUnaryOperator tone = exactly(base.tone());
        double ceiling = profile.ceiling();
        double excess = k > 0 ? profile.reexposed(ceiling, k) - ceiling : 0;
        if (excess < 1e-4) {
            return level -> tone.applyAsDouble(profile.reexposed(level, k));
        }
        // What the light of the clip can never have reached is folded under the ceiling, so that a lifted frame clips nothing new.
        double knee = Math.max(ceiling - SHOULDER * excess, 0.5 * ceiling);
        double over = ceiling + excess - knee;
        double bend = (over / (ceiling - knee) - 1) / over;
        return level -> {
            double x = profile.reexposed(level, k);
            return tone.applyAsDouble(x <= knee ? x : knee + (x - knee) / (1 + bend * (x - knee)));
        };
    }

    /** The curve in double precision: finite differences of its float values would be all rounding. */
    private static DoubleUnaryOperator exactly(Curve curve) {
        double[] y = curve.values();
        double[] m = curve.slopes();
        int n = y.length - 1;
        double step = (curve.to() - curve.from()) / n;
        return x -> {
            double t = (x - curve.from()) / step;
            if (t <= 0) {
                return y[0] + t * step * m[0];
            }
            if (t >= n) {
                return y[n] + (t - n) * step * m[n];
            }
            int i = Math.min((int) t, n - 1);
            double f = t - i;
            double m0 = m[i] * step;
            double m1 = m[i + 1] * step;
            double dy = y[i + 1] - y[i];
            return y[i] + f * (m0 + f * (3 * dy - 2 * m0 - m1 + f * (m0 + m1 - 2 * dy)));
        };
    }

    private static Curve blend(Curve a, Curve b, double part) {
        Curve one = a;
        Curve other = b;
        while (one.segmentCount() < other.segmentCount()) {
            one = halved(one);
        }
        while (other.segmentCount() < one.segmentCount()) {
            other = halved(other);
        }
        if (one.segmentCount() != other.segmentCount() || one.from() != other.from() || one.to() != other.to()) {
            // A correction file may hold curves on knots of its own.
            Curve first = a;
            Curve second = b;
            return Curve.fit(x -> first.at((float) x) + part * (second.at((float) x) - first.at((float) x)), FIT);
        }
        double[] y = one.values();
        double[] m = one.slopes();
        double[] z = other.values();
        double[] k = other.slopes();
        for (int i = 0; i < y.length; i++) {
            y[i] += part * (z[i] - y[i]);
            m[i] += part * (k[i] - m[i]);
        }
        return new Curve(one.from(), one.to(), y, m);
    }

    /** The very same curve with a knot more in the middle of each segment. */
    private static Curve halved(Curve curve) {
        double[] y = curve.values();
        double[] m = curve.slopes();
        int n = y.length - 1;
        double step = (curve.to() - curve.from()) / n;
        double[] values = new double[2 * n + 1];
        double[] slopes = new double[2 * n + 1];
        for (int i = 0; i <= n; i++) {
            values[2 * i] = y[i];
            slopes[2 * i] = m[i];
            if (i < n) {
                values[2 * i + 1] = 0.5 * (y[i] + y[i + 1]) + 0.125 * step * (m[i] - m[i + 1]);
                slopes[2 * i + 1] = 1.5 * (y[i + 1] - y[i]) / step - 0.25 * (m[i] + m[i + 1]);
            }
        }
        return new Curve(curve.from(), curve.to(), values, slopes);
    }
}
