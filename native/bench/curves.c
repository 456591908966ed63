/* SPDX-License-Identifier: Apache-2.0
 *
 * The reference maths of the benchmark; see curves.h. Compiled as it stands at -O3, and once more for this very processor.
 */
#include "curves.h"

#include <string.h>

#include "names.h"

enum { MOST_COLUMNS = 16384, BLACK = 64, SPAN = 876, CHROMA_SPAN = 896, ACHROMATIC = 512, LOWEST = 4, HIGHEST = 1019 };

/* Pixels in flight, few enough to stay in the first-level cache: measured, this is half as long again as fast as one loop that
 * does everything to a pixel, for the compiler turns the loops without a table into vector code. */
enum { BLOCK = 512 };
typedef struct Block {
  float r[BLOCK], g[BLOCK], b[BLOCK], y[BLOCK], s[BLOCK];
} Block;

static inline float held(float v) {
  if (v >= -65504.f && v <= 65504.f) return v;
  return v != v ? 0 : v < 0 ? -65504.f : 65504.f;
}

static void apply(const EvbCurve *restrict c, float *restrict v, int n) {
  const float rounder = 12582912.f; /* 1.5 * 2^23: the sum's low bits are the nearest whole number */
  const float scale = c->scale, offset = c->offset, highest = c->highest, below = c->below, above = c->above;
  for (int j = 0; j < n; j++) {
    const float t = v[j] * scale + offset;
    float inside = t < -0.5f ? -0.5f : t;
    inside = inside > highest ? highest : inside;
    const float rounded = inside + rounder;
    uint32_t bits;
    memcpy(&bits, &rounded, sizeof bits);
    const float *k = c->k[bits & 0x3fffffu];
    const float f = inside - (rounded - rounder);
    v[j] = k[0] + f * (k[1] + f * (k[2] + f * k[3])) + (t - inside) * (t < -0.5f ? below : above);
  }
}

static void scale_chroma(const EvbCorrection *c, const EvbCurve *factor, Block *restrict p, int n) {
  const float wr = c->wr, wb = c->wb;
  for (int i = 0; i < n; i++) {
    /* Around green, so that a grey pixel's luma is its level exactly. */
    p->y[i] = p->g[i] + wr * (p->r[i] - p->g[i]) + wb * (p->b[i] - p->g[i]);
    p->s[i] = p->y[i];
  }
  apply(factor, p->s, n);
  for (int i = 0; i < n; i++) {
    p->r[i] = p->y[i] + p->s[i] * (p->r[i] - p->y[i]);
    p->g[i] = p->y[i] + p->s[i] * (p->g[i] - p->y[i]);
    p->b[i] = p->y[i] + p->s[i] * (p->b[i] - p->y[i]);
  }
}

static void luma(const EvbCorrection *c, Block *restrict p, int n) {
  const float wr = c->wr, wg = c->wg, wb = c->wb;
  for (int i = 0; i < n; i++) p->y[i] = wr * p->r[i] + wg * p->g[i] + wb * p->b[i];
}

static void tone(const EvbCorrection *c, Block *p, int n) {
  if (c->chroma_in.active) scale_chroma(c, &c->chroma_in, p, n);
  if (c->tone.active) {
    apply(&c->tone, p->r, n);
    apply(&c->tone, p->g, n);
    apply(&c->tone, p->b, n);
  }
}

void EXPORT NAME(evb_rgba_float)(const float *restrict from, float *restrict to, int64_t pixels,
                                 const EvbCorrection *restrict c) {
  Block p;
  for (; pixels > 0; pixels -= BLOCK, from += 4 * BLOCK, to += 4 * BLOCK) {
    const int n = pixels < BLOCK ? (int)pixels : BLOCK;
    for (int i = 0; i < n; i++) {
      p.r[i] = held(from[4 * i]);
      p.g[i] = held(from[4 * i + 1]);
      p.b[i] = held(from[4 * i + 2]);
    }
    tone(c, &p, n);
    if (c->chroma_out.active) scale_chroma(c, &c->chroma_out, &p, n);
    for (int i = 0; i < n; i++) {
      to[4 * i] = p.r[i];
      to[4 * i + 1] = p.g[i];
      to[4 * i + 2] = p.b[i];
      to[4 * i + 3] = from[4 * i + 3];
    }
  }
}

static inline uint16_t code(float v) {
  const int rounded = (int)(v + 0.5f);
  return (uint16_t)(rounded < LOWEST ? LOWEST : rounded > HIGHEST ? HIGHEST : rounded);
}

typedef struct Matrix {
  float to_red, to_blue, red_to_green, blue_to_green;
} Matrix;

static inline void to_rgb(const Matrix *m, float y, float cb, float cr, Block *restrict p, int i) {
  p->r[i] = y + m->to_red * cr;
  p->g[i] = y - m->red_to_green * cr - m->blue_to_green * cb;
  p->b[i] = y + m->to_blue * cb;
}

/* Luma of a row: chroma is interpolated to it. */
static void luma_row(const EvbCorrection *c, const Matrix *m, const float *restrict y, const float *restrict cb,
                     const float *restrict cr, uint16_t *restrict to, int width) {
  const float per_level = 1.f / (1.f / SPAN);
  const int half = (width + 1) / 2;
  Block p;
  for (int x = 0; x < width; x += BLOCK) {
    const int n = width - x < BLOCK ? width - x : BLOCK;
    for (int i = 0; i < n; i += 2) to_rgb(m, y[x + i], cb[(x + i) >> 1], cr[(x + i) >> 1], &p, i);
    for (int i = 1; i < n; i += 2) {
      const int own = (x + i) >> 1, right = own < half - 1 ? own + 1 : half - 1;
      to_rgb(m, y[x + i], cb[own] + 0.5f * (cb[right] - cb[own]), cr[own] + 0.5f * (cr[right] - cr[own]), &p, i);
    }
    tone(c, &p, n);
    luma(c, &p, n);
    for (int i = 0; i < n; i++) to[x + i] = code(p.y[i] * per_level + BLACK);
  }
}

/* Chroma of a row at its own sites: luma is averaged to them. */
static void chroma_row(const EvbCorrection *c, const Matrix *m, const float *restrict y, const float *restrict cb,
                       const float *restrict cr, uint16_t *restrict to_cb, uint16_t *restrict to_cr, int width) {
  const float per_chroma = 1.f / CHROMA_SPAN, per_blue = 1.f / (m->to_blue * per_chroma),
              per_red = 1.f / (m->to_red * per_chroma);
  const int half = (width + 1) / 2, last = width - 1;
  Block p;
  for (int from = 0; from < half; from += BLOCK) {
    const int n = half - from < BLOCK ? half - from : BLOCK;
    for (int i = 0; i < n; i++) {
      const int x = 2 * (from + i);
      const float average = 0.5f * y[x] + 0.25f * (y[x > 0 ? x - 1 : 0] + y[x < last ? x + 1 : last]);
      to_rgb(m, average, cb[from + i], cr[from + i], &p, i);
    }
    tone(c, &p, n);
    if (c->chroma_out.active) scale_chroma(c, &c->chroma_out, &p, n);
    luma(c, &p, n);
    for (int i = 0; i < n; i++) {
      to_cb[from + i] = code((p.b[i] - p.y[i]) * per_blue + ACHROMATIC);
      to_cr[from + i] = code((p.r[i] - p.y[i]) * per_red + ACHROMATIC);
    }
  }
}

void EXPORT NAME(evb_planar_422_10)(const EvbPlanar *frame, int32_t row_from, int32_t row_to, const EvbCorrection *c) {
  static const double red = 0.2126, green = 0.7152, blue = 0.0722; /* ITU-R BT.709-6 item 3.2 */
  const double cr_divisor = 2 * (1 - red), cb_divisor = 2 * (1 - blue);
  const Matrix m = {(float)cr_divisor, (float)cb_divisor, (float)(red * cr_divisor / green), (float)(blue * cb_divisor / green)};
  const float per_code = 1.f / SPAN, per_chroma = 1.f / CHROMA_SPAN;
  float y[MOST_COLUMNS], cb[MOST_COLUMNS / 2], cr[MOST_COLUMNS / 2];
  const int width = frame->width, half = (width + 1) / 2;
  for (int row = row_from; row < row_to; row++) {
    const int64_t at = (int64_t)row * frame->stride, chroma_at = (int64_t)row * frame->chroma_stride;
    for (int x = 0; x < width; x++) y[x] = (float)(frame->y[at + x] - BLACK) * per_code;
    for (int x = 0; x < half; x++) {
      cb[x] = (float)(frame->cb[chroma_at + x] - ACHROMATIC) * per_chroma;
      cr[x] = (float)(frame->cr[chroma_at + x] - ACHROMATIC) * per_chroma;
    }
    luma_row(c, &m, y, cb, cr, frame->to_y + at, width);
    chroma_row(c, &m, y, cb, cr, frame->to_cb + chroma_at, frame->to_cr + chroma_at, width);
  }
}
