/* SPDX-License-Identifier: Apache-2.0
 *
 * A frame, or a tile of one: settings are read once, by value; rows are split over the host's threads; Java works on the
 * host's memory. No pixel is computed here. Whatever fails, the source is copied and the user told once.
 */
#include <math.h>
#include <stdatomic.h>
#include <stdlib.h>
#include <string.h>
#include <stdio.h>
#include <time.h>

#include "plugin.h"

/* Pixels of one call of Java: enough that the call costs nothing, few enough that threads end at the same time. */
#define STRIP_PIXELS (1 << 17)
#define SMALLEST_STRIP_PIXELS (1 << 15)
/* Pixels a thread does before the host is asked whether it still wants the frame, while the pace is not known... */
#define FIRST_ROUND_PIXELS (1 << 20)
/* ...and milliseconds when it is. A round may cost the host a start of every thread. */
#define ROUND_MS 30
/* A shorter round than this says nothing about the pace. */
#define SHORTEST_MS 0.5
#define MOST_THREADS 64

static OfxRectI intersection(OfxRectI a, OfxRectI b) {
  OfxRectI r = {a.x1 > b.x1 ? a.x1 : b.x1, a.y1 > b.y1 ? a.y1 : b.y1, a.x2 < b.x2 ? a.x2 : b.x2, a.y2 < b.y2 ? a.y2 : b.y2};
  return r;
}

static int is_empty(OfxRectI r) {
  return r.x1 >= r.x2 || r.y1 >= r.y2;
}

/* The window outside `inside` becomes black and transparent: bytes of zero in every depth. */
static void clear_outside(const EvFrame *output, OfxRectI window, OfxRectI inside) {
  size_t pixel = (size_t)output->pixel_bytes;
  for (int y = window.y1; y < window.y2; y++) {
    if (is_empty(inside) || y < inside.y1 || y >= inside.y2) {
      memset(ev_frame_at(output, window.x1, y), 0, (size_t)(window.x2 - window.x1) * pixel);
    } else {
      memset(ev_frame_at(output, window.x1, y), 0, (size_t)(inside.x1 - window.x1) * pixel);
      memset(ev_frame_at(output, inside.x2, y), 0, (size_t)(window.x2 - inside.x2) * pixel);
    }
  }
}

static void copy_rows(const EvFrame *source, const EvFrame *output, OfxRectI part) {
  size_t bytes = (size_t)(part.x2 - part.x1) * (size_t)output->pixel_bytes;
  for (int y = part.y1; y < part.y2; y++) {
    memmove(ev_frame_at(output, part.x1, y), ev_frame_at(source, part.x1, y), bytes);
  }
}

/* == which correction == */

enum { GROUND, SKY };

/* A handle for a text, kept with the instance in the place `which`. `fresh`: the one kept turned out stale. 1, or 0 and `why`. */
static int prepared(EvInstance *instance, int which, const EvBridge *bridge, const char *text, int fresh, int64_t *handle,
                    int *identity, char *why) {
  EvPrepared *place = &instance->prepared[which];
  pthread_mutex_lock(&instance->lock);
  int known = !fresh && place->text && !strcmp(place->text, text);
  *handle = place->handle;
  *identity = place->identity;
  pthread_mutex_unlock(&instance->lock);
  if (known) {
    return 1;
  }
  EvPrepare block = {.head = {why, EV_TEXT}, .text = text, .length = (int64_t)strlen(text)};
  if (ev_vm_call(bridge->prepare, &block) != EV_OK) {
    return 0;
  }
  *handle = block.handle;
  *identity = block.identity != 0;
  pthread_mutex_lock(&instance->lock);
  free(place->text);
  place->text = strdup(text);
  place->handle = *handle;
  place->identity = *identity;
  pthread_mutex_unlock(&instance->lock);
  return 1;
}

/* Whether what the project keeps is of a version this plug-in reads: none, or 1 to EV_STATE. Else 0 and `why`: a whole number
 * above is of a newer plug-in, everything else is damage. */
static int version_fits(EvInstance *instance, OfxTime time, char *why) {
  char *version = ev_text_at(instance, EV_STATE_VERSION, time);
  size_t digits = version ? strspn(version, "0123456789") : 0;
  int whole = digits > 0 && !version[digits];
  long number = whole ? strtol(version, NULL, 10) : 0; /* LONG_MAX where it is larger still */
  int fits = !version || (number >= 1 && number <= EV_STATE);
  if (!fits && number > EV_STATE) {
    snprintf(why, EV_TEXT, EV_PASSES "this project was made with a newer Evenstop. Update the plug-in.");
  } else if (!fits) {
    char shown[24];
    size_t length = strlen(version);
    for (size_t i = 0; i < sizeof shown; i++) {
      shown[i] = i < length && (version[i] < ' ' || version[i] > '~') ? '?' : i < length ? version[i] : 0;
    }
    shown[sizeof shown - 1] = 0;
    snprintf(why, EV_TEXT, EV_PASSES "state version kept in the project: '%s' is not a whole number from 1. Press Measure clip.",
             shown);
  }
  free(version);
  return fits;
}

/* The correction for a time, and that of the sky where it is treated apart: the kept ones, else the trial's. To be freed;
 * NULL and `why` as for ev_trial_correction. */
static char *correction_at(EvInstance *instance, OfxTime time, char **sky, char *why) {
  *sky = NULL;
  if (!version_fits(instance, time, why)) {
    return NULL;
  }
  char *kept = ev_text_at(instance, EV_CORRECTION, time);
  if (!kept) {
    return ev_trial_correction(instance, time, sky, why);
  }
  if (ev_index_at(instance, EV_SKY, time)) {
    *sky = ev_text_at(instance, EV_SKY_CORRECTION, time);
  }
  return kept;
}

/* == the picture, and what is drawn on it == */

static int is_waveform(EvInstance *instance, OfxTime time) {
  return ev_index_at(instance, EV_VIEW, time) == ev_option(EV_VIEW, "waveform");
}

static int is_sound(const OfxRectD *r) {
  return isfinite(r->x1) && isfinite(r->y1) && isfinite(r->x2) && isfinite(r->y2) && r->x1 < r->x2 && r->y1 < r->y2
         && r->x2 - r->x1 < 1e7 && r->y2 - r->y1 < 1e7;
}

/* The whole picture in canonical coordinates: the clip's word, else the image's, else what there is of it. */
static OfxRectD whole_picture(OfxImageClipHandle clip, const EvFrame *source, const EvLook *look, OfxTime time) {
  OfxRectD shown;
  if (clip && ev_suites.effect->clipGetRegionOfDefinition
      && ev_suites.effect->clipGetRegionOfDefinition(clip, time, &shown) == kOfxStatOK && is_sound(&shown)) {
    return shown;
  }
  int pixels[4] = {source->bounds.x1, source->bounds.y1, source->bounds.x2, source->bounds.y2}, told[4];
  if (ev_ints(source->image, kOfxImagePropRegionOfDefinition, 4, told) && told[0] < told[2] && told[1] < told[3]) {
    memcpy(pixels, told, sizeof pixels);
  }
  double across = look->pixel_aspect / look->scale_x, up = 1 / look->scale_y;
  return (OfxRectD){pixels[0] * across, pixels[1] * up, pixels[2] * across, pixels[3] * up};
}

static double factor(double told) {
  return isfinite(told) && told >= 1e-4 && told <= 1e4 ? told : 1;
}

/* Everything but handles. */
static EvLook look_at(EvInstance *instance, OfxPropertySetHandle in, OfxImageClipHandle clip, OfxPropertySetHandle clip_properties,
                      const EvFrame *source, OfxTime time) {
  EvLook look = {.horizon = ev_number_at(instance, EV_SKY_HORIZON, time), .angle = ev_number_at(instance, EV_SKY_ANGLE, time),
                 .feather = ev_number_at(instance, EV_SKY_FEATHER, time), .mix = ev_number_at(instance, EV_SKY_MIX, time),
                 .view = ev_index_at(instance, EV_VIEW, time), .zebra = ev_number_at(instance, EV_ZEBRA_LEVEL, time) / 100,
                 .split = ev_number_at(instance, EV_SPLIT_POSITION, time) / 100};
  look.scale_x = factor(ev_double(in, kOfxImageEffectPropRenderScale, 0, 1));
  look.scale_y = factor(ev_double(in, kOfxImageEffectPropRenderScale, 1, 1));
  look.pixel_aspect = factor(ev_double(source->image, kOfxImagePropPixelAspectRatio, 0,
                                       ev_double(clip_properties, kOfxImagePropPixelAspectRatio, 0, 1)));
  OfxRectD whole = whole_picture(clip, source, &look, time);
  look.x1 = whole.x1;
  look.y1 = whole.y1;
  look.x2 = whole.x2;
  look.y2 = whole.y2;
  return look;
}

/* The waveform of all there is of the source: a status, and look->waveform. */
static int make_waveform(const EvBridge *bridge, const EvFrame *source, int64_t handle, double strength, EvLook *look, char *why) {
  EvWaveform block = {.head = {why, EV_TEXT}, .handle = handle, .source = source->data, .stride = source->row_bytes,
                      .width = (int64_t)source->bounds.x2 - source->bounds.x1, .rows = (int64_t)source->bounds.y2 - source->bounds.y1,
                      .depth = source->depth, .components = source->components, .alpha = source->alpha, .strength = strength,
                      .pixel_x = source->bounds.x1, .pixel_y = source->bounds.y1, .look = *look};
  int status = ev_vm_call(bridge->waveform, &block);
  look->waveform = status == EV_OK ? block.waveform : 0;
  return status;
}

static void drop_waveform(const EvBridge *bridge, EvLook *look) {
  char why[EV_TEXT];
  if (look->waveform) {
    EvMeasureDrop block = {.head = {why, sizeof why}, .meter = look->waveform};
    (void)ev_vm_call(bridge->waveform_drop, &block);
    look->waveform = 0;
  }
}

/* == rows over threads == */

typedef struct Job {
  const EvBridge *bridge;
  const EvFrame *source, *output;
  OfxRectI part; /* rows of this round */
  int strip;     /* rows of one call */
  unsigned threads;
  int64_t handle;
  double strength;
  const EvLook *look;
  atomic_llong taken; /* rows of this round given out */
  atomic_int status;  /* EV_OK, or the first failure, which `why` is of */
  char why[EV_TEXT];
} Job;

static void run_strip(Job *job, int from, int to) {
  char why[EV_TEXT] = "";
  EvRender block = {.head = {why, EV_TEXT}, .handle = job->handle,
                    .source = ev_frame_at(job->source, job->part.x1, from), .source_stride = job->source->row_bytes,
                    .destination = ev_frame_at(job->output, job->part.x1, from), .destination_stride = job->output->row_bytes,
                    .width = job->part.x2 - job->part.x1, .rows = to - from, .depth = job->output->depth,
                    .components = job->output->components, .alpha = job->source->alpha, .strength = job->strength,
                    .pixel_x = job->part.x1, .pixel_y = from, .look = *job->look};
  int status = ev_vm_call(job->bridge->render, &block), fine = EV_OK;
  if (status != EV_OK && atomic_compare_exchange_strong(&job->status, &fine, status)) {
    memcpy(job->why, why, EV_TEXT);
  }
}

/* Strips until none is left: it does not matter how many threads a host runs this on, nor how it numbers them. */
static void run_strips(unsigned index, unsigned count, void *argument) {
  (void)index, (void)count;
  Job *job = argument;
  const int64_t rows = (int64_t)job->part.y2 - job->part.y1;
  for (int64_t from; atomic_load(&job->status) == EV_OK && (from = atomic_fetch_add(&job->taken, job->strip)) < rows;) {
    const int64_t to = from + job->strip < rows ? from + job->strip : rows;
    run_strip(job, job->part.y1 + (int)from, job->part.y1 + (int)to);
  }
}

static unsigned thread_count(void) {
  const OfxMultiThreadSuiteV1 *suite = ev_suites.threads;
  unsigned count = 1;
  if (!suite || !suite->multiThread || !suite->multiThreadNumCPUs || suite->multiThreadNumCPUs(&count) != kOfxStatOK
      || (suite->multiThreadIsSpawnedThread && suite->multiThreadIsSpawnedThread())) {
    return 1;
  }
  return count < 1 ? 1 : count > MOST_THREADS ? MOST_THREADS : count;
}

/* By the host's threads, and here what they left. */
static void run_round(Job *job) {
  atomic_store(&job->taken, 0);
  if (job->threads > 1) {
    (void)ev_suites.threads->multiThread(run_strips, job->threads, job);
  }
  run_strips(0, 1, job);
}

static int aborted(EvInstance *instance) {
  return ev_suites.effect->abort && ev_suites.effect->abort(instance->effect);
}

static double now_ms(void) {
  struct timespec t;
  clock_gettime(CLOCK_MONOTONIC, &t);
  return (double)t.tv_sec * 1e3 + (double)t.tv_nsec / 1e6;
}

/* Rounds of rows; between them the host is asked whether it still wants the frame. The pace of the rounds before says how many
 * rows one has. Returns EV_OK also when the host gave up, with *gave_up 1. */
static int run_rows(EvInstance *instance, Job *job, OfxRectI part, int *gave_up) {
  const int64_t width = part.x2 - part.x1, rows = part.y2 - part.y1;
  const int64_t reach = llabs((long long)job->source->row_bytes) > llabs((long long)job->output->row_bytes)
                          ? llabs((long long)job->source->row_bytes)
                          : llabs((long long)job->output->row_bytes);
  int64_t strip = STRIP_PIXELS / width;
  if (reach > 0 && strip > (1 << 30) / reach) {
    strip = (1 << 30) / reach; /* a strip spans less than 2 GiB of the host's memory */
  }
  job->strip = (int)(strip < 1 ? 1 : strip);
  const unsigned threads = thread_count();
  const int64_t useful = width * rows / SMALLEST_STRIP_PIXELS + 1;
  job->threads = useful < threads ? (unsigned)useful : threads;
  const int64_t least = (int64_t)FIRST_ROUND_PIXELS * job->threads / width;
  for (int64_t done = 0; done < rows;) {
    if (aborted(instance)) {
      *gave_up = 1;
      return EV_OK;
    }
    int64_t round = (int64_t)atomic_load(&instance->pace) * ROUND_MS / width;
    round = round < least ? least : round;
    round = round < job->strip ? job->strip : round;
    round = round > rows - done ? rows - done : round;
    job->part = part;
    job->part.y1 = part.y1 + (int)done;
    job->part.y2 = job->part.y1 + (int)round;
    const double from = now_ms();
    run_round(job);
    if (atomic_load(&job->status) != EV_OK) {
      return atomic_load(&job->status);
    }
    const double took = now_ms() - from;
    if (took > SHORTEST_MS && width * round >= FIRST_ROUND_PIXELS) {
      const double pace = (double)(width * round) / took;
      atomic_store(&instance->pace, pace > 1e9 ? 1000000000 : (int)pace);
    }
    done += round;
  }
  return EV_OK;
}

/* Corrects `part` and draws what is to be drawn. 1 when the pixels are written, 0 when the source must be copied: with an
 * empty `why` because that is the right result. *gave_up: the host wants no more. */
static int correct(EvInstance *instance, const EvFrame *source, const EvFrame *output, OfxRectI part, EvLook *look, OfxTime time,
                   int *gave_up, char *why) {
  double strength = ev_number_at(instance, EV_STRENGTH, time);
  if ((strength == 0 && !look->view) || output->components == EV_ALPHA) {
    return 0;
  }
  char *sky;
  char *text = correction_at(instance, time, &sky, why);
  if (!text) {
    *gave_up = !why[0];
    return 0;
  }
  const EvBridge *bridge = ev_vm(0, why);
  Job *job = bridge ? malloc(sizeof *job) : NULL;
  if (bridge && !job) {
    snprintf(why, EV_TEXT, EV_PASSES "there is no memory left.");
  }
  int written = 0, nothing_to_do = 0, ok = job != NULL;
  for (int attempt = 0; ok && !written && !*gave_up && attempt < 3; attempt++) {
    int64_t handle;
    int identity, sky_identity = 1;
    ok = prepared(instance, GROUND, bridge, text, attempt > 0, &handle, &identity, why)
         && (!sky || prepared(instance, SKY, bridge, sky, attempt > 0, &look->sky, &sky_identity, why));
    nothing_to_do = ok && identity && sky_identity && !look->view;
    if (!ok || nothing_to_do) {
      break;
    }
    *job = (Job){.bridge = bridge, .source = source, .output = output, .handle = handle, .strength = strength, .look = look};
    int status = is_waveform(instance, time) && look->view ? make_waveform(bridge, source, handle, strength, look, job->why) : EV_OK;
    if (status == EV_OK) {
      status = run_rows(instance, job, part, gave_up);
    }
    drop_waveform(bridge, look);
    written = status == EV_OK;
    ok = written || status == EV_STALE;
    memcpy(why, job->why, EV_TEXT);
  }
  if (!written && !nothing_to_do && !why[0]) {
    snprintf(why, EV_TEXT, EV_PASSES "its Java side gave no reason. Start the host again.");
  }
  free(job);
  free(sky);
  free(text);
  return written;
}

/* == actions == */

static int known_identity(EvInstance *instance, int which, const char *text) {
  const EvPrepared *place = &instance->prepared[which];
  pthread_mutex_lock(&instance->lock);
  int known = place->text && place->identity && !strcmp(place->text, text);
  pthread_mutex_unlock(&instance->lock);
  return known;
}

OfxStatus ev_is_identity(OfxImageEffectHandle effect, OfxPropertySetHandle in, OfxPropertySetHandle out) {
  EvInstance *instance = ev_instance(effect);
  if (!instance || !out) {
    return kOfxStatReplyDefault;
  }
  OfxPropertySetHandle source;
  (void)ev_clip(instance, kOfxImageEffectSimpleSourceClipName, &source);
  if (!ev_int(source, kOfxImageClipPropConnected, 0, 1)) {
    return kOfxStatReplyDefault; /* there is nothing to be the same as */
  }
  OfxTime time = ev_double(in, kOfxPropTime, 0, 0);
  if (ev_index_at(instance, EV_VIEW, time)) {
    return kOfxStatReplyDefault; /* something is drawn */
  }
  int same = ev_number_at(instance, EV_STRENGTH, time) == 0;
  if (!same) {
    /* Known only of corrections that were already prepared: no Java is started for this question. */
    char *text = ev_text_at(instance, EV_CORRECTION, time);
    char *sky = ev_index_at(instance, EV_SKY, time) ? ev_text_at(instance, EV_SKY_CORRECTION, time) : NULL;
    same = text && known_identity(instance, GROUND, text) && (!sky || known_identity(instance, SKY, sky));
    free(text);
    free(sky);
  }
  if (!same) {
    return kOfxStatReplyDefault;
  }
  OfxStatus status = ev_set_string(out, kOfxPropName, 0, kOfxImageEffectSimpleSourceClipName);
  ev_offer_double(out, kOfxPropTime, 0, time);
  return status == kOfxStatOK ? kOfxStatOK : kOfxStatReplyDefault;
}

static OfxStatus refuse(EvInstance *instance, const EvFrame *source, const EvFrame *output) {
  char text[EV_TEXT];
  snprintf(text, sizeof text,
           "Evenstop cannot render from depth '%.60s', components '%.60s' to depth '%.60s', components '%.60s'; both must "
           "be the same, RGBA, RGB or Alpha as byte, short, half or float.",
           source->depth_name, source->components_name, output->depth_name, output->components_name);
  ev_complain(instance, kOfxMessageError, text);
  return kOfxStatFailed;
}

/* With both frames in hand. */
static OfxStatus render_frames(EvInstance *instance, const EvFrame *source, const EvFrame *output, OfxImageClipHandle clip_handle,
                               OfxPropertySetHandle clip, OfxPropertySetHandle in, OfxRectI window, OfxTime time) {
  if (output->depth < 0 || output->components < 0
      || (source->image && (source->depth != output->depth || source->components != output->components))) {
    return refuse(instance, source, output);
  }
  OfxRectI nothing = {0, 0, 0, 0};
  OfxRectI part = source->image ? intersection(window, source->bounds) : nothing;
  clear_outside(output, window, part);
  if (is_empty(part)) {
    return kOfxStatOK;
  }
  char why[EV_TEXT] = "";
  int gave_up = 0;
  const char *space = ev_unfit_colourspace(instance, clip);
  if (space) {
    snprintf(why, sizeof why,
             EV_PASSES "the clip's colour space is '%.100s'; set it to a standard display space, for instance Rec.709.", space);
    copy_rows(source, output, part);
    ev_complain(instance, kOfxMessageWarning, why);
    return kOfxStatOK;
  }
  EvLook look = look_at(instance, in, clip_handle, clip, source, time);
  int written = correct(instance, source, output, part, &look, time, &gave_up, why);
  if (gave_up) {
    return kOfxStatOK;
  }
  if (!written) {
    copy_rows(source, output, part);
  }
  if (why[0]) {
    char text[EV_TEXT];
    ev_signed(text, EV_PASSES, why);
    ev_complain(instance, kOfxMessageError, text);
  } else {
    ev_recovered(instance);
  }
  return kOfxStatOK;
}

OfxStatus ev_render(OfxImageEffectHandle effect, OfxPropertySetHandle in, OfxPropertySetHandle out) {
  (void)out;
  EvInstance *instance = ev_instance(effect);
  int bounds[4];
  if (!instance) {
    return kOfxStatErrBadHandle;
  }
  OfxTime time;
  /* Without a time it would be some other frame's picture. */
  if (!ev_ints(in, kOfxImageEffectPropRenderWindow, 4, bounds) || !ev_doubles(in, kOfxPropTime, 1, &time)) {
    return kOfxStatErrValue;
  }
  OfxPropertySetHandle source_clip, output_clip;
  OfxImageClipHandle source_handle = ev_clip(instance, kOfxImageEffectSimpleSourceClipName, &source_clip);
  OfxImageClipHandle output_handle = ev_clip(instance, kOfxImageEffectOutputClipName, &output_clip);
  EvFrame source = {0}, output = {0};
  OfxStatus status = ev_frame_fetch(output_handle, output_clip, time, NULL, &output);
  if (status == kOfxStatOK) {
    OfxRectD shown;
    int whole = source_handle && is_waveform(instance, time) && ev_suites.effect->clipGetRegionOfDefinition
                && ev_suites.effect->clipGetRegionOfDefinition(source_handle, time, &shown) == kOfxStatOK;
    status = ev_frame_fetch(source_handle, source_clip, time, whole ? &shown : NULL, &source);
  }
  if (status == kOfxStatOK) {
    OfxRectI window = output.image ? intersection((OfxRectI){bounds[0], bounds[1], bounds[2], bounds[3]}, output.bounds)
                                   : (OfxRectI){0, 0, 0, 0};
    if (output.image && !is_empty(window)) {
      status = render_frames(instance, &source, &output, source_handle, source_clip, in, window, time);
    } else if (!output.image) {
      status = aborted(instance) ? kOfxStatOK : kOfxStatFailed;
    }
  }
  ev_frame_release(&source);
  ev_frame_release(&output);
  return status;
}
