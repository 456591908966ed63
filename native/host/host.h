/* SPDX-License-Identifier: Apache-2.0
 *
 * A headless OpenFX image-effect host: loads plug-ins, plays the standard's action sequence, feeds clips, and watches
 * what the plug-in does with what it was given. The program `ofxhost` and the tests are its users.
 *
 * Order of calls
 *   esh_host_create -> esh_bundle_open -> esh_plugin_load -> esh_context -> esh_instance_new -> (esh_project_load)
 *   -> esh_instance_create -> esh_param_edit / esh_button_press / esh_render -> esh_project_save
 *   -> esh_instance_destroy -> esh_bundle_close -> esh_host_destroy
 *
 * Ownership   What a function returns belongs to the host; it goes with esh_instance_destroy, esh_bundle_close or
 *             esh_host_destroy. Strings passed in are copied unless it says otherwise.
 * Threads     Call this interface from one thread. The suites may be called from any thread while an action runs.
 * One host    per process: most suite functions carry no context, so the library keeps the one host in a static pointer.
 * Errors      Functions that can fail on outside input take `err`, a buffer of ESH_ERR bytes, and write one line saying
 *             what is wrong, which value, what is allowed.
 * Faults      Whatever a plug-in does against the standard is recorded as a fault, a line of text, and the run goes on:
 *             images not released, bytes written outside the render window, properties written with the wrong type, ...
 *             A plug-in is in order when every action succeeded and the fault list is empty.
 * Pictures    In files the TOP row comes first, channels interleaved, samples in the machine's byte order, rows without
 *             padding, frames one after another. In memory the plug-in sees the standard's order: y up, signed row bytes.
 */
#ifndef EVENSTOP_HOST_H
#define EVENSTOP_HOST_H

#include <stdio.h>

#include "openfx.h"

#define ESH_ERR 512
#define ESH_MAX_NAMES 16

typedef struct EshHost EshHost;
typedef struct EshBundle EshBundle;
typedef struct OfxImageEffectStruct EshEffect; /* descriptor, context descriptor or instance */
typedef struct EshSource EshSource;

/* Sample types: byte 0..255, short 0..65535, half and float nominally 0..1 and unbounded. */
typedef enum EshDepth { ESH_BYTE, ESH_SHORT, ESH_HALF, ESH_FLOAT } EshDepth;
typedef enum EshComponents { ESH_RGBA, ESH_RGB, ESH_ALPHA } EshComponents;
typedef enum EshPremult { ESH_OPAQUE, ESH_PREMULTIPLIED, ESH_UNPREMULTIPLIED } EshPremult;

/* Suites that are there and answer nonsense. */
typedef enum EshOddThreads {
  ESH_THREADS_SOUND,
  ESH_THREADS_IDLE,    /* multiThread answers OK and runs nothing */
  ESH_THREADS_FEWER,   /* multiThread runs half of the jobs, each told that there are so few */
  ESH_THREADS_FAIL,    /* multiThread runs all and answers kOfxStatFailed */
  ESH_THREADS_NO_CPU,  /* multiThreadNumCPUs says 0 */
  ESH_THREADS_MANY     /* multiThreadNumCPUs says 100000 */
} EshOddThreads;
typedef enum EshOddParams {
  ESH_PARAMS_SOUND,
  ESH_PARAMS_UNREADABLE, /* reading a value fails */
  ESH_PARAMS_NONSENSE,   /* numbers far outside their range or NaN, choices that do not exist, NULL strings */
  ESH_PARAMS_READ_ONLY   /* setting a value fails */
} EshOddParams;
typedef enum EshOddImages {
  ESH_IMAGES_SOUND,
  ESH_IMAGES_DEPTH,      /* of a depth nobody knows */
  ESH_IMAGES_COMPONENTS, /* of components nobody knows */
  ESH_IMAGES_NO_DATA,    /* the data pointer is NULL */
  ESH_IMAGES_NO_ROWS,    /* row bytes are 0 */
  ESH_IMAGES_EMPTY,      /* bounds with nothing in them */
  ESH_IMAGES_SOURCE_DEPTH /* the source says another depth than the output */
} EshOddImages;

/* How the host behaves. Zero is a plain, strict host with whole frames; fields may be changed between actions. */
typedef struct EshConfig {
  int lenient;             /* 0: refuse unknown and read-only properties, values out of range, and record a fault.
                            * 1: take them. A value of another type is refused in both. */
  unsigned threads;        /* what the multithread suite calls the number of CPUs; 0 means 1 */
  unsigned frame_threads;  /* tiles rendered at once, each on a thread of the host; 0 means 1 */
  int row_padding;         /* bytes between the end of a row's pixels and the next row, 0..65536; rounded up to whole
                            * samples */
  int negative_stride;     /* 1: rows stand top first in memory, so row bytes are negative */
  int tight_bounds;        /* 1: image bounds equal the render window instead of the whole frame */
  int origin_x, origin_y;  /* lower left corner of every frame, pixels; any sign */
  int tile_width;          /* > 0: render window by window, this size, left to right and bottom to top */
  int tile_height;         /* as tile_width; both or neither */
  int tiles_reversed;      /* 1: the last tile first */
  int has_window;          /* 1: render only `window`, pixels, half-open, clipped to the frame */
  OfxRectI window;         /* relative to the frame's lower left corner */
  double render_scale;     /* proxies: frames arrive and leave this much smaller, 0.01..1; 0 means 1. Sources are made
                            * smaller by taking the nearest pixel. The window and tiles are in the smaller pixels. */
  const char *disturb_param; /* while a frame renders, another thread edits this parameter, or presses this button, over and
                              * over; not copied */
  const char *disturb_value; /* as a user types it; in turn with the value it had, which it has again in the end */
  int cancel_at;           /* > 0: the nth progressUpdate of a task, and all after it, answer "stop" */
  int abort_at;            /* > 0: the nth call of abort within a Render, and all after it, answer 1 */
  int ignore_identity;     /* 1: render even where the plug-in says the frame is unchanged */
  int unchecked;           /* 1: skip guard, window and source checks (for timing big frames) */
  int fail_fetch_at;       /* > 0: from the nth clipGetImage of an input on, there is no image */
  OfxStatus fail_fetch_status; /* what it answers then; kOfxStatOK means kOfxStatFailed */
  int background;          /* 1: a host without a user: kOfxImageEffectHostPropIsBackground */
  const char *without_suites[ESH_MAX_NAMES];     /* suite names fetchSuite denies, "Name" or "Name/version"; not copied */
  const char *hollow_suites[ESH_MAX_NAMES];      /* suites whose tables are there and hold NULL for every function */
  const char *without_properties[ESH_MAX_NAMES]; /* properties this host pretends never to have heard of; not copied */
  const char *null_functions[ESH_MAX_NAMES];     /* functions of suites, by their member names, that are NULL; not copied */
  int core_colour;         /* 1: the style of colour management is Core, not Basic */
  const char *delivers;    /* colour spaces, separated by commas, in which this host can hand over a clip; the first one that the
                            * effect prefers is granted, and the pictures are taken to be in it. NULL: what the clip is in */
  unsigned omit_seed;      /* > 0: leaves out half of the properties that the standard lets a host leave out, drawn from this */
  unsigned refuse_seed;    /* > 0: one in four properties, drawn from this by name, is refused to plug-ins, set or get */
  int refuse_essential;    /* 1: so may those be that no effect can do without */
  int unconnected;         /* 1: the clip "Source" of a new instance is not connected */
  int thumbnail, draft;    /* 1: actions are told that they are for a thumbnail, that draft quality will do */
  unsigned tile_order;     /* > 0: windows in an order drawn from this */
  unsigned frames_at_once; /* frames of one instance rendered at once, each on a thread of the host; 0 means 1. Only where
                            * the plug-in is fully safe */
  size_t thread_stack;     /* bytes of stack of the host's threads, 0: the system's default */
  int keeps_threads;       /* 1: the multithread suite keeps its threads from call to call; 0: makes them anew for each */
  EshOddThreads odd_threads;
  EshOddParams odd_params;
  EshOddImages odd_images;
  int odd_timeline;        /* 1: the timeline suite answers kOfxStatOK and gives numbers that are none */
  FILE *log;               /* messages and persistent messages are shown here as they arrive; NULL: only recorded */
} EshConfig;

/* Form of a clip. */
typedef struct EshFormat {
  int width, height;       /* pixels, 1..32768 */
  EshDepth depth;
  EshComponents components;
  EshPremult premult;      /* ESH_OPAQUE: alpha is 1 everywhere, or there is none */
  int first, last;         /* frame numbers, both included */
  double frame_rate;       /* frames per second, > 0 */
  double pixel_aspect;     /* > 0; 1 is square */
  const char *colourspace; /* value of kOfxImageClipPropColourspace, or NULL when the host says nothing; not copied */
} EshFormat;

/* Totals since esh_host_create. */
typedef struct EshCounts {
  long fetches, releases;             /* clipGetImage that gave an image; clipReleaseImage that took one back */
  long memory_allocs, memory_frees;   /* memory suite */
  long image_allocs, image_frees;     /* imageMemoryAlloc, imageMemoryFree */
  long mutex_creates, mutex_destroys; /* multithread suite */
  long thread_calls, thread_jobs;     /* multiThread calls and the jobs they ran */
  long abort_calls;
  long progress_starts, progress_updates, progress_ends, progress_cancels;
  long params_set;                    /* paramSetValue calls that took */
} EshCounts;

/* One message the plug-in sent. */
typedef struct EshMessage {
  int persistent; /* 1: set with setPersistentMessage */
  int cleared;    /* 1: a persistent message that was cleared or replaced later */
  const char *type, *id, *text;
} EshMessage;

/* Time spent in one action, all calls together. Plain information: no check depends on it. */
typedef struct EshTiming {
  const char *action;
  long calls;
  double total_ms, longest_ms;
} EshTiming;

/* What esh_render did. */
typedef struct EshRenderResult {
  long frames;          /* frames asked for */
  long rendered;        /* frames for which every Render returned OK and nothing was aborted */
  long identical;       /* frames isIdentity answered, so copied */
  long aborted;         /* frames given up because abort said so */
  long failed;          /* frames with a Render status other than OK */
  OfxStatus first_failure;
} EshRenderResult;

/* The host; `config` is copied. NULL and err when one exists already. */
EshHost *esh_host_create(const EshConfig *config, char *err);
/* All instances and bundles must be gone. Memory the plug-in still holds is recorded as a fault: see esh_leaks. */
void esh_host_destroy(EshHost *host);
/* The live configuration; change it between actions. */
EshConfig *esh_config(EshHost *host);
const EshCounts *esh_counts(const EshHost *host);
/* Records a fault for every image, memory block, image memory and mutex the plug-in still holds. Call after closing. */
void esh_leaks(EshHost *host);
int esh_fault_count(const EshHost *host);
const char *esh_fault(const EshHost *host, int index);
/* How often it came up. */
long esh_fault_times(const EshHost *host, int index);
int esh_message_count(const EshHost *host);
EshMessage esh_message(const EshHost *host, int index);
int esh_timing_count(const EshHost *host);
EshTiming esh_timing(const EshHost *host, int index);

/* `path` is a folder Name.ofx.bundle (the binary is Contents/<architecture>/Name.ofx) or an .ofx file. Loads the binary,
 * calls OfxSetHost if there, and reads the list of plug-ins; no action yet. */
EshBundle *esh_bundle_open(EshHost *host, const char *path, char *err);
int esh_bundle_count(const EshBundle *bundle);
const OfxPlugin *esh_bundle_plugin(const EshBundle *bundle, int index);
/* Index of the plug-in with this identifier; id NULL: the first image effect. -1 and err if there is none. */
int esh_bundle_find(const EshBundle *bundle, const char *id, char *err);
/* Unload of every loaded plug-in, then the binary goes. */
void esh_bundle_close(EshBundle *bundle);

/* setHost, Load, Describe. ReplyDefault to Load counts as OK. Gives the descriptor, or NULL and err. */
EshEffect *esh_plugin_load(EshBundle *bundle, int index, char *err);
/* Unload; contexts and descriptor go. May be loaded again. */
OfxStatus esh_plugin_unload(EshBundle *bundle, int index);
/* DescribeInContext: `context` is a kOfxImageEffectContext... value. Checks what was described (clips the context needs,
 * parents and page children that exist, defaults in range) and records faults. One per context; asked again, the same. */
EshEffect *esh_context(EshBundle *bundle, int index, const char *context, char *err);

/* Strings of an element of a property, or NULL past its end; numbers or `otherwise`. For listing what was described. */
const char *esh_string(const EshEffect *effect, const char *property, int index);
int esh_int(const EshEffect *effect, const char *property, int index, int otherwise);
/* 1 if `value` is among the property's strings. */
int esh_has_string(const EshEffect *effect, const char *property, const char *value);
/* Parameters in the order they were defined, and their properties. */
int esh_param_count(const EshEffect *effect);
OfxParamHandle esh_param(const EshEffect *effect, int index);
OfxParamHandle esh_param_find(const EshEffect *effect, const char *name);
const char *esh_param_name(OfxParamHandle param);
const char *esh_param_type(OfxParamHandle param);
const char *esh_param_string(OfxParamHandle param, const char *property, int index);
double esh_param_number(OfxParamHandle param, const char *property, int index, double otherwise);
/* How many values the type has: 1 for a Double, 4 for RGBA, 0 for groups, pages and buttons. */
int esh_param_dimension(OfxParamHandle param);
/* The value as text, in the form project files use; to be freed by the caller. NULL for types without a value. */
char *esh_param_text(OfxParamHandle param);
/* The value of a String, Custom or StrChoice parameter of an instance, NULL for others. */
const char *esh_param_string_value(OfxParamHandle param);
int esh_clip_count(const EshEffect *effect);
const char *esh_clip_name(const EshEffect *effect, int index);
/* 1 if the described clip of that name takes these components. */
int esh_clip_takes(const EshEffect *effect, const char *clip, EshComponents components);

/* An instance of a context descriptor with its parameters at their defaults; the clip "Source" is fed from `source`,
 * other inputs are not connected. No action yet, so a project can be loaded first. NULL and err when the plug-in does
 * not take the source's depth or components. `source` must outlive the instance. */
EshEffect *esh_instance_new(EshEffect *context_descriptor, EshSource *source, char *err);
/* CreateInstance, then GetClipPreferences. OK also for ReplyDefault. */
OfxStatus esh_instance_create(EshEffect *instance);
OfxStatus esh_get_clip_preferences(EshEffect *instance);
OfxStatus esh_sync_private_data(EshEffect *instance);
/* Any action, known or not, with no arguments. Gives the plug-in's answer as it is. */
OfxStatus esh_bare_action(EshEffect *effect, const char *action);
/* DestroyInstance if it was created, then the memory goes. */
void esh_instance_destroy(EshEffect *instance);

/* Sets a value as a user would: begin, InstanceChanged (user edited), end. `text` is numbers separated by commas, a
 * string as it is, or a choice by its option text or its index. Returns 0, or -1 and err. Before esh_instance_create
 * only the value is set. */
int esh_param_edit(EshEffect *instance, const char *name, const char *text, char *err);
/* Presses a button; returns InstanceChanged's status in *status. -1 and err if there is no such button. */
int esh_button_press(EshEffect *instance, const char *name, OfxStatus *status, char *err);

/* Writes every persistent parameter after SyncPrivateData; the file appears under its name only when complete.
 * Text: line 1 "ofxhost-project 1", line 2 "plugin <identifier> <major version>", then "param <name> <type> <values>",
 * strings in double quotes with \n \t \" \\ and \xHH, bytes as hexadecimal in quotes. 0, or -1 and err. */
int esh_project_save(EshEffect *instance, const char *path, char *err);
/* Reads such a file into an instance, all or nothing: with an unknown parameter, another type or a bad value in it, no
 * value changes. */
int esh_project_load(EshEffect *instance, const char *path, char *err);

/* `spec` is raw:FILE or pattern:NAME[:ARGUMENT]; esh_pattern_help lists the patterns. A raw file shorter than the frame
 * range, or not a whole number of frames, is an error. `format` is copied. */
EshSource *esh_source_open(const char *spec, const EshFormat *format, char *err);
void esh_source_close(EshSource *source);
const EshFormat *esh_source_format(const EshSource *source);
extern const char esh_pattern_help[];
/* Bytes of one sample, samples of one pixel, bytes of one frame as it stands in a file. */
size_t esh_depth_bytes(EshDepth depth);
int esh_component_count(EshComponents components);
size_t esh_frame_bytes(const EshFormat *format);
/* The names used on the command line: "byte", "rgba", "opaque", ... and the standard's values for them. -1: no such. */
int esh_depth_from_name(const char *name);
int esh_components_from_name(const char *name);
int esh_premult_from_name(const char *name);
const char *esh_depth_ofx(EshDepth depth);
const char *esh_components_ofx(EshComponents components);
const char *esh_premult_ofx(EshPremult premult);

/* The format of `format`'s frames at the configured origin and render scale: only width and height differ. */
EshFormat esh_scaled_format(const EshHost *host, const EshFormat *format);

/* Receives a finished frame, top row first, esh_frame_bytes of the scaled format long; 0 to go on. Pixels outside the
 * render window are 0. */
typedef int EshFrameReceiver(void *user, int frame, const void *bytes, size_t length);

/* Renders frames first..last: region of definition, regions of interest, frames needed, BeginSequenceRender, per frame
 * IsIdentity and Render for each window, EndSequenceRender. `receive` may be NULL. Frames that failed or were aborted
 * are not received. Returns 0; -1 and err when it could not go on (memory, receiver). */
int esh_render(EshEffect *instance, int first, int last, EshFrameReceiver *receive, void *user, EshRenderResult *result,
               char *err);

/* A template for mkstemp or mkdtemp in the folder for temporary files: $TMPDIR, else the system's. The caller frees it. */
char *esh_temporary_path(const char *name);

/* A status as its name ("kOfxStatFailed"), or "status 99". The text is static or thread-local. */
const char *esh_status_name(OfxStatus status);

#endif
