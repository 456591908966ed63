/* SPDX-License-Identifier: Apache-2.0
 *
 * What the plug-in is and which parameters it has. The parameters come from the generated table, so nothing here starts
 * Java or reads a file. A host that refuses an optional property still gets a working plug-in.
 */
#include <string.h>

#include "plugin.h"

static OfxPropertySetHandle effect_properties(OfxImageEffectHandle effect) {
  OfxPropertySetHandle set = NULL;
  if (!ev_suites.effect->getPropertySet || ev_suites.effect->getPropertySet(effect, &set) != kOfxStatOK) {
    return NULL;
  }
  return set;
}

static int host_offers_other_times(void) {
  return ev_int(ev_host->host, kOfxImageEffectPropTemporalClipAccess, 0, 0);
}

static int host_manages_colour(OfxPropertySetHandle set) {
  const char *style = ev_string(set, kOfxImageEffectPropColourManagementStyle, 0, NULL);
  return style && *style && strcmp(style, kOfxImageEffectColourManagementNone);
}

static int has_style(OfxPropertySetHandle set, const char *style) {
  return !strcmp(ev_string(set, kOfxImageEffectPropColourManagementStyle, 0, kOfxImageEffectColourManagementNone), style);
}

OfxStatus ev_describe(OfxImageEffectHandle effect, OfxPropertySetHandle in, OfxPropertySetHandle out) {
  (void)in, (void)out;
  OfxPropertySetHandle set = effect_properties(effect);
  if (!set) {
    return kOfxStatErrMissingHostFeature;
  }
  ev_vm_bundle(ev_string(set, kOfxPluginPropFilePath, 0, NULL));
  OfxStatus status = ev_set_string(set, kOfxImageEffectPropSupportedContexts, 0, kOfxImageEffectContextFilter);
  if (status == kOfxStatOK) {
    status = ev_set_string(set, kOfxImageEffectPropSupportedPixelDepths, 0, kOfxBitDepthFloat);
  }
  if (status != kOfxStatOK) {
    return status;
  }
  ev_offer_string(set, kOfxImageEffectPropSupportedContexts, 1, kOfxImageEffectContextGeneral);
  /* A host that has never heard of half refuses it, and must then still learn of the others: each at the next free place. */
  static const char *const further[] = {kOfxBitDepthHalf, kOfxBitDepthShort, kOfxBitDepthByte};
  for (int i = 0, at = 1; i < 3; i++) {
    at += ev_set_string(set, kOfxImageEffectPropSupportedPixelDepths, at, further[i]) == kOfxStatOK;
  }
  ev_offer_string(set, kOfxPropLabel, 0, "Evenstop");
  ev_offer_string(set, kOfxPropShortLabel, 0, "Evenstop");
  ev_offer_string(set, kOfxPropLongLabel, 0, "Evenstop");
  ev_offer_string(set, kOfxImageEffectPluginPropGrouping, 0, "Exposure");
  ev_offer_int(set, kOfxPropVersion, 0, 1);
  ev_offer_int(set, kOfxPropVersion, 1, 0);
  ev_offer_string(set, kOfxPropVersionLabel, 0, "1.0");
  ev_offer_string(set, kOfxPropPluginDescription, 0,
                  "Evens out the exposure of clips from a display-referred camera profile: measures a clip once and brings its "
                  "shadows, subject and highlights to one level.");
  ev_offer_int(set, kOfxImageEffectPluginPropSingleInstance, 0, 0);
  ev_offer_int(set, kOfxImageEffectPluginPropHostFrameThreading, 0, 0);
  ev_offer_string(set, kOfxImageEffectPluginRenderThreadSafety, 0, kOfxImageEffectRenderFullySafe);
  ev_offer_int(set, kOfxImageEffectPropSupportsMultiResolution, 0, 1);
  ev_offer_int(set, kOfxImageEffectPropSupportsTiles, 0, 1);
  ev_offer_int(set, kOfxImageEffectPropTemporalClipAccess, 0, host_offers_other_times());
  ev_offer_int(set, kOfxImageEffectPropSupportsMultipleClipDepths, 0, 0);
  ev_offer_int(set, kOfxImageEffectPropSupportsMultipleClipPARs, 0, 0);
  ev_offer_int(set, kOfxImageEffectPluginPropFieldRenderTwiceAlways, 0, 0);
  if (host_manages_colour(ev_host->host)) {
    ev_offer_string(set, kOfxImageEffectPropColourManagementStyle, 0,
                    has_style(ev_host->host, kOfxImageEffectColourManagementBasic) ? kOfxImageEffectColourManagementBasic
                                                                                  : kOfxImageEffectColourManagementCore);
  }
  return kOfxStatOK;
}

static OfxStatus define_clip(OfxImageEffectHandle effect, const char *name, int other_times) {
  OfxPropertySetHandle set = NULL;
  if (!ev_suites.effect->clipDefine) {
    return kOfxStatErrMissingHostFeature;
  }
  OfxStatus status = ev_suites.effect->clipDefine(effect, name, &set);
  if (status != kOfxStatOK) {
    return status;
  }
  status = ev_set_string(set, kOfxImageEffectPropSupportedComponents, 0, kOfxImageComponentRGBA);
  ev_offer_string(set, kOfxImageEffectPropSupportedComponents, 1, kOfxImageComponentRGB);
  ev_offer_string(set, kOfxImageEffectPropSupportedComponents, 2, kOfxImageComponentAlpha);
  ev_offer_int(set, kOfxImageEffectPropTemporalClipAccess, 0, other_times);
  return status;
}

static void describe_values(const EvParameter *parameter, OfxPropertySetHandle set) {
  if (!strcmp(parameter->type, kOfxParamTypeDouble)) {
    ev_offer_double(set, kOfxParamPropDefault, 0, parameter->number);
    /* Min and Max first: setting them may reset the displayed range. */
    ev_offer_double(set, kOfxParamPropMin, 0, parameter->min);
    ev_offer_double(set, kOfxParamPropMax, 0, parameter->max);
    ev_offer_double(set, kOfxParamPropDisplayMin, 0, parameter->display_min);
    ev_offer_double(set, kOfxParamPropDisplayMax, 0, parameter->display_max);
    ev_offer_double(set, kOfxParamPropIncrement, 0, parameter->display_max - parameter->display_min > 10 ? 0.5 : 0.05);
  } else if (!strcmp(parameter->type, kOfxParamTypeChoice)) {
    for (int i = 0; i < parameter->option_count; i++) {
      ev_offer_string(set, kOfxParamPropChoiceOption, i, parameter->options[i].label);
    }
    ev_offer_int(set, kOfxParamPropDefault, 0, (int)parameter->number);
  } else if (!strcmp(parameter->type, kOfxParamTypeBoolean)) {
    ev_offer_int(set, kOfxParamPropDefault, 0, parameter->number != 0);
  } else if (!strcmp(parameter->type, kOfxParamTypeString)) {
    ev_offer_string(set, kOfxParamPropStringMode, 0,
                    parameter->shown_only ? kOfxParamStringIsLabel
                    : parameter->is_file  ? kOfxParamStringIsFilePath
                                          : kOfxParamStringIsMultiLine);
    if (parameter->is_file) {
      ev_offer_int(set, kOfxParamPropStringFilePathExists, 0, 0);
    }
    ev_offer_string(set, kOfxParamPropDefault, 0, parameter->text);
  }
}

static int has_value(const EvParameter *parameter) {
  return strcmp(parameter->type, kOfxParamTypeGroup) && strcmp(parameter->type, kOfxParamTypePushButton);
}

static OfxStatus define_parameter(OfxParamSetHandle params, const EvParameter *parameter) {
  OfxPropertySetHandle set = NULL;
  OfxStatus status = ev_suites.parameter->paramDefine(params, parameter->type, parameter->name, &set);
  if (status != kOfxStatOK) {
    return status;
  }
  ev_offer_string(set, kOfxPropLabel, 0, parameter->label);
  ev_offer_string(set, kOfxPropShortLabel, 0, parameter->label);
  ev_offer_string(set, kOfxPropLongLabel, 0, parameter->label);
  ev_offer_string(set, kOfxParamPropScriptName, 0, parameter->name);
  if (*parameter->hint) {
    ev_offer_string(set, kOfxParamPropHint, 0, parameter->hint);
  }
  if (*parameter->parent) {
    ev_offer_string(set, kOfxParamPropParent, 0, parameter->parent);
  }
  if (parameter->secret) {
    ev_offer_int(set, kOfxParamPropSecret, 0, 1);
  }
  if (has_value(parameter)) {
    ev_offer_int(set, kOfxParamPropAnimates, 0, parameter->animates);
    ev_offer_int(set, kOfxParamPropPersistant, 0, 1);
    ev_offer_int(set, kOfxParamPropEvaluateOnChange, 0, parameter->rerenders);
  }
  describe_values(parameter, set);
  return kOfxStatOK;
}

OfxStatus ev_describe_in_context(OfxImageEffectHandle effect, OfxPropertySetHandle in, OfxPropertySetHandle out) {
  (void)in, (void)out;
  /* One reference implementation of a host loses what was set in Describe only. */
  ev_offer_int(effect_properties(effect), kOfxImageEffectPropSupportsTiles, 0, 1);
  OfxStatus status = define_clip(effect, kOfxImageEffectSimpleSourceClipName, host_offers_other_times());
  if (status == kOfxStatOK) {
    status = define_clip(effect, kOfxImageEffectOutputClipName, 0);
  }
  if (status != kOfxStatOK) {
    return status;
  }
  OfxParamSetHandle params = NULL;
  if (!ev_suites.effect->getParamSet || !ev_suites.parameter->paramDefine) {
    return kOfxStatErrMissingHostFeature;
  }
  status = ev_suites.effect->getParamSet(effect, &params);
  for (int i = 0; status == kOfxStatOK && i < EV_PARAMETER_COUNT; i++) {
    status = define_parameter(params, &ev_parameters[i]);
  }
  return status;
}

/* Only the colour space is asked for; the rest of the clip's form may stay what it is. What was granted is looked at in each
 * render: the host is free to give something else. */
OfxStatus ev_clip_preferences(OfxImageEffectHandle effect, OfxPropertySetHandle in, OfxPropertySetHandle out) {
  (void)in;
  OfxPropertySetHandle set = effect_properties(effect);
  if (!host_manages_colour(set)) {
    return kOfxStatReplyDefault;
  }
  static const char preferred[] = kOfxImageClipPropPreferredColourspaces "_" kOfxImageEffectSimpleSourceClipName;
  int at = 0;
  if (!has_style(set, kOfxImageEffectColourManagementBasic)) { /* which knows the five basic ones only */
    ev_offer_string(out, preferred, at++, "rec1886_rec709_display");
  }
  ev_offer_string(out, preferred, at, kOfxColourspaceDisplaySdr);
  return kOfxStatOK;
}

OfxStatus ev_output_colourspace(OfxImageEffectHandle effect, OfxPropertySetHandle in, OfxPropertySetHandle out) {
  (void)effect, (void)in;
  static const char source[] = kOfxColourspaceOfClipStem kOfxImageEffectSimpleSourceClipName;
  return ev_set_string(out, kOfxImageClipPropColourspace, 0, source) == kOfxStatOK ? kOfxStatOK : kOfxStatReplyDefault;
}

/* Encodings "sdr-video" of the standard's core list, and raw, which claims nothing. */
static const char *const fit_spaces[] = {
  kOfxColourspaceDisplaySdr, kOfxColourspaceRaw, "srgb_display", "displayp3_display", "rec1886_rec709_display",
  "rec1886_rec2020_display", "p3d65_display", "g18_rec709_tx", "g22_rec709_tx", "g24_rec709_tx", "g22_ap1_tx",
  "srgb_encoded_ap1_tx", "srgb_encoded_p3d65_tx", "srgb_tx",
};

const char *ev_unfit_colourspace(EvInstance *instance, OfxPropertySetHandle clip) {
  if (!host_manages_colour(instance->properties)) {
    return NULL;
  }
  const char *space = ev_string(clip, kOfxImageClipPropColourspace, 0, NULL);
  if (!space || !*space) {
    return NULL;
  }
  for (size_t i = 0; i < sizeof fit_spaces / sizeof *fit_spaces; i++) {
    if (!strcmp(space, fit_spaces[i])) {
      return NULL;
    }
  }
  return space;
}
