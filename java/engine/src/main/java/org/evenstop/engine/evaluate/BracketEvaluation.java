// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.evaluate;

import java.util.ArrayList;
import java.util.Arrays;
import java.util.EnumMap;
import java.util.List;
import java.util.Map;
import java.util.function.UnaryOperator;
import org.evenstop.engine.InputException;
import org.evenstop.engine.frame.PlanarFrame;
import org.evenstop.engine.kernel.ScalarKernel;
import org.evenstop.engine.measure.ClipMeter;
import org.evenstop.engine.measure.Measurement;
import org.evenstop.engine.profile.Profile;
import org.evenstop.engine.solve.Correction;
import org.evenstop.engine.solve.Preset;
import org.evenstop.engine.solve.Solver;

/**
 * One scene shot at -2, -1, 0, +1 and +2 stops by one camera, normalised in every way, each exposure compared with the middle one.
 *
 * @param picture name of the scene
 * @param camera  the camera setting it was shot with
 * @param family  of that setting
 * @param clipped share of pixels with a channel at the ceiling, per exposure
 * @param inNoise share of pixels under twice the read noise, per exposure
 * @param results what came of each way; ways that could not be tried are missing
 * @param notes   one sentence each: why a way is missing
 */
public record BracketEvaluation(String picture, Profile camera, Family family, double[] clipped, double[] inNoise,
                                Map<Way, List<Exposed>> results, List<String> notes) {
    private static final int[] STOPS = {-2, -1, 0, 1, 2};
    private static final int MIDDLE = 2;

    /**
     * One exposure after one way of normalising.
     *
     * @param stops      exposure error it was shot with; never 0
     * @param difference from the middle exposure's result, on pixels not clipped in either
     * @param drift      stops by which it was brought nearer or less near than the middle one asked for: 0 when
     *                   both land on the same light, NaN where the way knows no stops
     * @param notes      what the solver held back
     */
    public record Exposed(int stops, BlockDifference difference, double drift, List<String> notes) {
    }

    /** The exposures of a bracket, in stops. */
    public static int[] stops() {
        return STOPS.clone();
    }

    /** Mean over the exposures of two stops either way. */
    public double meanAtTwoStops(Way way) {
        return results.get(way).stream().filter(e -> Math.abs(e.stops) == 2).mapToDouble(e -> e.difference.mean()).average().orElse(Double.NaN);
    }

    public double p95AtTwoStops(Way way) {
        return results.get(way).stream().filter(e -> Math.abs(e.stops) == 2).mapToDouble(e -> e.difference.p95()).average().orElse(Double.NaN);
    }

    /**
     * Shoots, normalises and compares.
     *
     * @param seed        of the noise
     * @param calibration null leaves that way out
     * @param matching    null leaves that way out
     */
    public static BracketEvaluation of(String picture, Scene scene, SceneCamera camera, Family family, Preset preset, long seed,
                                       Calibration calibration, Matching matching) {
        Shots shots = new Shots(scene, camera, preset, seed);
        Map<Way, List<Exposed>> results = new EnumMap<>(Way.class);
        List<String> notes = new ArrayList<>();
        results.put(Way.KNOWN, shots.solved(camera.profile()));
        if (calibration != null) {
            try {
                results.put(Way.CALIBRATED, shots.solved(calibration.recover(List.of(shots.frames),
                    Arrays.stream(STOPS).asDoubleStream().toArray())));
            } catch (InputException refused) {
                notes.add("Not calibrated: " + refused.getMessage());
            }
        }
        if (matching != null) {
            results.put(Way.MATCHED, shots.matched(matching, Family.CINEMA.shipped()));
        }
        results.put(Way.RIGHT, shots.solved(family.shipped()));
        results.put(Way.WRONG, shots.solved(family.other().shipped()));
        results.put(Way.STRETCH, shots.byPicture(Baselines::stretched));
        results.put(Way.GAMMA, shots.byPicture(Baselines::gammaToMedian));
        results.put(Way.EQUALISED, shots.byPicture(Baselines::equalised));
        return new BracketEvaluation(picture, camera.profile(), family, shots.clipped, shots.inNoise, results, notes);
    }

    /** The bracket and what all ways share. */
    private static final class Shots {
        final PlanarFrame[] frames = new PlanarFrame[STOPS.length];
        final double[] clipped = new double[STOPS.length];
        final double[] inNoise = new double[STOPS.length];
        private final Measurement[] measured = new Measurement[STOPS.length];
        private final boolean[][] counts = new boolean[STOPS.length][];
        private final Preset preset;

        Shots(Scene scene, SceneCamera camera, Preset preset, long seed) {
            this.preset = preset;
            for (int i = 0; i < STOPS.length; i++) {
                frames[i] = camera.shoot(scene, STOPS[i], seed * 31 + i);
                ClipMeter meter = new ClipMeter(frames[i].standard());
                meter.add(frames[i], 0);
                measured[i] = meter.finish(STOPS[i] + " stops");
                counts[i] = camera.recorded(scene, STOPS[i]);
                inNoise[i] = camera.shareInNoise(scene, STOPS[i]);
            }
            boolean[] middle = counts[MIDDLE].clone();
            for (int i = 0; i < STOPS.length; i++) {
                int lost = 0;
                for (int p = 0; p < middle.length; p++) {
                    lost += counts[i][p] ? 0 : 1;
                    counts[i][p] &= middle[p];
                }
                clipped[i] = lost / (double) middle.length;
            }
        }

        List<Exposed> solved(Profile profile) {
            Correction[] corrections = new Correction[STOPS.length];
            for (int i = 0; i < STOPS.length; i++) {
                corrections[i] = Solver.solve(measured[i], profile, preset);
            }
            return corrected(corrections);
        }

        List<Exposed> matched(Matching matching, Profile profile) {
            Correction[] corrections = new Correction[STOPS.length];
            corrections[MIDDLE] = Solver.solve(measured[MIDDLE], profile, preset);
            for (int i = 0; i < STOPS.length; i++) {
                if (i != MIDDLE) {
                    corrections[i] = matching.match(measured[i], measured[MIDDLE], corrections[MIDDLE], profile, preset);
                }
            }
            return corrected(corrections);
        }

        private List<Exposed> corrected(Correction[] corrections) {
            PlanarFrame reference = corrected(frames[MIDDLE], corrections[MIDDLE]);
            List<Exposed> exposed = new ArrayList<>();
            for (int i = 0; i < STOPS.length; i++) {
                if (i != MIDDLE) {
                    double drift = corrections[i].origin().stops() + STOPS[i] - corrections[MIDDLE].origin().stops();
                    exposed.add(new Exposed(STOPS[i], BlockDifference.of(corrected(frames[i], corrections[i]), reference, counts[i]), drift,
                        corrections[i].origin().notes()));
                }
            }
            return exposed;
        }

        private static PlanarFrame corrected(PlanarFrame frame, Correction correction) {
            PlanarFrame out = frame.allocateLike();
            new ScalarKernel().apply(frame, out, 0, frame.height(), correction, 1f);
            return out;
        }

        List<Exposed> byPicture(UnaryOperator<PlanarFrame> baseline) {
            PlanarFrame reference = baseline.apply(frames[MIDDLE]);
            List<Exposed> exposed = new ArrayList<>();
            for (int i = 0; i < STOPS.length; i++) {
                if (i != MIDDLE) {
                    exposed.add(new Exposed(STOPS[i], BlockDifference.of(baseline.apply(frames[i]), reference, counts[i]), Double.NaN, List.of()));
                }
            }
            return exposed;
        }
    }
}
