// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.parameter;

import static org.evenstop.engine.parameter.Parameter.button;
import static org.evenstop.engine.parameter.Parameter.choice;
import static org.evenstop.engine.parameter.Parameter.group;
import static org.evenstop.engine.parameter.Parameter.label;
import static org.evenstop.engine.parameter.Parameter.number;
import static org.evenstop.engine.parameter.Parameter.state;

import java.util.List;
import org.evenstop.engine.parameter.Parameter.Option;

/**
 * The parameters of the plug-in, each declared once. {@code native/bridge/parameters.h} and {@code .c} and
 * {@code docs/parameters.md} are generated from this table; a test of the bridge module fails when they differ.
 *
 * <p>Once released, a name, a type, a default and the order of options never change; new options go to the end.
 */
public final class ParameterTable {
    private ParameterTable() {
    }

    public static final List<Parameter> ALL = List.of(
        group("clip", "Clip"),
        choice("clip", "profile", "Camera profile",
            "How the camera turned light into picture levels: take the one nearest to the setting the clip was shot with.",
            new Option("cinema-soft", "Cinema look, soft shoulder"),
            new Option("rec709-knee", "Rec.709 with knee"),
            new Option("srgb-screen", "sRGB screen")),
        choice("clip", "preset", "Aim",
            "Where shadows, subject and highlights of the clip are brought to.",
            new Option("even", "Even"),
            new Option("face", "Face"),
            new Option("landscape", "Landscape"),
            new Option("lowLight", "Low light"),
            new Option("airy", "Airy"),
            new Option("tuck", "Tuck highlights in")),
        choice("clip", "subject", "Subject",
            "What exposure is set for. 'As the aim says' leaves it to the aim chosen above.",
            new Option("preset", "As the aim says"),
            new Option("auto", "Found by itself"),
            new Option("face", "Face"),
            new Option("landscape", "Landscape"),
            new Option("lowLight", "Low light")),
        button("clip", "measureClip", "Measure clip",
            "Looks at up to 24 frames spread over the clip, works out one correction for all of it and keeps it in the project."),
        label("clip", "found", "Found",
            "What was found in the clip, in percent of level (0 black, 100 nominal white), and the stops applied.",
            "Not measured yet: press Measure clip"),
        group("adjust", "Adjust"),
        number("adjust", "strength", "Strength",
            "How much of the correction is applied, as a share: 0 leaves the picture as it is, 1 applies all of it.",
            "share", 1, 0, 1, 0, 1, true),
        number("adjust", "exposureTrim", "Exposure trim",
            "Added to the exposure that was worked out, in stops of scene light: 1 doubles the light.",
            "stops", 0, -3, 3, -2, 2, false),
        number("adjust", "chromaBalance", "Chroma balance",
            "Factor on the chroma that suits the new level: 0 is grey, 1 keeps the look of the camera profile, 2 doubles chroma.",
            "factor", 1, 0, 2, 0, 2, false),
        number("adjust", "shadowTrim", "Shadow trim",
            "Moves the level that shadows are brought to, in percent of level: above 0 opens them.",
            "percent", 0, -10, 10, -5, 5, false),
        number("adjust", "highlightTrim", "Highlight trim",
            "Moves the level that highlights are brought to, in percent of level: below 0 holds them lower.",
            "percent", 0, -20, 20, -10, 10, false),
        state("measurement", "Measurement", "What was measured, as JSON; written by Measure clip.", false),
        state("correction", "Correction", "The correction applied, as JSON; written by Measure clip and by every control that changes it.", true),
        state("stateVersion", "State version", "Version of the form in which measurement and correction are kept.", false));

    /** The parameter of this name; throws IllegalArgumentException when there is none. */
    public static Parameter named(String name) {
        for (Parameter parameter : ALL) {
            if (parameter.name().equals(name)) {
                return parameter;
            }
        }
        throw new IllegalArgumentException("there is no parameter '" + name + "'");
    }
}
