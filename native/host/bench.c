/* SPDX-License-Identifier: Apache-2.0
 *
 * `ofxhost bench`: one process, one instance, timed as a host meets it: load, describe, create, first frame, steady frames beside a
 * copy of the same frame, a button. Writes one JSON object. The host's own work, drawing and moving pictures, is not counted.
 */
#include "program.h"

#ifdef __GLIBC__
#include <malloc.h>
#endif
#include <pthread.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#include "internal.h"

enum { MOST_FRAMES = 1000 };

typedef struct Band {
  unsigned char *to;
  const unsigned char *from;
  size_t bytes;
} Band;

/* Where the times of steady frames gather while esh_render goes on. */
typedef struct Steady {
  EshHost *host;
  unsigned char *from, *to;
  size_t bytes;
  unsigned threads;
  double render_before;
  int count;
  double render[MOST_FRAMES], copy[MOST_FRAMES];
} Steady;

static double now_ms(void) {
  struct timespec t;
  clock_gettime(CLOCK_MONOTONIC, &t);
  return (double)t.tv_sec * 1e3 + (double)t.tv_nsec / 1e6;
}

/* Time inside the plug-in so far: in one action, or in all when `action` is NULL. */
static double spent_ms(const EshHost *host, const char *action) {
  double total = 0;
  for (int i = 0; i < esh_timing_count(host); i++) {
    const EshTiming t = esh_timing(host, i);
    if (!action || !strcmp(t.action, action)) total += t.total_ms;
  }
  return total;
}

/* Kilobytes of this process in memory, or -1 where the system does not say. */
static long resident_kb(void) {
  long all, resident = -1;
  FILE *f = fopen("/proc/self/statm", "r");
  if (f) {
    if (fscanf(f, "%ld %ld", &all, &resident) != 2) resident = -1;
    fclose(f);
  }
  return resident < 0 ? -1 : resident * (sysconf(_SC_PAGESIZE) / 1024);
}

static void *copy_band(void *argument) {
  const Band *b = argument;
  memcpy(b->to, b->from, b->bytes);
  return NULL;
}

static double copy_ms(Steady *s) {
  Band bands[64];
  pthread_t ids[64];
  const double from = now_ms();
  unsigned started = 0;
  for (unsigned i = 0; i < s->threads; i++) {
    const size_t begin = s->bytes * i / s->threads, end = s->bytes * (i + 1) / s->threads;
    bands[i] = (Band){s->to + begin, s->from + begin, end - begin};
  }
  while (started + 1 < s->threads && !pthread_create(&ids[started], NULL, copy_band, &bands[started + 1])) started++;
  for (unsigned i = started + 1; i < s->threads; i++) copy_band(&bands[i]);
  copy_band(&bands[0]);
  for (unsigned i = 0; i < started; i++) pthread_join(ids[i], NULL);
  return now_ms() - from;
}

static int take_frame(void *user, int frame, const void *bytes, size_t length) {
  (void)frame, (void)bytes, (void)length;
  Steady *s = user;
  const double so_far = spent_ms(s->host, kOfxImageEffectActionRender);
  if (s->count < MOST_FRAMES) {
    s->render[s->count] = so_far - s->render_before;
    s->copy[s->count++] = copy_ms(s);
  }
  s->render_before = so_far;
  return 0;
}

static void print_numbers(const char *name, const double *values, int count) {
  printf(", \"%s\": [", name);
  for (int i = 0; i < count; i++) printf("%s%.4f", i ? ", " : "", values[i]);
  printf("]");
}

static void print_text(const char *text) {
  putchar('"');
  for (const unsigned char *c = (const unsigned char *)text; *c; c++) {
    if (*c == '"' || *c == '\\') printf("\\%c", *c);
    else if (*c < 0x20) printf("\\u%04x", *c);
    else putchar(*c);
  }
  putchar('"');
}

/* Whatever the plug-in told the user or did wrong: with any of it the times mean nothing. */
static void print_complaints(const EshHost *host) {
  int n = 0;
  printf(", \"complaints\": [");
  for (int i = 0; i < esh_message_count(host); i++) {
    const EshMessage m = esh_message(host, i);
    if (m.cleared || !strcmp(m.type, kOfxMessageLog)) continue;
    if (n++) printf(", ");
    print_text(m.text);
  }
  for (int i = 0; i < esh_fault_count(host); i++) {
    if (n++) printf(", ");
    print_text(esh_fault(host, i));
  }
  printf("]");
}

static int failed(const char *err) {
  fprintf(stderr, "ofxhost: %s\n", err);
  return EXIT_BAD;
}

/* Frames after the first. Freed frame memory is kept, so that no page fault is timed as the plug-in's work. */
static int steady_frames(EshHost *host, EshEffect *e, const Options *o, long *rendered, char *err) {
#ifdef __GLIBC__
  mallopt(M_MMAP_MAX, 0);
  mallopt(M_TRIM_THRESHOLD, 2000000000);
#endif
  Steady *s = calloc(1, sizeof *s);
  if (!s) return -1;
  s->host = host;
  s->threads = o->config.threads > 64 ? 64 : o->config.threads;
  s->bytes = esh_frame_bytes(&o->format);
  s->from = malloc(s->bytes);
  s->to = malloc(s->bytes);
  int bad = !s->from || !s->to;
  if (bad) snprintf(err, ESH_ERR, "no memory for two frames of %zu bytes", s->bytes);
  if (!bad) {
    memset(s->from, 1, s->bytes);
    memset(s->to, 2, s->bytes);
    s->render_before = spent_ms(host, kOfxImageEffectActionRender);
    EshRenderResult r;
    bad = esh_render(e, o->first + 1, o->last, take_frame, s, &r, err);
    *rendered += r.rendered;
  }
  if (!bad) {
    print_numbers("steadyMs", s->render, s->count);
    print_numbers("copyMs", s->copy, s->count);
  }
  free(s->from);
  free(s->to);
  free(s);
  return bad;
}

/* Presses the buttons asked for; what the plug-in took, and what the host takes for the frames it fetched meanwhile. */
static int press(EshHost *host, EshEffect *e, const Options *o, char *err) {
  for (int i = 0; i < o->step_count; i++) {
    if (!o->steps[i].press) continue;
    OfxStatus status = kOfxStatFailed;
    esh_cache_clear(e); /* every frame it fetches is drawn anew, so that drawMs can be taken off */
    const double before = spent_ms(host, kOfxActionInstanceChanged);
    const long fetches = esh_counts(host)->fetches;
    if (esh_button_press(e, o->steps[i].name, &status, err)) return -1;
    if (status != kOfxStatOK && status != kOfxStatReplyDefault) {
      snprintf(err, ESH_ERR, "%s: %s", o->steps[i].name, esh_status_name(status));
      return -1;
    }
    printf(", \"press\": ");
    print_text(o->steps[i].name);
    printf(", \"pressMs\": %.3f, \"pressFetches\": %ld", spent_ms(host, kOfxActionInstanceChanged) - before,
           esh_counts(host)->fetches - fetches);
  }
  return 0;
}

/* Milliseconds that this host takes to make one frame of the source, the least of three. */
static double draw_ms(EshEffect *e, const Options *o) {
  OfxImageClipHandle clip = esh_clip_find(e, kOfxImageEffectSimpleSourceClipName);
  double least = 0;
  for (int i = 0; clip && i < 3; i++) {
    OfxStatus status;
    esh_cache_clear(e);
    const double from = now_ms();
    EshBuffer *b = esh_source_buffer(e, clip, o->last, &status);
    const double took = now_ms() - from;
    if (b) esh_buffer_release(e, b);
    if (!i || took < least) least = took;
  }
  return least;
}

static int play(EshHost *host, const Options *o, double started) {
  char err[ESH_ERR] = "";
  const long before_kb = resident_kb();
  double from = now_ms();
  EshBundle *b = esh_bundle_open(host, o->bundle, err);
  if (!b) return failed(err);
  const double open_ms = now_ms() - from;
  from = now_ms();
  const int index = esh_bundle_find(b, o->plugin, err);
  EshEffect *d = index < 0 ? NULL : esh_plugin_load(b, index, err);
  EshEffect *context = d ? esh_context(b, index, choose_context(d, o), err) : NULL;
  const double describe_ms = now_ms() - from;
  EshFormat format = o->format;
  format.first = o->first;
  format.last = o->last;
  EshSource *source = context ? esh_source_open(o->in ? o->in : "pattern:gradient", &format, err) : NULL;
  from = now_ms();
  EshEffect *e = source ? esh_instance_new(context, source, err) : NULL;
  int bad = !e || (o->load && esh_project_load(e, o->load, err));
  if (!bad) {
    const OfxStatus status = esh_instance_create(e);
    bad = status != kOfxStatOK;
    if (bad) snprintf(err, sizeof err, "creating the instance: %s", esh_status_name(status));
  }
  const double create_ms = now_ms() - from;
  for (int i = 0; !bad && i < o->step_count; i++)
    if (!o->steps[i].press) bad = esh_param_edit(e, o->steps[i].name, o->steps[i].value, err) != 0;
  if (!bad) {
    EshRenderResult r;
    const double inside = spent_ms(host, NULL), rendering = spent_ms(host, kOfxImageEffectActionRender);
    from = now_ms();
    bad = esh_render(e, o->first, o->first, NULL, NULL, &r, err);
    const double done = now_ms();
    const double first_ms = spent_ms(host, NULL) - inside, own_ms = done - from - first_ms;
    long rendered = r.rendered;
    if (!bad) {
      printf("{\"size\": [%d, %d], \"depth\": \"%s\", \"threads\": %u", format.width, format.height,
             esh_depth_ofx(format.depth) + strlen("OfxBitDepth"), o->config.threads);
      printf(", \"openMs\": %.4f, \"describeMs\": %.4f, \"createMs\": %.4f, \"firstFrameMs\": %.4f, \"firstRenderMs\": %.4f", open_ms,
             describe_ms, create_ms, first_ms, spent_ms(host, kOfxImageEffectActionRender) - rendering);
      printf(", \"fromMainMs\": %.4f, \"doneAtMs\": %.4f, \"hostMs\": %.4f", done - started - own_ms, done, own_ms);
      printf(", \"residentBeforeKb\": %ld, \"residentAfterFirstKb\": %ld", before_kb, resident_kb());
      if (o->last > o->first) bad = steady_frames(host, e, o, &rendered, err);
    }
    if (!bad) bad = press(host, e, o, err);
    if (!bad) {
      printf(", \"drawMs\": %.3f, \"residentEndKb\": %ld, \"frames\": %d, \"rendered\": %ld", draw_ms(e, o), resident_kb(),
             o->last - o->first + 1, rendered);
      print_complaints(host);
      printf("}\n");
    }
  }
  esh_instance_destroy(e);
  esh_source_close(source);
  esh_bundle_close(b);
  return bad ? failed(err) : EXIT_GOOD;
}

int run_bench(const Options *options) {
  const double started = now_ms();
  char err[ESH_ERR];
  Options o = *options;
  o.config.unchecked = 1;
  o.config.ignore_identity = 1; /* Render is what is timed */
  o.config.log = NULL;
  if (!o.format.width) {
    fputs("ofxhost: bench needs --size; see ofxhost --help\n", stderr);
    return EXIT_USAGE;
  }
  EshHost *host = esh_host_create(&o.config, err);
  if (!host) return failed(err);
  const int code = play(host, &o, started);
  esh_host_destroy(host);
  return code;
}
