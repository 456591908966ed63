// SPDX-License-Identifier: Apache-2.0
package org.evenstop.bridge;

import com.sun.jna.Pointer;
import java.util.Locale;
import org.evenstop.engine.InputException;
import org.evenstop.engine.json.EvenstopFiles;
import org.evenstop.engine.measure.Measurement;
import org.evenstop.engine.profile.Profile;
import org.evenstop.engine.solve.Correction;
import org.evenstop.engine.solve.Solver;

/** From a kept measurement and the controls to a correction, and to a line that says what was found. */
final class Solving {
    private Solving() {
    }

    static void solve(Pointer block) {
        Measurement measurement = KeptText.read(block, Blocks.SOLVE_MEASUREMENT, Blocks.SOLVE_MEASUREMENT_LENGTH,
            "measurement kept in the project", Solving::measurement);
        Wishes wishes = Wishes.read(block, Blocks.SOLVE_WISHES, Blocks.SOLVE_WISHES_LENGTH);
        Profile profile = wishes.profile();
        Correction correction = Solver.solve(measurement, profile, wishes.preset());
        String sky = wishes.isOn("sky") ? EvenstopFiles.toJson(sky(measurement, profile, wishes, correction)) : "";
        block.setLong(Blocks.SOLVE_CORRECTION, 0);
        block.setLong(Blocks.SOLVE_SKY, 0);
        block.setLong(Blocks.SOLVE_FOUND, 0);
        Blocks.giveText(block, Blocks.SOLVE_CORRECTION, Blocks.SOLVE_CORRECTION_LENGTH, EvenstopFiles.toJson(correction));
        Blocks.giveText(block, Blocks.SOLVE_SKY, Blocks.SOLVE_SKY_LENGTH, sky);
        Blocks.giveText(block, Blocks.SOLVE_FOUND, Blocks.SOLVE_FOUND_LENGTH, words(measurement, correction));
    }

    /** The sky's correction: the exposure of the rest and the sky's own on top, the sky's own levels and chroma. */
    private static Correction sky(Measurement measurement, Profile profile, Wishes wishes, Correction ground) {
        return Solver.solveAt(measurement, profile, wishes.skyPreset(), Wishes.held(ground.origin().stops() + wishes.number("skyExposure"), -8, 8));
    }

    private static Measurement measurement(String text, String what) {
        Measurement measurement = EvenstopFiles.measurementFromJson(text, what);
        if (measurement.sample().size() == 0) {
            throw new InputException(what + ": it holds no sample of pixels");
        }
        return measurement;
    }

    /** One line for people: levels in percent before and after, skin, what is clipped, stops applied. */
    static String words(Measurement m, Correction correction) {
        StringBuilder out = new StringBuilder();
        out.append(String.format(Locale.ROOT, "shadows %.0f %%, middle %.0f %%, highlights %.0f %%", m.levels().p0_5(), m.levels().p50(), m.levels().p99_5()));
        if (m.skin().isSubject()) {
            out.append(String.format(Locale.ROOT, ", skin %.0f %%", m.skin().median()));
        }
        if (m.clippedHigh() >= 0.0005) {
            out.append(String.format(Locale.ROOT, ", %.1f %% clipped for good", 100 * m.clippedHigh()));
        }
        out.append(exposureWords(correction));
        if (correction.origin().after() != null) {
            out.append(String.format(Locale.ROOT, "; now %.0f / %.0f / %.0f %%", correction.origin().after().p0_5(), correction.origin().after().p50(),
                correction.origin().after().p99_5()));
        }
        return out.toString();
    }

    /** What was done to the exposure, as the end of a line. */
    static String exposureWords(Correction correction) {
        double stops = correction.origin().stops();
        if (Math.abs(stops) < 0.05) {
            return "; exposure kept";
        }
        return String.format(Locale.ROOT, "; %s by %.1f stops", stops > 0 ? "lifted" : "pulled down", Math.abs(stops));
    }
}
