/* SPDX-License-Identifier: Apache-2.0
 *
 * A small effect to test the host with: multiplies by a gain, may invert, measures its clip on a button, and misbehaves
 * on demand. Two plug-ins in one binary; the second is the first without a general context and without tiles.
 */
#include <math.h>
#include <signal.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "openfx.h"

#define EXPORT __attribute__((visibility("default")))

static OfxHost *host;
static const OfxPropertySuiteV1 *props;
static const OfxImageEffectSuiteV1 *effects;
static const OfxParameterSuiteV1 *params;
static const OfxMultiThreadSuiteV1 *threads; /* the rest may be missing */
static const OfxMemorySuiteV1 *memory;
static const OfxMessageSuiteV2 *messages;
static const OfxProgressSuiteV2 *progress;

static const char *const faults[] = {
    "none",           "leak image",      "release twice", "write outside",     "write source",
    "set in render",  "unknown property", "wrong type",   "read-only property", "nested threads",
    "open progress",  "leak memory",     "render fails",  "open edit",         "endless changes",
    "fetch elsewhere", "bad message",    "leak mutex",    "crash",             "hang"};
enum { NONE, LEAK_IMAGE, RELEASE_TWICE, WRITE_OUTSIDE, WRITE_SOURCE, SET_IN_RENDER, UNKNOWN_PROPERTY, WRONG_TYPE,
       READ_ONLY, NESTED_THREADS, OPEN_PROGRESS, LEAK_MEMORY, RENDER_FAILS, OPEN_EDIT, ENDLESS_CHANGES, FETCH_ELSEWHERE, BAD_MESSAGE,
       LEAK_MUTEX, CRASH, HANG, FAULT_COUNT };

typedef struct Instance {
  OfxImageClipHandle source, output;
  OfxParamHandle gain, invert, fault, stored;
} Instance;

static OfxStatus load(void) {
  props = host->fetchSuite(host->host, kOfxPropertySuite, 1);
  effects = host->fetchSuite(host->host, kOfxImageEffectSuite, 1);
  params = host->fetchSuite(host->host, kOfxParameterSuite, 1);
  threads = host->fetchSuite(host->host, kOfxMultiThreadSuite, 1);
  memory = host->fetchSuite(host->host, kOfxMemorySuite, 1);
  messages = host->fetchSuite(host->host, kOfxMessageSuite, 2);
  progress = host->fetchSuite(host->host, kOfxProgressSuite, 2);
  if (threads && !threads->multiThread) threads = NULL;
  if (memory && !memory->memoryAlloc) memory = NULL;
  if (messages && !messages->message) messages = NULL;
  if (progress && !progress->progressStart) progress = NULL;
  return props && effects && params ? kOfxStatOK : kOfxStatErrMissingHostFeature;
}

static OfxStatus describe(OfxImageEffectHandle effect, int small) {
  OfxPropertySetHandle s;
  effects->getPropertySet(effect, &s);
  props->propSetString(s, kOfxPropLabel, 0, small ? "Test effect, small" : "Test effect");
  props->propSetString(s, kOfxImageEffectPluginPropGrouping, 0, "Test");
  props->propSetString(s, kOfxImageEffectPropSupportedContexts, 0, kOfxImageEffectContextFilter);
  if (!small) props->propSetString(s, kOfxImageEffectPropSupportedContexts, 1, kOfxImageEffectContextGeneral);
  props->propSetString(s, kOfxImageEffectPropSupportedPixelDepths, 0, kOfxBitDepthFloat);
  props->propSetString(s, kOfxImageEffectPropSupportedPixelDepths, 1, kOfxBitDepthByte);
  props->propSetString(s, kOfxImageEffectPropSupportedPixelDepths, 2, kOfxBitDepthShort);
  props->propSetString(s, kOfxImageEffectPluginRenderThreadSafety, 0, kOfxImageEffectRenderFullySafe);
  props->propSetInt(s, kOfxImageEffectPluginPropHostFrameThreading, 0, 0);
  props->propSetInt(s, kOfxImageEffectPropTemporalClipAccess, 0, 0);
  props->propSetString(s, kOfxImageEffectPropColourManagementStyle, 0, kOfxImageEffectColourManagementBasic);
  return kOfxStatOK;
}

static OfxPropertySetHandle define(OfxParamSetHandle set, const char *type, const char *name, const char *label) {
  OfxPropertySetHandle s = NULL;
  if (params->paramDefine(set, type, name, &s) == kOfxStatOK) props->propSetString(s, kOfxPropLabel, 0, label);
  return s;
}

static OfxStatus describe_in_context(OfxImageEffectHandle effect) {
  static const char *const clips[] = {kOfxImageEffectOutputClipName, kOfxImageEffectSimpleSourceClipName};
  OfxPropertySetHandle s;
  for (int i = 0; i < 2; i++) {
    if (effects->clipDefine(effect, clips[i], &s)) return kOfxStatFailed;
    props->propSetString(s, kOfxImageEffectPropSupportedComponents, 0, kOfxImageComponentRGBA);
    props->propSetString(s, kOfxImageEffectPropSupportedComponents, 1, kOfxImageComponentRGB);
    props->propSetString(s, kOfxImageEffectPropSupportedComponents, 2, kOfxImageComponentAlpha);
  }
  OfxParamSetHandle set;
  effects->getParamSet(effect, &set);
  s = define(set, kOfxParamTypeGroup, "basic", "Basic");
  s = define(set, kOfxParamTypeDouble, "gain", "Gain");
  props->propSetDouble(s, kOfxParamPropMin, 0, 0);
  props->propSetDouble(s, kOfxParamPropMax, 0, 4);
  props->propSetDouble(s, kOfxParamPropDefault, 0, 1);
  props->propSetString(s, kOfxParamPropHint, 0, "Every channel but alpha is multiplied by it");
  props->propSetString(s, kOfxParamPropParent, 0, "basic");
  s = define(set, kOfxParamTypeBoolean, "invert", "Invert");
  props->propSetString(s, kOfxParamPropParent, 0, "basic");
  s = define(set, kOfxParamTypeChoice, "fault", "Fault");
  for (int i = 0; i < FAULT_COUNT; i++) props->propSetString(s, kOfxParamPropChoiceOption, i, faults[i]);
  props->propSetInt(s, kOfxParamPropAnimates, 0, 0);
  const char *wanted = getenv("EVENSTOP_TEST_FAULT"); /* the fault that instances have from the start */
  for (int i = 1; wanted && i < FAULT_COUNT; i++)
    if (!strcmp(faults[i], wanted)) props->propSetInt(s, kOfxParamPropDefault, 0, i);
  s = define(set, kOfxParamTypePushButton, "measureClip", "Measure clip");
  s = define(set, kOfxParamTypeString, "stored", "Stored measurement");
  props->propSetInt(s, kOfxParamPropSecret, 0, 1);
  s = define(set, kOfxParamTypeString, "scratch", "Scratch");
  props->propSetInt(s, kOfxParamPropPersistant, 0, 0);
  define(set, kOfxParamTypeInteger, "whole", "Whole");
  define(set, kOfxParamTypeInteger2D, "pair", "Pair");
  define(set, kOfxParamTypeInteger3D, "triple", "Triple");
  define(set, kOfxParamTypeDouble2D, "point", "Point");
  define(set, kOfxParamTypeDouble3D, "space", "Space");
  define(set, kOfxParamTypeRGB, "tint", "Tint");
  define(set, kOfxParamTypeRGBA, "wash", "Wash");
  define(set, kOfxParamTypeCustom, "opaque", "Opaque");
  define(set, kOfxParamTypeBytes, "blob", "Blob");
  s = define(set, kOfxParamTypeStrChoice, "named", "Named");
  props->propSetString(s, kOfxParamPropChoiceOption, 0, "red");
  props->propSetString(s, kOfxParamPropChoiceOption, 1, "green");
  props->propSetString(s, kOfxParamPropDefault, 0, "red");
  s = define(set, kOfxParamTypePage, "page", "Page");
  props->propSetString(s, kOfxParamPropPageChild, 0, "gain");
  props->propSetString(s, kOfxParamPropPageChild, 1, kOfxParamPageSkipRow);
  props->propSetString(s, kOfxParamPropPageChild, 2, "measureClip");
  return kOfxStatOK;
}

static Instance *instance_of(OfxImageEffectHandle effect) {
  OfxPropertySetHandle s;
  void *data = NULL;
  effects->getPropertySet(effect, &s);
  props->propGetPointer(s, kOfxPropInstanceData, 0, &data);
  return data;
}

static OfxStatus create(OfxImageEffectHandle effect) {
  Instance *self = calloc(1, sizeof *self);
  if (!self) return kOfxStatErrMemory;
  OfxParamSetHandle set;
  OfxPropertySetHandle s;
  effects->getParamSet(effect, &set);
  effects->clipGetHandle(effect, kOfxImageEffectSimpleSourceClipName, &self->source, NULL);
  effects->clipGetHandle(effect, kOfxImageEffectOutputClipName, &self->output, NULL);
  params->paramGetHandle(set, "gain", &self->gain, NULL);
  params->paramGetHandle(set, "invert", &self->invert, NULL);
  params->paramGetHandle(set, "fault", &self->fault, NULL);
  params->paramGetHandle(set, "stored", &self->stored, NULL);
  effects->getPropertySet(effect, &s);
  return props->propSetPointer(s, kOfxPropInstanceData, 0, self);
}

static OfxStatus destroy(OfxImageEffectHandle effect) {
  free(instance_of(effect));
  return kOfxStatOK;
}

typedef struct Picture {
  OfxPropertySetHandle handle;
  unsigned char *data;
  int bounds[4], row_bytes, channels, sample;
} Picture;

static OfxStatus fetch(OfxImageClipHandle clip, OfxTime time, Picture *p) {
  memset(p, 0, sizeof *p);
  const OfxStatus status = effects->clipGetImage(clip, time, NULL, &p->handle);
  if (status) return status;
  char *depth, *components;
  void *data;
  props->propGetPointer(p->handle, kOfxImagePropData, 0, &data);
  props->propGetIntN(p->handle, kOfxImagePropBounds, 4, p->bounds);
  props->propGetInt(p->handle, kOfxImagePropRowBytes, 0, &p->row_bytes);
  props->propGetString(p->handle, kOfxImageEffectPropPixelDepth, 0, &depth);
  props->propGetString(p->handle, kOfxImageEffectPropComponents, 0, &components);
  p->data = data;
  p->sample = !strcmp(depth, kOfxBitDepthByte) ? 1 : !strcmp(depth, kOfxBitDepthShort) ? 2 : 4;
  p->channels = !strcmp(components, kOfxImageComponentRGBA) ? 4 : !strcmp(components, kOfxImageComponentRGB) ? 3 : 1;
  return kOfxStatOK;
}

static void *pixel(const Picture *p, int x, int y) {
  if (!p->data || x < p->bounds[0] || x >= p->bounds[2] || y < p->bounds[1] || y >= p->bounds[3]) return NULL;
  return p->data + (ptrdiff_t)(y - p->bounds[1]) * p->row_bytes +
         (ptrdiff_t)(x - p->bounds[0]) * p->channels * p->sample;
}

static double get(const void *at, int sample, int channel) {
  if (sample == 1) return ((const uint8_t *)at)[channel] / 255.0;
  if (sample == 2) return ((const uint16_t *)at)[channel] / 65535.0;
  return ((const float *)at)[channel];
}

static void put(void *at, int sample, int channel, double v) {
  const double held = v < 0 ? 0 : v > 1 ? 1 : v;
  if (sample == 1) ((uint8_t *)at)[channel] = (uint8_t)(held * 255 + 0.5);
  else if (sample == 2) ((uint16_t *)at)[channel] = (uint16_t)(held * 65535 + 0.5);
  else ((float *)at)[channel] = (float)v;
}

typedef struct Job {
  OfxImageEffectHandle effect;
  Picture source, output;
  int window[4];
  double gain;
  int invert, fault;
} Job;

static void no_job(unsigned index, unsigned count, void *argument) { (void)index, (void)count, (void)argument; }

static void rows(unsigned index, unsigned count, void *argument) {
  Job *j = argument;
  const long long height = j->window[3] - j->window[1];
  const int from = j->window[1] + (int)(height * index / count), to = j->window[1] + (int)(height * (index + 1) / count);
  if (j->fault == NESTED_THREADS && threads) threads->multiThread(no_job, 1, NULL);
  for (int y = from; y < to; y++) {
    if (effects->abort && effects->abort(j->effect)) return;
    for (int x = j->window[0]; x < j->window[2]; x++) {
      const void *in = pixel(&j->source, x, y);
      void *out = pixel(&j->output, x, y);
      if (!out) continue;
      const int channels = j->output.channels;
      for (int c = 0; c < channels; c++) {
        double v = in ? get(in, j->source.sample, c) : 0;
        const int alpha = channels == 1 || c == 3;
        if (!alpha) v = j->invert ? 1 - v * j->gain : v * j->gain;
        put(out, j->output.sample, c, v);
      }
    }
  }
}

static double stored_gain(OfxParamHandle stored, OfxTime time) {
  char *text = NULL;
  params->paramGetValueAtTime(stored, time, &text);
  const double v = text && *text ? strtod(text, NULL) : 1;
  return v > 0 && v < 100 ? v : 1;
}

static OfxStatus render(OfxImageEffectHandle effect, OfxPropertySetHandle in) {
  Instance *self = instance_of(effect);
  OfxTime time;
  Job j;
  memset(&j, 0, sizeof j);
  j.effect = effect;
  props->propGetDouble(in, kOfxPropTime, 0, &time);
  props->propGetIntN(in, kOfxImageEffectPropRenderWindow, 4, j.window);
  params->paramGetValueAtTime(self->gain, time, &j.gain);
  params->paramGetValueAtTime(self->invert, time, &j.invert);
  params->paramGetValueAtTime(self->fault, time, &j.fault);
  j.gain *= stored_gain(self->stored, time);
  if (j.fault == CRASH) raise(SIGSEGV);
  while (j.fault == HANG) pause();
  if (j.fault == RENDER_FAILS) return kOfxStatFailed;
  if (j.fault == SET_IN_RENDER) params->paramSetValue(self->gain, 2.0);
  if (j.fault == BAD_MESSAGE && messages) messages->message(effect, "OfxMessageShout", "", "%s", "?");
  if (j.fault == FETCH_ELSEWHERE) {
    Picture other;
    if (!fetch(self->source, time + 1, &other)) effects->clipReleaseImage(other.handle);
  }
  if (j.fault == LEAK_MEMORY && memory) {
    void *lost;
    OfxImageMemoryHandle lost_image;
    memory->memoryAlloc(effect, 16, &lost);
    effects->imageMemoryAlloc(effect, 16, &lost_image);
  }
  if (j.fault == LEAK_MUTEX && threads) {
    OfxMutexHandle lost;
    threads->mutexCreate(&lost, 0);
  }
  OfxStatus status = fetch(self->output, time, &j.output);
  if (status) return status == kOfxStatFailed && j.window[0] >= j.window[2] ? kOfxStatOK : status;
  fetch(self->source, time, &j.source); /* a missing source is black */
  unsigned cpus = 1;
  if (threads) threads->multiThreadNumCPUs(&cpus);
  if (!threads || threads->multiThread(rows, cpus, &j)) rows(0, 1, &j);
  if (j.fault == WRITE_OUTSIDE) j.output.data[-1] ^= 0xff;
  if (j.fault == WRITE_SOURCE && j.source.data) j.source.data[0] ^= 0xff;
  if (j.fault == UNKNOWN_PROPERTY) props->propSetInt(j.output.handle, "OfxPropNoSuchThing", 0, 1);
  if (j.fault == WRONG_TYPE) props->propSetString(j.output.handle, kOfxImagePropRowBytes, 0, "12");
  if (j.fault == READ_ONLY) props->propSetInt(j.output.handle, kOfxImagePropRowBytes, 0, 12);
  if (j.source.handle && j.fault != LEAK_IMAGE) effects->clipReleaseImage(j.source.handle);
  effects->clipReleaseImage(j.output.handle);
  if (j.fault == RELEASE_TWICE) effects->clipReleaseImage(j.output.handle);
  return kOfxStatOK;
}

/* Mean of the first channel over the clip; stores the gain that brings it to one half. */
static OfxStatus measure(OfxImageEffectHandle effect) {
  Instance *self = instance_of(effect);
  int fault;
  double range[2] = {0, 0}, sum = 0;
  long count = 0;
  OfxPropertySetHandle clip;
  OfxParamSetHandle set;
  params->paramGetValue(self->fault, &fault);
  effects->getParamSet(effect, &set);
  effects->clipGetPropertySet(self->source, &clip);
  props->propGetDoubleN(clip, kOfxImageEffectPropFrameRange, 2, range);
  if (progress) progress->progressStart(effect, "Measuring", "measure");
  OfxStatus go_on = kOfxStatOK;
  for (double t = range[0]; t <= range[1] && go_on != kOfxStatReplyNo; t++) {
    Picture p;
    if (fetch(self->source, t, &p)) continue;
    for (int y = p.bounds[1]; y < p.bounds[3]; y++)
      for (int x = p.bounds[0]; x < p.bounds[2]; x++, count++) sum += get(pixel(&p, x, y), p.sample, 0);
    effects->clipReleaseImage(p.handle);
    if (progress) go_on = progress->progressUpdate(effect, (t - range[0] + 1) / (range[1] - range[0] + 1));
  }
  if (progress && fault != OPEN_PROGRESS) progress->progressEnd(effect);
  if (go_on == kOfxStatReplyNo) {
    if (messages) messages->message(effect, kOfxMessageMessage, "cancelled", "%s", "Measuring was cancelled");
    return kOfxStatOK;
  }
  if (count && sum > 0) {
    char text[64];
    snprintf(text, sizeof text, "%.17g", 0.5 * (double)count / sum);
    params->paramEditBegin(set, "Measure clip");
    params->paramSetValue(self->stored, text);
    if (fault != OPEN_EDIT) params->paramEditEnd(set);
  }
  if (messages) messages->setPersistentMessage(effect, kOfxMessageMessage, "measured", "mean of %ld samples", count);
  return kOfxStatOK;
}

static OfxStatus changed(OfxImageEffectHandle effect, OfxPropertySetHandle in) {
  char *name = NULL, *reason = NULL;
  props->propGetString(in, kOfxPropName, 0, &name);
  props->propGetString(in, kOfxPropChangeReason, 0, &reason);
  if (!name || !reason) return kOfxStatFailed;
  Instance *self = instance_of(effect);
  int fault;
  params->paramGetValue(self->fault, &fault);
  if (fault == ENDLESS_CHANGES) {
    double gain;
    params->paramGetValue(self->gain, &gain);
    params->paramSetValue(self->gain, gain > 2 ? 1.0 : gain + 0.1);
  }
  if (strcmp(reason, kOfxChangeUserEdited) || strcmp(name, "measureClip")) return kOfxStatReplyDefault;
  return measure(effect);
}

static OfxStatus identity(OfxImageEffectHandle effect, OfxPropertySetHandle in, OfxPropertySetHandle out) {
  Instance *self = instance_of(effect);
  OfxTime time;
  double gain;
  int invert, fault;
  props->propGetDouble(in, kOfxPropTime, 0, &time);
  params->paramGetValueAtTime(self->gain, time, &gain);
  params->paramGetValueAtTime(self->invert, time, &invert);
  params->paramGetValueAtTime(self->fault, time, &fault);
  if (gain * stored_gain(self->stored, time) != 1 || invert || fault) return kOfxStatReplyDefault;
  props->propSetString(out, kOfxPropName, 0, kOfxImageEffectSimpleSourceClipName);
  props->propSetDouble(out, kOfxPropTime, 0, time);
  return kOfxStatOK;
}

static OfxStatus entry(const char *action, const void *handle, OfxPropertySetHandle in, OfxPropertySetHandle out,
                       int small) {
  OfxImageEffectHandle effect = (OfxImageEffectHandle)handle;
  if (!strcmp(action, kOfxActionLoad)) return load();
  if (!strcmp(action, kOfxActionDescribe)) return describe(effect, small);
  if (!strcmp(action, kOfxImageEffectActionDescribeInContext)) return describe_in_context(effect);
  if (!strcmp(action, kOfxActionCreateInstance)) return create(effect);
  if (!strcmp(action, kOfxActionDestroyInstance)) return destroy(effect);
  if (!strcmp(action, kOfxActionInstanceChanged)) return changed(effect, in);
  if (!strcmp(action, kOfxImageEffectActionIsIdentity)) return identity(effect, in, out);
  if (!strcmp(action, kOfxImageEffectActionRender)) return render(effect, in);
  if (!strcmp(action, kOfxImageEffectActionGetOutputColourspace))
    return props->propSetString(out, kOfxImageClipPropColourspace, 0,
                                kOfxColourspaceOfClipStem kOfxImageEffectSimpleSourceClipName);
  return kOfxStatReplyDefault;
}

static OfxStatus entry_full(const char *action, const void *handle, OfxPropertySetHandle in, OfxPropertySetHandle out) {
  return entry(action, handle, in, out, 0);
}
static OfxStatus entry_small(const char *action, const void *handle, OfxPropertySetHandle in, OfxPropertySetHandle out) {
  return entry(action, handle, in, out, 1);
}
static void set_host(OfxHost *given) { host = given; }

static OfxPlugin plugins[2] = {
    {kOfxImageEffectPluginApi, kOfxImageEffectPluginApiVersion, "org.evenstop.test.effect", 1, 0, set_host, entry_full},
    {kOfxImageEffectPluginApi, kOfxImageEffectPluginApiVersion, "org.evenstop.test.small", 2, 3, set_host, entry_small}};

EXPORT OfxStatus OfxSetHost(const OfxHost *given);
EXPORT int OfxGetNumberOfPlugins(void);
EXPORT OfxPlugin *OfxGetPlugin(int nth);

OfxStatus OfxSetHost(const OfxHost *given) { return given ? kOfxStatOK : kOfxStatFailed; }
int OfxGetNumberOfPlugins(void) { return 2; }
OfxPlugin *OfxGetPlugin(int nth) { return nth >= 0 && nth < 2 ? &plugins[nth] : NULL; }
