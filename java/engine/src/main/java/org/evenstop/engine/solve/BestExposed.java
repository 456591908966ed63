// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.solve;

import java.util.List;
import java.util.Locale;
import org.evenstop.engine.measure.Measurement;
import org.evenstop.engine.profile.Profile;

/**
 * The clip of a group that the others should follow: the one with the smallest sum of
 *
 * <ul>
 * <li>the stops that the preset would lift or pull it by, were there no limit,
 * <li>0.2 for each percent of its picture that is clipped at the ceiling, and as much for each percent at black,
 * <li>0.5 for each percent of level that its noise measures.
 * </ul>
 *
 * <p>Of equals the first by name. The order of the clips does not matter. The weights are own choices, no source.
 *
 * @param index of the clip in the list that was given
 * @param stops that it asks for
 * @param cost  the sum
 */
public record BestExposed(int index, double stops, double cost) {
    private static final double PER_CLIPPED_PERCENT = 0.2;
    private static final double PER_NOISE_PERCENT = 0.5;

    /**
     * @param clips at least one, each with a kept sample
     * @throws IllegalArgumentException when there is none
     */
    public static BestExposed of(List<Measurement> clips, Profile profile, Preset preset) {
        if (clips.isEmpty()) {
            throw new IllegalArgumentException("a group needs at least one clip; there is none");
        }
        BestExposed best = null;
        for (int i = 0; i < clips.size(); i++) {
            Measurement m = clips.get(i);
            double stops = Solver.solve(m, profile, unlimited(preset)).origin().stops();
            double cost = Math.abs(stops) + PER_CLIPPED_PERCENT * 100 * (m.clippedHigh() + m.clippedLow()) + PER_NOISE_PERCENT * m.noise();
            cost = Math.round(cost * 1e4) / 1e4;
            if (best == null || cost < best.cost || cost == best.cost && m.clip().compareTo(clips.get(best.index).clip()) < 0) {
                best = new BestExposed(i, stops, cost);
            }
        }
        return best;
    }

    /** Why it was chosen, as part of a sentence. */
    public String reason(Measurement chosen) {
        return String.format(Locale.ROOT, "it asks for %+.1f stops, has %.1f %% clipped and %.2f %% noise", stops + 0.0,
            100 * (chosen.clippedHigh() + chosen.clippedLow()), chosen.noise());
    }

    /** The preset's aim without its limits on lift, pull and noise. */
    static Preset unlimited(Preset p) {
        return new Preset(p.name(), p.label(), p.note(), p.subject(), p.subjectLevel(), p.brightLevel(), p.brightTo(), p.skinFrom(), p.skinTo(),
            p.shadowLevel(), p.highlightLevel(), p.steepest(), 6, 6, 10, p.chromaBalance(), p.exposureTrim());
    }
}
