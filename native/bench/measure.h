/* SPDX-License-Identifier: Apache-2.0
 *
 * Measuring in plain C, for the benchmark only: what the engine's measuring is timed against. Nothing of the product calls it.
 *
 * Threads   Every function may be called by several threads at once, each with results of its own.
 * Values    Levels as fractions, 0..1 nominal, no NaN. BT.709 weights.
 * Results   Are added to what is there.
 */
#ifndef EVENSTOP_BENCH_MEASURE_H
#define EVENSTOP_BENCH_MEASURE_H

#include <stdint.h>

enum { EVB_BINS = 1024, EVB_ZONES = 16, EVB_STEPS = 1200, EVB_STEP_ZERO = 72, EVB_NOISE_BINS = 4096 };

/* Luma 0..1 in 1024 bins, and for each sixteenth of them the pixels, their summed chroma and its summed square. */
typedef struct EvbHistogram {
  int64_t luma[EVB_BINS];
  struct {
    double n, cb, cr, squared;
  } zones[EVB_ZONES];
} EvbHistogram;

/* What the engine counts: luma of every pixel; R', G', B', chroma (in millionths, by step of luma) and skin of every other one in a row;
 * noise by tiles of 16x16 pixels. */
typedef struct EvbTally {
  int64_t luma[EVB_STEPS], red[EVB_STEPS], green[EVB_STEPS], blue[EVB_STEPS], sites[EVB_STEPS], chroma[EVB_STEPS], skin[EVB_STEPS];
  int64_t tiles[EVB_NOISE_BINS], coarse[EVB_NOISE_BINS];
  float lowest, highest;
} EvbTally;

/* `pixels` RGBA pixels. */
void evb_histogram(const float *rgba, int64_t pixels, EvbHistogram *result);
/* Rows of RGBA pixels without padding, of at most 16384 columns, an even number. Tiles lie from the first pixel on; what is left over has no noise. */
void evb_measure(const float *rgba, int32_t width, int32_t rows, EvbTally *result);

#endif
