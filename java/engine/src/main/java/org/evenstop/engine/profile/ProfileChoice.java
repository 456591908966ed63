// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.profile;

import java.util.List;
import java.util.Locale;

/**
 * Which shipped profile a shoot was taken for, how sure that is, and why.
 *
 * @param profile         the profile to use; the default, cinema-soft, where the shoot does not tell
 * @param sureness        0..1: probability of {@code profile} among the shipped families, as far as the evidence goes
 * @param told            false where the evidence does not single out a family: a bracket would
 * @param reasons         what spoke, as short phrases, strongest first; never empty
 * @param perFamilyScores one per shipped family, in the order of the shipped profiles
 */
public record ProfileChoice(Profile profile, double sureness, boolean told, List<String> reasons, List<FamilyScore> perFamilyScores) {
    /** From this sureness on a choice is called sure. */
    public static final double SURE = 0.8;
    /** Under this sureness the shoot does not tell. */
    public static final double TOLD = 0.7;

    /**
     * The evidence for one family. Logarithms are natural, and only their differences between families mean something.
     *
     * @param profile     name of the shipped profile that stands for the family
     * @param probability 0..1, summing to 1 over the families
     * @param leftPercent what is left, in percent of level (root mean square), of the relation between clips of one scene at
     *                    different exposures once the best camera of this family has explained it; NaN where no two clips are such
     * @param byRelation  log-likelihood from that
     * @param byCeiling   log-likelihood from where the highest levels lie and pile up
     * @param byChroma    log-likelihood from how chroma goes with luma inside each clip
     */
    public record FamilyScore(String profile, double probability, double leftPercent, double byRelation, double byCeiling, double byChroma) {
    }

    public ProfileChoice {
        if (!(sureness >= 0 && sureness <= 1)) {
            throw new IllegalArgumentException("sureness " + sureness + " is outside 0..1");
        }
        reasons = List.copyOf(reasons);
        perFamilyScores = List.copyOf(perFamilyScores);
    }

    /** "sure", "likely" or "can not tell". */
    public String words() {
        return !told ? "can not tell" : sureness >= SURE ? "sure" : "likely";
    }

    /** One line for people, without an end of line; asks for a bracket unless the choice is sure. */
    public String line() {
        String why = String.join(", ", reasons);
        if (told) {
            return String.format(Locale.ROOT, "profile: %s (%s: %.2f; %s)%s", profile.name(), words(), sureness, why,
                sureness >= SURE ? "" : "; a bracket and evenstop calibrate would make sure");
        }
        return String.format(Locale.ROOT, "profile: %s, but these clips do not tell (%.2f; %s): shoot one still scene at five exposures and use evenstop "
            + "calibrate, or name one with --profile", profile.name(), sureness, why);
    }
}
