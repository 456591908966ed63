/* SPDX-License-Identifier: Apache-2.0
 *
 * Property sets, and the property suite over them. A strict host: names, types, dimensions, allowed values and the right
 * to write are those of proptable.c; whatever is refused is also recorded as a fault.
 */
#include "internal.h"

#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

enum { MOST_ELEMENTS = 65536 };

static const char *type_name(int type) {
  switch (type & ~ESH_BOOL) {
    case ESH_INT: return "int";
    case ESH_DOUBLE: return "double";
    case ESH_STRING: return "string";
    case ESH_POINTER: return "pointer";
    default: return "any of several types";
  }
}

/* Whether the configuration leaves a property out of a set; `flags` are those of its definition. */
static int left_out(const EshHost *host, const char *name, int flags) {
  for (int i = 0; i < ESH_MAX_NAMES && host->config.without_properties[i]; i++)
    if (!strcmp(host->config.without_properties[i], name)) return 1;
  return host->config.omit_seed && flags & ESH_HOST_MAY_OMIT && esh_draw(host->config.omit_seed, name) % 2;
}

static int hidden(OfxPropertySetHandle props, const char *name) {
  int flags = 0;
  for (int i = 0; props->def && i < props->def->count; i++)
    if (!strcmp(props->def->props[i].name, name)) flags = props->def->props[i].flags;
  return left_out(props->host, name, flags);
}

/* Whether this host refuses a property to plug-ins. Without the essential ones no effect can work. */
static int refused(const EshHost *host, const char *name) {
  static const char *const essential[] = {
      kOfxPropInstanceData, kOfxPropType, kOfxPropName, kOfxPropTime, kOfxPropChangeReason,
      kOfxImageEffectPropSupportedContexts, kOfxImageEffectPropSupportedPixelDepths,
      kOfxImageEffectPropSupportedComponents, kOfxImageEffectPropRenderWindow, kOfxImagePropData, kOfxImagePropBounds,
      kOfxImagePropRowBytes, kOfxImageEffectPropPixelDepth, kOfxImageEffectPropComponents,
      kOfxImageEffectPluginRenderThreadSafety, kOfxParamPropDefault, kOfxParamPropChoiceOption, kOfxParamPropParent,
      kOfxImageEffectPropTemporalClipAccess, kOfxImageClipPropConnected};
  if (!host->config.refuse_seed || esh_draw(host->config.refuse_seed, name) % 4) return 0;
  for (size_t i = 0; !host->config.refuse_essential && i < sizeof essential / sizeof essential[0]; i++)
    if (!strcmp(essential[i], name)) return 0;
  return 1;
}

static void drop_values(EshValue *values, int count, int type) {
  if (type == ESH_STRING)
    for (int i = 0; i < count; i++) free(values[i].s);
  free(values);
}

static EshValue *copy_values(const EshValue *values, int count, int type) {
  if (!count) return NULL;
  EshValue *copy = esh_alloc(sizeof *copy * (size_t)count);
  for (int i = 0; i < count; i++) {
    copy[i] = values[i];
    if (type == ESH_STRING) copy[i].s = esh_copy(values[i].s);
  }
  return copy;
}

EshProp *esh_prop_add(OfxPropertySetHandle props, const char *name, int type, int dimension, int flags) {
  if (props->count == props->capacity) {
    props->capacity = props->capacity ? props->capacity * 2 : 16;
    props->props = esh_grow(props->props, sizeof *props->props * (size_t)props->capacity);
  }
  EshProp *p = &props->props[props->count++];
  memset(p, 0, sizeof *p);
  p->name = esh_copy(name);
  p->type = type & ~ESH_BOOL;
  p->boolean = (type & ESH_BOOL) != 0;
  p->dimension = dimension;
  p->flags = flags;
  return p;
}

static const EshSetDef *find_set(const char *name) {
  for (int i = 0; i < esh_set_def_count; i++)
    if (!strcmp(esh_set_defs[i].name, name)) return &esh_set_defs[i];
  return NULL;
}

OfxPropertySetHandle esh_props_new(EshHost *host, const char *set_name, char *label) {
  OfxPropertySetHandle props = esh_alloc(sizeof *props);
  memset(props, 0, sizeof *props);
  props->magic = MAGIC_PROPS;
  props->host = host;
  props->label = label;
  const EshSetDef *def = props->def = find_set(set_name);
  for (int i = 0; def && i < def->count; i++) {
    const EshPropDef *d = &def->props[i];
    if (left_out(host, d->name, d->flags)) continue;
    /* Several types at once: the parameter that owns the set narrows them with esh_prop_type. */
    EshProp *p = esh_prop_add(props, d->name, d->types, d->dimension, d->flags);
    p->allowed = d->allowed;
  }
  return props;
}

OfxPropertySetHandle esh_props_clone(OfxPropertySetHandle from, const char *as_set, char *label) {
  OfxPropertySetHandle to = esh_props_new(from->host, as_set, label);
  to->extends_display = from->extends_display;
  for (int i = 0; i < from->count; i++) {
    EshProp *a = &from->props[i];
    EshProp *b = esh_prop_find(to, a->name);
    if (!b) continue; /* the other kind of set has no such property */
    drop_values(b->values, b->count, b->type);
    b->type = a->type;
    b->dimension = a->dimension;
    b->count = a->count;
    b->values = copy_values(a->values, a->count, a->type);
  }
  esh_props_settle(to);
  return to;
}

void esh_props_free(OfxPropertySetHandle props) {
  if (!props) return;
  for (int i = 0; i < props->count; i++) {
    EshProp *p = &props->props[i];
    drop_values(p->values, p->count, p->type);
    drop_values(p->defaults, p->default_count, p->type);
    free(p->name);
  }
  free(props->props);
  free(props->label);
  props->magic = MAGIC_DEAD;
  free(props);
}

int esh_props_valid(OfxPropertySetHandle props) { return props && props->magic == MAGIC_PROPS; }

EshProp *esh_prop_find(OfxPropertySetHandle props, const char *name) {
  for (int i = 0; i < props->count; i++)
    if (!strcmp(props->props[i].name, name)) return &props->props[i];
  return NULL;
}

void esh_prop_type(OfxPropertySetHandle props, const char *name, int type, int dimension) {
  EshProp *p = esh_prop_find(props, name);
  if (!p) return;
  p->type = type & ~ESH_BOOL;
  p->boolean = (type & ESH_BOOL) != 0;
  p->dimension = dimension;
}

/* Makes room for element `index`; new elements in between are zero. */
static EshValue *slot(EshProp *p, int index) {
  if (index >= p->count) {
    p->values = esh_grow(p->values, sizeof *p->values * (size_t)(index + 1));
    for (int i = p->count; i <= index; i++) {
      memset(&p->values[i], 0, sizeof p->values[i]);
      if (p->type == ESH_STRING) p->values[i].s = esh_copy("");
    }
    p->count = index + 1;
  }
  return &p->values[index];
}

static EshProp *own(OfxPropertySetHandle props, const char *name, int type) {
  EshProp *p = esh_prop_find(props, name);
  return p && p->type == type ? p : NULL; /* NULL also for properties hidden by the configuration */
}

void esh_put_int(OfxPropertySetHandle props, const char *name, int index, int value) {
  EshProp *p = own(props, name, ESH_INT);
  if (p) slot(p, index)->i = value;
}

void esh_put_double(OfxPropertySetHandle props, const char *name, int index, double value) {
  EshProp *p = own(props, name, ESH_DOUBLE);
  if (p) slot(p, index)->d = value;
}

void esh_put_string(OfxPropertySetHandle props, const char *name, int index, const char *value) {
  EshProp *p = own(props, name, ESH_STRING);
  if (!p) return;
  EshValue *v = slot(p, index);
  char *copy = esh_copy(value);
  free(v->s);
  v->s = copy;
}

void esh_put_pointer(OfxPropertySetHandle props, const char *name, int index, void *value) {
  EshProp *p = own(props, name, ESH_POINTER);
  if (p) slot(p, index)->p = value;
}

void esh_props_settle(OfxPropertySetHandle props) {
  for (int i = 0; i < props->count; i++) {
    EshProp *p = &props->props[i];
    drop_values(p->defaults, p->default_count, p->type);
    p->default_count = p->count;
    p->defaults = copy_values(p->values, p->count, p->type);
  }
}

int esh_peek_count(OfxPropertySetHandle props, const char *name) {
  EshProp *p = esh_prop_find(props, name);
  return p ? p->count : 0;
}

int esh_peek_int(OfxPropertySetHandle props, const char *name, int index, int otherwise) {
  EshProp *p = esh_prop_find(props, name);
  return p && p->type == ESH_INT && index >= 0 && index < p->count ? p->values[index].i : otherwise;
}

double esh_peek_double(OfxPropertySetHandle props, const char *name, int index, double otherwise) {
  EshProp *p = esh_prop_find(props, name);
  if (!p || index < 0 || index >= p->count) return otherwise;
  if (p->type == ESH_INT) return p->values[index].i;
  return p->type == ESH_DOUBLE ? p->values[index].d : otherwise;
}

const char *esh_peek_string(OfxPropertySetHandle props, const char *name, int index) {
  EshProp *p = esh_prop_find(props, name);
  return p && p->type == ESH_STRING && index >= 0 && index < p->count ? p->values[index].s : NULL;
}

static OfxStatus refuse(OfxPropertySetHandle props, const char *name, OfxStatus status, const char *why) {
  EshAction *action = esh_current_action();
  esh_fault_add(props->host, "%s: property %s on the %s refused: %s (%s)", action ? action->name : "outside an action",
                name, props->label, why, esh_status_name(status));
  return status;
}

static int allowed(const char *list, const char *value) {
  size_t n = strlen(value);
  for (const char *at = list; at;) {
    const char *comma = strchr(at, ',');
    size_t length = comma ? (size_t)(comma - at) : strlen(at);
    if (length == n && !memcmp(at, value, n)) return 1;
    at = comma ? comma + 1 : NULL;
  }
  return 0;
}

/* Checks a write of `count` elements from `first` on, without doing it. */
static OfxStatus may_write(OfxPropertySetHandle props, const char *name, int type, int first, int count,
                           EshProp **found) {
  *found = NULL;
  if (!esh_props_valid(props)) return kOfxStatErrBadHandle;
  if (!name) return kOfxStatErrUnknown;
  const int lenient = props->host->config.lenient;
  if (refused(props->host, name)) return kOfxStatErrUnsupported; /* the host's doing, so no fault */
  EshProp *p = esh_prop_find(props, name);
  if (!p) {
    if (hidden(props, name)) return kOfxStatErrUnknown; /* nor here */
    if (!lenient) return refuse(props, name, kOfxStatErrUnknown, "this property set has no such property");
    p = esh_prop_add(props, name, type, 0, ESH_HOST_WRITES | ESH_PLUGIN_WRITES);
  }
  if (p->type != type) {
    char why[96];
    snprintf(why, sizeof why, "its type is %s, not %s", type_name(p->type), type_name(type));
    return refuse(props, name, kOfxStatErrValue, why); /* storage is typed, so lenient mode refuses as well */
  }
  if (!(p->flags & ESH_PLUGIN_WRITES) && !lenient)
    return refuse(props, name, kOfxStatErrValue, "only the host writes it");
  if (first < 0 || count < 0) return refuse(props, name, kOfxStatErrBadIndex, "negative index");
  if (first >= MOST_ELEMENTS || count > MOST_ELEMENTS)
    return refuse(props, name, kOfxStatErrBadIndex, "more than 65536 elements");
  if (p->dimension && first + count > p->dimension) {
    char why[96];
    snprintf(why, sizeof why, "index %d, and it has %d element%s", first + count - 1, p->dimension,
             p->dimension == 1 ? "" : "s");
    return refuse(props, name, kOfxStatErrBadIndex, why);
  }
  if (!p->dimension && first > p->count && !lenient)
    return refuse(props, name, kOfxStatErrBadIndex, "would leave a gap before the element written");
  *found = p;
  return kOfxStatOK;
}

static OfxStatus good_int(OfxPropertySetHandle props, EshProp *p, int value) {
  if (p->boolean && value != 0 && value != 1 && !props->host->config.lenient)
    return refuse(props, p->name, kOfxStatErrValue, "only 0 and 1 are allowed");
  return kOfxStatOK;
}

static OfxStatus good_string(OfxPropertySetHandle props, EshProp *p, const char *value) {
  if (!value) return refuse(props, p->name, kOfxStatErrValue, "NULL string");
  if (p->allowed && !props->host->config.lenient && !allowed(p->allowed, value)) {
    char why[400];
    snprintf(why, sizeof why, "\"%.60s\" is not among %.300s", value, p->allowed);
    return refuse(props, p->name, kOfxStatErrValue, why);
  }
  return kOfxStatOK;
}

/* A parameter's display range follows its range until it is set itself. */
static void follow(OfxPropertySetHandle props, const EshProp *p, int index) {
  if (!props->extends_display) return;
  const char *display = !strcmp(p->name, kOfxParamPropMin)   ? kOfxParamPropDisplayMin
                        : !strcmp(p->name, kOfxParamPropMax) ? kOfxParamPropDisplayMax
                                                             : NULL;
  EshProp *q = display ? esh_prop_find(props, display) : NULL;
  if (q && q->type == p->type) *slot(q, index) = p->values[index];
}

/* Shortens a property of free dimension to `count`: the N setters say how long it is now. */
static void cut(EshProp *p, int count) {
  if (p->dimension) return;
  for (int i = count; i < p->count; i++)
    if (p->type == ESH_STRING) free(p->values[i].s);
  if (p->count > count) p->count = count;
}

#define LOCKED(props, body)                              \
  do {                                                   \
    if (!esh_props_valid(props)) return kOfxStatErrBadHandle; \
    EshHost *locked_host = (props)->host;                \
    esh_lock(locked_host);                               \
    OfxStatus status = kOfxStatOK;                       \
    body;                                                \
    esh_unlock(locked_host);                             \
    return status;                                       \
  } while (0)

static OfxStatus write_pointers(OfxPropertySetHandle props, const char *name, int first, int count, void *const *v) {
  EshProp *p;
  OfxStatus status = may_write(props, name, ESH_POINTER, first, count, &p);
  for (int i = 0; !status && i < count; i++) slot(p, first + i)->p = v[i];
  return status;
}

static OfxStatus write_strings(OfxPropertySetHandle props, const char *name, int first, int count,
                               const char *const *v) {
  EshProp *p;
  OfxStatus status = may_write(props, name, ESH_STRING, first, count, &p);
  for (int i = 0; !status && i < count; i++) status = good_string(props, p, v[i]);
  for (int i = 0; !status && i < count; i++) {
    EshValue *value = slot(p, first + i);
    char *copy = esh_copy(v[i]); /* before the free: the plug-in may hand back our own string */
    free(value->s);
    value->s = copy;
  }
  return status;
}

static OfxStatus write_doubles(OfxPropertySetHandle props, const char *name, int first, int count, const double *v) {
  EshProp *p;
  OfxStatus status = may_write(props, name, ESH_DOUBLE, first, count, &p);
  for (int i = 0; !status && i < count; i++) {
    slot(p, first + i)->d = v[i];
    follow(props, p, first + i);
  }
  return status;
}

static OfxStatus write_ints(OfxPropertySetHandle props, const char *name, int first, int count, const int *v) {
  EshProp *p;
  OfxStatus status = may_write(props, name, ESH_INT, first, count, &p);
  for (int i = 0; !status && i < count; i++) status = good_int(props, p, v[i]);
  for (int i = 0; !status && i < count; i++) {
    slot(p, first + i)->i = v[i];
    follow(props, p, first + i);
  }
  return status;
}

static OfxStatus set_pointer(OfxPropertySetHandle props, const char *name, int index, void *value) {
  LOCKED(props, status = write_pointers(props, name, index, 1, &value));
}

static OfxStatus set_string(OfxPropertySetHandle props, const char *name, int index, const char *value) {
  LOCKED(props, status = write_strings(props, name, index, 1, &value));
}

static OfxStatus set_double(OfxPropertySetHandle props, const char *name, int index, double value) {
  LOCKED(props, status = write_doubles(props, name, index, 1, &value));
}

static OfxStatus set_int(OfxPropertySetHandle props, const char *name, int index, int value) {
  LOCKED(props, status = write_ints(props, name, index, 1, &value));
}

#define SET_MANY(write)                                          \
  LOCKED(props, {                                                \
    status = count > 0 && !values ? kOfxStatErrValue : write(props, name, 0, count, values); \
    EshProp *p = status ? NULL : esh_prop_find(props, name);     \
    if (p) cut(p, count);                                        \
  })

static OfxStatus set_pointers(OfxPropertySetHandle props, const char *name, int count, void *const *values) {
  SET_MANY(write_pointers);
}

static OfxStatus set_strings(OfxPropertySetHandle props, const char *name, int count, const char *const *values) {
  SET_MANY(write_strings);
}

static OfxStatus set_doubles(OfxPropertySetHandle props, const char *name, int count, const double *values) {
  SET_MANY(write_doubles);
}

static OfxStatus set_ints(OfxPropertySetHandle props, const char *name, int count, const int *values) {
  SET_MANY(write_ints);
}

/* Reading what is not there is no fault: plug-ins may look for a property and fall back. The wrong type is one. */
static OfxStatus may_read(OfxPropertySetHandle props, const char *name, int type, int first, int count,
                          EshProp **found) {
  EshProp *p = name ? esh_prop_find(props, name) : NULL;
  if (!p || refused(props->host, name)) return kOfxStatErrUnknown;
  if (p->type != type) {
    char why[96];
    snprintf(why, sizeof why, "read as %s, and it is %s", type_name(type), type_name(p->type));
    return refuse(props, name, kOfxStatErrValue, why);
  }
  if (first < 0 || count < 0 || first + count > p->count) return kOfxStatErrBadIndex;
  *found = p;
  return kOfxStatOK;
}

#define GET(type, field, first, number, store)                             \
  LOCKED(props, {                                                          \
    EshProp *p = NULL;                                                     \
    status = value ? may_read(props, name, type, first, number, &p) : kOfxStatErrValue; \
    for (int i = 0; !status && i < (number); i++) store = p->values[(first) + i].field; \
  })

static OfxStatus get_pointer(OfxPropertySetHandle props, const char *name, int index, void **value) {
  GET(ESH_POINTER, p, index, 1, *value);
}

static OfxStatus get_string(OfxPropertySetHandle props, const char *name, int index, char **value) {
  GET(ESH_STRING, s, index, 1, *value);
}

static OfxStatus get_double(OfxPropertySetHandle props, const char *name, int index, double *value) {
  GET(ESH_DOUBLE, d, index, 1, *value);
}

static OfxStatus get_int(OfxPropertySetHandle props, const char *name, int index, int *value) {
  GET(ESH_INT, i, index, 1, *value);
}

static OfxStatus get_pointers(OfxPropertySetHandle props, const char *name, int count, void **value) {
  GET(ESH_POINTER, p, 0, count, value[i]);
}

static OfxStatus get_strings(OfxPropertySetHandle props, const char *name, int count, char **value) {
  GET(ESH_STRING, s, 0, count, value[i]);
}

static OfxStatus get_doubles(OfxPropertySetHandle props, const char *name, int count, double *value) {
  GET(ESH_DOUBLE, d, 0, count, value[i]);
}

static OfxStatus get_ints(OfxPropertySetHandle props, const char *name, int count, int *value) {
  GET(ESH_INT, i, 0, count, value[i]);
}

static OfxStatus reset_locked(OfxPropertySetHandle props, const char *name) {
  EshProp *p = name ? esh_prop_find(props, name) : NULL;
  if (!p) return kOfxStatErrUnknown;
  if (!(p->flags & ESH_PLUGIN_WRITES) && !props->host->config.lenient)
    return refuse(props, name, kOfxStatErrValue, "only the host writes it");
  drop_values(p->values, p->count, p->type);
  p->count = p->default_count;
  p->values = copy_values(p->defaults, p->default_count, p->type);
  return kOfxStatOK;
}

static OfxStatus reset(OfxPropertySetHandle props, const char *name) {
  LOCKED(props, status = reset_locked(props, name));
}

static OfxStatus dimension(OfxPropertySetHandle props, const char *name, int *count) {
  LOCKED(props, {
    EshProp *p = name ? esh_prop_find(props, name) : NULL;
    status = !p ? kOfxStatErrUnknown : !count ? kOfxStatErrValue : kOfxStatOK;
    if (!status) *count = p->count;
  });
}

const OfxPropertySuiteV1 esh_property_suite = {
    set_pointer, set_string,  set_double,  set_int,  set_pointers, set_strings, set_doubles, set_ints, get_pointer,
    get_string,  get_double,  get_int,     get_pointers, get_strings, get_doubles, get_ints, reset,    dimension,
};
