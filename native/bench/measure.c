/* SPDX-License-Identifier: Apache-2.0
 *
 * The reference measuring of the benchmark; see measure.h. Compiled as it stands at -O3, and once more for this very processor.
 */
#include "measure.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "names.h"

enum { BLOCK = 512, MOST_COLUMNS = 16384, TILE = 16, CODES = 3504 };

/* ITU-R BT.709-6 item 3.2. */
static const float red_weight = 0.2126f, blue_weight = 0.0722f, per_cb = 1 / 1.8556f, per_cr = 1 / 1.5748f;

void EXPORT NAME(evb_histogram)(const float *restrict rgba, int64_t pixels, EvbHistogram *restrict result) {
  float cb[BLOCK], cr[BLOCK];
  int bin[BLOCK];
  for (; pixels > 0; pixels -= BLOCK, rgba += 4 * BLOCK) {
    const int n = pixels < BLOCK ? (int)pixels : BLOCK;
    for (int i = 0; i < n; i++) {
      const float r = rgba[4 * i], g = rgba[4 * i + 1], b = rgba[4 * i + 2];
      const float y = g + red_weight * (r - g) + blue_weight * (b - g);
      cb[i] = (b - y) * per_cb;
      cr[i] = (r - y) * per_cr;
      const int at = (int)(y * (EVB_BINS - 1) + 0.5f);
      bin[i] = at < 0 ? 0 : at < EVB_BINS ? at : EVB_BINS - 1;
    }
    for (int i = 0; i < n; i++) {
      result->luma[bin[i]]++;
      const int zone = bin[i] / (EVB_BINS / EVB_ZONES);
      result->zones[zone].n += 1;
      result->zones[zone].cb += (double)cb[i];
      result->zones[zone].cr += (double)cr[i];
      result->zones[zone].squared += (double)(cb[i] * cb[i] + cr[i] * cr[i]);
    }
  }
}

static inline int step_of(float level) {
  const int step = (int)(level * 1024 + (EVB_STEP_ZERO + 0.5f));
  return step < 0 ? 0 : step < EVB_STEPS ? step : EVB_STEPS - 1;
}

static inline float held(float v) {
  if (v >= -2.f && v <= 2.f) return v;
  return v != v ? 0 : v < 0 ? -2.f : 2.f;
}

/* Skin as the engine's documentation has it: hues from 107 to 133 degrees, not too yellow, chroma over luma 0.09 to 0.8. */
static inline int is_skin(float y, float cb, float cr) {
  const float squared = cb * cb + cr * cr, ratio = y * y;
  return (-0.29237170f * cr - 0.95630476f * cb >= 0) & (cb * 0.73135370f + cr * 0.68199836f >= 0) & (0.10f * y + 0.46f * cr + cb >= 0) &
         (y >= 0) & (squared >= 0.012f * 0.012f) & (squared >= 0.09f * 0.09f * ratio) & (squared <= 0.8f * 0.8f * ratio);
}

static void measure_block(const float *restrict rgba, int n, EvbTally *restrict t, int *restrict codes) {
  float r[BLOCK], g[BLOCK], b[BLOCK], y[BLOCK];
  int step[BLOCK], red[BLOCK / 2], green[BLOCK / 2], blue[BLOCK / 2], chroma[BLOCK / 2];
  unsigned char skin[BLOCK / 2];
  for (int i = 0; i < n; i++) {
    r[i] = held(rgba[4 * i]);
    g[i] = held(rgba[4 * i + 1]);
    b[i] = held(rgba[4 * i + 2]);
  }
  float low = t->lowest, high = t->highest;
  for (int i = 0; i < n; i++) {
    y[i] = g[i] + red_weight * (r[i] - g[i]) + blue_weight * (b[i] - g[i]);
    step[i] = step_of(y[i]);
    codes[i] = (int)(y[i] * CODES + 8192.5f) - 8192;
  }
  for (int i = 0; i < n; i++) {
    low = y[i] < low ? y[i] : low;
    high = y[i] > high ? y[i] : high;
  }
  t->lowest = low;
  t->highest = high;
  for (int i = 0; i < n / 2; i++) {
    const float luma = y[2 * i], cb = (b[2 * i] - luma) * per_cb, cr = (r[2 * i] - luma) * per_cr;
    red[i] = step_of(r[2 * i]);
    green[i] = step_of(g[2 * i]);
    blue[i] = step_of(b[2 * i]);
    chroma[i] = (int)(sqrtf(cb * cb + cr * cr) * 1e6f + 0.5f);
    skin[i] = (unsigned char)is_skin(luma, cb, cr);
  }
  for (int i = 0; i < n / 2; i++) {
    t->luma[step[2 * i]]++;
    t->luma[step[2 * i + 1]]++;
    t->red[red[i]]++;
    t->green[green[i]]++;
    t->blue[blue[i]]++;
    t->sites[step[2 * i]]++;
    t->chroma[step[2 * i]] += chroma[i];
    t->skin[step[2 * i]] += skin[i];
  }
}

void EXPORT NAME(evb_measure)(const float *restrict rgba, int32_t width, int32_t rows, EvbTally *restrict t) {
  static const double per_pixel = 1.0 / (TILE * TILE * (double)CODES);
  int codes[2][MOST_COLUMNS], blocks[2][MOST_COLUMNS / 2];
  int fine[MOST_COLUMNS / TILE], coarse[MOST_COLUMNS / TILE], sums[MOST_COLUMNS / TILE];
  for (int row = 0; row < rows; row++, rgba += 4 * (int64_t)width) {
    const int in_tile = row % TILE;
    if (in_tile == 0) {
      memset(fine, 0, sizeof fine);
      memset(coarse, 0, sizeof coarse);
      memset(sums, 0, sizeof sums);
    }
    for (int x = 0; x < width; x += BLOCK) measure_block(rgba + 4 * x, width - x < BLOCK ? width - x : BLOCK, t, codes[row & 1] + x);
    if (!(row & 1)) continue;
    const int half = row >> 1 & 1;
    for (int tile = 0; tile < width / TILE; tile++) {
      for (int x = tile * TILE; x < (tile + 1) * TILE; x += 2) {
        const int a = codes[0][x], b = codes[0][x + 1], c = codes[1][x], d = codes[1][x + 1];
        fine[tile] += abs(a - b - c + d);
        blocks[half][x / 2] = a + b + c + d;
        sums[tile] += a + b + c + d;
      }
      if (half)
        for (int x = tile * TILE / 2; x < (tile + 1) * TILE / 2; x += 2)
          coarse[tile] += abs(blocks[0][x] - blocks[0][x + 1] - blocks[1][x] + blocks[1][x + 1]);
      if (in_tile == TILE - 1 && sums[tile] * per_pixel > 0.03 && sums[tile] * per_pixel < 0.98) {
        const int bin = fine[tile] / 8 < EVB_NOISE_BINS ? fine[tile] / 8 : EVB_NOISE_BINS - 1;
        t->tiles[bin]++;
        t->coarse[bin] += coarse[tile];
      }
    }
  }
}
