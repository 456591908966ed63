/* SPDX-License-Identifier: Apache-2.0
 *
 * The plug-in inside the headless host: one case a process, since a process has one VM at most.
 *
 *   bridge_test CASE BUNDLE [JDK or other argument]
 */
#include <dlfcn.h>
#include <jni.h>
#include <locale.h>
#include <math.h>
#include <pthread.h>
#include <setjmp.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <unistd.h>
#ifdef __linux__
#include <sys/inotify.h>
#endif

#include "internal.h" /* for changes that are not the user's */

#define WIDTH 97
#define HEIGHT 61
#define FRAMES 12

static const char *case_name, *bundle_path, *jdk_path;
static int failures;

static void check_that(int ok, const char *what, int line) {
  if (!ok) {
    fprintf(stderr, "%s: line %d: not so: %s\n", case_name, line, what);
    failures++;
  }
}
#define CHECK(condition) check_that(!!(condition), #condition, __LINE__)

static void stop(const char *what, const char *err) {
  fprintf(stderr, "%s: %s: %s\n", case_name, what, err);
  exit(1);
}

/* == a rig: host, bundle, one instance == */

typedef struct Rig {
  EshHost *host;
  EshBundle *bundle;
  EshSource *source;
  EshEffect *instance;
  int index;
  EshFormat format;
} Rig;

static const EshFormat plain_format = {.width = WIDTH, .height = HEIGHT, .depth = ESH_FLOAT, .components = ESH_RGBA,
                                       .premult = ESH_OPAQUE, .first = 0, .last = FRAMES - 1, .frame_rate = 25,
                                       .pixel_aspect = 1};

static void new_instance(Rig *s) {
  char err[ESH_ERR];
  EshEffect *context = esh_context(s->bundle, s->index, kOfxImageEffectContextFilter, err);
  s->instance = context ? esh_instance_new(context, s->source, err) : NULL;
  if (!s->instance) {
    stop("instance", err);
  }
  CHECK(esh_instance_create(s->instance) == kOfxStatOK);
}

static void load(Rig *s) {
  char err[ESH_ERR];
  s->bundle = esh_bundle_open(s->host, bundle_path, err);
  s->index = s->bundle ? esh_bundle_find(s->bundle, "org.evenstop.Evenstop", err) : -1;
  if (s->index < 0 || !esh_plugin_load(s->bundle, s->index, err)) {
    stop("load", err);
  }
}

static Rig begin(const EshConfig *config, const EshFormat *format, const char *pattern) {
  char err[ESH_ERR];
  Rig s = {.format = *format};
  s.host = esh_host_create(config, err);
  s.source = s.host ? esh_source_open(pattern, format, err) : NULL;
  if (!s.source) {
    stop("begin", err);
  }
  load(&s);
  new_instance(&s);
  return s;
}

/* Takes a rig down; whatever the plug-in did against the standard is a failure. */
static void end(Rig *s) {
  esh_instance_destroy(s->instance);
  esh_bundle_close(s->bundle);
  esh_leaks(s->host);
  for (int i = 0; i < esh_fault_count(s->host); i++) {
    fprintf(stderr, "%s: fault: %s\n", case_name, esh_fault(s->host, i));
    failures++;
  }
  CHECK(esh_counts(s->host)->fetches == esh_counts(s->host)->releases);
  esh_source_close(s->source);
  esh_host_destroy(s->host);
}

typedef struct Frames {
  unsigned char *bytes;
  size_t length; /* of one frame */
  int count;
} Frames;

static int receive(void *user, int frame, const void *bytes, size_t length) {
  Frames *frames = user;
  (void)frame;
  frames->bytes = realloc(frames->bytes, (size_t)(frames->count + 1) * length);
  if (!frames->bytes) {
    stop("receive", "no memory");
  }
  memcpy(frames->bytes + (size_t)frames->count * length, bytes, length);
  frames->length = length;
  frames->count++;
  return 0;
}

static Frames render(Rig *s, int first, int last, EshRenderResult *result) {
  Frames frames = {0};
  EshRenderResult local;
  char err[ESH_ERR];
  if (esh_render(s->instance, first, last, receive, &frames, result ? result : &local, err)) {
    stop("render", err);
  }
  return frames;
}

static int same(const Frames *a, const Frames *b) {
  return a->count == b->count && a->length == b->length
         && !memcmp(a->bytes, b->bytes, (size_t)a->count * a->length);
}

static void edit(Rig *s, const char *name, const char *text) {
  char err[ESH_ERR];
  if (esh_param_edit(s->instance, name, text, err)) {
    stop(name, err);
  }
}

static void press(Rig *s) {
  char err[ESH_ERR];
  OfxStatus status;
  if (esh_button_press(s->instance, "measureClip", &status, err)) {
    stop("measureClip", err);
  }
  CHECK(status == kOfxStatOK);
}

static char *text(Rig *s, const char *name) {
  char *value = esh_param_text(esh_param_find(s->instance, name));
  if (!value) {
    stop(name, "has no value");
  }
  return value;
}

static int is_empty(Rig *s, const char *name) {
  char *value = text(s, name);
  int empty = !*value || !strcmp(value, "\"\"");
  free(value);
  return empty;
}

/* The frames as they came: at strength 0 the host copies them itself. */
static Frames untouched(Rig *s, int first, int last) {
  EshRenderResult result;
  edit(s, "strength", "0");
  Frames frames = render(s, first, last, &result);
  CHECK(result.identical == last - first + 1);
  edit(s, "strength", "1");
  return frames;
}

/* Messages other than log lines. */
static int messages(Rig *s, const char *containing) {
  int count = 0;
  for (int i = 0; i < esh_message_count(s->host); i++) {
    EshMessage message = esh_message(s->host, i);
    if (strcmp(message.type, kOfxMessageLog)) {
      count += !containing || strstr(message.text, containing) != NULL;
    }
  }
  return count;
}

static int persistent_now(Rig *s) {
  int count = 0;
  for (int i = 0; i < esh_message_count(s->host); i++) {
    EshMessage message = esh_message(s->host, i);
    count += message.persistent && !message.cleared;
  }
  return count;
}

static int maps_hold(const char *what) {
  FILE *maps = fopen("/proc/self/maps", "r");
  char line[4096];
  int found = 0;
  while (maps && fgets(line, sizeof line, maps)) {
    found |= strstr(line, what) != NULL;
  }
  if (maps) {
    fclose(maps);
  }
  return found;
}

/* == cases == */

/* Loading, describing, creating an instance and asking it every cheap question starts no VM and opens no file of ours. */
static void case_quiet(void) {
#ifdef __linux__
  char path[4096];
  int watch = inotify_init1(IN_NONBLOCK);
  static const char *const folders[] = {"/Contents", "/Contents/Resources", "/Contents/Resources/java"};
  for (int i = 0; i < 3; i++) {
    snprintf(path, sizeof path, "%s%s", bundle_path, folders[i]);
    if (inotify_add_watch(watch, path, IN_OPEN | IN_ACCESS) < 0) {
      stop(path, "cannot be watched");
    }
  }
#endif
  EshConfig config = {.threads = 2};
  Rig s = begin(&config, &plain_format, "pattern:gradient");
  char err[ESH_ERR];
  CHECK(esh_context(s.bundle, s.index, kOfxImageEffectContextGeneral, err));
  edit(&s, "strength", "0");
  EshRenderResult result;
  Frames frames = render(&s, 0, 1, &result);
  CHECK(result.identical == 2);
  edit(&s, "preset", "2"); /* nothing was measured, so there is nothing to solve */
  CHECK(!maps_hold("libjvm"));
  CHECK(!maps_hold("libjnidispatch"));
#ifdef __linux__
  char events[4096];
  CHECK(read(watch, events, sizeof events) < 0);
  close(watch);
#endif
  free(frames.bytes);
  end(&s);
}

static void case_measure(void) {
  EshConfig config = {.threads = 2};
  Rig s = begin(&config, &plain_format, "pattern:gradient");
  Frames input = untouched(&s, 0, 0);
  long fetched = esh_counts(s.host)->fetches;
  press(&s);
  CHECK(esh_counts(s.host)->fetches - fetched == FRAMES);
  CHECK(esh_counts(s.host)->progress_starts == 1 && esh_counts(s.host)->progress_ends == 1);
  CHECK(!is_empty(&s, "measurement") && !is_empty(&s, "correction") && !is_empty(&s, "stateVersion"));
  char *found = text(&s, "found");
  CHECK(strstr(found, "highlights"));
  Frames first = render(&s, 0, 0, NULL);
  CHECK(!same(&first, &input));

  /* Another wish: solved again from what was measured, nothing is fetched. */
  char *measurement = text(&s, "measurement"), *correction = text(&s, "correction");
  fetched = esh_counts(s.host)->fetches;
  edit(&s, "preset", "5");
  edit(&s, "exposureTrim", "0.5");
  char *measurement2 = text(&s, "measurement"), *correction2 = text(&s, "correction"), *found2 = text(&s, "found");
  CHECK(esh_counts(s.host)->fetches == fetched);
  CHECK(!strcmp(measurement, measurement2));
  CHECK(strcmp(correction, correction2) && strcmp(found, found2));
  edit(&s, "preset", "0");
  edit(&s, "exposureTrim", "0");
  char *correction3 = text(&s, "correction");
  CHECK(!strcmp(correction, correction3));

  /* A second press says the same. */
  press(&s);
  char *correction4 = text(&s, "correction"), *measurement4 = text(&s, "measurement");
  CHECK(!strcmp(correction, correction4) && !strcmp(measurement, measurement4));
  CHECK(messages(&s, NULL) == 0);
  free(found), free(measurement), free(correction), free(measurement2), free(correction2), free(found2), free(correction3);
  free(correction4), free(measurement4), free(input.bytes), free(first.bytes);
  end(&s);
}

/* The project keeps the result, and another instance renders the same pixels without measuring. */
static void case_project(void) {
  EshConfig config = {.threads = 2};
  char err[ESH_ERR], *path = esh_temporary_path("evenstop-project");
  int file = mkstemp(path);
  if (file < 0) {
    stop(path, "cannot be made");
  }
  close(file);
  Rig s = begin(&config, &plain_format, "pattern:gradient");
  press(&s);
  Frames here = render(&s, 3, 4, NULL);
  if (esh_project_save(s.instance, path, err)) {
    stop("save", err);
  }
  esh_instance_destroy(s.instance);
  EshEffect *context = esh_context(s.bundle, s.index, kOfxImageEffectContextFilter, err);
  s.instance = context ? esh_instance_new(context, s.source, err) : NULL;
  if (!s.instance || esh_project_load(s.instance, path, err)) {
    stop("load", err);
  }
  CHECK(esh_instance_create(s.instance) == kOfxStatOK);
  long fetched = esh_counts(s.host)->fetches;
  Frames there = render(&s, 3, 4, NULL);
  CHECK(esh_counts(s.host)->fetches - fetched == 4); /* source and output of two frames */
  CHECK(same(&here, &there));
  free(here.bytes), free(there.bytes);
  unlink(path);
  free(path);
  end(&s);
}

static void case_cancel(void) {
  EshConfig config = {.threads = 2, .cancel_at = 4};
  Rig s = begin(&config, &plain_format, "pattern:gradient");
  press(&s);
  CHECK(is_empty(&s, "measurement") && is_empty(&s, "correction"));
  CHECK(esh_counts(s.host)->progress_ends == 1);
  CHECK(messages(&s, NULL) == 0);
  esh_config(s.host)->cancel_at = 0;
  press(&s);
  char *kept = text(&s, "correction");
  CHECK(!is_empty(&s, "correction"));
  edit(&s, "strength", "0.5");
  esh_config(s.host)->cancel_at = 2;
  press(&s); /* cancelled: what was there stays */
  char *after = text(&s, "correction");
  CHECK(!strcmp(kept, after));
  free(kept), free(after);
  end(&s);
}

/* Geometry of memory, tiles and threads change no bit. */
static void case_geometry(void) {
  EshConfig config = {.threads = 2};
  static const struct {
    EshDepth depth;
    EshComponents components;
    EshPremult premult;
  } forms[] = {{ESH_FLOAT, ESH_RGBA, ESH_PREMULTIPLIED}, {ESH_HALF, ESH_RGBA, ESH_UNPREMULTIPLIED},
               {ESH_SHORT, ESH_RGB, ESH_OPAQUE},
               {ESH_BYTE, ESH_RGBA, ESH_OPAQUE}, {ESH_FLOAT, ESH_ALPHA, ESH_OPAQUE}};
  for (size_t f = 0; f < sizeof forms / sizeof *forms; f++) {
    EshFormat format = plain_format;
    format.depth = forms[f].depth;
    format.components = forms[f].components;
    format.premult = forms[f].premult;
    config = (EshConfig){.threads = 2};
    Rig s = begin(&config, &format, "pattern:gradient");
    if (format.components != ESH_ALPHA) {
      press(&s);
    }
    Frames plain = render(&s, 0, 1, NULL), input = untouched(&s, 0, 1);
    CHECK(same(&plain, &input) == (format.components == ESH_ALPHA));
    for (int i = 0; i < 8; i++) {
      EshConfig *c = esh_config(s.host);
      *c = (EshConfig){.threads = 2};
      c->negative_stride = i & 1;
      c->row_padding = i & 2 ? 52 : 0;
      if (i & 4) {
        c->tile_width = 33, c->tile_height = 7, c->tiles_reversed = i & 1, c->frame_threads = 4, c->tight_bounds = i & 2;
      }
      c->origin_x = i * -3, c->origin_y = i * 5;
      c->threads = (unsigned)i;
      Frames other = render(&s, 0, 1, NULL);
      CHECK(same(&plain, &other));
      free(other.bytes);
    }
    free(plain.bytes), free(input.bytes);
    end(&s);
  }
}

/* Before the first press: one correction, whichever frame comes first and however it is cut up. */
static void case_trial(void) {
  EshConfig config = {.threads = 2};
  Rig s = begin(&config, &plain_format, "pattern:gradient");
  Frames input = untouched(&s, 0, FRAMES - 1);
  Frames forward = render(&s, 0, FRAMES - 1, NULL);
  CHECK(!same(&forward, &input));
  CHECK(messages(&s, NULL) == 0);
  CHECK(is_empty(&s, "correction")); /* a render writes no parameter */
  esh_instance_destroy(s.instance);
  new_instance(&s);
  *esh_config(s.host) = (EshConfig){.threads = 2, .tile_width = 16, .tile_height = 16, .frame_threads = 8};
  for (int frame = FRAMES - 1; frame >= 0; frame--) {
    Frames one = render(&s, frame, frame, NULL);
    CHECK(!memcmp(one.bytes, forward.bytes + (size_t)frame * forward.length, one.length));
    free(one.bytes);
  }
  /* A wish counts at once. */
  edit(&s, "exposureTrim", "1");
  Frames brighter = render(&s, 0, 0, NULL);
  CHECK(memcmp(brighter.bytes, forward.bytes, forward.length));
  free(brighter.bytes), free(input.bytes), free(forward.bytes);
  end(&s);
}

/* A host that gives only the frame being rendered. */
static void case_single_frame(void) {
  EshConfig config = {.threads = 2, .without_properties = {kOfxImageEffectPropTemporalClipAccess}};
  Rig s = begin(&config, &plain_format, "pattern:gradient");
  Frames input = untouched(&s, 2, 3);
  Frames output = render(&s, 2, 3, NULL);
  CHECK(!same(&output, &input));
  long fetched = esh_counts(s.host)->fetches;
  Frames again = render(&s, 2, 3, NULL);
  CHECK(same(&output, &again) && esh_counts(s.host)->fetches - fetched == 4);
  free(input.bytes), free(output.bytes), free(again.bytes);
  end(&s);
}

static void case_abort(void) {
  EshConfig config = {.threads = 2, .abort_at = 1};
  EshFormat format = plain_format;
  format.width = 1024, format.height = 4096, format.last = 0;
  Rig s = begin(&config, &format, "pattern:flat:0.3");
  EshRenderResult result;
  Frames frames = render(&s, 0, 0, &result); /* while the trial measures */
  CHECK(result.aborted == 1 && result.failed == 0 && frames.count == 0);
  esh_config(s.host)->abort_at = 0;
  press(&s);
  esh_config(s.host)->abort_at = 2; /* as long as the pace is not known a frame of this size takes two rounds: asked before each */
  frames = render(&s, 0, 0, &result);
  CHECK(result.aborted == 1 && result.failed == 0 && frames.count == 0);
  esh_config(s.host)->abort_at = 0;
  long asked = esh_counts(s.host)->abort_calls;
  frames = render(&s, 0, 0, &result);
  CHECK(result.rendered == 1 && frames.count == 1 && esh_counts(s.host)->abort_calls > asked);
  CHECK(messages(&s, NULL) == 0);
  free(frames.bytes);
  end(&s);
}

static void case_identity(void) {
  EshConfig config = {.threads = 2};
  Rig s = begin(&config, &plain_format, "pattern:gradient");
  EshRenderResult result;
  press(&s);
  Frames half = render(&s, 0, 1, &result);
  CHECK(result.rendered == 2 && result.identical == 0);
  edit(&s, "strength", "0");
  Frames none = render(&s, 0, 1, &result);
  CHECK(result.identical == 2);
  esh_config(s.host)->ignore_identity = 1;
  Frames copied = render(&s, 0, 1, &result);
  CHECK(result.rendered == 2 && result.identical == 0 && same(&none, &copied));
  esh_config(s.host)->ignore_identity = 0;
  edit(&s, "strength", "1");
  edit(&s, "correction",
       "{\"kind\":\"correction\",\"schema\":1,\"luma\":\"BT.709\",\"curves\":{"
       "\"chromaIn\":{\"from\":-7,\"to\":110,\"values\":[1,1],\"slopes\":[0,0]},"
       "\"tone\":{\"from\":-7,\"to\":110,\"values\":[-7,110],\"slopes\":[1,1]},"
       "\"chromaOut\":{\"from\":-7,\"to\":110,\"values\":[1,1],\"slopes\":[0,0]}}}");
  Frames first = render(&s, 0, 0, &result);
  CHECK(result.identical == 0); /* not known yet, so rendered, to the same bits */
  Frames second = render(&s, 0, 0, &result);
  CHECK(result.identical == 1);
  CHECK(same(&first, &second) && !memcmp(first.bytes, none.bytes, first.length));
  CHECK(messages(&s, NULL) == 0);
  free(half.bytes), free(none.bytes), free(copied.bytes), free(first.bytes), free(second.bytes);
  end(&s);
}

/* The picture comes through and one message stays until there is no more reason for it. */
static void requires_passthrough(Rig *s, const char *remedy) {
  Frames input = untouched(s, 0, 2);
  EshRenderResult result;
  Frames output = render(s, 0, 2, &result);
  CHECK(result.failed == 0 && same(&input, &output));
  CHECK(messages(s, NULL) == 1 && messages(s, remedy) == 1);
  CHECK(persistent_now(s) == 1);
  esh_config(s->host)->tile_width = 20, esh_config(s->host)->tile_height = 20, esh_config(s->host)->frame_threads = 4;
  Frames tiled = render(s, 0, 2, &result);
  CHECK(same(&input, &tiled) && messages(s, NULL) == 1);
  esh_config(s->host)->tile_width = esh_config(s->host)->tile_height = 0;
  free(input.bytes), free(output.bytes), free(tiled.bytes);
}

static void case_broken_json(void) {
  EshConfig config = {.threads = 2};
  Rig s = begin(&config, &plain_format, "pattern:gradient");
  press(&s);
  Frames good = render(&s, 0, 0, NULL);
  char *kept = text(&s, "correction");
  edit(&s, "correction", "{\"kind\":\"correction\"");
  requires_passthrough(&s, "correction kept in the project");
  CHECK(messages(&s, ". Press Measure clip.") == 1 && messages(&s, "Source") == 0);
  press(&s); /* writes a good one */
  Frames again = render(&s, 0, 0, NULL);
  CHECK(same(&good, &again) && persistent_now(&s) == 0);
  edit(&s, "measurement", "[]");
  edit(&s, "preset", "1"); /* cannot be solved: says so, keeps the correction */
  char *after = text(&s, "correction");
  CHECK(!strcmp(kept, after) && messages(&s, "measurement kept in the project") == 1);
  CHECK(messages(&s, ". Press Measure clip.") == 2);
  edit(&s, "preset", "0");
  edit(&s, "stateVersion", "3");
  int before = messages(&s, NULL);
  Frames newer = render(&s, 0, 0, NULL), input = untouched(&s, 0, 0);
  CHECK(same(&newer, &input) && messages(&s, NULL) == before + 1 && messages(&s, "newer Evenstop") == 1);
  free(good.bytes), free(again.bytes), free(newer.bytes), free(input.bytes), free(kept), free(after);
  end(&s);
}

/* A state version that is no whole number from 1 is damage, which a press mends; only a larger one is of a newer plug-in. */
static void case_damaged_version(void) {
  static const struct {
    const char *version, *message; /* NULL: fits */
  } versions[] = {{"abc", "'abc' is not a whole number from 1. Press Measure clip."}, {"0", "'0' is not"}, {"-1", "'-1' is not"},
               {"2x", "'2x' is not"}, {"1.5", "'1.5' is not"}, {"\xc3\xa9", "'\?\?' is not"},
               {"aaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaa", "'aaaaaaaaaaaaaaaaaaaaaaa' is not"},
               {"3", "newer Evenstop. Update the plug-in."}, {"99999999999999999999999", "newer Evenstop"}, {"1", NULL},
               {"2", NULL}};
  EshConfig config = {.threads = 2};
  for (size_t i = 0; i < sizeof versions / sizeof *versions; i++) {
    Rig s = begin(&config, &plain_format, "pattern:gradient");
    press(&s);
    Frames good = render(&s, 0, 0, NULL);
    edit(&s, "stateVersion", versions[i].version);
    if (versions[i].message) {
      requires_passthrough(&s, versions[i].message);
      CHECK((messages(&s, "newer") == 1) != (messages(&s, "Press Measure clip.") == 1));
    }
    press(&s);
    Frames again = render(&s, 0, 0, NULL);
    CHECK(same(&good, &again) && persistent_now(&s) == 0 && messages(&s, NULL) == (versions[i].message != NULL));
    free(good.bytes), free(again.bytes);
    end(&s);
  }
}

/* Only what the user does starts anything: a change with another reason solves nothing and measures nothing. */
static void case_plugin_edits(void) {
  static const char *const others[] = {kOfxChangePluginEdited, kOfxChangeTime};
  static const char *const wishes[][2] = {{"profile", "1"}, {"preset", "2"}, {"exposureTrim", "0.5"}};
  EshConfig config = {.threads = 2};
  char err[ESH_ERR];
  Rig s = begin(&config, &plain_format, "pattern:gradient");
  press(&s);
  const long fetched = esh_counts(s.host)->fetches, started = esh_counts(s.host)->progress_starts;
  for (int w = 0; w < 3; w++) {
    const char *name = wishes[w][0];
    char *before = text(&s, "correction");
    if (esh_param_parse(esh_param_find(s.instance, name), wishes[w][1], 0, 1, err)) {
      stop(name, err);
    }
    for (int i = 0; i < 2; i++) {
      OfxStatus status = esh_instance_changed(s.instance, kOfxTypeParameter, name, others[i], 1);
      CHECK(status == kOfxStatReplyDefault || status == kOfxStatOK);
      status = esh_instance_changed(s.instance, kOfxTypeParameter, "measureClip", others[i], 1);
      CHECK(status == kOfxStatReplyDefault || status == kOfxStatOK);
      char *after = text(&s, "correction");
      CHECK(!strcmp(before, after));
      free(after);
    }
    /* The same change by the user does solve. */
    CHECK(esh_instance_changed(s.instance, kOfxTypeParameter, name, kOfxChangeUserEdited, 1) == kOfxStatOK);
    char *solved = text(&s, "correction");
    CHECK(strcmp(before, solved));
    free(before), free(solved);
  }
  CHECK(esh_counts(s.host)->fetches == fetched && esh_counts(s.host)->progress_starts == started);
  end(&s);
}

/* Bundle without a run-time, and EVENSTOP_JAVA_HOME pointing nowhere. */
static void case_no_java(void) {
  setenv("EVENSTOP_JAVA_HOME", "/nowhere/java", 1);
  EshConfig config = {.threads = 2};
  Rig s = begin(&config, &plain_format, "pattern:gradient");
  requires_passthrough(&s, "EVENSTOP_JAVA_HOME is /nowhere/java");
  press(&s); /* the message that stays is the answer */
  CHECK(is_empty(&s, "correction") && messages(&s, NULL) == 1 && persistent_now(&s) == 1);
  end(&s);
}

/* Pressed before anything was rendered: the press is answered, and the render after it adds nothing. Where the host keeps no
 * message, each press is answered and renders say it once. */
static void case_press_without_java(void) {
  setenv("EVENSTOP_JAVA_HOME", "/nowhere/java", 1);
  for (int old = 0; old < 2; old++) {
    EshConfig config = {.threads = 2, .without_suites = {old ? kOfxMessageSuite "/2" : NULL}};
    Rig s = begin(&config, &plain_format, "pattern:gradient");
    press(&s);
    CHECK(messages(&s, NULL) == 1 && messages(&s, "EVENSTOP_JAVA_HOME is /nowhere/java") == 1 && persistent_now(&s) == !old);
    Frames input = untouched(&s, 0, 2), output = render(&s, 0, 2, NULL);
    CHECK(same(&input, &output) && messages(&s, NULL) == 1);
    press(&s);
    CHECK(messages(&s, NULL) == (old ? 2 : 1) && persistent_now(&s) == !old);
    free(input.bytes), free(output.bytes);
    end(&s);
  }
}

/* A run-time whose VM ends the process when it starts: the host must live. */
static void requires_damage(const char *remedy) {
  EshConfig config = {.threads = 2};
  Rig s = begin(&config, &plain_format, "pattern:gradient");
  requires_passthrough(&s, remedy);
  CHECK(messages(&s, "; then start the host again.") == 1);
  CHECK(maps_hold("libjvm"));
  press(&s);
  CHECK(is_empty(&s, "correction") && messages(&s, NULL) == 1 && persistent_now(&s) == 1);
  end(&s);
}

static void case_broken_other_java(void) {
  setenv("EVENSTOP_JAVA_HOME", jdk_path, 1);
  requires_damage("is damaged. Install that Java again, or set EVENSTOP_JAVA_HOME to ");
}

static void case_broken_own_java(void) {
  requires_damage("Contents/Resources/jre is damaged. Install the plug-in again, or remove that folder and install Java 17 or newer ");
}

static void case_no_jars(void) {
  EshConfig config = {.threads = 2};
  Rig s = begin(&config, &plain_format, "pattern:gradient");
  requires_passthrough(&s, "Install the plug-in again");
  end(&s);
}

/* A Java side that throws when it is opened: the reason is told. */
static void case_throwing(void) {
  EshConfig config = {.threads = 2};
  for (int memory = 0; memory < 2; memory++) {
    Rig s = begin(&config, &plain_format, "pattern:gradient");
    if (!memory) {
      requires_passthrough(&s, "opening its Java side failed (java.lang.IllegalStateException: thrown for the test)");
    } else {
      press(&s); /* tries again */
      CHECK(messages(&s, "java.lang.OutOfMemoryError: thrown for the test") == 1 && is_empty(&s, "correction"));
    }
    end(&s);
  }
}

/* A Java that is too old is not taken. `jdk_path` is a folder that says it is one. */
static void case_old_java(void) {
  setenv("EVENSTOP_JAVA_HOME", jdk_path, 1);
  EshConfig config = {.threads = 2};
  Rig s = begin(&config, &plain_format, "pattern:gradient");
  requires_passthrough(&s, "which holds no Java 17 or newer");
  CHECK(!maps_hold("libjvm"));
  end(&s);
}

/* So little memory for Java that measuring cannot be done. */
static void case_java_out_of_memory(void) {
  setenv("_JAVA_OPTIONS", "-Xmx2m", 1);
  EshConfig config = {.threads = 2};
  EshFormat format = plain_format;
  format.width = 1920, format.height = 1080, format.last = 2;
  Rig s = begin(&config, &format, "pattern:gradient");
  press(&s);
  CHECK(is_empty(&s, "correction") && messages(&s, "Java ran out of memory") == 1);
  EshRenderResult result;
  Frames output = render(&s, 0, 1, &result), input = untouched(&s, 0, 1);
  CHECK(result.rendered == 2 && same(&output, &input));
  CHECK(messages(&s, "passes the picture through: Java ran out of memory") == 1);
  free(output.bytes), free(input.bytes);
  end(&s);
}

/* A process without room for a Java run-time. */
static void case_no_room_for_java(void) {
  EshConfig config = {.threads = 2};
  Rig s = begin(&config, &plain_format, "pattern:gradient");
#ifdef __linux__
  FILE *f = fopen("/proc/self/statm", "r");
  long pages = 0;
  if (!f || fscanf(f, "%ld", &pages) != 1) {
    stop("/proc/self/statm", "cannot be read");
  }
  fclose(f);
  rlim_t room = (rlim_t)pages * (rlim_t)sysconf(_SC_PAGESIZE) + (220u << 20);
  CHECK(!setrlimit(RLIMIT_AS, &(struct rlimit){room, room}));
#endif
  Frames input = untouched(&s, 0, 2);
  EshRenderResult result;
  Frames output = render(&s, 0, 2, &result);
  CHECK(result.failed == 0 && same(&input, &output));
  CHECK(messages(&s, NULL) == 1 && persistent_now(&s) == 1);
  press(&s);
  CHECK(is_empty(&s, "correction"));
  free(input.bytes), free(output.bytes);
  end(&s);
}

/* A host without a source: the output is black and transparent, and nothing is measured. */
static void case_unconnected(void) {
  EshConfig config = {.threads = 2, .unconnected = 1};
  Rig s = begin(&config, &plain_format, "pattern:gradient");
  EshRenderResult result;
  Frames output = render(&s, 0, 1, &result);
  CHECK(result.rendered == 2 && output.count == 2);
  for (size_t i = 0; i < output.length * 2; i++) {
    if (output.bytes[i]) {
      CHECK(!"black and transparent");
      break;
    }
  }
  edit(&s, "strength", "0");
  Frames none = render(&s, 0, 0, &result);
  CHECK(result.rendered == 1); /* there is no source to be the same as */
  edit(&s, "strength", "1");
  press(&s);
  CHECK(messages(&s, "there is no clip to measure") == 1 && is_empty(&s, "correction"));
  free(output.bytes), free(none.bytes);
  end(&s);
}

/* Every depth, every layout of components, every state of alpha: whole frames, again, cut up, in any order, from eight
 * threads, several frames at once, for a thumbnail, as a draft, in another instance: the same bits. The host looks at every
 * byte outside the window. */
static void case_same_bits(void) {
  static const EshPremult states[] = {ESH_OPAQUE, ESH_PREMULTIPLIED, ESH_UNPREMULTIPLIED};
  for (int depth = ESH_BYTE; depth <= ESH_FLOAT; depth++) {
    for (int form = 0; form < 5; form++) {
      EshFormat format = plain_format;
      format.depth = (EshDepth)depth;
      format.components = form < 3 ? ESH_RGBA : form == 3 ? ESH_RGB : ESH_ALPHA;
      format.premult = form < 3 ? states[form] : ESH_OPAQUE;
      EshConfig config = {.threads = 2};
      Rig s = begin(&config, &format, "pattern:noise:5");
      if (form % 2 == 0 && format.components != ESH_ALPHA) {
        press(&s); /* the others are measured by the first render */
      }
      Frames whole = render(&s, 0, 3, NULL);
      const EshConfig variants[] = {
        {.threads = 2},
        {.threads = 1},
        {.threads = 8, .row_padding = 36, .negative_stride = 1},
        {.threads = 2, .tile_width = 13, .tile_height = 9, .origin_x = -7, .origin_y = 11},
        {.threads = 2, .tile_width = 13, .tile_height = 9, .frame_threads = 8, .tile_order = 3, .negative_stride = 1},
        {.threads = 4, .tile_width = WIDTH, .tile_height = 1, .tight_bounds = 1, .frame_threads = 8, .row_padding = 4},
        {.threads = 3, .frames_at_once = 4, .thread_stack = 256 * 1024},
        {.threads = 3, .frames_at_once = 4, .tile_width = 40, .tile_height = 40, .tile_order = 9, .draft = 1},
        {.threads = 2, .thumbnail = 1, .tile_width = 1, .tile_height = HEIGHT},
      };
      for (size_t i = 0; i < sizeof variants / sizeof *variants; i++) {
        *esh_config(s.host) = variants[i];
        Frames other = render(&s, 0, 3, NULL);
        if (!same(&whole, &other)) {
          fprintf(stderr, "%s: depth %d, form %d, variant %zu: other bits\n", case_name, depth, form, i);
          failures++;
        }
        free(other.bytes);
      }
      *esh_config(s.host) = config;
      if (form % 2 == 1) { /* not measured by a press: a new instance finds the same by itself */
        esh_instance_destroy(s.instance);
        new_instance(&s);
        Frames other = render(&s, 0, 3, NULL);
        CHECK(same(&whole, &other));
        free(other.bytes);
      }
      free(whole.bytes);
      end(&s);
    }
  }
}

static sigjmp_buf back;
static volatile sig_atomic_t host_faults, expects_fault;

static void crash_handler(int number) {
  host_faults = host_faults + 1;
  if (!expects_fault) {
    static const char text[] = "the host's crash handler was called for a signal of the VM\n";
    if (write(STDERR_FILENO, text, sizeof text - 1) < 0) {
      _exit(4);
    }
    _exit(3);
  }
  (void)number;
  siglongjmp(back, 1);
}

/* A host that sets its crash handler after Java has started and forgets the one before: Java goes on, and the host's own
 * faults still come to it. */
static void case_late_handler(void) {
  EshConfig config = {.threads = 2, .disturb_param = "exposureTrim", .disturb_value = "0.3"};
  EshFormat format = plain_format;
  format.width = 400, format.height = 300;
  Rig s = begin(&config, &format, "pattern:noise");
  press(&s);
  for (int round = 0; round < 2; round++) {
    struct sigaction ours = {.sa_handler = crash_handler};
    CHECK(!sigemptyset(&ours.sa_mask) && !sigaction(SIGSEGV, &ours, NULL) && !sigaction(SIGBUS, &ours, NULL));
    Frames frames = render(&s, 0, 3, NULL);
    free(frames.bytes);
    CHECK(host_faults == round);
    expects_fault = 1;
    if (!sigsetjmp(back, 1)) {
      (void)raise(SIGSEGV);
      CHECK(!"came back from a fault");
    }
    expects_fault = 0;
    CHECK(host_faults == round + 1);
  }
  end(&s);
}

/* Resident memory of this process in KiB. */
static long resident(void) {
  FILE *f = fopen("/proc/self/statm", "r");
  long all, pages = 0;
  if (!f || fscanf(f, "%ld %ld", &all, &pages) != 2) {
    pages = 0;
  }
  if (f) {
    fclose(f);
  }
  return pages * (sysconf(_SC_PAGESIZE) / 1024);
}

/* Instances made, rendered with and destroyed: memory does not grow. The environment's EVENSTOP_CYCLES says how many (1000 or
 * more). Most have a project's correction; every hundredth measures by itself, and every hundredth by a press. Java's heap is
 * of one size here, so what grows is not garbage waiting. */
static void case_cycles(void) {
  const char *wanted = getenv("EVENSTOP_CYCLES");
  int cycles = wanted ? atoi(wanted) : 1000;
  if (cycles < 1000) {
    stop("EVENSTOP_CYCLES", "is not a number from 1000");
  }
  setenv("_JAVA_OPTIONS", "-Xms64m -Xmx64m -XX:+AlwaysPreTouch -XX:TieredStopAtLevel=1", 1);
  EshConfig config = {.threads = 2};
  EshFormat format = plain_format;
  char err[ESH_ERR];
  format.width = 48, format.height = 32, format.last = 3;
  Rig s = begin(&config, &format, "pattern:noise");
  press(&s);
  char *kept = strdup(esh_param_string_value(esh_param_find(s.instance, "correction")));
  EshEffect *context = esh_context(s.bundle, s.index, kOfxImageEffectContextFilter, err);
  long at[3] = {0};
  for (int i = 0; i < cycles; i++) {
    esh_instance_destroy(s.instance);
    s.instance = esh_instance_new(context, s.source, err);
    if (!s.instance || (i % 50 && esh_param_edit(s.instance, "correction", kept, err))) {
      stop("instance", err);
    }
    CHECK(esh_instance_create(s.instance) == kOfxStatOK);
    if (i % 100 == 50) {
      press(&s);
    }
    Frames frames = render(&s, i % 4, i % 4, NULL);
    CHECK(frames.count == 1);
    free(frames.bytes);
    if (i + 1 == cycles / 4) {
      at[0] = resident();
    } else if (i + 1 == cycles / 2) {
      at[1] = resident();
    }
  }
  at[2] = resident();
  printf("%d cycles: resident %ld KiB after a quarter, %ld after half, %ld at the end\n", cycles, at[0], at[1], at[2]);
  /* Java's second compiler is left out above: what it needs once it keeps, 12 MiB at some time in the second half. 3 MiB: what is
   * left to vary (own choice, no source). A leak of 0.6 KiB a cycle shows in the second half of 10,000 cycles, one of a frame or
   * a state's text (80 KB) at once. */
  CHECK(at[2] - at[1] < 3 * 1024);
  free(kept);
  end(&s);
}

/* A host without one of the suites that image effects cannot do without: Load says so, in words where it can. */
static void case_required_suites(void) {
  static const char *const required[] = {kOfxPropertySuite, kOfxImageEffectSuite, kOfxParameterSuite};
  for (int i = 0; i < 6; i++) {
    EshConfig config = {.threads = 2, .without_suites = {required[i % 3], i < 3 ? NULL : kOfxMessageSuite}};
    char err[ESH_ERR];
    EshHost *host = esh_host_create(&config, err);
    EshBundle *bundle = host ? esh_bundle_open(host, bundle_path, err) : NULL;
    if (!bundle) {
      stop("open", err);
    }
    CHECK(!esh_plugin_load(bundle, 0, err) && strstr(err, "kOfxStatErrMissingHostFeature"));
    CHECK(esh_message_count(host) == (i < 3));
    CHECK(i >= 3 || strstr(esh_message(host, 0).text, required[i]));
    esh_bundle_close(bundle);
    esh_host_destroy(host);
  }
}

/* Every action that the standard has, and one that it has not, without arguments: on the descriptor, on an instance that was
 * not created, on one that was. */
static void case_bare_actions(void) {
  static const char *const actions[] = {
    kOfxActionInstanceChanged, kOfxActionBeginInstanceChanged, kOfxActionEndInstanceChanged, kOfxActionPurgeCaches,
    kOfxActionSyncPrivateData, kOfxImageEffectActionGetRegionOfDefinition, kOfxImageEffectActionGetRegionsOfInterest,
    kOfxImageEffectActionGetTimeDomain, kOfxImageEffectActionGetFramesNeeded, kOfxImageEffectActionGetClipPreferences,
    kOfxImageEffectActionGetOutputColourspace, kOfxImageEffectActionIsIdentity, kOfxImageEffectActionRender,
    kOfxImageEffectActionBeginSequenceRender, kOfxImageEffectActionEndSequenceRender, kOfxActionDestroyInstance,
    "OfxActionNobodyKnows", ""};
  EshConfig config = {.threads = 2};
  char err[ESH_ERR];
  Rig s = begin(&config, &plain_format, "pattern:gradient");
  EshEffect *context = esh_context(s.bundle, s.index, kOfxImageEffectContextFilter, err);
  EshEffect *unborn = esh_instance_new(context, s.source, err);
  EshEffect *handles[] = {context, unborn, s.instance};
  for (int h = 0; h < 3; h++) {
    for (size_t i = 0; i < sizeof actions / sizeof *actions; i++) {
      if (h == 2 && !strcmp(actions[i], kOfxActionDestroyInstance)) {
        continue;
      }
      OfxStatus status = esh_bare_action(handles[h], actions[i]);
      int render = !strcmp(actions[i], kOfxImageEffectActionRender);
      CHECK(render ? status == (h == 2 ? kOfxStatErrValue : kOfxStatErrBadHandle)
                   : status == kOfxStatReplyDefault || status == kOfxStatOK);
      CHECK(i + 2 < sizeof actions / sizeof *actions || status == kOfxStatReplyDefault);
    }
  }
  const OfxPlugin *plugin = esh_bundle_plugin(s.bundle, s.index);
  CHECK(plugin->mainEntry(NULL, NULL, NULL, NULL) == kOfxStatReplyDefault);
  CHECK(plugin->mainEntry(kOfxImageEffectActionRender, NULL, NULL, NULL) == kOfxStatErrBadHandle);
  Frames frames = render(&s, 0, 0, NULL); /* and it still works */
  CHECK(frames.count == 1);
  free(frames.bytes);
  esh_instance_destroy(unborn);
  end(&s);
}

/* A proxy at half size is the same picture: each of its pixels is that of the whole frame it was taken from. */
static void case_render_scale(void) {
  EshConfig config = {.threads = 2};
  EshFormat format = plain_format;
  format.width = 90, format.height = 44;
  Rig s = begin(&config, &format, "pattern:noise:2");
  press(&s);
  Frames whole = render(&s, 1, 1, NULL);
  esh_config(s.host)->render_scale = 0.5;
  for (int tiled = 0; tiled < 2; tiled++) {
    esh_config(s.host)->tile_width = tiled ? 7 : 0;
    esh_config(s.host)->tile_height = tiled ? 5 : 0;
    Frames half = render(&s, 1, 1, NULL);
    size_t pixel = 4 * sizeof(float), wrong = 0;
    CHECK(half.length == 45 * 22 * pixel);
    for (size_t y = 0; y < 22; y++) {
      for (size_t x = 0; x < 45; x++) { /* rows here are from the top; the host takes the nearest above and to the right */
        wrong += memcmp(half.bytes + (y * 45 + x) * pixel, whole.bytes + (2 * y * 90 + 2 * x + 1) * pixel, pixel) != 0;
      }
    }
    CHECK(wrong == 0);
    free(half.bytes);
  }
  free(whole.bytes);
  end(&s);
}

/* Images that are not what they should be: the render fails with a message that names what is wrong, or goes on without the
 * image; nothing is written where it should not be. */
static void case_odd_images(void) {
  static const struct {
    EshOddImages odd;
    const char *message; /* NULL: none */
    int renders;
  } kinds[] = {{ESH_IMAGES_DEPTH, "OfxBitDepthOdd", 0}, {ESH_IMAGES_COMPONENTS, "OfxImageComponentOdd", 0},
               {ESH_IMAGES_SOURCE_DEPTH, "from depth 'OfxBitDepthByte'", 0}, {ESH_IMAGES_NO_DATA, NULL, 0},
               {ESH_IMAGES_NO_ROWS, NULL, 0}, {ESH_IMAGES_EMPTY, NULL, 1}};
  for (size_t i = 0; i < sizeof kinds / sizeof *kinds; i++) {
    EshConfig config = {.threads = 2};
    Rig s = begin(&config, &plain_format, "pattern:gradient");
    press(&s);
    esh_config(s.host)->odd_images = kinds[i].odd;
    EshRenderResult result;
    Frames none = render(&s, 0, 1, &result);
    CHECK(kinds[i].renders ? result.rendered == 2 : result.failed == 2 && result.first_failure == kOfxStatFailed);
    CHECK(messages(&s, NULL) == (kinds[i].message != NULL) && (!kinds[i].message || messages(&s, kinds[i].message) == 1));
    press(&s); /* measuring such images must not crash either; the result of before stays */
    CHECK(!is_empty(&s, "correction"));
    esh_config(s.host)->odd_images = ESH_IMAGES_SOUND;
    Frames again = render(&s, 0, 1, &result);
    CHECK(result.rendered == 2 && persistent_now(&s) == 0);
    free(none.bytes), free(again.bytes);
    end(&s);
  }
}

/* Parameters that cannot be read have their defaults; nonsense is brought into range; what cannot be kept is told. */
static void case_odd_parameters(void) {
  EshConfig config = {.threads = 2};
  Rig s = begin(&config, &plain_format, "pattern:gradient");
  Frames usual = render(&s, 0, 1, NULL);
  esh_config(s.host)->odd_params = ESH_PARAMS_UNREADABLE;
  EshRenderResult result;
  Frames other = render(&s, 0, 1, &result);
  CHECK(result.rendered == 2 && same(&usual, &other));
  free(other.bytes);
  esh_config(s.host)->odd_params = ESH_PARAMS_NONSENSE;
  other = render(&s, 0, 1, &result);
  CHECK(result.failed == 0 && result.rendered + result.identical == 2);
  free(other.bytes);
  esh_config(s.host)->odd_params = ESH_PARAMS_READ_ONLY;
  press(&s);
  CHECK(messages(&s, "the host did not take the result, so it is not kept") == 1 && is_empty(&s, "correction"));
  other = render(&s, 0, 1, &result);
  CHECK(result.rendered == 2 && same(&usual, &other));
  free(other.bytes), free(usual.bytes);
  end(&s);
}

/* Float has no bounds: what lies below 0 and above 1 keeps its order and is not clamped, NaN becomes one finite value,
 * alpha keeps its bits. */
static void case_wild_values(void) {
  static const float greys[] = {-2, -0.5f, -0.1f, 0, 0.02f, 0.18f, 0.5f, 0.9f, 1, 1.3f, 3, 50};
  enum { GREYS = sizeof greys / sizeof *greys, ROWS = 16 };
  float pixels[ROWS][GREYS + 4][4];
  EshFormat format = plain_format;
  format.width = GREYS + 4, format.height = ROWS, format.last = 0, format.premult = ESH_UNPREMULTIPLIED;
  for (int y = 0; y < ROWS; y++) {
    for (int x = 0; x < GREYS + 4; x++) {
      float grey = x < GREYS ? greys[x] : x < GREYS + 2 ? NAN : x == GREYS + 2 ? INFINITY : -INFINITY;
      for (int c = 0; c < 3; c++) {
        pixels[y][x][c] = grey;
      }
      pixels[y][x][3] = x % 2 ? 0.25f : 1;
    }
  }
  char *path = esh_temporary_path("evenstop-wild");
  int file = mkstemp(path);
  if (file < 0 || write(file, pixels, sizeof pixels) != (ssize_t)sizeof pixels) {
    stop(path, "cannot be written");
  }
  close(file);
  char *spec = esh_format("raw:%s", path);
  EshConfig config = {.threads = 2};
  Rig s = begin(&config, &format, spec);
  press(&s);
  CHECK(!is_empty(&s, "correction"));
  Frames frames = render(&s, 0, 0, NULL);
  CHECK(frames.count == 1 && frames.length == sizeof pixels);
  float out[ROWS][GREYS + 4][4];
  memcpy(out, frames.bytes, sizeof out);
  for (int x = 0; x < GREYS; x++) {
    CHECK(isfinite(out[0][x][0]) && (x == 0 || out[0][x][0] > out[0][x - 1][0]));
  }
  /* A lift folds what lies under black, rising all the way: far below it, -5 % is passed. */
  CHECK(out[0][0][0] < -0.05f && out[0][GREYS - 2][0] > 1 && out[0][GREYS - 1][0] > 5);
  for (int x = 0; x < GREYS + 4; x++) {
    CHECK(!memcmp(&out[3][x][3], &pixels[3][x][3], sizeof(float)));
    CHECK(!isnan(out[3][x][0]) && !isnan(out[3][x][1]) && !isnan(out[3][x][2]));
  }
  CHECK(isfinite(out[0][GREYS][0]) && !memcmp(&out[0][GREYS][0], &out[0][GREYS + 1][0], sizeof(float)));
  free(frames.bytes);
  unlink(path);
  free(path), free(spec);
  end(&s);
}

/* Without version 2 of the message suite the message is said once; without any, nothing breaks. */
static void case_old_messages(void) {
  for (int none = 0; none < 2; none++) {
    EshConfig config = {.threads = 2, .without_suites = {kOfxMessageSuite "/2", none ? kOfxMessageSuite : NULL}};
    Rig s = begin(&config, &plain_format, "pattern:gradient");
    edit(&s, "correction", "{");
    Frames input = untouched(&s, 0, 2), output = render(&s, 0, 2, NULL);
    CHECK(same(&input, &output));
    CHECK(messages(&s, NULL) == !none && persistent_now(&s) == 0);
    free(input.bytes), free(output.bytes);
    end(&s);
  }
}

static void case_colourspace(void) {
  static const char linear_and_sdr[] = "ofx_scene_linear,ofx_display_sdr", all[] = "ofx_display_sdr,rec1886_rec709_display";
  static const struct {
    int core;
    const char *clip, *delivers, *granted; /* granted NULL: none that fits */
  } agreements[] = {{0, "ofx_scene_linear", NULL, NULL}, {0, "ofx_scene_log", NULL, NULL}, {0, "ofx_display_hdr", NULL, NULL},
                    {0, "ofx_display_sdr", NULL, "ofx_display_sdr"}, {0, "ofx_raw", NULL, "ofx_raw"},
                    {0, "ofx_scene_linear", linear_and_sdr, "ofx_display_sdr"}, {0, "ofx_scene_log", all, "ofx_display_sdr"},
                    {0, "ofx_scene_linear", "ofx_display_hdr,ofx_raw", NULL},
                    {1, "ACEScct", NULL, NULL}, {1, "lin_rec709_srgb", NULL, NULL}, {1, "rec2100_hlg_display", NULL, NULL},
                    {1, "g24_rec709_tx", NULL, "g24_rec709_tx"}, {1, "rec1886_rec709_display", NULL, "rec1886_rec709_display"},
                    {1, "ACEScg", all, "rec1886_rec709_display"}, {1, "ACEScct", linear_and_sdr, "ofx_display_sdr"},
                    {1, NULL, NULL, ""}, {0, NULL, NULL, ""}};
  for (size_t i = 0; i < sizeof agreements / sizeof *agreements; i++) {
    EshConfig config = {.threads = 2, .core_colour = agreements[i].core, .delivers = agreements[i].delivers};
    EshFormat format = plain_format;
    format.colourspace = agreements[i].clip;
    Rig s = begin(&config, &format, "pattern:gradient");
    const char *style = esh_string(s.instance, kOfxImageEffectPropColourManagementStyle, 0);
    CHECK(!strcmp(style, !agreements[i].clip       ? kOfxImageEffectColourManagementNone
                         : agreements[i].core ? kOfxImageEffectColourManagementCore
                                              : kOfxImageEffectColourManagementBasic));
    if (agreements[i].granted) {
      Frames input = untouched(&s, 0, 0), output = render(&s, 0, 0, NULL);
      CHECK(!same(&input, &output) && messages(&s, NULL) == 0);
      OfxImageClipHandle source = esh_clip_find(s.instance, kOfxImageEffectSimpleSourceClipName);
      OfxImageClipHandle result = esh_clip_find(s.instance, kOfxImageEffectOutputClipName);
      const char *space = esh_peek_string(source->props, kOfxImageClipPropColourspace, 0);
      const char *of_output = esh_peek_string(result->props, kOfxImageClipPropColourspace, 0);
      CHECK(!strcmp(space ? space : "", agreements[i].granted) && !strcmp(of_output ? of_output : "", agreements[i].granted));
      free(input.bytes), free(output.bytes);
    } else {
      requires_passthrough(&s, agreements[i].clip); /* one warning, however many frames */
      press(&s);
      CHECK(is_empty(&s, "correction") && messages(&s, agreements[i].clip) == 2);
    }
    end(&s);
  }
}

/* Unload, load again; the binary closed and opened again; the VM is the same one. */
static void case_reload(void) {
  Frames first = {0};
  for (int round = 0; round < 3; round++) {
    EshConfig config = {.threads = 2};
    Rig s = begin(&config, &plain_format, "pattern:gradient");
    press(&s);
    Frames frames = render(&s, 0, 0, NULL);
    if (round == 1) {
      char err[ESH_ERR];
      esh_instance_destroy(s.instance);
      CHECK(esh_plugin_unload(s.bundle, s.index) == kOfxStatOK);
      if (!esh_plugin_load(s.bundle, s.index, err)) {
        stop("load again", err);
      }
      new_instance(&s);
    }
    if (round == 0) {
      first = frames;
    } else {
      CHECK(same(&first, &frames));
      free(frames.bytes);
    }
    end(&s);
  }
  free(first.bytes);
}

static void *scenario_on_thread(void *unused);

static void host_handler(int signal) {
  (void)signal;
}

/* The host keeps its handlers of the signals that mean "stop", set before or after the VM starts. */
static void case_signals(void) {
  static const int numbers[] = {SIGINT, SIGTERM, SIGHUP, SIGQUIT};
  struct sigaction ours = {.sa_handler = host_handler}, now;
  for (int i = 0; i < 4; i++) {
    CHECK(!sigaction(numbers[i], &ours, NULL));
  }
  scenario_on_thread(NULL);
  CHECK(maps_hold("libjvm"));
  for (int i = 0; i < 4; i++) {
    CHECK(!sigaction(numbers[i], NULL, &now) && now.sa_handler == host_handler);
    CHECK(!raise(numbers[i]));
  }
}

static void *scenario_on_thread(void *unused) {
  (void)unused;
  EshConfig config = {.threads = 2};
  Rig s = begin(&config, &plain_format, "pattern:gradient");
  press(&s);
  Frames frames = render(&s, 0, 2, NULL), input = untouched(&s, 0, 2);
  CHECK(frames.count == 3 && !same(&frames, &input) && messages(&s, NULL) == 0);
  free(frames.bytes), free(input.bytes);
  end(&s);
  return NULL;
}

/* Threads with a stack of 256 KiB, one after another, so that each attaches and leaves. */
static void case_small_stack(void) {
  for (int i = 0; i < 3; i++) {
    pthread_attr_t attributes;
    pthread_t thread;
    CHECK(!pthread_attr_init(&attributes) && !pthread_attr_setstacksize(&attributes, 256 * 1024));
    if (pthread_create(&thread, &attributes, scenario_on_thread, NULL)) {
      stop("thread", "cannot be made");
    }
    pthread_join(thread, NULL);
    pthread_attr_destroy(&attributes);
  }
}

/* Nothing special: for bundles in odd places. */
static void case_scenario(void) {
  scenario_on_thread(NULL);
}

/* The host's locale stays, whatever the environment names. */
static void case_locale(void) {
  setenv("LC_ALL", "C.UTF-8", 1);
  char *before = strdup(setlocale(LC_ALL, NULL));
  scenario_on_thread(NULL);
  CHECK(maps_hold("libjvm"));
  CHECK(before && !strcmp(before, setlocale(LC_ALL, NULL)));
  free(before);
}

/* Somebody else started a VM: ours goes into it. */
static void case_foreign_vm(void) {
  char library[4096];
  snprintf(library, sizeof library, "%s/lib/server/libjvm.so", jdk_path);
  void *jvm = dlopen(library, RTLD_NOW);
  jint (*create)(JavaVM **, void **, void *) = jvm ? (jint(*)(JavaVM **, void **, void *))dlsym(jvm, "JNI_CreateJavaVM") : NULL;
  JavaVMOption option = {(char *)"-Xmx64m", NULL};
  JavaVMInitArgs arguments = {JNI_VERSION_10, 1, &option, JNI_FALSE};
  JavaVM *vm;
  JNIEnv *env;
  if (!create || create(&vm, (void **)&env, &arguments) != JNI_OK) {
    stop(library, "does not start");
  }
  scenario_on_thread(NULL);
}

/* == mask, check views, files == */

static void press_button(Rig *s, const char *button) {
  char err[ESH_ERR];
  OfxStatus status;
  if (esh_button_press(s->instance, button, &status, err)) {
    stop(button, err);
  }
  CHECK(status == kOfxStatOK);
}

static void cut_up(Rig *s, int cut) {
  EshConfig *c = esh_config(s->host);
  c->tile_width = cut ? 33 : 0, c->tile_height = cut ? 7 : 0, c->tiles_reversed = cut, c->frame_threads = cut ? 4 : 1;
  c->tight_bounds = cut, c->row_padding = cut ? 20 : 0, c->negative_stride = cut;
}

/* Each view draws something, the same in tiles as in one piece, and is never answered as an identity; the picture comes back
 * when the view is off. */
static void case_views(void) {
  static const struct {
    EshDepth depth;
    EshComponents components;
    EshPremult premult;
  } forms[] = {{ESH_FLOAT, ESH_RGBA, ESH_PREMULTIPLIED}, {ESH_HALF, ESH_RGBA, ESH_UNPREMULTIPLIED}, {ESH_SHORT, ESH_RGB, ESH_OPAQUE},
               {ESH_BYTE, ESH_RGBA, ESH_OPAQUE}};
  EshConfig config = {.threads = 2};
  for (size_t f = 0; f < sizeof forms / sizeof *forms; f++) {
    EshFormat format = plain_format;
    format.depth = forms[f].depth, format.components = forms[f].components, format.premult = forms[f].premult;
    Rig s = begin(&config, &format, "pattern:noise:4");
    press(&s);
    Frames picture = render(&s, 0, 1, NULL);
    for (int view = 1; view <= 4; view++) {
      char number[8];
      snprintf(number, sizeof number, "%d", view);
      edit(&s, "view", number);
      EshRenderResult result;
      Frames whole = render(&s, 0, 1, &result);
      CHECK(result.identical == 0 && result.failed == 0 && !same(&whole, &picture));
      cut_up(&s, 1);
      Frames tiled = render(&s, 0, 1, NULL);
      cut_up(&s, 0);
      CHECK(same(&whole, &tiled));
      edit(&s, "strength", "0");
      Frames uncorrected = render(&s, 0, 1, &result);
      CHECK(result.identical == 0 && !same(&uncorrected, &picture) && (view == 3 || !same(&uncorrected, &whole)));
      edit(&s, "strength", "1");
      esh_config(s.host)->render_scale = 0.5;
      Frames half = render(&s, 0, 0, &result);
      CHECK(result.failed == 0);
      esh_config(s.host)->render_scale = 0;
      free(whole.bytes), free(tiled.bytes), free(uncorrected.bytes), free(half.bytes);
    }
    edit(&s, "view", "0");
    Frames again = render(&s, 0, 1, NULL);
    CHECK(same(&picture, &again) && messages(&s, NULL) == 0);
    free(picture.bytes), free(again.bytes);
    end(&s);
  }
}

/* A view before the first press, and of a clip of Alpha alone, over which nothing is drawn. */
static void case_views_untouched(void) {
  EshConfig config = {.threads = 2};
  Rig s = begin(&config, &plain_format, "pattern:gradient");
  Frames picture = render(&s, 0, 0, NULL);
  edit(&s, "view", "1");
  Frames whole = render(&s, 0, 0, NULL);
  cut_up(&s, 1);
  Frames tiled = render(&s, 0, 0, NULL);
  CHECK(same(&whole, &tiled) && !same(&whole, &picture));
  free(picture.bytes), free(whole.bytes), free(tiled.bytes);
  end(&s);
  EshFormat format = plain_format;
  format.components = ESH_ALPHA;
  config = (EshConfig){.threads = 2};
  s = begin(&config, &format, "pattern:gradient");
  Frames input = untouched(&s, 0, 0);
  edit(&s, "view", "1");
  Frames output = render(&s, 0, 0, NULL);
  CHECK(same(&input, &output) && messages(&s, NULL) == 0);
  free(input.bytes), free(output.bytes);
  end(&s);
}

/* Colour bars through the plug-in: each bar's trace lies where its luma does on the percent lines. The weights of ITU-R BT.709-6,
 * item 3.2, on 100 % and 75 % bars; zero lies 0.065 and 100 % 0.895 of the height above the bottom. */
static void case_waveform_levels(void) {
  static const double luma[] = {1, 0.9278, 0.7874, 0.7152, 0.2848, 0.2126, 0.0722, 0};
  static const int heights[] = {540, 1080};
  for (int h = 0; h < 2; h++) {
    int height = heights[h], width = 2 * height;
    EshConfig config = {.threads = 2};
    EshFormat format = plain_format;
    format.width = width, format.height = height, format.last = 0;
    Rig s = begin(&config, &format, "pattern:bars");
    edit(&s, "strength", "0");
    edit(&s, "view", "1");
    Frames shown = render(&s, 0, 0, NULL);
    const float *pixels = (const float *)(const void *)shown.bytes;
    for (int bar = 1; bar < 7; bar++) {
      double found[4] = {0};
      int runs = 0, from = -1;
      for (int y = 0; y <= height; y++) { /* rows here are from the top */
        const float *pixel = pixels + 4 * ((size_t)y * (size_t)width + (size_t)((2 * bar + 1) * width / 16));
        int bright = y < height && pixel[0] > 0.8f && pixel[1] > 0.8f && pixel[2] > 0.8f;
        if (bright && from < 0) {
          from = y;
        } else if (!bright && from >= 0) {
          if (runs < 4) {
            found[runs] = ((height - 0.5 * (from + y)) / height - 0.065) / 0.83;
          }
          runs++;
          from = -1;
        }
      }
      CHECK(runs == 2 && fabs(found[0] - luma[bar]) < 0.003 && fabs(found[1] - 0.75 * luma[bar]) < 0.003);
    }
    free(shown.bytes);
    end(&s);
  }
}

static size_t rows_unlike(const Frames *a, const Frames *b, int from, int to) {
  size_t row = a->length / HEIGHT, unlike = 0;
  for (int y = from; y < to; y++) {
    unlike += memcmp(a->bytes + (size_t)y * row, b->bytes + (size_t)y * row, row) != 0;
  }
  return unlike;
}

/* The sky's correction acts above its line, fades below it, is kept in the project, and is the same in tiles, from another
 * origin and in every form of memory. */
static void case_sky(void) {
  EshConfig config = {.threads = 2};
  Rig s = begin(&config, &plain_format, "pattern:gradient");
  press(&s);
  CHECK(is_empty(&s, "skyCorrection"));
  Frames plain = render(&s, 2, 2, NULL);
  edit(&s, "skyHorizon", "50");
  edit(&s, "skyFeather", "20");
  Frames off = render(&s, 2, 2, NULL);
  CHECK(same(&plain, &off));
  edit(&s, "sky", "1");
  CHECK(!is_empty(&s, "skyCorrection"));
  Frames sky = render(&s, 2, 2, NULL);
  /* Rows from the top: 30 of 61 lie above the middle, then 12 that fade, then the ground. */
  CHECK(rows_unlike(&sky, &plain, 0, 30) == 30 && rows_unlike(&sky, &plain, 44, HEIGHT) == 0);
  CHECK(rows_unlike(&sky, &plain, 32, 40) == 8);
  edit(&s, "skyMix", "0");
  Frames none = render(&s, 2, 2, NULL);
  CHECK(same(&none, &plain));
  edit(&s, "skyMix", "1");
  edit(&s, "skyAngle", "20");
  Frames tilted = render(&s, 2, 2, NULL);
  CHECK(!same(&tilted, &sky));
  for (int i = 0; i < 4; i++) {
    cut_up(&s, i & 1);
    esh_config(s.host)->origin_x = i * 11, esh_config(s.host)->origin_y = i * -7;
    Frames other = render(&s, 2, 2, NULL);
    CHECK(same(&tilted, &other));
    free(other.bytes);
  }
  cut_up(&s, 0);
  char *kept = text(&s, "skyCorrection"), *ground = text(&s, "correction");
  edit(&s, "skyExposure", "-1.5");
  char *darker = text(&s, "skyCorrection"), *same_ground = text(&s, "correction");
  CHECK(strcmp(kept, darker) && !strcmp(ground, same_ground));
  edit(&s, "sky", "0");
  CHECK(is_empty(&s, "skyCorrection") && messages(&s, NULL) == 0);
  free(kept), free(ground), free(darker), free(same_ground);
  free(plain.bytes), free(off.bytes), free(sky.bytes), free(none.bytes), free(tilted.bytes);
  end(&s);
}

/* The sky before the first press. */
static void case_sky_trial(void) {
  EshConfig config = {.threads = 2};
  Rig s = begin(&config, &plain_format, "pattern:gradient");
  Frames plain = render(&s, 2, 2, NULL);
  edit(&s, "sky", "1");
  edit(&s, "skyHorizon", "50");
  Frames sky = render(&s, 2, 2, NULL);
  CHECK(rows_unlike(&sky, &plain, 0, 30) == 30 && rows_unlike(&sky, &plain, 44, HEIGHT) == 0);
  CHECK(is_empty(&s, "skyCorrection"));
  free(plain.bytes), free(sky.bytes);
  end(&s);
}

/* Aim, profile and correction go to files and come back; what is wrong is told by one message that stays until a press goes
 * well, and writes nothing. */
static void case_files(void) {
  char *folder = esh_temporary_path("evenstop-files");
  if (!mkdtemp(folder)) {
    stop(folder, "cannot be made");
  }
  char *aim = esh_format("%s/aim.json", folder), *profile = esh_format("%s/profile.json", folder);
  char *correction = esh_format("%s/correction.json", folder);
  EshConfig config = {.threads = 2};
  Rig s = begin(&config, &plain_format, "pattern:gradient");
  press_button(&s, "savePreset");
  CHECK(persistent_now(&s) == 1 && messages(&s, "no file is named") == 1);
  edit(&s, "presetFile", "aim.json");
  press_button(&s, "savePreset");
  CHECK(messages(&s, "is not a full path") == 1);
  edit(&s, "presetFile", aim);
  press_button(&s, "loadPreset");
  CHECK(messages(&s, "no such file") == 1);
  edit(&s, "correctionFile", correction);
  press_button(&s, "saveCorrection");
  CHECK(messages(&s, "Press Measure clip first.") == 1 && access(correction, F_OK));
  press(&s);
  edit(&s, "exposureTrim", "0.4");
  edit(&s, "darkChroma", "0.7");
  edit(&s, "profile", "1");
  Frames wanted = render(&s, 0, 0, NULL);
  press_button(&s, "savePreset");
  CHECK(persistent_now(&s) == 0 && !access(aim, F_OK));
  edit(&s, "profileFile", profile);
  press_button(&s, "saveProfile");
  press_button(&s, "saveCorrection");
  CHECK(!access(profile, F_OK) && !access(correction, F_OK));
  int said = messages(&s, NULL);

  /* In another instance, of another clip with the same pictures: the aim and the profile give the same pixels. */
  esh_instance_destroy(s.instance);
  new_instance(&s);
  press(&s);
  Frames other = render(&s, 0, 0, NULL);
  CHECK(!same(&other, &wanted));
  edit(&s, "presetFile", aim);
  edit(&s, "profileFile", profile);
  edit(&s, "exposureTrim", "1");
  press_button(&s, "loadPreset");
  press_button(&s, "loadProfile");
  char *trim = text(&s, "exposureTrim");
  CHECK(atof(trim) == 0);
  Frames loaded = render(&s, 0, 0, NULL);
  CHECK(same(&loaded, &wanted));
  edit(&s, "preset", "0");
  edit(&s, "correctionFile", correction);
  press_button(&s, "loadCorrection");
  Frames applied = render(&s, 0, 0, NULL);
  char *found = text(&s, "found");
  CHECK(same(&applied, &wanted) && strstr(found, "loaded from correction.json"));
  CHECK(messages(&s, NULL) == said);

  /* A damaged file changes nothing. */
  FILE *damaged = fopen(aim, "w");
  CHECK(damaged && fputs("{\"kind\":\"preset\",", damaged) > 0);
  if (damaged) {
    fclose(damaged);
  }
  char *before = text(&s, "presetText");
  press_button(&s, "loadPreset");
  char *after = text(&s, "presetText");
  CHECK(!strcmp(before, after) && persistent_now(&s) == 1 && messages(&s, "aim.json") == 3);
  press_button(&s, "savePreset");
  CHECK(messages(&s, "was not replaced") == 1);
  Frames still = render(&s, 0, 0, NULL);
  CHECK(same(&still, &wanted) && persistent_now(&s) == 1);
  unlink(aim), unlink(profile), unlink(correction);
  CHECK(rmdir(folder) == 0); /* nothing half-written is left */
  press_button(&s, "loadCorrection");
  CHECK(messages(&s, "correction.json: there is no such file") == 1);
  free(trim), free(found), free(before), free(after);
  free(folder), free(aim), free(profile), free(correction);
  free(wanted.bytes), free(other.bytes), free(loaded.bytes), free(applied.bytes), free(still.bytes);
  end(&s);
}

/* A project of the first plug-in: it loads, renders without a word, and its measurement serves the new controls. The third argument
 * is the project file. */
static void case_old_project(void) {
  EshConfig config = {.threads = 2};
  char err[ESH_ERR];
  Rig s = begin(&config, &plain_format, "pattern:gradient");
  esh_instance_destroy(s.instance);
  EshEffect *context = esh_context(s.bundle, s.index, kOfxImageEffectContextFilter, err);
  s.instance = context ? esh_instance_new(context, s.source, err) : NULL;
  if (!s.instance || esh_project_load(s.instance, jdk_path, err)) {
    stop("load", err);
  }
  CHECK(esh_instance_create(s.instance) == kOfxStatOK);
  char *version = text(&s, "stateVersion"), *kept = text(&s, "correction");
  CHECK(strstr(version, "1") && is_empty(&s, "skyCorrection"));
  Frames before = render(&s, 0, 0, NULL);
  char *still = text(&s, "correction");
  CHECK(!strcmp(kept, still)); /* a render writes nothing */
  edit(&s, "darkChroma", "0.5");
  edit(&s, "sky", "1");
  char *now = text(&s, "stateVersion"), *solved = text(&s, "correction");
  CHECK(strstr(now, "2") && strcmp(kept, solved) && !is_empty(&s, "skyCorrection"));
  Frames after = render(&s, 0, 0, NULL);
  CHECK(!same(&before, &after) && messages(&s, NULL) == 0);
  free(version), free(kept), free(still), free(now), free(solved), free(before.bytes), free(after.bytes);
  end(&s);
}

static const struct {
  const char *name;
  void (*run)(void);
} cases[] = {
  {"quiet", case_quiet},           {"measure", case_measure},         {"project", case_project},
  {"cancel", case_cancel},         {"geometry", case_geometry},       {"trial", case_trial},
  {"single-frame", case_single_frame}, {"abort", case_abort},         {"identity", case_identity},
  {"broken-json", case_broken_json},   {"no-java", case_no_java},     {"no-jars", case_no_jars},
  {"old-messages", case_old_messages}, {"colourspace", case_colourspace}, {"reload", case_reload},
  {"small-stack", case_small_stack},   {"foreign-vm", case_foreign_vm},
  {"signals", case_signals},           {"locale", case_locale},     {"scenario", case_scenario},
  {"broken-other-java", case_broken_other_java}, {"broken-own-java", case_broken_own_java},
  {"damaged-version", case_damaged_version}, {"plugin-edits", case_plugin_edits},
  {"press-without-java", case_press_without_java}, {"throwing", case_throwing}, {"old-java", case_old_java},
  {"java-out-of-memory", case_java_out_of_memory}, {"no-room-for-java", case_no_room_for_java},
  {"unconnected", case_unconnected}, {"same-bits", case_same_bits}, {"late-handler", case_late_handler},
  {"cycles", case_cycles}, {"required-suites", case_required_suites}, {"bare-actions", case_bare_actions},
  {"render-scale", case_render_scale}, {"odd-images", case_odd_images}, {"odd-parameters", case_odd_parameters},
  {"wild-values", case_wild_values}, {"views", case_views}, {"views-untouched", case_views_untouched}, {"sky", case_sky},
  {"sky-trial", case_sky_trial}, {"files", case_files},
  {"waveform-levels", case_waveform_levels},
  {"old-project", case_old_project},
};

int main(int count, char **arguments) {
  if (count < 3) {
    fprintf(stderr, "usage: bridge_test CASE BUNDLE [JDK]\n");
    return 2;
  }
  case_name = arguments[1];
  bundle_path = arguments[2];
  jdk_path = count > 3 ? arguments[3] : "";
  for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
    if (!strcmp(cases[i].name, case_name)) {
      cases[i].run();
      printf("%s: %s\n", case_name, failures ? "failed" : "ok");
      return failures != 0;
    }
  }
  fprintf(stderr, "there is no case %s\n", case_name);
  return 2;
}
