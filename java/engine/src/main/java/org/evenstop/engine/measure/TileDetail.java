// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.measure;

import java.util.List;

/**
 * How much of the finest detail the tiles of a clip hold whose mean lies about a level: noise there, and texture on top of it (see {@link NoiseMeter}).
 *
 * @param level     percent
 * @param share     of the clip's tiles that lie there, 0..1
 * @param quantiles standard deviation in percent of level that {@link #SHARES} of those tiles stay under, had they nothing but noise; rising
 */
public record TileDetail(double level, double share, List<Double> quantiles) {
    static final double[] SHARES = {0.05, 0.1, 0.2, 0.4, 0.8};
    /** How many quantiles there are. */
    public static final int COUNT = SHARES.length;
    /** Under the first quantile the share falls with this power of detail (own choice, no source). */
    private static final double FALL = 6;

    /** @throws IllegalArgumentException where the quantiles are not as many as {@link #SHARES} or fall */
    public TileDetail {
        quantiles = List.copyOf(quantiles);
        if (quantiles.size() != COUNT) {
            throw new IllegalArgumentException(quantiles.size() + " quantiles of detail; give " + COUNT);
        }
        for (int i = 1; i < COUNT; i++) {
            if (!(quantiles.get(i) >= quantiles.get(i - 1))) {
                throw new IllegalArgumentException("quantiles of detail fall from " + quantiles.get(i - 1) + " to " + quantiles.get(i));
            }
        }
    }

    /** Share of these tiles, 0..1, that stay under a standard deviation in percent. */
    double shareUnder(double detail) {
        double low = quantiles.get(0);
        if (detail <= low) {
            return low == 0 ? 0 : SHARES[0] * Math.pow(detail / low, FALL);
        }
        for (int i = 1; i < COUNT; i++) {
            double high = quantiles.get(i);
            if (detail <= high) {
                return SHARES[i - 1] + (detail - low) / (high - low) * (SHARES[i] - SHARES[i - 1]);
            }
            low = high;
        }
        double last = SHARES[COUNT - 1];
        return low == 0 ? 1 : last + (1 - last) * Math.min(1, (detail - low) / low);
    }
}
