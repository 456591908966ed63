/* SPDX-License-Identifier: Apache-2.0
 *
 * What the parts of the program ofxhost share.
 */
#ifndef EVENSTOP_HOST_PROGRAM_H
#define EVENSTOP_HOST_PROGRAM_H

#include "host.h"

enum { EXIT_GOOD = 0, EXIT_BAD = 1, EXIT_USAGE = 2 };

/* One --set or --press, kept in the order given. */
typedef struct Step {
  int press;
  char *name;        /* points into argv */
  const char *value; /* --set only */
} Step;

/* What `ofxhost hostile` plays. */
typedef struct HostileOptions {
  unsigned seed;
  int first, hosts; /* number of the first host, and how many */
  int patience;     /* seconds of nothing that count as a hang */
  int verbose;      /* 1: says what each host is before it is played */
} HostileOptions;

typedef struct Options {
  const char *bundle, *plugin, *context; /* context: a kOfxImageEffectContext... value, NULL: filter if offered */
  const char *in, *out, *save, *load, *state_out;
  int json, quiet;
  int first, last;           /* to render */
  int has_clip;              /* the clip's own range was given */
  int clip_first, clip_last;
  EshFormat format;
  EshConfig config;
  HostileOptions hostile;
  Step *steps; /* room for argc */
  int step_count;
} Options;

int run_hostile(const char *bundle, const HostileOptions *options);

int run_probe(const Options *options);
int run_bench(const Options *options);
/* The context asked for, or filter if the plug-in offers it, else its first. */
const char *choose_context(const EshEffect *descriptor, const Options *options);

#endif
