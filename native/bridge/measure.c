/* SPDX-License-Identifier: Apache-2.0
 *
 * Frames fetched and measured. Two occasions: the button, which samples the whole clip and keeps the result in parameters;
 * and the first render of an instance on which the button was never pressed, which measures a few frames, the same ones
 * whichever frame is rendered, and keeps the result beside the parameters only.
 */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "plugin.h"

#define PRESS_FRAMES 24
#define TRIAL_FRAMES 5
#define SAMPLE_SIZE 8192 /* pixels kept: some 66 KB as text in the project */

static const char closing[] = "Check that the clip is connected and its frames can be shown.";

/* First and last frame of the clip, whole numbers. 0 when nobody says. */
static int frame_range(EvInstance *instance, OfxPropertySetHandle clip, double *first, double *last) {
  double range[2];
  if (!ev_doubles(clip, kOfxImageEffectPropFrameRange, 2, range)
      && (!ev_suites.timeline || !ev_suites.timeline->getTimeBounds
          || ev_suites.timeline->getTimeBounds(instance->effect, &range[0], &range[1]) != kOfxStatOK)) {
    return 0;
  }
  *first = ceil(range[0]);
  *last = floor(range[1]);
  return isfinite(*first) && isfinite(*last) && *first <= *last && *last - *first < 1e9;
}

/* `most` frames in the middle of equal parts of the clip, or every frame of a shorter one. Returns how many. */
static int spread(double first, double last, int most, double *times) {
  double length = last - first + 1;
  int count = length < most ? (int)length : most;
  for (int i = 0; i < count; i++) {
    times[i] = first + floor((i + 0.5) * length / count);
  }
  return count;
}

static double seconds_per_frame(OfxPropertySetHandle clip) {
  double rate = ev_double(clip, kOfxImageEffectPropFrameRate, 0, 25);
  return isfinite(rate) && rate > 0 ? 1 / rate : 1.0 / 25;
}

static EvHead head(char *why) {
  why[0] = 0;
  return (EvHead){why, EV_TEXT};
}

/* Adds a frame to a meter; the image is released on every path. 1 measured, 0 there is none or it cannot be measured (`why`
 * set when there is a reason to tell), -1 give up with `why`. */
static int add_frame(const EvBridge *bridge, int64_t meter, OfxImageClipHandle clip, OfxPropertySetHandle properties, double time,
                     const OfxRectD *region, int must_be_whole, char *why) {
  EvFrame frame;
  int result = 0;
  why[0] = 0;
  OfxStatus status = ev_frame_fetch(clip, properties, time, region, &frame);
  if (status != kOfxStatOK) {
    snprintf(why, EV_TEXT, "Evenstop: the host has no memory for frame %g; close something and measure again.", time);
    result = -1;
  } else if (frame.image && (frame.depth < 0 || frame.components < 0 || frame.components == EV_ALPHA)) {
    snprintf(why, EV_TEXT,
             "Evenstop cannot measure images of depth '%.60s' and components '%.60s'; RGBA or RGB as byte, short, half or float "
             "can be.",
             frame.depth_name, frame.components_name);
    result = -1;
  } else if (frame.image && must_be_whole && !ev_frame_is_whole(&frame)) {
    snprintf(why, EV_TEXT, EV_PASSES "the host gives tiles only. Press Measure clip.");
    result = -1;
  } else if (frame.image && frame.bounds.x1 < frame.bounds.x2 && frame.bounds.y1 < frame.bounds.y2) {
    EvMeasureAdd block = {.head = head(why), .meter = meter, .frame = frame.data, .stride = frame.row_bytes,
                          .width = (int64_t)frame.bounds.x2 - frame.bounds.x1, .rows = (int64_t)frame.bounds.y2 - frame.bounds.y1,
                          .depth = frame.depth, .components = frame.components, .alpha = frame.alpha,
                          .seconds = time * seconds_per_frame(properties)};
    result = ev_vm_call(bridge->measure_add, &block) == EV_OK ? 1 : -1;
  }
  ev_frame_release(&frame);
  return result;
}

static int64_t begin(const EvBridge *bridge, char *why) {
  EvMeasureBegin block = {.head = head(why), .sample_size = SAMPLE_SIZE};
  return ev_vm_call(bridge->measure_begin, &block) == EV_OK ? block.meter : 0;
}

static void drop(const EvBridge *bridge, int64_t meter) {
  char why[EV_TEXT];
  EvMeasureDrop block = {.head = head(why), .meter = meter};
  (void)ev_vm_call(bridge->measure_drop, &block);
}

char *ev_taken(const EvBridge *bridge, char *text) {
  char why[EV_TEXT];
  char *copy = text ? strdup(text) : NULL;
  EvFreeText block = {.head = head(why), .text = text};
  (void)ev_vm_call(bridge->free_text, &block);
  return copy;
}

static char *end(const EvBridge *bridge, int64_t meter, char *why) {
  EvMeasureEnd block = {.head = head(why), .meter = meter};
  return ev_vm_call(bridge->measure_end, &block) == EV_OK ? ev_taken(bridge, block.text) : NULL;
}

/* What a solving gives; all to be freed. */
typedef struct Solved {
  char *correction, *sky, *found;
} Solved;

static void free_solved(Solved *solved) {
  free(solved->correction);
  free(solved->sky);
  free(solved->found);
  *solved = (Solved){0};
}

/* 1 and the texts, or 0 and `why`. */
static int solve(const EvBridge *bridge, const char *measurement, const char *wishes, Solved *solved, char *why) {
  EvSolve block = {.head = head(why), .measurement = measurement, .measurement_length = (int64_t)strlen(measurement),
                   .wishes = wishes, .wishes_length = wishes ? (int64_t)strlen(wishes) : 0};
  int status = wishes ? ev_vm_call(bridge->solve, &block) : EV_OK;
  *solved = (Solved){ev_taken(bridge, block.correction), ev_taken(bridge, block.sky), ev_taken(bridge, block.found)};
  if (status == EV_OK && !(solved->correction && solved->sky && solved->found)) {
    snprintf(why, EV_TEXT, "Evenstop: there is no memory for the correction; close something and try again.");
    status = EV_BROKEN;
  }
  if (status != EV_OK) {
    free_solved(solved);
  }
  return status == EV_OK;
}

/* == the button == */

/* Version 2 of the progress suite, else version 1, else nothing. */
static int progress_start(EvInstance *instance) {
  static const char label[] = "Evenstop: measuring the clip";
  if (ev_suites.progress2 && ev_suites.progress2->progressStart && ev_suites.progress2->progressUpdate
      && ev_suites.progress2->progressEnd
      && ev_suites.progress2->progressStart(instance->effect, label, "evenstopMeasure") == kOfxStatOK) {
    return 2;
  }
  return ev_suites.progress && ev_suites.progress->progressStart && ev_suites.progress->progressUpdate
             && ev_suites.progress->progressEnd && ev_suites.progress->progressStart(instance->effect, label) == kOfxStatOK
           ? 1
           : 0;
}

/* 0 when the user wants to stop. */
static int progress(EvInstance *instance, int suite, double done) {
  OfxStatus status = suite == 2   ? ev_suites.progress2->progressUpdate(instance->effect, done)
                     : suite == 1 ? ev_suites.progress->progressUpdate(instance->effect, done)
                                  : kOfxStatOK;
  return status != kOfxStatReplyNo;
}

static void progress_end(EvInstance *instance, int suite) {
  if (suite == 2) {
    (void)ev_suites.progress2->progressEnd(instance->effect);
  } else if (suite == 1) {
    (void)ev_suites.progress->progressEnd(instance->effect);
  }
}

/* The measurement, or NULL: with an empty `why` the user stopped it. */
static char *measure_clip(EvInstance *instance, const EvBridge *bridge, int suite, char *why) {
  OfxPropertySetHandle properties;
  OfxImageClipHandle clip = ev_clip(instance, kOfxImageEffectSimpleSourceClipName, &properties);
  double first, last, times[PRESS_FRAMES];
  if (!clip || !ev_int(properties, kOfxImageClipPropConnected, 0, 1)) {
    snprintf(why, EV_TEXT, "Evenstop: there is no clip to measure. Connect one and press Measure clip again.");
    return NULL;
  }
  const char *space = ev_unfit_colourspace(instance, properties);
  if (space) {
    snprintf(why, EV_TEXT,
             "Evenstop cannot measure the colour space '%.100s'; set the clip to a standard display space, for instance "
             "Rec.709.",
             space);
    return NULL;
  }
  if (!frame_range(instance, properties, &first, &last)) {
    snprintf(why, EV_TEXT, "Evenstop: the host does not say which frames the clip has, so it cannot be measured. %s", closing);
    return NULL;
  }
  int count = spread(first, last, PRESS_FRAMES, times), measured = 0;
  int64_t meter = begin(bridge, why);
  if (!meter) {
    return NULL;
  }
  for (int i = 0; i < count; i++) {
    if (!progress(instance, suite, (double)i / count)) {
      why[0] = 0;
      drop(bridge, meter);
      return NULL;
    }
    int result = add_frame(bridge, meter, clip, properties, times[i], NULL, 0, why);
    if (result < 0) {
      drop(bridge, meter);
      return NULL;
    }
    measured += result;
  }
  if (!measured) {
    drop(bridge, meter);
    snprintf(why, EV_TEXT, "Evenstop: the host gave none of the %d frames asked for, from %g to %g. %s", count, times[0],
             times[count - 1], closing);
    return NULL;
  }
  return end(bridge, meter, why);
}

void ev_keep(EvInstance *instance, const char *measurement, const char *correction, const char *sky, const char *found) {
  int bracketed = ev_suites.parameter->paramEditBegin && ev_suites.parameter->paramEditEnd
                  && ev_suites.parameter->paramEditBegin(instance->set, "Evenstop: correction") == kOfxStatOK;
  char version[16];
  snprintf(version, sizeof version, "%d", EV_STATE);
  int kept = ev_write_text(instance, EV_STATE_VERSION, version);
  if (measurement) {
    kept &= ev_write_text(instance, EV_MEASUREMENT, measurement);
  }
  kept &= ev_write_text(instance, EV_CORRECTION, correction);
  kept &= ev_write_text(instance, EV_SKY_CORRECTION, sky);
  (void)ev_write_text(instance, EV_FOUND, found);
  if (bracketed) {
    (void)ev_suites.parameter->paramEditEnd(instance->set);
  }
  if (!kept) {
    ev_say(instance->effect, kOfxMessageError, "evenstop",
           "Evenstop: the host did not take the result, so it is not kept. Press Measure clip again.");
  }
}

/* A press is a question of the user: it is answered every time, and not by a message that stays. */
static void answer(EvInstance *instance, const char *why) {
  char text[EV_TEXT];
  if (why[0]) {
    ev_signed(text, "Evenstop: ", why);
    ev_say(instance->effect, kOfxMessageError, "evenstop", text);
  }
}

void ev_measure_pressed(EvInstance *instance) {
  char why[EV_TEXT] = "";
  const EvBridge *bridge = ev_vm(1, why);
  if (!bridge) {
    ev_complain_of_java(instance, why, 1);
    return;
  }
  int suite = progress_start(instance);
  char *measurement = measure_clip(instance, bridge, suite, why);
  char *wishes = ev_wishes_at(instance, 0);
  Solved result = {0};
  int solved = measurement && solve(bridge, measurement, wishes, &result, why);
  progress_end(instance, suite);
  if (solved) {
    ev_keep(instance, measurement, result.correction, result.sky, result.found);
    ev_recovered(instance);
  } else {
    answer(instance, why);
  }
  free(measurement);
  free(wishes);
  free_solved(&result);
}

void ev_solve_again(EvInstance *instance, OfxTime time) {
  char *measurement = ev_text_at(instance, EV_MEASUREMENT, time);
  if (!measurement) {
    return;
  }
  char why[EV_TEXT] = "";
  char *wishes = ev_wishes_at(instance, time);
  Solved result = {0};
  const EvBridge *bridge = ev_vm(0, why);
  if (!bridge) {
    ev_complain_of_java(instance, why, 0);
  } else if (solve(bridge, measurement, wishes, &result, why)) {
    ev_keep(instance, NULL, result.correction, result.sky, result.found);
  } else {
    answer(instance, why);
  }
  free(measurement);
  free(wishes);
  free_solved(&result);
}

/* == before the first press == */

static int other_times_allowed(OfxPropertySetHandle clip) {
  return ev_int(ev_host->host, kOfxImageEffectPropTemporalClipAccess, 0, 0)
         && ev_int(clip, kOfxImageEffectPropTemporalClipAccess, 0, 1);
}

static int is_trial(EvInstance *instance, OfxTime time) {
  char *correction = ev_text_at(instance, EV_CORRECTION, time);
  free(correction);
  return !correction;
}

/* Which frames the trial measures: a few of the clip, or the one being rendered where others may not be had. */
static int trial_times(EvInstance *instance, OfxPropertySetHandle clip, OfxTime time, double *times) {
  double first, last;
  pthread_mutex_lock(&instance->lock);
  int alone = instance->one_frame_only;
  pthread_mutex_unlock(&instance->lock);
  if (!alone && other_times_allowed(clip) && frame_range(instance, clip, &first, &last)) {
    return spread(first, last, TRIAL_FRAMES, times);
  }
  times[0] = time;
  return 1;
}

static char *trial_measurement(EvInstance *instance, const EvBridge *bridge, OfxTime time, char *why) {
  OfxPropertySetHandle properties;
  OfxImageClipHandle clip = ev_clip(instance, kOfxImageEffectSimpleSourceClipName, &properties);
  double times[TRIAL_FRAMES];
  int count = trial_times(instance, properties, time, times), measured = 0;
  int64_t meter = begin(bridge, why);
  if (!meter) {
    return NULL;
  }
  for (int i = 0; i < count; i++) {
    OfxRectD shown;
    int known = ev_suites.effect->clipGetRegionOfDefinition
                && ev_suites.effect->clipGetRegionOfDefinition(clip, times[i], &shown) == kOfxStatOK;
    int result = add_frame(bridge, meter, clip, properties, times[i], known ? &shown : NULL, 1, why);
    if (result >= 0 && ev_suites.effect->abort && ev_suites.effect->abort(instance->effect)) {
      why[0] = 0;
      result = -1;
    }
    if (result < 0) {
      drop(bridge, meter);
      return NULL;
    }
    measured += result;
  }
  if (!measured) {
    drop(bridge, meter);
    snprintf(why, EV_TEXT, EV_PASSES "no frame of the clip could be had to measure. %s", closing);
    return NULL;
  }
  char *text = end(bridge, meter, why);
  if (text) {
    pthread_mutex_lock(&instance->lock);
    int said = instance->trial_said;
    instance->trial_said = 1;
    pthread_mutex_unlock(&instance->lock);
    if (!said) {
      char line[EV_TEXT];
      snprintf(line, sizeof line,
               "Evenstop: worked out from %d frame%s; press Measure clip to measure the whole clip and keep the result.", measured, measured == 1 ? "" : "s");
      ev_say(instance->effect, kOfxMessageLog, "evenstopTrial", line);
    }
  }
  return text;
}

/* Frames are measured without the lock: a host may serve our fetch from a thread that waits for it. Where two threads do it at
 * once, the first to finish is believed, so that all frames get one correction. */
char *ev_trial_correction(EvInstance *instance, OfxTime time, char **sky, char *why) {
  char *wishes = ev_wishes_at(instance, time);
  why[0] = 0;
  *sky = NULL;
  pthread_mutex_lock(&instance->lock);
  int solved = wishes && instance->trial_correction && instance->trial_wishes && !strcmp(instance->trial_wishes, wishes);
  char *correction = solved ? strdup(instance->trial_correction) : NULL;
  *sky = solved && instance->trial_sky ? strdup(instance->trial_sky) : NULL;
  char *measurement = !solved && instance->trial_measurement ? strdup(instance->trial_measurement) : NULL;
  pthread_mutex_unlock(&instance->lock);
  if (correction) {
    free(wishes);
    return correction;
  }
  const EvBridge *bridge = ev_vm(0, why);
  if (bridge && !measurement) {
    measurement = trial_measurement(instance, bridge, time, why);
    if (measurement) {
      pthread_mutex_lock(&instance->lock);
      if (instance->trial_measurement) {
        free(measurement);
        measurement = strdup(instance->trial_measurement);
      } else {
        instance->trial_measurement = strdup(measurement);
      }
      pthread_mutex_unlock(&instance->lock);
    }
  }
  Solved result = {0};
  if (bridge && measurement && solve(bridge, measurement, wishes, &result, why)) {
    pthread_mutex_lock(&instance->lock);
    free(instance->trial_correction);
    free(instance->trial_sky);
    free(instance->trial_wishes);
    instance->trial_correction = strdup(result.correction);
    instance->trial_sky = *result.sky ? strdup(result.sky) : NULL;
    instance->trial_wishes = strdup(wishes);
    pthread_mutex_unlock(&instance->lock);
    correction = result.correction;
    *sky = *result.sky ? result.sky : NULL;
    if (!*sky) {
      free(result.sky);
    }
    free(result.found);
  }
  free(measurement);
  free(wishes);
  return correction;
}

static int trial_is_ahead(EvInstance *instance, OfxTime time) {
  if (!instance) {
    return 0;
  }
  pthread_mutex_lock(&instance->lock);
  int measured = instance->trial_measurement != NULL;
  pthread_mutex_unlock(&instance->lock);
  return !measured && is_trial(instance, time)
         && (ev_number_at(instance, EV_STRENGTH, time) > 0 || ev_index_at(instance, EV_VIEW, time) > 0);
}

/* At once, or one by one where the host has no function for several. 1 when all were taken. */
static int set_doubles(OfxPropertySetHandle set, const char *name, int count, const double *values) {
  const OfxPropertySuiteV1 *suite = ev_suites.property;
  if (suite->propSetDoubleN) {
    return suite->propSetDoubleN(set, name, count, values) == kOfxStatOK;
  }
  for (int i = 0; i < count; i++) {
    if (!suite->propSetDouble || suite->propSetDouble(set, name, i, values[i]) != kOfxStatOK) {
      return 0;
    }
  }
  return 1;
}

OfxStatus ev_frames_needed(OfxImageEffectHandle effect, OfxPropertySetHandle in, OfxPropertySetHandle out) {
  EvInstance *instance = ev_instance(effect);
  OfxTime time = ev_double(in, kOfxPropTime, 0, 0);
  OfxPropertySetHandle clip;
  if (!out || !trial_is_ahead(instance, time) || !ev_clip(instance, kOfxImageEffectSimpleSourceClipName, &clip)
      || !other_times_allowed(clip)) {
    return kOfxStatReplyDefault;
  }
  double times[TRIAL_FRAMES], ranges[2 * (TRIAL_FRAMES + 1)];
  int count = trial_times(instance, clip, time, times);
  ranges[0] = ranges[1] = time;
  for (int i = 0; i < count; i++) {
    ranges[2 * i + 2] = ranges[2 * i + 3] = times[i];
  }
  static const char name[] = kOfxImageClipPropFrameRangeStem kOfxImageEffectSimpleSourceClipName;
  if (set_doubles(out, name, 2 * (count + 1), ranges)) {
    return kOfxStatOK;
  }
  /* A render must not fetch what was not asked for. What the set holds now is the default or the beginning of our ranges. */
  pthread_mutex_lock(&instance->lock);
  instance->one_frame_only = 1;
  pthread_mutex_unlock(&instance->lock);
  return kOfxStatReplyDefault;
}

/* A trial must see whole frames even when a tile is rendered, and so must a waveform. */
OfxStatus ev_regions_of_interest(OfxImageEffectHandle effect, OfxPropertySetHandle in, OfxPropertySetHandle out) {
  EvInstance *instance = ev_instance(effect);
  OfxTime time = ev_double(in, kOfxPropTime, 0, 0);
  if (!out || !instance || !ev_suites.effect->clipGetRegionOfDefinition
      || !(trial_is_ahead(instance, time) || ev_index_at(instance, EV_VIEW, time) == ev_option(EV_VIEW, "waveform"))) {
    return kOfxStatReplyDefault;
  }
  OfxImageClipHandle clip = ev_clip(instance, kOfxImageEffectSimpleSourceClipName, NULL);
  OfxRectD shown;
  if (!clip || ev_suites.effect->clipGetRegionOfDefinition(clip, time, &shown) != kOfxStatOK) {
    return kOfxStatReplyDefault;
  }
  double region[4] = {shown.x1, shown.y1, shown.x2, shown.y2};
  static const char name[] = kOfxImageClipPropRoIStem kOfxImageEffectSimpleSourceClipName;
  return set_doubles(out, name, 4, region) ? kOfxStatOK : kOfxStatReplyDefault;
}
