// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.calibrate;

import java.util.List;
import org.evenstop.engine.profile.Profile;

/**
 * A recovered profile and how far to believe it.
 *
 * @param profile      the curve, extrapolated beyond what was covered
 * @param method       how exposures were compared
 * @param sites        places in the scene (or percentiles of histograms) that were used
 * @param meanResidual mean absolute difference in percent of level between what was recorded and what the profile predicts
 * @param p95Residual  95th percentile of the same
 * @param covered      what the bracket showed
 * @param steps        the exposures, darkest first
 * @param warnings     one sentence each: what may be wrong with the bracket
 * @param notes        one sentence each: what was assumed
 */
public record CalibrationResult(Profile profile, Method method, int sites, double meanResidual, double p95Residual, Covered covered,
                                List<Step> steps, List<String> warnings, List<String> notes) {

    /** How exposures were compared. */
    public enum Method {
        /** The pictures register: place by place. */
        PLACES("places"),
        /** Something moved: by the histograms alone. */
        HISTOGRAMS("histograms");

        private final String word;

        Method(String word) {
            this.word = word;
        }

        /** The word for it in files and tables. */
        public String word() {
            return word;
        }
    }

    /**
     * The range that the bracket showed at two exposures or more; beyond it the profile is extrapolated.
     *
     * @param stopsFrom stops from mid grey, to {@code stopsTo}
     * @param levelFrom percent, to {@code levelTo}
     * @param lumaFrom  luma in percent from which chroma factors were seen, to {@code lumaTo}; both 0 where histograms were compared or no colour was
     * @param ceiling   level in percent where the camera was seen to clip, NaN when it was not
     */
    public record Covered(double stopsFrom, double stopsTo, double levelFrom, double levelTo, double lumaFrom, double lumaTo, double ceiling) {
    }

    /**
     * One exposure.
     *
     * @param name     as it was given
     * @param stated   stops as stated, NaN when they were not
     * @param found    stops as found
     * @param residual mean absolute residual in percent of level
     */
    public record Step(String name, double stated, double found, double residual) {
    }

    public CalibrationResult {
        steps = List.copyOf(steps);
        warnings = List.copyOf(warnings);
        notes = List.copyOf(notes);
    }
}
