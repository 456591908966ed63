/* SPDX-License-Identifier: Apache-2.0
 *
 * Rendering: the order of actions for a run of frames, windows one by one or several at once, and the checks around them.
 */
#include "internal.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { MOST_PREFETCH = 16, MOST_AT_ONCE = 16 };

static const OfxRectI nothing = {0, 0, 0, 0};

typedef struct Frame {
  EshEffect *effect;
  int time;
  OfxRectI window;     /* all of it */
  OfxRectI *tiles;
  int tile_count;
  EshBuffer *output;
  atomic_int next;
  atomic_int aborted;
  OfxStatus *statuses; /* one per tile */
} Frame;

static void put_scale(OfxPropertySetHandle s) {
  esh_put_double(s, kOfxImageEffectPropRenderScale, 0, esh_scale(s->host));
  esh_put_double(s, kOfxImageEffectPropRenderScale, 1, esh_scale(s->host));
  esh_put_string(s, kOfxImageEffectPropThumbnailRender, 0, s->host->config.thumbnail ? "true" : "false");
}

static void put_window(OfxPropertySetHandle s, OfxRectI w) {
  const int v[4] = {w.x1, w.y1, w.x2, w.y2};
  for (int i = 0; i < 4; i++) esh_put_int(s, kOfxImageEffectPropRenderWindow, i, v[i]);
}

static void put_rect(OfxPropertySetHandle s, const char *name, OfxRectD r) {
  const double v[4] = {r.x1, r.y1, r.x2, r.y2};
  for (int i = 0; i < 4; i++) esh_put_double(s, name, i, v[i]);
}

static OfxRectI frame_rect(EshEffect *e) { return esh_frame_rect(e->host, esh_source_format(e->source)); }

static OfxRectD canonical(EshEffect *e, OfxRectI r) {
  const double up = 1 / esh_scale(e->host), across = esh_source_format(e->source)->pixel_aspect * up;
  return (OfxRectD){r.x1 * across, r.y1 * up, r.x2 * across, r.y2 * up};
}

/* The whole frame in canonical coordinates: the same at every scale. */
static OfxRectD whole_frame(EshEffect *e) {
  const EshConfig *c = &e->host->config;
  const EshFormat *f = esh_source_format(e->source);
  return (OfxRectD){c->origin_x * f->pixel_aspect, c->origin_y, (c->origin_x + f->width) * f->pixel_aspect,
                    c->origin_y + f->height};
}

static void complain(EshEffect *e, const char *action, OfxStatus status) {
  if (status != kOfxStatOK && status != kOfxStatReplyDefault)
    esh_fault_add(e->host, "%s answers %s", action, esh_status_name(status));
}

static void ask_region_of_definition(EshEffect *e, int time) {
  OfxPropertySetHandle in = esh_props_new(e->host, "OfxImageEffectActionGetRegionOfDefinition.in",
                                          esh_copy("GetRegionOfDefinition arguments"));
  OfxPropertySetHandle out = esh_props_new(e->host, "OfxImageEffectActionGetRegionOfDefinition.out",
                                           esh_copy("GetRegionOfDefinition result"));
  const OfxRectD all = whole_frame(e);
  esh_put_double(in, kOfxPropTime, 0, time);
  put_scale(in);
  put_rect(out, kOfxImageEffectPropRegionOfDefinition, all);
  const OfxStatus status = esh_action(e, kOfxImageEffectActionGetRegionOfDefinition, in, out);
  complain(e, kOfxImageEffectActionGetRegionOfDefinition, status);
  double r[4];
  for (int i = 0; i < 4; i++) r[i] = esh_peek_double(out, kOfxImageEffectPropRegionOfDefinition, i, NAN);
  if (!strcmp(e->context, kOfxImageEffectContextFilter) &&
      !(r[0] == all.x1 && r[1] == all.y1 && r[2] == all.x2 && r[3] == all.y2))
    esh_fault_add(e->host, "region of definition %g,%g,%g,%g; this host renders the source's frame, %g,%g,%g,%g", r[0],
                  r[1], r[2], r[3], all.x1, all.y1, all.x2, all.y2);
  esh_props_free(in);
  esh_props_free(out);
}

static void ask_regions_of_interest(EshEffect *e, int time, OfxRectI window) {
  OfxPropertySetHandle in = esh_props_new(e->host, "OfxImageEffectActionGetRegionsOfInterest.in",
                                          esh_copy("GetRegionsOfInterest arguments"));
  OfxPropertySetHandle out = esh_props_new(e->host, "OfxImageEffectActionGetRegionsOfInterest.out",
                                           esh_copy("GetRegionsOfInterest result"));
  esh_put_double(in, kOfxPropTime, 0, time);
  put_scale(in);
  put_rect(in, kOfxImageEffectPropRegionOfInterest, canonical(e, window));
  for (int i = 0; i < e->clip_count; i++) {
    if (e->clips[i]->is_output) continue;
    char name[256];
    snprintf(name, sizeof name, "%s%s", kOfxImageClipPropRoIStem, e->clips[i]->name);
    esh_prop_add(out, name, ESH_DOUBLE, 4, ESH_PLUGIN_WRITES);
    put_rect(out, name, canonical(e, window));
  }
  complain(e, kOfxImageEffectActionGetRegionsOfInterest,
           esh_action(e, kOfxImageEffectActionGetRegionsOfInterest, in, out));
  esh_props_free(in);
  esh_props_free(out);
}

/* Adds the ranges to each clip's. Without an answer, or without temporal access, it is the frame itself. */
static void ask_frames_needed(EshEffect *e, int time) {
  OfxPropertySetHandle in = esh_props_new(e->host, "OfxImageEffectActionGetFramesNeeded.in",
                                          esh_copy("GetFramesNeeded arguments"));
  OfxPropertySetHandle out = esh_props_new(e->host, "OfxImageEffectActionGetFramesNeeded.out",
                                           esh_copy("GetFramesNeeded result"));
  esh_put_double(in, kOfxPropTime, 0, time);
  esh_put_string(in, kOfxImageEffectPropThumbnailRender, 0, e->host->config.thumbnail ? "true" : "false");
  char name[256];
  for (int i = 0; i < e->clip_count; i++) {
    if (e->clips[i]->is_output) continue;
    snprintf(name, sizeof name, "%s%s", kOfxImageClipPropFrameRangeStem, e->clips[i]->name);
    esh_prop_add(out, name, ESH_DOUBLE, 0, ESH_PLUGIN_WRITES);
    esh_put_double(out, name, 0, time);
    esh_put_double(out, name, 1, time);
  }
  complain(e, kOfxImageEffectActionGetFramesNeeded, esh_action(e, kOfxImageEffectActionGetFramesNeeded, in, out));
  const EshEffect *described = e->bundle->plugins[e->index].descriptor;
  for (int i = 0; i < e->clip_count; i++) {
    OfxImageClipHandle c = e->clips[i];
    if (c->is_output) continue;
    snprintf(name, sizeof name, "%s%s", kOfxImageClipPropFrameRangeStem, c->name);
    const int n = esh_peek_count(out, name) / 2;
    c->needed = esh_grow(c->needed, sizeof *c->needed * (size_t)(c->needed_count + n + 1));
    for (int k = 0; k < n; k++) {
      const OfxRangeD r = {esh_peek_double(out, name, 2 * k, NAN), esh_peek_double(out, name, 2 * k + 1, NAN)};
      if (!(r.min <= r.max)) {
        esh_fault_add(e->host, "GetFramesNeeded: range %g to %g of clip %s is empty", r.min, r.max, c->name);
        continue;
      }
      if ((r.min != time || r.max != time) && !esh_int(described, kOfxImageEffectPropTemporalClipAccess, 0, 0) &&
          !esh_peek_int(c->props, kOfxImageEffectPropTemporalClipAccess, 0, 0))
        esh_fault_add(e->host, "GetFramesNeeded names other frames of clip %s without temporal clip access", c->name);
      c->needed[c->needed_count++] = r;
    }
  }
  esh_props_free(in);
  esh_props_free(out);
}

static OfxStatus send_sequence(EshEffect *e, const char *action, const char *set, int first, int last) {
  OfxPropertySetHandle in = esh_props_new(e->host, set, esh_format("%s arguments", action));
  esh_put_double(in, kOfxImageEffectPropFrameRange, 0, first);
  esh_put_double(in, kOfxImageEffectPropFrameRange, 1, last);
  esh_put_double(in, kOfxImageEffectPropFrameStep, 0, 1);
  esh_put_int(in, kOfxPropIsInteractive, 0, 0);
  esh_put_int(in, kOfxImageEffectPropSequentialRenderStatus, 0, 0);
  esh_put_int(in, kOfxImageEffectPropInteractiveRenderStatus, 0, 0);
  esh_put_string(in, kOfxImageEffectPropNoSpatialAwareness, 0, "false");
  put_scale(in);
  const OfxStatus status = esh_action(e, action, in, NULL);
  esh_props_free(in);
  complain(e, action, status);
  return status;
}

/* 1 and the frame to copy when the plug-in says there is nothing to do. */
static int ask_identity(EshEffect *e, int time, OfxRectI window, OfxImageClipHandle *clip, int *frame) {
  OfxPropertySetHandle in = esh_props_new(e->host, "OfxImageEffectActionIsIdentity.in", esh_copy("IsIdentity arguments"));
  OfxPropertySetHandle out = esh_props_new(e->host, "OfxImageEffectActionIsIdentity.out", esh_copy("IsIdentity result"));
  esh_put_double(in, kOfxPropTime, 0, time);
  esh_put_string(in, kOfxImageEffectPropFieldToRender, 0, kOfxImageFieldNone);
  put_window(in, window);
  put_scale(in);
  esh_put_string(out, kOfxPropName, 0, "");
  esh_put_double(out, kOfxPropTime, 0, time);
  const OfxStatus status = esh_action(e, kOfxImageEffectActionIsIdentity, in, out);
  complain(e, kOfxImageEffectActionIsIdentity, status);
  int same = status == kOfxStatOK;
  if (same) {
    const char *name = esh_peek_string(out, kOfxPropName, 0);
    *clip = name ? esh_clip_find(e, name) : NULL;
    *frame = (int)floor(esh_peek_double(out, kOfxPropTime, 0, time));
    if (!*clip || !(*clip)->source) {
      esh_fault_add(e->host, "IsIdentity names \"%s\", which is not a connected input clip", name ? name : "");
      same = 0;
    }
  }
  esh_props_free(in);
  esh_props_free(out);
  return same;
}

static void render_tile(Frame *f, int index, int check) {
  EshEffect *e = f->effect;
  const OfxRectI w = f->tiles[index];
  OfxPropertySetHandle in = esh_props_new(e->host, "OfxImageEffectActionRender.in", esh_copy("Render arguments"));
  esh_put_double(in, kOfxPropTime, 0, f->time);
  esh_put_string(in, kOfxImageEffectPropFieldToRender, 0, kOfxImageFieldNone);
  put_window(in, w);
  put_scale(in);
  esh_put_int(in, kOfxImageEffectPropSequentialRenderStatus, 0, 0);
  esh_put_int(in, kOfxImageEffectPropInteractiveRenderStatus, 0, 0);
  esh_put_int(in, kOfxImageEffectPropRenderQualityDraft, 0, e->host->config.draft);
  esh_put_string(in, kOfxImageEffectPropNoSpatialAwareness, 0, "false");
  static const char *const gpu[] = {kOfxImageEffectPropOpenGLEnabled, kOfxImageEffectPropCudaEnabled,
                                    kOfxImageEffectPropMetalEnabled, kOfxImageEffectPropOpenCLEnabled};
  for (int i = 0; i < 4; i++) esh_put_int(in, gpu[i], 0, 0);
  EshAction action;
  memset(&action, 0, sizeof action);
  action.name = kOfxImageEffectActionRender;
  action.time = f->time;
  action.window = w;
  action.output = f->output;
  f->statuses[index] = esh_action_prepared(&action, e, in, NULL);
  esh_props_free(in);
  if (atomic_load(&action.aborted)) {
    atomic_store(&f->aborted, 1);
    if (f->statuses[index] != kOfxStatOK)
      esh_fault_add(e->host, "Render answers %s after an abort; it should be kOfxStatOK",
                    esh_status_name(f->statuses[index]));
  }
  if (check && esh_buffer_check(f->output, w))
    esh_fault_add(e->host, "Render wrote outside its window (into the frame, a row's padding or the guard bytes)");
}

static void *render_thread(void *argument) {
  Frame *f = argument;
  for (int i; (i = atomic_fetch_add(&f->next, 1)) < f->tile_count;) render_tile(f, i, 0);
  return NULL;
}

/* A user at the controls while frames render. */
typedef struct Disturber {
  EshEffect *effect;
  char *before; /* the value as text; NULL for a button */
  atomic_int stop;
} Disturber;

static void *disturb(void *argument) {
  Disturber *d = argument;
  const EshConfig *c = &d->effect->host->config;
  char err[ESH_ERR];
  int bad = 0;
  if (!d->before) { /* a button */
    OfxStatus status;
    do {
      bad = esh_button_press(d->effect, c->disturb_param, &status, err);
    } while (!bad && !atomic_load(&d->stop));
  } else {
    do {
      bad = esh_param_edit(d->effect, c->disturb_param, c->disturb_value, err) ||
            esh_param_edit(d->effect, c->disturb_param, d->before, err);
    } while (!bad && !atomic_load(&d->stop));
  }
  if (bad) esh_fault_add(d->effect->host, "changing a parameter during Render: %s", err);
  return NULL;
}

static void render_tiles(Frame *f);

static void render_tiles_disturbed(Frame *f) {
  EshEffect *e = f->effect;
  const char *name = e->host->config.disturb_param;
  OfxParamHandle p = name ? esh_params_find(&e->params, name) : NULL;
  const int is_button = p && !strcmp(p->type->name, kOfxParamTypePushButton);
  if (!p || (!is_button && !e->host->config.disturb_value)) {
    if (name) esh_fault_add(e->host, "no parameter \"%s\" to change during Render", name);
    render_tiles(f);
    return;
  }
  Disturber d = {.effect = e};
  const char *text = esh_param_string_value(p);
  d.before = is_button ? NULL : text ? esh_copy(text) : esh_param_text(p);
  pthread_t thread;
  const int started = (is_button || d.before) && !esh_thread(e->host, &thread, disturb, &d);
  render_tiles(f);
  if (started) {
    atomic_store(&d.stop, 1);
    pthread_join(thread, NULL);
  }
  free(d.before);
}

static int is_fully_safe(const EshEffect *e) {
  const char *safety = esh_string(e->bundle->plugins[e->index].descriptor, kOfxImageEffectPluginRenderThreadSafety, 0);
  return safety && !strcmp(safety, kOfxImageEffectRenderFullySafe);
}

static void render_tiles(Frame *f) {
  EshEffect *e = f->effect;
  unsigned threads = e->host->config.frame_threads;
  /* The host must not render at once what the plug-in does not promise to bear. */
  if (!is_fully_safe(e)) threads = 1;
  if (threads <= 1) {
    for (int i = 0; i < f->tile_count; i++) render_tile(f, i, 1);
    return;
  }
  pthread_t *ids = esh_alloc(sizeof *ids * threads);
  unsigned started = 0;
  while (started < threads && !esh_thread(e->host, &ids[started], render_thread, f)) started++;
  render_thread(f);
  for (unsigned i = 0; i < started; i++) pthread_join(ids[i], NULL);
  free(ids);
  if (esh_buffer_check(f->output, f->window))
    esh_fault_add(e->host, "Render wrote outside the windows (into the frame, a row's padding or the guard bytes)");
}

static void make_tiles(Frame *f, const EshConfig *c) {
  const OfxRectI w = f->window;
  const int width = w.x2 - w.x1, height = w.y2 - w.y1;
  const int tw = c->tile_width > 0 && width > 0 ? c->tile_width : width;
  const int th = c->tile_height > 0 && height > 0 ? c->tile_height : height;
  const int across = tw > 0 ? (width + tw - 1) / tw : 1, up = th > 0 ? (height + th - 1) / th : 1;
  f->tile_count = 0;
  f->tiles = esh_alloc(sizeof *f->tiles * (size_t)across * (size_t)up);
  for (int j = 0; j < up; j++)
    for (int i = 0; i < across; i++) {
      const OfxRectI t = {w.x1 + i * tw, w.y1 + j * th, w.x1 + i * tw + (tw < width - i * tw ? tw : width - i * tw),
                          w.y1 + j * th + (th < height - j * th ? th : height - j * th)};
      f->tiles[f->tile_count++] = t;
    }
  for (int i = 0; c->tiles_reversed && i < f->tile_count / 2; i++) {
    const OfxRectI t = f->tiles[i];
    f->tiles[i] = f->tiles[f->tile_count - 1 - i];
    f->tiles[f->tile_count - 1 - i] = t;
  }
  for (int i = f->tile_count - 1; c->tile_order && i > 0; i--) {
    const char name[3] = {(char)(1 + i % 120), (char)(1 + i / 120 % 120), 0};
    const int j = (int)(esh_draw(c->tile_order, name) % (unsigned)(i + 1));
    const OfxRectI t = f->tiles[i];
    f->tiles[i] = f->tiles[j];
    f->tiles[j] = t;
  }
  f->statuses = esh_alloc(sizeof *f->statuses * (size_t)(f->tile_count + 1));
  memset(f->statuses, 0, sizeof *f->statuses * (size_t)(f->tile_count + 1));
}

static OfxRectI configured_window(EshEffect *e) {
  const EshConfig *c = &e->host->config;
  OfxRectI all = frame_rect(e);
  if (!c->has_window) return all;
  OfxRectI w = {c->window.x1 + all.x1, c->window.y1 + all.y1, c->window.x2 + all.x1, c->window.y2 + all.y1};
  if (w.x1 < all.x1) w.x1 = all.x1;
  if (w.y1 < all.y1) w.y1 = all.y1;
  if (w.x2 > all.x2) w.x2 = all.x2;
  if (w.y2 > all.y2) w.y2 = all.y2;
  if (w.x2 <= w.x1 || w.y2 <= w.y1) w = (OfxRectI){all.x1, all.y1, all.x1, all.y1};
  return w;
}

/* Brings the frames that Render may fetch into memory first, so that reading and drawing them is not timed as Render. */
static int prefetch(EshEffect *e, EshBuffer **held) {
  int n = 0;
  for (int i = 0; i < e->clip_count; i++) {
    OfxImageClipHandle c = e->clips[i];
    if (!c->source) continue;
    for (int k = 0; k < c->needed_count; k++)
      for (double t = floor(c->needed[k].min); t <= c->needed[k].max && n < MOST_PREFETCH; t++) {
        OfxStatus status;
        EshBuffer *b = t >= c->format.first && t <= c->format.last ? esh_source_buffer(e, c, (int)t, &status) : NULL;
        if (b) held[n++] = b;
      }
  }
  return n;
}

static int deliver(const EshHost *host, EshFrameReceiver *receive, void *user, int time, const EshBuffer *b,
                   OfxRectI window, const EshFormat *format, char *err) {
  if (!receive) return 0;
  const EshFormat scaled = esh_scaled_format(host, format);
  const size_t bytes = esh_frame_bytes(&scaled);
  void *pixels = malloc(bytes);
  int bad = !pixels;
  if (bad) esh_error(err, "frame %d: no memory for %zu bytes", time, bytes);
  if (!bad) {
    esh_buffer_export(b, window, pixels);
    bad = receive(user, time, pixels, bytes);
    if (bad) esh_error(err, "frame %d could not be written", time);
  }
  free(pixels);
  return bad ? -1 : 0;
}

/* What a frame came to, beside its statuses. */
typedef struct Ready {
  Frame f;          /* f.output NULL: the frame is `same` */
  EshBuffer *same;  /* the source frame that IsIdentity named */
  OfxImageClipHandle clip;
} Ready;

/* Asks the questions before a frame. 0; -1 and err when it cannot be rendered for want of memory. */
static int make_ready(EshEffect *e, int time, OfxImageClipHandle out_clip, Ready *r, EshRenderResult *result, char *err) {
  const OfxRectI window = configured_window(e);
  memset(r, 0, sizeof *r);
  e->time = time;
  result->frames++;
  ask_regions_of_interest(e, time, window);
  ask_frames_needed(e, time);
  r->f.effect = e;
  r->f.time = time;
  r->f.window = window;
  r->clip = out_clip;
  int frame = 0;
  OfxImageClipHandle clip = NULL;
  if (ask_identity(e, time, window, &clip, &frame) && !e->host->config.ignore_identity) {
    OfxStatus status;
    r->same = esh_source_buffer(e, clip, frame, &status);
    r->clip = clip;
    if (!r->same) {
      esh_fault_add(e->host, "IsIdentity names frame %d of %s, which does not exist", frame, clip->name);
      result->failed++;
      if (!result->first_failure) result->first_failure = status;
    }
    return 0;
  }
  r->f.output = esh_buffer_new(e->host, &out_clip->format, !e->host->config.unchecked);
  if (!r->f.output) {
    esh_error(err, "frame %d: no memory for the output", time);
    return -1;
  }
  r->f.output->id = ++e->host->next_image_id;
  make_tiles(&r->f, &e->host->config);
  return 0;
}

static int finish(EshEffect *e, Ready *r, EshFrameReceiver *receive, void *user, EshRenderResult *result, char *err) {
  const OfxRectI window = r->f.window;
  int bad = 0;
  if (r->same) {
    result->identical++;
    bad = deliver(e->host, receive, user, r->f.time, r->same, window, &r->clip->format, err);
    esh_buffer_release(e, r->same);
  }
  if (!r->f.output) return bad;
  OfxStatus failed = kOfxStatOK;
  for (int i = 0; i < r->f.tile_count && !failed; i++) failed = r->f.statuses[i];
  if (atomic_load(&r->f.aborted)) {
    result->aborted++;
  } else if (failed) {
    result->failed++;
    if (!result->first_failure) result->first_failure = failed;
  } else {
    result->rendered++;
    const int none = window.x2 <= window.x1 || window.y2 <= window.y1;
    bad = deliver(e->host, receive, user, r->f.time, r->f.output, none ? nothing : window, &r->clip->format, err);
  }
  free(r->f.tiles);
  free(r->f.statuses);
  esh_buffer_free(r->f.output);
  return bad;
}

static void *frame_thread(void *argument) {
  Ready *r = argument;
  for (int i = 0; i < r->f.tile_count; i++) render_tile(&r->f, i, 1);
  return NULL;
}

/* `count` frames from `first` on, all at once when there are several. */
static int render_frames(EshEffect *e, int first, int count, EshFrameReceiver *receive, void *user,
                         EshRenderResult *result, char *err) {
  OfxImageClipHandle out_clip = esh_clip_find(e, kOfxImageEffectOutputClipName);
  if (!out_clip) {
    esh_error(err, "the plug-in defined no clip \"%s\"", kOfxImageEffectOutputClipName);
    return -1;
  }
  for (int i = 0; i < e->clip_count; i++) e->clips[i]->needed_count = 0;
  Ready *ready = esh_alloc(sizeof *ready * (size_t)count);
  pthread_t *threads = esh_alloc(sizeof *threads * (size_t)count);
  int made = 0, bad = 0, finished = 0;
  while (made < count && !bad) {
    bad = make_ready(e, first + made, out_clip, &ready[made], result, err);
    made++;
  }
  EshBuffer *held[MOST_PREFETCH];
  const int held_count = bad ? 0 : prefetch(e, held);
  if (count == 1 && !bad && ready[0].f.output) {
    render_tiles_disturbed(&ready[0].f);
  } else if (!bad) {
    int started[MOST_AT_ONCE] = {0};
    for (int i = 0; i < made; i++)
      started[i] = ready[i].f.output && !esh_thread(e->host, &threads[i], frame_thread, &ready[i]);
    for (int i = 0; i < made; i++) {
      if (started[i]) pthread_join(threads[i], NULL);
      else if (ready[i].f.output) frame_thread(&ready[i]);
    }
  }
  while (finished < made) {
    const int unfinished = finish(e, &ready[finished], bad ? NULL : receive, user, result, err);
    bad = bad ? bad : unfinished;
    finished++;
  }
  for (int i = 0; i < held_count; i++) esh_buffer_release(e, held[i]);
  free(threads);
  free(ready);
  return bad;
}

int esh_render(EshEffect *e, int first, int last, EshFrameReceiver *receive, void *user, EshRenderResult *result,
               char *err) {
  memset(result, 0, sizeof *result);
  if (!e->created) {
    esh_error(err, "the instance is not created");
    return -1;
  }
  const EshFormat *f = esh_source_format(e->source);
  if (first > last || first < f->first || last > f->last) {
    esh_error(err, "frames %d-%d are not within the clip's %d-%d", first, last, f->first, f->last);
    return -1;
  }
  esh_cache_clear(e); /* the configuration may have changed how frames lie in memory */
  ask_region_of_definition(e, first);
  const OfxStatus begun = send_sequence(e, kOfxImageEffectActionBeginSequenceRender,
                                        "OfxImageEffectActionBeginSequenceRender.in", first, last);
  int bad = 0;
  if (begun != kOfxStatOK && begun != kOfxStatReplyDefault) {
    esh_error(err, "BeginSequenceRender answers %s", esh_status_name(begun));
    return -1;
  }
  int at_once = is_fully_safe(e) && e->host->config.frames_at_once > 1 ? (int)e->host->config.frames_at_once : 1;
  if (at_once > MOST_AT_ONCE) at_once = MOST_AT_ONCE;
  for (int t = first; t <= last && !bad; t += at_once)
    bad = render_frames(e, t, last - t + 1 < at_once ? last - t + 1 : at_once, receive, user, result, err);
  send_sequence(e, kOfxImageEffectActionEndSequenceRender, "OfxImageEffectActionEndSequenceRender.in", first, last);
  esh_cache_clear(e); /* also checks that the plug-in left the source frames alone */
  return bad;
}
