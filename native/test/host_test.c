/* SPDX-License-Identifier: Apache-2.0
 *
 * Tests of the host library: `host_test BUNDLE CASE`. The bundle is that of testeffect.c.
 */
#include <math.h>
#include <sched.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "internal.h"

static int checks, failures;
static const char *bundle_path;

#define CHECK(condition)                                             \
  do {                                                               \
    checks++;                                                        \
    if (!(condition)) {                                              \
      failures++;                                                    \
      printf("%s:%d: not so: %s\n", __FILE__, __LINE__, #condition); \
    }                                                                \
  } while (0)

static int has_fault(const EshHost *host, const char *part) {
  for (int i = 0; i < esh_fault_count(host); i++)
    if (strstr(esh_fault(host, i), part)) return 1;
  return 0;
}

static void show_faults(const EshHost *host) {
  for (int i = 0; i < esh_fault_count(host); i++) printf("  fault: %s\n", esh_fault(host, i));
}

/* A host with the test effect's instance, ready to use. */
typedef struct Stage {
  EshHost *host;
  EshBundle *bundle;
  EshSource *source;
  EshEffect *context, *instance;
  EshFormat format;
} Stage;

static Stage stage(const EshConfig *config, EshDepth depth, EshComponents components, const char *pattern) {
  char err[ESH_ERR] = "";
  Stage s = {.format = {23, 11, depth, components, ESH_OPAQUE, 0, 4, 25, 1, NULL}};
  s.host = esh_host_create(config, err);
  s.bundle = s.host ? esh_bundle_open(s.host, bundle_path, err) : NULL;
  s.context = s.bundle && esh_plugin_load(s.bundle, 0, err)
                  ? esh_context(s.bundle, 0, kOfxImageEffectContextFilter, err) : NULL;
  s.source = esh_source_open(pattern, &s.format, err);
  s.instance = s.context && s.source ? esh_instance_new(s.context, s.source, err) : NULL;
  if (!s.instance || esh_instance_create(s.instance)) {
    printf("cannot set the stage: %s\n", err);
    exit(1);
  }
  return s;
}

/* Closes everything and returns the host with its faults, for the last look; esh_host_destroy is the caller's. */
static EshHost *strike(Stage *s) {
  esh_instance_destroy(s->instance);
  esh_source_close(s->source);
  esh_bundle_close(s->bundle);
  esh_leaks(s->host);
  return s->host;
}

typedef struct Sheet {
  unsigned char *bytes;
  size_t length;
} Sheet;

static int keep(void *user, int frame, const void *bytes, size_t length) {
  (void)frame;
  Sheet *s = user;
  s->bytes = realloc(s->bytes, s->length + length);
  memcpy(s->bytes + s->length, bytes, length);
  s->length += length;
  return 0;
}

static EshRenderResult render(EshEffect *e, int first, int last, Sheet *s) {
  EshRenderResult r;
  char err[ESH_ERR] = "";
  if (s) s->length = 0;
  if (esh_render(e, first, last, s ? keep : NULL, s, &r, err)) printf("esh_render: %s\n", err);
  return r;
}

static const EshConfig plain = {.threads = 3};

static void properties_strict(void) {
  char err[ESH_ERR];
  EshHost *host = esh_host_create(&plain, err);
  CHECK(host != NULL);
  CHECK(!esh_host_create(&plain, err)); /* one host a process */
  const OfxPropertySuiteV1 *p = &esh_property_suite;
  OfxPropertySetHandle s = esh_props_new(host, "EffectDescriptor", esh_copy("descriptor"));
  int i = 7;
  double d;
  char *text;
  void *pointer;
  CHECK(p->propSetString(s, kOfxPropLabel, 0, "one") == kOfxStatOK);
  CHECK(p->propGetString(s, kOfxPropLabel, 0, &text) == kOfxStatOK && !strcmp(text, "one"));
  CHECK(p->propSetString(s, kOfxPropLabel, 0, text) == kOfxStatOK); /* its own string back */
  CHECK(p->propGetString(s, kOfxPropLabel, 0, &text) == kOfxStatOK && !strcmp(text, "one"));
  CHECK(esh_fault_count(host) == 0);
  CHECK(p->propSetInt(s, "OfxPropNoSuchThing", 0, 1) == kOfxStatErrUnknown && esh_fault_count(host) == 1);
  CHECK(p->propGetInt(s, "OfxPropNoSuchThing", 0, &i) == kOfxStatErrUnknown && esh_fault_count(host) == 1 && i == 7);
  CHECK(p->propSetInt(s, kOfxPropLabel, 0, 1) == kOfxStatErrValue);
  CHECK(p->propGetDouble(s, kOfxPropLabel, 0, &d) == kOfxStatErrValue);
  CHECK(p->propSetString(s, kOfxPropLabel, 1, "two") == kOfxStatErrBadIndex);
  CHECK(p->propGetString(s, kOfxPropLabel, 1, &text) == kOfxStatErrBadIndex);
  CHECK(p->propGetString(s, kOfxPropLabel, -1, &text) == kOfxStatErrBadIndex);
  CHECK(p->propSetString(s, kOfxPropLabel, -1, "two") == kOfxStatErrBadIndex);
  CHECK(p->propSetString(s, kOfxPluginPropFilePath, 0, "/") == kOfxStatErrValue); /* the host's to write */
  CHECK(p->propSetInt(s, kOfxImageEffectPropSupportsTiles, 0, 2) == kOfxStatErrValue); /* a boolean */
  CHECK(p->propSetString(s, kOfxImageEffectPluginRenderThreadSafety, 0, "safe") == kOfxStatErrValue);
  /* a gap */
  CHECK(p->propSetString(s, kOfxImageEffectPropSupportedPixelDepths, 1, kOfxBitDepthByte) == kOfxStatErrBadIndex);
  CHECK(p->propSetString(s, kOfxImageEffectPropSupportedPixelDepths, 0, kOfxBitDepthByte) == kOfxStatOK);
  CHECK(p->propSetString(s, kOfxImageEffectPropSupportedPixelDepths, 1, kOfxBitDepthFloat) == kOfxStatOK);
  CHECK(p->propSetString(s, kOfxImageEffectPropSupportedPixelDepths, INT_MAX, kOfxBitDepthFloat) == kOfxStatErrBadIndex);
  CHECK(p->propGetDimension(s, kOfxImageEffectPropSupportedPixelDepths, &i) == kOfxStatOK && i == 2);
  const char *const one[] = {kOfxBitDepthShort};
  CHECK(p->propSetStringN(s, kOfxImageEffectPropSupportedPixelDepths, 1, one) == kOfxStatOK);
  CHECK(p->propGetDimension(s, kOfxImageEffectPropSupportedPixelDepths, &i) == kOfxStatOK && i == 1);
  const char *const bad[] = {kOfxBitDepthByte, "OfxBitDepthHuge"};
  CHECK(p->propSetStringN(s, kOfxImageEffectPropSupportedPixelDepths, 2, bad) == kOfxStatErrValue);
  CHECK(p->propGetString(s, kOfxImageEffectPropSupportedPixelDepths, 0, &text) == kOfxStatOK &&
        !strcmp(text, kOfxBitDepthShort)); /* a refused write changes nothing */
  CHECK(p->propReset(s, kOfxImageEffectPropSupportedPixelDepths) == kOfxStatOK);
  CHECK(p->propGetDimension(s, kOfxImageEffectPropSupportedPixelDepths, &i) == kOfxStatOK && i == 0);
  CHECK(p->propSetPointer(s, kOfxImageEffectPluginPropOverlayInteractV1, 0, &i) == kOfxStatOK);
  CHECK(p->propGetPointer(s, kOfxImageEffectPluginPropOverlayInteractV1, 0, &pointer) == kOfxStatOK && pointer == &i);
  CHECK(p->propSetInt(s, "OfxImageEffectPropMultipleClipDepths", 0, 1) == kOfxStatOK); /* the value, not the name */
  CHECK(p->propSetInt(s, "OfxImageEffectPropSupportsMultipleClipDepths", 0, 1) == kOfxStatErrUnknown);
  CHECK(p->propSetInt(NULL, kOfxPropLabel, 0, 1) == kOfxStatErrBadHandle);
  CHECK(p->propSetString(s, kOfxPropLabel, 0, NULL) == kOfxStatErrValue);
  esh_props_free(s);
  s = esh_props_new(host, "Image", esh_copy("image"));
  esh_put_int(s, kOfxImagePropBounds, 3, 9);
  int four[4] = {1, 1, 1, 1};
  CHECK(p->propGetIntN(s, kOfxImagePropBounds, 4, four) == kOfxStatOK && four[0] == 0 && four[3] == 9);
  CHECK(p->propGetIntN(s, kOfxImagePropBounds, 5, four) == kOfxStatErrBadIndex);
  CHECK(p->propSetIntN(s, kOfxImagePropBounds, 4, four) == kOfxStatErrValue);
  esh_props_free(s);
  esh_host_destroy(host);
}

static void lenient(void) {
  char err[ESH_ERR];
  EshConfig config = plain;
  config.lenient = 1;
  config.without_properties[0] = kOfxPropVersionLabel;
  EshHost *host = esh_host_create(&config, err);
  const OfxPropertySuiteV1 *p = &esh_property_suite;
  OfxPropertySetHandle s = esh_props_new(host, "EffectDescriptor", esh_copy("descriptor"));
  int i = 0;
  CHECK(p->propSetInt(s, "OfxPropNoSuchThing", 0, 5) == kOfxStatOK);
  CHECK(p->propGetInt(s, "OfxPropNoSuchThing", 0, &i) == kOfxStatOK && i == 5);
  CHECK(p->propSetString(s, kOfxPluginPropFilePath, 0, "/") == kOfxStatOK);
  CHECK(p->propSetString(s, kOfxImageEffectPluginRenderThreadSafety, 0, "safe") == kOfxStatOK);
  CHECK(p->propSetInt(s, kOfxPropLabel, 0, 1) == kOfxStatErrValue); /* types stay */
  CHECK(p->propSetString(s, kOfxPropVersionLabel, 0, "1") == kOfxStatErrUnknown); /* this host lacks it */
  CHECK(esh_fault_count(host) == 1);
  esh_props_free(s);
  esh_host_destroy(host);
}

static void parameters(void) {
  Stage t = stage(&plain, ESH_FLOAT, ESH_RGBA, "pattern:gradient");
  const OfxParameterSuiteV1 *p = &esh_parameter_suite;
  OfxParamSetHandle set;
  OfxParamHandle h, h2;
  OfxPropertySetHandle s;
  int i[3] = {0};
  double d[4] = {0};
  char *text;
  unsigned n = 9;
  char err[ESH_ERR];
  CHECK(esh_effect_suite.getParamSet(t.instance, &set) == kOfxStatOK);
  CHECK(p->paramGetHandle(set, "no such", &h, NULL) == kOfxStatErrUnknown);
  CHECK(p->paramDefine(set, kOfxParamTypeDouble, "late", &s) == kOfxStatErrUnsupported); /* not while describing */
#define PARAM(name) CHECK(p->paramGetHandle(set, name, &h, NULL) == kOfxStatOK)
  PARAM("gain");
  CHECK(p->paramGetValue(h, &d[0]) == kOfxStatOK && d[0] == 1);
  CHECK(p->paramSetValue(h, 2.5) == kOfxStatOK && p->paramGetValueAtTime(h, 3.0, &d[0]) == kOfxStatOK && d[0] == 2.5);
  CHECK(p->paramSetValue(h, 5.0) == kOfxStatErrValue && p->paramGetValue(h, &d[0]) == kOfxStatOK && d[0] == 2.5);
  CHECK(p->paramSetValue(h, (double)NAN) == kOfxStatErrValue);
  CHECK(p->paramSetValueAtTime(h, 1.0, 0.5) == kOfxStatOK && p->paramGetValue(h, &d[0]) == kOfxStatOK && d[0] == 0.5);
  CHECK(p->paramGetNumKeys(h, &n) == kOfxStatOK && n == 0);
  CHECK(p->paramGetKeyTime(h, 0, &d[0]) == kOfxStatErrBadIndex);
  CHECK(p->paramGetKeyIndex(h, 0, 0, &i[0]) == kOfxStatFailed);
  CHECK(p->paramDeleteAllKeys(h) == kOfxStatOK && p->paramDeleteKey(h, 0) == kOfxStatErrBadIndex);
  CHECK(p->paramGetDerivative(h, 0.0, &d[0]) == kOfxStatOK && d[0] == 0);
  CHECK(p->paramGetIntegral(h, 1.0, 5.0, &d[0]) == kOfxStatOK && d[0] == 2);
  PARAM("invert");
  CHECK(p->paramSetValue(h, 1) == kOfxStatOK && p->paramGetValue(h, &i[0]) == kOfxStatOK && i[0] == 1);
  CHECK(p->paramSetValue(h, 2) == kOfxStatErrValue);
  PARAM("fault");
  CHECK(p->paramSetValue(h, 99) == kOfxStatErrValue && p->paramSetValue(h, -1) == kOfxStatErrValue);
  PARAM("whole");
  CHECK(p->paramSetValue(h, -7) == kOfxStatOK && p->paramGetValue(h, &i[0]) == kOfxStatOK && i[0] == -7);
  PARAM("pair");
  CHECK(p->paramSetValue(h, 1, 2) == kOfxStatOK && p->paramGetValue(h, &i[0], &i[1]) == kOfxStatOK && i[0] == 1 &&
        i[1] == 2);
  PARAM("triple");
  CHECK(p->paramSetValue(h, 3, 4, 5) == kOfxStatOK && p->paramGetValue(h, &i[0], &i[1], &i[2]) == kOfxStatOK &&
        i[2] == 5);
  PARAM("point");
  CHECK(p->paramSetValue(h, 0.1, 0.2) == kOfxStatOK && p->paramGetValue(h, &d[0], &d[1]) == kOfxStatOK && d[1] == 0.2);
  PARAM("tint");
  CHECK(p->paramSetValue(h, 0.1, 0.2, 0.3) == kOfxStatOK && p->paramGetValue(h, &d[0], &d[1], &d[2]) == kOfxStatOK &&
        d[2] == 0.3);
  PARAM("wash");
  CHECK(p->paramSetValue(h, 0.1, 0.2, 0.3, 0.4) == kOfxStatOK);
  CHECK(p->paramGetValueAtTime(h, 2.0, &d[0], &d[1], &d[2], &d[3]) == kOfxStatOK && d[0] == 0.1 && d[3] == 0.4);
  PARAM("stored");
  CHECK(p->paramSetValue(h, "first") == kOfxStatOK && p->paramGetValue(h, &text) == kOfxStatOK &&
        !strcmp(text, "first"));
  CHECK(p->paramSetValue(h, "second") == kOfxStatOK && !strcmp(text, "first")); /* the old string is still readable */
  CHECK(p->paramSetValue(h, (char *)NULL) == kOfxStatErrValue);
  PARAM("opaque");
  CHECK(p->paramSetValue(h, "x") == kOfxStatOK && p->paramGetValue(h, &text) == kOfxStatOK && !strcmp(text, "x"));
  PARAM("named");
  CHECK(p->paramSetValue(h, "green") == kOfxStatOK && p->paramSetValue(h, "blue") == kOfxStatErrValue);
  CHECK(p->paramGetValue(h, &text) == kOfxStatOK && !strcmp(text, "green"));
  PARAM("blob");
  const OfxBytes in = {(const unsigned char *)"a\0b", 3};
  OfxBytes out;
  CHECK(p->paramSetValue(h, &in) == kOfxStatOK && p->paramGetValue(h, &out) == kOfxStatOK && out.length == 3 &&
        !memcmp(out.data, "a\0b", 3));
  PARAM("basic");
  CHECK(p->paramGetValue(h, &i[0]) == kOfxStatErrUnsupported);
  PARAM("measureClip");
  CHECK(p->paramSetValue(h, 1) == kOfxStatErrUnsupported);
  CHECK(p->paramGetHandle(set, "point", &h, NULL) == kOfxStatOK &&
        p->paramGetHandle(set, "wash", &h2, NULL) == kOfxStatOK);
  CHECK(p->paramCopy(h, h2, 0, NULL) == kOfxStatErrValue);
  CHECK(p->paramGetValue(NULL, &i[0]) == kOfxStatErrBadHandle);
  OfxParamHandle described = esh_param_find(t.context, "gain");
  CHECK(p->paramGetValue(described, &d[0]) == kOfxStatErrBadHandle); /* descriptors have no values */
  /* As a user types them. */
  CHECK(esh_param_edit(t.instance, "gain", "0.25", err) == 0);
  CHECK(esh_param_edit(t.instance, "gain", "4.5", err) == -1 && strstr(err, "from 0 to 4"));
  CHECK(esh_param_edit(t.instance, "gain", "nan", err) == -1 && strstr(err, "finite"));
  CHECK(esh_param_edit(t.instance, "gain", "1,2", err) == -1);
  CHECK(esh_param_edit(t.instance, "gain", "", err) == -1);
  CHECK(esh_param_edit(t.instance, "whole", "1.5", err) == -1 && strstr(err, "integer"));
  CHECK(esh_param_edit(t.instance, "whole", "4294967296", err) == -1);
  CHECK(esh_param_edit(t.instance, "wash", "1,0.5,0.25,0", err) == 0);
  CHECK(esh_param_edit(t.instance, "wash", "1,0.5,0.25", err) == -1);
  CHECK(esh_param_edit(t.instance, "invert", "true", err) == 0 &&
        esh_param_edit(t.instance, "invert", "maybe", err) == -1);
  CHECK(esh_param_edit(t.instance, "fault", "leak image", err) == 0 &&
        esh_param_edit(t.instance, "fault", "0", err) == 0);
  CHECK(esh_param_edit(t.instance, "fault", "unheard of", err) == -1);
  CHECK(esh_param_edit(t.instance, "named", "blue", err) == -1 && strstr(err, "options"));
  CHECK(esh_param_edit(t.instance, "blob", "00ff7", err) == -1 && esh_param_edit(t.instance, "blob", "00ff", err) == 0);
  CHECK(esh_param_edit(t.instance, "nothing", "1", err) == -1 && strstr(err, "nothing"));
  OfxStatus status;
  CHECK(esh_button_press(t.instance, "gain", &status, err) == -1 && strstr(err, "not a button"));
  esh_host_destroy(strike(&t));
}

static float float_at(const void *bytes, size_t index) {
  float v;
  memcpy(&v, (const unsigned char *)bytes + index * 4, 4);
  return v;
}

static void patterns(void) {
  char err[ESH_ERR];
  EshFormat f = {1016, 2, ESH_FLOAT, ESH_RGBA, ESH_OPAQUE, 0, 0, 25, 1, NULL};
  unsigned char *bytes = malloc(esh_frame_bytes(&f));
  EshSource *s = esh_source_open("pattern:ramp", &f, err);
  CHECK(s && !esh_source_read(s, 0, bytes, err));
  for (int x = 0; x < 1016; x++) /* code 64 is 0, code 940 is 1: ITU-R BT.709-6, table 4 (10 bit) */
    CHECK(float_at(bytes, (size_t)x * 4 + 1) == (float)((x + 4 - 64) / 876.0) && float_at(bytes, (size_t)x * 4 + 3) == 1);
  CHECK(esh_source_read(s, 1, bytes, err) == -1);
  esh_source_close(s);
  f.width = 8, f.height = 2, f.depth = ESH_BYTE, f.components = ESH_RGB;
  s = esh_source_open("pattern:bars", &f, err);
  CHECK(s && !esh_source_read(s, 0, bytes, err));
  static const unsigned char bars[] = {1, 1, 1, 1, 1, 0, 0, 1, 1, 0, 1, 0, 1, 0, 1, 1, 0, 0, 0, 0, 1, 0, 0, 0};
  for (int i = 0; i < 24; i++) CHECK(bytes[i] == bars[i] * 255 && bytes[24 + i] == bars[i] * 191); /* 191.25 */
  esh_source_close(s);
  f.depth = ESH_FLOAT;
  unsigned char again[8 * 2 * 12];
  EshSource *a = esh_source_open("pattern:noise:3", &f, err), *b = esh_source_open("pattern:noise:4", &f, err);
  CHECK(a && b && !esh_source_read(a, 0, bytes, err) && !esh_source_read(a, 0, again, err));
  CHECK(!memcmp(bytes, again, sizeof again));
  CHECK(!esh_source_read(b, 0, again, err) && memcmp(bytes, again, sizeof again));
  for (int i = 0; i < 48; i++) CHECK(float_at(bytes, (size_t)i) >= -0.07f && float_at(bytes, (size_t)i) <= 1.09f);
  esh_source_close(a);
  esh_source_close(b);
  static const char *const wrong[] = {"pattern:plaid", "pattern:noise:-1", "pattern:flat:x", "pattern:ramp:1", "clip.mov",
                                      "raw:/no/such/file"};
  for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
    *err = 0;
    CHECK(!esh_source_open(wrong[i], &f, err) && *err);
  }
  /* Half floats: values and ties from the definition of IEEE 754-2019 binary16, clause 3.6 and 4.3.1. */
  static const struct {
    float in;
    uint16_t out;
  } halves[] = {{0, 0},           {-0.0f, 0x8000},    {1, 0x3c00},      {-2, 0xc000},      {65504, 0x7bff},
                {65519.9f, 0x7bff}, {65520, 0x7c00},  {1e30f, 0x7c00},  {INFINITY, 0x7c00}, {5.9604645e-8f, 1},
                {2.9802322e-8f, 0}, {8.9406967e-8f, 2}, {6.1035156e-5f, 0x0400}, {6.0975552e-5f, 0x03ff},
                {1.00048828125f, 0x3c00}, {1.00146484375f, 0x3c02}, {0.33325195f, 0x3555}};
  for (size_t i = 0; i < sizeof halves / sizeof halves[0]; i++) CHECK(esh_half_from_float(halves[i].in) == halves[i].out);
  CHECK((esh_half_from_float(NAN) & 0x7c00) == 0x7c00 && (esh_half_from_float(NAN) & 0x3ff));
  free(bytes);
}

static void layouts(void) {
  static const EshDepth depths[] = {ESH_FLOAT, ESH_SHORT, ESH_BYTE};
  for (int d = 0; d < 3; d++)
    for (int c = 0; c < 3; c++) {
      Stage t = stage(&plain, depths[d], (EshComponents)c, "pattern:noise:11");
      char err[ESH_ERR];
      CHECK(esh_param_edit(t.instance, "gain", "0.75", err) == 0);
      Sheet whole = {0}, other = {0};
      EshRenderResult r = render(t.instance, 1, 3, &whole);
      CHECK(r.frames == 3 && r.rendered == 3 && whole.length == 3 * esh_frame_bytes(&t.format));
      EshConfig *k = esh_config(t.host);
      for (int run = 0; run < 32; run++) {
        *k = plain;
        k->row_padding = run & 1 ? 12 : 0;
        k->negative_stride = run >> 1 & 1;
        k->tight_bounds = run >> 2 & 1;
        k->tile_width = run & 8 ? 5 : 0;
        k->tile_height = run & 8 ? 4 : 0;
        k->frame_threads = run & 16 ? 4 : 1;
        k->tiles_reversed = run & 16 ? 1 : 0;
        k->origin_x = run & 8 ? -9 : 0;
        k->threads = 1 + (unsigned)run % 5;
        r = render(t.instance, 1, 3, &other);
        CHECK(r.rendered == 3 && other.length == whole.length && !memcmp(other.bytes, whole.bytes, whole.length));
      }
      *k = plain;
      k->render_scale = 0.5; /* a per-pixel effect: the proxy is the picture made smaller */
      k->negative_stride = c == 1;
      r = render(t.instance, 1, 1, &other);
      const EshFormat half = esh_scaled_format(t.host, &t.format);
      const size_t size = esh_frame_bytes(&t.format) / (23 * 11);
      CHECK(half.width == 12 && half.height == 6 && other.length == esh_frame_bytes(&half));
      for (int y = 0; y < 6; y++)
        for (int x = 0; x < 12; x++) { /* y from the bottom; the middle of a proxy pixel lies at (2x + 1, 2y + 1) */
          const int from_x = 2 * x + 1 < 23 ? 2 * x + 1 : 22, from_y = 2 * y + 1 < 11 ? 2 * y + 1 : 10;
          CHECK(!memcmp(other.bytes + ((size_t)(5 - y) * 12 + (size_t)x) * size,
                        whole.bytes + ((size_t)(10 - from_y) * 23 + (size_t)from_x) * size, size));
        }
      *k = plain;
      k->disturb_param = "gain";
      k->disturb_value = "0.5";
      const long set_before = esh_counts(t.host)->fetches;
      r = render(t.instance, 1, 3, &other);
      CHECK(r.rendered == 3 && esh_counts(t.host)->fetches > set_before);
      *k = plain;
      r = render(t.instance, 1, 3, &other); /* the parameter has its value again */
      CHECK(other.length == whole.length && !memcmp(other.bytes, whole.bytes, whole.length));
      k->has_window = 1;
      k->window = (OfxRectI){-5, 2, 4, 100}; /* clipped to 0,2,4,11 */
      r = render(t.instance, 1, 1, &other);
      const size_t pixel = esh_frame_bytes(&t.format) / (23 * 11);
      int good = r.rendered == 1;
      for (int y = 0; y < 11; y++) /* rows from the top: the lowest two are outside */
        for (int x = 0; x < 23; x++)
          for (size_t b = 0; b < pixel; b++) {
            const size_t at = ((size_t)y * 23 + (size_t)x) * pixel + b;
            good &= other.bytes[at] == (x < 4 && y < 9 ? whole.bytes[at] : 0);
          }
      CHECK(good);
      free(whole.bytes);
      free(other.bytes);
      EshHost *host = strike(&t);
      CHECK(esh_fault_count(host) == 0 && esh_counts(host)->fetches == esh_counts(host)->releases &&
            esh_counts(host)->fetches > 0 && esh_counts(host)->thread_jobs > 0);
      show_faults(host);
      esh_host_destroy(host);
    }
}

/* The effect breaks one rule at a time; the host must name it, and nothing else must be wrong. */
static void faults(void) {
  static const struct {
    const char *fault, *report;
    int negative, failing;
  } cases[] = {
      {"none", NULL, 0, 0},
      {"leak image", "Render returned with 1 image not released (Source at time 0)", 0, 0},
      {"release twice", "released twice", 0, 0},
      {"write outside", "wrote outside its window", 0, 0},
      {"write outside", "wrote outside its window", 1, 0},
      {"write source", "wrote into an image of the Source clip", 0, 0},
      {"set in render", "parameter gain set within OfxImageEffectActionRender", 0, 0},
      {"unknown property", "OfxPropNoSuchThing", 0, 0},
      {"wrong type", "its type is int, not string", 0, 0},
      {"read-only property", "only the host writes it", 0, 0},
      {"nested threads", "multiThread called from within one of its jobs", 0, 0},
      {"leak memory", "memory", 0, 0},
      {"leak mutex", "mutex", 0, 0},
      {"render fails", NULL, 0, 1},
      {"fetch elsewhere", "GetFramesNeeded did not name", 0, 0},
      {"bad message", "unknown type \"OfxMessageShout\"", 0, 0},
  };
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    EshConfig config = plain;
    config.negative_stride = cases[i].negative;
    config.row_padding = 16; /* so that the byte before a row is never a pixel */
    Stage t = stage(&config, ESH_FLOAT, ESH_RGBA, "pattern:noise");
    char err[ESH_ERR];
    CHECK(esh_param_edit(t.instance, "fault", cases[i].fault, err) == 0);
    CHECK(esh_param_edit(t.instance, "gain", "0.5", err) == 0);
    const EshRenderResult r = render(t.instance, 0, 0, NULL);
    CHECK(r.failed == cases[i].failing && r.rendered == !cases[i].failing);
    CHECK(!cases[i].failing || r.first_failure == kOfxStatFailed);
    EshHost *host = strike(&t);
    const int found = cases[i].report ? has_fault(host, cases[i].report) : !esh_fault_count(host);
    CHECK(found);
    if (!found) {
      printf("fault \"%s\":\n", cases[i].fault);
      show_faults(host);
    }
    esh_host_destroy(host);
  }
  static const struct {
    const char *fault, *report;
  } presses[] = {{"open progress", "returned with a progress open"},
                 {"open edit", "returned with paramEditBegin open"},
                 {"endless changes", "without end"}};
  for (size_t i = 0; i < sizeof presses / sizeof presses[0]; i++) {
    Stage t = stage(&plain, ESH_FLOAT, ESH_RGBA, "pattern:noise");
    char err[ESH_ERR];
    OfxStatus status;
    CHECK(esh_param_edit(t.instance, "fault", presses[i].fault, err) == 0);
    CHECK(esh_button_press(t.instance, "measureClip", &status, err) == 0 && status == kOfxStatOK);
    EshHost *host = strike(&t);
    CHECK(has_fault(host, presses[i].report));
    esh_host_destroy(host);
  }
}

static void cancel(void) {
  for (int at = 1; at <= 6; at++) { /* the clip has five frames: the sixth update never comes */
    EshConfig config = plain;
    config.cancel_at = at;
    Stage t = stage(&config, ESH_FLOAT, ESH_RGBA, "pattern:noise");
    char err[ESH_ERR];
    OfxStatus status;
    CHECK(esh_button_press(t.instance, "measureClip", &status, err) == 0 && status == kOfxStatOK);
    const EshCounts *c = esh_counts(t.host);
    CHECK(c->progress_starts == 1 && c->progress_ends == 1 && c->progress_updates == (at < 6 ? at : 5));
    CHECK(c->progress_cancels == (at < 6) && c->fetches == c->progress_updates && c->releases == c->fetches);
    const char *stored = esh_param_string_value(esh_param_find(t.instance, "stored"));
    CHECK((*stored == 0) == (at < 6));
    CHECK(esh_message_count(t.host) == 1 && esh_message(t.host, 0).persistent == (at == 6));
    EshHost *host = strike(&t);
    CHECK(esh_fault_count(host) == 0);
    esh_host_destroy(host);
  }
}

static void aborted(void) {
  EshConfig config = plain;
  config.abort_at = 4;
  config.threads = 1;
  Stage t = stage(&config, ESH_FLOAT, ESH_RGBA, "pattern:noise");
  char err[ESH_ERR];
  CHECK(esh_param_edit(t.instance, "gain", "2", err) == 0);
  Sheet s = {0};
  EshRenderResult r = render(t.instance, 0, 1, &s);
  CHECK(r.frames == 2 && r.aborted == 2 && r.rendered == 0 && r.failed == 0 && s.length == 0);
  CHECK(esh_counts(t.host)->abort_calls == 8); /* four a frame, then the effect leaves */
  esh_config(t.host)->abort_at = 12; /* the frame has 11 rows */
  r = render(t.instance, 0, 1, &s);
  CHECK(r.aborted == 0 && r.rendered == 2 && s.length == 2 * esh_frame_bytes(&t.format));
  free(s.bytes);
  EshHost *host = strike(&t);
  CHECK(esh_fault_count(host) == 0);
  esh_host_destroy(host);
}

/* With a colourspace given, the Basic style is agreed on and the output follows the source; without, there is no style. */
static void colour(void) {
  static const char *const spaces[] = {NULL, kOfxColourspaceDisplaySdr};
  for (int i = 0; i < 2; i++) {
    Stage t = stage(&plain, ESH_FLOAT, ESH_RGBA, "pattern:flat:0.25");
    char err[ESH_ERR];
    t.format.colourspace = spaces[i];
    EshSource *source = esh_source_open("pattern:flat:0.25", &t.format, err);
    EshEffect *e = esh_instance_new(t.context, source, err);
    CHECK(e && esh_instance_create(e) == kOfxStatOK);
    CHECK(!strcmp(esh_string(e, kOfxImageEffectPropColourManagementStyle, 0),
                  i ? kOfxImageEffectColourManagementBasic : kOfxImageEffectColourManagementNone));
    for (int c = 0; c < 2; c++) {
      OfxImageClipHandle clip;
      OfxPropertySetHandle props;
      char *space = NULL;
      CHECK(!esh_effect_suite.clipGetHandle(e, c ? "Output" : "Source", &clip, &props));
      CHECK(esh_property_suite.propGetString(props, kOfxImageClipPropColourspace, 0, &space) ==
            (i ? kOfxStatOK : kOfxStatErrBadIndex));
      CHECK(!i || !strcmp(space, spaces[i]));
    }
    esh_instance_destroy(e);
    esh_source_close(source);
    EshHost *host = strike(&t);
    CHECK(esh_fault_count(host) == 0);
    esh_host_destroy(host);
  }
}

enum { JOBS = 37 };

typedef struct Jobs {
  atomic_int runs[JOBS];
  atomic_int wrong;
  atomic_int shared; /* a thread other than the caller has had a job */
  OfxMutexHandle mutex, held;
  int guarded; /* written under the mutex only */
} Jobs;

static void inner(unsigned index, unsigned count, void *argument) { (void)index, (void)count, (void)argument; }

static void job(unsigned index, unsigned count, void *argument) {
  Jobs *j = argument;
  const OfxMultiThreadSuiteV1 *m = &esh_thread_suite;
  unsigned own = 999;
  int wrong = index >= JOBS || count != JOBS;
  if (!wrong) atomic_fetch_add(&j->runs[index], 1);
  wrong |= m->multiThreadIndex(&own) != kOfxStatOK || own != index;
  wrong |= !m->multiThreadIsSpawnedThread();
  wrong |= m->multiThread(inner, 2, NULL) != kOfxStatErrExists;
  wrong |= m->mutexLock(j->mutex) != kOfxStatOK;
  wrong |= m->mutexLock(j->mutex) != kOfxStatOK; /* recursive */
  j->guarded++;
  wrong |= m->mutexUnLock(j->mutex) != kOfxStatOK || m->mutexUnLock(j->mutex) != kOfxStatOK;
  if (wrong) atomic_store(&j->wrong, 1);
}

static void *try_held(void *argument) {
  Jobs *j = argument;
  if (esh_thread_suite.mutexTryLock(j->held) != kOfxStatFailed) atomic_store(&j->wrong, 1);
  return NULL;
}

static _Thread_local int calls_suite, has_worked;
static atomic_int workers; /* threads that have had a job */

/* The caller waits until another thread has had a job of this call. */
static void shared_job(unsigned index, unsigned count, void *argument) {
  Jobs *j = argument;
  if (!has_worked) atomic_fetch_add(&workers, 1);
  has_worked = 1;
  if (!calls_suite) atomic_store(&j->shared, 1);
  while (!atomic_load(&j->shared)) sched_yield();
  job(index, count, argument);
}

/* A thread of the host that asks for jobs again and again, as others do at the same time. */
static void *call_often(void *argument) {
  Jobs *j = argument;
  calls_suite = 1;
  for (int call = 0; call < 50; call++) {
    atomic_store(&j->shared, 0);
    if (esh_thread_suite.multiThread(shared_job, JOBS, j) != kOfxStatOK) atomic_store(&j->wrong, 1);
  }
  return NULL;
}

static void kept_threads(void) {
  EshConfig config = plain;
  config.keeps_threads = 1;
  Stage t = stage(&config, ESH_FLOAT, ESH_RGBA, "pattern:ramp");
  static Jobs jobs[3];
  pthread_t callers[3];
  memset(jobs, 0, sizeof jobs);
  for (int i = 0; i < 3; i++) CHECK(esh_thread_suite.mutexCreate(&jobs[i].mutex, 0) == kOfxStatOK);
  for (int i = 0; i < 3; i++) CHECK(!pthread_create(&callers[i], NULL, call_often, &jobs[i]));
  for (int i = 0; i < 3; i++) CHECK(!pthread_join(callers[i], NULL));
  CHECK(atomic_load(&workers) <= 3 + 2); /* the callers and the two others of three CPUs */
  for (int i = 0; i < 3; i++) {
    for (int n = 0; n < JOBS; n++) CHECK(atomic_load(&jobs[i].runs[n]) == 50);
    CHECK(jobs[i].guarded == 50 * JOBS && !atomic_load(&jobs[i].wrong));
    CHECK(esh_thread_suite.mutexDestroy(jobs[i].mutex) == kOfxStatOK);
  }
  EshHost *host = strike(&t);
  CHECK(esh_fault_count(host) == 1 && strstr(esh_fault(host, 0), "from within one of its jobs")); /* each job tries */
  esh_host_destroy(host);
}

static void suites(void) {
  const OfxMultiThreadSuiteV1 *m = &esh_thread_suite;
  for (unsigned run = 0; run < 4; run++) {
    const unsigned cpus = run & 1 ? 4 : 1;
    EshConfig config = plain;
    config.threads = cpus;
    config.keeps_threads = run > 1;
    Stage t = stage(&config, ESH_FLOAT, ESH_RGBA, "pattern:ramp");
    unsigned n = 0;
    static Jobs j;
    memset(&j, 0, sizeof j);
    CHECK(m->multiThreadNumCPUs(&n) == kOfxStatOK && n == cpus);
    CHECK(m->multiThreadIndex(&n) == kOfxStatOK && n == 0 && !m->multiThreadIsSpawnedThread());
    CHECK(m->mutexCreate(&j.mutex, 0) == kOfxStatOK && m->mutexCreate(&j.held, 1) == kOfxStatOK);
    CHECK(m->multiThread(job, JOBS, &j) == kOfxStatOK);
    for (int i = 0; i < JOBS; i++) CHECK(atomic_load(&j.runs[i]) == 1);
    CHECK(j.guarded == JOBS);
    pthread_t other;
    CHECK(!pthread_create(&other, NULL, try_held, &j) && !pthread_join(other, NULL));
    CHECK(!atomic_load(&j.wrong));
    CHECK(m->mutexTryLock(j.held) == kOfxStatOK && m->mutexUnLock(j.held) == kOfxStatOK);
    CHECK(m->mutexUnLock(j.held) == kOfxStatOK);
    CHECK(m->mutexDestroy(j.held) == kOfxStatOK && m->mutexDestroy(j.mutex) == kOfxStatOK);
    CHECK(m->mutexDestroy(j.mutex) == kOfxStatErrBadHandle);
    CHECK(m->multiThread(NULL, 1, NULL) == kOfxStatErrValue);

    void *block, *locked;
    CHECK(esh_memory_suite.memoryAlloc(NULL, 100, &block) == kOfxStatOK && memset(block, 1, 100));
    CHECK(esh_memory_suite.memoryFree(block) == kOfxStatOK && esh_memory_suite.memoryFree(&n) == kOfxStatErrBadHandle);
    OfxImageMemoryHandle image;
    CHECK(esh_effect_suite.imageMemoryAlloc(t.instance, 64, &image) == kOfxStatOK);
    CHECK(esh_effect_suite.imageMemoryLock(image, &locked) == kOfxStatOK && memset(locked, 1, 64));
    CHECK(esh_effect_suite.imageMemoryUnlock(image) == kOfxStatOK);
    CHECK(esh_effect_suite.imageMemoryUnlock(image) == kOfxStatFailed); /* not locked any more */
    CHECK(esh_effect_suite.imageMemoryFree(image) == kOfxStatOK);

    double a = 0, b = 0;
    CHECK(esh_timeline_suite.getTimeBounds(t.instance, &a, &b) == kOfxStatOK && a == 0 && b == 4);
    CHECK(esh_timeline_suite.gotoTime(t.instance, 3) == kOfxStatOK);
    CHECK(esh_timeline_suite.gotoTime(t.instance, 5) == kOfxStatErrValue);
    CHECK(esh_timeline_suite.getTime(t.instance, &a) == kOfxStatOK && a == 3);
    CHECK(esh_timeline_suite.getTime(NULL, &a) == kOfxStatErrBadHandle);

    const OfxProgressSuiteV1 *p = &esh_progress_suite1;
    CHECK(p->progressStart(t.instance, "x") == kOfxStatOK && p->progressUpdate(t.instance, 0.5) == kOfxStatOK);
    CHECK(p->progressStart(t.instance, "x") == kOfxStatFailed && p->progressEnd(t.instance) == kOfxStatOK);
    CHECK(p->progressEnd(t.instance) == kOfxStatFailed && p->progressUpdate(t.instance, 0) == kOfxStatFailed);

    const OfxMessageSuiteV2 *s = &esh_message_suite2;
    CHECK(s->message(NULL, kOfxMessageQuestion, "q", "%d %s", 5, "per cent?") == kOfxStatReplyYes);
    CHECK(!strcmp(esh_message(t.host, 0).text, "5 per cent?") && !strcmp(esh_message(t.host, 0).id, "q"));
    CHECK(s->setPersistentMessage(t.instance, kOfxMessageError, NULL, "one") == kOfxStatOK);
    CHECK(s->setPersistentMessage(t.instance, kOfxMessageError, NULL, "two") == kOfxStatOK);
    CHECK(esh_message(t.host, 1).cleared && !esh_message(t.host, 2).cleared);
    CHECK(s->clearPersistentMessage(t.instance) == kOfxStatOK && esh_message(t.host, 2).cleared);
    CHECK(s->setPersistentMessage(t.instance, kOfxMessageQuestion, NULL, "no") == kOfxStatErrValue);

    OfxPropertySetHandle own = t.host->ofx.host;
    CHECK(t.host->ofx.fetchSuite(own, kOfxMessageSuite, 2) == &esh_message_suite2);
    CHECK(!t.host->ofx.fetchSuite(own, kOfxMessageSuite, 3) && !t.host->ofx.fetchSuite(own, "OfxNoSuite", 1));
    esh_host_destroy(strike(&t));
  }
}

/* What a hostile host takes away or answers wrongly is as the configuration says, and no fault of the plug-in. */
static void hostile(void) {
  EshConfig config = plain;
  config.null_functions[0] = "abort";
  config.null_functions[1] = "message";
  Stage t = stage(&config, ESH_FLOAT, ESH_RGBA, "pattern:noise");
  EshConfig *c = esh_config(t.host);
  OfxPropertySetHandle own = t.host->ofx.host;
  const OfxImageEffectSuiteV1 *effects = t.host->ofx.fetchSuite(own, kOfxImageEffectSuite, 1);
  const OfxMessageSuiteV2 *messages = t.host->ofx.fetchSuite(own, kOfxMessageSuite, 2);
  CHECK(!effects->abort && effects->clipGetImage == esh_effect_suite.clipGetImage);
  CHECK(!messages->message && messages->clearPersistentMessage == esh_message_suite2.clearPersistentMessage);

  const OfxPropertySuiteV1 *p = &esh_property_suite;
  int read = 0, refused = 0, all = 0, number;
  for (c->refuse_seed = 1; c->refuse_seed <= 200; c->refuse_seed++) {
    read += p->propGetInt(own, kOfxPropAPIVersion, 0, &number) == kOfxStatOK;
    refused += p->propGetInt(own, kOfxImageEffectPropTemporalClipAccess, 0, &number) != kOfxStatOK;
    c->refuse_essential = 1;
    all += p->propGetInt(own, kOfxImageEffectPropTemporalClipAccess, 0, &number) != kOfxStatOK;
    c->refuse_essential = 0;
  }
  c->refuse_seed = 0;
  CHECK(read > 100 && read < 195 && !refused && all > 5 && all < 100);
  OfxPropertySetHandle strict = esh_props_new(t.host, "ImageEffectHost", esh_copy("whole"));
  int omitted = 0;
  for (c->omit_seed = 1; c->omit_seed <= 20; c->omit_seed++) {
    OfxPropertySetHandle thin = esh_props_new(t.host, "ImageEffectHost", esh_copy("thin"));
    omitted += thin->count < strict->count;
    CHECK(thin->count > 0);
    esh_props_free(thin);
  }
  c->omit_seed = 0;
  CHECK(omitted > 0);
  esh_props_free(strict);

  OfxParamHandle gain = esh_param_find(t.instance, "gain"), invert = esh_param_find(t.instance, "invert");
  double value = 5;
  int flag = 5;
  c->odd_params = ESH_PARAMS_UNREADABLE;
  CHECK(esh_parameter_suite.paramGetValueAtTime(gain, 0.0, &value) != kOfxStatOK && value == 5);
  c->odd_params = ESH_PARAMS_NONSENSE;
  CHECK(esh_parameter_suite.paramGetValueAtTime(gain, 0.0, &value) == kOfxStatOK && !(value >= 0 && value <= 1000));
  CHECK(esh_parameter_suite.paramGetValueAtTime(invert, 0.0, &flag) == kOfxStatOK && flag != 0 && flag != 1);
  c->odd_params = ESH_PARAMS_READ_ONLY;
  CHECK(esh_parameter_suite.paramSetValue(gain, 2.0) != kOfxStatOK);
  c->odd_params = ESH_PARAMS_SOUND;
  unsigned cpus;
  c->odd_threads = ESH_THREADS_NO_CPU;
  CHECK(esh_thread_suite.multiThreadNumCPUs(&cpus) == kOfxStatOK && cpus == 0);
  static Jobs j;
  memset(&j, 0, sizeof j);
  c->odd_threads = ESH_THREADS_IDLE;
  CHECK(esh_thread_suite.multiThread(job, JOBS, &j) == kOfxStatOK && !atomic_load(&j.runs[0]));
  c->odd_threads = ESH_THREADS_SOUND;
  c->odd_timeline = 1;
  double first = 0, last = 0;
  CHECK(esh_timeline_suite.getTimeBounds(t.instance, &first, &last) == kOfxStatOK && isnan(first));
  c->odd_timeline = 0;
  CHECK(esh_fault_count(t.host) == 0);
  show_faults(t.host);

  /* Frames at once, in any order of windows, are the same frames in the same order. */
  char err[ESH_ERR];
  CHECK(esh_param_edit(t.instance, "gain", "1.5", err) == 0);
  Sheet one = {0}, two = {0};
  CHECK(render(t.instance, 0, 4, &one).rendered == 5);
  c->frames_at_once = 3, c->tile_width = 4, c->tile_height = 3, c->tile_order = 7, c->thread_stack = 256 * 1024;
  CHECK(render(t.instance, 0, 4, &two).rendered == 5);
  CHECK(one.length == two.length && !memcmp(one.bytes, two.bytes, one.length));
  free(one.bytes);
  free(two.bytes);
  esh_host_destroy(strike(&t));
}

static void write_text(const char *path, const char *text) {
  FILE *f = fopen(path, "w");
  if (!f) exit(1);
  fputs(text, f);
  fclose(f);
}

static void project(void) {
  char *path = esh_temporary_path("host-test"), err[ESH_ERR];
  const int fd = mkstemp(path);
  if (fd < 0) exit(1);
  close(fd);
  Stage t = stage(&plain, ESH_FLOAT, ESH_RGBA, "pattern:noise");
  OfxStatus status;
  CHECK(esh_button_press(t.instance, "measureClip", &status, err) == 0 && status == kOfxStatOK);
  CHECK(esh_param_edit(t.instance, "gain", "0.1", err) == 0); /* 0.1 has no short binary form */
  CHECK(esh_param_edit(t.instance, "opaque", "line\nquote \" back \\ tab\t \x01 \xc3\xa9", err) == 0);
  CHECK(esh_param_edit(t.instance, "scratch", "not kept", err) == 0);
  CHECK(esh_param_edit(t.instance, "blob", "00ff10", err) == 0);
  CHECK(esh_param_edit(t.instance, "wash", "1,0.1,1e-300,0", err) == 0);
  Sheet one = {0}, two = {0};
  CHECK(render(t.instance, 0, 4, &one).rendered == 5);
  CHECK(esh_project_save(t.instance, path, err) == 0);
  CHECK(esh_project_save(t.instance, "/no/such/folder/file", err) == -1 && strstr(err, "/no/such/folder/file"));
  EshEffect *fresh = esh_instance_new(t.context, t.source, err);
  CHECK(esh_project_load(fresh, path, err) == 0 && esh_instance_create(fresh) == kOfxStatOK);
  CHECK(render(fresh, 0, 4, &two).rendered == 5);
  CHECK(one.length == two.length && !memcmp(one.bytes, two.bytes, one.length));
  CHECK(!strcmp(esh_param_string_value(esh_param_find(fresh, "opaque")), "line\nquote \" back \\ tab\t \x01 \xc3\xa9"));
  CHECK(!*esh_param_string_value(esh_param_find(fresh, "scratch")));
  char *text = esh_param_text(esh_param_find(fresh, "blob"));
  CHECK(!strcmp(text, "\"00ff10\""));
  free(text);
  static const char head[] = "ofxhost-project 1\nplugin org.evenstop.test.effect 1\n";
  static const struct {
    const char *body, *report;
    int with_head;
  } wrong[] = {{"", "not a project file", 0},
               {"nonsense\n", ":1:", 0},
               {"ofxhost-project 1\nplugin org.evenstop.test.effect 2\n", ":2:", 0},
               {"param gain OfxParamTypeDouble 0.5\nparam gone OfxParamTypeDouble 1\n", ":4: the plug-in has no", 1},
               {"param gain OfxParamTypeInteger 1\n", "is of type OfxParamTypeDouble", 1},
               {"param gain OfxParamTypeDouble 9\n", "from 0 to 4", 1},
               {"param gain OfxParamTypeDouble 0.5 trailing\n", "not a number", 1},
               {"param stored OfxParamTypeString \"open\n", "double quotes", 1},
               {"param stored OfxParamTypeString \"bad \\q\"\n", "double quotes", 1},
               {"param stored\n", "a line is", 1}};
  for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
    char *all = esh_format("%s%s", wrong[i].with_head ? head : "", wrong[i].body);
    write_text(path, all);
    free(all);
    const int good = esh_project_load(fresh, path, err) == -1 && strstr(err, wrong[i].report);
    CHECK(good);
    if (!good) printf("  case %zu: %s\n", i, err);
    double gain;
    CHECK(esh_parameter_suite.paramGetValue(esh_param_find(fresh, "gain"), &gain) == kOfxStatOK && gain == 0.1);
  }
  CHECK(esh_project_load(fresh, "/no/such/file", err) == -1);
  unlink(path);
  free(path);
  esh_instance_destroy(fresh);
  free(one.bytes);
  free(two.bytes);
  EshHost *host = strike(&t);
  CHECK(esh_fault_count(host) == 0);
  show_faults(host);
  esh_host_destroy(host);
}

int main(int argc, char **argv) {
  static const struct {
    const char *name;
    void (*run)(void);
  } cases[] = {{"properties", properties_strict}, {"lenient", lenient}, {"parameters", parameters},
               {"patterns", patterns},            {"layouts", layouts}, {"faults", faults},
               {"cancel", cancel},                {"abort", aborted},   {"project", project},
               {"colour", colour},                {"suites", suites},
               {"threads", kept_threads},
               {"hostile", hostile}};
  int found = 0;
  bundle_path = argc > 1 ? argv[1] : "";
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++)
    if (argc < 3 || !strcmp(argv[2], cases[i].name)) {
      cases[i].run();
      found = 1;
    }
  printf("%d checks, %d failures\n", checks, failures);
  return failures || !found;
}
