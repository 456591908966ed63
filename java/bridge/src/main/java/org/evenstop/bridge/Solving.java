// SPDX-License-Identifier: Apache-2.0
package org.evenstop.bridge;

import com.sun.jna.Pointer;
import java.util.Locale;
import org.evenstop.engine.InputException;
import org.evenstop.engine.json.EvenstopFiles;
import org.evenstop.engine.measure.Measurement;
import org.evenstop.engine.profile.Profile;
import org.evenstop.engine.solve.Correction;
import org.evenstop.engine.solve.Preset;
import org.evenstop.engine.solve.Solver;
import org.evenstop.engine.solve.Subject;

/** From a kept measurement and the controls to a correction, and to a line that says what was found. */
final class Solving {
    private Solving() {
    }

    static void solve(Pointer block) {
        Measurement measurement = KeptText.read(block, Blocks.SOLVE_MEASUREMENT, Blocks.SOLVE_MEASUREMENT_LENGTH,
            "measurement kept in the project", Solving::measurement);
        Profile profile = EvenstopFiles.profile(Blocks.word(block, Blocks.SOLVE_PROFILE));
        Preset preset = preset(Blocks.word(block, Blocks.SOLVE_PRESET), Blocks.word(block, Blocks.SOLVE_SUBJECT),
            block.getDouble(Blocks.SOLVE_EXPOSURE_TRIM), block.getDouble(Blocks.SOLVE_CHROMA_BALANCE),
            block.getDouble(Blocks.SOLVE_SHADOW_TRIM), block.getDouble(Blocks.SOLVE_HIGHLIGHT_TRIM));
        Correction correction = Solver.solve(measurement, profile, preset);
        block.setLong(Blocks.SOLVE_CORRECTION, 0);
        block.setLong(Blocks.SOLVE_FOUND, 0);
        Blocks.giveText(block, Blocks.SOLVE_CORRECTION, Blocks.SOLVE_CORRECTION_LENGTH, EvenstopFiles.toJson(correction));
        Blocks.giveText(block, Blocks.SOLVE_FOUND, Blocks.SOLVE_FOUND_LENGTH, words(measurement, correction));
    }

    private static Measurement measurement(String text, String what) {
        Measurement measurement = EvenstopFiles.measurementFromJson(text, what);
        if (measurement.sample().size() == 0) {
            throw new InputException(what + ": it holds no sample of pixels");
        }
        return measurement;
    }

    /** The named preset with the controls' wishes on it; what lies beyond a preset's bounds is held at the bound. */
    static Preset preset(String name, String subject, double exposureTrim, double chromaBalance, double shadowTrim, double highlightTrim) {
        Preset preset = EvenstopFiles.preset(name);
        if (!subject.equals("preset")) {
            preset = preset.withSubject(Subject.ofWord(subject));
        }
        return preset.withExposureTrim(held(preset.exposureTrim() + exposureTrim, -3, 3))
            .withChromaBalance(held(preset.chromaBalance() * chromaBalance, 0, 2))
            .withShadowLevel(held(preset.shadowLevel() + shadowTrim, 0, 30))
            .withHighlightLevel(held(preset.highlightLevel() + highlightTrim, 50, 109));
    }

    private static double held(double value, double from, double to) {
        return Math.min(Math.max(value, from), to);
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
        double stops = correction.origin().stops();
        if (Math.abs(stops) < 0.05) {
            out.append("; exposure kept");
        } else {
            out.append(String.format(Locale.ROOT, "; %s by %.1f stops", stops > 0 ? "lifted" : "pulled down", Math.abs(stops)));
        }
        if (correction.origin().after() != null) {
            out.append(String.format(Locale.ROOT, "; now %.0f / %.0f / %.0f %%", correction.origin().after().p0_5(), correction.origin().after().p50(),
                correction.origin().after().p99_5()));
        }
        return out.toString();
    }
}
