/* SPDX-License-Identifier: Apache-2.0
 *
 * `ofxhost probe`: a host's whole life on small frames, one PASS or FAIL line per check. The picture must not depend on
 * how the host lays out memory, cuts windows or uses threads; every image goes back; nothing outside the window changes.
 */
#include "program.h"

#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum { WIDTH = 41, HEIGHT = 23, FRAMES = 3 };

typedef struct Probe {
  const Options *options;
  EshHost *host;
  int passed, failed;
  int faults_seen;
  char where[200]; /* "filter float rgba" */
} Probe;

/* One line; faults that came up since the last line belong to this check. */
static void check(Probe *p, int good, const char *what, const char *why) {
  char fault[600] = "";
  const int n = esh_fault_count(p->host);
  if (n > p->faults_seen) snprintf(fault, sizeof fault, "%s", esh_fault(p->host, p->faults_seen));
  const int more = n - p->faults_seen - 1;
  p->faults_seen = n;
  const int pass = good && !*fault;
  printf("%s %s: %s", pass ? "PASS" : "FAIL", p->where, what);
  if (!good && why && *why) printf(": %s", why);
  if (*fault) printf(": %s", fault);
  if (more > 0) printf(" (and %d more)", more);
  putchar('\n');
  fflush(stdout); /* a plug-in that crashes the process must not take the lines before it along */
  if (pass) p->passed++;
  else p->failed++;
}

typedef struct Sheet {
  unsigned char *bytes;
  size_t length, room;
} Sheet;

static int keep(void *user, int frame, const void *bytes, size_t length) {
  (void)frame;
  Sheet *s = user;
  if (s->length + length > s->room) return -1;
  memcpy(s->bytes + s->length, bytes, length);
  s->length += length;
  return 0;
}

static Sheet sheet(const EshFormat *f) {
  Sheet s = {NULL, 0, esh_frame_bytes(f) * FRAMES * 4}; /* an output may have more channels than the source */
  s.bytes = calloc(s.room, 1);
  return s;
}

static int render(EshEffect *e, Sheet *s, char *err) {
  EshRenderResult r;
  s->length = 0;
  if (esh_render(e, 0, FRAMES - 1, keep, s, &r, err)) return -1;
  if (r.rendered == FRAMES) return 0;
  snprintf(err, ESH_ERR, "%ld of %d frames rendered, first failure %s", r.rendered, FRAMES,
           esh_status_name(r.first_failure));
  return -1;
}

static int same(const Sheet *a, const Sheet *b, char *err) {
  if (a->length == b->length && !memcmp(a->bytes, b->bytes, a->length)) return 1;
  size_t i = 0;
  while (i < a->length && i < b->length && a->bytes[i] == b->bytes[i]) i++;
  snprintf(err, ESH_ERR, "differs from the plain render at byte %zu of %zu", i, a->length);
  return 0;
}

/* Edits the first number a user may change while frames render. Which of the two settings a frame shows is open. */
static void disturbed(Probe *p, EshEffect *e) {
  OfxParamHandle found = NULL;
  for (int i = 0; i < esh_param_count(e) && !found; i++) {
    OfxParamHandle h = esh_param(e, i);
    if (!strcmp(esh_param_type(h), kOfxParamTypeDouble) && !esh_param_number(h, kOfxParamPropSecret, 0, 0)) found = h;
  }
  if (!found) return;
  const EshConfig before = *esh_config(p->host);
  char value[64], err[ESH_ERR] = "";
  double low = esh_param_number(found, kOfxParamPropMin, 0, 0);
  if (low < -1e6) low = 0;
  snprintf(value, sizeof value, "%.17g", low);
  esh_config(p->host)->disturb_param = esh_param_name(found);
  esh_config(p->host)->disturb_value = value;
  Sheet s = {calloc(1, WIDTH * HEIGHT * 16 * FRAMES * 4), 0, WIDTH * HEIGHT * 16 * FRAMES * 4};
  check(p, !render(e, &s, err), "a parameter changed during render", err);
  free(s.bytes);
  *esh_config(p->host) = before;
}

static void layouts(Probe *p, EshEffect *e, const Sheet *plain, const EshFormat *f) {
  const EshConfig before = *esh_config(p->host);
  Sheet s = sheet(f);
  static const struct {
    const char *name;
    int padding, negative, tight, tile_w, tile_h, reversed, x, y, threads;
  } runs[] = {
      {"again, bit for bit the same", 0, 0, 0, 0, 0, 0, 0, 0, 1},
      {"padded rows", 64, 0, 0, 0, 0, 0, 0, 0, 1},
      {"top row first in memory", 0, 1, 0, 0, 0, 0, 0, 0, 1},
      {"top row first, padded rows", 20, 1, 0, 0, 0, 0, 0, 0, 1},
      {"windows of 7x5", 0, 0, 0, 7, 5, 0, 0, 0, 1},
      {"windows of 1x1, last first", 0, 1, 0, 1, 1, 1, 0, 0, 1},
      {"strips of one row, images no larger", 8, 0, 1, WIDTH, 1, 0, 0, 0, 1},
      {"frame not at the origin", 0, 1, 0, 16, 16, 0, -13, 7, 1},
      {"four windows at once", 0, 0, 1, 11, 6, 0, 0, 0, 4},
  };
  char err[ESH_ERR];
  for (size_t i = 0; i < sizeof runs / sizeof runs[0]; i++) {
    EshConfig *c = esh_config(p->host);
    c->row_padding = runs[i].padding;
    c->negative_stride = runs[i].negative;
    c->tight_bounds = runs[i].tight;
    c->tile_width = runs[i].tile_w;
    c->tile_height = runs[i].tile_h;
    c->tiles_reversed = runs[i].reversed;
    c->origin_x = runs[i].x;
    c->origin_y = runs[i].y;
    c->frame_threads = (unsigned)runs[i].threads;
    *err = 0;
    check(p, !render(e, &s, err) && same(plain, &s, err), runs[i].name, err);
    *c = before;
  }
  EshConfig *c = esh_config(p->host);
  c->has_window = 1;
  c->window = (OfxRectI){3, 2, 20, 9};
  *err = 0;
  int good = !render(e, &s, err);
  const size_t pixel = esh_frame_bytes(f) / (WIDTH * HEIGHT);
  for (int n = 0; good && plain->length == s.length && n < FRAMES; n++)
    for (int y = 2; y < 9; y++) {
      const size_t at = (size_t)n * esh_frame_bytes(f) + ((size_t)(HEIGHT - 1 - y) * WIDTH + 3) * pixel;
      good &= !memcmp(plain->bytes + at, s.bytes + at, 17 * pixel);
    }
  check(p, good, "only a window", *err ? err : "differs from the same window of the plain render");
  c->window = (OfxRectI){5, 5, 5, 5};
  *err = 0;
  check(p, !render(e, &s, err), "an empty window", err);
  *c = before;
  c->abort_at = 1;
  EshRenderResult r;
  *err = 0;
  good = !esh_render(e, 0, 0, NULL, NULL, &r, err) && !r.failed;
  check(p, good, r.aborted ? "aborted at the first question" : "abort (it was never asked)", err);
  *c = before;
  c->render_scale = 0.5;
  const EshFormat half = esh_scaled_format(p->host, f);
  *err = 0;
  good = !render(e, &s, err);
  check(p, good && s.length == FRAMES * esh_frame_bytes(&half), "render scale one half", err);
  *c = before;
  disturbed(p, e);
  for (int i = 0; i < 2; i++) {
    c->fail_fetch_at = 1;
    c->fail_fetch_status = i ? kOfxStatErrMemory : kOfxStatFailed;
    *err = 0;
    check(p, !esh_render(e, 0, 0, NULL, NULL, &r, err), i ? "no memory for the source" : "no source image", err);
    *c = before;
  }
  free(s.bytes);
}

/* Presses the button, then proves that a project file carries everything: a new instance renders the same. */
static void measure(Probe *p, EshEffect *e, EshEffect *context, EshSource *source, const EshFormat *f) {
  static const char button[] = "measureClip";
  if (!esh_param_find(e, button)) return;
  char err[ESH_ERR] = "";
  OfxStatus status = kOfxStatFailed;
  EshConfig *c = esh_config(p->host);
  c->cancel_at = 1;
  int good = !esh_button_press(e, button, &status, err);
  check(p, good && esh_counts(p->host)->progress_starts == esh_counts(p->host)->progress_ends,
        "measureClip cancelled at once", err);
  c->cancel_at = 0;
  *err = 0;
  good = !esh_button_press(e, button, &status, err);
  if (good && status != kOfxStatOK) snprintf(err, sizeof err, "%s", esh_status_name(status));
  check(p, good && status == kOfxStatOK, "measureClip pressed", err);
  Sheet one = sheet(f), two = sheet(f);
  *err = 0;
  check(p, !render(e, &one, err), "render after measuring", err);
  char *path = esh_temporary_path("ofxhost-probe");
  const int fd = mkstemp(path);
  EshEffect *fresh = NULL;
  if (fd < 0) snprintf(err, sizeof err, "%s cannot be made", path);
  else {
    close(fd);
    good = !esh_project_save(e, path, err) && (fresh = esh_instance_new(context, source, err)) &&
           !esh_project_load(fresh, path, err) && esh_instance_create(fresh) == kOfxStatOK && !render(fresh, &two, err) &&
           same(&one, &two, err);
    unlink(path);
  }
  free(path);
  esh_instance_destroy(fresh);
  check(p, fd >= 0 && good, "saved, loaded in a new instance, same picture", err);
  free(one.bytes);
  free(two.bytes);
}

static EshSource *open_source(const EshFormat *f, char *err) { return esh_source_open("pattern:noise:7", f, err); }

static void one_format(Probe *p, EshEffect *context, const char *context_name, EshDepth depth, EshComponents components,
                       EshPremult premult, int thorough) {
  EshFormat f = {WIDTH, HEIGHT, depth, components, premult, 0, FRAMES - 1, 25, 1, NULL};
  snprintf(p->where, sizeof p->where, "%s, %s, %s, %s", context_name + strlen("OfxImageEffectContext"),
           esh_depth_ofx(depth) + strlen("OfxBitDepth"), esh_components_ofx(components) + strlen("OfxImageComponent"),
           premult == ESH_OPAQUE ? "opaque" : premult == ESH_PREMULTIPLIED ? "premultiplied" : "unpremultiplied");
  char err[ESH_ERR] = "";
  EshSource *source = open_source(&f, err);
  EshEffect *e = source ? esh_instance_new(context, source, err) : NULL;
  if (e && thorough) { /* hosts have done this, and plug-ins fell over their missing data */
    const OfxStatus early = esh_get_clip_preferences(e);
    check(p, early >= 0, "clip preferences before creation", "");
  }
  OfxStatus status = e ? esh_instance_create(e) : kOfxStatFailed;
  if (e && status) snprintf(err, sizeof err, "%s", esh_status_name(status));
  check(p, e && status == kOfxStatOK, "instance created", err);
  if (e && status == kOfxStatOK) {
    Sheet plain = sheet(&f);
    const int good = !render(e, &plain, err);
    check(p, good, "plain render", err);
    if (good && thorough) layouts(p, e, &plain, &f);
    if (good && depth == ESH_FLOAT && components == ESH_RGBA && premult == ESH_OPAQUE)
      measure(p, e, context, source, &f);
    status = esh_sync_private_data(e);
    check(p, status == kOfxStatOK, "private data synced", esh_status_name(status));
    free(plain.bytes);
  }
  esh_instance_destroy(e);
  esh_source_close(source);
  check(p, 1, "instance destroyed", "");
}

static void one_context(Probe *p, EshBundle *b, int index, const EshEffect *d, const char *name) {
  char err[ESH_ERR] = "";
  snprintf(p->where, sizeof p->where, "%s", name + strlen("OfxImageEffectContext"));
  EshEffect *context = esh_context(b, index, name, err);
  check(p, context != NULL, "described", err);
  if (!context) return;
  int thorough = 1;
  static const EshDepth depths[] = {ESH_FLOAT, ESH_SHORT, ESH_BYTE, ESH_HALF};
  for (int i = 0; i < 4; i++) {
    if (!esh_has_string(d, kOfxImageEffectPropSupportedPixelDepths, esh_depth_ofx(depths[i]))) continue;
    one_format(p, context, name, depths[i], ESH_RGBA, ESH_OPAQUE, thorough);
    if (thorough) {
      one_format(p, context, name, depths[i], ESH_RGBA, ESH_PREMULTIPLIED, 0);
      one_format(p, context, name, depths[i], ESH_RGBA, ESH_UNPREMULTIPLIED, 0);
    }
    for (int c = ESH_RGB; c <= ESH_ALPHA; c++)
      if (esh_clip_takes(context, kOfxImageEffectSimpleSourceClipName, (EshComponents)c))
        one_format(p, context, name, depths[i], (EshComponents)c, ESH_OPAQUE, 0);
    thorough = depths[i] == ESH_FLOAT; /* float and the next depth get every layout */
  }
}

/* Suites are fetched in Load, so each missing suite is a new Load. */
static void one_suite(Probe *p, EshBundle *b, int index, const char *suite, int hollow) {
  const EshConfig before = *esh_config(p->host);
  esh_plugin_unload(b, index);
  const char **names = hollow ? esh_config(p->host)->hollow_suites : esh_config(p->host)->without_suites;
  int n = 0;
  while (n < ESH_MAX_NAMES - 2 && names[n]) n++;
  names[n] = suite;
  snprintf(p->where, sizeof p->where, "%s %s", hollow ? "hollow" : "without", suite);
  char err[ESH_ERR] = "";
  EshEffect *d = esh_plugin_load(b, index, err);
  EshEffect *context = d ? esh_context(b, index, choose_context(d, p->options), err) : NULL;
  const int floats = !d || esh_has_string(d, kOfxImageEffectPropSupportedPixelDepths, kOfxBitDepthFloat);
  EshFormat f = {WIDTH, HEIGHT, floats ? ESH_FLOAT : ESH_BYTE, ESH_RGBA, ESH_OPAQUE, 0, FRAMES - 1, 25, 1, NULL};
  EshSource *source = open_source(&f, err);
  EshEffect *e = context && source ? esh_instance_new(context, source, err) : NULL;
  Sheet s = sheet(&f);
  const int good = e && esh_instance_create(e) == kOfxStatOK && !render(e, &s, err);
  OfxStatus status;
  if (good && esh_param_find(e, "measureClip")) esh_button_press(e, "measureClip", &status, err);
  esh_instance_destroy(e);
  esh_source_close(source);
  free(s.bytes);
  check(p, good, "loads and renders", err);
  esh_plugin_unload(b, index);
  *esh_config(p->host) = before;
}

static void without_suites(Probe *p, EshBundle *b, int index) {
  static const char *const optional[] = {"OfxMessageSuite/2", "OfxMessageSuite",     "OfxProgressSuite/2",
                                         "OfxProgressSuite",  "OfxMultiThreadSuite", "OfxMemorySuite",
                                         "OfxTimeLineSuite"};
  for (size_t i = 0; i < sizeof optional / sizeof optional[0]; i++)
    for (int hollow = 0; hollow < 2; hollow++) one_suite(p, b, index, optional[i], hollow);
}

static void one_plugin(Probe *p, EshBundle *b, int index) {
  char err[ESH_ERR] = "";
  const OfxPlugin *plugin = esh_bundle_plugin(b, index);
  snprintf(p->where, sizeof p->where, "%.150s", plugin->pluginIdentifier);
  EshEffect *d = esh_plugin_load(b, index, err);
  check(p, d != NULL, "loaded and described", err);
  if (!d) return;
  const OfxStatus unloaded = esh_plugin_unload(b, index);
  check(p, unloaded == kOfxStatOK || unloaded == kOfxStatReplyDefault, "unloaded", esh_status_name(unloaded));
  d = esh_plugin_load(b, index, err);
  check(p, d != NULL, "loaded again", err);
  if (!d) return;
  const OfxStatus unknown = esh_bare_action(d, "OfxActionThatNobodyKnows");
  check(p, unknown == kOfxStatReplyDefault, "an unknown action is answered kOfxStatReplyDefault",
        esh_status_name(unknown));
  static const char *const contexts[] = {kOfxImageEffectContextFilter, kOfxImageEffectContextGeneral};
  int any = 0;
  for (int i = 0; i < 2; i++) {
    if (p->options->context && strcmp(p->options->context, contexts[i])) continue;
    if (!esh_has_string(d, kOfxImageEffectPropSupportedContexts, contexts[i])) continue;
    any = 1;
    one_context(p, b, index, d, contexts[i]);
  }
  snprintf(p->where, sizeof p->where, "%.150s", plugin->pluginIdentifier);
  check(p, any, "offers the filter or general context", "");
  if (any) without_suites(p, b, index);
}

int run_probe(const Options *o) {
  char err[ESH_ERR];
  EshConfig config = o->config;
  config.log = o->quiet ? NULL : stderr;
  config.ignore_identity = 1; /* with parameters at their defaults many effects change nothing, and are to be called */
  EshHost *host = esh_host_create(&config, err);
  if (!host) {
    fprintf(stderr, "ofxhost: %s\n", err);
    return EXIT_BAD;
  }
  Probe p;
  memset(&p, 0, sizeof p);
  p.options = o;
  p.host = host;
  snprintf(p.where, sizeof p.where, "bundle");
  EshBundle *b = esh_bundle_open(host, o->bundle, err);
  const int found = b && o->plugin ? esh_bundle_find(b, o->plugin, err) : 0;
  if (!b || found < 0) {
    fprintf(stderr, "ofxhost: %s\n", err);
    esh_host_destroy(host);
    return EXIT_BAD;
  }
  check(&p, 1, "opened", "");
  for (int i = 0; i < esh_bundle_count(b); i++)
    if (!o->plugin || i == found) one_plugin(&p, b, i);
  snprintf(p.where, sizeof p.where, "bundle");
  esh_bundle_close(b);
  check(&p, 1, "closed", "");
  esh_leaks(host);
  check(&p, 1, "everything given back", "");
  printf("%d passed, %d failed\n", p.passed, p.failed);
  const int code = p.failed ? EXIT_BAD : EXIT_GOOD;
  esh_host_destroy(host);
  return code;
}
