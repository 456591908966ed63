// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.calibrate;

import java.util.ArrayList;
import java.util.Arrays;
import java.util.Comparator;
import java.util.List;
import java.util.Locale;
import org.evenstop.engine.InputException;
import org.evenstop.engine.calibrate.CalibrationResult.Method;
import org.evenstop.engine.profile.Profile;
import org.evenstop.engine.profile.ProfileShapes;

/**
 * Recovers how a camera setting turns scene light into level, and scales chroma, from several exposures of one still scene.
 *
 * <p>Three exposures are the least, five to nine are right. With stated stops the recovered steps stay near them; a stated stop
 * that does not fit the others is named and not believed. Without stops the steps are recovered as well, up to the exponent that
 * no method can tell (Grossberg and Nayar 2003): the middle step is then taken to be the one of those in use that brings the
 * curve's slope at 40 % nearest to that of ITU-R BT.709.
 *
 * <p>The scale of light is arbitrary: level 40 % is called mid grey (0.18). Solving does not depend on it. The chroma factor
 * is expected to be near 1 at 40 % luma, where the curve's own bend does not tell it; re-exposing hardly depends on it.
 */
public final class ProfileCalibrator {
    public static final int FEWEST = 3;
    public static final int MOST = 32;
    /** The level that is called mid grey. */
    public static final double GREY_LEVEL = 0.40;
    /** How well a camera keeps its stated stops, in stops (own choice, no source). */
    private static final double STATED_SIGMA = 0.02;
    /** The same where histograms are compared, which tell steps less well than cameras keep them. */
    private static final double STATED_SIGMA_BY_HISTOGRAM = 0.003;
    /** Misfit of a step that is reported, in stops, and from which it is not believed. */
    private static final double STEP_WARNING = 0.08;
    private static final int FEWEST_SITES = 24;
    /** Level under which the curve's toe is looked for, and the part of its steepest proportional fall that it keeps below (own choice). */
    private static final double DARK = 0.12;
    private static final double TOE_HELD = 0.7;
    /** Half width of a pile-up, and how far above it clipped light is foretold at least (own choice). */
    private static final double PILE = 0.006;
    private static final double FORETOLD = 0.015;

    private ProfileCalibrator() {
    }

    /**
     * @param name      of the profile: letters, digits and hyphens
     * @param exposures in any order; all with stops or all without
     * @throws InputException when no profile can be told from them
     */
    public static CalibrationResult calibrate(String name, List<Exposure> exposures) {
        List<ExposurePicture> pictures = new ArrayList<>();
        for (Exposure exposure : exposures) {
            ExposureMeter meter = new ExposureMeter(exposure.name(), exposure.stops());
            exposure.frames().forEach(meter::add);
            pictures.add(meter.finish());
        }
        return calibratePictures(name, pictures);
    }

    /** As {@link #calibrate}, from exposures that were gathered frame by frame. */
    public static CalibrationResult calibratePictures(String name, List<ExposurePicture> exposures) {
        boolean stated = check(exposures);
        List<ExposurePicture> pictures = new ArrayList<>(exposures);
        pictures.sort(stated ? Comparator.comparingDouble(ExposurePicture::stops) : Comparator.comparingDouble(ExposurePicture::meanLuma));
        return new Run(name, pictures, stated).result();
    }

    /**
     * To be asked before any exposure is read.
     *
     * @throws InputException when so many exposures are too few or too many
     */
    public static void requireNumber(int exposures) {
        if (exposures < FEWEST || exposures > MOST) {
            throw new InputException("calibrate: " + exposures + (exposures == 1 ? " exposure is " : " exposures are ") + (exposures < FEWEST ? "too few" : "too many")
                + "; give " + FEWEST + " to " + MOST + " of one still scene, best five to nine a stop apart");
        }
    }

    private static boolean check(List<ExposurePicture> exposures) {
        requireNumber(exposures.size());
        ExposurePicture first = exposures.get(0);
        int withStops = 0;
        double least = Double.POSITIVE_INFINITY;
        double most = Double.NEGATIVE_INFINITY;
        for (ExposurePicture p : exposures) {
            if (p.width != first.width || p.height != first.height || p.standard != first.standard) {
                throw new InputException(p.name() + ": is " + p.width + "x" + p.height + " " + p.standard.label() + ", but " + first.name() + " is "
                    + first.width + "x" + first.height + " " + first.standard.label() + "; give exposures of one size and matrix");
            }
            if (Double.isNaN(p.stops())) {
                continue;
            }
            withStops++;
            if (!(Math.abs(p.stops()) <= 12)) {
                throw new InputException(p.name() + ": " + p.stops() + " stops is outside -12 to 12; give the exposure against the middle one");
            }
            least = Math.min(least, p.stops());
            most = Math.max(most, p.stops());
        }
        if (withStops != 0 && withStops != exposures.size()) {
            throw new InputException("calibrate: stops are given for " + withStops + " of " + exposures.size()
                + " exposures; give them for all or for none");
        }
        if (withStops > 0 && most - least < 1) {
            throw new InputException(String.format(Locale.ROOT,
                "calibrate: the exposures are only %.2f stops apart; at least 1 is needed, best 4", most - least));
        }
        return withStops > 0;
    }

    /** One calibration under way. */
    private static final class Run {
        private final String name;
        private final List<ExposurePicture> pictures;
        private final boolean stated;
        private final int exposures;
        private final double[] statedStops;
        private double ceiling;
        private final double floorSeen;
        private final double lowest;
        private final double highest;
        private final List<String> warnings = new ArrayList<>();
        private final List<String> notes = new ArrayList<>();
        private Method method = Method.PLACES;
        private ResponseFit fit;
        private Observations seen;

        Run(String name, List<ExposurePicture> pictures, boolean stated) {
            this.name = name;
            this.pictures = pictures;
            this.stated = stated;
            exposures = pictures.size();
            statedStops = pictures.stream().mapToDouble(ExposurePicture::stops).toArray();
            double clip = Double.NaN;
            double floor = Double.POSITIVE_INFINITY;
            for (ExposurePicture p : pictures) {
                if (p.ceiling() == p.ceiling() && !(clip >= p.ceiling())) {
                    clip = p.ceiling();
                }
                for (int i = 0; i < p.mean[0].length; i++) {
                    floor = Math.min(floor, p.mean[0][i]);
                }
            }
            // A pile-up below the brightest level seen is a white wall, not the camera's ceiling.
            for (ExposurePicture p : pictures) {
                for (int i = 0; i < p.mean[0].length; i++) {
                    if (p.mean[0][i] > clip + 0.01) {
                        clip = Double.NaN;
                    }
                }
            }
            ceiling = Math.min(clip, ProfileShapes.SUPER_WHITE);
            floorSeen = floor;
            highest = (ceiling == ceiling ? ceiling : ProfileShapes.SUPER_WHITE) - 0.008;
            lowest = Math.max(0.008, Math.min(floor, 0.15) + 0.003);
        }

        CalibrationResult result() {
            refuseUnusable();
            if (exposures < 5) {
                warnings.add(exposures + " exposures are few; five to nine, a stop apart, tell the curve and its own faults better.");
            }
            boolean[] moved = register();
            if (method == Method.PLACES) {
                fitPlaces(moved);
            }
            if (method == Method.HISTOGRAMS) {
                fitHistograms();
            }
            return assemble();
        }

        private void refuseUnusable() {
            int usable = 0;
            StringBuilder which = new StringBuilder();
            for (ExposurePicture p : pictures) {
                int bright = 0;
                int dark = 0;
                for (float y : p.mean[0]) {
                    bright += y >= highest ? 1 : 0;
                    dark += y <= lowest ? 1 : 0;
                }
                int n = p.mean[0].length;
                if (n - bright - dark >= Math.max(8, n / 200)) {
                    usable++;
                } else {
                    which.append(which.isEmpty() ? "" : ", ").append(p.name()).append(bright > dark ? " is clipped" : " is black");
                }
            }
            if (usable < FEWEST) {
                throw new InputException("calibrate: only " + usable + " of " + exposures + " exposures hold levels between black and clipping ("
                    + which + "); give at least " + FEWEST + " that do");
            }
            if (stated && pictures.get(exposures - 1).meanLuma() < pictures.get(0).meanLuma()) {
                throw new InputException("calibrate: the exposures do not get brighter as the stated stops rise; check their order (+1 is twice the light)");
            }
            for (int j = 0; j + 1 < exposures; j++) {
                ExposurePicture a = pictures.get(j);
                ExposurePicture b = pictures.get(j + 1);
                double difference = 0;
                int told = 0;
                for (int i = 0; i < a.mean[0].length; i++) {
                    if (a.mean[0][i] > lowest && a.mean[0][i] < highest) {
                        difference += b.mean[0][i] - a.mean[0][i];
                        told++;
                    }
                }
                if (told >= 8 && Math.abs(difference) / told < 0.003 && !(statedStops[j] == statedStops[j + 1])) {
                    throw new InputException("calibrate: " + a.name() + " and " + b.name()
                        + " show the same levels; give exposures that differ, each file once");
                }
            }
        }

        private boolean[] register() {
            ExposurePicture first = pictures.get(0);
            boolean[] moved = new boolean[first.columns * first.rows];
            int told = 0;
            int movedTiles = 0;
            boolean couldTell = true;
            for (int j = 0; j + 1 < exposures; j++) {
                ExposurePicture a = pictures.get(j);
                ExposurePicture b = pictures.get(j + 1);
                Registration r = Registration.of(a, b, highest);
                couldTell &= r.canTell();
                told += r.told;
                movedTiles += r.moved;
                if (r.isLost()) {
                    method = Method.HISTOGRAMS;
                    warnings.add(String.format(Locale.ROOT, "The picture moved between %s and %s (%.0f %% of its detail does not match in place%s): "
                        + "exposures are compared by their histograms, which is less exact. Use a tripod.", a.name(), b.name(), 100 * r.movedShare(),
                        r.shiftX == 0 && r.shiftY == 0 ? "" : "; it lies about " + r.shiftX + ", " + r.shiftY + " pixels off"));
                    return moved;
                }
                int reach = Registration.TILE * first.outlineStep;
                for (int i = 0; i < moved.length; i++) {
                    int tileX = Math.min(i % first.columns * first.block / reach, r.tileColumns - 1);
                    int tileY = i / first.columns * first.block / reach;
                    int tile = tileY * r.tileColumns + tileX;
                    moved[i] |= tile < r.movedTile.length && r.movedTile[tile];
                }
            }
            if (movedTiles > 0.01 * told && told > 0) {
                notes.add(String.format(Locale.ROOT, "%.0f %% of the picture's detail does not match in place; those parts are left out.",
                    100.0 * movedTiles / told));
            }
            if (!couldTell) {
                notes.add("The pictures hold too little detail to check that nothing moved.");
            }
            return moved;
        }

        private void fitPlaces(boolean[] moved) {
            double clipped = (ceiling == ceiling ? ceiling : ProfileShapes.SUPER_WHITE) - 0.003;
            seen = SiteChoice.of(pictures, moved, lowest, highest, clipped);
            if (seen.sites < FEWEST_SITES) {
                throw new InputException("calibrate: only " + seen.sites + " flat, unclipped places are seen at two exposures or more; at least "
                    + FEWEST_SITES + " are needed: shoot a scene with plain surfaces from dark to bright, a stop apart");
            }
            start(true);
        }

        private void fitHistograms() {
            Response chroma = Response.ofLevels(-1, 1, x -> 0);
            for (int round = 0; round < 4; round++) {
                seen = HistogramSites.of(pictures, chroma, lowest, highest);
                start(false);
                System.arraycopy(chroma.logChroma, 0, fit.response.logChroma, 0, Response.CHROMA_KNOTS);
                HistogramSites.updateChroma(pictures, fit.response, fit.steps, lowest, highest);
                chroma = fit.response;
            }
            warnings.add("Chroma factors come from histograms too and are coarse.");
        }

        private void start(boolean chromaFree) {
            ResponseStart start = ResponseStart.of(seen);
            if (start == null || !Double.isFinite(start.midSlope()) || start.steps[exposures - 1] <= start.steps[0]) {
                throw new InputException("calibrate: no curve fits these exposures; check that they show one scene and that each is brighter than the one before");
            }
            double factor = start.midSlope() / StepScale.USUAL_SLOPE;
            double shift = 0;
            double[] expected = new double[exposures];
            double[] sigma = new double[exposures];
            Arrays.fill(sigma, Double.POSITIVE_INFINITY);
            if (stated) {
                StepScale line = StepScale.toStated(start.steps, statedStops);
                if (line == null) {
                    throw new InputException("calibrate: the exposures do not get brighter as the stated stops rise; check their order");
                }
                factor = line.factor;
                shift = line.shift;
                System.arraycopy(statedStops, 0, expected, 0, exposures);
            }
            double[] steps = new double[exposures];
            for (int j = 0; j < exposures; j++) {
                steps[j] = factor * start.steps[j] + shift;
            }
            if (stated) {
                believe(steps, sigma, 0.25);
            } else {
                for (int j : new int[] {0, exposures - 1}) {
                    expected[j] = steps[j];
                    sigma[j] = 1e-3;
                }
            }
            double stopsPerPlace = factor;
            double from = factor * start.placeOf(lowest) - 2.5;
            double to = Math.min(factor * start.placeOf(highest), from + 20) + 1.5;
            Response first = Response.ofLevels(Math.max(from, -12), Math.min(to, 12),
                x -> start.levelOf(x / stopsPerPlace, stopsPerPlace, lowest, highest));
            fit = new ResponseFit(seen, first, steps, expected, sigma, chromaFree);
            fit.run(4, 20);
            if (stated) {
                double[] before = sigma.clone();
                StepScale line = StepScale.toStated(fit.steps, statedStops);
                double[] again = new double[exposures];
                for (int j = 0; j < exposures; j++) {
                    again[j] = line == null ? fit.steps[j] : line.factor * fit.steps[j] + line.shift;
                }
                believe(again, sigma, STEP_WARNING);
                if (!Arrays.equals(before, sigma)) {
                    fit = new ResponseFit(seen, fit.response, fit.steps, expected, sigma, chromaFree);
                    fit.run(4, 20);
                }
            }
        }

        /** Expects the stated stop of those exposures that lie near it; of two at least, so that the scale is held. */
        private void believe(double[] found, double[] sigma, double reach) {
            double[] misses = new double[exposures];
            for (int j = 0; j < exposures; j++) {
                misses[j] = Math.abs(found[j] - statedStops[j]);
            }
            double[] sorted = misses.clone();
            Arrays.sort(sorted);
            double limit = Math.max(reach, sorted[1]);
            for (int j = 0; j < exposures; j++) {
                sigma[j] = misses[j] > limit ? Double.POSITIVE_INFINITY : seen.single ? STATED_SIGMA_BY_HISTOGRAM : STATED_SIGMA;
            }
        }

        private CalibrationResult assemble() {
            int[] coveredCells = new int[fit.response.tone.length];
            double[] chromaSeen = new double[Response.CHROMA_KNOTS];
            double[] sums = new double[exposures];
            int[] counted = new int[exposures];
            int[] strayed = new int[exposures];
            double[][] redStops = new double[exposures][seen.sites];
            double[][] blueStops = new double[exposures][seen.sites];
            double[] sizes = new double[seen.sites * exposures];
            int total = 0;
            int sites = 0;
            double[] rgb = new double[3];
            for (int i = 0; i < seen.sites; i++) {
                boolean used = false;
                for (int j = 0; j < exposures; j++) {
                    if (!fit.counts[i][j]) {
                        continue;
                    }
                    used = true;
                    double[] r = fit.residuals(i, j);
                    double size = Math.abs(r[0]);
                    sums[j] += size;
                    sizes[total++] = size;
                    double[] value = seen.value[i][j];
                    double slope = 0;
                    double[] light = fit.lights[i];
                    for (int c = 0; c < light.length; c++) {
                        double x = light[c] + fit.steps[j];
                        slope += fit.response.slope(x) * (light.length == 1 ? 1 : c == 0 ? seen.standard.redWeight() : c == 1
                            ? seen.standard.greenWeight() : seen.standard.blueWeight());
                        if (r[3] < 30) {
                            coveredCells[fit.response.segmentOf(x)]++;
                        }
                    }
                    slope = Math.max(slope, 1e-3);
                    double inStops = Math.abs(r[0]) / slope;
                    strayed[j] += inStops > Math.max(0.05, 5 * Math.max(seen.sigma[i][j][0], 0.0006) / slope) ? 1 : 0;
                    redStops[j][counted[j]] = 0;
                    if (!seen.single) {
                        seen.channels(i, j, fit.response.chromaFactor(value[0]), rgb);
                        double[] off = new double[3];
                        for (int c = 0; c < 3; c++) {
                            double x = light[c] + fit.steps[j];
                            off[c] = (rgb[c] - fit.response.level(x)) / Math.max(fit.response.slope(x), 1e-3);
                        }
                        redStops[j][counted[j]] = off[0] - off[1];
                        blueStops[j][counted[j]] = off[2] - off[1];
                        if (Math.abs(value[1]) + Math.abs(value[2]) > 0.03) {
                            int knot = Response.chromaKnot(value[0]);
                            double f = Response.chromaFraction(value[0], knot);
                            chromaSeen[knot] += 1 - f;
                            chromaSeen[knot + 1] += f;
                        }
                    }
                    counted[j]++;
                }
                sites += used ? 1 : 0;
            }
            if (sites < FEWEST_SITES) {
                throw new InputException("calibrate: only " + sites + " places fit one curve; at least " + FEWEST_SITES
                    + " are needed: check that all exposures show one still scene");
            }
            int[] range = longestRun(coveredCells);
            double from = fit.response.from + range[0] * Response.STEP;
            double to = fit.response.from + range[1] * Response.STEP;
            from = Math.max(from, fit.response.stopsOf(lowest, from, to));
            to = Math.min(to, fit.response.stopsOf(highest, from, to));
            from = risingFrom(from, to);
            if (ceiling == ceiling && isWhiteOfTheScene(to)) {
                ceiling = Double.NaN;
            }
            if (fit.response.level(to) - fit.response.level(from) < 0.15) {
                throw new InputException(String.format(Locale.ROOT, "calibrate: the exposures cover only levels %.0f to %.0f %%; at least 15 %% of level are "
                    + "needed, best from black to clipping", 100 * fit.response.level(from), 100 * fit.response.level(to)));
            }
            double scale = stated ? 1 : scaleOfSteps();
            double anchor = anchor(from, to, scale);
            double zero = stated ? 0 : fit.steps[(exposures - 1) / 2];
            List<CalibrationResult.Step> steps = new ArrayList<>();
            for (int j = 0; j < exposures; j++) {
                double found = (fit.steps[j] - zero) * scale;
                steps.add(new CalibrationResult.Step(pictures.get(j).name(), statedStops[j], found, counted[j] == 0 ? 0 : 100 * sums[j] / counted[j]));
            }
            warnOfSteps(steps);
            warnOfLight(strayed, counted, redStops, blueStops);
            Arrays.sort(sizes, 0, total);
            double mean = Arrays.stream(sizes, 0, total).average().orElse(0);
            if (100 * mean > (seen.single ? 2 : 0.6)) {
                warnings.add(String.format(Locale.ROOT, "Exposures and profile differ by %.2f %% of level on average; the profile is doubtful. "
                    + "Was everything in the camera fixed but the exposure?", 100 * mean));
            }
            int chromaFirst = -1;
            int chromaLast = -1;
            for (int k = 0; k < chromaSeen.length; k++) {
                if (chromaSeen[k] >= 10) {
                    chromaFirst = chromaFirst < 0 ? k : chromaFirst;
                    chromaLast = k;
                }
            }
            if (!seen.single && chromaLast <= chromaFirst) {
                warnings.add("The scene holds hardly any colour: the chroma factors are not told by it and stay near 1. Add coloured surfaces.");
            }
            CalibrationResult.Covered covered = new CalibrationResult.Covered((from - anchor) * scale, (to - anchor) * scale,
                100 * fit.response.level(from), 100 * fit.response.level(to), chromaFirst < 0 ? 0 : Math.max(0, 100 * Response.CHROMA_STEP * chromaFirst),
                chromaLast < 0 ? 0 : Math.min(109, 100 * Response.CHROMA_STEP * chromaLast), 100 * ceiling);
            if (ceiling != ceiling) {
                notes.add("Clipping was not seen: above the covered range the curve is guessed to roll off towards 109 %. Add a brighter exposure.");
            }
            notes.add("Level 40 % is called mid grey (light 0.18), which a bracket can not tell. Chroma factors are expected to be near 1 at 40 % luma where "
                + "the curve does not tell them apart from the scene's own chroma.");
            String note = String.format(Locale.ROOT, "Recovered from %d exposures by %s; covered %.1f to %.1f %% (%+.1f to %+.1f stops), extrapolated "
                + "beyond; mean residual %.2f %% of level. Level 40 %% is called mid grey.%s", exposures, method.word(), covered.levelFrom(),
                covered.levelTo(), covered.stopsFrom(), covered.stopsTo(), 100 * mean, stated ? "" : " Steps were recovered, not stated.");
            Profile profile = ProfileAssembly.of(name, name, note, fit.response, from, to, anchor, scale, floorSeen, ceiling);
            return new CalibrationResult(profile, method, sites, 100 * mean, 100 * sizes[(int) (0.95 * (total - 1))], covered, steps, warnings, notes);
        }

        /**
         * Where the curve begins to be told. Towards the dark a camera's curve falls ever faster in proportion, at last as light does or
         * faster; where the recovered one falls slower again, there were only noise and too few exposures. What lies below is left
         * to extrapolation.
         */
        private double risingFrom(double from, double to) {
            double steepest = 0;
            double start = from;
            for (double x = to; x >= from; x -= 0.25 * Response.STEP) {
                double level = fit.response.level(x);
                if (level > DARK) {
                    continue;
                }
                double power = fit.response.slope(x) / Math.max(level, 1e-4);
                if (power < TOE_HELD * steepest) {
                    return start;
                }
                if (power >= steepest) {
                    steepest = power;
                    start = x;
                }
            }
            return from;
        }

        /**
         * Whether a pile-up seen below the highest video code is a white of the scene: then the other exposures foretell that level for
         * it, while light that was clipped is foretold to lie higher.
         */
        private boolean isWhiteOfTheScene(double to) {
            if (ceiling > ProfileShapes.SUPER_WHITE - 0.005 || seen.single) {
                return false;
            }
            double highLevel = fit.response.level(to);
            double highSlope = Math.max((highLevel - fit.response.level(to - 0.5)) / 0.5, 0.004);
            double[] beyond = new double[seen.sites * exposures];
            int n = 0;
            for (int i = 0; i < seen.sites; i++) {
                boolean told = false;
                for (int j = 0; j < exposures; j++) {
                    told |= fit.counts[i][j];
                }
                for (int j = 0; told && j < exposures; j++) {
                    if (seen.value[i][j][0] > ceiling - PILE && seen.value[i][j][0] < ceiling + PILE) {
                        double[] v = new double[3];
                        for (int c = 0; c < 3; c++) {
                            double x = fit.lights[i][c] + fit.steps[j];
                            v[c] = x < to ? fit.response.level(x) : highLevel + highSlope * (x - to);
                        }
                        beyond[n++] = seen.standard.luma(v[0], v[1], v[2]) - ceiling;
                    }
                }
            }
            return n > 0 && median(beyond, n) < FORETOLD;
        }

        private double scaleOfSteps() {
            double at = fit.response.stopsOf(GREY_LEVEL, fit.response.from, fit.response.to);
            double slope = (fit.response.level(at + 0.25) - fit.response.level(at - 0.25)) / 0.5;
            double[] gaps = new double[exposures - 1];
            for (int j = 0; j + 1 < exposures; j++) {
                gaps[j] = fit.steps[j + 1] - fit.steps[j];
            }
            double[] sorted = gaps.clone();
            Arrays.sort(sorted);
            double middle = sorted[sorted.length / 2];
            double likely = middle * slope / StepScale.USUAL_SLOPE;
            double usual = StepScale.usualStep(likely);
            double step = Math.abs(Math.log(usual / likely)) < Math.log(1.4) ? usual : likely;
            notes.add(String.format(Locale.ROOT, "Steps were recovered. Any exponent on light fits as well (Grossberg and Nayar 2003); assumed: the middle step "
                + "is %.2f stops, the usual one nearest to the %.2f that a slope at 40 %% as in BT.709 would give.", step, likely));
            return step / middle;
        }

        private double anchor(double from, double to, double scale) {
            if (fit.response.level(from) < GREY_LEVEL && fit.response.level(to) > GREY_LEVEL) {
                return fit.response.stopsOf(GREY_LEVEL, from, to);
            }
            double middle = 0.5 * (from + to);
            Profile beyond = ProfileAssembly.of("x", "x", "", fit.response, from, to, middle, scale, floorSeen, ceiling);
            if (beyond.ceiling() <= GREY_LEVEL) {
                throw new InputException(String.format(Locale.ROOT, "calibrate: the camera clips at %.0f %%, below the 40 %% that is called mid grey; "
                    + "check the range of the files", 100 * beyond.ceiling()));
            }
            warnings.add("Level 40 % lies outside the covered range: where mid grey is put is extrapolated.");
            return middle + Math.log(beyond.lightOfLevel(GREY_LEVEL) / Profile.MID_GREY) / Math.log(2) / scale;
        }

        /** First and past-last segment of the longest run of those seen often enough; single gaps are bridged. */
        private static int[] longestRun(int[] cells) {
            int bestFrom = 0;
            int bestTo = 0;
            int from = -1;
            int last = -1;
            for (int k = 0; k < cells.length - 3; k++) {
                if (cells[k] < 5) {
                    continue;
                }
                if (from < 0 || k - last > 2) {
                    from = k;
                }
                last = k;
                if (last + 1 - from > bestTo - bestFrom) {
                    bestFrom = from;
                    bestTo = last + 1;
                }
            }
            return new int[] {bestFrom, bestTo};
        }

        private void warnOfSteps(List<CalibrationResult.Step> steps) {
            for (CalibrationResult.Step s : steps) {
                if (stated && Math.abs(s.found() - s.stated()) > STEP_WARNING) {
                    warnings.add(String.format(Locale.ROOT, "%s fits %+.2f stops, not the stated %+.2f: either the stop is wrong or the light changed. "
                        + "The found step was used.", s.name(), s.found(), s.stated()));
                }
            }
            for (int j = 0; j + 1 < steps.size(); j++) {
                if (steps.get(j + 1).found() <= steps.get(j).found() + 0.02) {
                    warnings.add(steps.get(j + 1).name() + " is not brighter than " + steps.get(j).name() + " as its stop would have it.");
                }
            }
            if (stated) {
                double at = fit.response.stopsOf(GREY_LEVEL, fit.response.from, fit.response.to);
                double slope = fit.response.level(at + 0.25) - fit.response.level(at - 0.25);
                if (slope / 0.5 < 0.06 || slope / 0.5 > 0.36) {
                    warnings.add(String.format(Locale.ROOT, "At 40 %% the curve rises by %.1f %% of level per stop, where 10 to 25 is usual; are the stated stops "
                        + "right?", 200 * slope));
                }
            }
        }

        private void warnOfLight(int[] strayed, int[] counted, double[][] redStops, double[][] blueStops) {
            for (int j = 0; j < exposures; j++) {
                ExposurePicture p = pictures.get(j);
                double least = Arrays.stream(p.frameMeans).min().orElse(0);
                double most = Arrays.stream(p.frameMeans).max().orElse(0);
                if (most - least > 0.005 + 0.02 * most) {
                    warnings.add(String.format(Locale.ROOT, "The light changed within %s: its frames' mean luma runs from %.1f to %.1f %%.", p.name(),
                        100 * least, 100 * most));
                }
                if (counted[j] < 10) {
                    warnings.add(p.name() + " has hardly a place between black and clipping that another exposure shows too, and tells little.");
                    continue;
                }
                double share = strayed[j] / (double) counted[j];
                if (!seen.single && share > 0.2) {
                    warnings.add(String.format(Locale.ROOT, "The light changed in %s, or something moved: %.0f %% of the places are over 0.05 stops off what "
                        + "the other exposures foretell.", p.name(), 100 * share));
                }
                if (!seen.single) {
                    double red = median(redStops[j], counted[j]);
                    double blue = median(blueStops[j], counted[j]);
                    if (Math.max(Math.abs(red), Math.abs(blue)) > 0.05) {
                        warnings.add(String.format(Locale.ROOT, "The light, or the white balance, changed colour in %s: red is %+.2f and blue %+.2f stops "
                            + "against green. Fix the white balance.", p.name(), red, blue));
                    }
                }
            }
        }

        private static double median(double[] values, int n) {
            double[] sorted = Arrays.copyOf(values, n);
            Arrays.sort(sorted);
            return n == 0 ? 0 : sorted[n / 2];
        }
    }
}
