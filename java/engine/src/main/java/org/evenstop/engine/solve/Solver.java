// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.solve;

import java.util.ArrayList;
import java.util.Arrays;
import java.util.List;
import java.util.Locale;
import java.util.function.DoublePredicate;
import java.util.function.DoubleUnaryOperator;
import java.util.function.ToDoubleFunction;
import org.evenstop.engine.curve.Curve;
import org.evenstop.engine.curve.MonotoneCubic;
import org.evenstop.engine.level.LumaStandard;
import org.evenstop.engine.measure.LevelSummary;
import org.evenstop.engine.measure.Measurement;
import org.evenstop.engine.measure.NoiseForecast;
import org.evenstop.engine.measure.PixelSample;
import org.evenstop.engine.measure.Skin;
import org.evenstop.engine.profile.Profile;

/**
 * Works out the one correction of a clip from its measurement, a profile and a preset.
 *
 * <p>The kept sample is taken back to scene light through the profile; k is searched on it so that the finished picture's
 * median, highlights and skin lie where the preset wants them; all of that is a function of the scene, not of how it happened
 * to be exposed, so every exposure of one scene lands on one picture as long as its light was recorded.
 */
public final class Solver {
    /** Allowed miss of a fitted curve: 0.2 % of level. */
    private static final double FIT = 0.002;
    /** Pixels used in the search where no face was asked for; all of the sample is used for the result. */
    private static final int SEARCH_PIXELS = 8192;
    /** EBU R 103 v3.0 (May 2020), Annex 1, Table 1: R'G'B' from -5 % to 105 % (5.02 at every depth). */
    private static final double R103_LOW = -44.0 / 876;
    private static final double R103_HIGH = 920.0 / 876;
    /** Where levels under black end, however far a lift would take them: inside that range (own choice, no source). */
    private static final double FARTHEST_BLACK = -0.04;
    /** Share of pixels that may leave that range. */
    private static final double R103_SHARE = 0.001;
    /** What is aimed at: half, for this is a sample of the clip and results are rounded to codes. */
    private static final double R103_AIM = 0.5 * R103_SHARE;
    /** The bright part of a picture that is kept under a level is its brightest 3 %. */
    private static final double BRIGHT_SHARE = 0.03;
    /** Stops per standard deviation in the bright half of pictures, as the mean of 24 test photographs (docs/accuracy.md). */
    private static final double USUAL_SPREAD = 0.8;
    /**
     * Where the mean of the brighter half lies between the median and the 97th percentile, what is above that counting as that: 0.775
     * and 1.881 standard deviations above the median where levels are normal (calculated).
     */
    private static final double HALF_MEAN = 0.775 / 1.881;
    /** What a percent of bright parts past their bound weighs against a percent of the brighter half (own choice, no source). */
    private static final double BRIGHT_WEIGHT = 1;
    /** Share of lumas about the median whose mean is taken for it. */
    private static final double MEDIAN_SHARE = 0.2;
    /** Share of luma levels that count as shadows. */
    private static final double SHADOWS = 0.005;
    /** How often shadows are lowered at most, each time as steeply as the preset allows (own choice, no source). */
    private static final int MOST_STEPS = 3;
    /** Share of channel values that count as highlights or less. */
    static final double HIGHLIGHTS = 0.995;
    /** Share of channel values under the top of a picture: what lies above may be noise. */
    static final double TOP = 0.9995;
    /** Least share of pixels that make a pile at one level, the levels it spans, and what may lie above it, in parts of it (own choice, no source). */
    private static final double PILE_SHARE = 0.002;
    private static final double PILE_WIDTH = 0.006;
    private static final double ABOVE_PILE = 0.1;
    /** What lies as far under a pile as it spans, in parts of it, up to where it is clear and from where it is none (own choice, no source). */
    private static final double CLEAR_PILE = 0.05;
    private static final double NO_PILE = 0.2;
    /** Parts of equal share in which what lies above the ceiling is summed. */
    private static final int HIDDEN_PARTS = 16;
    /** Share of clipped pixels from which on the median is near the ceiling to tell a spread, and from which on too near (own choice, no source). */
    private static final double LESS_TELLING = 0.3;
    private static final double MOST_TELLING = 0.4;
    /** Undone chroma may put this share of pixels beyond what the profile's camera can record, and this far (own choice, no source). */
    private static final double UNLAWFUL_SHARE = 0.001;
    private static final double UNLAWFUL_BEYOND = 0.01;
    /** Largest departure from the subject's exposure for the sake of the bright parts, in stops (own choice, no source). */
    private static final double MOST_FOR_BRIGHT = 0.9;
    /** Largest change of exposure for the sake of skin, in stops (own choice, no source). */
    private static final double MOST_FOR_SKIN = 0.125;
    /** Where a face was asked for: largest departure of the median from the subject level, and of the brighter half downwards, in stops (own choice, no source). */
    private static final double MOST_FOR_FACE = 1;
    /** Share of the room under the bright level that the brighter half may fill for it (own choice, no source): a median among folded highlights moves little. */
    private static final double ROOM_FOR_FACE = 0.5;
    /** Where a face is looked for at most, in stops from where the picture as a whole would lie. */
    private static final double FARTHEST_FOR_FACE = 3;
    /** Share of the picture under which nothing is a face that was asked for; from four times as much on it has all the say. */
    private static final double LEAST_FACE = Skin.SUBJECT_SHARE / 2;
    /** A face farther out of its range counts as this far out, a level (own choice, no source): a few dark pixels must not outweigh the picture. */
    private static final double FARTHEST_OUT = 0.1;
    /** A picture that is right within this many stops is left to within them, though another exposure may be right as well (own choice, no source). */
    private static final double SETTLED = 0.04;
    /** A picture of which no more is asked than this, a level, is left as well: where what is asked hardly changes with the exposure, little noise finds another far away (own choice, no source). */
    private static final double SETTLED_MISS = 0.004;
    /** Level by which skin must lie outside its range to move a picture by that much (own choice, no source). */
    private static final double SKIN_FAR_OUT = 0.1;
    /** Distance of the quartiles of a face's lumas to their median, at which it is taken for one thing, and for many (own choice, no source). */
    private static final double SKIN_TOGETHER = 0.6;
    private static final double SKIN_SCATTERED = 0.9;
    /** Luma under which hue is a matter of noise and rounding (own choice, no source). */
    private static final double DARKEST_SKIN = 0.1;
    /** The same to either side, where a face was asked for and nothing may come and go at a step. */
    private static final double DARKEST_SKIN_EDGE = 0.04;
    /** Steps of luma in which skin is summed, up to 1.2. */
    private static final int SKIN_BINS = 600;
    private static final double SKIN_BIN = 1.2 / SKIN_BINS;
    /** Stops between the exposures at which skin is looked at. */
    private static final double SKIN_STEP = 0.125;
    /** Stops between the exposures at which noise is foretold. */
    private static final double NOISE_STEP = 0.2;
    /** Rise of level per stop up to which no pile is told from what is merely bright, and from which on it is (own choice, no source). */
    private static final double FLAT_FOR_PILE = 0.03;
    private static final double STEEP_FOR_PILE = 0.06;
    /** Part of the limit on noise within which a clip is taken to be at it (own choice, no source). */
    private static final double NEAR_NOISE_LIMIT = 0.1;
    /** Tiles, of a quarter of a megapixel, from which on more of them are taken to bring no forecast nearer (own choice, no source). */
    private static final double MANY_TILES = 1000;

    /**
     * Share of lost light from which on the finished picture is looked at again (own choice, no source). With less, a second solution changed no test photograph by half of what is promised.
     */
    private static final double LOST_ENOUGH = 0.005;
    /** Mean change of luma by a second solution up to which a picture is settled: 1 % is promised, of which rounding takes a part (own choice, no source). */
    private static final double SETTLED_CHANGE = 0.005;
    /** How often a picture is looked at again at most, and the change of exposure from which on that is said. */
    private static final int MOST_LOOKS = 5;
    /** Steps of level in which a finished picture is taken to be written, as in 10 bits: what rounding draws together shows as a pile. */
    private static final double WRITTEN_STEPS = 876;
    private static final double NOTED_CHANGE = 0.05;
    /**
     * Mean change of luma, by an exposure that goes by nothing sure, up to which it is not worth making; of twice that all is made, and between them a part (own choice, no source).
     */
    private static final double LEAST_WORTH = 0.012;
    /** How many times that a picture may ask for where it is left in spite of it: a second solution makes little of so little (own choice, no source). */
    private static final double HARDLY_MADE = 1.4;
    /** Share of lost light up to which there is no doubt, and from which on there is nothing else: where that light lay is a guess (own choice, no source). */
    private static final double LOST_LITTLE = 0.1;
    private static final double LOST_MUCH = 0.3;
    /** Certainty of a pile under the ceiling from which on all of it counts as lost for that (own choice, no source). */
    private static final double LIKELY_PILE = 0.25;
    /** How much in doubt it is which pixels are a face (own choice, no source). */
    private static final double DOUBT_OF_FACE = 0.5;

    private final Profile profile;
    private final Preset preset;
    private final LumaStandard standard;
    private final int pixels;
    private final Planes all;
    private final boolean isPileUnderCeiling;
    /** How certain it is that light was lost there, 0..1: as large a part of those pixels counts. */
    private final double certainlyLost;
    private final int stride;
    /** Every {@code stride}-th pixel of the sample by luma. */
    private final Planes searched;
    private final LightTable table;
    /**
     * Light of the profile's ceiling, or of the highest channels recorded if they lie above it. Chroma undone through a profile that is
     * not the camera's can put channels higher still, but no such light was there.
     */
    private final double brightestLight;
    /** Whether this is the finished picture of another solver, which is looked at once only. */
    private final boolean isFinished;

    private Solver(Measurement measurement, Profile profile, Preset preset) {
        this(measurement.sample(), lawful(profile, measurement.sample()), preset);
    }

    private Solver(PixelSample sample, Profile lawful, Preset preset) {
        this(sample.standard(), lawful, preset, new LightTable(lawful), Levels.of(sample, lawful), false);
    }

    private Solver(LumaStandard standard, Profile lawful, Preset preset, LightTable table, Levels levels, boolean isFinished) {
        this.standard = standard;
        this.preset = preset;
        this.table = table;
        this.isFinished = isFinished;
        profile = lawful;
        double[] recorded = levels.recorded;
        pixels = recorded.length;
        // A face is a small part of the picture and may ask for little: of few pixels another exposure would come than of all.
        stride = preset.subject() == Subject.FACE ? 1 : Math.max(1, pixels / SEARCH_PIXELS);
        all = new Planes(levels.bare);
        double[] highest = new double[pixels];
        for (int i = 0; i < pixels; i++) {
            highest[i] = Math.max(all.bare[0][i], Math.max(all.bare[1][i], all.bare[2][i]));
            for (int c = 0; c < 3; c++) {
                double light = table.lightOf(all.bare[c][i]);
                all.light[c][i] = light;
                all.place[c][i] = table.placeOf(light);
            }
        }
        Pile pile = pileUp(highest, stride);
        double certainty = certaintyOf(pile);
        isPileUnderCeiling = certainty > 0 && pile.level + PILE_WIDTH < profile.ceiling();
        double top = isPileUnderCeiling ? pile.level : profile.ceiling() - 0.004;
        certainlyLost = isPileUnderCeiling ? certainty : 1;
        for (int i = 0; i < pixels; i++) {
            all.clipped[i] = highest[i] >= top;
            all.lumaLost[i] = all.bare[1][i] >= top;
        }
        searched = stride == 1 ? all : all.every(stride, standard);
        brightestLight = table.lightOf(Math.max(profile.ceiling(), new Ranked(recorded).at(Math.min(pixels - 1, (int) (0.9995 * pixels)))));
    }

    /**
     * Finds a level from which light was lost although it lies under the ceiling: where the picture ends in a pile of pixels at one level, with as good as nothing above and little
     * just under. An earlier correction brought down what was clipped, or the camera's ceiling is lower than the profile's. A picture of one level only tells nothing.
     *
     * @param levels highest channel of each pixel, chroma undone
     */
    private static Pile pileUp(double[] levels, int stride) {
        int n = (levels.length + stride - 1) / stride;
        double[] rising = new double[n];
        for (int j = 0; j < n; j++) {
            rising[j] = levels[j * stride];
        }
        Arrays.sort(rising);
        int first = n;
        int most = (int) (PILE_SHARE * n);
        for (int i = n - 1, end = n; i >= 0; i--) {
            while (rising[end - 1] > rising[i] + PILE_WIDTH) {
                end--;
            }
            if (end - i > most && n - end <= ABOVE_PILE * (end - i) + (1 - TOP) * n) {
                most = end - i;
                first = i;
            }
        }
        if (first == n) {
            return new Pile(Double.POSITIVE_INFINITY, 0, 0);
        }
        int under = first;
        while (under > 0 && rising[under - 1] >= rising[first] - PILE_WIDTH) {
            under--;
        }
        if (under <= (1 - TOP) * n) {
            return new Pile(Double.POSITIVE_INFINITY, 0, 0);
        }
        double blurred = (first - under) / (double) most;
        return new Pile(rising[first], Math.min(Math.max((NO_PILE - blurred) / (NO_PILE - CLEAR_PILE), 0), 1), (n - first) / (double) n);
    }

    /**
     * Pixels of a picture.
     *
     * @param bare     levels without the profile's chroma, three planes
     * @param recorded the highest channel of each pixel with it
     */
    private record Levels(double[][] bare, double[] recorded) {
        static Levels of(PixelSample sample, Profile profile) {
            Levels levels = new Levels(new double[3][sample.size()], new double[sample.size()]);
            for (int i = 0; i < levels.recorded.length; i++) {
                double r = sample.level(i, 0);
                double g = sample.level(i, 1);
                double b = sample.level(i, 2);
                double y = sample.standard().luma(r, g, b);
                double undo = 1 / profile.chromaFactor(y);
                levels.bare[0][i] = y + undo * (r - y);
                levels.bare[1][i] = y + undo * (g - y);
                levels.bare[2][i] = y + undo * (b - y);
                levels.recorded[i] = Math.max(r, Math.max(g, b));
            }
            return levels;
        }
    }

    /**
     * @param certainty that light was lost there, 0..1
     * @param share     of the pixels that lie there or above
     */
    private record Pile(double level, double certainty, double share) {
    }

    /** How certain it is that light was lost in a pile: where the profile is flat, all that is bright lies at one level. */
    private double certaintyOf(Pile pile) {
        double slope = pile.certainty > 0 ? (table.levelOf(table.lightOf(pile.level) * Math.exp(0.1 * Math.log(2))) - pile.level) / 0.1 : 0;
        return pile.certainty * Math.min(Math.max((slope - FLAT_FOR_PILE) / (STEEP_FOR_PILE - FLAT_FOR_PILE), 0), 1);
    }

    /**
     * The profile with its chroma curve weakened (all factors to one power below 1) until undoing it puts hardly a pixel beyond what
     * the profile's camera can record: above its ceiling, or far under no light. No such channel was there, so a profile that says
     * so has the wrong chroma. A camera's own profile is left as it is.
     */
    private static Profile lawful(Profile profile, PixelSample sample) {
        int step = Math.max(1, sample.size() / SEARCH_PIXELS);
        if (unlawful(profile, sample, step) <= UNLAWFUL_SHARE) {
            return profile;
        }
        double low = 0;
        double high = 1;
        for (int i = 0; i < 7; i++) {
            double middle = 0.5 * (low + high);
            if (unlawful(weakened(profile, middle), sample, step) <= UNLAWFUL_SHARE) {
                low = middle;
            } else {
                high = middle;
            }
        }
        return weakened(profile, low);
    }

    private static Profile weakened(Profile profile, double power) {
        double[] factors = profile.chromaFactors();
        for (int i = 0; i < factors.length; i++) {
            factors[i] = Math.pow(factors[i], power);
        }
        return new Profile(profile.name(), profile.label(), profile.note(), profile.stops(), profile.levels(), profile.chromaLumas(), factors);
    }

    /** Share of pixels that undoing chroma, not the recording, puts beyond the range of the profile's camera. */
    private static double unlawful(Profile profile, PixelSample sample, int step) {
        double most = profile.ceiling() + UNLAWFUL_BEYOND;
        double least = profile.floor() - UNLAWFUL_BEYOND;
        int n = 0;
        int beyond = 0;
        for (int i = 0; i < sample.size(); i += step, n++) {
            double r = sample.level(i, 0);
            double g = sample.level(i, 1);
            double b = sample.level(i, 2);
            double y = sample.standard().luma(r, g, b);
            double undo = 1 / profile.chromaFactor(y);
            double high = Math.max(r, Math.max(g, b));
            double low = Math.min(r, Math.min(g, b));
            beyond += undo > 1 && (high <= most && y + undo * (high - y) > most || low >= least && y + undo * (low - y) < least) ? 1 : 0;
        }
        return beyond / (double) Math.max(1, n);
    }

    /**
     * The correction that brings a clip to where the preset wants it.
     *
     * @param measurement with a sample of at least one pixel
     * @throws IllegalArgumentException when the measurement keeps no sample
     */
    public static Correction solve(Measurement measurement, Profile profile, Preset preset) {
        if (measurement.sample().size() == 0) {
            throw new IllegalArgumentException(measurement.clip() + ": the measurement keeps no pixels to solve on; measure the clip again");
        }
        return new Solver(measurement, profile, preset).solve(measurement);
    }

    /**
     * As {@link #solve} with the exposure given: shadows, highlights and chroma go where the preset wants them.
     *
     * @param stops of scene light, -8..8; the preset's limits on lift, pull and noise do not apply
     */
    public static Correction solveAt(Measurement measurement, Profile profile, Preset preset, double stops) {
        if (measurement.sample().size() == 0) {
            throw new IllegalArgumentException(measurement.clip() + ": the measurement keeps no pixels to solve on; measure the clip again");
        }
        if (!(stops >= -8 && stops <= 8)) {
            throw new IllegalArgumentException("exposure of " + stops + " stops is out of range; give -8 to 8");
        }
        return new Solver(measurement, profile, preset).solve(measurement, stops, new ArrayList<>());
    }

    /**
     * The correction made of curves that were found elsewhere, held to the same range of chroma and with the same notes as a
     * solved one.
     */
    static Correction completed(Measurement measurement, Profile profile, Preset preset, double k, Curve chromaIn, Curve tone,
                                Curve chromaOut, List<String> notes) {
        return new Solver(measurement, profile, preset).completed(measurement, k, chromaIn, tone, chromaOut, notes);
    }

    /** k within the preset's largest lift and pull and its limit on noise, with a note for each that held it back. */
    static double limited(Measurement measurement, Profile profile, Preset preset, double k, List<String> notes) {
        return new Solver(measurement, profile, preset).limited(measurement, k, notes);
    }

    private Correction solve(Measurement measurement) {
        List<String> notes = new ArrayList<>();
        return solve(measurement, exposure(measurement, notes), notes);
    }

    private Correction solve(Measurement measurement, double k, List<String> notes) {
        Exposed exposed = new Exposed(k, 1);
        Stretch stretch = exposed.stretch;
        double shadow = stretch.lowersShadows() ? exposed.shadowAfter() : Double.NaN;
        if (stretch.isTooFlat()) {
            notes.add("Shadows were left where they are: the picture has too little range to stretch.");
        } else if (endTooHigh(shadow)) {
            notes.add(String.format(Locale.ROOT, "Shadows end at %.0f %%, not at %.0f %%: the preset allows no steeper stretch.", 100 * shadow, preset.shadowLevel()));
        }
        DoubleUnaryOperator composed = level -> k > 0 ? heldBlack(stretch.at(profile.reexposed(level, k))) : stretch.at(profile.reexposed(level, k));
        boolean changesTone = k != 0 || stretch.lowersShadows() || stretch.foldsHighlights();
        Curve tone = changesTone ? Curve.fit(composed, FIT) : Curve.identity();
        ChromaTrim trim = preset.chromaTrim();
        // Where luma stays, what the profile did to chroma is undone and redone at one level: the two cancel.
        boolean movesChroma = changesTone && !isConstantChroma();
        boolean changesChroma = movesChroma || preset.chromaBalance() != 1 || !trim.isNone();
        Curve chromaIn = movesChroma ? Curve.fitFlatEnded(y -> 1 / profile.chromaFactor(y), FIT) : Curve.constant(1);
        DoubleUnaryOperator wanted = y -> preset.chromaBalance() * trim.factor(y, preset.subjectLevel() / 100);
        Curve chromaOut = changesChroma
            ? Curve.fitFlatEnded(movesChroma ? y -> profile.chromaFactor(y) * wanted.applyAsDouble(y) : wanted, FIT)
            : Curve.constant(1);
        return completed(measurement, k, chromaIn, tone, chromaOut, notes);
    }

    /**
     * A lift multiplies the noise of black as well: what goes under black is folded above the least level that EBU R 103 allows.
     */
    private static double heldBlack(double level) {
        return level < 0 ? level / (1 + level / FARTHEST_BLACK) : level;
    }

    /** Holds chroma to its range, says what is lost, predicts the levels: what is left to do once the curves are known. */
    private Correction completed(Measurement measurement, double k, Curve chromaIn, Curve tone, Curve chromaWanted, List<String> notes) {
        Corrected corrected = new Corrected(chromaIn, tone);
        Curve chromaOut = heldToR103(corrected, chromaWanted, notes);
        double lost = shareClippedHigh();
        if (lost > 0.001) {
            notes.add(String.format(Locale.ROOT, isPileUnderCeiling
                ? "%.1f %% of the picture ends at one level in at least one colour channel, as what was clipped does: that detail is gone and is only rolled off."
                : "%.1f %% of the picture is at the ceiling in at least one colour channel: that detail is gone and is only rolled off.", 100 * lost));
        }
        LevelSummary after = predicted(corrected);
        CorrectionOrigin origin = new CorrectionOrigin(measurement.clip(), profile.name(), preset.name(), preset.subject().word(),
            Math.round(k * 1e4) / 1e4 + 0.0, measurement.levels(), after, notes);
        return new Correction(chromaIn, tone, chromaOut, standard, origin);
    }

    private boolean isConstantChroma() {
        return Arrays.stream(profile.chromaFactors()).allMatch(f -> f == 1);
    }

    private double shareClippedHigh() {
        long n = 0;
        for (boolean lost : all.clipped) {
            n += lost ? 1 : 0;
        }
        return certainlyLost * n / pixels;
    }

    /** Stops to apply, with a note for each limit that held it back. */
    private double exposure(Measurement measurement, List<String> notes) {
        if (preset.largestLift() == 0 && preset.largestPull() == 0) {
            return preset.exposureTrim();
        }
        double solved = limited(measurement, wanted(notes), notes);
        double k = partWorthMaking(solved) * solved + preset.exposureTrim();
        // Less than a hundredth of a stop is below what can be seen or measured, and a clip that is right is best left alone.
        return Math.abs(k) < 0.01 ? 0 : k;
    }

    /**
     * The part of a change of exposure that is made, 0..1. Where a good part of the light was lost, and where a face was asked for, whose pixels noise and rounding choose, what is wanted is
     * known to a percent of level or so: a picture that lies within that of it is left there, and so a finished one stays finished.
     */
    private double partWorthMaking(double k) {
        double share = shareClippedHigh() / Math.max(certainlyLost, LIKELY_PILE);
        double doubt = Math.min(Math.max((share - LOST_LITTLE) / (LOST_MUCH - LOST_LITTLE), 0), 1);
        if (preset.subject() == Subject.FACE) {
            doubt = Math.max(doubt, DOUBT_OF_FACE * sayOfFace(new Outcome(k, stride).skin()));
        }
        if (doubt == 0 || k == 0) {
            return 1;
        }
        double change = meanChange(new Exposed(k, stride).finishedLevels(), new Exposed(0, stride).finishedLevels());
        double part = Math.max(0, change / (doubt * LEAST_WORTH) - 1);
        // What was settled at k need not be at less.
        return part < 1 && new Again(part * k).change <= HARDLY_MADE * doubt * LEAST_WORTH ? part : 1;
    }

    /** Stops that the picture asks for, whatever the preset's limits. */
    private double wanted(List<String> notes) {
        return preset.subject() == Subject.FACE ? forFace(notes) : forWhole(notes);
    }

    private double forWhole(List<String> notes) {
        double k = rootOf(this::missOfWhole, 0);
        noteOnHighlights(k, new Outcome(k, stride), notes);
        return preset.subject() == Subject.AUTO ? forSkin(k, notes) : settled(k, notes);
    }

    /**
     * The exposure at which the finished picture asks for no other, looked for from k on. At k it may: what was clipped is guessed, and where the finished picture is folded it no
     * longer shows that it was, or first shows it; and shadows that the steepest stretch leaves above their level are stretched further when solved again. So the finished picture is looked at as
     * if it were a clip, and what it asks for is added, until it stays.
     */
    private double settled(double k, List<String> notes) {
        if (isFinished || k > preset.largestLift() || k < -preset.largestPull() || !mayMoveAgain(k)) {
            return k;
        }
        double tried = k;
        double low = Double.NEGATIVE_INFINITY;
        double high = Double.POSITIVE_INFINITY;
        double moreAtLow = 0;
        double moreAtHigh = 0;
        for (int i = 0; i < MOST_LOOKS; i++) {
            Again again = new Again(tried);
            if (again.change <= SETTLED_CHANGE || again.more == 0) {
                break;
            }
            if (again.more > 0) {
                low = tried;
                moreAtLow = again.more;
            } else {
                high = tried;
                moreAtHigh = again.more;
            }
            // No farther than that brings the change down to what stays: one exposure of a scene does not part from another because it had a little more of it.
            tried = high - low < Double.POSITIVE_INFINITY ? low + (high - low) * moreAtLow / (moreAtLow - moreAtHigh)
                : tried + again.more * (1 - SETTLED_CHANGE / again.change);
        }
        if (Math.abs(tried - k) >= NOTED_CHANGE) {
            notes.add(String.format(Locale.ROOT, "Exposed %.2f stops %s than a first look asked for: so the finished picture asks for no other exposure.",
                Math.abs(tried - k), tried > k ? "brighter" : "darker"));
        }
        return tried;
    }

    private boolean mayMoveAgain(double k) {
        double share = shareClippedHigh();
        // A pile under the ceiling that is one for certain is one in the finished picture too.
        if (share >= LOST_ENOUGH) {
            return !isPileUnderCeiling || certainlyLost < 1;
        }
        return !isPileUnderCeiling && new Exposed(k, stride).shareInPile() > share + PILE_SHARE;
    }

    private boolean endTooHigh(double shadow) {
        return 100 * shadow > preset.shadowLevel() + 1;
    }

    /** A level as it comes back from a file. */
    private static double written(double level) {
        return Math.round(level * WRITTEN_STEPS) / WRITTEN_STEPS;
    }

    /** What a second solution would do to the finished picture. */
    private final class Again {
        /** Stops. */
        final double more;
        /** Of luma, mean. */
        final double change;

        Again(double k) {
            double[][] finished = new Exposed(k, stride).finishedLevels();
            for (double[] plane : finished) {
                for (int j = 0; j < plane.length; j++) {
                    plane[j] = written(plane[j]);
                }
            }
            double[] recorded = new double[finished[0].length];
            for (int j = 0; j < recorded.length; j++) {
                double luma = standard.luma(finished[0][j], finished[1][j], finished[2][j]);
                recorded[j] = luma + profile.chromaFactor(luma) * (Math.max(finished[0][j], Math.max(finished[1][j], finished[2][j])) - luma);
            }
            Solver solver = new Solver(standard, profile, preset, table, new Levels(finished, recorded), true);
            more = solver.wanted(new ArrayList<>());
            change = meanChange(solver.new Exposed(more, 1).finishedLevels(), finished);
        }
    }

    /** Of luma, mean, between two pictures in three planes. */
    private double meanChange(double[][] a, double[][] b) {
        double sum = 0;
        for (int i = 0; i < a[0].length; i++) {
            sum += Math.abs(standard.luma(a[0][i], a[1][i], a[2][i]) - standard.luma(b[0][i], b[1][i], b[2][i]));
        }
        return sum / a[0].length;
    }

    private void noteOnHighlights(double k, Outcome o, List<String> notes) {
        if (!isFinished && o.bright > preset.brightTo() / 100) {
            double byHalf = rootOf(this::missByHalf, 0);
            if (byHalf - k > 0.05) {
                notes.add(String.format(Locale.ROOT, "Lifted %.1f stops less than the subject asked for, to protect the highlights.", byHalf - k));
            }
        }
    }

    private double halfLevel() {
        return (preset.subjectLevel() + HALF_MEAN * (preset.brightLevel() - preset.subjectLevel())) / 100;
    }

    /**
     * How far a finished picture lies over what the preset wants of its median and its brighter half, in level: rising with the exposure, 0 where that is right. Where two
     * demands differ, the greater asks for the lower exposure, the lesser for the higher. The brighter half has the say, but for less than a stop: a blown-out window must not
     * turn the room to night. All of that is asked of the finished picture, so it is the same when asked again.
     */
    private double missByHalf(Outcome o) {
        double half = o.brighterHalf - halfLevel();
        return Math.max(Math.min(half, o.median - subjectAt(-MOST_FOR_BRIGHT)), o.median - subjectAt(MOST_FOR_BRIGHT));
    }

    /** The same, against which bright parts past their bound weigh. */
    private double missOfWhole(Outcome o) {
        double held = o.brighterHalf - halfLevel() + BRIGHT_WEIGHT * Math.max(0, o.bright - preset.brightTo() / 100);
        return Math.min(o.median - subjectAt(-MOST_FOR_BRIGHT), Math.max(missByHalf(o), held));
    }

    /** How much a face that was asked for has to say, 0..1: without a step, the more of it there is. */
    private static double sayOfFace(FoundSkin skin) {
        return Math.min(Math.max((skin.share - LEAST_FACE) / (3 * LEAST_FACE), 0), 1);
    }

    /** The same as {@link #missOfWhole} where a face was asked for, which is wanted in its range as far as the rest of the picture allows. */
    private double missWithFace(Outcome o) {
        double whole = missOfWhole(o);
        FoundSkin skin = o.skin();
        double say = sayOfFace(skin);
        if (say == 0) {
            return whole;
        }
        double over = Math.max(skin.level - preset.skinFrom() / 100, -FARTHEST_OUT);
        double under = Math.min(skin.level - preset.skinTo() / 100, FARTHEST_OUT);
        double miss = whole + say * (Math.max(Math.min(whole, over), under) - whole);
        double fullest = halfLevel() + ROOM_FOR_FACE * (preset.brightLevel() / 100 - halfLevel());
        double most = Math.max(o.median - subjectAt(MOST_FOR_FACE), o.brighterHalf - fullest);
        double least = Math.min(o.median - subjectAt(-MOST_FOR_FACE), o.brighterHalf - profile.reexposed(halfLevel(), -MOST_FOR_FACE));
        // Neither bound moves a picture that its face leaves where it is.
        return Math.min(Math.max(least, whole), Math.max(miss, Math.min(most, whole)));
    }

    private double forFace(List<String> notes) {
        double k = settled(faceExposure(), notes);
        Outcome o = new Outcome(k, 1);
        FoundSkin skin = o.skin();
        double say = sayOfFace(skin);
        noteOnHighlights(k, o, notes);
        if (say == 0) {
            notes.add("No face was found; the whole picture was taken for the subject.");
        } else if (say > 0.6) {
            noteOnSkin(skin.level, notes);
        }
        return k;
    }

    /**
     * The exposure at which {@link #missWithFace} is 0. What counts as skin changes with the exposure, so there may be several: the first on the way from where the
     * picture as a whole would lie counts, which does not depend on how a clip was exposed. But a clip that is right stays, so that a finished
     * one is not taken to another.
     */
    private double faceExposure() {
        if (missWithFace(new Outcome(-SETTLED, stride)) <= FIT && missWithFace(new Outcome(SETTLED, stride)) >= -FIT) {
            return rootOf(this::missWithFace, 0, -SETTLED, SETTLED);
        }
        if (Math.abs(missWithFace(new Outcome(0, stride))) <= SETTLED_MISS) {
            return 0;
        }
        double whole = rootOf(this::missOfWhole, 0);
        double side = missWithFace(new Outcome(whole, stride)) < 0 ? 1 : -1;
        for (double near = 0; near < FARTHEST_FOR_FACE; near += SKIN_STEP) {
            double one = whole + side * near;
            double other = one + side * SKIN_STEP;
            if (side * missWithFace(new Outcome(other, stride)) >= 0) {
                return rootOf(this::missWithFace, 0, Math.min(one, other), Math.max(one, other));
            }
        }
        return whole + side * FARTHEST_FOR_FACE;
    }

    private void noteOnSkin(double level, List<String> notes) {
        double under = preset.skinFrom() - 100 * level;
        double out = Math.max(under, 100 * level - preset.skinTo());
        if (out > 2) {
            notes.add(String.format(Locale.ROOT, "Skin stays %.0f %% of level %s its range: the rest of the picture would suffer.", out, out == under ? "under" : "over"));
        }
    }

    /**
     * Where a median that lies at the preset's subject level ends when it is re-exposed. Bounds in stops are asked of the finished picture as
     * levels, so they hold when asked again.
     */
    private double subjectAt(double stops) {
        return profile.reexposed(preset.subjectLevel() / 100, stops);
    }

    private double limited(Measurement measurement, double wanted, List<String> notes) {
        double k = wanted;
        if (k > preset.largestLift()) {
            notes.add(String.format(Locale.ROOT, "Wanted a lift of %.1f stops; the preset allows %.1f.", k, preset.largestLift()));
            k = preset.largestLift();
        }
        if (k < -preset.largestPull()) {
            notes.add(String.format(Locale.ROOT, "Wanted a pull of %.1f stops; the preset allows %.1f.", -k, preset.largestPull()));
            k = -preset.largestPull();
        }
        return forNoise(measurement, k, notes);
    }

    /**
     * Where no face was asked for, skin outside its range is brought a little towards the nearer end of it; never towards one shade inside. What counts as
     * skin is judged with the median at the subject level, which does not depend on how the clip was exposed.
     */
    private double forSkin(double k, List<String> notes) {
        double bySubject = rootOf(o -> o.median, preset.subjectLevel() / 100);
        double share = new Outcome(bySubject, 1).skinShare();
        double least = 2 * Skin.SUBJECT_SHARE;
        if (share < least) {
            return settled(k, notes);
        }
        boolean[] marked = new Outcome(bySubject, stride).skinPixels();
        double level = new Exposed(k, stride).skinLevel(marked);
        boolean rises = level < preset.skinFrom() / 100;
        if (!rises && !(level > preset.skinTo() / 100)) {
            return settled(k, notes);
        }
        // It may push the bright parts a little further than the picture as a whole, but not without end.
        double up = rises ? Math.max(0, Math.min(MOST_FOR_SKIN, rootOf(o -> o.bright, Math.min(preset.brightTo() + 4, 108) / 100) - k)) : 0;
        double within = skinInRange(k, rises ? up : -MOST_FOR_SKIN, marked);
        if (within == k) {
            return settled(k, notes);
        }
        // Skin counts more the more of it there is, without a step at which one exposure of a scene would part from another.
        double weight = Math.min(1, (share - least) / (3 * least));
        double certainty = new Exposed(k, stride).skinCertainty(marked);
        double held = settled(Math.min(Math.max(within, k - weight * certainty * MOST_FOR_SKIN), k + weight * certainty * up), notes);
        if (share > 3 * least && certainty > 0.5) {
            noteOnSkin(new Exposed(held, stride).skinLevel(marked), notes);
        }
        return held;
    }

    /**
     * The exposure nearest to k, up to so many stops further, that has skin in the preset's range; the end where none has. What is skin
     * changes with the exposure, so its level may cross the range more than once: the first crossing counts.
     *
     * @param stops up where skin lies under its range, down where it lies over it
     */
    private double skinInRange(double k, double stops, boolean[] marked) {
        double side = stops < 0 ? -1 : 1;
        double target = (stops < 0 ? preset.skinTo() : preset.skinFrom()) / 100;
        DoublePredicate isReached = less -> side * (new Exposed(k + side * less, stride).skinLevel(marked) - target) >= 0;
        return k + side * nearest(isReached, Math.abs(stops), SKIN_STEP);
    }

    /** The least distance at which something holds that does not at 0, looked for in steps and then found to 1e-4; the end where it holds nowhere. */
    private static double nearest(DoublePredicate holds, double end, double step) {
        double far = 0;
        for (double near = 0; near < end; near = far) {
            far = Math.min(near + step, end);
            if (holds.test(far)) {
                return crossing(holds, near, far);
            }
        }
        return far;
    }

    /** Where something that does not hold at one place and holds at a farther one begins to, to 1e-4. */
    private static double crossing(DoublePredicate holds, double near, double far) {
        double low = near;
        double high = far;
        while (high - low > 1e-4) {
            double middle = 0.5 * (low + high);
            if (holds.test(middle)) {
                high = middle;
            } else {
                low = middle;
            }
        }
        return high;
    }

    private double forNoise(Measurement measurement, double k, List<String> notes) {
        if (k <= 0 || !measurement.tellsNoise()) {
            return k;
        }
        double limit = mostNoise(measurement);
        DoublePredicate isQuiet = less -> noiseAfter(measurement, k - less) <= limit;
        double less = isQuiet.test(0) ? 0 : nearest(isQuiet, k, NOISE_STEP);
        if (less > 0.05) {
            notes.add(limit <= preset.noiseLimit()
                ? String.format(Locale.ROOT, "Lifted %.1f stops less than asked for, to keep noise at or under %.2f %% of level.", less, limit)
                : String.format(Locale.ROOT, "The clip is noisier without a lift (%.2f %%) than the preset allows after one (%.2f %%); it was lifted %.1f stops less than asked for.",
                    limit, preset.noiseLimit(), less));
        }
        return k - less;
    }

    /**
     * The most noise of a finished picture, percent of level: the preset's limit. But what comes within a tenth of it without a lift is taken to be at it, and is lifted only as far as its
     * noise does not grow; over a tenth more the one goes over into the other without a step. So a picture that was held back by noise is not lifted again where it turned out
     * quieter than foretold. That tenth is wider where few tiles tell, for the less is known of their noise.
     */
    private double mostNoise(Measurement measurement) {
        double withoutLift = noiseAfter(measurement, 0);
        double tiles = measurement.noiseTiles() == 0 ? MANY_TILES : Math.min(measurement.noiseTiles(), MANY_TILES);
        double near = NEAR_NOISE_LIMIT * Math.sqrt(MANY_TILES / tiles);
        double limit = preset.noiseLimit();
        return Math.max(withoutLift, limit - Math.max(0, withoutLift - limit * (1 - 2 * near)));
    }

    /** Noise of the finished picture, percent of level. */
    private double noiseAfter(Measurement measurement, double k) {
        Stretch stretch = new Exposed(k, stride).stretch;
        return NoiseForecast.noiseAfter(measurement, level -> stretch.at(profile.reexposed(level, k)));
    }

    /** Standard normal quantile for 0.5 < p < 1, to 4.5e-4 (M. Abramowitz and I. A. Stegun, 26.2.23). */
    private static double normalQuantile(double p) {
        double t = Math.sqrt(-2 * Math.log(1 - p));
        return t - (2.515517 + t * (0.802853 + t * 0.010328)) / (1 + t * (1.432788 + t * (0.189269 + t * 0.001308)));
    }

    /** Stops at which a statistic that rises with them reaches a target, to 1e-4; the nearer end of -8..8 where it never does. */
    private double rootOf(ToDoubleFunction<Outcome> statistic, double target) {
        return rootOf(statistic, target, -8, 8);
    }

    /** The same between two exposures. */
    private double rootOf(ToDoubleFunction<Outcome> statistic, double target, double from, double to) {
        double low = from;
        double high = to;
        double missLow = Double.NaN;
        double missHigh = Double.NaN;
        for (int i = 0; high - low > 1e-4 && i < 40; i++) {
            double next = 0.5 * (low + high);
            // Where both ends are near, the crossing of the line between them, held a little off the ends so that both close in.
            if (high - low <= 1 && missLow == missLow && missHigh == missHigh && i % 3 != 2) {
                double share = missLow / (missLow - missHigh);
                next = low + (high - low) * Math.min(Math.max(share, 0), 1);
                next = Math.min(Math.max(next + (share < 0.5 ? 4e-5 : -4e-5), low + 4e-5), high - 4e-5);
            }
            double miss = statistic.applyAsDouble(new Outcome(next, stride)) - target;
            if (miss < 0) {
                low = next;
                missLow = miss;
            } else {
                high = next;
                missHigh = miss;
            }
        }
        return 0.5 * (low + high);
    }

    /** @param level of it, a fraction; NaN where there is none */
    private record FoundSkin(double share, double level) {
    }

    /** Pixels as the search wants them, in planes of red, green and blue. */
    private static final class Planes {
        private static final int LUMA_STEPS = 8192;

        final int size;
        final double[][] light;
        /** The same as places in the table, so that a change of exposure is a sum. */
        final double[][] place;
        /** Levels without the profile's chroma. */
        final double[][] bare;
        /** Pixels with a channel at the profile's ceiling, or in a pile under it: their light is at least what is recorded. */
        final boolean[] clipped;
        /** Pixels whose luma is lost: green, most of luma, is at the ceiling. */
        final boolean[] lumaLost;

        Planes(double[][] bare) {
            this.bare = bare;
            size = bare[0].length;
            light = new double[3][size];
            place = new double[3][size];
            clipped = new boolean[size];
            lumaLost = new boolean[size];
        }

        /** Every so many-th of them by luma, so that few have the same levels of shadows, median and highlights as all. */
        Planes every(int step, LumaStandard standard) {
            int[] rising = byLuma(standard);
            Planes some = new Planes(new double[3][(size - step / 2 + step - 1) / step]);
            for (int r = step / 2, j = 0; r < size; r += step, j++) {
                int i = rising[r];
                for (int c = 0; c < 3; c++) {
                    some.light[c][j] = light[c][i];
                    some.place[c][j] = place[c][i];
                    some.bare[c][j] = bare[c][i];
                }
                some.clipped[j] = clipped[i];
                some.lumaLost[j] = lumaLost[i];
            }
            return some;
        }

        /** Pixels by rising luma, in steps of which a 10-bit code has seven. */
        private int[] byLuma(LumaStandard standard) {
            int[] step = new int[size];
            int[] next = new int[LUMA_STEPS + 1];
            for (int i = 0; i < size; i++) {
                double luma = standard.luma(bare[0][i], bare[1][i], bare[2][i]);
                step[i] = (int) Math.min(Math.max((luma + 0.1) / 1.3 * LUMA_STEPS, 0), LUMA_STEPS - 1);
                next[step[i] + 1]++;
            }
            for (int k = 0; k < LUMA_STEPS; k++) {
                next[k + 1] += next[k];
            }
            int[] rising = new int[size];
            for (int i = 0; i < size; i++) {
                rising[next[step[i]]++] = i;
            }
            return rising;
        }
    }

    /** The picture after k stops, and the stretch that goes with it. */
    private class Exposed {
        final double medianBefore;
        final Stretch stretch;
        /** The stretch that the picture would get had all of its light been recorded; levels are judged through it. */
        final Stretch aim;
        /** Levels without the profile's chroma, three planes. */
        final double[][] v;
        /** Share of pixels whose luma is lost, the light where that share begins, and that of the median. */
        final double lost;
        final double edge;
        final double middle;

        Exposed(double k, int step) {
            Planes planes = step == 1 ? all : searched;
            int n = planes.size;
            v = new double[3][n];
            double[] lumas = new double[n];
            double[] highests = new double[n];
            int gone = 0;
            int touched = 0;
            double gain = k == 0 ? 1 : Math.exp(Math.log(2) * k);
            double shift = k * LightTable.PER_STOP;
            for (int j = 0; j < n; j++) {
                for (int c = 0; c < 3; c++) {
                    v[c][j] = k == 0 ? planes.bare[c][j] : table.levelAt(planes.place[c][j] + shift, planes.light[c][j] * gain);
                }
                lumas[j] = lumaOfLight(v[0][j], v[1][j], v[2][j]);
                highests[j] = Math.max(v[0][j], Math.max(v[1][j], v[2][j]));
                gone += planes.lumaLost[j] ? 1 : 0;
                touched += planes.clipped[j] ? 1 : 0;
            }
            Ranked luma = new Ranked(lumas);
            Ranked highest = new Ranked(highests);
            medianBefore = luma.at(n / 2);
            double ceiling = table.levelOf(brightestLight * gain);
            List<Shadows> lowering = lowering(v, luma);
            double top = Math.min(ceiling, highest.at(Math.min(n - 1, (int) (TOP * n))));
            double highlights = Math.min(top, highest.at(Math.min(n - 1, (int) (HIGHLIGHTS * n))));
            stretch = new Stretch(lowering, highlights, top, preset.highlightLevel() / 100);
            lost = certainlyLost * gone / n;
            edge = table.lightOf(luma.at(Math.min(n - 1, (int) ((1 - lost) * n))));
            middle = table.lightOf(medianBefore);
            // What is clipped would have been folded with the rest: judged without that, it would look brighter than where it was recorded.
            double cut = certainlyLost * touched / n;
            double ceilingLight = table.lightOf(highest.at(Math.min(n - 1, (int) ((1 - cut) * n))));
            aim = cut > 1 - TOP
                ? new Stretch(lowering, Math.max(highlights, guessed(HIGHLIGHTS, cut, ceilingLight, middle)),
                    Math.max(top, guessed(TOP, cut, ceilingLight, middle)), preset.highlightLevel() / 100)
                : stretch;
        }

        /**
         * What lowers the shadows, once and, where they end too high, again: as the finished picture would be if it were solved as a clip. At least one step, which may leave them.
         *
         * @param v    levels of the three channels
         * @param luma of them
         */
        private List<Shadows> lowering(double[][] v, Ranked luma) {
            List<Shadows> steps = new ArrayList<>();
            double[][] levels = v;
            Ranked ranked = luma;
            while (true) {
                double median = ranked.at(levels[0].length / 2);
                Shadows step = new Shadows(loweredFrom(levels, ranked, median), shadowTarget(), median, preset.steepest());
                if (!steps.isEmpty() && !step.isLowered()) {
                    return steps;
                }
                steps.add(step);
                if (!step.isLowered() || steps.size() == MOST_STEPS) {
                    return steps;
                }
                double[][] after = new double[3][levels[0].length];
                double[] lumas = new double[levels[0].length];
                for (int j = 0; j < lumas.length; j++) {
                    for (int c = 0; c < 3; c++) {
                        after[c][j] = step.at(levels[c][j]);
                    }
                    lumas[j] = lumaOfLight(after[0][j], after[1][j], after[2][j]);
                }
                ranked = new Ranked(lumas);
                if (ranked.at((int) (SHADOWS * lumas.length)) <= shadowTarget() + Shadows.RAISED) {
                    return steps;
                }
                levels = after;
            }
        }

        /**
         * The level that a step has to take down to the shadow level so that the shadows end there. That is their own level where
         * they are grey; channels of dark colours lie about it, and those above the subject are not lowered.
         *
         * @param v    levels of the three channels
         * @param luma of them
         */
        private double loweredFrom(double[][] v, Ranked luma, double median) {
            int n = v[0].length;
            double shadow = luma.at((int) (SHADOWS * n));
            double target = shadowTarget();
            double most = Math.min(median - 0.03, median - (median - target) / preset.steepest());
            if (shadow <= target + Shadows.RAISED || shadow >= most) {
                return shadow;
            }
            // What ends as the shadows is among the darkest fifth: dark colours fall behind greys, but not by more.
            double limit = luma.at((int) (0.2 * n));
            double[][] dark = new double[3][n / 5 + 2];
            int count = 0;
            for (int j = 0; j < n && count < dark[0].length; j++) {
                if (lumaOfLight(v[0][j], v[1][j], v[2][j]) <= limit) {
                    for (int c = 0; c < 3; c++) {
                        dark[c][count] = v[c][j];
                    }
                    count++;
                }
            }
            double[] after = new double[count];
            double low = shadow;
            double high = most;
            for (int i = 0; i < 10 && high - low > 2e-4; i++) {
                double tried = i == 0 ? low : 0.5 * (low + high);
                Shadows lowered = new Shadows(tried, target, median, preset.steepest());
                for (int j = 0; j < count; j++) {
                    after[j] = lumaOfLight(lowered.at(dark[0][j]), lowered.at(dark[1][j]), lowered.at(dark[2][j]));
                }
                double ends = new Ranked(after).at(Math.min(count - 1, (int) (SHADOWS * n)));
                if (ends > target + (i == 0 ? Shadows.RAISED : 0)) {
                    low = tried;
                } else if (i == 0) {
                    return shadow;
                } else {
                    high = tried;
                }
            }
            return 0.5 * (low + high);
        }

        /** Levels after the stretch, three planes. */
        final double[][] finishedLevels() {
            double[][] after = new double[3][v[0].length];
            for (int c = 0; c < 3; c++) {
                for (int j = 0; j < v[c].length; j++) {
                    after[c][j] = stretch.at(v[c][j]);
                }
            }
            return after;
        }

        /** Share of the finished picture that would pass for lost in a pile at one level, as certain as it is: a fold or a pull draws together what noise had blurred. */
        double shareInPile() {
            double[] levels = new double[v[0].length];
            for (int j = 0; j < levels.length; j++) {
                levels[j] = written(stretch.at(Math.max(v[0][j], Math.max(v[1][j], v[2][j]))));
            }
            Pile pile = pileUp(levels, 1);
            return certaintyOf(pile) * pile.share;
        }

        /** Where shadows end. */
        double shadowAfter() {
            double[] after = new double[v[0].length];
            for (int j = 0; j < after.length; j++) {
                after[j] = lumaOfLight(aim.at(v[0][j]), aim.at(v[1][j]), aim.at(v[2][j]));
            }
            return new Ranked(after).at((int) (SHADOWS * after.length));
        }

        /** Where shadows go that lie higher; out of reach where the preset leaves them. */
        private double shadowTarget() {
            return preset.keepsExposure() ? 10 : preset.shadowLevel() / 100;
        }

        /** The level of a percentile that was clipped, halfway in stops from the ceiling to where it would be if log light were normal. */
        private double guessed(double percentile, double lost, double edge, double middle) {
            return lost > 1 - percentile ? table.levelOf(Math.sqrt(edge * hiddenLight(percentile, lost, edge, middle))) : 0;
        }

        final double hiddenLight(double percentile, double lost, double edge, double middle) {
            double deviations = lost < 0.5 ? normalQuantile(1 - lost) : 0;
            double tells = middle > 0 && edge > middle ? Math.min(Math.max((MOST_TELLING - lost) / (MOST_TELLING - LESS_TELLING), 0), 1) : 0;
            double told = tells > 0 ? USUAL_SPREAD + tells * (Math.log(edge / middle) / Math.log(2) / deviations - USUAL_SPREAD) : USUAL_SPREAD;
            double stops = 0.5 * (told + USUAL_SPREAD) * (normalQuantile(percentile) - deviations);
            return edge * Math.pow(2, Math.min(Math.max(stops, 0), 2));
        }

        /**
         * Level of skin in the finished picture; NaN where there is none.
         *
         * @param marked what counts as skin, as of an outcome of the same step
         */
        double skinLevel(boolean[] marked) {
            double[] luma = skinLumas(marked);
            return luma.length == 0 ? Double.NaN : middleMean(luma, luma.length, 0.5);
        }

        /** Lumas of skin in the finished picture, rising. */
        private double[] skinLumas(boolean[] marked) {
            double[] luma = new double[marked.length];
            int n = 0;
            for (int j = 0; j < luma.length; j++) {
                if (marked[j]) {
                    luma[n++] = standard.luma(aim.at(v[0][j]), aim.at(v[1][j]), aim.at(v[2][j]));
                }
            }
            Arrays.sort(luma, 0, n);
            return Arrays.copyOf(luma, n);
        }

        /**
         * How much skin has to say where no face was asked for, 0..1: all where it lies well outside its range and its lumas near each other, as
         * those of a face do; less the nearer it lies, so that a little noise moves little, and nothing where things of its colour lie
         * scattered from dark to bright.
         */
        double skinCertainty(boolean[] marked) {
            double[] luma = skinLumas(marked);
            int n = luma.length;
            if (n == 0) {
                return 0;
            }
            double level = middleMean(luma, n, 0.5);
            double outside = Math.max(preset.skinFrom() / 100 - level, level - preset.skinTo() / 100);
            double scatter = (luma[3 * n / 4] - luma[n / 4]) / Math.max(luma[n / 2], 0.01);
            double together = (SKIN_SCATTERED - scatter) / (SKIN_SCATTERED - SKIN_TOGETHER);
            return Math.min(Math.max(outside / SKIN_FAR_OUT, 0), 1) * Math.min(Math.max(together, 0), 1);
        }

        /** Mean of the middle share of rising values: a median that does not jump where few values lie about it. */
        static double middleMean(double[] rising, int n, double share) {
            int from = middleFrom(n, share);
            int to = n - 1 - from;
            double sum = 0;
            for (int i = from; i <= to; i++) {
                sum += rising[i];
            }
            return sum / (to - from + 1);
        }

        static int middleFrom(int n, double share) {
            return (int) (0.5 * (1 - share) * (n - 1));
        }
    }

    /** The same after the stretch, as far as the search needs it. */
    private final class Outcome extends Exposed {
        final double median;
        final double brighterHalf;
        final double bright;
        /** Finished levels without the profile's chroma, three planes. */
        private final double[][] finished = new double[3][v[0].length];

        Outcome(double k, int step) {
            super(k, step);
            int n = v[0].length;
            double[] lumas = new double[n];
            for (int j = 0; j < n; j++) {
                for (int c = 0; c < 3; c++) {
                    finished[c][j] = aim.at(v[c][j]);
                }
                lumas[j] = standard.luma(finished[0][j], finished[1][j], finished[2][j]);
            }
            double[] luma = new Ranked(lumas).rising(middleFrom(n, MEDIAN_SHARE), n);
            median = middleMean(luma, n, MEDIAN_SHARE);
            brighterHalf = brighterHalf(luma);
            bright = lost < BRIGHT_SHARE ? luma[Math.min(n - 1, (int) ((1 - BRIGHT_SHARE) * n))] : hidden(1 - BRIGHT_SHARE);
        }

        /**
         * Mean luma of the brighter half of the picture, in which what lies above the preset's bright level counts as that level: how
         * bright lamps and skies are says little about how a picture should be exposed, and what is clipped is no longer known.
         *
         * @param luma rising from its middle on
         */
        private double brighterHalf(double[] luma) {
            int n = luma.length;
            double most = preset.brightLevel() / 100;
            int from = n / 2;
            int recorded = Math.max(from, Math.min(n, (int) Math.ceil((1 - lost) * n)));
            double sum = 0;
            for (int j = from; j < recorded; j++) {
                sum += Math.min(luma[j], most);
            }
            if (recorded < n) {
                double above = 0;
                double share = Math.max(0.5, 1 - lost);
                for (int j = 0; j < HIDDEN_PARTS; j++) {
                    above += Math.min(hidden(share + (1 - share) * (j + 0.5) / HIDDEN_PARTS), most);
                }
                sum += above / HIDDEN_PARTS * (n - recorded);
            }
            return sum / (n - from);
        }

        /**
         * A percentile of luma after the stretch that was not recorded, since it lies in the clipped share: the distribution of log
         * light is continued as if it were normal, with a spread halfway between that from the median to the ceiling and the
         * usual one; in 24 test photographs neither alone came nearer.
         */
        private double hidden(double percentile) {
            return aim.at(table.levelOf(hiddenLight(percentile, lost, edge, middle)));
        }

        /** Skin where a face was asked for: each pixel counts as surely as it is skin, so share and level move without a step. */
        FoundSkin skin() {
            double[] bins = new double[SKIN_BINS + 2];
            double sum = 0;
            for (int j = 0; j < finished[0].length; j++) {
                double r = finished[0][j];
                double b = finished[2][j];
                double y = standard.luma(r, finished[1][j], b);
                double bright = (y - DARKEST_SKIN + DARKEST_SKIN_EDGE) / (2 * DARKEST_SKIN_EDGE);
                // Nothing is skin whose red is not above its luma and its blue not under it.
                if (!(bright > 0 && r > y && b < y)) {
                    continue;
                }
                double s = profile.chromaFactor(y);
                double weight = Skin.likeness(y, s * (b - y) / standard.cbDivisor(), s * (r - y) / standard.crDivisor()) * Math.min(bright, 1);
                if (weight > 0) {
                    double at = Math.min(y / SKIN_BIN, SKIN_BINS);
                    int i = (int) at;
                    bins[i] += weight * (1 - (at - i));
                    bins[i + 1] += weight * (at - i);
                    sum += weight;
                }
            }
            // The mean of the middle half, as a median that does not jump.
            double mean = 0;
            double below = 0;
            for (int i = 0; i < bins.length; i++) {
                double from = Math.max(below, 0.25 * sum);
                below += bins[i];
                double to = Math.min(below, 0.75 * sum);
                mean += to > from ? (to - from) * i * SKIN_BIN : 0;
            }
            return new FoundSkin(sum / finished[0].length, sum > 0 ? mean / (0.5 * sum) : Double.NaN);
        }

        double skinShare() {
            int n = 0;
            for (boolean counts : skinPixels()) {
                n += counts ? 1 : 0;
            }
            return n / (double) finished[0].length;
        }

        /** The pixels that count as skin in the finished picture, with the profile's chroma redone. */
        boolean[] skinPixels() {
            boolean[] counts = new boolean[finished[0].length];
            for (int j = 0; j < counts.length; j++) {
                double r = finished[0][j];
                double b = finished[2][j];
                double y = standard.luma(r, finished[1][j], b);
                double s = profile.chromaFactor(y);
                counts[j] = y >= DARKEST_SKIN && Skin.counts(y, s * (b - y) / standard.cbDivisor(), s * (r - y) / standard.crDivisor());
            }
            return counts;
        }
    }

    /**
     * chromaOut, cut at those lumas where more than 0.1 % of the pixels that were inside the range of EBU R 103 would leave it.
     */
    private Curve heldToR103(Corrected corrected, Curve chromaOut, List<String> notes) {
        int zones = 48;
        double[][] room = new double[zones][16];
        int[] counts = new int[zones];
        int leaving = 0;
        for (int i = 0; i < pixels; i++) {
            double most = corrected.largestFactor[i];
            if (most != most) {
                continue;
            }
            leaving += chromaOut.at((float) corrected.luma[i]) > most ? 1 : 0;
            int zone = zoneOf(corrected.luma[i], zones);
            if (counts[zone] == room[zone].length) {
                room[zone] = Arrays.copyOf(room[zone], 2 * counts[zone]);
            }
            room[zone][counts[zone]++] = most;
        }
        if (leaving <= R103_AIM * pixels) {
            return chromaOut;
        }
        for (int z = 0; z < zones; z++) {
            Arrays.sort(room[z], 0, counts[z]);
        }
        notes.add(String.format(Locale.ROOT, "Chroma was held back where %.1f %% of the picture would have left the range of EBU R 103.",
            100.0 * leaving / pixels));
        // Half of the allowance in each zone: zones are interpolated, so a little more than that leaves in the end; where it is too much, less.
        Curve held = chromaOut;
        for (double allowance = 0.5; allowance > 0.01; allowance *= 0.5) {
            held = cut(chromaOut, room, counts, allowance * R103_SHARE);
            if (corrected.leaving(held) <= R103_AIM * pixels) {
                break;
            }
        }
        return held;
    }

    /**
     * chromaOut, cut so that in each zone of luma no more than a share of its pixels leaves.
     *
     * @param room   largest factor of each pixel by zone, of which the first {@code counts} of each count, rising
     */
    private static Curve cut(Curve chromaOut, double[][] room, int[] counts, double share) {
        int zones = room.length;
        double[] lumas = new double[zones];
        double[] limits = new double[zones];
        double width = (Curve.DOMAIN_TO - Curve.DOMAIN_FROM) / zones;
        for (int z = 0; z < zones; z++) {
            lumas[z] = Curve.DOMAIN_FROM + (z + 0.5) * width;
            double limit = counts[z] == 0 ? Double.POSITIVE_INFINITY : room[z][(int) (share * counts[z])];
            limits[z] = Math.max(0, Math.min(limit, chromaOut.at((float) lumas[z])));
        }
        double[] lowered = limits.clone();
        for (int z = 0; z < zones; z++) {
            for (int other = Math.max(0, z - 1); other <= Math.min(zones - 1, z + 1); other++) {
                lowered[z] = Math.min(lowered[z], limits[other]);
            }
        }
        MonotoneCubic cut = new MonotoneCubic(lumas, lowered);
        return Curve.fitFlatEnded(y -> Math.min(cut.valueAt(Math.min(Math.max(y, lumas[0]), lumas[zones - 1])), chromaOut.at((float) y)), FIT);
    }

    /** Luma of channels of which none counts as less than no light: what lies under it is noise, which a lift multiplies, and would pass for shadows. */
    private double lumaOfLight(double r, double g, double b) {
        return standard.luma(Math.max(r, 0), Math.max(g, 0), Math.max(b, 0));
    }

    private static int zoneOf(double luma, int zones) {
        int zone = (int) ((luma - Curve.DOMAIN_FROM) / (Curve.DOMAIN_TO - Curve.DOMAIN_FROM) * zones);
        return Math.max(0, Math.min(zones - 1, zone));
    }

    /** The sample after chromaIn and tone, before chromaOut. */
    private final class Corrected {
        final double[] luma = new double[pixels];
        /** The largest factor on chroma with which a pixel stays inside the range of EBU R 103; NaN where it was not inside before. */
        final double[] largestFactor = new double[pixels];

        Corrected(Curve chromaIn, Curve tone) {
            for (int i = 0; i < pixels; i++) {
                // bare is the input with the profile's chroma undone; what chromaIn does may be less when chroma is left alone.
                double bareR = all.bare[0][i];
                double bareG = all.bare[1][i];
                double bareB = all.bare[2][i];
                double y = standard.luma(bareR, bareG, bareB);
                double kept = profile.chromaFactor(y);
                double again = chromaIn.at((float) y) * kept;
                double r = tone.at((float) (y + again * (bareR - y)));
                double g = tone.at((float) (y + again * (bareG - y)));
                double b = tone.at((float) (y + again * (bareB - y)));
                luma[i] = standard.luma(r, g, b);
                boolean wasInside = y + kept * (Math.min(bareR, Math.min(bareG, bareB)) - y) >= R103_LOW
                    && y + kept * (Math.max(bareR, Math.max(bareG, bareB)) - y) <= R103_HIGH;
                largestFactor[i] = wasInside ? largestFactor(r, g, b, luma[i]) : Double.NaN;
            }
        }

        private static double largestFactor(double r, double g, double b, double luma) {
            double lowest = Math.min(r, Math.min(g, b)) - luma;
            double highest = Math.max(r, Math.max(g, b)) - luma;
            double below = lowest < -1e-6 ? (R103_LOW - luma) / lowest : Double.POSITIVE_INFINITY;
            double above = highest > 1e-6 ? (R103_HIGH - luma) / highest : Double.POSITIVE_INFINITY;
            return Math.max(0, Math.min(below, above));
        }

        /** How many pixels that were inside the range of EBU R 103 leave it. */
        int leaving(Curve chromaOut) {
            int n = 0;
            for (int i = 0; i < pixels; i++) {
                n += chromaOut.at((float) luma[i]) > largestFactor[i] ? 1 : 0;
            }
            return n;
        }
    }

    /** Luma levels of the sample after the correction; chromaOut leaves luma as it is. */
    private static LevelSummary predicted(Corrected corrected) {
        Ranked luma = new Ranked(corrected.luma);
        int n = corrected.luma.length;
        return new LevelSummary(at(luma, n, 0), at(luma, n, 0.005), at(luma, n, 0.01), at(luma, n, 0.1), at(luma, n, 0.5), at(luma, n, 0.9), at(luma, n, 0.99),
            at(luma, n, 0.995), at(luma, n, 1),
            Math.round(1e5 * Arrays.stream(corrected.luma).average().orElse(0)) / 1e3);
    }

    private static double at(Ranked luma, int n, double share) {
        int i = (int) Math.ceil(share * n) - 1;
        return Math.round(1e5 * luma.at(Math.max(0, Math.min(n - 1, i)))) / 1e3;
    }
}
