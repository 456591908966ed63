/* SPDX-License-Identifier: Apache-2.0
 *
 * `ofxhost hostile`: random hosts, each drawn from a seed, each living the plug-in's whole life. A host may lack suites,
 * functions and properties, refuse writes, give odd images, cut frames up, render on many threads at once, abort, fail
 * fetches, change parameters meanwhile, and so on. Whatever it does, the plug-in must not crash, must not hang, must
 * give every image back, and must write nothing outside the window; in a host that is only awkward, not broken, the
 * picture must also be the same, bit for bit, however it was cut up.
 *
 * Hosts run one after another in a child process, which is replaced after some; the parent watches. A crash or a hang
 * costs one host, whose number is printed: `--seed S --first N --hosts 1` plays it again.
 */
#include "program.h"

#include "internal.h"

#include <errno.h>
#ifdef __linux__
#include <malloc.h>
#endif
#include <poll.h>
#include <signal.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

enum { HOSTS_PER_PROCESS = 20, FRAMES = 4, WORDS = 2048 };

static const char *hostile_bundle; /* its full path */

typedef struct Random {
  uint64_t state;
} Random;

static uint64_t next(Random *r) {
  uint64_t z = r->state += 0x9e3779b97f4a7c15u;
  z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9u;
  z = (z ^ (z >> 27)) * 0x94d049bb133111ebu;
  return z ^ (z >> 31);
}

static int below(Random *r, int bound) { return (int)(next(r) % (uint64_t)bound); }
static int chance(Random *r, int percent) { return below(r, 100) < percent; }

/* One host and what it is. */
typedef struct Hostile {
  Random random;
  EshConfig config;  /* while the plug-in is loaded */
  EshFormat format;
  const char *context;
  int broken;        /* lacks something without which no picture can be expected */
  int small_stack;   /* everything happens on a thread with 256 KiB */
  char words[WORDS]; /* what was drawn */
  char why[WORDS];   /* what went wrong; empty when nothing did */
} Hostile;

static void say(Hostile *h, const char *format, ...) __attribute__((format(printf, 2, 3)));
static void say(Hostile *h, const char *format, ...) {
  const size_t used = strlen(h->words);
  va_list args;
  va_start(args, format);
  if (used + 2 < sizeof h->words) {
    if (used) strcat(h->words, ", ");
    vsnprintf(h->words + strlen(h->words), sizeof h->words - strlen(h->words), format, args);
  }
  va_end(args);
}

static void wrong(Hostile *h, const char *format, ...) __attribute__((format(printf, 2, 3)));
static void wrong(Hostile *h, const char *format, ...) {
  const size_t used = strlen(h->why);
  va_list args;
  if (used > sizeof h->why / 2) return; /* enough to look at */
  va_start(args, format);
  const int start = snprintf(h->why + used, sizeof h->why - used, "%s", used ? "; " : "");
  vsnprintf(h->why + used + start, sizeof h->why - used - (size_t)start, format, args);
  va_end(args);
}

static void add(const char **names, const char *name) {
  int i = 0;
  while (i < ESH_MAX_NAMES - 1 && names[i]) i++;
  if (i < ESH_MAX_NAMES - 1) names[i] = name;
}

static void draw_suites(Hostile *h) {
  static const char *const optional[] = {kOfxMessageSuite "/2", kOfxMessageSuite,     kOfxProgressSuite "/2",
                                         kOfxProgressSuite,     kOfxMultiThreadSuite, kOfxMemorySuite,
                                         kOfxTimeLineSuite};
  static const char *const needed[] = {kOfxPropertySuite, kOfxImageEffectSuite, kOfxParameterSuite};
  static const char *const spare[] = {
      "propSetDouble", "propSetDoubleN", "propGetDouble", "propGetDimension", "propReset", "propSetStringN",
      "clipGetPropertySet", "clipGetRegionOfDefinition", "abort", "imageMemoryAlloc", "paramEditBegin", "paramEditEnd",
      "paramSetValue", "paramGetPropertySet", "multiThread", "multiThreadNumCPUs", "multiThreadIsSpawnedThread",
      "message", "setPersistentMessage", "clearPersistentMessage", "progressStart", "progressUpdate", "progressEnd",
      "getTimeBounds"};
  static const char *const vital[] = {"propSetPointer", "propSetString", "propSetInt", "propGetPointer", "propGetString",
                                      "propGetInt", "getPropertySet", "getParamSet", "clipDefine", "clipGetHandle",
                                      "clipGetImage", "clipReleaseImage", "paramDefine", "paramGetHandle",
                                      "paramGetValueAtTime"};
  Random *r = &h->random;
  EshConfig *c = &h->config;
  const int kind = below(r, 8);
  if (kind == 0)
    for (int i = 0; i < 7; i++) add(c->without_suites, optional[i]);
  if (kind == 0) say(h, "no optional suite");
  for (int n = kind < 4 ? below(r, 4) : 0; n > 0; n--) {
    const char *suite = optional[below(r, 7)];
    const int hollow = chance(r, 50);
    add(hollow ? c->hollow_suites : c->without_suites, suite);
    say(h, "%s %s", hollow ? "hollow" : "without", suite);
  }
  for (int n = chance(r, 40) ? 1 + below(r, 5) : 0; n > 0; n--) {
    const char *function = spare[below(r, (int)(sizeof spare / sizeof *spare))];
    add(c->null_functions, function);
    say(h, "%s NULL", function);
  }
  if (chance(r, 8)) {
    const char *function = vital[below(r, (int)(sizeof vital / sizeof *vital))];
    add(c->null_functions, function);
    say(h, "%s NULL", function);
    h->broken = 1;
  }
  if (chance(r, 5)) {
    const char *suite = needed[below(r, 3)];
    const int hollow = chance(r, 50);
    add(hollow ? c->hollow_suites : c->without_suites, suite);
    say(h, "%s %s", hollow ? "hollow" : "without", suite);
    h->broken = 1;
  }
  if (chance(r, 25)) say(h, "odd threads %d", (int)(c->odd_threads = (EshOddThreads)(1 + below(r, 5))));
  if (chance(r, 10)) c->odd_timeline = 1, say(h, "odd timeline");
  if (chance(r, 15)) {
    c->odd_params = (EshOddParams)(1 + below(r, 3));
    say(h, "odd parameters %d", (int)c->odd_params);
  }
}

static void draw_properties(Hostile *h) {
  Random *r = &h->random;
  EshConfig *c = &h->config;
  static const char *const names[] = {
      kOfxImageEffectPropTemporalClipAccess, kOfxPluginPropFilePath, kOfxImageEffectPropFrameRate,
      kOfxImageEffectPropFrameRange, kOfxImageClipPropConnected, kOfxImageEffectPropPreMultiplication,
      kOfxImagePropRegionOfDefinition, kOfxPropChangeReason, kOfxImageEffectPropRenderScale, kOfxPropLabel,
      kOfxImageEffectPropColourManagementStyle, kOfxImagePropUniqueIdentifier, kOfxImageEffectPropPixelDepth,
      kOfxImageEffectPropComponents, kOfxPropTime};
  static const char *const vital[] = {kOfxPropInstanceData, kOfxImagePropData, kOfxImagePropRowBytes, kOfxImagePropBounds,
                                      kOfxImageEffectPropRenderWindow, kOfxImageEffectPropSupportedPixelDepths,
                                      kOfxImageEffectPropSupportedContexts, kOfxImageEffectPropSupportedComponents};
  if (chance(r, 30)) say(h, "omits %u", c->omit_seed = 1 + (unsigned)below(r, 1000000));
  if (chance(r, 25)) say(h, "refuses %u", c->refuse_seed = 1 + (unsigned)below(r, 1000000));
  if (c->refuse_seed && chance(r, 30)) c->refuse_essential = h->broken = 1, say(h, "even the essential");
  for (int n = chance(r, 40) ? 1 + below(r, 4) : 0; n > 0; n--) {
    const char *name = names[below(r, (int)(sizeof names / sizeof *names))];
    add(c->without_properties, name);
    say(h, "without %s", name);
    /* Which frame is it then, and of what form? */
    h->broken |= !strcmp(name, kOfxPropTime) || !strcmp(name, kOfxImageEffectPropPixelDepth)
                 || !strcmp(name, kOfxImageEffectPropComponents);
  }
  if (chance(r, 8)) {
    const char *name = vital[below(r, (int)(sizeof vital / sizeof *vital))];
    add(c->without_properties, name);
    say(h, "without %s", name);
    h->broken = 1;
  }
}

static void draw_format(Hostile *h) {
  Random *r = &h->random;
  EshFormat *f = &h->format;
  static const char *const spaces[] = {"ofx_scene_linear", "ofx_display_sdr", "ofx_raw", "ofx_display_hdr", "nobody_knows"};
  *f = (EshFormat){.width = 1 + below(r, 70), .height = 1 + below(r, 50), .depth = (EshDepth)below(r, 4),
                   .components = chance(r, 60) ? ESH_RGBA : (EshComponents)below(r, 3), .first = below(r, 3) - 1,
                   .frame_rate = chance(r, 50) ? 25 : 23.976, .pixel_aspect = chance(r, 80) ? 1 : 1.42};
  f->premult = f->components == ESH_RGBA ? (EshPremult)below(r, 3) : ESH_OPAQUE;
  f->last = f->first + FRAMES - 1 + below(r, 30);
  if (chance(r, 15)) f->colourspace = spaces[below(r, 5)];
  say(h, "%dx%d %s %s %s%s%s", f->width, f->height, esh_depth_ofx(f->depth), esh_components_ofx(f->components),
      esh_premult_ofx(f->premult), f->colourspace ? " " : "", f->colourspace ? f->colourspace : "");
  h->context = chance(r, 70) ? kOfxImageEffectContextFilter : kOfxImageEffectContextGeneral;
}

/* How frames lie in memory and come to be rendered; changed between renders. */
static void draw_layout(Hostile *h, EshConfig *c) {
  Random *r = &h->random;
  const EshFormat *f = &h->format;
  c->row_padding = chance(r, 50) ? below(r, 200) : 0;
  c->negative_stride = chance(r, 50);
  c->tight_bounds = chance(r, 40);
  c->origin_x = below(r, 100) - 50;
  c->origin_y = below(r, 100) - 50;
  c->tile_width = c->tile_height = 0;
  if (chance(r, 70)) c->tile_width = 1 + below(r, f->width), c->tile_height = 1 + below(r, f->height);
  if ((f->width / (c->tile_width ? c->tile_width : f->width)) * (f->height / (c->tile_height ? c->tile_height : f->height)) > 300)
    c->tile_width = f->width; /* thousands of single pixels say no more than hundreds */
  c->tile_order = chance(r, 50) ? 1 + (unsigned)below(r, 1000) : 0;
  c->frame_threads = (unsigned)(chance(r, 50) ? 8 : 1);
  c->frames_at_once = (unsigned)(chance(r, 40) ? 1 + below(r, 4) : 1);
  c->threads = (unsigned)(1 + below(r, 8));
  c->thread_stack = chance(r, 50) ? 256 * 1024 : 0;
  c->thumbnail = chance(r, 20);
  c->draft = chance(r, 20);
  c->keeps_threads = c->threads % 2; /* not drawn: the numbers that a seed gives stay as they were */
}

typedef struct Sheet {
  unsigned char *bytes;
  size_t length;
} Sheet;

static int keep(void *user, int frame, const void *bytes, size_t length) {
  (void)frame;
  Sheet *s = user;
  s->bytes = esh_grow(s->bytes, s->length + length);
  memcpy(s->bytes + s->length, bytes, length);
  s->length += length;
  return 0;
}

static Sheet render(Hostile *h, EshEffect *e, int expects) {
  Sheet s = {NULL, 0};
  EshRenderResult result;
  char err[ESH_ERR] = "";
  if (esh_render(e, h->format.first, h->format.first + FRAMES - 1, keep, &s, &result, err)) wrong(h, "render: %s", err);
  if (expects && result.rendered + result.identical != FRAMES)
    wrong(h, "%ld of %d frames rendered, first failure %s", result.rendered + result.identical, FRAMES,
          esh_status_name(result.first_failure));
  return s;
}

/* Whole frames, then cut up in two ways, then whole again: the same bits each time. */
static void compare(Hostile *h, EshEffect *e) {
  EshConfig *c = esh_config(e->host);
  const EshConfig before = *c;
  c->render_scale = chance(&h->random, 25) ? 0.5 : 0;
  c->ignore_identity = chance(&h->random, 50);
  c->tight_bounds = c->tile_width = c->tile_height = 0;
  c->frame_threads = c->frames_at_once = 1;
  const EshConfig plain = *c;
  Sheet whole = render(h, e, 1);
  for (int i = 0; i < 3; i++) {
    *c = plain;
    if (i < 2) draw_layout(h, c);
    if (c->render_scale != 0) c->origin_x = plain.origin_x, c->origin_y = plain.origin_y; /* the same proxy pixels */
    Sheet other = render(h, e, 1);
    if (whole.length != other.length || (whole.length && memcmp(whole.bytes, other.bytes, whole.length)))
      wrong(h, "%s: padding %d, negative %d, tight %d, tiles %dx%d, threads %u, frames at once %u",
            i < 2 ? "frames differ when cut up" : "frames differ when rendered again", c->row_padding, c->negative_stride,
            c->tight_bounds, c->tile_width, c->tile_height, c->frame_threads, c->frames_at_once);
    free(other.bytes);
  }
  free(whole.bytes);
  *c = before;
}

/* A host that interrupts and fails: nothing is expected of the picture. */
static void harass(Hostile *h, EshEffect *e) {
  Random *r = &h->random;
  EshConfig *c = esh_config(e->host);
  const EshConfig before = *c;
  draw_layout(h, c);
  const int kind = below(r, 6);
  if (kind == 0) c->abort_at = 1 + below(r, 5);
  if (kind == 1) c->fail_fetch_at = 1 + below(r, 6), c->fail_fetch_status = chance(r, 50) ? kOfxStatFailed : kOfxStatErrMemory;
  if (kind == 2) c->disturb_param = "strength", c->disturb_value = "0.3", c->frames_at_once = 1;
  if (kind == 3) c->disturb_param = "exposureTrim", c->disturb_value = "0.7", c->frames_at_once = 1;
  if (kind == 4) c->odd_images = (EshOddImages)(1 + below(r, 6));
  if (kind == 5) c->disturb_param = "measureClip", c->frames_at_once = 1;
  if (chance(r, 20)) {
    c->has_window = 1;
    const int x = below(r, h->format.width), y = below(r, h->format.height);
    c->window = (OfxRectI){x, y, x + below(r, 9), y + below(r, 9)};
  }
  e->host->input_fetches = 0;
  if (c->disturb_param && !esh_param_find(e, c->disturb_param)) c->disturb_param = NULL;
  Sheet s = render(h, e, 0);
  free(s.bytes);
  *c = before;
}

static void edit(Hostile *h, EshEffect *e) {
  static const char *const edits[][2] = {{"strength", "0.6"}, {"strength", "0"}, {"strength", "1"}, {"exposureTrim", "-0.5"},
                                         {"preset", "1"},     {"correction", "{"}, {"stateVersion", "seven"},
                                         {"measurement", "[1, 2"}, {"correction", ""}, {"stateVersion", ""},
                                         {"sky", "1"},        {"sky", "0"},        {"skyAngle", "25"},
                                         {"skyHorizon", "40"}, {"skyCorrection", "?"}, {"view", "1"},
                                         {"view", "2"},       {"view", "3"},       {"view", "4"},
                                         {"view", "0"},       {"presetText", "{"}, {"presetFile", "/nowhere/at all.json"}};
  const int n = below(&h->random, (int)(sizeof edits / sizeof *edits));
  char err[ESH_ERR];
  if (esh_param_find(e, edits[n][0]) && esh_param_edit(e, edits[n][0], edits[n][1], err) && !h->broken)
    wrong(h, "edit: %s", err);
}

static void press(Hostile *h, EshEffect *e) {
  EshConfig *c = esh_config(e->host);
  c->cancel_at = chance(&h->random, 30) ? 1 + below(&h->random, 6) : 0;
  OfxStatus status = kOfxStatOK;
  char err[ESH_ERR];
  static const char *const buttons[] = {"measureClip", "measureClip", "measureClip", "loadPreset", "savePreset", "loadCorrection"};
  const char *button = buttons[below(&h->random, (int)(sizeof buttons / sizeof *buttons))];
  if (esh_param_find(e, button) && esh_button_press(e, button, &status, err)) wrong(h, "press: %s", err);
  if (!h->broken && status != kOfxStatOK) wrong(h, "press: %s", esh_status_name(status));
  c->cancel_at = 0;
}

static void live(Hostile *h, EshEffect *e) {
  Random *r = &h->random;
  const int picture = !h->broken && !h->config.unconnected;
  for (int steps = 2 + below(r, 3); steps > 0; steps--) {
    switch (below(r, 7)) {
      case 0: press(h, e); break;
      case 1: edit(h, e); break;
      case 2: harass(h, e); break;
      case 3: esh_bare_action(e, chance(r, 50) ? kOfxActionPurgeCaches : "OfxActionNobodyKnows"); break;
      case 4: esh_instance_changed(e, kOfxTypeClip, kOfxImageEffectSimpleSourceClipName, kOfxChangeUserEdited, 1); break;
      default:
        if (picture) compare(h, e);
        else harass(h, e);
    }
  }
  esh_sync_private_data(e);
}

/* From host_create to host_destroy. */
static void *run_host(void *argument) {
  Hostile *h = argument;
  Random *r = &h->random;
  char err[ESH_ERR] = "";
  EshHost *host = esh_host_create(&h->config, err);
  EshSource *source = host ? esh_source_open(chance(r, 50) ? "pattern:noise:3" : "pattern:gradient", &h->format, err) : NULL;
  EshBundle *b = source ? esh_bundle_open(host, hostile_bundle, err) : NULL;
  if (!b) {
    wrong(h, "%s", err);
    esh_source_close(source);
    esh_host_destroy(host);
    return NULL;
  }
  int described = 0; /* faults up to here are the host's own doing when it is broken */
  for (int rounds = chance(r, 30) ? 2 : 1; rounds > 0; rounds--) {
    EshEffect *d = esh_plugin_load(b, 0, err);
    EshEffect *context = d ? esh_context(b, 0, h->context, err) : NULL;
    EshEffect *e = context ? esh_instance_new(context, source, err) : NULL;
    if (!e && !h->broken) wrong(h, "load: %s", err);
    described = esh_fault_count(host);
    if (e && chance(r, 30)) (void)esh_get_clip_preferences(e);
    if (e && chance(r, 10)) (void)esh_bare_action(e, kOfxImageEffectActionRender);
    const OfxStatus status = e ? esh_instance_create(e) : kOfxStatFailed;
    if (e && status != kOfxStatOK && !h->broken) wrong(h, "create: %s", esh_status_name(status));
    if (e && e->created) live(h, e);
    esh_instance_destroy(e);
    (void)esh_plugin_unload(b, 0);
  }
  esh_bundle_close(b);
  esh_leaks(host);
  const EshCounts *counts = esh_counts(host);
  if (counts->fetches != counts->releases) wrong(h, "%ld images fetched, %ld released", counts->fetches, counts->releases);
  for (int i = h->broken ? described : 0; i < esh_fault_count(host); i++) wrong(h, "%s", esh_fault(host, i));
  esh_source_close(source);
  esh_host_destroy(host);
  return NULL;
}

static void draw(Hostile *h, uint64_t seed, int number) {
  memset(h, 0, sizeof *h);
  h->random.state = seed * 1000003u + (uint64_t)number;
  (void)next(&h->random);
  draw_format(h);
  draw_suites(h);
  draw_properties(h);
  h->config.lenient = chance(&h->random, 30);
  h->config.background = chance(&h->random, 20);
  if (chance(&h->random, 8)) h->config.unconnected = 1, say(h, "unconnected");
  h->small_stack = chance(&h->random, 40);
  draw_layout(h, &h->config);
}

static void play(Hostile *h) {
  if (!h->small_stack) {
    run_host(h);
    return;
  }
  pthread_attr_t attributes;
  pthread_t thread;
  pthread_attr_init(&attributes);
  pthread_attr_setstacksize(&attributes, 256 * 1024);
  if (pthread_create(&thread, &attributes, run_host, h)) wrong(h, "no thread with a stack of 256 KiB could be made");
  else pthread_join(thread, NULL);
  pthread_attr_destroy(&attributes);
}

static void late_handler(int signal) {
  static const char text[] = "the late handler of the host was called\n";
  (void)signal;
  if (write(STDERR_FILENO, text, sizeof text - 1) < 0) _exit(98);
  _exit(99);
}

/* What a whole process is like, drawn from its block of hosts. */
typedef struct Process {
  int late_segv; /* after the first host, a handler is installed that forgets the one before */
  int starved;   /* address space is short: a Java run-time cannot start */
} Process;

static Process draw_process(uint64_t seed, int number) {
  Random r = {seed * 7919u + (uint64_t)(number / HOSTS_PER_PROCESS)};
  (void)next(&r);
  const int kind = below(&r, 8);
  return (Process){kind == 1 || kind == 2, kind == 3};
}

/* Leaves this process some 230 MB more of addresses, where that can be done. */
static void starve(void) {
#if defined __linux__ && !defined __SANITIZE_ADDRESS__
  FILE *f = fopen("/proc/self/statm", "r");
  long pages = 0;
  if (f && fscanf(f, "%ld", &pages) != 1) pages = 0;
  if (f) fclose(f);
  const rlim_t room = (rlim_t)pages * (rlim_t)sysconf(_SC_PAGESIZE) + (230u << 20);
  if (pages) setrlimit(RLIMIT_AS, &(struct rlimit){room, room});
  mallopt(M_ARENA_MAX, 1); /* what is left is the host's, which must not run out itself */
#endif
}

/* Plays hosts `first` to `last`; for each it writes "> number", then "< number reason", lines of text. */
static void child(const HostileOptions *o, int first, int last, int out) {
  const Process process = draw_process(o->seed, first);
  FILE *report = fdopen(out, "w");
  Hostile *h = esh_alloc(sizeof *h);
  if (process.starved) starve();
  for (int n = first; n <= last; n++) {
    fprintf(report, "> %d\n", n);
    fflush(report);
    draw(h, o->seed, n);
    if (o->verbose) fprintf(stderr, "host %d: %s\n", n, h->words);
    play(h);
    if (n == first && process.late_segv) {
      struct sigaction ours = {.sa_handler = late_handler};
      sigemptyset(&ours.sa_mask);
      sigaction(SIGSEGV, &ours, NULL);
    }
    fprintf(report, "< %d %s%s%s\n", n, h->why, h->why[0] ? " | " : "", h->why[0] ? h->words : "");
    fflush(report);
  }
  free(h);
  fclose(report);
}

static int failed_host(const HostileOptions *o, int number, const char *what) {
  Hostile *h = esh_alloc(sizeof *h);
  draw(h, o->seed, number);
  printf("FAIL seed %llu host %d: %s\n", (unsigned long long)o->seed, number, what);
  if (!strchr(what, '|')) printf("     %s\n", h->words);
  fflush(stdout);
  free(h);
  return 1;
}

/* Seconds of processor time a process has had, or -1 where that cannot be told. */
static double processor_seconds(pid_t pid) {
  char path[64], text[1024];
  snprintf(path, sizeof path, "/proc/%ld/stat", (long)pid);
  FILE *f = fopen(path, "r");
  const size_t got = f ? fread(text, 1, sizeof text - 1, f) : 0;
  if (f) fclose(f);
  text[got] = 0;
  const char *after = strrchr(text, ')'); /* the name may hold anything */
  unsigned long user, kernel;
  if (!after || sscanf(after + 1, " %*c %*d %*d %*d %*d %*d %*u %*u %*u %*u %*u %lu %lu", &user, &kernel) != 2) return -1;
  return (double)(user + kernel) / (double)sysconf(_SC_CLK_TCK);
}

/* Watches one child; gives the number of the next host to play, and counts failures. */
static int watch(const HostileOptions *o, int first, int last, int *failures) {
  int ends[2];
  if (pipe(ends)) return -1;
  fflush(stdout);
  const pid_t pid = fork();
  if (pid < 0) return -1;
  if (!pid) {
    close(ends[0]);
    child(o, first, last, ends[1]);
    exit(0);
  }
  close(ends[1]);
  char text[8192];
  size_t used = 0;
  int current = -1, done = first - 1, hung = 0, waits = 0;
  double spent_before = 0, spent_at_start = 0;
  for (;;) {
    struct pollfd wait = {ends[0], POLLIN, 0};
    const int ready = poll(&wait, 1, o->patience * 1000);
    if (ready < 0 && errno == EINTR) continue;
    if (ready <= 0) {
      /* On a busy machine ten seconds may hold one of work. It hangs when it does nothing, or has worked for so long. */
      const double spent = processor_seconds(pid);
      hung = spent < 0 || spent - spent_before < 0.05 || spent - spent_at_start > o->patience || ++waits > 30;
      spent_before = spent;
      if (!hung) continue;
      kill(pid, SIGKILL);
      break;
    }
    waits = 0;
    spent_before = spent_at_start = processor_seconds(pid);
    const ssize_t got = read(ends[0], text + used, sizeof text - 1 - used);
    if (got <= 0) break;
    used += (size_t)got;
    text[used] = 0;
    for (char *end; (end = strchr(text, '\n'));) {
      *end = 0;
      int n = 0, at = 0;
      if (sscanf(text, "> %d", &n) == 1) current = n;
      if (sscanf(text, "< %d %n", &n, &at) == 1) {
        done = n;
        if (text[at]) *failures += failed_host(o, n, text + at);
      }
      used -= (size_t)(end + 1 - text);
      memmove(text, end + 1, used + 1);
    }
    if (used >= sizeof text - 1) used = 0;
  }
  close(ends[0]);
  int status = 0;
  waitpid(pid, &status, 0);
  if (done == last && WIFEXITED(status) && WEXITSTATUS(status) == 0) return last + 1;
  char what[128];
  if (hung) snprintf(what, sizeof what, "nothing happened for %d s", o->patience);
  else if (WIFSIGNALED(status)) snprintf(what, sizeof what, "crash, signal %d (%s)", WTERMSIG(status), strsignal(WTERMSIG(status)));
  else snprintf(what, sizeof what, "the process ended with %d", WEXITSTATUS(status));
  *failures += failed_host(o, current < 0 ? first : done == last ? last : current, what);
  return done == last ? last + 1 : (current < first ? first : current) + 1;
}

int run_hostile(const char *bundle, const HostileOptions *o) {
  char *path = realpath(bundle, NULL);
  if (!path) {
    fprintf(stderr, "ofxhost: %s: %s\n", bundle, strerror(errno));
    return EXIT_BAD;
  }
  hostile_bundle = path;
  int failures = 0, processes = 0;
  const int end = o->first + o->hosts;
  for (int n = o->first; n < end; processes++) {
    /* A process's kind belongs to its block of hosts, so that one host alone is played in the same kind. */
    int last = n - n % HOSTS_PER_PROCESS + HOSTS_PER_PROCESS - 1;
    if (last >= end) last = end - 1;
    n = watch(o, n, last, &failures);
    if (n < 0) {
      fprintf(stderr, "ofxhost: no process could be started: %s\n", strerror(errno));
      free(path);
      return EXIT_BAD;
    }
  }
  printf("seed %llu: %d hosts in %d processes, %d failed\n", (unsigned long long)o->seed, o->hosts, processes, failures);
  free(path);
  return failures ? EXIT_BAD : EXIT_GOOD;
}
