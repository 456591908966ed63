/* SPDX-License-Identifier: Apache-2.0
 *
 * The reference maths of the benchmark; see curves.h. Compiled as it stands at -O3, and once more for this very processor.
 */
#include "curves.h"

#ifdef EVB_NATIVE
#define NAME(name) name##_native
#else
#define NAME(name) name
#endif

#if defined(__GNUC__)
#define EXPORT __attribute__((visibility("default")))
#else
#define EXPORT
#endif

enum { MOST_COLUMNS = 16384, BLACK = 64, SPAN = 876, CHROMA_SPAN = 896, ACHROMATIC = 512, LOWEST = 4, HIGHEST = 1019 };

static inline float at(const EvbCurve *c, float x) {
  const float last = (float)c->segments;
  const float t = x * c->scale + c->offset;
  float inside = t > 0 ? t : 0;
  inside = inside < last ? inside : last;
  int i = (int)inside;
  i = i < c->segments - 1 ? i : c->segments - 1;
  const float f = inside - (float)i;
  const float *k = c->k[i];
  return k[0] + f * (k[1] + f * (k[2] + f * k[3])) + (t - inside) * (t < 0 ? c->below : c->above);
}

static inline float finite(float v) {
  if (v >= -65504.f && v <= 65504.f) return v;
  return v != v ? 0 : v < 0 ? -65504.f : 65504.f;
}

static inline void scale_chroma(const EvbCorrection *c, const EvbCurve *factor, float *r, float *g, float *b) {
  const float y = c->wr * *r + c->wg * *g + c->wb * *b;
  const float s = at(factor, y);
  const float middle = *r == *g && *g == *b ? *r : y;
  *r = middle + s * (*r - middle);
  *g = middle + s * (*g - middle);
  *b = middle + s * (*b - middle);
}

static inline void tone(const EvbCorrection *c, float *r, float *g, float *b) {
  if (c->chroma_in.active) scale_chroma(c, &c->chroma_in, r, g, b);
  *r = at(&c->tone, *r);
  *g = at(&c->tone, *g);
  *b = at(&c->tone, *b);
}

void EXPORT NAME(evb_rgba_float)(const float *restrict from, float *restrict to, int64_t pixels,
                                 const EvbCorrection *restrict c) {
  for (int64_t i = 0; i < pixels; i++) {
    float r = finite(from[4 * i]), g = finite(from[4 * i + 1]), b = finite(from[4 * i + 2]);
    tone(c, &r, &g, &b);
    if (c->chroma_out.active) scale_chroma(c, &c->chroma_out, &r, &g, &b);
    to[4 * i] = r;
    to[4 * i + 1] = g;
    to[4 * i + 2] = b;
    to[4 * i + 3] = from[4 * i + 3];
  }
}

static inline uint16_t code(float v) {
  const int rounded = (int)(v + 0.5f);
  return (uint16_t)(rounded < LOWEST ? LOWEST : rounded > HIGHEST ? HIGHEST : rounded);
}

typedef struct Matrix {
  float to_red, to_blue, red_to_green, blue_to_green;
} Matrix;

static inline void to_rgb(const Matrix *m, float y, float cb, float cr, float *r, float *g, float *b) {
  *r = y + m->to_red * cr;
  *g = y - m->red_to_green * cr - m->blue_to_green * cb;
  *b = y + m->to_blue * cb;
}

void EXPORT NAME(evb_planar_422_10)(const EvbPlanar *frame, int32_t row_from, int32_t row_to, const EvbCorrection *c) {
  static const double red = 0.2126, green = 0.7152, blue = 0.0722; /* ITU-R BT.709-6 item 3.2 */
  const double cr_divisor = 2 * (1 - red), cb_divisor = 2 * (1 - blue);
  const Matrix m = {(float)cr_divisor, (float)cb_divisor, (float)(red * cr_divisor / green), (float)(blue * cb_divisor / green)};
  const float per_code = 1.f / SPAN, per_chroma = 1.f / CHROMA_SPAN, per_level = 1.f / per_code;
  const float per_blue = 1.f / (m.to_blue * per_chroma), per_red = 1.f / (m.to_red * per_chroma);
  float luma[MOST_COLUMNS], cb[MOST_COLUMNS / 2], cr[MOST_COLUMNS / 2];
  const int width = frame->width, half = (width + 1) / 2;
  for (int row = row_from; row < row_to; row++) {
    const uint16_t *y_row = frame->y + (int64_t)row * frame->stride;
    const uint16_t *cb_row = frame->cb + (int64_t)row * frame->chroma_stride;
    const uint16_t *cr_row = frame->cr + (int64_t)row * frame->chroma_stride;
    uint16_t *to_y = frame->to_y + (int64_t)row * frame->stride;
    uint16_t *to_cb = frame->to_cb + (int64_t)row * frame->chroma_stride;
    uint16_t *to_cr = frame->to_cr + (int64_t)row * frame->chroma_stride;
    for (int x = 0; x < width; x++) luma[x] = (float)(y_row[x] - BLACK) * per_code;
    for (int x = 0; x < half; x++) {
      cb[x] = (float)(cb_row[x] - ACHROMATIC) * per_chroma;
      cr[x] = (float)(cr_row[x] - ACHROMATIC) * per_chroma;
    }
    for (int x = 0; x < width; x++) {
      const int own = x >> 1, other = own < half - 1 ? own + 1 : half - 1;
      const float share = x & 1 ? 0.5f : 0.f;
      float r, g, b;
      to_rgb(&m, luma[x], cb[own] + share * (cb[other] - cb[own]), cr[own] + share * (cr[other] - cr[own]), &r, &g, &b);
      tone(c, &r, &g, &b);
      to_y[x] = code((c->wr * r + c->wg * g + c->wb * b) * per_level + BLACK);
    }
    for (int i = 0; i < half; i++) {
      const int x = 2 * i, left = x > 0 ? x - 1 : 0, right = x < width - 1 ? x + 1 : width - 1;
      const float y = 0.5f * luma[x] + 0.25f * (luma[left] + luma[right]);
      float r, g, b;
      to_rgb(&m, y, cb[i], cr[i], &r, &g, &b);
      tone(c, &r, &g, &b);
      if (c->chroma_out.active) scale_chroma(c, &c->chroma_out, &r, &g, &b);
      const float new_y = c->wr * r + c->wg * g + c->wb * b;
      to_cb[i] = code((b - new_y) * per_blue + ACHROMATIC);
      to_cr[i] = code((r - new_y) * per_red + ACHROMATIC);
    }
  }
}
