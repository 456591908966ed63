/* SPDX-License-Identifier: Apache-2.0
 *
 * The model's three curves in plain C, for the benchmark only: what the Java kernels are measured against. Nothing of the
 * product calls it. Called from java/bench through JNA on the very buffers that the Java kernels work on.
 *
 * Threads   Every function may be called by several threads at once on different rows.
 * Values    Levels as fractions, 0..1 nominal; NaN counts as 0 and values are held within +-65504, as the scalar kernel does.
 */
#ifndef EVENSTOP_BENCH_CURVES_H
#define EVENSTOP_BENCH_CURVES_H

#include <stdint.h>

#define EVB_MOST_SEGMENTS 512

/* A piecewise cubic on uniform knots: t = x * scale + offset runs -0.5..highest, its nearest whole number is the segment and
 * what is left the argument from the segment's middle; straight beyond. */
typedef struct EvbCurve {
  float scale, offset, highest, below, above; /* the last two: slope per segment before the first knot and after the last */
  int32_t active;                             /* 0: this curve changes nothing and is left out */
  float k[EVB_MOST_SEGMENTS][4];              /* lowest power first */
} EvbCurve;

typedef struct EvbCorrection {
  float wr, wg, wb, unused; /* luma weights of red, green and blue */
  EvbCurve chroma_in, tone, chroma_out;
} EvbCorrection;

/* A 4:2:2 frame of 10-bit codes in 16-bit words, narrow range, BT.709, chroma on the even luma columns. Strides in samples. */
typedef struct EvbPlanar {
  const uint16_t *y, *cb, *cr;
  uint16_t *to_y, *to_cb, *to_cr;
  int32_t width, stride, chroma_stride, unused;
} EvbPlanar;

/* The whole correction of `pixels` RGBA pixels; alpha is carried over. `from` and `to` do not overlap. */
void evb_rgba_float(const float *from, float *to, int64_t pixels, const EvbCorrection *correction);
/* Rows row_from..row_to - 1 of a planar frame of at most 16384 columns. */
void evb_planar_422_10(const EvbPlanar *frame, int32_t row_from, int32_t row_to, const EvbCorrection *correction);

#endif
