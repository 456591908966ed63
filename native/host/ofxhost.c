/* SPDX-License-Identifier: Apache-2.0
 *
 * The program ofxhost: lists plug-ins and parameters, renders frames, probes a bundle. `ofxhost --help` is its manual.
 */
#include "program.h"

#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static const char usage_text[] =
    "ofxhost - a headless host for OpenFX image effects\n"
    "\n"
    "usage\n"
    "  ofxhost list BUNDLE [--json]               plug-ins: identifier, version, label, contexts, depths\n"
    "  ofxhost params BUNDLE [--plugin ID] [--context C] [--json]\n"
    "                                             parameters: type, default, range, label, hint, options\n"
    "  ofxhost render BUNDLE --in SOURCE --size WxH [options]\n"
    "                                             renders frames and prints what happened\n"
    "  ofxhost probe BUNDLE [options]             plays a host's whole life and prints one PASS or FAIL line per check\n"
    "  ofxhost hostile BUNDLE [--hosts N] [--seed S] [--first N] [--patience S] [--verbose]\n"
    "                                             plays random hosts and prints a line for each that ended badly\n"
    "  ofxhost bench BUNDLE --size WxH [options]  times load, first frame and steady frames; one JSON object\n"
    "  ofxhost --help\n"
    "\n"
    "BUNDLE is a folder Name.ofx.bundle or a file Name.ofx.\n"
    "\n"
    "which plug-in\n"
    "  --plugin ID                the plug-in with this identifier (default: the first)\n"
    "  --context filter|general   (default: filter if offered, else the plug-in's first)\n"
    "\n"
    "pictures (render)\n"
    "  --in raw:FILE              frames one after another, top row first, channels interleaved, machine byte order\n"
    "  --in pattern:NAME          a made picture, see below\n"
    "  --size WxH                 pixels\n"
    "  --depth D                  byte, short, half or float (default: float)\n"
    "  --components C             rgba, rgb or alpha (default: rgba)\n"
    "  --premult P                opaque, premultiplied or unpremultiplied (default: opaque)\n"
    "  --frames A-B               first and last frame to render, or one number (default: 0)\n"
    "  --clip-frames A-B          all frames of the clip, if there are more than are rendered\n"
    "  --frame-rate R             frames per second (default: 25)\n"
    "  --pixel-aspect A           (default: 1)\n"
    "  --colourspace NAME         what the clip says it is, for instance ofx_display_sdr (default: says nothing)\n"
    "  --colour-style S         * colour management of this host: basic or core (default: basic)\n"
    "  --delivers NAME,NAME       colour spaces in which a clip can be had; the first that the effect prefers is granted, and\n"
    "                             the pictures are taken to be in it (default: what the clip says it is)\n"
    "  --out FILE                 the rendered frames, in the form of raw:FILE, aborted ones left out; appears when complete\n"
    "\n"
    "what to do (render), in the order given, before rendering\n"
    "  --set NAME=VALUE           numbers separated by commas, text, or a choice by option text or index; repeatable\n"
    "  --press BUTTON             repeatable\n"
    "  --load FILE                parameter values from a project file, before the instance is created\n"
    "  --save FILE                parameter values to a project file, after rendering\n"
    "  --state-out FILE           values, messages, counts and faults as JSON\n"
    "\n"
    "how the host behaves (render; those with * also probe)\n"
    "  --threads N              * CPUs the multithread suite speaks of, 1-256 (default: 2)\n"
    "  --keep-threads             the suite's threads wait for the next call instead of being made anew for each\n"
    "  --frame-threads N          windows rendered at once, if the plug-in is fully safe, 1-64 (default: 1)\n"
    "  --tiles WxH                render in windows of this size;  --tiles-reversed  the last first\n"
    "  --window x1,y1,x2,y2       render only this window: pixels from the lower left, x2 and y2 excluded\n"
    "  --row-padding N            bytes between rows, 0-65536;  --negative-stride  top row first in memory\n"
    "  --tight-bounds             images no larger than the window;  --origin X,Y  lower left corner of the frame\n"
    "  --render-scale S           proxies: 0.01 to 1; frames come and go this much smaller (default: 1)\n"
    "  --disturb NAME=VALUE       while a frame renders, another thread keeps switching this parameter\n"
    "  --cancel-at N              the Nth progress update is answered \"stop\"\n"
    "  --abort-at N               the Nth question for abort within a Render is answered \"yes\"\n"
    "  --without SUITE          * a suite this host lacks, \"OfxProgressSuite\" or \"OfxProgressSuite/2\"; repeatable\n"
    "  --hollow SUITE           * a suite that is there, and all its functions are NULL; repeatable\n"
    "  --null FUNCTION          * a function of a suite that is NULL, by its member's name: \"abort\"; repeatable\n"
    "  --unconnected              the clip Source is not connected\n"
    "  --frames-at-once N         frames of the instance rendered at once, if the plug-in is fully safe, 1-16 (default: 1)\n"
    "  --thread-stack KIB         stack of the host's threads, 64-65536 (default: the system's)\n"
    "  --tile-order N             windows in an order drawn from N, 1-1000000\n"
    "  --thumbnail                the render is for a thumbnail;  --draft  draft quality will do\n"
    "  --fail-fetch-at N          from the Nth fetch of the source on there is no image\n"
    "  --without-property NAME  * a property this host has never heard of; repeatable\n"
    "  --ignore-identity          render even where the plug-in says nothing changes\n"
    "  --lenient                * accept what a strict host refuses\n"
    "  --background             * a host without a user\n"
    "  --unchecked                no guard, window and source checks (for timing large frames)\n"
    "  --quiet                  * no messages while running\n"
    "\n"
    "random hosts (hostile)\n"
    "  --hosts N                  how many, 1-1000000 (default: 60);  --verbose  says what each one is\n"
    "  --seed S                   what they are drawn from, 0-2147483647 (default: 1)\n"
    "  --first N                  number of the first (default: 0); host N of a seed is always the same\n"
    "  --patience SECONDS         with nothing happening for so long a host counts as hung, 1-600 (default: 10)\n"
    "\n"
    "patterns\n"
    "%s"
    "\n"
    "exit: 0 all in order; 1 an action failed or the plug-in broke a rule; 2 usage\n";

static int usage_error(const char *format, const char *a, const char *b) {
  fputs("ofxhost: ", stderr);
  fprintf(stderr, format, a, b);
  fputs("; see ofxhost --help\n", stderr);
  return EXIT_USAGE;
}

static int integer(const char *text, long low, long high, int *value) {
  char *end;
  errno = 0;
  const long v = strtol(text, &end, 10);
  if (end == text || *end || errno || v < low || v > high) return -1;
  *value = (int)v;
  return 0;
}

static int real(const char *text, double *value) {
  char *end;
  *value = strtod(text, &end);
  return end == text || *end || !(*value > 0 && *value < 1e9) ? -1 : 0;
}

/* `count` integers with single characters between them: "12x4", "1,2,3,4". */
static int integers(const char *text, char between, int count, long low, long high, int *values) {
  for (int i = 0; i < count; i++) {
    char *end;
    errno = 0;
    const long v = strtol(text, &end, 10);
    if (end == text || errno || v < low || v > high || *end != (i < count - 1 ? between : 0)) return -1;
    values[i] = (int)v;
    text = end + 1;
  }
  return 0;
}

static int frames(const char *text, int *first, int *last) {
  const char *dash = *text ? strchr(text + 1, '-') : NULL; /* +1: a leading minus is part of the number */
  if (!dash) {
    if (integer(text, -1000000, 1000000, first)) return -1;
    *last = *first;
    return 0;
  }
  char a[16];
  if (dash - text >= (long)sizeof a) return -1;
  snprintf(a, sizeof a, "%.*s", (int)(dash - text), text);
  return integer(a, -1000000, 1000000, first) || integer(dash + 1, -1000000, 1000000, last) || *last < *first ? -1 : 0;
}

static int add_name(const char **names, const char *name) {
  int i = 0;
  while (i < ESH_MAX_NAMES - 1 && names[i]) i++;
  if (names[i]) return -1;
  names[i] = name;
  return i < ESH_MAX_NAMES - 1 ? 0 : -1;
}

static int take_flag(Options *o, const char *name) {
  const struct {
    const char *name;
    int *flag;
  } flags[] = {
      {"--json", &o->json},
      {"--quiet", &o->quiet},
      {"--negative-stride", &o->config.negative_stride},
      {"--tight-bounds", &o->config.tight_bounds},
      {"--tiles-reversed", &o->config.tiles_reversed},
      {"--ignore-identity", &o->config.ignore_identity},
      {"--lenient", &o->config.lenient},
      {"--background", &o->config.background},
      {"--unchecked", &o->config.unchecked},
      {"--verbose", &o->hostile.verbose},
      {"--unconnected", &o->config.unconnected},
      {"--keep-threads", &o->config.keeps_threads},
      {"--thumbnail", &o->config.thumbnail},
      {"--draft", &o->config.draft},
  };
  for (size_t i = 0; i < sizeof flags / sizeof flags[0]; i++)
    if (!strcmp(flags[i].name, name)) return *flags[i].flag = 1;
  return 0;
}

/* 0 taken, -1 no such option, -2 bad value with `allowed` saying what is good. */
static int take_value(Options *o, const char *name, char *value, const char **allowed) {
  EshConfig *c = &o->config;
  int v[4], n;
#define OPTION(text) if (!strcmp(name, text))
#define NEED(condition, good) \
  do {                        \
    *allowed = good;          \
    return (condition) ? 0 : -2; \
  } while (0)
  OPTION("--hosts") NEED(!integer(value, 1, 1000000, &o->hostile.hosts), "1 to 1000000");
  OPTION("--seed") NEED(!integer(value, 0, 2147483647, &n) && (o->hostile.seed = (unsigned)n, 1), "0 to 2147483647");
  OPTION("--patience") NEED(!integer(value, 1, 600, &o->hostile.patience), "1 to 600");
  OPTION("--first") NEED(!integer(value, 0, 1000000, &o->hostile.first), "0 to 1000000");
  OPTION("--plugin") return o->plugin = value, 0;
  OPTION("--in") return o->in = value, 0;
  OPTION("--out") return o->out = value, 0;
  OPTION("--save") return o->save = value, 0;
  OPTION("--load") return o->load = value, 0;
  OPTION("--state-out") return o->state_out = value, 0;
  OPTION("--colourspace") return o->format.colourspace = value, 0;
  OPTION("--delivers") return c->delivers = value, 0;
  OPTION("--colour-style") NEED(!strcmp(value, "basic") || (!strcmp(value, "core") && (c->core_colour = 1)), "basic or core");
  OPTION("--context") {
    o->context = !strcmp(value, "filter")    ? kOfxImageEffectContextFilter
                 : !strcmp(value, "general") ? kOfxImageEffectContextGeneral : NULL;
    NEED(o->context, "filter or general");
  }
  OPTION("--size") NEED(!integers(value, 'x', 2, 1, 32768, v) && (o->format.width = v[0], o->format.height = v[1], 1),
                        "WIDTHxHEIGHT, each from 1 to 32768");
  OPTION("--tiles") NEED(!integers(value, 'x', 2, 1, 32768, v) && (c->tile_width = v[0], c->tile_height = v[1], 1),
                         "WIDTHxHEIGHT, each from 1 to 32768");
  OPTION("--window") NEED(!integers(value, ',', 4, -32768, 32768, v) &&
                              (c->has_window = 1, c->window = (OfxRectI){v[0], v[1], v[2], v[3]}, 1),
                          "x1,y1,x2,y2, integers from -32768 to 32768");
  OPTION("--origin") NEED(!integers(value, ',', 2, -1000000, 1000000, v) &&
                              (c->origin_x = v[0], c->origin_y = v[1], 1), "X,Y, integers from -1000000 to 1000000");
  OPTION("--depth") NEED((n = esh_depth_from_name(value)) >= 0 && (o->format.depth = (EshDepth)n, 1),
                         "byte, short, half or float");
  OPTION("--components") NEED((n = esh_components_from_name(value)) >= 0 &&
                                  (o->format.components = (EshComponents)n, 1), "rgba, rgb or alpha");
  OPTION("--premult") NEED((n = esh_premult_from_name(value)) >= 0 && (o->format.premult = (EshPremult)n, 1),
                           "opaque, premultiplied or unpremultiplied");
  OPTION("--frames") NEED(!frames(value, &o->first, &o->last), "A-B with A not above B, or one number");
  OPTION("--frame-rate") NEED(!real(value, &o->format.frame_rate), "a number above 0");
  OPTION("--pixel-aspect") NEED(!real(value, &o->format.pixel_aspect), "a number above 0");
  OPTION("--threads") NEED(!integer(value, 1, 256, &n) && (c->threads = (unsigned)n, 1), "1 to 256");
  OPTION("--frame-threads") NEED(!integer(value, 1, 64, &n) && (c->frame_threads = (unsigned)n, 1), "1 to 64");
  OPTION("--null") NEED(!add_name(c->null_functions, value), "at most 15 functions");
  OPTION("--frames-at-once") NEED(!integer(value, 1, 16, &n) && (c->frames_at_once = (unsigned)n, 1), "1 to 16");
  OPTION("--thread-stack") NEED(!integer(value, 64, 65536, &n) && (c->thread_stack = (size_t)n * 1024, 1), "64 to 65536");
  OPTION("--tile-order") NEED(!integer(value, 1, 1000000, &n) && (c->tile_order = (unsigned)n, 1), "1 to 1000000");
  OPTION("--row-padding") NEED(!integer(value, 0, 65536, &c->row_padding), "0 to 65536");
  OPTION("--cancel-at") NEED(!integer(value, 1, 1000000, &c->cancel_at), "1 to 1000000");
  OPTION("--abort-at") NEED(!integer(value, 1, 1000000, &c->abort_at), "1 to 1000000");
  OPTION("--without") NEED(!add_name(c->without_suites, value), "at most 15 suites");
  OPTION("--hollow") NEED(!add_name(c->hollow_suites, value), "at most 15 suites");
  OPTION("--fail-fetch-at") NEED(!integer(value, 1, 1000000, &c->fail_fetch_at), "1 to 1000000");
  OPTION("--clip-frames") NEED(!frames(value, &o->clip_first, &o->clip_last) && (o->has_clip = 1, 1),
                               "A-B with A not above B, or one number");
  OPTION("--without-property") NEED(!add_name(c->without_properties, value), "at most 15 properties");
  OPTION("--render-scale") NEED(!real(value, &c->render_scale) && c->render_scale >= 0.01 && c->render_scale <= 1,
                                "a number from 0.01 to 1");
  OPTION("--disturb") {
    char *equals = strchr(value, '=');
    if (equals && equals != value) {
      *equals = 0;
      c->disturb_param = value;
      c->disturb_value = equals + 1;
      return 0;
    }
    NEED(0, "NAME=VALUE");
  }
  OPTION("--press") {
    o->steps[o->step_count++] = (Step){1, value, NULL};
    return 0;
  }
  OPTION("--set") {
    char *equals = strchr(value, '=');
    if (equals && equals != value) {
      *equals = 0;
      o->steps[o->step_count++] = (Step){0, value, equals + 1};
      return 0;
    }
    NEED(0, "NAME=VALUE");
  }
  return -1;
}

/* Options that a command takes; render takes all but --json. */
static int fits(const char *command, const char *option) {
  static const char *const list[] = {"--json", NULL};
  static const char *const params[] = {"--json", "--plugin", "--context", NULL};
  static const char *const probe[] = {"--plugin", "--context", "--threads", "--without", "--hollow", "--null", "--without-property",
                                      "--lenient", "--background", "--quiet", "--colour-style", NULL};
  static const char *const hostile[] = {"--hosts", "--seed", "--first", "--patience", "--verbose", NULL};
  static const char *const bench[] = {"--plugin", "--context", "--in", "--size", "--depth", "--components", "--premult",
                                      "--frames", "--threads", "--keep-threads", "--set", "--press", "--load", "--quiet", NULL};
  const char *const *taken = !strcmp(command, "list")      ? list
                             : !strcmp(command, "params")  ? params
                             : !strcmp(command, "hostile") ? hostile
                             : !strcmp(command, "bench")   ? bench
                                                           : probe;
  if (!strcmp(command, "render")) {
    taken = hostile; /* these alone it does not take */
    while (*taken && strcmp(*taken, option)) taken++;
    return !*taken && strcmp(option, "--json") != 0;
  }
  while (*taken && strcmp(*taken, option)) taken++;
  return *taken != NULL;
}

static int parse(int argc, char **argv, Options *o) {
  for (int i = 2; i < argc; i++) {
    if (strncmp(argv[i], "--", 2)) {
      if (o->bundle) return usage_error("%s: one bundle is enough, there is %s already", argv[i], o->bundle);
      o->bundle = argv[i];
      continue;
    }
    if (take_flag(o, argv[i])) {
      if (!fits(argv[1], argv[i])) return usage_error("%s is not an option of %s", argv[i], argv[1]);
      continue;
    }
    const char *allowed = "";
    char none[1] = "";
    const int missing = i + 1 >= argc;
    const int bad = take_value(o, argv[i], missing ? none : argv[i + 1], &allowed);
    if (bad == -1) return usage_error("unknown option %s%s", argv[i], "");
    if (!fits(argv[1], argv[i])) return usage_error("%s is not an option of %s", argv[i], argv[1]);
    if (missing) return usage_error("%s needs a value%s", argv[i], "");
    if (bad) {
      char text[256];
      snprintf(text, sizeof text, "%s %.80s", argv[i], argv[i + 1]);
      return usage_error("%s is not possible; give %s", text, allowed);
    }
    i++;
  }
  return o->bundle ? 0 : usage_error("which bundle?%s%s", "", "");
}

static int failed(const char *err) {
  fprintf(stderr, "ofxhost: %s\n", err);
  return EXIT_BAD;
}

static void json_string(FILE *f, const char *text) {
  if (!text) {
    fputs("null", f);
    return;
  }
  putc('"', f);
  for (const unsigned char *c = (const unsigned char *)text; *c; c++) {
    if (*c == '"' || *c == '\\') fprintf(f, "\\%c", *c);
    else if (*c < 0x20) fprintf(f, "\\u%04x", *c);
    else putc(*c, f);
  }
  putc('"', f);
}

static void json_strings(FILE *f, const EshEffect *e, const char *property) {
  putc('[', f);
  const char *text;
  for (int i = 0; (text = esh_string(e, property, i)); i++) {
    if (i) fputs(", ", f);
    json_string(f, text);
  }
  putc(']', f);
}

/* JSON has no infinities: an open end is null. */
static void json_number(FILE *f, double v) {
  if (v >= 1e300 || v <= -1e300 || v != v) fputs("null", f);
  else fprintf(f, "%.17g", v);
}

const char *choose_context(const EshEffect *d, const Options *o) {
  if (o->context) return o->context;
  if (esh_has_string(d, kOfxImageEffectPropSupportedContexts, kOfxImageEffectContextFilter))
    return kOfxImageEffectContextFilter;
  const char *first = esh_string(d, kOfxImageEffectPropSupportedContexts, 0);
  return first ? first : kOfxImageEffectContextFilter;
}

static void show_faults(const EshHost *host) {
  for (int i = 0; i < esh_fault_count(host); i++) fprintf(stderr, "fault: %s\n", esh_fault(host, i));
}

static void list_one(const EshBundle *b, int i, const EshEffect *d, int json) {
  const OfxPlugin *p = esh_bundle_plugin(b, i);
  if (json) {
    printf("%s\n  {\"identifier\": ", i ? "," : "");
    json_string(stdout, p->pluginIdentifier);
    printf(", \"version\": [%u, %u], \"label\": ", p->pluginVersionMajor, p->pluginVersionMinor);
    json_string(stdout, esh_string(d, kOfxPropLabel, 0));
    printf(", \"grouping\": ");
    json_string(stdout, esh_string(d, kOfxImageEffectPluginPropGrouping, 0));
    printf(",\n   \"contexts\": ");
    json_strings(stdout, d, kOfxImageEffectPropSupportedContexts);
    printf(", \"depths\": ");
    json_strings(stdout, d, kOfxImageEffectPropSupportedPixelDepths);
    printf(",\n   \"threadSafety\": ");
    json_string(stdout, esh_string(d, kOfxImageEffectPluginRenderThreadSafety, 0));
    printf(", \"tiles\": %s, \"temporalClipAccess\": %s}",
           esh_int(d, kOfxImageEffectPropSupportsTiles, 0, 1) ? "true" : "false",
           esh_int(d, kOfxImageEffectPropTemporalClipAccess, 0, 0) ? "true" : "false");
    return;
  }
  printf("%s %u.%u \"%s\"\n", p->pluginIdentifier, p->pluginVersionMajor, p->pluginVersionMinor,
         esh_string(d, kOfxPropLabel, 0));
  const char *const rows[][2] = {{"grouping", kOfxImageEffectPluginPropGrouping},
                                 {"contexts", kOfxImageEffectPropSupportedContexts},
                                 {"depths", kOfxImageEffectPropSupportedPixelDepths},
                                 {"safety", kOfxImageEffectPluginRenderThreadSafety}};
  for (int r = 0; r < 4; r++) {
    printf("  %-9s", rows[r][0]);
    const char *text;
    for (int k = 0; (text = esh_string(d, rows[r][1], k)); k++) printf(" %s", text);
    putchar('\n');
  }
}

static int run_list(EshHost *host, const Options *o) {
  char err[ESH_ERR];
  EshBundle *b = esh_bundle_open(host, o->bundle, err);
  if (!b) return failed(err);
  int code = EXIT_GOOD;
  if (o->json) putchar('[');
  for (int i = 0; i < esh_bundle_count(b); i++) {
    const EshEffect *d = esh_plugin_load(b, i, err);
    if (d) list_one(b, i, d, o->json);
    else code = failed(err);
  }
  if (o->json) printf("\n]\n");
  return code;
}

static const char *short_type(const char *type) {
  const size_t n = strlen("OfxParamType");
  return strncmp(type, "OfxParamType", n) ? type : type + n;
}

static void print_default(FILE *f, OfxParamHandle p) {
  const int n = esh_param_dimension(p);
  const char *text = esh_param_string(p, kOfxParamPropDefault, 0);
  if (text) {
    json_string(f, text);
    return;
  }
  if (n > 1) putc('[', f);
  for (int k = 0; k < n; k++) {
    if (k) fputs(", ", f);
    json_number(f, esh_param_number(p, kOfxParamPropDefault, k, 0));
  }
  if (n > 1) putc(']', f);
}

static int has_range(OfxParamHandle p) {
  static const char *const no[] = {kOfxParamTypeString, kOfxParamTypeCustom, kOfxParamTypeStrChoice, kOfxParamTypeBytes,
                                   kOfxParamTypeBoolean, kOfxParamTypeChoice};
  for (int i = 0; i < 6; i++)
    if (!strcmp(esh_param_type(p), no[i])) return 0;
  return esh_param_dimension(p) > 0;
}

static void param_json(OfxParamHandle p) {
  printf("{\"name\": ");
  json_string(stdout, esh_param_name(p));
  printf(", \"type\": ");
  json_string(stdout, short_type(esh_param_type(p)));
  if (esh_param_dimension(p) && strcmp(esh_param_type(p), kOfxParamTypeBytes)) {
    printf(", \"default\": ");
    print_default(stdout, p);
  }
  if (has_range(p)) {
    static const char *const ranges[][3] = {{"range", kOfxParamPropMin, kOfxParamPropMax},
                                            {"displayRange", kOfxParamPropDisplayMin, kOfxParamPropDisplayMax}};
    for (int r = 0; r < 2; r++) {
      printf(", \"%s\": [", ranges[r][0]);
      json_number(stdout, esh_param_number(p, ranges[r][1], 0, -1e308));
      printf(", ");
      json_number(stdout, esh_param_number(p, ranges[r][2], 0, 1e308));
      printf("]");
    }
  }
  printf(", \"label\": ");
  json_string(stdout, esh_param_string(p, kOfxPropLabel, 0));
  printf(", \"hint\": ");
  json_string(stdout, esh_param_string(p, kOfxParamPropHint, 0));
  printf(", \"parent\": ");
  json_string(stdout, esh_param_string(p, kOfxParamPropParent, 0));
  const int secret = esh_param_number(p, kOfxParamPropSecret, 0, 0) != 0;
  const int persistent = esh_param_dimension(p) && esh_param_number(p, kOfxParamPropPersistant, 0, 1) != 0;
  printf(", \"secret\": %s, \"persistent\": %s, \"animates\": %s", secret ? "true" : "false",
         persistent ? "true" : "false", esh_param_number(p, kOfxParamPropAnimates, 0, 0) != 0 ? "true" : "false");
  const char *const lists[][2] = {{"options", kOfxParamPropChoiceOption}, {"children", kOfxParamPropPageChild}};
  for (int l = 0; l < 2; l++) {
    const char *text;
    for (int i = 0; (text = esh_param_string(p, lists[l][1], i)); i++) {
      if (!i) printf(", \"%s\": [", lists[l][0]);
      else printf(", ");
      json_string(stdout, text);
    }
    if (esh_param_string(p, lists[l][1], 0)) putchar(']');
  }
  putchar('}');
}

static void param_row(OfxParamHandle p) {
  printf("%-22s %-10s", esh_param_name(p), short_type(esh_param_type(p)));
  if (esh_param_dimension(p) && strcmp(esh_param_type(p), kOfxParamTypeBytes)) {
    printf(" default ");
    print_default(stdout, p);
  }
  if (has_range(p)) {
    printf("  range ");
    json_number(stdout, esh_param_number(p, kOfxParamPropMin, 0, -1e308));
    printf(" to ");
    json_number(stdout, esh_param_number(p, kOfxParamPropMax, 0, 1e308));
  }
  printf("  \"%s\"", esh_param_string(p, kOfxPropLabel, 0));
  const char *parent = esh_param_string(p, kOfxParamPropParent, 0);
  if (parent && *parent) printf("  in %s", parent);
  if (esh_param_number(p, kOfxParamPropSecret, 0, 0) != 0) printf("  secret");
  putchar('\n');
  const char *hint = esh_param_string(p, kOfxParamPropHint, 0), *text;
  if (hint && *hint) printf("    %s\n", hint);
  for (int i = 0; (text = esh_param_string(p, kOfxParamPropChoiceOption, i)); i++) printf("    %d  %s\n", i, text);
}

static int run_params(EshHost *host, const Options *o) {
  char err[ESH_ERR];
  EshBundle *b = esh_bundle_open(host, o->bundle, err);
  if (!b) return failed(err);
  const int index = esh_bundle_find(b, o->plugin, err);
  const EshEffect *d = index < 0 ? NULL : esh_plugin_load(b, index, err);
  const EshEffect *e = d ? esh_context(b, index, choose_context(d, o), err) : NULL;
  if (!e) return failed(err);
  if (o->json) putchar('[');
  for (int i = 0; i < esh_param_count(e); i++) {
    if (o->json) printf("%s\n  ", i ? "," : "");
    if (o->json) param_json(esh_param(e, i));
    else param_row(esh_param(e, i));
  }
  if (o->json) printf("\n]\n");
  return EXIT_GOOD;
}

static int write_frame(void *user, int frame, const void *bytes, size_t length) {
  (void)frame;
  return fwrite(bytes, 1, length, user) == length ? 0 : -1;
}

static void write_state(FILE *f, const EshHost *host, const EshEffect *e, const EshRenderResult *r) {
  const EshCounts *c = esh_counts(host);
  fprintf(f, "{\n  \"params\": {");
  for (int i = 0, n = 0; i < esh_param_count(e); i++) {
    OfxParamHandle p = esh_param(e, i);
    char *text = esh_param_text(p);
    if (!text) continue;
    fprintf(f, "%s\n    ", n++ ? "," : "");
    json_string(f, esh_param_name(p));
    fprintf(f, ": ");
    const char *type = esh_param_type(p);
    if (*text == '"' && strcmp(type, kOfxParamTypeBytes)) { /* the text form escapes otherwise than JSON */
      json_string(f, esh_param_string_value(p));
    } else if (esh_param_dimension(p) > 1) {
      fprintf(f, "[%s]", text);
    } else {
      fputs(text, f);
    }
    free(text);
  }
  fprintf(f, "\n  },\n  \"messages\": [");
  for (int i = 0; i < esh_message_count(host); i++) {
    const EshMessage m = esh_message(host, i);
    fprintf(f, "%s\n    {\"type\": ", i ? "," : "");
    json_string(f, m.type);
    fprintf(f, ", \"id\": ");
    json_string(f, m.id);
    fprintf(f, ", \"text\": ");
    json_string(f, m.text);
    fprintf(f, ", \"persistent\": %s, \"cleared\": %s}", m.persistent ? "true" : "false", m.cleared ? "true" : "false");
  }
  fprintf(f,
          "\n  ],\n  \"frames\": {\"asked\": %ld, \"rendered\": %ld, \"identical\": %ld, \"aborted\": %ld, "
          "\"failed\": %ld},\n",
          r->frames, r->rendered, r->identical, r->aborted, r->failed);
  fprintf(f, "  \"images\": {\"fetched\": %ld, \"released\": %ld},\n", c->fetches, c->releases);
  fprintf(f, "  \"progress\": {\"starts\": %ld, \"updates\": %ld, \"ends\": %ld, \"cancels\": %ld},\n",
          c->progress_starts, c->progress_updates, c->progress_ends, c->progress_cancels);
  fprintf(f, "  \"abortCalls\": %ld,\n  \"threadCalls\": %ld,\n  \"threadJobs\": %ld,\n  \"faults\": [", c->abort_calls,
          c->thread_calls, c->thread_jobs);
  for (int i = 0; i < esh_fault_count(host); i++) {
    fprintf(f, "%s\n    ", i ? "," : "");
    json_string(f, esh_fault(host, i));
  }
  fprintf(f, "\n  ]\n}\n");
}

static int steps(EshEffect *e, const Options *o) {
  char err[ESH_ERR];
  for (int i = 0; i < o->step_count; i++) {
    const Step *s = &o->steps[i];
    if (!s->press) {
      if (esh_param_edit(e, s->name, s->value, err)) return failed(err);
      continue;
    }
    OfxStatus status;
    if (esh_button_press(e, s->name, &status, err)) return failed(err);
    printf("%-11s %s: %s\n", "pressed", s->name, esh_status_name(status));
    if (status != kOfxStatOK && status != kOfxStatReplyDefault && o->config.cancel_at <= 0) return EXIT_BAD;
  }
  return EXIT_GOOD;
}

static int render_out(EshEffect *e, const Options *o, EshRenderResult *result) {
  char err[ESH_ERR];
  if (!o->out) return esh_render(e, o->first, o->last, NULL, NULL, result, err) ? failed(err) : EXIT_GOOD;
  char unfinished[4096];
  snprintf(unfinished, sizeof unfinished, "%s.unfinished", o->out);
  FILE *f = fopen(unfinished, "wb");
  if (!f) {
    fprintf(stderr, "ofxhost: %s: %s\n", o->out, strerror(errno));
    return EXIT_BAD;
  }
  int bad = esh_render(e, o->first, o->last, write_frame, f, result, err);
  if (bad) failed(err);
  const int unwritten = fclose(f) != 0;
  if (unwritten) fprintf(stderr, "ofxhost: %s: %s\n", o->out, strerror(errno));
  bad |= unwritten || result->failed;
  if (!bad && rename(unfinished, o->out)) {
    fprintf(stderr, "ofxhost: %s: %s\n", o->out, strerror(errno));
    bad = 1;
  }
  if (bad) unlink(unfinished);
  return bad ? EXIT_BAD : EXIT_GOOD;
}

static void summary(const EshHost *host, const EshRenderResult *r) {
  const EshCounts *c = esh_counts(host);
  printf("%-11s %ld asked, %ld rendered, %ld identical, %ld aborted, %ld failed%s%s\n", "frames", r->frames, r->rendered,
         r->identical, r->aborted, r->failed, r->failed ? ": " : "",
         r->failed ? esh_status_name(r->first_failure) : "");
  printf("%-11s %ld fetched, %ld released\n", "images", c->fetches, c->releases);
  printf("%-11s %ld allocated, %ld freed; image memory %ld, %ld\n", "memory", c->memory_allocs, c->memory_frees,
         c->image_allocs, c->image_frees);
  printf("%-11s %ld multiThread calls, %ld jobs; abort asked %ld times\n", "threads", c->thread_calls, c->thread_jobs,
         c->abort_calls);
  printf("%-11s %ld started, %ld updates, %ld cancelled, %ld ended\n", "progress", c->progress_starts,
         c->progress_updates, c->progress_cancels, c->progress_ends);
  for (int i = 0; i < esh_message_count(host); i++) {
    const EshMessage m = esh_message(host, i);
    printf("%-11s [%s%s] %s%s%s\n", "message", m.type, m.cleared ? ", cleared" : m.persistent ? ", persistent" : "",
           m.id, *m.id ? ": " : "", m.text);
  }
  for (int i = 0; i < esh_timing_count(host); i++) {
    const EshTiming t = esh_timing(host, i);
    printf("%-11s %s: %ld call%s, %.3f ms together, longest %.3f ms\n", "time", t.action, t.calls,
           t.calls == 1 ? "" : "s", t.total_ms, t.longest_ms);
  }
  for (int i = 0; i < esh_fault_count(host); i++) {
    printf("%-11s %s", "fault", esh_fault(host, i));
    if (esh_fault_times(host, i) > 1) printf(" (%ld times)", esh_fault_times(host, i));
    putchar('\n');
  }
  if (!esh_fault_count(host)) printf("%-11s none\n", "faults");
}

static int run_render(EshHost *host, const Options *o) {
  if (!o->in || !o->format.width) return usage_error("render needs --in and --size%s%s", "", "");
  char err[ESH_ERR];
  EshBundle *b = esh_bundle_open(host, o->bundle, err);
  if (!b) return failed(err);
  EshFormat format = o->format;
  format.first = o->has_clip ? o->clip_first : o->first;
  format.last = o->has_clip ? o->clip_last : o->last;
  EshSource *source = esh_source_open(o->in, &format, err);
  const int index = source ? esh_bundle_find(b, o->plugin, err) : -1;
  EshEffect *d = index < 0 ? NULL : esh_plugin_load(b, index, err);
  EshEffect *context = d ? esh_context(b, index, choose_context(d, o), err) : NULL;
  EshEffect *e = context ? esh_instance_new(context, source, err) : NULL;
  if (!e || (o->load && esh_project_load(e, o->load, err))) {
    esh_instance_destroy(e);
    esh_source_close(source);
    return failed(err);
  }
  const OfxPlugin *p = esh_bundle_plugin(b, index);
  printf("%-11s %s %u.%u \"%s\", %s\n", "plug-in", p->pluginIdentifier, p->pluginVersionMajor, p->pluginVersionMinor,
         esh_string(d, kOfxPropLabel, 0), choose_context(d, o));
  printf("%-11s %s, %dx%d, %s, %s, frames %d-%d\n", "source", o->in, format.width, format.height,
         esh_depth_ofx(format.depth), esh_components_ofx(format.components), format.first, format.last);
  EshRenderResult result;
  memset(&result, 0, sizeof result);
  int code = EXIT_GOOD;
  const OfxStatus status = esh_instance_create(e);
  if (status != kOfxStatOK) {
    fprintf(stderr, "ofxhost: creating the instance: %s\n", esh_status_name(status));
    code = EXIT_BAD;
  }
  if (!code) code = steps(e, o);
  if (!code) code = render_out(e, o, &result);
  if (!code && o->save && esh_project_save(e, o->save, err)) code = failed(err);
  if (o->state_out) {
    FILE *f = fopen(o->state_out, "w");
    if (f) write_state(f, host, e, &result);
    if (!f || fclose(f)) {
      fprintf(stderr, "ofxhost: %s: %s\n", o->state_out, strerror(errno));
      code = EXIT_BAD;
    }
  }
  esh_instance_destroy(e);
  esh_source_close(source);
  esh_bundle_close(b);
  esh_leaks(host);
  summary(host, &result);
  return code || result.failed || esh_fault_count(host) ? EXIT_BAD : EXIT_GOOD;
}

int main(int argc, char **argv) {
  if (argc == 2 && (!strcmp(argv[1], "--help") || !strcmp(argv[1], "-h"))) {
    printf(usage_text, esh_pattern_help);
    return EXIT_GOOD;
  }
  if (argc < 2) return usage_error("which command? list, params, render, probe, hostile or bench%s%s", "", "");
  static const char *const commands[] = {"list", "params", "render", "probe", "hostile", "bench"};
  int command = 0;
  while (command < 6 && strcmp(argv[1], commands[command])) command++;
  if (command == 6)
    return usage_error("unknown command %s; there are list, params, render, probe, hostile and bench%s", argv[1], "");
  Options o;
  memset(&o, 0, sizeof o);
  o.config.threads = 2;
  o.hostile.seed = 1;
  o.hostile.hosts = 60;
  o.hostile.patience = 10;
  o.format.depth = ESH_FLOAT;
  o.format.frame_rate = 25;
  o.format.pixel_aspect = 1;
  o.steps = calloc((size_t)argc, sizeof *o.steps);
  if (!o.steps) return EXIT_BAD;
  int code = parse(argc, argv, &o);
  if (!code && command == 3) {
    code = run_probe(&o);
  } else if (!code && command == 4) {
    code = run_hostile(o.bundle, &o.hostile);
  } else if (!code && command == 5) {
    code = run_bench(&o);
  } else if (!code) {
    char err[ESH_ERR];
    o.config.log = o.quiet ? NULL : stderr;
    EshHost *host = esh_host_create(&o.config, err);
    code = !host          ? failed(err)
           : command == 0 ? run_list(host, &o)
           : command == 1 ? run_params(host, &o)
                          : run_render(host, &o);
    if (host && command < 2) {
      show_faults(host);
      if (esh_fault_count(host)) code = EXIT_BAD;
    }
    esh_host_destroy(host);
  }
  free(o.steps);
  return code;
}
