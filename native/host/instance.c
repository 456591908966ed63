/* SPDX-License-Identifier: Apache-2.0
 *
 * Instances: creation, clip preferences, changes by user and plug-in, syncing, destruction.
 */
#include "internal.h"

#include <stdlib.h>
#include <string.h>

enum { DEEPEST_CHANGE = 8 };

static void publish_clip(OfxImageClipHandle c, const EshFormat *unmapped) {
  OfxPropertySetHandle s = c->props;
  const EshFormat *f = &c->format;
  const int connected = c->is_output || c->source != NULL;
  esh_put_string(s, kOfxPropType, 0, kOfxTypeClip);
  esh_put_string(s, kOfxImageEffectPropPixelDepth, 0, connected ? esh_depth_ofx(f->depth) : kOfxBitDepthNone);
  esh_put_string(s, kOfxImageEffectPropComponents, 0,
                 connected ? esh_components_ofx(f->components) : kOfxImageComponentNone);
  esh_put_string(s, kOfxImageClipPropUnmappedPixelDepth, 0,
                 connected ? esh_depth_ofx(unmapped->depth) : kOfxBitDepthNone);
  esh_put_string(s, kOfxImageClipPropUnmappedComponents, 0,
                 connected ? esh_components_ofx(unmapped->components) : kOfxImageComponentNone);
  esh_put_string(s, kOfxImageEffectPropPreMultiplication, 0, esh_premult_ofx(f->premult));
  esh_put_double(s, kOfxImagePropPixelAspectRatio, 0, f->pixel_aspect);
  esh_put_double(s, kOfxImageEffectPropFrameRate, 0, f->frame_rate);
  esh_put_double(s, kOfxImageEffectPropUnmappedFrameRate, 0, unmapped->frame_rate);
  esh_put_double(s, kOfxImageEffectPropFrameRange, 0, f->first);
  esh_put_double(s, kOfxImageEffectPropFrameRange, 1, f->last);
  esh_put_double(s, kOfxImageEffectPropUnmappedFrameRange, 0, unmapped->first);
  esh_put_double(s, kOfxImageEffectPropUnmappedFrameRange, 1, unmapped->last);
  esh_put_string(s, kOfxImageClipPropFieldOrder, 0, kOfxImageFieldNone);
  esh_put_int(s, kOfxImageClipPropConnected, 0, connected);
  if (f->colourspace && connected) {
    esh_put_string(s, kOfxImageClipPropColourspace, 0, *c->granted ? c->granted : f->colourspace);
  }
  esh_props_settle(s);
}

static void publish_instance(EshEffect *e, EshEffect *described, const EshFormat *f) {
  OfxPropertySetHandle s = e->props;
  const EshConfig *c = &e->host->config;
  esh_put_string(s, kOfxPropType, 0, kOfxTypeImageEffectInstance);
  esh_put_string(s, kOfxImageEffectPropContext, 0, e->context);
  esh_put_pointer(s, kOfxPropInstanceData, 0, NULL);
  esh_put_pointer(s, kOfxImageEffectPropPluginHandle, 0, described);
  esh_put_double(s, kOfxImageEffectPropProjectSize, 0, f->width * f->pixel_aspect);
  esh_put_double(s, kOfxImageEffectPropProjectSize, 1, f->height);
  esh_put_double(s, kOfxImageEffectPropProjectOffset, 0, c->origin_x * f->pixel_aspect);
  esh_put_double(s, kOfxImageEffectPropProjectOffset, 1, c->origin_y);
  esh_put_double(s, kOfxImageEffectPropProjectExtent, 0, (c->origin_x + f->width) * f->pixel_aspect);
  esh_put_double(s, kOfxImageEffectPropProjectExtent, 1, c->origin_y + f->height);
  esh_put_double(s, kOfxImageEffectPropProjectPixelAspectRatio, 0, f->pixel_aspect);
  esh_put_double(s, kOfxImageEffectInstancePropEffectDuration, 0, f->last - f->first + 1);
  esh_put_int(s, kOfxImageEffectInstancePropSequentialRender, 0, 0);
  esh_put_int(s, kOfxImageEffectPropSupportsTiles, 0, esh_int(described, kOfxImageEffectPropSupportsTiles, 0, 1));
  esh_put_string(s, kOfxImageEffectPropOpenGLRenderSupported, 0, "false");
  esh_put_string(s, kOfxImageEffectPropCPURenderSupported, 0, "true");
  esh_put_double(s, kOfxImageEffectPropFrameRate, 0, f->frame_rate);
  esh_put_int(s, kOfxPropIsInteractive, 0, !c->background);
  /* A style is only worth having when the host knows what the clip is. */
  const char *offered = esh_string(described, kOfxImageEffectPropColourManagementStyle, 0);
  const int managed = f->colourspace && offered && strcmp(offered, kOfxImageEffectColourManagementNone);
  /* The highest that both know; what knows Core knows Basic. */
  const int core = managed && c->core_colour && strcmp(offered, kOfxImageEffectColourManagementBasic);
  esh_put_string(s, kOfxImageEffectPropColourManagementStyle, 0,
                 core      ? kOfxImageEffectColourManagementCore
                 : managed ? kOfxImageEffectColourManagementBasic
                           : kOfxImageEffectColourManagementNone);
  if (managed) esh_put_string(s, kOfxImageEffectPropDisplayColourspace, 0, kOfxColourspaceDisplaySdr);
  esh_props_settle(s);
}

static int accepts(OfxPropertySetHandle props, const char *property, const char *value) {
  for (int i = 0; i < esh_peek_count(props, property); i++)
    if (!strcmp(esh_peek_string(props, property, i), value)) return 1;
  return 0;
}

int esh_clip_takes(const EshEffect *e, const char *clip, EshComponents components) {
  OfxImageClipHandle c = esh_clip_find((EshEffect *)e, clip);
  return c && accepts(c->props, kOfxImageEffectPropSupportedComponents, esh_components_ofx(components));
}

EshEffect *esh_instance_new(EshEffect *described, EshSource *source, char *err) {
  EshBundle *b = described->bundle;
  const EshFormat *f = esh_source_format(source);
  const char *id = b->plugins[described->index].plugin->pluginIdentifier;
  if (!accepts(described->props, kOfxImageEffectPropSupportedPixelDepths, esh_depth_ofx(f->depth))) {
    esh_error(err, "%s does not take %s samples; `ofxhost list` shows the depths it takes", id,
              esh_depth_ofx(f->depth));
    return NULL;
  }
  OfxImageClipHandle fed = esh_clip_find(described, kOfxImageEffectSimpleSourceClipName);
  if (fed && !accepts(fed->props, kOfxImageEffectPropSupportedComponents, esh_components_ofx(f->components))) {
    esh_error(err, "%s does not take %s in its clip \"%s\"", id, esh_components_ofx(f->components), fed->name);
    return NULL;
  }
  EshEffect *e = esh_effect_new(b, described->index, EFFECT_INSTANCE, described->context);
  e->source = source;
  e->time = f->first;
  publish_instance(e, described, f);
  esh_params_instance(&e->params, &described->params);
  e->clips = esh_alloc(sizeof *e->clips * (size_t)described->clip_count);
  for (int i = 0; i < described->clip_count; i++) {
    OfxImageClipHandle from = described->clips[i], c = esh_alloc(sizeof *c);
    memset(c, 0, sizeof *c);
    c->magic = MAGIC_CLIP;
    c->effect = e;
    c->name = esh_copy(from->name);
    c->is_output = from->is_output;
    c->source = from == fed && !e->host->config.unconnected ? source : NULL;
    c->format = *f;
    c->props = esh_props_clone(from->props, "ClipInstance", esh_format("clip %s", from->name));
    e->clips[e->clip_count++] = c;
    publish_clip(c, f);
  }
  return e;
}

static int good_reply(OfxStatus status) { return status == kOfxStatOK || status == kOfxStatReplyDefault; }

static int from_ofx(const char *(*name)(int), int count, const char *value) {
  for (int i = 0; i < count; i++)
    if (value && !strcmp(name(i), value)) return i;
  return -1;
}
static const char *depth_name(int i) { return esh_depth_ofx((EshDepth)i); }
static const char *components_name(int i) { return esh_components_ofx((EshComponents)i); }
static const char *premult_name(int i) { return esh_premult_ofx((EshPremult)i); }

/* Takes the plug-in's wishes over. The source is as it is: this host converts nothing, so a wish for another form of a
 * connected input is an error. */
static int is_listed(const char *list, const char *name) {
  const size_t length = strlen(name);
  for (const char *at = list; at; at = strchr(at, ',') ? strchr(at, ',') + 1 : NULL)
    if (!strncmp(at, name, length) && (at[length] == ',' || !at[length])) return 1;
  return 0;
}

/* Grants the first space that the effect prefers and this host delivers. In the Basic style only basic spaces may be asked for. */
static void grant_colourspace(OfxImageClipHandle c, OfxPropertySetHandle out) {
  static const char basic[] = kOfxColourspaceDisplayHdr "," kOfxColourspaceDisplaySdr "," kOfxColourspaceRaw ","
                              kOfxColourspaceSceneLinear "," kOfxColourspaceSceneLog;
  EshHost *host = c->effect->host;
  const char *style = esh_string(c->effect, kOfxImageEffectPropColourManagementStyle, 0);
  char name[256];
  snprintf(name, sizeof name, "%s_%s", kOfxImageClipPropPreferredColourspaces, c->name);
  *c->granted = 0;
  if (!style || !strcmp(style, kOfxImageEffectColourManagementNone)) return;
  for (int i = 0; i < esh_peek_count(out, name); i++) {
    const char *wanted = esh_peek_string(out, name, i);
    if (!strcmp(style, kOfxImageEffectColourManagementBasic) && !is_listed(basic, wanted)
        && strncmp(wanted, kOfxColourspaceOfClipStem, strlen(kOfxColourspaceOfClipStem))) {
      esh_fault_add(host, "GetClipPreferences prefers the colour space %s for clip %s; the style agreed on is Basic", wanted, c->name);
    }
    if (!*c->granted && !c->is_output && host->config.delivers && is_listed(host->config.delivers, wanted)) {
      snprintf(c->granted, sizeof c->granted, "%s", wanted);
    }
  }
}

static OfxStatus apply_preferences(EshEffect *e, OfxPropertySetHandle out) {
  const EshFormat *source = esh_source_format(e->source);
  OfxStatus result = kOfxStatOK;
  for (int i = 0; i < e->clip_count; i++) {
    OfxImageClipHandle c = e->clips[i];
    if (!c->is_output && !c->source) continue;
    char name[256];
    snprintf(name, sizeof name, "%s%s", kOfxImageClipPropDepthStem, c->name);
    const char *depth_text = esh_peek_string(out, name, 0);
    const int depth = from_ofx(depth_name, 4, depth_text);
    snprintf(name, sizeof name, "%s%s", kOfxImageClipPropComponentsStem, c->name);
    const char *components_text = esh_peek_string(out, name, 0);
    const int components = from_ofx(components_name, 3, components_text);
    int premult = from_ofx(premult_name, 3, esh_peek_string(out, kOfxImageEffectPropPreMultiplication, 0));
    if (premult < 0 && !esh_prop_find(out, kOfxImageEffectPropPreMultiplication)) premult = (int)source->premult; /* left out */
    const int filter = !strcmp(e->context, kOfxImageEffectContextFilter);
    if (depth < 0 || components < 0 || premult < 0 || depth != (int)source->depth ||
        ((!c->is_output || filter) && components != (int)source->components)) {
      esh_fault_add(e->host, "GetClipPreferences wants clip %s as %s, %s; the source is %s, %s and is not converted",
                    c->name, depth_text, components_text, esh_depth_ofx(source->depth),
                    esh_components_ofx(source->components));
      result = kOfxStatErrImageFormat;
      continue;
    }
    c->format.depth = (EshDepth)depth;
    c->format.components = (EshComponents)components;
    if (c->is_output) c->format.premult = (EshPremult)premult;
    grant_colourspace(c, out);
    publish_clip(c, source);
  }
  return result;
}

static void ask_output_colourspace(EshEffect *e) {
  const char *style = esh_string(e, kOfxImageEffectPropColourManagementStyle, 0);
  OfxImageClipHandle output = esh_clip_find(e, kOfxImageEffectOutputClipName);
  if (!output || !style || !strcmp(style, kOfxImageEffectColourManagementNone)) return;
  OfxPropertySetHandle in = esh_props_new(e->host, "OfxImageEffectActionGetOutputColourspace.in",
                                          esh_copy("GetOutputColourspace arguments"));
  OfxPropertySetHandle out = esh_props_new(e->host, "OfxImageEffectActionGetOutputColourspace.out",
                                           esh_copy("GetOutputColourspace result"));
  const OfxImageClipHandle clip = esh_clip_find(e, kOfxImageEffectSimpleSourceClipName);
  const char *source = clip && *clip->granted ? clip->granted : esh_source_format(e->source)->colourspace;
  esh_put_string(in, kOfxImageClipPropPreferredColourspaces, 0, source);
  const OfxStatus status = esh_action(e, kOfxImageEffectActionGetOutputColourspace, in, out);
  const char *answer = status == kOfxStatOK ? esh_peek_string(out, kOfxImageClipPropColourspace, 0) : NULL;
  const char *same = kOfxColourspaceOfClipStem kOfxImageEffectSimpleSourceClipName;
  esh_put_string(output->props, kOfxImageClipPropColourspace, 0, answer && strcmp(answer, same) ? answer : source);
  if (!good_reply(status)) esh_fault_add(e->host, "GetOutputColourspace answers %s", esh_status_name(status));
  esh_props_free(in);
  esh_props_free(out);
}

OfxStatus esh_get_clip_preferences(EshEffect *e) {
  const EshFormat *f = esh_source_format(e->source);
  OfxPropertySetHandle out = esh_props_new(e->host, "OfxImageEffectActionGetClipPreferences.out",
                                           esh_copy("GetClipPreferences result"));
  esh_put_double(out, kOfxImageEffectPropFrameRate, 0, f->frame_rate);
  esh_put_string(out, kOfxImageClipPropFieldOrder, 0, kOfxImageFieldNone);
  esh_put_string(out, kOfxImageEffectPropPreMultiplication, 0, esh_premult_ofx(f->premult));
  esh_put_int(out, kOfxImageClipPropContinuousSamples, 0, 0);
  esh_put_int(out, kOfxImageEffectFrameVarying, 0, 0);
  for (int i = 0; i < e->clip_count; i++) {
    char name[256];
    snprintf(name, sizeof name, "%s%s", kOfxImageClipPropComponentsStem, e->clips[i]->name);
    esh_prop_add(out, name, ESH_STRING, 1, ESH_PLUGIN_WRITES);
    esh_put_string(out, name, 0, esh_components_ofx(f->components));
    snprintf(name, sizeof name, "%s%s", kOfxImageClipPropDepthStem, e->clips[i]->name);
    esh_prop_add(out, name, ESH_STRING, 1, ESH_PLUGIN_WRITES);
    esh_put_string(out, name, 0, esh_depth_ofx(f->depth));
    snprintf(name, sizeof name, "%s%s", kOfxImageClipPropPARStem, e->clips[i]->name);
    esh_prop_add(out, name, ESH_DOUBLE, 1, ESH_PLUGIN_WRITES);
    esh_put_double(out, name, 0, f->pixel_aspect);
    snprintf(name, sizeof name, "%s_%s", kOfxImageClipPropPreferredColourspaces, e->clips[i]->name);
    esh_prop_add(out, name, ESH_STRING, 0, ESH_PLUGIN_WRITES);
  }
  esh_props_settle(out);
  OfxStatus status = esh_action(e, kOfxImageEffectActionGetClipPreferences, NULL, out);
  if (status == kOfxStatOK) status = apply_preferences(e, out);
  esh_props_free(out);
  return status == kOfxStatReplyDefault ? kOfxStatOK : status;
}

OfxStatus esh_instance_create(EshEffect *e) {
  OfxStatus status = esh_action(e, kOfxActionCreateInstance, NULL, NULL);
  if (!good_reply(status)) return status;
  e->created = 1;
  status = esh_get_clip_preferences(e);
  if (status == kOfxStatOK) ask_output_colourspace(e);
  return status;
}

OfxStatus esh_sync_private_data(EshEffect *e) {
  const OfxStatus status = esh_action(e, kOfxActionSyncPrivateData, NULL, NULL);
  esh_put_int(e->params.props, kOfxPropParamSetNeedsSyncing, 0, 0);
  return status == kOfxStatReplyDefault ? kOfxStatOK : status;
}

void esh_instance_destroy(EshEffect *e) {
  if (!e) return;
  if (e->created) {
    const OfxStatus status = esh_action(e, kOfxActionDestroyInstance, NULL, NULL);
    if (!good_reply(status)) esh_fault_add(e->host, "DestroyInstance answers %s", esh_status_name(status));
  }
  EshHost *host = e->host;
  esh_lock(host);
  for (int i = 0; i < host->message_count; i++)
    if (host->message_effects[i] == e) host->message_effects[i] = NULL; /* a new instance may get the same address */
  esh_unlock(host);
  esh_effect_free(e);
}

static OfxStatus send_bracket(EshEffect *e, const char *action, const char *set, const char *reason) {
  OfxPropertySetHandle in = esh_props_new(e->host, set, esh_format("%s arguments", action));
  esh_put_string(in, kOfxPropChangeReason, 0, reason);
  esh_put_string(in, kOfxImageEffectPropThumbnailRender, 0, e->host->config.thumbnail ? "true" : "false");
  const OfxStatus status = esh_action(e, action, in, NULL);
  esh_props_free(in);
  return status;
}

OfxStatus esh_instance_changed(EshEffect *e, const char *type, const char *name, const char *reason, int bracketed) {
  /* Depth counts one thread's nesting: the render thread's disturber is alone while it runs. */
  if (e->change_depth >= DEEPEST_CHANGE) {
    esh_fault_add(e->host, "InstanceChanged sets parameters without end: %d levels deep", DEEPEST_CHANGE);
    return kOfxStatFailed;
  }
  e->change_depth++;
  if (bracketed)
    send_bracket(e, kOfxActionBeginInstanceChanged, "OfxActionBeginInstanceChanged.in", reason);
  OfxPropertySetHandle in = esh_props_new(e->host, "OfxActionInstanceChanged.in", esh_copy("InstanceChanged arguments"));
  esh_put_string(in, kOfxPropType, 0, type);
  esh_put_string(in, kOfxPropName, 0, name);
  esh_put_string(in, kOfxPropChangeReason, 0, reason);
  esh_put_double(in, kOfxPropTime, 0, e->time);
  esh_put_double(in, kOfxImageEffectPropRenderScale, 0, esh_scale(e->host));
  esh_put_double(in, kOfxImageEffectPropRenderScale, 1, esh_scale(e->host));
  esh_put_string(in, kOfxImageEffectPropThumbnailRender, 0, e->host->config.thumbnail ? "true" : "false");
  const OfxStatus status = esh_action(e, kOfxActionInstanceChanged, in, NULL);
  esh_props_free(in);
  if (bracketed) send_bracket(e, kOfxActionEndInstanceChanged, "OfxActionEndInstanceChanged.in", reason);
  e->change_depth--;
  if (!e->change_depth && e->params.edits_open) {
    esh_fault_add(e->host, "InstanceChanged returned with paramEditBegin open");
    e->params.edits_open = 0;
  }
  if (!e->change_depth && e->progress_open) {
    esh_fault_add(e->host, "InstanceChanged returned with a progress open");
    e->progress_open = 0;
  }
  return status;
}

int esh_param_edit(EshEffect *e, const char *name, const char *text, char *err) {
  OfxParamHandle p = esh_params_find(&e->params, name);
  if (!p) {
    esh_error(err, "no parameter \"%s\"; `ofxhost params` lists them", name);
    return -1;
  }
  if (esh_param_parse(p, text, 0, 1, err)) return -1;
  if (!e->created) return 0;
  const OfxStatus status = esh_instance_changed(e, kOfxTypeParameter, name, kOfxChangeUserEdited, 1);
  if (good_reply(status)) return 0;
  esh_error(err, "%s: InstanceChanged answers %s", name, esh_status_name(status));
  return -1;
}

int esh_button_press(EshEffect *e, const char *name, OfxStatus *status, char *err) {
  OfxParamHandle p = esh_params_find(&e->params, name);
  if (!p || strcmp(p->type->name, kOfxParamTypePushButton)) {
    esh_error(err, p ? "\"%s\" is not a button" : "no button \"%s\"; `ofxhost params` lists the parameters", name);
    return -1;
  }
  if (!e->created) {
    esh_error(err, "%s: the instance is not created yet", name);
    return -1;
  }
  *status = esh_instance_changed(e, kOfxTypeParameter, name, kOfxChangeUserEdited, 1);
  return 0;
}
