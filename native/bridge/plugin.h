/* SPDX-License-Identifier: Apache-2.0
 *
 * The plug-in's own declarations: what the files of this folder give each other.
 *
 *   entry.c     exported functions, Load and Unload, table from action name to function
 *   describe.c  Describe, DescribeInContext, clip preferences, colour space
 *   instance.c  an instance: parameters read, what is kept beside them, InstanceChanged
 *   measure.c   frames fetched and measured: the button, and the few frames measured before it was ever pressed
 *   render.c    IsIdentity, Render
 *   files.c     the buttons that load and save files
 *   frame.c     an image of the host as a plain struct
 *   suites.c    properties with defaults, messages
 *   vm.c        the Java run-time: found, started once, called
 */
#ifndef EVENSTOP_PLUGIN_H
#define EVENSTOP_PLUGIN_H

#include <pthread.h>
#include <stdatomic.h>
#include <stddef.h>
#include <stdint.h>

#include "bridge.h"
#include "openfx.h"
#include "parameters.h"

#define EV_TEXT 512 /* bytes for a message */
#define EV_STATE 2  /* version of what is kept in the project, the value of the parameter stateVersion; 1 is read as well */
#define EV_PASSES "Evenstop passes the picture through: "

/* == suites.c == */

/* The suites of the host, fetched at Load. Only the first three are always there; check the others, and their members. */
typedef struct EvSuites {
  const OfxPropertySuiteV1 *property;
  const OfxImageEffectSuiteV1 *effect;
  const OfxParameterSuiteV1 *parameter;
  const OfxMultiThreadSuiteV1 *threads;
  const OfxMessageSuiteV1 *message;
  const OfxMessageSuiteV2 *message2;
  const OfxProgressSuiteV1 *progress;
  const OfxProgressSuiteV2 *progress2;
  const OfxTimeLineSuiteV1 *timeline;
} EvSuites;

extern EvSuites ev_suites;
extern OfxHost *ev_host;

OfxStatus ev_suites_fetch(void);
void ev_suites_forget(void);

/* Getters give `otherwise` when the property is missing, of another type, or the set is NULL. A string lives until the
 * set's next change. */
int ev_int(OfxPropertySetHandle set, const char *name, int index, int otherwise);
double ev_double(OfxPropertySetHandle set, const char *name, int index, double otherwise);
const char *ev_string(OfxPropertySetHandle set, const char *name, int index, const char *otherwise);
void *ev_pointer(OfxPropertySetHandle set, const char *name);
/* 1 when all `count` numbers were there. */
int ev_ints(OfxPropertySetHandle set, const char *name, int count, int *values);
int ev_doubles(OfxPropertySetHandle set, const char *name, int count, double *values);
/* A setter for properties that must be taken: the host's answer, kOfxStatErrMissingHostFeature when it has no such function. */
OfxStatus ev_set_string(OfxPropertySetHandle set, const char *name, int index, const char *value);
/* Setters of optional properties: a refusal is not an error. */
void ev_offer_int(OfxPropertySetHandle set, const char *name, int index, int value);
void ev_offer_double(OfxPropertySetHandle set, const char *name, int index, double value);
void ev_offer_string(OfxPropertySetHandle set, const char *name, int index, const char *value);

/* A message to the user (type: a kOfxMessage... value), as it stands. 1 when the host took it. */
int ev_say(void *effect, const char *type, const char *id, const char *text);
/* A message of EV_TEXT bytes from `why`, which Java may have written: behind `opening` unless it begins with our name itself. */
void ev_signed(char *text, const char *opening, const char *why);

/* == instance.c == */

/* The correction text that was prepared last, and what Java said of it. */
typedef struct EvPrepared {
  char *text;
  int64_t handle;
  int identity;
} EvPrepared;

/* What an instance keeps beside its parameters. All of it can be made again from parameters and frames. */
typedef struct EvInstance {
  OfxImageEffectHandle effect;
  OfxPropertySetHandle properties;
  OfxParamSetHandle set;
  OfxParamHandle parameter[EV_PARAMETER_COUNT];

  atomic_int pace; /* pixels a millisecond of the last round of a render; 0 before the first */

  pthread_mutex_t lock; /* guards what follows; never held during a call of the host or of Java */
  int one_frame_only;   /* 1: the host did not let us say which frames are needed, so others are not fetched in a render */
  EvPrepared prepared[2]; /* the correction, and that of the sky */
  char *trial_measurement; /* of the frames measured before the first press */
  char *trial_correction, *trial_sky;
  char *trial_wishes;            /* for which they were solved */
  int trial_said;                /* 1 once the log says that frames were measured without a press */
  char complaint[EV_TEXT]; /* what is shown now; empty when all is well */
  int complaint_persists;
  int file_trouble; /* 1 while a message about a file stays in view */
} EvInstance;

/* The instance of an effect, or NULL when it was not created yet or is gone. */
EvInstance *ev_instance(const void *handle);
OfxImageClipHandle ev_clip(EvInstance *instance, const char *name, OfxPropertySetHandle *properties);
/* Parameters at a time, range-checked; safe in render. */
double ev_number_at(EvInstance *instance, EvParameterId id, OfxTime time);
/* Of a boolean 0 or 1, of a choice the number of its option. */
int ev_index_at(EvInstance *instance, EvParameterId id, OfxTime time);
/* A copy, to be freed; NULL when empty, missing, or out of memory. */
char *ev_text_at(EvInstance *instance, EvParameterId id, OfxTime time);
/* What a correction is solved for, as EvSolve takes it; to be freed, NULL when out of memory. */
char *ev_wishes_at(EvInstance *instance, OfxTime time);
/* The number of a choice's option by name; -1 when there is none. */
int ev_option(EvParameterId id, const char *name);
int ev_write_text(EvInstance *instance, EvParameterId id, const char *text);
/* Tells why there is no Java: one message in all, from renders and presses alike. It stays where the host can keep one; where
 * it cannot, `asked` 1 (the user pressed something) says it again. */
void ev_complain_of_java(EvInstance *instance, const char *why, int asked);
/* Shows `text` once, persistently where the host can; the same text again shows nothing. `type`: kOfxMessageError or
 * kOfxMessageWarning. 1 when the user has it before them now, 0 when it was said before and did not stay. */
int ev_complain(EvInstance *instance, const char *type, const char *text);
/* Takes the complaint back. */
void ev_recovered(EvInstance *instance);

OfxStatus ev_create_instance(OfxImageEffectHandle effect, OfxPropertySetHandle in, OfxPropertySetHandle out);
OfxStatus ev_destroy_instance(OfxImageEffectHandle effect, OfxPropertySetHandle in, OfxPropertySetHandle out);
OfxStatus ev_instance_changed(OfxImageEffectHandle effect, OfxPropertySetHandle in, OfxPropertySetHandle out);
OfxStatus ev_purge_caches(OfxImageEffectHandle effect, OfxPropertySetHandle in, OfxPropertySetHandle out);

/* == describe.c == */

OfxStatus ev_describe(OfxImageEffectHandle effect, OfxPropertySetHandle in, OfxPropertySetHandle out);
OfxStatus ev_describe_in_context(OfxImageEffectHandle effect, OfxPropertySetHandle in, OfxPropertySetHandle out);
OfxStatus ev_clip_preferences(OfxImageEffectHandle effect, OfxPropertySetHandle in, OfxPropertySetHandle out);
OfxStatus ev_output_colourspace(OfxImageEffectHandle effect, OfxPropertySetHandle in, OfxPropertySetHandle out);
/* NULL when the clip's colour space, as far as the host says, is one that display-referred maths fits; else its name. */
const char *ev_unfit_colourspace(EvInstance *instance, OfxPropertySetHandle clip);

/* == frame.c == */

/* An image of the host. `data` is the pixel (x1, y1); row_bytes is signed and leads one row up. */
typedef struct EvFrame {
  OfxPropertySetHandle image;
  char *data;
  ptrdiff_t row_bytes;
  OfxRectI bounds;
  int depth, components, alpha; /* numbers of bridge.h; depth or components -1 when unknown */
  int pixel_bytes;              /* 0 when unknown */
  const char *depth_name, *components_name;
} EvFrame;

/* Fetches an image. OK with frame->image NULL: there is none, treat it as black and transparent. Every frame goes to
 * ev_frame_release once, fetched or not. */
OfxStatus ev_frame_fetch(OfxImageClipHandle clip, OfxPropertySetHandle clip_properties, OfxTime time,
                         const OfxRectD *region, EvFrame *frame);
void ev_frame_release(EvFrame *frame);
char *ev_frame_at(const EvFrame *frame, int x, int y);
/* 1 when the image holds all of what the host says the clip shows. */
int ev_frame_is_whole(const EvFrame *frame);

/* == measure.c == */

void ev_measure_pressed(EvInstance *instance);
/* Solves again from the kept measurement after a wish changed. */
void ev_solve_again(EvInstance *instance, OfxTime time);
/* The correction used before the first press, as text to be freed, and that of the sky in *sky (NULL when it is not treated
 * apart); NULL and `why` when there is none (an empty `why`: the host wants no more, go). */
char *ev_trial_correction(EvInstance *instance, OfxTime time, char **sky, char *why);
/* Writes a result to the project, as one step of undoing. `measurement` NULL leaves the kept one. */
void ev_keep(EvInstance *instance, const char *measurement, const char *correction, const char *sky, const char *found);
/* Takes a text over from Java: a copy of our own. */
char *ev_taken(const EvBridge *bridge, char *text);
OfxStatus ev_frames_needed(OfxImageEffectHandle effect, OfxPropertySetHandle in, OfxPropertySetHandle out);
OfxStatus ev_regions_of_interest(OfxImageEffectHandle effect, OfxPropertySetHandle in, OfxPropertySetHandle out);

/* == render.c == */

OfxStatus ev_is_identity(OfxImageEffectHandle effect, OfxPropertySetHandle in, OfxPropertySetHandle out);
OfxStatus ev_render(OfxImageEffectHandle effect, OfxPropertySetHandle in, OfxPropertySetHandle out);

/* == files.c == */

/* 1 when the parameter is a button of a file; then what it asks for was done, or the user told why not. */
int ev_file_pressed(EvInstance *instance, const char *name, OfxTime time);

/* == vm.c == */

/* Remembers where the host says the bundle lies; no file is touched. */
void ev_vm_bundle(const char *path);
/* The bridge, started now if need be; NULL and one line in `why` (EV_TEXT bytes) with the remedy when it cannot be had. A
 * failure is remembered: with `again` 1 it is tried anew, if that can help. Any thread. */
const EvBridge *ev_vm(int again, char *why);
/* The bridge if it already runs, else NULL. Starts nothing. */
const EvBridge *ev_vm_running(void);
/* Calls an entry point from this thread, attaching it first. `block` begins with an EvHead. */
int ev_vm_call(EvCall *call, void *block);

#endif
