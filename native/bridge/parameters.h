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
  EV_MEASURE_CLIP,
  EV_FOUND,
  EV_ADJUST,
  EV_STRENGTH,
  EV_EXPOSURE_TRIM,
  EV_CHROMA_BALANCE,
  EV_SHADOW_TRIM,
  EV_HIGHLIGHT_TRIM,
  EV_MEASUREMENT,
  EV_CORRECTION,
  EV_STATE_VERSION,
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
  int animates, secret, rerenders, shown_only;
} EvParameter;

extern const EvParameter ev_parameters[EV_PARAMETER_COUNT];

#endif
