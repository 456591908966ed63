// SPDX-License-Identifier: Apache-2.0
package org.evenstop.engine.parameter;

import static org.evenstop.engine.parameter.Parameter.button;
import static org.evenstop.engine.parameter.Parameter.choice;
import static org.evenstop.engine.parameter.Parameter.file;
import static org.evenstop.engine.parameter.Parameter.group;
import static org.evenstop.engine.parameter.Parameter.label;
import static org.evenstop.engine.parameter.Parameter.number;
import static org.evenstop.engine.parameter.Parameter.state;
import static org.evenstop.engine.parameter.Parameter.toggle;

import java.util.List;
import org.evenstop.engine.parameter.Parameter.Option;

/**
 * The parameters of the plug-in, each declared once, in groups that a person meets in the order of the work.
 * {@code native/bridge/parameters.h} and {@code .c} and {@code docs/parameters.md} are generated from this table; a test of the
 * bridge module fails when they differ.
 *
 * <p>Once released, a name, a type, a default and the order of options never change; new options go to the end.
 */
public final class ParameterTable {
    /** The option of {@code profile} and {@code preset} that stands for what was loaded from a file. */
    public static final String FROM_FILE = "file";

    private ParameterTable() {
    }

    public static final List<Parameter> ALL = List.of(
        group("clip", "Source"),
        choice("clip", "profile", "Camera profile",
            "How the camera turned light into picture levels: take the one nearest to the setting the clip was shot with.",
            new Option("cinema-soft", "Cinema look, soft shoulder"),
            new Option("rec709-knee", "Rec.709 with knee"),
            new Option("srgb-screen", "sRGB screen"),
            new Option(FROM_FILE, "Loaded from a file")).solving(),
        choice("clip", "preset", "Aim",
            "Where shadows, subject and highlights of the clip are brought to.",
            new Option("even", "Even"),
            new Option("face", "Face"),
            new Option("landscape", "Landscape"),
            new Option("lowLight", "Low light"),
            new Option("airy", "Airy"),
            new Option("tuck", "Tuck highlights in"),
            new Option(FROM_FILE, "Loaded from a file")).solving(),
        choice("clip", "subject", "Subject",
            "What exposure is set for. 'As the aim says' leaves it to the aim chosen above.",
            new Option("preset", "As the aim says"),
            new Option("auto", "Found by itself"),
            new Option("face", "Face"),
            new Option("landscape", "Landscape"),
            new Option("lowLight", "Low light")).solving(),
        group("measure", "Measure"),
        button("measure", "measureClip", "Measure clip",
            "Looks at up to 24 frames spread over the clip, works out one correction for all of it and keeps it in the project."),
        label("measure", "found", "Found",
            "What was found in the clip, in percent of level (0 black, 100 nominal white), and the stops applied.",
            "Not measured yet: press Measure clip"),
        group("adjust", "Levels"),
        number("adjust", "strength", "Strength",
            "How much of the correction is applied, as a share: 0 leaves the picture as it is, 1 applies all of it.",
            "share", 1, 0, 1, 0, 1, true),
        number("adjust", "exposureTrim", "Exposure trim",
            "Added to the exposure that was worked out, in stops of scene light: 1 doubles the light.",
            "stops", 0, -3, 3, -2, 2, false).solving(),
        number("adjust", "largestLift", "Largest lift",
            "No clip is lifted by more than this, in stops, before the exposure trim. Where the aim allows less, that holds.",
            "stops", 6, 0, 6, 0, 6, false).solving(),
        number("adjust", "shadowTrim", "Shadow trim",
            "Moves the level that shadows are brought to, in percent of level: above 0 opens them.",
            "percent", 0, -10, 10, -5, 5, false).solving(),
        number("adjust", "subjectTrim", "Subject trim",
            "Moves the level that the subject, or skin, is brought to, in percent of level: above 0 brightens. Bright parts keep their say.",
            "percent", 0, -20, 20, -10, 10, false).solving(),
        number("adjust", "highlightTrim", "Highlight trim",
            "Moves the level that highlights are brought to, in percent of level: below 0 holds them lower.",
            "percent", 0, -20, 20, -10, 10, false).solving(),
        group("chroma", "Chroma"),
        number("chroma", "chromaBalance", "Chroma balance",
            "Factor on the chroma that suits the new level: 0 is grey, 1 keeps the look of the camera profile, 2 doubles chroma.",
            "factor", 1, 0, 2, 0, 2, false).solving(),
        number("chroma", "darkChroma", "Dark chroma",
            "Further factor on the chroma of what is darker than the subject: below 1 calms shadows that were stretched up.",
            "factor", 1, 0, 2, 0, 2, false).solving(),
        number("chroma", "brightChroma", "Bright chroma",
            "Further factor on the chroma of what is brighter than the subject: above 1 gives colour back to bright parts.",
            "factor", 1, 0, 2, 0, 2, false).solving(),
        group("skyGroup", "Sky"),
        toggle("skyGroup", "sky", "Treat the sky apart",
            "Corrects what lies above a line by levels and chroma of its own; on or off.", false).solving(),
        number("skyGroup", "skyHorizon", "Horizon",
            "Height of the line in the middle of the picture, in percent of the picture's height: 0 is the bottom, 100 the top.",
            "percent", 60, 0, 100, 0, 100, true),
        number("skyGroup", "skyAngle", "Tilt",
            "By how much the line rises to the right, in degrees.",
            "degrees", 0, -90, 90, -45, 45, true),
        number("skyGroup", "skyFeather", "Fade",
            "How far below the line the sky's correction fades out, in percent of the picture's height: 0 is a hard edge.",
            "percent", 10, 0, 100, 0, 50, true),
        number("skyGroup", "skyMix", "Sky weight",
            "How much of the sky's correction is applied above the line, as a share: 0 none, 1 all of it.",
            "share", 1, 0, 1, 0, 1, true),
        number("skyGroup", "skyExposure", "Sky exposure",
            "Exposure of the sky against the rest of the picture, in stops of scene light: below 0 darkens it.",
            "stops", -0.7, -3, 3, -2, 2, false).solving(),
        number("skyGroup", "skyShadowLevel", "Sky shadow level",
            "Level that shadows are brought to in the sky's correction, in percent of level.",
            "percent", 4, 0, 30, 0, 30, false).solving(),
        number("skyGroup", "skyHighlightLevel", "Sky highlight level",
            "Level under which highlights of the sky are folded, in percent of level.",
            "percent", 92, 50, 109, 50, 109, false).solving(),
        number("skyGroup", "skyChroma", "Sky chroma",
            "Factor on the chroma of the sky, on top of the chroma balance: 1 leaves it, above 1 deepens its colour.",
            "factor", 1, 0, 2, 0, 2, false).solving(),
        group("check", "Check view"),
        choice("check", "view", "Show",
            "What is shown instead of the plain picture, to judge by. Set it back to 'Picture' before rendering for delivery.",
            new Option("picture", "Picture"),
            new Option("waveform", "Luma waveform over the picture"),
            new Option("zebra", "Stripes at a level"),
            new Option("clipped", "Clipped in the source"),
            new Option("split", "Before and after")),
        number("check", "zebraLevel", "Stripe level",
            "Luma from which stripes are drawn, in percent of level.",
            "percent", 75, 0, 109, 0, 109, false),
        number("check", "splitPosition", "Split at",
            "Where before and after meet, in percent of the picture's width from the left.",
            "percent", 50, 0, 100, 0, 100, true),
        group("files", "Files"),
        file("files", "presetFile", "Aim file",
            "Full path of a JSON file that holds an aim (preset), to load from or to save to."),
        button("files", "loadPreset", "Load aim",
            "Reads the aim file and aims at it. Subject, level and chroma controls go back to their defaults, since the file holds their work."),
        button("files", "savePreset", "Save aim",
            "Writes the present aim, with all level and chroma controls in it, to the aim file. An aim of that name is replaced, any other file is left."),
        file("files", "profileFile", "Profile file",
            "Full path of a JSON file that holds a camera profile, to load from or to save to."),
        button("files", "loadProfile", "Load profile",
            "Reads the profile file and uses it as the camera profile."),
        button("files", "saveProfile", "Save profile",
            "Writes the present camera profile to the profile file. A profile of that name is replaced, any other file is left."),
        file("files", "correctionFile", "Correction file",
            "Full path of a JSON file that holds a correction, to load from or to save to."),
        button("files", "loadCorrection", "Load correction",
            "Reads the correction file and applies it as it is, until a control is changed or Measure clip is pressed."),
        button("files", "saveCorrection", "Save correction",
            "Writes the kept correction, without the sky's, to the correction file. A correction of that name is replaced, any other file is left."),
        state("measurement", "Measurement", "What was measured, as JSON; written by Measure clip.", false),
        state("correction", "Correction", "The correction applied, as JSON; written by Measure clip and by every control that changes it.", true),
        state("stateVersion", "State version", "Version of the form in which measurement and correction are kept.", false),
        state("skyCorrection", "Sky correction", "The sky's correction, as JSON; written with the correction while the sky is treated apart.", true),
        state("presetText", "Loaded aim", "The aim loaded from a file, as JSON.", true).solving(),
        state("profileText", "Loaded profile", "The camera profile loaded from a file, as JSON.", true).solving());

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
