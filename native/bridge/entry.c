/* SPDX-License-Identifier: Apache-2.0
 *
 * The plug-in as the host sees it: three exported functions and one entry point that looks the action up by name.
 * Nothing is done before Load, and Load only fetches suites.
 */
#include <string.h>

#include "plugin.h"

#define EXPORT __attribute__((visibility("default")))

typedef OfxStatus Action(OfxImageEffectHandle effect, OfxPropertySetHandle in, OfxPropertySetHandle out);

static OfxStatus load(OfxImageEffectHandle effect, OfxPropertySetHandle in, OfxPropertySetHandle out) {
  (void)effect, (void)in, (void)out;
  return ev_suites_fetch();
}

/* The VM stays: it can be started only once in a process, and the host may load the plug-in again. */
static OfxStatus unload(OfxImageEffectHandle effect, OfxPropertySetHandle in, OfxPropertySetHandle out) {
  (void)effect, (void)in, (void)out;
  ev_suites_forget();
  return kOfxStatOK;
}

static const struct {
  const char *name;
  Action *function;
  int needs_effect; /* 1: a NULL effect is a bad handle */
} actions[] = {
  {kOfxActionLoad, load, 0},
  {kOfxActionUnload, unload, 0},
  {kOfxActionDescribe, ev_describe, 1},
  {kOfxImageEffectActionDescribeInContext, ev_describe_in_context, 1},
  {kOfxActionCreateInstance, ev_create_instance, 1},
  {kOfxActionDestroyInstance, ev_destroy_instance, 1},
  {kOfxActionInstanceChanged, ev_instance_changed, 1},
  {kOfxActionPurgeCaches, ev_purge_caches, 1},
  {kOfxImageEffectActionGetClipPreferences, ev_clip_preferences, 1},
  {kOfxImageEffectActionGetOutputColourspace, ev_output_colourspace, 1},
  {kOfxImageEffectActionGetFramesNeeded, ev_frames_needed, 1},
  {kOfxImageEffectActionGetRegionsOfInterest, ev_regions_of_interest, 1},
  {kOfxImageEffectActionIsIdentity, ev_is_identity, 1},
  {kOfxImageEffectActionRender, ev_render, 1},
};

static OfxStatus main_entry(const char *action, const void *handle, OfxPropertySetHandle in, OfxPropertySetHandle out) {
  if (!action) {
    return kOfxStatReplyDefault;
  }
  for (size_t i = 0; i < sizeof actions / sizeof *actions; i++) {
    if (strcmp(actions[i].name, action)) {
      continue;
    }
    if (actions[i].function != load && actions[i].function != unload && !ev_suites.property) {
      return kOfxStatErrMissingHostFeature;
    }
    if (actions[i].needs_effect && !handle) {
      return kOfxStatErrBadHandle;
    }
    return actions[i].function((OfxImageEffectHandle)(uintptr_t)handle, in, out);
  }
  return kOfxStatReplyDefault;
}

static void set_host(OfxHost *host) {
  ev_host = host;
}

static OfxPlugin plugin = {
  kOfxImageEffectPluginApi, kOfxImageEffectPluginApiVersion, "org.evenstop.Evenstop", 1, 0, set_host, main_entry,
};

/* The host given here is good only until OfxGetPlugin; the one that counts comes through set_host. */
EXPORT OfxStatus OfxSetHost(const OfxHost *host) {
  return host ? kOfxStatOK : kOfxStatFailed;
}

EXPORT int OfxGetNumberOfPlugins(void) {
  return 1;
}

EXPORT OfxPlugin *OfxGetPlugin(int nth) {
  return nth == 0 ? &plugin : NULL;
}
