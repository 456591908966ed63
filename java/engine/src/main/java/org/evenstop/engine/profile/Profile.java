// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.profile;

import org.evenstop.engine.curve.MonotoneCubic;

/**
 * How a camera setting turns scene light into level, and scales chroma against luma.
 *
 * <p>The <b>tone curve</b> P is given by knots of level against stops from mid grey (scene light 0.18) and interpolated by a
 * monotone cubic over stops. Below the first knot it is a straight line over light, so that light 0 and below have a level;
 * at the last knot the camera clips. It is applied to R, G and B alike. The <b>chroma curve</b> s scales the difference of
 * each channel from luma, by luma, and is constant beyond its ends.
 *
 * <p>Near its ceiling a camera curve is so flat that light can no longer be told from level. For solving, the curve is
 * therefore continued as a straight line over stops from where it gets flatter than {@value #SMALLEST_SLOPE} of level per stop
 * (see {@link #solvedLevel}); {@link #levelOfLight} is the camera as it is.
 *
 * <p>Levels are fractions (1.0 = 100 %), light is relative (0.18 = mid grey at the metered exposure).
 */
public final class Profile {
    public static final double MID_GREY = 0.18;
    /** Rise of level per stop below which light can not be told from level: 1.2 % (own choice, no source). */
    public static final double SMALLEST_SLOPE = 0.012;
    private static final double LN2 = Math.log(2);

    private final String name;
    private final String label;
    private final String note;
    private final double[] stops;
    private final double[] levels;
    private final double[] chromaLumas;
    private final double[] chromaFactors;

    private final MonotoneCubic tone;
    private final MonotoneCubic chroma;
    private final double lightFrom;
    private final double lightSlopeBelow;
    private final double stopsTrusted;
    private final double levelTrusted;
    private final double slopeTrusted;

    /**
     * @param name          identifier: lower-case letters, digits and hyphens
     * @param stops         strictly increasing, 4 to 256 of them, -20..12
     * @param levels        strictly increasing level fractions, as many, -0.07..1.0911
     * @param chromaLumas   strictly increasing luma fractions, 2 to 64
     * @param chromaFactors as many, 0.05..4
     * @throws IllegalArgumentException naming the first value that is out of bounds
     */
    public Profile(String name, String label, String note, double[] stops, double[] levels, double[] chromaLumas, double[] chromaFactors) {
        this.name = name;
        this.label = label;
        this.note = note;
        this.stops = stops.clone();
        this.levels = levels.clone();
        this.chromaLumas = chromaLumas.clone();
        this.chromaFactors = chromaFactors.clone();
        requireRange("tone knots", stops.length, 4, 256);
        requireRange("chroma knots", chromaLumas.length, 2, 64);
        if (levels.length != stops.length || chromaFactors.length != chromaLumas.length) {
            throw new IllegalArgumentException("each tone knot needs a stop and a level, each chroma knot a luma and a factor");
        }
        for (int i = 0; i < stops.length; i++) {
            requireRange("stops of tone knot " + i, stops[i], -20, 12);
            requireRange("level of tone knot " + i, 100 * levels[i], -7, 109.11);
            if (i > 0 && (stops[i] <= stops[i - 1] || levels[i] <= levels[i - 1])) {
                throw new IllegalArgumentException("tone knot " + i + " (" + stops[i] + " stops, " + 100 * levels[i]
                    + " %) must lie above the one before in both");
            }
        }
        for (int i = 0; i < chromaLumas.length; i++) {
            requireRange("luma of chroma knot " + i, 100 * chromaLumas[i], -7, 110);
            requireRange("factor of chroma knot " + i, chromaFactors[i], 0.05, 4);
            if (i > 0 && chromaLumas[i] <= chromaLumas[i - 1]) {
                throw new IllegalArgumentException("chroma knot " + i + " at luma " + 100 * chromaLumas[i] + " % must lie above the one before");
            }
        }
        tone = new MonotoneCubic(stops, levels);
        chroma = new MonotoneCubic(chromaLumas, chromaFactors);
        lightFrom = MID_GREY * Math.exp(LN2 * stops[0]);
        double firstSlope = Math.max(tone.slopeAtStart(), 1e-4);
        lightSlopeBelow = firstSlope / (LN2 * lightFrom);
        double last = stops[stops.length - 1];
        double trusted = last;
        while (trusted - 0.05 > 0 && (tone.valueAt(trusted) - tone.valueAt(trusted - 0.05)) / 0.05 < SMALLEST_SLOPE) {
            trusted -= 0.05;
        }
        stopsTrusted = trusted;
        levelTrusted = tone.valueAt(trusted);
        slopeTrusted = Math.max(SMALLEST_SLOPE, (levelTrusted - tone.valueAt(trusted - 0.02)) / 0.02);
    }

    private static void requireRange(String what, double value, double from, double to) {
        if (!(value >= from && value <= to)) {
            throw new IllegalArgumentException(what + ": " + value + " is outside " + from + " to " + to);
        }
    }

    public String name() {
        return name;
    }

    public String label() {
        return label;
    }

    /** Where the numbers come from. */
    public String note() {
        return note;
    }

    /** Level fraction the camera records for scene light; clipped at the ceiling. NaN light gives NaN. */
    public double levelOfLight(double light) {
        if (light <= lightFrom) {
            return levels[0] + (light - lightFrom) * lightSlopeBelow;
        }
        double s = Math.log(light / MID_GREY) / LN2;
        return s >= stops[stops.length - 1] ? ceiling() : tone.valueAt(s);
    }

    /** Level fraction for solving: as {@link #levelOfLight} up to the trusted level, then rising by a bounded slope without end. */
    public double solvedLevel(double light) {
        if (light <= lightFrom) {
            return levels[0] + (light - lightFrom) * lightSlopeBelow;
        }
        double s = Math.log(light / MID_GREY) / LN2;
        return s >= stopsTrusted ? levelTrusted + (s - stopsTrusted) * slopeTrusted : tone.valueAt(s);
    }

    /** The exact inverse of {@link #solvedLevel}: scene light of a level, negative below the level of light 0. */
    public double lightOfLevel(double level) {
        if (level <= levels[0]) {
            return lightFrom + (level - levels[0]) / lightSlopeBelow;
        }
        double s = level >= levelTrusted ? stopsTrusted + (level - levelTrusted) / slopeTrusted : tone.argumentOf(level);
        return MID_GREY * Math.exp(LN2 * s);
    }

    /** Level that the same scene would have had k stops brighter: P(2^k P^-1(level)). */
    public double reexposed(double level, double k) {
        return k == 0 ? level : solvedLevel(lightOfLevel(level) * Math.exp(LN2 * k));
    }

    /** s(Y'): the factor on chroma at this luma fraction. */
    public double chromaFactor(double luma) {
        return chroma.valueAt(Math.min(Math.max(luma, chromaLumas[0]), chromaLumas[chromaLumas.length - 1]));
    }

    /** Highest level the camera records, as a fraction. */
    public double ceiling() {
        return levels[levels.length - 1];
    }

    /** Level of no light at all, as a fraction. */
    public double floor() {
        return levels[0] - lightFrom * lightSlopeBelow;
    }

    /** Highest level from which light can still be told; at most the ceiling. */
    public double trustedLevel() {
        return levelTrusted;
    }

    public double[] stops() {
        return stops.clone();
    }

    public double[] levels() {
        return levels.clone();
    }

    public double[] chromaLumas() {
        return chromaLumas.clone();
    }

    public double[] chromaFactors() {
        return chromaFactors.clone();
    }
}
