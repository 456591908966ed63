/* SPDX-License-Identifier: Apache-2.0
 *
 * The host itself: its property set, faults, timings, and the wrapper around every action.
 */
#include "internal.h"

#include <stdarg.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

EshHost *esh_the_host;

void *esh_alloc(size_t bytes) {
  void *memory = malloc(bytes ? bytes : 1);
  if (memory) return memory;
  fprintf(stderr, "out of memory: %zu bytes\n", bytes);
  exit(1);
}

void *esh_grow(void *old, size_t bytes) {
  void *memory = realloc(old, bytes ? bytes : 1);
  if (memory) return memory;
  fprintf(stderr, "out of memory: %zu bytes\n", bytes);
  exit(1);
}

char *esh_copy(const char *text) {
  const size_t bytes = strlen(text) + 1;
  return memcpy(esh_alloc(bytes), text, bytes);
}

static char *format_text(const char *format, va_list args) {
  va_list again;
  va_copy(again, args);
  const int length = vsnprintf(NULL, 0, format, again);
  va_end(again);
  char *text = esh_alloc((size_t)(length < 0 ? 0 : length) + 1);
  *text = 0;
  if (length > 0) vsnprintf(text, (size_t)length + 1, format, args);
  return text;
}

char *esh_format(const char *format, ...) {
  va_list args;
  va_start(args, format);
  char *text = format_text(format, args);
  va_end(args);
  return text;
}

char *esh_temporary_path(const char *name) {
  const char *folder = getenv("TMPDIR");
  return esh_format("%s/%s-XXXXXX", folder && *folder ? folder : P_tmpdir, name);
}

void esh_error(char *err, const char *format, ...) {
  if (!err) return;
  va_list args;
  va_start(args, format);
  vsnprintf(err, ESH_ERR, format, args);
  va_end(args);
}

uint64_t esh_draw(uint64_t seed, const char *name) {
  uint64_t h = seed * 0x9e3779b97f4a7c15u + 0x632be59bd9b4e019u;
  for (; *name; name++) h = (h ^ (unsigned char)*name) * 0x100000001b3u;
  h = (h ^ (h >> 31)) * 0xbf58476d1ce4e5b9u;
  return h ^ (h >> 29);
}

int esh_thread(const EshHost *host, pthread_t *thread, void *(*run)(void *), void *argument) {
  pthread_attr_t attributes;
  if (!host->config.thread_stack || pthread_attr_init(&attributes)) return pthread_create(thread, NULL, run, argument);
  int bad = pthread_attr_setstacksize(&attributes, host->config.thread_stack);
  if (!bad) bad = pthread_create(thread, &attributes, run, argument);
  pthread_attr_destroy(&attributes);
  return bad;
}

void esh_lock(EshHost *host) { pthread_mutex_lock(&host->lock); }
void esh_unlock(EshHost *host) { pthread_mutex_unlock(&host->lock); }

void esh_fault_add(EshHost *host, const char *format, ...) {
  va_list args;
  va_start(args, format);
  char *text = format_text(format, args);
  va_end(args);
  esh_lock(host);
  for (int i = 0; i < host->fault_count; i++)
    if (!strcmp(host->faults[i], text)) {
      host->fault_times[i]++;
      free(text);
      text = NULL;
      break;
    }
  if (text) {
    host->faults = esh_grow(host->faults, sizeof *host->faults * (size_t)(host->fault_count + 1));
    host->fault_times = esh_grow(host->fault_times, sizeof *host->fault_times * (size_t)(host->fault_count + 1));
    host->fault_times[host->fault_count] = 1;
    host->faults[host->fault_count++] = text;
  }
  esh_unlock(host);
}

int esh_fault_count(const EshHost *host) { return host->fault_count; }

const char *esh_fault(const EshHost *host, int index) {
  return index >= 0 && index < host->fault_count ? host->faults[index] : NULL;
}

long esh_fault_times(const EshHost *host, int index) {
  return index >= 0 && index < host->fault_count ? host->fault_times[index] : 0;
}

int esh_message_count(const EshHost *host) { return host->message_count; }
EshMessage esh_message(const EshHost *host, int index) { return host->messages[index]; }
int esh_timing_count(const EshHost *host) { return host->timing_count; }
EshTiming esh_timing(const EshHost *host, int index) { return host->timings[index]; }
EshConfig *esh_config(EshHost *host) { return &host->config; }
const EshCounts *esh_counts(const EshHost *host) { return &host->counts; }

static void publish(EshHost *host) {
  OfxPropertySetHandle s = host->props = esh_props_new(host, "ImageEffectHost", esh_copy("host"));
  static const char *const on[] = {kOfxImageEffectPropSupportsMultiResolution, kOfxImageEffectPropSupportsTiles,
                                   kOfxImageEffectPropTemporalClipAccess, kOfxParamHostPropSupportsStrChoice};
  static const char *const off[] = {kOfxImageEffectPropSupportsOverlays,
                                    kOfxImageEffectPropSupportsMultipleClipDepths,
                                    kOfxImageEffectPropSupportsMultipleClipPARs,
                                    kOfxImageEffectPropSetableFrameRate,
                                    kOfxImageEffectPropSetableFielding,
                                    kOfxParamHostPropSupportsCustomInteract,
                                    kOfxParamHostPropSupportsStringAnimation,
                                    kOfxParamHostPropSupportsChoiceAnimation,
                                    kOfxParamHostPropSupportsBooleanAnimation,
                                    kOfxParamHostPropSupportsCustomAnimation,
                                    kOfxParamHostPropSupportsStrChoiceAnimation,
                                    kOfxParamHostPropSupportsParametricAnimation,
                                    kOfxImageEffectInstancePropSequentialRender,
                                    kOfxImageEffectPropRenderQualityDraft};
  for (size_t i = 0; i < sizeof on / sizeof on[0]; i++) esh_put_int(s, on[i], 0, 1);
  for (size_t i = 0; i < sizeof off / sizeof off[0]; i++) esh_put_int(s, off[i], 0, 0);
  esh_put_int(s, kOfxPropAPIVersion, 0, 1);
  esh_put_int(s, kOfxPropAPIVersion, 1, 5);
  esh_put_string(s, kOfxPropType, 0, kOfxTypeImageEffectHost);
  esh_put_string(s, kOfxPropName, 0, "org.evenstop.ofxhost");
  esh_put_string(s, kOfxPropLabel, 0, "ofxhost");
  esh_put_int(s, kOfxPropVersion, 0, 1);
  esh_put_int(s, kOfxPropVersion, 1, 0);
  esh_put_string(s, kOfxPropVersionLabel, 0, "1.0");
  esh_put_int(s, kOfxImageEffectHostPropIsBackground, 0, host->config.background);
  for (int i = 0; i < 3; i++)
    esh_put_string(s, kOfxImageEffectPropSupportedComponents, i, esh_components_ofx((EshComponents)i));
  for (int i = 0; i < 4; i++)
    esh_put_string(s, kOfxImageEffectPropSupportedPixelDepths, i, esh_depth_ofx((EshDepth)i));
  esh_put_string(s, kOfxImageEffectPropSupportedContexts, 0, kOfxImageEffectContextFilter);
  esh_put_string(s, kOfxImageEffectPropSupportedContexts, 1, kOfxImageEffectContextGeneral);
  esh_put_int(s, kOfxParamHostPropMaxParameters, 0, -1);
  esh_put_int(s, kOfxParamHostPropMaxPages, 0, 0);
  esh_put_int(s, kOfxParamHostPropPageRowColumnCount, 0, 0);
  esh_put_int(s, kOfxParamHostPropPageRowColumnCount, 1, 0);
  esh_put_string(s, kOfxImageEffectPropOpenGLRenderSupported, 0, "false");
  esh_put_string(s, kOfxImageEffectPropOpenCLSupported, 0, "false");
  esh_put_string(s, kOfxImageEffectPropCPURenderSupported, 0, "true");
  esh_put_string(s, kOfxImageEffectHostPropNativeOrigin, 0, kOfxHostNativeOriginBottomLeft);
  esh_put_string(s, kOfxImageEffectPropColourManagementStyle, 0,
                 host->config.core_colour ? kOfxImageEffectColourManagementCore : kOfxImageEffectColourManagementBasic);
  esh_props_settle(s);
}

EshHost *esh_host_create(const EshConfig *config, char *err) {
  if (esh_the_host) {
    esh_error(err, "there is a host in this process already; destroy it first");
    return NULL;
  }
  EshHost *host = esh_alloc(sizeof *host);
  memset(host, 0, sizeof *host);
  host->config = *config;
  pthread_mutexattr_t attributes;
  pthread_mutexattr_init(&attributes);
  pthread_mutexattr_settype(&attributes, PTHREAD_MUTEX_RECURSIVE);
  pthread_mutex_init(&host->lock, &attributes);
  pthread_mutexattr_destroy(&attributes);
  esh_the_host = host;
  publish(host);
  host->ofx.host = host->props;
  host->ofx.fetchSuite = esh_fetch_suite;
  return host;
}

void esh_leaks(EshHost *host) {
  const EshCounts *c = &host->counts;
  if (c->fetches != c->releases)
    esh_fault_add(host, "%ld image%s fetched and never released", c->fetches - c->releases,
                  c->fetches - c->releases == 1 ? "" : "s");
  if (c->memory_allocs != c->memory_frees)
    esh_fault_add(host, "%ld block%s of the memory suite never freed", c->memory_allocs - c->memory_frees,
                  c->memory_allocs - c->memory_frees == 1 ? "" : "s");
  if (c->image_allocs != c->image_frees)
    esh_fault_add(host, "%ld image memory block%s never freed", c->image_allocs - c->image_frees,
                  c->image_allocs - c->image_frees == 1 ? "" : "s");
  if (c->mutex_creates != c->mutex_destroys)
    esh_fault_add(host, "%ld mutex%s never destroyed", c->mutex_creates - c->mutex_destroys,
                  c->mutex_creates - c->mutex_destroys == 1 ? "" : "es");
}

void esh_host_destroy(EshHost *host) {
  if (!host) return;
  esh_pool_drop(host);
  while (host->bundles) esh_bundle_close(host->bundles);
  esh_image_memory_drop(host);
  esh_blocks_drop(host);
  esh_mutexes_drop(host);
  esh_props_free(host->props);
  for (int i = 0; i < host->fault_count; i++) free(host->faults[i]);
  free(host->faults);
  free(host->fault_times);
  for (int i = 0; i < host->message_count; i++) {
    free((char *)host->messages[i].id);
    free((char *)host->messages[i].text);
  }
  free(host->messages);
  free(host->message_effects);
  free(host->timings);
  pthread_mutex_destroy(&host->lock);
  free(host);
  esh_the_host = NULL;
}

static _Thread_local EshAction *current;

EshAction *esh_current_action(void) { return current; }
void esh_set_current_action(EshAction *action) { current = action; }

int esh_inside(const char *action_name) {
  for (EshAction *a = current; a; a = a->outer)
    if (!strcmp(a->name, action_name)) return 1;
  return 0;
}

static double milliseconds(void) {
  struct timespec now;
  clock_gettime(CLOCK_MONOTONIC, &now);
  return (double)now.tv_sec * 1e3 + (double)now.tv_nsec / 1e6;
}

static void time_action(EshHost *host, const char *action, double ms) {
  esh_lock(host);
  int i = 0;
  while (i < host->timing_count && strcmp(host->timings[i].action, action)) i++;
  if (i == host->timing_count) {
    host->timings = esh_grow(host->timings, sizeof *host->timings * (size_t)(i + 1));
    host->timings[host->timing_count++] = (EshTiming){action, 0, 0, 0};
  }
  EshTiming *t = &host->timings[i];
  t->calls++;
  t->total_ms += ms;
  if (ms > t->longest_ms) t->longest_ms = ms;
  esh_unlock(host);
}

static OfxStatus call(EshHost *host, OfxPlugin *plugin, EshAction *action, const void *handle, OfxPropertySetHandle in,
                      OfxPropertySetHandle out) {
  action->outer = current;
  current = action;
  const double start = milliseconds();
  const OfxStatus status = plugin->mainEntry(action->name, handle, in, out);
  const double ms = milliseconds() - start;
  current = action->outer;
  time_action(host, action->name, ms);
  char which[128];
  const int left = esh_images_drop(host, action, which, sizeof which);
  if (left)
    esh_fault_add(host, "%s returned with %d image%s not released (%s)", action->name, left, left == 1 ? "" : "s",
                  which);
  return status;
}

OfxStatus esh_action_prepared(EshAction *action, EshEffect *effect, OfxPropertySetHandle in,
                              OfxPropertySetHandle out) {
  action->effect = effect;
  return call(effect->host, effect->bundle->plugins[effect->index].plugin, action, effect, in, out);
}

OfxStatus esh_action(EshEffect *effect, const char *name, OfxPropertySetHandle in, OfxPropertySetHandle out) {
  EshAction action;
  memset(&action, 0, sizeof action);
  action.name = name;
  return esh_action_prepared(&action, effect, in, out);
}

OfxStatus esh_bare_action(EshEffect *effect, const char *action) { return esh_action(effect, action, NULL, NULL); }

OfxStatus esh_plugin_action(EshHost *host, OfxPlugin *plugin, const char *name) {
  EshAction action;
  memset(&action, 0, sizeof action);
  action.name = name;
  if (!strcmp(name, kOfxActionLoad)) host->loads++;
  return call(host, plugin, &action, NULL, NULL, NULL);
}

const char *esh_status_name(OfxStatus status) {
  static const char *const names[] = {
      "kOfxStatOK",         "kOfxStatFailed",       "kOfxStatErrFatal",     "kOfxStatErrUnknown",
      "kOfxStatErrMissingHostFeature", "kOfxStatErrUnsupported", "kOfxStatErrExists", "kOfxStatErrFormat",
      "kOfxStatErrMemory",  "kOfxStatErrBadHandle", "kOfxStatErrBadIndex",  "kOfxStatErrValue",
      "kOfxStatReplyYes",   "kOfxStatReplyNo",      "kOfxStatReplyDefault", "kOfxStatUnlicensed"};
  if (status >= 0 && status <= 15) return names[status];
  if (status == kOfxStatErrImageFormat) return "kOfxStatErrImageFormat";
  if (status == kOfxStatGPUOutOfMemory) return "kOfxStatGPUOutOfMemory";
  if (status == kOfxStatGPURenderFailed) return "kOfxStatGPURenderFailed";
  static _Thread_local char text[32];
  snprintf(text, sizeof text, "status %d", status);
  return text;
}
