/* SPDX-License-Identifier: Apache-2.0
 *
 * The parameters of the plug-in by number.
 * Generated from java/engine ParameterTable; do not edit. To write it anew:
 * mvn -pl java/bridge -am test -Dtest=ParameterFilesTest -Dsurefire.failIfNoSpecifiedTests=false -Devenstop.regenerate=true
 */
#ifndef EVENSTOP_PARAMETERS_H
#define EVENSTOP_PARAMETERS_H

typedef enum EvParameterId {
  EV_CLIP,
  EV_PROFILE,
  EV_PRESET,
  EV_SUBJECT,
  EV_MEASURE,
  EV_MEASURE_CLIP,
  EV_FOUND,
  EV_ADJUST,
  EV_STRENGTH,
  EV_EXPOSURE_TRIM,
  EV_LARGEST_LIFT,
  EV_SHADOW_TRIM,
  EV_SUBJECT_TRIM,
  EV_HIGHLIGHT_TRIM,
  EV_CHROMA,
  EV_CHROMA_BALANCE,
  EV_DARK_CHROMA,
  EV_BRIGHT_CHROMA,
  EV_SKY_GROUP,
  EV_SKY,
  EV_SKY_HORIZON,
  EV_SKY_ANGLE,
  EV_SKY_FEATHER,
  EV_SKY_MIX,
  EV_SKY_EXPOSURE,
  EV_SKY_SHADOW_LEVEL,
  EV_SKY_HIGHLIGHT_LEVEL,
  EV_SKY_CHROMA,
  EV_CHECK,
  EV_VIEW,
  EV_ZEBRA_LEVEL,
  EV_SPLIT_POSITION,
  EV_FILES,
  EV_PRESET_FILE,
  EV_LOAD_PRESET,
  EV_SAVE_PRESET,
  EV_PROFILE_FILE,
  EV_LOAD_PROFILE,
  EV_SAVE_PROFILE,
  EV_CORRECTION_FILE,
  EV_LOAD_CORRECTION,
  EV_SAVE_CORRECTION,
  EV_MEASUREMENT,
  EV_CORRECTION,
  EV_STATE_VERSION,
  EV_SKY_CORRECTION,
  EV_PRESET_TEXT,
  EV_PROFILE_TEXT,
  EV_PARAMETER_COUNT
} EvParameterId;

typedef struct EvOption {
  const char *name; /* what the engine calls it */
  const char *label;
} EvOption;

/* Field for field as org.evenstop.engine.parameter.Parameter documents them. */
typedef struct EvParameter {
  const char *type; /* a kOfxParamType... value */
  const char *name, *label, *hint, *parent;
  double number, min, max, display_min, display_max;
  const char *text;
  const EvOption *options;
  int option_count;
  int animates, secret, rerenders, solves, shown_only, is_file;
} EvParameter;

extern const EvParameter ev_parameters[EV_PARAMETER_COUNT];

#endif
