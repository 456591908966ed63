/* SPDX-License-Identifier: Apache-2.0
 *
 * What the parts of the host share: property sets, parameters, clips, images, actions. Not for users of the library.
 */
#ifndef EVENSTOP_HOST_INTERNAL_H
#define EVENSTOP_HOST_INTERNAL_H

#include <pthread.h>
#include <stdatomic.h>
#include <stdint.h>
#include <stdio.h>

#include "host.h"

/* Property types, as bits: some properties (a parameter's default) take their type from the parameter. */
enum { ESH_INT = 1, ESH_DOUBLE = 2, ESH_STRING = 4, ESH_POINTER = 8, ESH_BOOL = 16 };
enum { ESH_HOST_WRITES = 1, ESH_PLUGIN_WRITES = 2, ESH_HOST_MAY_OMIT = 4 };

typedef struct EshPropDef {
  const char *name;
  int types;
  int dimension; /* 0: any */
  int flags;
  const char *allowed; /* comma-separated strings, NULL: any */
} EshPropDef;

typedef struct EshSetDef {
  const char *name;
  const EshPropDef *props;
  int count;
} EshSetDef;

extern const EshSetDef esh_set_defs[];
extern const int esh_set_def_count;

typedef union EshValue {
  int i;
  double d;
  char *s; /* owned */
  void *p;
} EshValue;

typedef struct EshProp {
  char *name; /* owned */
  int type;   /* one of the type bits */
  int boolean;
  int dimension;
  int flags;
  const char *allowed;
  EshValue *values, *defaults;
  int count, default_count;
} EshProp;

enum { MAGIC_PROPS = 0x50524f50, MAGIC_PARAM = 0x50415241, MAGIC_PARAMS = 0x50534554, MAGIC_EFFECT = 0x45464643,
       MAGIC_CLIP = 0x434c4950, MAGIC_MEMORY = 0x4d454d4f, MAGIC_MUTEX = 0x4d555458, MAGIC_DEAD = 0x44454144 };

typedef struct EshImage EshImage;
typedef struct EshPool EshPool;

struct OfxPropertySetStruct {
  int magic;
  EshHost *host;
  char *label;         /* for faults: "Source clip", "parameter gain" */
  EshProp *props;
  int count, capacity;
  const EshSetDef *def;
  EshImage *image;     /* set for property sets that are image handles */
  int extends_display; /* a parameter: writing Min or Max moves DisplayMin or DisplayMax */
};

typedef enum EshKind { KIND_INTEGER, KIND_DOUBLE, KIND_STRING, KIND_BYTES, KIND_NONE } EshKind;

typedef struct EshParamType {
  const char *name; /* OFX type */
  EshKind kind;
  int dimension;
  const char *set;  /* property set */
} EshParamType;

typedef struct EshRetired {
  struct EshRetired *next;
  void *memory;
} EshRetired;

struct OfxParamStruct {
  int magic;
  OfxParamSetHandle set;
  char *name;
  const EshParamType *type;
  OfxPropertySetHandle props;
  int i[3];
  double d[4];
  char *s;          /* strings, and bytes with length `length` */
  size_t length;
  EshRetired *retired; /* strings given out before they were replaced; kept until the instance goes */
};

struct OfxParamSetStruct {
  int magic;
  EshEffect *effect;
  OfxPropertySetHandle props;
  OfxParamHandle *params;
  int count;
  int edits_open;
};

/* A picture in memory with guard bytes around it. Rows keep the configured padding and direction. */
typedef struct EshBuffer {
  unsigned char *block;  /* malloc result */
  size_t block_bytes;
  unsigned char *origin; /* address of the pixel (bounds.x1, bounds.y1) */
  ptrdiff_t row_bytes;
  OfxRectI bounds;
  size_t pixel_bytes;
  unsigned char *shadow; /* copy of the block as it should be outside the render window; NULL when unchecked */
  int hashed;
  uint64_t hash;         /* of a source's whole block, when hashed */
  int frame;
  int references;
  uint64_t id;
  struct EshBuffer *next;
} EshBuffer;

struct OfxImageClipStruct {
  int magic;
  EshEffect *effect;
  char *name;
  OfxPropertySetHandle props;
  EshSource *source;  /* NULL: not connected, or the output */
  int is_output;
  EshFormat format;   /* of an instance's clip */
  OfxRangeD *needed;  /* frame ranges from GetFramesNeeded for the frame being rendered */
  int needed_count;
  char granted[64];   /* colour space that was preferred and can be had; empty: the source's own */
};

typedef struct EshAction EshAction;

struct EshImage {
  EshImage *next;
  EshBuffer *buffer;
  OfxImageClipHandle clip;
  OfxPropertySetHandle props;
  EshAction *action;
  OfxTime time;
};

/* One action in flight on one thread; jobs of the multithread suite inherit the caller's. */
struct EshAction {
  const char *name;
  EshEffect *effect;
  EshAction *outer;
  OfxTime time;
  OfxRectI window;     /* Render only */
  EshBuffer *output;   /* Render only */
  atomic_int abort_calls;
  atomic_int aborted;
};

struct OfxImageEffectStruct {
  int magic;
  EshHost *host;
  EshBundle *bundle;
  int index;             /* plug-in in the bundle */
  enum { EFFECT_DESCRIPTOR, EFFECT_CONTEXT, EFFECT_INSTANCE } kind;
  const char *context;   /* NULL for the descriptor */
  OfxPropertySetHandle props;
  struct OfxParamSetStruct params;
  OfxImageClipHandle *clips;
  int clip_count;
  EshSource *source;
  int created;
  int change_depth;      /* nested InstanceChanged */
  int progress_open, progress_updates;
  OfxTime time;          /* what the timeline suite says */
  EshBuffer *cache;      /* source frames, newest first */
};

typedef struct EshPluginState {
  OfxPlugin *plugin;
  int loaded;
  EshEffect *descriptor;
  EshEffect *contexts[6];
  int context_count;
} EshPluginState;

struct EshBundle {
  EshHost *host;
  EshBundle *next;
  void *library;
  char *folder; /* absolute: the bundle folder, or the folder of a bare .ofx file */
  EshPluginState *plugins;
  int count;
};

struct EshHost {
  EshConfig config;
  EshCounts counts;
  pthread_mutex_t lock; /* recursive; guards everything below and parameter values */
  OfxHost ofx;
  OfxPropertySetHandle props;
  char **faults;
  long *fault_times;
  long input_fetches;    /* clipGetImage calls on inputs, for fail_fetch_at */
  int fault_count;
  EshMessage *messages;
  EshEffect **message_effects;
  int message_count;
  EshTiming *timings;
  int timing_count;
  EshImage *images;
  struct EshBlock *blocks;
  struct OfxImageMemoryStruct *image_memory;
  struct OfxMutex *mutexes;
  EshBundle *bundles;
  uint64_t next_image_id;
  int live_effects;
  int loads;             /* Load actions so far */
  EshPool *pool;         /* threads kept for the multithread suite; NULL until one is needed */
};

extern EshHost *esh_the_host;

/* Memory that must be there: prints one line and exits with 1 when the system has none left (bookkeeping only). */
void *esh_alloc(size_t bytes);
void *esh_grow(void *old, size_t bytes);
char *esh_copy(const char *text);
char *esh_format(const char *format, ...) __attribute__((format(printf, 1, 2)));
void esh_error(char *err, const char *format, ...) __attribute__((format(printf, 2, 3)));

/* Records a fault; the same text twice is counted, not repeated. */
void esh_fault_add(EshHost *host, const char *format, ...) __attribute__((format(printf, 2, 3)));
/* A number drawn from a seed and a name; the same every time. */
uint64_t esh_draw(uint64_t seed, const char *name);
/* Starts a thread of the host, with the configured stack. 0, or an error number. */
int esh_thread(const EshHost *host, pthread_t *thread, void *(*run)(void *), void *argument);
/* Ends the kept threads of the multithread suite. */
void esh_pool_drop(EshHost *host);
void esh_lock(EshHost *host);
void esh_unlock(EshHost *host);

/* props.c */
extern const OfxPropertySuiteV1 esh_property_suite;
OfxPropertySetHandle esh_props_new(EshHost *host, const char *set_name, char *label);
OfxPropertySetHandle esh_props_clone(OfxPropertySetHandle from, const char *as_set, char *label);
void esh_props_free(OfxPropertySetHandle props);
int esh_props_valid(OfxPropertySetHandle props);
EshProp *esh_prop_find(OfxPropertySetHandle props, const char *name);
EshProp *esh_prop_add(OfxPropertySetHandle props, const char *name, int type, int dimension, int flags);
void esh_prop_type(OfxPropertySetHandle props, const char *name, int type, int dimension);
/* The host's own writes: no permission checks, the property must exist in the set with that type. */
void esh_put_int(OfxPropertySetHandle props, const char *name, int index, int value);
void esh_put_double(OfxPropertySetHandle props, const char *name, int index, double value);
void esh_put_string(OfxPropertySetHandle props, const char *name, int index, const char *value);
void esh_put_pointer(OfxPropertySetHandle props, const char *name, int index, void *value);
/* What propReset goes back to is what the set holds now. */
void esh_props_settle(OfxPropertySetHandle props);
int esh_peek_int(OfxPropertySetHandle props, const char *name, int index, int otherwise);
double esh_peek_double(OfxPropertySetHandle props, const char *name, int index, double otherwise);
const char *esh_peek_string(OfxPropertySetHandle props, const char *name, int index);
int esh_peek_count(OfxPropertySetHandle props, const char *name);

/* params.c */
extern const OfxParameterSuiteV1 esh_parameter_suite;
void esh_params_init(OfxParamSetHandle set, EshEffect *effect);
void esh_params_instance(OfxParamSetHandle set, OfxParamSetHandle descriptor);
void esh_params_clear(OfxParamSetHandle set);
void esh_params_check(OfxParamSetHandle set);
OfxParamHandle esh_params_find(OfxParamSetHandle set, const char *name);
/* Parses `text` into a fresh value and stores it when good; quoted: the project file's form. */
int esh_param_parse(OfxParamHandle param, const char *text, int quoted, int store, char *err);
char *esh_quote(const char *text, size_t length);

/* effect.c */
extern const OfxImageEffectSuiteV1 esh_effect_suite;
EshEffect *esh_effect_new(EshBundle *bundle, int index, int kind, const char *context);
void esh_effect_free(EshEffect *effect);
OfxImageClipHandle esh_clip_find(EshEffect *effect, const char *name);
/* Finds or makes the buffer of a source frame; takes a reference. NULL: no such frame or no memory (*status says). */
EshBuffer *esh_source_buffer(EshEffect *effect, OfxImageClipHandle clip, int frame, OfxStatus *status);
void esh_buffer_release(EshEffect *effect, EshBuffer *buffer);
void esh_cache_clear(EshEffect *effect);
/* The configured render scale, and the rectangle of a whole frame in pixels at that scale. */
double esh_scale(const EshHost *host);
OfxRectI esh_frame_rect(const EshHost *host, const EshFormat *format);
/* `format` is the clip's, at scale 1. */
EshBuffer *esh_buffer_new(EshHost *host, const EshFormat *format, int checked);
void esh_buffer_free(EshBuffer *buffer);
void esh_buffer_import(EshBuffer *buffer, const void *top_down);
void esh_buffer_export(const EshBuffer *buffer, OfxRectI window, void *top_down);
/* Compares everything outside `window` with the shadow, then takes the window over into the shadow. */
int esh_buffer_check(EshBuffer *buffer, OfxRectI window);
uint64_t esh_buffer_hash(const EshBuffer *buffer);
/* Releases the images `action` left behind (NULL: all); writes the first one's name to `which`, returns their number. */
int esh_images_drop(EshHost *host, EshAction *action, char *which, size_t size);
void esh_image_memory_drop(EshHost *host);

/* suites.c */
extern const OfxMemorySuiteV1 esh_memory_suite;
extern const OfxMultiThreadSuiteV1 esh_thread_suite;
extern const OfxMessageSuiteV1 esh_message_suite1;
extern const OfxMessageSuiteV2 esh_message_suite2;
extern const OfxProgressSuiteV1 esh_progress_suite1;
extern const OfxProgressSuiteV2 esh_progress_suite2;
extern const OfxTimeLineSuiteV1 esh_timeline_suite;
const void *esh_fetch_suite(OfxPropertySetHandle host, const char *name, int version);
/* Free what the plug-in left behind; esh_leaks has reported it. */
void esh_blocks_drop(EshHost *host);
void esh_mutexes_drop(EshHost *host);

/* actions.c */
EshAction *esh_current_action(void);
void esh_set_current_action(EshAction *action);
/* 1 while this thread is somewhere inside an action of that name. */
int esh_inside(const char *action_name);
/* Calls mainEntry, measures, and checks that the images fetched in it were released. */
OfxStatus esh_action(EshEffect *effect, const char *name, OfxPropertySetHandle in, OfxPropertySetHandle out);
OfxStatus esh_action_prepared(EshAction *action, EshEffect *effect, OfxPropertySetHandle in, OfxPropertySetHandle out);
OfxStatus esh_plugin_action(EshHost *host, OfxPlugin *plugin, const char *name);
OfxStatus esh_instance_changed(EshEffect *instance, const char *type, const char *name, const char *reason,
                               int bracketed);

/* source.c */
int esh_source_read(EshSource *source, int frame, void *top_down, char *err);
uint16_t esh_half_from_float(float value);

#endif
