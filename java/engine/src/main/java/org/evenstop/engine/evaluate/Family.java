// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.evaluate;

import java.util.Locale;
import java.util.Random;
import org.evenstop.engine.profile.Profile;
import org.evenstop.engine.profile.ProfileShapes;

/** The two families of camera settings that blind solving tells apart, with inventions of each. */
public enum Family {
    /** Contrasty with a soft shoulder; its shipped profile is cinema-soft. */
    CINEMA("cinema"),
    /** Straight with a knee; its shipped profile is rec709-knee. */
    KNEE("knee");

    private static final double MIDDLE = 0.35;

    private final String word;

    Family(String word) {
        this.word = word;
    }

    /** The word for it in tables. */
    public String word() {
        return word;
    }

    /** The profile that ships for cameras of this family. */
    public Profile shipped() {
        return this == CINEMA ? ProfileShapes.cinemaSoft() : ProfileShapes.rec709Knee();
    }

    public Family other() {
        return this == CINEMA ? KNEE : CINEMA;
    }

    /**
     * Invents a lawful camera setting of this family: tone strictly rising to 109 %, chroma never rising with luma.
     *
     * @param seed the same seed gives the same profile
     */
    public Profile invent(long seed) {
        Random random = new Random(seed * 0x9E3779B97F4A7C15L + ordinal());
        String name = String.format(Locale.ROOT, "%s-%d", word, seed);
        String note = "Invented with seed " + seed + ". No camera was measured.";
        if (this == CINEMA) {
            double grey = between(random, 0.35, 0.45);
            double power = between(random, 0.76, 1.02);
            double clip = between(random, 4.9, 6);
            double toe = between(random, 0.0007, 0.0026);
            double most = between(random, 1.04, 1.24);
            double least = between(random, 0.45, 0.65);
            double[][] chroma = {{0, most}, {between(random, 0.08, 0.2), most}, {0.40, 1},
                {0.70, 1 - (1 - least) * between(random, 0.25, 0.45)}, {0.95, 1 - (1 - least) * between(random, 0.7, 0.9)}, {1.09, least}};
            return ProfileShapes.shouldered(name, "Invented, soft shoulder", note, grey, power, clip, toe, chroma);
        }
        double knee = between(random, 0.76, 0.92);
        double clip = between(random, 3.4, 4.6);
        double contrast = between(random, 0.94, 1.06);
        double least = between(random, 0.60, 0.85);
        double[][] chroma = {{0, 1}, {knee - 0.04, 1}, {0.97, 1 - (1 - least) * between(random, 0.3, 0.6)}, {1.09, least}};
        Profile straight = ProfileShapes.kneed(name, "Invented, with a knee", note, knee, clip, chroma);
        double[] stops = straight.stops();
        for (int i = 0; i < stops.length; i++) {
            stops[i] /= contrast;
        }
        return new Profile(name, straight.label(), note, stops, straight.levels(), straight.chromaLumas(), straight.chromaFactors());
    }

    private static double between(Random random, double from, double to) {
        return from + (to - from) * random.nextDouble();
    }

    /**
     * The family whose shipped tone curve bends more like a profile's above the middle: all are laid over each other at level
     * {@value #MIDDLE}, since where on the scale of light a profile has its mid grey is only a name.
     */
    public static Family of(Profile profile) {
        return misfit(profile, CINEMA.shipped()) <= misfit(profile, KNEE.shipped()) ? CINEMA : KNEE;
    }

    private static double misfit(Profile profile, Profile shipped) {
        double from = profile.lightOfLevel(MIDDLE);
        double shippedFrom = shipped.lightOfLevel(MIDDLE);
        double sum = 0;
        int n = 0;
        for (double s = -5; s < 8; s += 0.1) {
            double level = profile.levelOfLight(from * Math.pow(2, s));
            if (level < profile.ceiling()) {
                sum += Math.abs(level - shipped.solvedLevel(shippedFrom * Math.pow(2, s)));
                n++;
            }
        }
        return sum / Math.max(1, n);
    }
}
