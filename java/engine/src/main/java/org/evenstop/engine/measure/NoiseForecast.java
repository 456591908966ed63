// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.measure;

import java.util.List;
import java.util.function.DoubleUnaryOperator;

/**
 * What {@link Measurement#noise()} will be of a clip after a correction.
 *
 * <p>Noise is measured in the smoothest tenth of the tiles, and a correction that lifts the dark more than the bright changes which those are. So the
 * detail of all tiles is multiplied by the slope of the correction at their level, and the smoothest tenth is looked up again.
 */
public final class NoiseForecast {
    private static final double SMOOTHEST = 0.1;
    private static final double LEAST_DETAIL = 1e-4;
    private static final double MOST_DETAIL = 1e4;
    /** Level over which slopes are taken, to either side. */
    private static final double NEARBY = 0.002;

    private NoiseForecast() {
    }

    /**
     * @param tone what becomes of a level fraction; rising
     * @return percent of level
     */
    public static double noiseAfter(Measurement measurement, DoubleUnaryOperator tone) {
        return noiseAfter(measurement, tone, level -> (tone.applyAsDouble(level + NEARBY) - tone.applyAsDouble(level - NEARBY)) / (2 * NEARBY));
    }

    /**
     * @param tone  what becomes of a level fraction
     * @param slope what becomes of a small difference about it, as a factor of 0 or more
     * @return percent of level
     */
    public static double noiseAfter(Measurement measurement, DoubleUnaryOperator tone, DoubleUnaryOperator slope) {
        double before = smoothest(measurement, level -> level, level -> 1);
        double after = smoothest(measurement, tone, slope);
        return measurement.noise() * (before > 0 && after > 0 ? after / before : slope.applyAsDouble(measurement.levels().p50() / 100));
    }

    /** Detail of the smoothest tenth of the tiles that end neither black nor clipped, in percent of level; 0 where there are none. */
    private static double smoothest(Measurement measurement, DoubleUnaryOperator tone, DoubleUnaryOperator slope) {
        List<TileDetail> tiles = measurement.detail().stream().filter(t -> NoiseMeter.counts(tone.applyAsDouble(t.level() / 100))).toList();
        double[] slopes = tiles.stream().mapToDouble(t -> Math.max(slope.applyAsDouble(t.level() / 100), LEAST_DETAIL)).toArray();
        double wanted = SMOOTHEST * tiles.stream().mapToDouble(TileDetail::share).sum();
        if (!(wanted > 0)) {
            return 0;
        }
        double low = LEAST_DETAIL;
        double high = MOST_DETAIL;
        while (high > 1.0005 * low) {
            double middle = Math.sqrt(low * high);
            double under = 0;
            for (int i = 0; i < slopes.length; i++) {
                under += tiles.get(i).share() * tiles.get(i).shareUnder(middle / slopes[i]);
            }
            if (under < wanted) {
                low = middle;
            } else {
                high = middle;
            }
        }
        return Math.sqrt(low * high);
    }
}
