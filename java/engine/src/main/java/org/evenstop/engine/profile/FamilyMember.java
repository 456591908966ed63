// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.profile;

import java.util.ArrayList;
import java.util.List;

/**
 * One camera that a family of profiles allows, tabulated for the comparison of clips: a tone curve and which chroma curve goes
 * with it. A family is tried through several of its members, since a real camera is never exactly the shipped profile.
 */
final class FamilyMember {
    private static final int PER_STOP = 64;
    private static final double FROM_STOPS = -9;
    private static final int STEPS = 20 * PER_STOP;
    private static final int LEVELS_PER_UNIT = 1024;

    final int family;
    final Profile profile;
    /** Index into the chroma curves of {@link #chromaCurves}; members share them, and the undoing of chroma is the costly part. */
    final int chroma;
    /** Whether it stands for its family in a first, quick look. */
    final boolean typical;
    private final float[] levelAt = new float[STEPS + 1];
    private final float[] stopsAt = new float[(int) (1.0902 * LEVELS_PER_UNIT) + 2];

    private FamilyMember(int family, Profile profile, int chroma, boolean typical) {
        this.family = family;
        this.profile = profile;
        this.chroma = chroma;
        this.typical = typical;
        for (int i = 0; i <= STEPS; i++) {
            levelAt[i] = (float) profile.levelOfLight(Profile.MID_GREY * Math.exp(Math.log(2) * (FROM_STOPS + i / (double) PER_STOP)));
        }
        int step = 0;
        for (int i = 0; i < stopsAt.length; i++) {
            float level = i / (float) LEVELS_PER_UNIT;
            while (step < STEPS - 1 && levelAt[step + 1] < level) {
                step++;
            }
            float rise = levelAt[step + 1] - levelAt[step];
            float inside = rise > 0 ? Math.min(Math.max((level - levelAt[step]) / rise, 0), 1) : 0;
            stopsAt[i] = (float) (FROM_STOPS + (step + inside) / PER_STOP);
        }
    }

    /** Stops from mid grey at which this camera records a level fraction; bounded by the ends of its curve. */
    double stopsOf(double level) {
        double t = Math.min(Math.max(level * LEVELS_PER_UNIT, 0), stopsAt.length - 1.001);
        int i = (int) t;
        return stopsAt[i] + (t - i) * (stopsAt[i + 1] - stopsAt[i]);
    }

    /** Level fraction this camera records at stops from mid grey, clipped at its ceiling. */
    double levelOf(double stops) {
        double t = Math.min(Math.max((stops - FROM_STOPS) * PER_STOP, 0), STEPS - 0.001);
        int i = (int) t;
        return levelAt[i] + (t - i) * (levelAt[i + 1] - levelAt[i]);
    }

    /** Families in the order of the shipped profiles: 0 cinema-soft, 1 rec709-knee, 2 srgb-screen. */
    static List<Profile> shipped() {
        return List.of(ProfileShapes.cinemaSoft(), ProfileShapes.rec709Knee(), ProfileShapes.srgbScreen());
    }

    /**
     * The cameras through which each family is tried. The spread of the numbers is our own choice, no source: wide enough for
     * settings of one kind, not so wide that one family could pass for another.
     *
     * @param curves receives one profile per chroma curve, in the order that {@link #chroma} counts
     */
    static List<FamilyMember> all(List<Profile> curves) {
        List<Profile> shipped = shipped();
        List<FamilyMember> members = new ArrayList<>();
        for (double strength : new double[] {0.6, 1, 1.5}) {
            double[][] chroma = strengthened(shipped.get(0), strength);
            // Which exponent a camera has cannot be told from clips and does not matter (see LevelRelation): how close the ceiling
            // lies to what the response tends to does, and so does the toe.
            for (double stopsAtClip : new double[] {4.5, 5.0, 5.5, 6.2}) {
                for (double grey : new double[] {0.36, 0.41, 0.46}) {
                    for (double toe : new double[] {0.0005, 0.0020}) {
                        members.add(new FamilyMember(0, ProfileShapes.shouldered("member", "", "", grey, 0.86, stopsAtClip, toe, chroma),
                            curves.size(), strength == 1 && stopsAtClip == 5.5 && grey == 0.41 && toe == 0.0020));
                    }
                }
            }
            curves.add(members.get(members.size() - 1).profile);
        }
        for (double strength : new double[] {0, 1, 1.8}) {
            double[][] chroma = strengthened(shipped.get(1), strength);
            for (double knee : new double[] {0.75, 0.80, 0.85, 0.90}) {
                for (double stopsAtClip : new double[] {3.3, 4.0, 4.8}) {
                    members.add(new FamilyMember(1, ProfileShapes.kneed("member", "", "", knee, stopsAtClip, chroma), curves.size(),
                        strength == 1 && knee == 0.85 && stopsAtClip == 4.0));
                }
            }
            curves.add(members.get(members.size() - 1).profile);
        }
        members.add(new FamilyMember(2, shipped.get(2), curves.size(), true));
        curves.add(shipped.get(2));
        return members;
    }

    /** A profile that someone named, as a family of its own. */
    static FamilyMember alone(int family, Profile profile, List<Profile> curves) {
        curves.add(profile);
        return new FamilyMember(family, profile, curves.size() - 1, true);
    }

    private static double[][] strengthened(Profile profile, double strength) {
        double[] lumas = profile.chromaLumas();
        double[] factors = profile.chromaFactors();
        double[][] curve = new double[lumas.length][];
        for (int i = 0; i < lumas.length; i++) {
            curve[i] = new double[] {lumas[i], Math.pow(factors[i], strength)};
        }
        return curve;
    }
}
