/* SPDX-License-Identifier: Apache-2.0
 *
 * The parameters of the plug-in as data.
 * Generated from java/engine ParameterTable; do not edit. To write it anew:
 * mvn -pl java/bridge -am test -Dtest=ParameterFilesTest -Dsurefire.failIfNoSpecifiedTests=false -Devenstop.regenerate=true
 */
#include "parameters.h"

#include "openfx.h"

static const EvOption profile_options[] = {
  {"cinema-soft", "Cinema look, soft shoulder"},
  {"rec709-knee", "Rec.709 with knee"},
  {"srgb-screen", "sRGB screen"},
  {"file", "Loaded from a file"},
};

static const EvOption preset_options[] = {
  {"even", "Even"},
  {"face", "Face"},
  {"landscape", "Landscape"},
  {"lowLight", "Low light"},
  {"airy", "Airy"},
  {"tuck", "Tuck highlights in"},
  {"file", "Loaded from a file"},
};

static const EvOption subject_options[] = {
  {"preset", "As the aim says"},
  {"auto", "Found by itself"},
  {"face", "Face"},
  {"landscape", "Landscape"},
  {"lowLight", "Low light"},
};

static const EvOption view_options[] = {
  {"picture", "Picture"},
  {"waveform", "Luma waveform over the picture"},
  {"zebra", "Stripes at a level"},
  {"clipped", "Clipped in the source"},
  {"split", "Before and after"},
};

const EvParameter ev_parameters[EV_PARAMETER_COUNT] = {
  [EV_CLIP] =
    {kOfxParamTypeGroup, "clip", "Source",
     "",
     "", 0, 0, 0, 0, 0,
     "", 0, 0, 0, 0, 0, 0, 0, 0},
  [EV_PROFILE] =
    {kOfxParamTypeChoice, "profile", "Camera profile",
     "How the camera turned light into picture levels: take the one nearest to the setting the clip was shot with.",
     "clip", 0, 0, 0, 0, 0,
     "", profile_options, 4, 0, 0, 1, 1, 0, 0},
  [EV_PRESET] =
    {kOfxParamTypeChoice, "preset", "Aim",
     "Where shadows, subject and highlights of the clip are brought to.",
     "clip", 0, 0, 0, 0, 0,
     "", preset_options, 7, 0, 0, 1, 1, 0, 0},
  [EV_SUBJECT] =
    {kOfxParamTypeChoice, "subject", "Subject",
     "What exposure is set for. 'As the aim says' leaves it to the aim chosen above.",
     "clip", 0, 0, 0, 0, 0,
     "", subject_options, 5, 0, 0, 1, 1, 0, 0},
  [EV_MEASURE] =
    {kOfxParamTypeGroup, "measure", "Measure",
     "",
     "", 0, 0, 0, 0, 0,
     "", 0, 0, 0, 0, 0, 0, 0, 0},
  [EV_MEASURE_CLIP] =
    {kOfxParamTypePushButton, "measureClip", "Measure clip",
     "Looks at up to 24 frames spread over the clip, works out one correction for all of it and keeps it in the project.",
     "measure", 0, 0, 0, 0, 0,
     "", 0, 0, 0, 0, 0, 0, 0, 0},
  [EV_FOUND] =
    {kOfxParamTypeString, "found", "Found",
     "What was found in the clip, in percent of level (0 black, 100 nominal white), and the stops applied.",
     "measure", 0, 0, 0, 0, 0,
     "Not measured yet: press Measure clip", 0, 0, 0, 0, 0, 0, 1, 0},
  [EV_ADJUST] =
    {kOfxParamTypeGroup, "adjust", "Levels",
     "",
     "", 0, 0, 0, 0, 0,
     "", 0, 0, 0, 0, 0, 0, 0, 0},
  [EV_STRENGTH] =
    {kOfxParamTypeDouble, "strength", "Strength",
     "How much of the correction is applied, as a share: 0 leaves the picture as it is, 1 applies all of it.",
     "adjust", 1, 0, 1, 0, 1,
     "", 0, 0, 1, 0, 1, 0, 0, 0},
  [EV_EXPOSURE_TRIM] =
    {kOfxParamTypeDouble, "exposureTrim", "Exposure trim",
     "Added to the exposure that was worked out, in stops of scene light: 1 doubles the light.",
     "adjust", 0, -3, 3, -2, 2,
     "", 0, 0, 0, 0, 1, 1, 0, 0},
  [EV_LARGEST_LIFT] =
    {kOfxParamTypeDouble, "largestLift", "Largest lift",
     "No clip is lifted by more than this, in stops, before the exposure trim. Where the aim allows less, that holds.",
     "adjust", 6, 0, 6, 0, 6,
     "", 0, 0, 0, 0, 1, 1, 0, 0},
  [EV_SHADOW_TRIM] =
    {kOfxParamTypeDouble, "shadowTrim", "Shadow trim",
     "Moves the level that shadows are brought to, in percent of level: above 0 opens them.",
     "adjust", 0, -10, 10, -5, 5,
     "", 0, 0, 0, 0, 1, 1, 0, 0},
  [EV_SUBJECT_TRIM] =
    {kOfxParamTypeDouble, "subjectTrim", "Subject trim",
     "Moves the level that the subject, or skin, is brought to, in percent of level: above 0 brightens. Bright parts keep their say.",
     "adjust", 0, -20, 20, -10, 10,
     "", 0, 0, 0, 0, 1, 1, 0, 0},
  [EV_HIGHLIGHT_TRIM] =
    {kOfxParamTypeDouble, "highlightTrim", "Highlight trim",
     "Moves the level that highlights are brought to, in percent of level: below 0 holds them lower.",
     "adjust", 0, -20, 20, -10, 10,
     "", 0, 0, 0, 0, 1, 1, 0, 0},
  [EV_CHROMA] =
    {kOfxParamTypeGroup, "chroma", "Chroma",
     "",
     "", 0, 0, 0, 0, 0,
     "", 0, 0, 0, 0, 0, 0, 0, 0},
  [EV_CHROMA_BALANCE] =
    {kOfxParamTypeDouble, "chromaBalance", "Chroma balance",
     "Factor on the chroma that suits the new level: 0 is grey, 1 keeps the look of the camera profile, 2 doubles chroma.",
     "chroma", 1, 0, 2, 0, 2,
     "", 0, 0, 0, 0, 1, 1, 0, 0},
  [EV_DARK_CHROMA] =
    {kOfxParamTypeDouble, "darkChroma", "Dark chroma",
     "Further factor on the chroma of what is darker than the subject: below 1 calms shadows that were stretched up.",
     "chroma", 1, 0, 2, 0, 2,
     "", 0, 0, 0, 0, 1, 1, 0, 0},
  [EV_BRIGHT_CHROMA] =
    {kOfxParamTypeDouble, "brightChroma", "Bright chroma",
     "Further factor on the chroma of what is brighter than the subject: above 1 gives colour back to bright parts.",
     "chroma", 1, 0, 2, 0, 2,
     "", 0, 0, 0, 0, 1, 1, 0, 0},
  [EV_SKY_GROUP] =
    {kOfxParamTypeGroup, "skyGroup", "Sky",
     "",
     "", 0, 0, 0, 0, 0,
     "", 0, 0, 0, 0, 0, 0, 0, 0},
  [EV_SKY] =
    {kOfxParamTypeBoolean, "sky", "Treat the sky apart",
     "Corrects what lies above a line by levels and chroma of its own; on or off.",
     "skyGroup", 0, 0, 0, 0, 0,
     "", 0, 0, 0, 0, 1, 1, 0, 0},
  [EV_SKY_HORIZON] =
    {kOfxParamTypeDouble, "skyHorizon", "Horizon",
     "Height of the line in the middle of the picture, in percent of the picture's height: 0 is the bottom, 100 the top.",
     "skyGroup", 60, 0, 100, 0, 100,
     "", 0, 0, 1, 0, 1, 0, 0, 0},
  [EV_SKY_ANGLE] =
    {kOfxParamTypeDouble, "skyAngle", "Tilt",
     "By how much the line rises to the right, in degrees.",
     "skyGroup", 0, -90, 90, -45, 45,
     "", 0, 0, 1, 0, 1, 0, 0, 0},
  [EV_SKY_FEATHER] =
    {kOfxParamTypeDouble, "skyFeather", "Fade",
     "How far below the line the sky's correction fades out, in percent of the picture's height: 0 is a hard edge.",
     "skyGroup", 10, 0, 100, 0, 50,
     "", 0, 0, 1, 0, 1, 0, 0, 0},
  [EV_SKY_MIX] =
    {kOfxParamTypeDouble, "skyMix", "Sky weight",
     "How much of the sky's correction is applied above the line, as a share: 0 none, 1 all of it.",
     "skyGroup", 1, 0, 1, 0, 1,
     "", 0, 0, 1, 0, 1, 0, 0, 0},
  [EV_SKY_EXPOSURE] =
    {kOfxParamTypeDouble, "skyExposure", "Sky exposure",
     "Exposure of the sky against the rest of the picture, in stops of scene light: below 0 darkens it.",
     "skyGroup", -0.7, -3, 3, -2, 2,
     "", 0, 0, 0, 0, 1, 1, 0, 0},
  [EV_SKY_SHADOW_LEVEL] =
    {kOfxParamTypeDouble, "skyShadowLevel", "Sky shadow level",
     "Level that shadows are brought to in the sky's correction, in percent of level.",
     "skyGroup", 4, 0, 30, 0, 30,
     "", 0, 0, 0, 0, 1, 1, 0, 0},
  [EV_SKY_HIGHLIGHT_LEVEL] =
    {kOfxParamTypeDouble, "skyHighlightLevel", "Sky highlight level",
     "Level under which highlights of the sky are folded, in percent of level.",
     "skyGroup", 92, 50, 109, 50, 109,
     "", 0, 0, 0, 0, 1, 1, 0, 0},
  [EV_SKY_CHROMA] =
    {kOfxParamTypeDouble, "skyChroma", "Sky chroma",
     "Factor on the chroma of the sky, on top of the chroma balance: 1 leaves it, above 1 deepens its colour.",
     "skyGroup", 1, 0, 2, 0, 2,
     "", 0, 0, 0, 0, 1, 1, 0, 0},
  [EV_CHECK] =
    {kOfxParamTypeGroup, "check", "Check view",
     "",
     "", 0, 0, 0, 0, 0,
     "", 0, 0, 0, 0, 0, 0, 0, 0},
  [EV_VIEW] =
    {kOfxParamTypeChoice, "view", "Show",
     "What is shown instead of the plain picture, to judge by. Set it back to 'Picture' before rendering for delivery.",
     "check", 0, 0, 0, 0, 0,
     "", view_options, 5, 0, 0, 1, 0, 0, 0},
  [EV_ZEBRA_LEVEL] =
    {kOfxParamTypeDouble, "zebraLevel", "Stripe level",
     "Luma from which stripes are drawn, in percent of level.",
     "check", 75, 0, 109, 0, 109,
     "", 0, 0, 0, 0, 1, 0, 0, 0},
  [EV_SPLIT_POSITION] =
    {kOfxParamTypeDouble, "splitPosition", "Split at",
     "Where before and after meet, in percent of the picture's width from the left.",
     "check", 50, 0, 100, 0, 100,
     "", 0, 0, 1, 0, 1, 0, 0, 0},
  [EV_FILES] =
    {kOfxParamTypeGroup, "files", "Files",
     "",
     "", 0, 0, 0, 0, 0,
     "", 0, 0, 0, 0, 0, 0, 0, 0},
  [EV_PRESET_FILE] =
    {kOfxParamTypeString, "presetFile", "Aim file",
     "Full path of a JSON file that holds an aim (preset), to load from or to save to.",
     "files", 0, 0, 0, 0, 0,
     "", 0, 0, 0, 0, 0, 0, 0, 1},
  [EV_LOAD_PRESET] =
    {kOfxParamTypePushButton, "loadPreset", "Load aim",
     "Reads the aim file and aims at it. Subject, level and chroma controls go back to their defaults, since the file holds their work.",
     "files", 0, 0, 0, 0, 0,
     "", 0, 0, 0, 0, 0, 0, 0, 0},
  [EV_SAVE_PRESET] =
    {kOfxParamTypePushButton, "savePreset", "Save aim",
     "Writes the present aim, with all level and chroma controls in it, to the aim file. An aim of that name is replaced, any other file is left.",
     "files", 0, 0, 0, 0, 0,
     "", 0, 0, 0, 0, 0, 0, 0, 0},
  [EV_PROFILE_FILE] =
    {kOfxParamTypeString, "profileFile", "Profile file",
     "Full path of a JSON file that holds a camera profile, to load from or to save to.",
     "files", 0, 0, 0, 0, 0,
     "", 0, 0, 0, 0, 0, 0, 0, 1},
  [EV_LOAD_PROFILE] =
    {kOfxParamTypePushButton, "loadProfile", "Load profile",
     "Reads the profile file and uses it as the camera profile.",
     "files", 0, 0, 0, 0, 0,
     "", 0, 0, 0, 0, 0, 0, 0, 0},
  [EV_SAVE_PROFILE] =
    {kOfxParamTypePushButton, "saveProfile", "Save profile",
     "Writes the present camera profile to the profile file. A profile of that name is replaced, any other file is left.",
     "files", 0, 0, 0, 0, 0,
     "", 0, 0, 0, 0, 0, 0, 0, 0},
  [EV_CORRECTION_FILE] =
    {kOfxParamTypeString, "correctionFile", "Correction file",
     "Full path of a JSON file that holds a correction, to load from or to save to.",
     "files", 0, 0, 0, 0, 0,
     "", 0, 0, 0, 0, 0, 0, 0, 1},
  [EV_LOAD_CORRECTION] =
    {kOfxParamTypePushButton, "loadCorrection", "Load correction",
     "Reads the correction file and applies it as it is, until a control is changed or Measure clip is pressed.",
     "files", 0, 0, 0, 0, 0,
     "", 0, 0, 0, 0, 0, 0, 0, 0},
  [EV_SAVE_CORRECTION] =
    {kOfxParamTypePushButton, "saveCorrection", "Save correction",
     "Writes the kept correction, without the sky's, to the correction file. A correction of that name is replaced, any other file is left.",
     "files", 0, 0, 0, 0, 0,
     "", 0, 0, 0, 0, 0, 0, 0, 0},
  [EV_MEASUREMENT] =
    {kOfxParamTypeString, "measurement", "Measurement",
     "What was measured, as JSON; written by Measure clip.",
     "", 0, 0, 0, 0, 0,
     "", 0, 0, 0, 1, 0, 0, 0, 0},
  [EV_CORRECTION] =
    {kOfxParamTypeString, "correction", "Correction",
     "The correction applied, as JSON; written by Measure clip and by every control that changes it.",
     "", 0, 0, 0, 0, 0,
     "", 0, 0, 0, 1, 1, 0, 0, 0},
  [EV_STATE_VERSION] =
    {kOfxParamTypeString, "stateVersion", "State version",
     "Version of the form in which measurement and correction are kept.",
     "", 0, 0, 0, 0, 0,
     "", 0, 0, 0, 1, 0, 0, 0, 0},
  [EV_SKY_CORRECTION] =
    {kOfxParamTypeString, "skyCorrection", "Sky correction",
     "The sky's correction, as JSON; written with the correction while the sky is treated apart.",
     "", 0, 0, 0, 0, 0,
     "", 0, 0, 0, 1, 1, 0, 0, 0},
  [EV_PRESET_TEXT] =
    {kOfxParamTypeString, "presetText", "Loaded aim",
     "The aim loaded from a file, as JSON.",
     "", 0, 0, 0, 0, 0,
     "", 0, 0, 0, 1, 1, 1, 0, 0},
  [EV_PROFILE_TEXT] =
    {kOfxParamTypeString, "profileText", "Loaded profile",
     "The camera profile loaded from a file, as JSON.",
     "", 0, 0, 0, 0, 0,
     "", 0, 0, 0, 1, 1, 1, 0, 0},
};
