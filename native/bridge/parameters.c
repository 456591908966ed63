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
};

static const EvOption preset_options[] = {
  {"even", "Even"},
  {"face", "Face"},
  {"landscape", "Landscape"},
  {"lowLight", "Low light"},
  {"airy", "Airy"},
  {"tuck", "Tuck highlights in"},
};

static const EvOption subject_options[] = {
  {"preset", "As the aim says"},
  {"auto", "Found by itself"},
  {"face", "Face"},
  {"landscape", "Landscape"},
  {"lowLight", "Low light"},
};

const EvParameter ev_parameters[EV_PARAMETER_COUNT] = {
  [EV_CLIP] =
    {kOfxParamTypeGroup, "clip", "Clip",
     "",
     "", 0, 0, 0, 0, 0,
     "", 0, 0, 0, 0, 0, 0},
  [EV_PROFILE] =
    {kOfxParamTypeChoice, "profile", "Camera profile",
     "How the camera turned light into picture levels: take the one nearest to the setting the clip was shot with.",
     "clip", 0, 0, 0, 0, 0,
     "", profile_options, 3, 0, 0, 1, 0},
  [EV_PRESET] =
    {kOfxParamTypeChoice, "preset", "Aim",
     "Where shadows, subject and highlights of the clip are brought to.",
     "clip", 0, 0, 0, 0, 0,
     "", preset_options, 6, 0, 0, 1, 0},
  [EV_SUBJECT] =
    {kOfxParamTypeChoice, "subject", "Subject",
     "What exposure is set for. 'As the aim says' leaves it to the aim chosen above.",
     "clip", 0, 0, 0, 0, 0,
     "", subject_options, 5, 0, 0, 1, 0},
  [EV_MEASURE_CLIP] =
    {kOfxParamTypePushButton, "measureClip", "Measure clip",
     "Looks at up to 24 frames spread over the clip, works out one correction for all of it and keeps it in the project.",
     "clip", 0, 0, 0, 0, 0,
     "", 0, 0, 0, 0, 0, 0},
  [EV_FOUND] =
    {kOfxParamTypeString, "found", "Found",
     "What was found in the clip, in percent of level (0 black, 100 nominal white), and the stops applied.",
     "clip", 0, 0, 0, 0, 0,
     "Not measured yet: press Measure clip", 0, 0, 0, 0, 0, 1},
  [EV_ADJUST] =
    {kOfxParamTypeGroup, "adjust", "Adjust",
     "",
     "", 0, 0, 0, 0, 0,
     "", 0, 0, 0, 0, 0, 0},
  [EV_STRENGTH] =
    {kOfxParamTypeDouble, "strength", "Strength",
     "How much of the correction is applied, as a share: 0 leaves the picture as it is, 1 applies all of it.",
     "adjust", 1, 0, 1, 0, 1,
     "", 0, 0, 1, 0, 1, 0},
  [EV_EXPOSURE_TRIM] =
    {kOfxParamTypeDouble, "exposureTrim", "Exposure trim",
     "Added to the exposure that was worked out, in stops of scene light: 1 doubles the light.",
     "adjust", 0, -3, 3, -2, 2,
     "", 0, 0, 0, 0, 1, 0},
  [EV_CHROMA_BALANCE] =
    {kOfxParamTypeDouble, "chromaBalance", "Chroma balance",
     "Factor on the chroma that suits the new level: 0 is grey, 1 keeps the look of the camera profile, 2 doubles chroma.",
     "adjust", 1, 0, 2, 0, 2,
     "", 0, 0, 0, 0, 1, 0},
  [EV_SHADOW_TRIM] =
    {kOfxParamTypeDouble, "shadowTrim", "Shadow trim",
     "Moves the level that shadows are brought to, in percent of level: above 0 opens them.",
     "adjust", 0, -10, 10, -5, 5,
     "", 0, 0, 0, 0, 1, 0},
  [EV_HIGHLIGHT_TRIM] =
    {kOfxParamTypeDouble, "highlightTrim", "Highlight trim",
     "Moves the level that highlights are brought to, in percent of level: below 0 holds them lower.",
     "adjust", 0, -20, 20, -10, 10,
     "", 0, 0, 0, 0, 1, 0},
  [EV_MEASUREMENT] =
    {kOfxParamTypeString, "measurement", "Measurement",
     "What was measured, as JSON; written by Measure clip.",
     "", 0, 0, 0, 0, 0,
     "", 0, 0, 0, 1, 0, 0},
  [EV_CORRECTION] =
    {kOfxParamTypeString, "correction", "Correction",
     "The correction applied, as JSON; written by Measure clip and by every control that changes it.",
     "", 0, 0, 0, 0, 0,
     "", 0, 0, 0, 1, 1, 0},
  [EV_STATE_VERSION] =
    {kOfxParamTypeString, "stateVersion", "State version",
     "Version of the form in which measurement and correction are kept.",
     "", 0, 0, 0, 0, 0,
     "", 0, 0, 0, 1, 0, 0},
};
