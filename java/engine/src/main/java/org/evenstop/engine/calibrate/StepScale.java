// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.calibrate;

/**
 * Puts found exposure steps, known up to shift and factor, on the scale of stops: by what was stated, or by an assumption.
 */
final class StepScale {
    /**
     * Rise of level per stop at 40 % that is assumed of an unknown camera: 0.155, the slope there of ITU-R BT.709-6 item 1.2
     * (0.45 ln 2 (0.40 + 0.099)).
     */
    static final double USUAL_SLOPE = 0.45 * 0.6931471805599453 * 0.499;
    /** Evenly spaced brackets that cameras and people make, in stops, with how far (in log2) each must be nearer to be preferred. */
    private static final double[][] USUAL_STEPS = {{1, 0}, {2, 0}, {3, 0.02}, {0.5, 0.04}, {1.5, 0.06}, {1.0 / 3, 0.06}, {2.0 / 3, 0.06},
        {4.0 / 3, 0.12}, {5.0 / 3, 0.12}, {2.5, 0.12}};

    final double factor;
    final double shift;

    private StepScale(double factor, double shift) {
        this.factor = factor;
        this.shift = shift;
    }

    /**
     * The straight line from found to stated steps with the least sum of absolute misses, so that one wrong step does not bend
     * it; of the lines through two of the points. Null when none rises.
     */
    static StepScale toStated(double[] found, double[] stated) {
        double least = Double.POSITIVE_INFINITY;
        StepScale best = null;
        for (int j = 0; j < found.length; j++) {
            for (int k = j + 1; k < found.length; k++) {
                double factor = (stated[k] - stated[j]) / (found[k] - found[j]);
                if (!(factor > 1e-3) || !(factor < 1e3)) {
                    continue;
                }
                StepScale line = new StepScale(factor, stated[j] - factor * found[j]);
                double misses = 0;
                for (int i = 0; i < found.length; i++) {
                    misses += Math.abs(line.factor * found[i] + line.shift - stated[i]);
                }
                if (misses < least - 1e-9) {
                    least = misses;
                    best = line;
                }
            }
        }
        return best;
    }

    /**
     * The factor that makes the middle step the most likely of those in use, given the steps on a scale on which the curve's
     * slope at 40 % is the usual one.
     */
    static double usualStep(double middleStep) {
        double best = middleStep;
        double least = Double.POSITIVE_INFINITY;
        for (double[] step : USUAL_STEPS) {
            double distance = Math.abs(Math.log(step[0] / middleStep) / Math.log(2)) + step[1];
            if (distance < least) {
                least = distance;
                best = step[0];
            }
        }
        return best;
    }
}
