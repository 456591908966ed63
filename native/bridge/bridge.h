/* SPDX-License-Identifier: Apache-2.0
 *
 * What C and Java agree on: the struct that Java fills with entry points, and the argument blocks that go through them.
 *
 * C gives the address of an EvBridge to org.evenstop.bridge.Bridge.open, once for the process; Java checks magic, version
 * and size and stores its entry points. From then on every call has one shape: the address of an argument block in, a
 * status out. Java reads and writes the block while the call lasts and keeps no address from it.
 *
 * Layout   every field is 8 bytes, so offsets are 8 * its number; org.evenstop.bridge.Blocks has the same numbers. Adding
 *          a field or an entry point raises EV_BRIDGE_VERSION.
 * Threads  every entry point may be called from any attached thread at once, except that one meter is used by one thread
 *          at a time.
 * Frames   address of the first pixel of row 0 and a signed distance in bytes from a row to the next. Rows go up the
 *          picture, as everywhere in OpenFX. Java touches only width * components * depth bytes of each row.
 * Texts    UTF-8. In: address and length, no terminating zero needed. Out: address and length of memory that Java
 *          allocated, zero-terminated; hand it back with free_text.
 */
#ifndef EVENSTOP_BRIDGE_H
#define EVENSTOP_BRIDGE_H

#include <stdint.h>

#define EV_BRIDGE_MAGIC 0x54535645u /* "EVST" in memory on a little-endian machine */
#define EV_BRIDGE_VERSION 2u

/* Statuses of entry points. With anything but EV_OK the block's message says what is wrong, ready to be shown. */
enum {
  EV_OK = 0,
  EV_INPUT = 1,  /* something from outside is wrong: a stored text, a parameter, a frame */
  EV_STALE = 2,  /* the handle is no longer known; prepare again */
  EV_BROKEN = 3  /* the Java side failed */
};

/* How samples are stored, which components there are, what alpha means; the numbers are part of the agreement. */
enum { EV_BYTE = 0, EV_SHORT = 1, EV_HALF = 2, EV_FLOAT = 3 };
enum { EV_RGBA = 0, EV_RGB = 1, EV_ALPHA = 2 };
enum { EV_OPAQUE = 0, EV_PREMULTIPLIED = 1, EV_UNPREMULTIPLIED = 2 };

typedef int32_t EvCall(int64_t block);

typedef struct EvBridge {
  uint32_t magic, version, size, reserved;
  EvCall *prepare;       /* EvPrepare */
  EvCall *render;        /* EvRender */
  EvCall *measure_begin; /* EvMeasureBegin */
  EvCall *measure_add;   /* EvMeasureAdd */
  EvCall *measure_end;   /* EvMeasureEnd */
  EvCall *measure_drop;  /* EvMeasureDrop */
  EvCall *solve;         /* EvSolve */
  EvCall *free_text;     /* EvFreeText */
  EvCall *waveform;      /* EvWaveform */
  EvCall *waveform_drop; /* EvMeasureDrop, with a waveform for the meter */
  EvCall *file;          /* EvFile */
} EvBridge;

/* Begins every block: where a message goes. `message` may be NULL when `capacity` is 0. */
typedef struct EvHead {
  char *message;
  int64_t capacity; /* bytes, the terminating zero included */
} EvHead;

/* Correction JSON in, a handle out. The same text gives the same handle while it is remembered (64 texts are). */
typedef struct EvPrepare {
  EvHead head;
  const char *text;
  int64_t length;
  int64_t handle;   /* out */
  int64_t identity; /* out: 1 when applying it changes nothing */
} EvPrepare;

/* Where pixels lie in the whole picture, the mask over it, what is drawn on it. */
typedef struct EvLook {
  int64_t sky;                         /* handle of the correction above the mask's line; 0: there is no mask */
  double horizon, angle, feather, mix; /* percent of the height, degrees, percent of the height, 0..1 */
  double x1, y1, x2, y2;               /* the whole picture in canonical coordinates */
  double scale_x, scale_y, pixel_aspect;
  int64_t view;    /* which view of the parameter table is drawn; 0: the plain picture */
  double zebra;    /* level, a fraction */
  double split;    /* share of the width, 0..1 */
  int64_t waveform; /* from EvWaveform, where that view is drawn; else 0 */
} EvLook;

/* Applies a correction to a strip of rows. Source and destination have one form and may be the same memory. */
typedef struct EvRender {
  EvHead head;
  int64_t handle;
  const void *source;
  int64_t source_stride;
  void *destination;
  int64_t destination_stride;
  int64_t width, rows; /* 1 or more; the strip may span at most 2^31-1 bytes */
  int64_t depth, components, alpha;
  double strength;          /* 0..1 */
  int64_t pixel_x, pixel_y; /* where the strip's first pixel lies, in pixels of this render scale */
  EvLook look;
} EvRender;

/* Counts the luma of the whole corrected picture, for the strips' waveform view. `look.view` and `look.waveform` are not read. */
typedef struct EvWaveform {
  EvHead head;
  int64_t handle;
  const void *source;
  int64_t stride;
  int64_t width, rows;
  int64_t depth, components, alpha;
  double strength;
  int64_t pixel_x, pixel_y;
  int64_t waveform; /* out; ended by waveform_drop */
  EvLook look;
} EvWaveform;

typedef struct EvMeasureBegin {
  EvHead head;
  int64_t sample_size; /* pixels to keep, 256 to 65536 */
  int64_t meter;       /* out; ended by measure_end or measure_drop */
} EvMeasureBegin;

typedef struct EvMeasureAdd {
  EvHead head;
  int64_t meter;
  const void *frame;
  int64_t stride;
  int64_t width, rows;
  int64_t depth, components, alpha;
  double seconds; /* time of the frame; frames come in rising order */
} EvMeasureAdd;

/* The meter is gone after this, whatever the status. */
typedef struct EvMeasureEnd {
  EvHead head;
  int64_t meter;
  char *text; /* out: measurement JSON with its pixel sample */
  int64_t length;
} EvMeasureEnd;

typedef struct EvMeasureDrop {
  EvHead head;
  int64_t meter;
} EvMeasureDrop;

/* Measurement JSON and wishes in, correction JSON and a line for people out. Wishes: the values of the parameters that the
 * table marks as solving, as org.evenstop.bridge.Wishes describes the text. */
typedef struct EvSolve {
  EvHead head;
  const char *measurement;
  int64_t measurement_length;
  const char *wishes;
  int64_t wishes_length;
  char *correction; /* out */
  int64_t correction_length;
  char *sky; /* out: the sky's correction, empty when the sky is not treated apart */
  int64_t sky_length;
  char *found; /* out */
  int64_t found_length;
} EvSolve;

/* A preset, profile or correction from or to a file. */
enum { EV_READ_PRESET, EV_READ_PROFILE, EV_READ_CORRECTION, EV_WRITE_PRESET, EV_WRITE_PROFILE, EV_WRITE_CORRECTION };
typedef struct EvFile {
  EvHead head;
  int64_t operation;
  const char *path; /* zero-terminated */
  const char *text; /* to save: wishes, or the correction's JSON */
  int64_t length;
  char *content; /* out: the file's JSON */
  int64_t content_length;
  char *found; /* out: a line for people; may be empty */
  int64_t found_length;
} EvFile;

typedef struct EvFreeText {
  EvHead head;
  char *text; /* NULL does nothing */
} EvFreeText;

_Static_assert(sizeof(void *) == 8, "the bridge is laid out for 64-bit machines");
_Static_assert(sizeof(EvBridge) == 16 + 8 * 11, "EvBridge has grown a hole");
_Static_assert(sizeof(EvRender) == 8 * (15 + 16), "EvRender has grown a hole");
_Static_assert(sizeof(EvSolve) == 8 * 12, "EvSolve has grown a hole");
_Static_assert(sizeof(EvWaveform) == 8 * (14 + 16), "EvWaveform has grown a hole");
_Static_assert(sizeof(EvFile) == 8 * 10, "EvFile has grown a hole");

#endif
