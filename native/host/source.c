/* SPDX-License-Identifier: Apache-2.0
 *
 * Where a clip's frames come from: raw files, and pictures made by a formula. Frames are top row first here.
 */
#include "internal.h"

#include <errno.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

struct EshSource {
  EshFormat format;
  char *name;
  FILE *file; /* raw */
  pthread_mutex_t file_lock;
  enum { RAMP, BARS, NOISE, GRADIENT, FLAT } pattern;
  double argument;
};

const char esh_pattern_help[] =
    "  ramp          grey, every 10-bit code 4..1019 as level (code - 64) / 876; across the width when that is 1016 or\n"
    "                more, else pixel after pixel from the top left, over and over\n"
    "  bars          eight bars white yellow cyan green magenta red blue black, 100 % above, 75 % below\n"
    "  noise[:SEED]  every sample on its own, even over -0.07 to 1.09, another picture each frame\n"
    "  gradient      red rises left to right, green bottom to top, blue along both; moves one pixel a frame\n"
    "  flat[:LEVEL]  one grey everywhere, 0.5 unless said otherwise\n"
    "  Byte and short samples are rounded and held to their range. Alpha is 1 in an opaque clip; otherwise it rises\n"
    "  from 0 at the bottom row to 1 at the top, and premultiplied colour is multiplied by it.\n";

size_t esh_depth_bytes(EshDepth depth) { return depth == ESH_BYTE ? 1 : depth == ESH_FLOAT ? 4 : 2; }
int esh_component_count(EshComponents components) { return components == ESH_RGBA ? 4 : components == ESH_RGB ? 3 : 1; }
size_t esh_frame_bytes(const EshFormat *f) {
  return (size_t)f->width * (size_t)f->height * esh_depth_bytes(f->depth) * (size_t)esh_component_count(f->components);
}

static int index_of(const char *const *names, int count, const char *name) {
  for (int i = 0; i < count; i++)
    if (!strcmp(names[i], name)) return i;
  return -1;
}

int esh_depth_from_name(const char *name) {
  static const char *const names[] = {"byte", "short", "half", "float"};
  return index_of(names, 4, name);
}
int esh_components_from_name(const char *name) {
  static const char *const names[] = {"rgba", "rgb", "alpha"};
  return index_of(names, 3, name);
}
int esh_premult_from_name(const char *name) {
  static const char *const names[] = {"opaque", "premultiplied", "unpremultiplied"};
  return index_of(names, 3, name);
}
const char *esh_depth_ofx(EshDepth depth) {
  static const char *const values[] = {kOfxBitDepthByte, kOfxBitDepthShort, kOfxBitDepthHalf, kOfxBitDepthFloat};
  return values[depth];
}
const char *esh_components_ofx(EshComponents components) {
  static const char *const values[] = {kOfxImageComponentRGBA, kOfxImageComponentRGB, kOfxImageComponentAlpha};
  return values[components];
}
const char *esh_premult_ofx(EshPremult premult) {
  static const char *const values[] = {kOfxImageOpaque, kOfxImagePreMultiplied, kOfxImageUnPreMultiplied};
  return values[premult];
}

/* IEEE 754 binary16, round to nearest even; overflow to infinity, NaN stays NaN. */
uint16_t esh_half_from_float(float value) {
  uint32_t bits;
  memcpy(&bits, &value, 4);
  const uint32_t sign = bits >> 16 & 0x8000u;
  const uint32_t magnitude = bits & 0x7fffffffu;
  if (magnitude > 0x7f800000u) return (uint16_t)(sign | 0x7e00u);
  if (magnitude >= 0x477ff000u) return (uint16_t)(sign | 0x7c00u); /* 65520 and above round to infinity */
  if (magnitude < 0x38800000u) { /* below 2^-14: subnormal, units of 2^-24 */
    const float scaled = fabsf(value) * 16777216.0f;
    return (uint16_t)(sign | (uint32_t)lrintf(scaled));
  }
  const uint32_t rounded = magnitude + 0xfffu + (magnitude >> 13 & 1u);
  return (uint16_t)(sign | (rounded - 0x38000000u) >> 13);
}

static int bad_format(const EshFormat *f, char *err) {
  if (f->width < 1 || f->width > 32768 || f->height < 1 || f->height > 32768) {
    esh_error(err, "size %dx%d; give width and height from 1 to 32768", f->width, f->height);
    return -1;
  }
  if (f->last < f->first) {
    esh_error(err, "frames %d-%d: the last comes before the first", f->first, f->last);
    return -1;
  }
  if (!(f->frame_rate > 0 && isfinite(f->frame_rate)) || !(f->pixel_aspect > 0 && isfinite(f->pixel_aspect))) {
    esh_error(err, "frame rate %g, pixel aspect %g: both must be above 0", f->frame_rate, f->pixel_aspect);
    return -1;
  }
  return 0;
}

static int open_raw(EshSource *s, const char *path, char *err) {
  s->file = fopen(path, "rb");
  if (!s->file) {
    esh_error(err, "%s: %s", path, strerror(errno));
    return -1;
  }
  const long frame = (long)esh_frame_bytes(&s->format);
  const long wanted = s->format.last - s->format.first + 1;
  if (fseek(s->file, 0, SEEK_END)) {
    esh_error(err, "%s: %s", path, strerror(errno));
    return -1;
  }
  const long size = ftell(s->file);
  if (size % frame || size / frame < wanted) {
    esh_error(err,
              "%s: %ld bytes is %s; a frame of this size, depth and components has %ld bytes, %ld frame%s asked for",
              path, size, size % frame ? "not a whole number of frames" : "too short", frame, wanted,
              wanted == 1 ? " is" : "s are");
    return -1;
  }
  return 0;
}

static int open_pattern(EshSource *s, const char *name, char *err) {
  static const char *const names[] = {"ramp", "bars", "noise", "gradient", "flat"};
  const char *colon = strchr(name, ':');
  const size_t length = colon ? (size_t)(colon - name) : strlen(name);
  int found = -1;
  for (int i = 0; i < 5; i++)
    if (strlen(names[i]) == length && !memcmp(names[i], name, length)) found = i;
  if (found < 0) {
    esh_error(err, "no pattern \"%s\"; there are ramp, bars, noise[:SEED], gradient, flat[:LEVEL]", name);
    return -1;
  }
  s->pattern = found;
  s->argument = found == FLAT ? 0.5 : 1;
  if (!colon) return 0;
  char *end;
  s->argument = strtod(colon + 1, &end);
  const int seed_ok = s->argument >= 0 && s->argument <= 4294967295.0 && s->argument == floor(s->argument);
  if (end == colon + 1 || *end || !isfinite(s->argument) || (found != NOISE && found != FLAT) ||
      (found == NOISE && !seed_ok)) {
    esh_error(err, "pattern \"%s\": noise takes a seed from 0 to 4294967295, flat takes a level, others nothing", name);
    return -1;
  }
  return 0;
}

EshSource *esh_source_open(const char *spec, const EshFormat *format, char *err) {
  if (bad_format(format, err)) return NULL;
  EshSource *s = esh_alloc(sizeof *s);
  memset(s, 0, sizeof *s);
  s->format = *format;
  s->name = esh_copy(spec);
  pthread_mutex_init(&s->file_lock, NULL);
  int bad;
  if (!strncmp(spec, "raw:", 4)) bad = open_raw(s, spec + 4, err);
  else if (!strncmp(spec, "pattern:", 8)) bad = open_pattern(s, spec + 8, err);
  else {
    esh_error(err, "source \"%s\"; give raw:FILE or pattern:NAME", spec);
    bad = -1;
  }
  if (!bad) return s;
  esh_source_close(s);
  return NULL;
}

void esh_source_close(EshSource *s) {
  if (!s) return;
  if (s->file) fclose(s->file);
  pthread_mutex_destroy(&s->file_lock);
  free(s->name);
  free(s);
}

const EshFormat *esh_source_format(const EshSource *s) { return &s->format; }

/* A fixed mixing of 64 bits, so that noise is the same everywhere; the constants are those of common 64-bit finalisers
 * (multiply by an odd constant, fold the high half down; common practice, no source). */
static uint64_t mix(uint64_t x) {
  x ^= x >> 32;
  x *= 0xd6e8feb86659fd93u;
  x ^= x >> 32;
  x *= 0xd6e8feb86659fd93u;
  return x ^ x >> 32;
}

/* Colour of a pixel: x from the left, y from the top. */
static void colour(const EshSource *s, int frame, int x, int y, double rgb[3]) {
  const EshFormat *f = &s->format;
  switch (s->pattern) {
    case RAMP: {
      const long long code = f->width >= 1016 ? 4 + (long long)x * 1016 / f->width
                                              : 4 + ((long long)y * f->width + x) % 1016;
      rgb[0] = rgb[1] = rgb[2] = (double)(code - 64) / 876;
      break;
    }
    case BARS: {
      const int bar = (int)((long long)x * 8 / f->width);
      const double level = y < (f->height + 1) / 2 ? 1 : 0.75;
      /* white yellow cyan green magenta red blue black: green counts slowest, then red, then blue */
      rgb[0] = bar & 2 ? 0 : level;
      rgb[1] = bar & 4 ? 0 : level;
      rgb[2] = bar & 1 ? 0 : level;
      break;
    }
    case NOISE:
      for (int c = 0; c < 3; c++) {
        uint64_t v = mix((uint64_t)s->argument + 0x9e3779b97f4a7c15u);
        v = mix(v ^ (uint64_t)(uint32_t)frame);
        v = mix(v ^ ((uint64_t)(uint32_t)y << 32 | (uint32_t)x));
        rgb[c] = -0.07 + 1.16 * (double)(mix(v + (uint64_t)c) >> 11) / 9007199254740992.0;
      }
      break;
    case GRADIENT: {
      const int moved = (int)(((long long)x + frame) % f->width + f->width) % f->width;
      const double across = f->width > 1 ? (double)moved / (f->width - 1) : 0;
      const double up = f->height > 1 ? (double)(f->height - 1 - y) / (f->height - 1) : 0;
      rgb[0] = across;
      rgb[1] = up;
      rgb[2] = (across + up) / 2;
      break;
    }
    case FLAT: rgb[0] = rgb[1] = rgb[2] = s->argument; break;
  }
}

static void store(unsigned char *to, EshDepth depth, double value) {
  const double held = value < 0 ? 0 : value > 1 ? 1 : value;
  if (depth == ESH_BYTE) {
    *to = (unsigned char)(held * 255 + 0.5);
  } else if (depth == ESH_SHORT) {
    const uint16_t v = (uint16_t)(held * 65535 + 0.5);
    memcpy(to, &v, 2);
  } else if (depth == ESH_HALF) {
    const uint16_t v = esh_half_from_float((float)value);
    memcpy(to, &v, 2);
  } else {
    const float v = (float)value;
    memcpy(to, &v, 4);
  }
}

static void draw(const EshSource *s, int frame, unsigned char *to) {
  const EshFormat *f = &s->format;
  const size_t bytes = esh_depth_bytes(f->depth);
  for (int y = 0; y < f->height; y++)
    for (int x = 0; x < f->width; x++) {
      const double alpha = f->premult == ESH_OPAQUE ? 1
                           : f->height > 1           ? (double)(f->height - 1 - y) / (f->height - 1)
                                                     : 1;
      if (f->components != ESH_ALPHA) {
        double rgb[3] = {0};
        colour(s, frame, x, y, rgb);
        for (int c = 0; c < 3; c++, to += bytes)
          store(to, f->depth, f->premult == ESH_PREMULTIPLIED ? rgb[c] * alpha : rgb[c]);
      }
      if (f->components != ESH_RGB) {
        store(to, f->depth, alpha);
        to += bytes;
      }
    }
}

int esh_source_read(EshSource *s, int frame, void *top_down, char *err) {
  if (frame < s->format.first || frame > s->format.last) {
    esh_error(err, "%s: frame %d is outside %d-%d", s->name, frame, s->format.first, s->format.last);
    return -1;
  }
  if (!s->file) {
    draw(s, frame, top_down);
    return 0;
  }
  const size_t bytes = esh_frame_bytes(&s->format);
  pthread_mutex_lock(&s->file_lock);
  int bad = fseek(s->file, (long)bytes * (frame - s->format.first), SEEK_SET);
  if (!bad) bad = fread(top_down, 1, bytes, s->file) != bytes;
  pthread_mutex_unlock(&s->file_lock);
  if (bad) esh_error(err, "%s: frame %d cannot be read", s->name, frame);
  return bad ? -1 : 0;
}
