/* SPDX-License-Identifier: Apache-2.0
 *
 * Parameters: definition, values, text forms, and the parameter suite. Values do not animate: one value holds for all
 * times, and the key functions answer that there are no keys.
 */
#include "internal.h"

#include <errno.h>
#include <float.h>
#include <limits.h>
#include <math.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

static const EshParamType types[] = {
    {kOfxParamTypeInteger, KIND_INTEGER, 1, "ParamsInt2D3D"},
    {kOfxParamTypeInteger2D, KIND_INTEGER, 2, "ParamsInt2D3D"},
    {kOfxParamTypeInteger3D, KIND_INTEGER, 3, "ParamsInt2D3D"},
    {kOfxParamTypeDouble, KIND_DOUBLE, 1, "ParamDouble1D"},
    {kOfxParamTypeDouble2D, KIND_DOUBLE, 2, "ParamsDouble2D3D"},
    {kOfxParamTypeDouble3D, KIND_DOUBLE, 3, "ParamsDouble2D3D"},
    {kOfxParamTypeRGB, KIND_DOUBLE, 3, "ParamsDouble2D3D"},
    {kOfxParamTypeRGBA, KIND_DOUBLE, 4, "ParamsDouble2D3D"},
    {kOfxParamTypeBoolean, KIND_INTEGER, 1, "ParamsValue"},
    {kOfxParamTypeChoice, KIND_INTEGER, 1, "ParamsChoice"},
    {kOfxParamTypeStrChoice, KIND_STRING, 1, "ParamsStrChoice"},
    {kOfxParamTypeString, KIND_STRING, 1, "ParamsString"},
    {kOfxParamTypeCustom, KIND_STRING, 1, "ParamsCustom"},
    {kOfxParamTypeBytes, KIND_BYTES, 1, "ParamsValue"},
    {kOfxParamTypeGroup, KIND_NONE, 0, "ParamsGroup"},
    {kOfxParamTypePage, KIND_NONE, 0, "ParamsPage"},
    {kOfxParamTypePushButton, KIND_NONE, 0, "ParamsPushButton"},
};

static int is_type(OfxParamHandle p, const char *type) { return !strcmp(p->type->name, type); }

static int valid_set(OfxParamSetHandle set) { return set && set->magic == MAGIC_PARAMS; }
static int valid(OfxParamHandle param) { return param && param->magic == MAGIC_PARAM; }

void esh_params_init(OfxParamSetHandle set, EshEffect *effect) {
  set->magic = MAGIC_PARAMS;
  set->effect = effect;
  set->props = esh_props_new(effect->host, "ParameterSet", esh_copy("parameter set"));
  esh_put_int(set->props, kOfxPropParamSetNeedsSyncing, 0, 0);
  esh_props_settle(set->props);
}

static void retire(OfxParamHandle p) {
  if (!p->s) return;
  EshRetired *r = esh_alloc(sizeof *r);
  r->next = p->retired;
  r->memory = p->s;
  p->retired = r;
  p->s = NULL;
}

void esh_params_clear(OfxParamSetHandle set) {
  for (int i = 0; i < set->count; i++) {
    OfxParamHandle p = set->params[i];
    retire(p);
    while (p->retired) {
      EshRetired *next = p->retired->next;
      free(p->retired->memory);
      free(p->retired);
      p->retired = next;
    }
    esh_props_free(p->props);
    free(p->name);
    p->magic = MAGIC_DEAD;
    free(p);
  }
  free(set->params);
  esh_props_free(set->props);
  memset(set, 0, sizeof *set);
}

OfxParamHandle esh_params_find(OfxParamSetHandle set, const char *name) {
  for (int i = 0; i < set->count; i++)
    if (!strcmp(set->params[i]->name, name)) return set->params[i];
  return NULL;
}

static OfxParamHandle append(OfxParamSetHandle set, const char *name, const EshParamType *type) {
  OfxParamHandle p = esh_alloc(sizeof *p);
  memset(p, 0, sizeof *p);
  p->magic = MAGIC_PARAM;
  p->set = set;
  p->name = esh_copy(name);
  p->type = type;
  set->params = esh_grow(set->params, sizeof *set->params * (size_t)(set->count + 1));
  set->params[set->count++] = p;
  return p;
}

/* What the standard says a property is before the plug-in writes it. */
static void fill_defaults(OfxParamHandle p) {
  OfxPropertySetHandle s = p->props;
  const EshKind kind = p->type->kind;
  const int n = p->type->dimension;
  esh_put_string(s, kOfxPropType, 0, kOfxTypeParameter);
  esh_put_string(s, kOfxPropName, 0, p->name);
  esh_put_string(s, kOfxPropLabel, 0, p->name);
  esh_put_string(s, kOfxPropShortLabel, 0, p->name);
  esh_put_string(s, kOfxPropLongLabel, 0, p->name);
  esh_put_string(s, kOfxParamPropType, 0, p->type->name);
  esh_put_int(s, kOfxParamPropSecret, 0, 0);
  esh_put_string(s, kOfxParamPropHint, 0, "");
  esh_put_string(s, kOfxParamPropScriptName, 0, p->name);
  esh_put_string(s, kOfxParamPropParent, 0, "");
  esh_put_int(s, kOfxParamPropEnabled, 0, 1);
  esh_put_pointer(s, kOfxParamPropDataPtr, 0, NULL);
  esh_put_int(s, kOfxParamPropAnimates, 0, 1);
  esh_put_int(s, kOfxParamPropIsAnimating, 0, 0);
  esh_put_int(s, kOfxParamPropIsAutoKeying, 0, 0);
  esh_put_int(s, kOfxParamPropPersistant, 0, 1);
  esh_put_int(s, kOfxParamPropEvaluateOnChange, 0, 1);
  esh_put_int(s, kOfxParamPropPluginMayWrite, 0, 0);
  esh_put_string(s, kOfxParamPropCacheInvalidation, 0, kOfxParamInvalidateValueChange);
  esh_put_int(s, kOfxParamPropCanUndo, 0, 1);
  esh_put_int(s, kOfxParamPropGroupOpen, 0, 1);
  esh_put_int(s, kOfxParamPropChoiceEnum, 0, 1);
  esh_put_string(s, kOfxParamPropStringMode, 0, kOfxParamStringIsSingleLine);
  esh_put_int(s, kOfxParamPropStringFilePathExists, 0, 1);
  esh_put_string(s, kOfxParamPropDoubleType, 0, kOfxParamDoubleTypePlain);
  esh_put_int(s, kOfxParamPropShowTimeMarker, 0, 0);
  esh_put_double(s, kOfxParamPropIncrement, 0, 1);
  esh_put_int(s, kOfxParamPropDigits, 0, 2);
  static const char *const range[] = {kOfxParamPropMin, kOfxParamPropMax, kOfxParamPropDisplayMin,
                                      kOfxParamPropDisplayMax};
  const int value_type = kind == KIND_DOUBLE ? ESH_DOUBLE : kind == KIND_STRING ? ESH_STRING
                         : kind == KIND_BYTES ? ESH_POINTER : ESH_INT;
  esh_prop_type(s, kOfxParamPropDefault, is_type(p, kOfxParamTypeBoolean) ? ESH_INT | ESH_BOOL : value_type, n);
  for (int i = 0; i < 4; i++) esh_prop_type(s, range[i], kind == KIND_DOUBLE ? ESH_DOUBLE : ESH_INT, n);
  for (int k = 0; k < n; k++) {
    if (kind == KIND_DOUBLE) {
      esh_put_double(s, kOfxParamPropDefault, k, 0);
      for (int i = 0; i < 4; i++) esh_put_double(s, range[i], k, i & 1 ? DBL_MAX : -DBL_MAX);
    } else if (kind == KIND_INTEGER) {
      esh_put_int(s, kOfxParamPropDefault, k, 0);
      for (int i = 0; i < 4; i++) esh_put_int(s, range[i], k, i & 1 ? INT_MAX : INT_MIN);
    } else if (kind == KIND_STRING) {
      esh_put_string(s, kOfxParamPropDefault, k, "");
    }
  }
  if (kind == KIND_BYTES) esh_put_pointer(s, kOfxParamPropDefault, 0, NULL);
  s->extends_display = 1;
  esh_props_settle(s);
}

/* Instances start from the descriptor's properties; the values from the defaults. */
void esh_params_instance(OfxParamSetHandle set, OfxParamSetHandle descriptor) {
  for (int i = 0; i < descriptor->count; i++) {
    OfxParamHandle from = descriptor->params[i];
    OfxParamHandle p = append(set, from->name, from->type);
    p->props = esh_props_clone(from->props, from->type->set, esh_format("parameter %s", from->name));
    esh_put_string(p->props, kOfxPropType, 0, kOfxTypeParameterInstance);
    for (int k = 0; k < p->type->dimension; k++) {
      if (p->type->kind == KIND_DOUBLE) p->d[k] = esh_peek_double(p->props, kOfxParamPropDefault, k, 0);
      if (p->type->kind == KIND_INTEGER) p->i[k] = esh_peek_int(p->props, kOfxParamPropDefault, k, 0);
    }
    if (p->type->kind == KIND_STRING) {
      const char *text = esh_peek_string(p->props, kOfxParamPropDefault, 0);
      p->s = esh_copy(text ? text : "");
    }
  }
}

/* Faults in what was described; called once after DescribeInContext. */
void esh_params_check(OfxParamSetHandle set) {
  EshHost *host = set->effect->host;
  for (int i = 0; i < set->count; i++) {
    OfxParamHandle p = set->params[i];
    const char *parent = esh_peek_string(p->props, kOfxParamPropParent, 0);
    if (parent && *parent) {
      OfxParamHandle group = esh_params_find(set, parent);
      if (!group || !is_type(group, kOfxParamTypeGroup))
        esh_fault_add(host, "parameter %s: its parent \"%s\" is not a group", p->name, parent);
    }
    for (int k = 0; k < esh_peek_count(p->props, kOfxParamPropPageChild); k++) {
      const char *child = esh_peek_string(p->props, kOfxParamPropPageChild, k);
      if (strcmp(child, kOfxParamPageSkipRow) && strcmp(child, kOfxParamPageSkipColumn) &&
          !esh_params_find(set, child))
        esh_fault_add(host, "page %s: its child \"%s\" is not a parameter", p->name, child);
    }
    for (const char *c = p->name; *c; c++)
      if ((unsigned char)*c >= 0x80 || *c <= ' ') {
        esh_fault_add(host, "parameter \"%s\": names are printable ASCII without spaces", p->name);
        break;
      }
    const int options = esh_peek_count(p->props, kOfxParamPropChoiceOption);
    if (is_type(p, kOfxParamTypeChoice)) {
      const int index = esh_peek_int(p->props, kOfxParamPropDefault, 0, 0);
      if (!options) esh_fault_add(host, "choice %s has no options", p->name);
      else if (index < 0 || index >= options)
        esh_fault_add(host, "choice %s: default %d, and it has %d options", p->name, index, options);
    }
    for (int k = 0; k < p->type->dimension; k++) {
      const double value = esh_peek_double(p->props, kOfxParamPropDefault, k, 0);
      const double low = esh_peek_double(p->props, kOfxParamPropMin, k, -DBL_MAX);
      const double high = esh_peek_double(p->props, kOfxParamPropMax, k, DBL_MAX);
      if (p->type->kind == KIND_STRING || p->type->kind == KIND_BYTES) break;
      if (!(value >= low && value <= high))
        esh_fault_add(host, "parameter %s: default %g outside %g to %g", p->name, value, low, high);
    }
  }
}

static int option_index(OfxParamHandle p, const char *property, const char *text) {
  for (int k = 0; k < esh_peek_count(p->props, property); k++)
    if (!strcmp(esh_peek_string(p->props, property, k), text)) return k;
  return -1;
}

/* Checks numbers against range and options. `err` may be NULL. 0 when good. */
static int good_value(OfxParamHandle p, const int *i, const double *d, const char *s, char *err) {
  if (is_type(p, kOfxParamTypeChoice)) {
    const int n = esh_peek_count(p->props, kOfxParamPropChoiceOption);
    if (i[0] >= 0 && i[0] < n) return 0;
    esh_error(err, "%s: option %d does not exist; give 0 to %d or an option's text", p->name, i[0], n - 1);
    return -1;
  }
  if (is_type(p, kOfxParamTypeBoolean)) {
    if (i[0] == 0 || i[0] == 1) return 0;
    esh_error(err, "%s: %d is not a boolean; give 0 or 1", p->name, i[0]);
    return -1;
  }
  if (is_type(p, kOfxParamTypeStrChoice)) {
    if (!esh_peek_count(p->props, kOfxParamPropChoiceOption) || option_index(p, kOfxParamPropChoiceOption, s) >= 0)
      return 0;
    esh_error(err, "%s: \"%s\" is not one of its options", p->name, s);
    return -1;
  }
  if (p->type->kind != KIND_DOUBLE && p->type->kind != KIND_INTEGER) return 0;
  for (int k = 0; k < p->type->dimension; k++) {
    const double v = p->type->kind == KIND_DOUBLE ? d[k] : i[k];
    const double low = esh_peek_double(p->props, kOfxParamPropMin, k, -DBL_MAX);
    const double high = esh_peek_double(p->props, kOfxParamPropMax, k, DBL_MAX);
    if (v >= low && v <= high) continue;
    esh_error(err, "%s: %g is outside its range; give a number from %g to %g", p->name, v, low, high);
    return -1;
  }
  return 0;
}

char *esh_quote(const char *text, size_t length) {
  char *out = esh_alloc(length * 4 + 3), *o = out;
  *o++ = '"';
  for (size_t i = 0; i < length; i++) {
    const unsigned char c = (unsigned char)text[i];
    if (c == '"' || c == '\\') *o++ = '\\', *o++ = (char)c;
    else if (c == '\n') *o++ = '\\', *o++ = 'n';
    else if (c == '\t') *o++ = '\\', *o++ = 't';
    else if (c < 0x20 || c == 0x7f) o += sprintf(o, "\\x%02x", c);
    else *o++ = (char)c;
  }
  *o++ = '"';
  *o = 0;
  return out;
}

static int hex(char c) {
  return c >= '0' && c <= '9' ? c - '0' : c >= 'a' && c <= 'f' ? c - 'a' + 10 : c >= 'A' && c <= 'F' ? c - 'A' + 10 : -1;
}

/* Undoes esh_quote; NULL if `text` is not one quoted string and nothing else. */
static char *unquote(const char *text) {
  if (*text++ != '"') return NULL;
  char *out = esh_alloc(strlen(text) + 1), *o = out;
  for (; *text && *text != '"'; text++) {
    if (*text != '\\') {
      *o++ = *text;
      continue;
    }
    text++;
    if (*text == 'n') *o++ = '\n';
    else if (*text == 't') *o++ = '\t';
    else if (*text == '"' || *text == '\\') *o++ = *text;
    else if (*text == 'x' && hex(text[1]) >= 0 && hex(text[2]) >= 0 && (text[1] != '0' || text[2] != '0'))
      *o++ = (char)(hex(text[1]) * 16 + hex(text[2])), text += 2;
    else break;
  }
  *o = 0;
  if (text[0] == '"' && !text[1]) return out;
  free(out);
  return NULL;
}

char *esh_param_text(OfxParamHandle p) {
  if (p->type->kind == KIND_STRING) return esh_quote(p->s, strlen(p->s));
  if (p->type->kind == KIND_BYTES) {
    char *out = esh_alloc(p->length * 2 + 3);
    out[0] = '"';
    for (size_t k = 0; k < p->length; k++) sprintf(out + 1 + 2 * k, "%02x", (unsigned char)p->s[k]);
    strcpy(out + 1 + 2 * p->length, "\"");
    return out;
  }
  if (p->type->kind == KIND_NONE) return NULL;
  char text[4 * 32] = "";
  for (int k = 0, at = 0; k < p->type->dimension; k++)
    at += p->type->kind == KIND_DOUBLE
              ? snprintf(text + at, sizeof text - (size_t)at, "%s%.17g", k ? "," : "", p->d[k])
              : snprintf(text + at, sizeof text - (size_t)at, "%s%d", k ? "," : "", p->i[k]);
  return esh_copy(text);
}

static int parse_numbers(OfxParamHandle p, const char *text, int *i, double *d, char *err) {
  const char *at = text;
  for (int k = 0; k < p->type->dimension; k++) {
    char *end;
    errno = 0;
    const double v = strtod(at, &end);
    const int last = k == p->type->dimension - 1;
    if (end == at || (last ? *end != 0 : *end != ',') || errno == ERANGE || !isfinite(v)) {
      esh_error(err, "%s: \"%s\" is not %s; give %d finite number%s%s", p->name, text,
                p->type->dimension == 1 ? "a number" : "a list of numbers", p->type->dimension,
                p->type->dimension == 1 ? "" : "s", p->type->dimension == 1 ? "" : " separated by commas");
      return -1;
    }
    if (p->type->kind == KIND_INTEGER) {
      if (v != floor(v) || v < INT_MIN || v > INT_MAX) {
        esh_error(err, "%s: %g is not an integer of 32 bits", p->name, v);
        return -1;
      }
      i[k] = (int)v;
    } else {
      d[k] = v;
    }
    at = end + 1;
  }
  return 0;
}

int esh_param_parse(OfxParamHandle p, const char *text, int quoted, int store, char *err) {
  int i[3] = {0};
  double d[4] = {0};
  char *s = NULL;
  size_t length = 0;
  switch (p->type->kind) {
    case KIND_NONE:
      esh_error(err, "%s: a parameter of type %s has no value", p->name, p->type->name);
      return -1;
    case KIND_INTEGER:
    case KIND_DOUBLE: {
      const int option = is_type(p, kOfxParamTypeChoice) && !quoted
                             ? option_index(p, kOfxParamPropChoiceOption, text) : -1;
      if (option >= 0) i[0] = option;
      else if (is_type(p, kOfxParamTypeBoolean) && !strcmp(text, "true")) i[0] = 1;
      else if (is_type(p, kOfxParamTypeBoolean) && !strcmp(text, "false")) i[0] = 0;
      else if (parse_numbers(p, text, i, d, err)) return -1;
      break;
    }
    case KIND_STRING:
    case KIND_BYTES:
      s = quoted ? unquote(text) : esh_copy(text);
      if (!s) {
        esh_error(err, "%s: %.60s is not a string in double quotes", p->name, text);
        return -1;
      }
      length = strlen(s);
      if (p->type->kind == KIND_BYTES) {
        for (size_t k = 0; k < length; k += 2) {
          if (hex(s[k]) < 0 || hex(s[k + 1]) < 0) { /* an odd length meets the NUL here */
            esh_error(err, "%s: bytes are given as pairs of hexadecimal digits", p->name);
            free(s);
            return -1;
          }
          s[k / 2] = (char)(hex(s[k]) * 16 + hex(s[k + 1]));
        }
        length /= 2;
      }
      break;
  }
  if (good_value(p, i, d, s, err)) {
    free(s);
    return -1;
  }
  if (store) {
    EshHost *host = p->set->effect->host;
    esh_lock(host);
    memcpy(p->i, i, sizeof i);
    memcpy(p->d, d, sizeof d);
    if (s) {
      retire(p);
      p->s = s;
      p->length = length;
      s = NULL;
    }
    esh_unlock(host);
  }
  free(s);
  return 0;
}

static OfxStatus define(OfxParamSetHandle set, const char *type, const char *name, OfxPropertySetHandle *props) {
  if (props) *props = NULL;
  if (!valid_set(set)) return kOfxStatErrBadHandle;
  EshHost *host = set->effect->host;
  if (!type || !name || !*name) return kOfxStatErrValue;
  if (set->effect->kind != EFFECT_CONTEXT || !esh_inside(kOfxImageEffectActionDescribeInContext)) {
    esh_fault_add(host, "paramDefine %s outside DescribeInContext", name);
    return kOfxStatErrUnsupported;
  }
  const EshParamType *found = NULL;
  for (size_t i = 0; i < sizeof types / sizeof types[0]; i++)
    if (!strcmp(types[i].name, type)) found = &types[i];
  if (!found) return kOfxStatErrUnknown;
  if (esh_params_find(set, name)) {
    esh_fault_add(host, "paramDefine %s: there is a parameter of that name already", name);
    return kOfxStatErrExists;
  }
  OfxParamHandle p = append(set, name, found);
  p->props = esh_props_new(host, found->set, esh_format("parameter %s", name));
  fill_defaults(p);
  if (props) *props = p->props;
  return kOfxStatOK;
}

static OfxStatus get_handle(OfxParamSetHandle set, const char *name, OfxParamHandle *param,
                            OfxPropertySetHandle *props) {
  if (!valid_set(set)) return kOfxStatErrBadHandle;
  OfxParamHandle p = name ? esh_params_find(set, name) : NULL;
  if (!p) return kOfxStatErrUnknown;
  if (param) *param = p;
  if (props) *props = p->props;
  return kOfxStatOK;
}

static OfxStatus set_props(OfxParamSetHandle set, OfxPropertySetHandle *props) {
  if (!valid_set(set) || !props) return kOfxStatErrBadHandle;
  *props = set->props;
  return kOfxStatOK;
}

static OfxStatus param_props(OfxParamHandle p, OfxPropertySetHandle *props) {
  if (!valid(p) || !props) return kOfxStatErrBadHandle;
  *props = p->props;
  return kOfxStatOK;
}

/* A value may be read or written: an instance's parameter of a type that has one. */
static OfxStatus has_value(OfxParamHandle p) {
  if (!valid(p)) return kOfxStatErrBadHandle;
  if (p->set->effect->kind != EFFECT_INSTANCE) {
    esh_fault_add(p->set->effect->host, "value of parameter %s asked of a descriptor; only instances have values",
                  p->name);
    return kOfxStatErrBadHandle;
  }
  return p->type->kind == KIND_NONE ? kOfxStatErrUnsupported : kOfxStatOK;
}

static OfxStatus get(OfxParamHandle p, va_list args) {
  const OfxStatus status = has_value(p);
  if (status) return status;
  EshHost *host = p->set->effect->host;
  const EshOddParams odd = host->config.odd_params;
  if (odd == ESH_PARAMS_UNREADABLE) return kOfxStatErrUnsupported;
  esh_lock(host);
  if (odd == ESH_PARAMS_NONSENSE && p->type->kind != KIND_BYTES) {
    const uint64_t drawn = esh_draw(1, p->name);
    if (p->type->kind == KIND_STRING) *va_arg(args, char **) = NULL;
    for (int k = 0; p->type->kind != KIND_STRING && k < p->type->dimension; k++) {
      if (p->type->kind == KIND_DOUBLE) *va_arg(args, double *) = drawn % 2 ? NAN : -1e300;
      else *va_arg(args, int *) = drawn % 2 ? INT_MIN : 1000;
    }
  } else if (p->type->kind == KIND_BYTES) {
    OfxBytes *out = va_arg(args, OfxBytes *);
    out->data = (const unsigned char *)p->s;
    out->length = p->length;
  } else if (p->type->kind == KIND_STRING) {
    *va_arg(args, char **) = p->s;
  } else {
    for (int k = 0; k < p->type->dimension; k++) {
      if (p->type->kind == KIND_DOUBLE) *va_arg(args, double *) = p->d[k];
      else *va_arg(args, int *) = p->i[k];
    }
  }
  esh_unlock(host);
  return kOfxStatOK;
}

static OfxStatus get_value(OfxParamHandle p, ...) {
  va_list args;
  va_start(args, p);
  const OfxStatus status = get(p, args);
  va_end(args);
  return status;
}

static OfxStatus get_value_at(OfxParamHandle p, OfxTime time, ...) {
  va_list args;
  va_start(args, time);
  const OfxStatus status = get(p, args);
  va_end(args);
  return status;
}

/* A constant has derivative 0. */
static OfxStatus derivative(OfxParamHandle p, OfxTime time, ...) {
  const OfxStatus status = has_value(p);
  if (status) return status;
  if (p->type->kind != KIND_DOUBLE) return kOfxStatErrUnsupported;
  va_list args;
  va_start(args, time);
  for (int k = 0; k < p->type->dimension; k++) *va_arg(args, double *) = 0;
  va_end(args);
  return kOfxStatOK;
}

static OfxStatus integral(OfxParamHandle p, OfxTime time1, OfxTime time2, ...) {
  const OfxStatus status = has_value(p);
  if (status) return status;
  if (p->type->kind != KIND_DOUBLE) return kOfxStatErrUnsupported;
  va_list args;
  va_start(args, time2);
  for (int k = 0; k < p->type->dimension; k++) *va_arg(args, double *) = p->d[k] * (time2 - time1);
  va_end(args);
  return kOfxStatOK;
}

/* Where the standard lets a plug-in set parameters: InstanceChanged, and around creation and syncing. */
static int may_set(OfxParamHandle p) {
  if (!(esh_inside(kOfxImageEffectActionRender) || esh_inside(kOfxImageEffectActionIsIdentity) ||
        esh_inside(kOfxImageEffectActionGetClipPreferences) || esh_inside(kOfxImageEffectActionGetFramesNeeded) ||
        esh_inside(kOfxImageEffectActionGetRegionOfDefinition) ||
        esh_inside(kOfxImageEffectActionGetRegionsOfInterest)))
    return 1;
  esh_fault_add(p->set->effect->host, "parameter %s set within %s; only InstanceChanged may change parameters", p->name,
                esh_current_action()->name);
  return p->set->effect->host->config.lenient;
}

static OfxStatus set(OfxParamHandle p, va_list args) {
  OfxStatus status = has_value(p);
  if (status) return status;
  EshHost *host = p->set->effect->host;
  if (!may_set(p) || host->config.odd_params == ESH_PARAMS_READ_ONLY) return kOfxStatErrUnsupported;
  int i[3] = {0};
  double d[4] = {0};
  const char *s = NULL;
  size_t length = 0;
  if (p->type->kind == KIND_BYTES) {
    const OfxBytes *bytes = va_arg(args, const OfxBytes *);
    if (!bytes || (bytes->length && !bytes->data)) return kOfxStatErrValue;
    s = (const char *)bytes->data;
    length = bytes->length;
  } else if (p->type->kind == KIND_STRING) {
    s = va_arg(args, const char *);
    if (!s) return kOfxStatErrValue;
    length = strlen(s);
  } else {
    for (int k = 0; k < p->type->dimension; k++) {
      if (p->type->kind == KIND_DOUBLE) d[k] = va_arg(args, double);
      else i[k] = va_arg(args, int);
    }
  }
  char err[ESH_ERR];
  if (good_value(p, i, d, s, err)) {
    esh_fault_add(host, "paramSetValue refused: %s", err);
    if (!host->config.lenient) return kOfxStatErrValue;
  }
  esh_lock(host);
  memcpy(p->i, i, sizeof i);
  memcpy(p->d, d, sizeof d);
  if (p->type->kind == KIND_STRING || p->type->kind == KIND_BYTES) {
    char *copy = esh_alloc(length + 1);
    if (length) memcpy(copy, s, length);
    copy[length] = 0;
    retire(p);
    p->s = copy;
    p->length = length;
  }
  host->counts.params_set++;
  esh_unlock(host);
  if (esh_inside(kOfxActionInstanceChanged))
    esh_instance_changed(p->set->effect, kOfxTypeParameter, p->name, kOfxChangePluginEdited, 1);
  return kOfxStatOK;
}

static OfxStatus set_value(OfxParamHandle p, ...) {
  va_list args;
  va_start(args, p);
  const OfxStatus status = set(p, args);
  va_end(args);
  return status;
}

/* No animation: setting at a time sets the value for all times. */
static OfxStatus set_value_at(OfxParamHandle p, OfxTime time, ...) {
  va_list args;
  va_start(args, time);
  const OfxStatus status = set(p, args);
  va_end(args);
  return status;
}

static OfxStatus num_keys(OfxParamHandle p, unsigned int *n) {
  const OfxStatus status = has_value(p);
  if (status) return status;
  if (!n) return kOfxStatErrValue;
  *n = 0;
  return kOfxStatOK;
}

static OfxStatus key_time(OfxParamHandle p, unsigned int nth, OfxTime *time) {
  (void)nth, (void)time;
  const OfxStatus status = has_value(p);
  return status ? status : kOfxStatErrBadIndex;
}

static OfxStatus key_index(OfxParamHandle p, OfxTime time, int direction, int *index) {
  (void)time, (void)direction;
  const OfxStatus status = has_value(p);
  if (status) return status;
  if (index) *index = -1;
  return kOfxStatFailed; /* no such key */
}

static OfxStatus delete_key(OfxParamHandle p, OfxTime time) {
  (void)time;
  const OfxStatus status = has_value(p);
  return status ? status : kOfxStatErrBadIndex;
}

static OfxStatus delete_all_keys(OfxParamHandle p) { return has_value(p); }

static OfxStatus copy(OfxParamHandle to, OfxParamHandle from, OfxTime offset, const OfxRangeD *range) {
  (void)offset, (void)range;
  OfxStatus status = has_value(to);
  if (!status) status = has_value(from);
  if (status) return status;
  if (to->type != from->type) return kOfxStatErrValue;
  if (!may_set(to)) return kOfxStatErrUnsupported;
  EshHost *host = to->set->effect->host;
  esh_lock(host);
  memcpy(to->i, from->i, sizeof to->i);
  memcpy(to->d, from->d, sizeof to->d);
  if (from->s && to != from) {
    const size_t length = from->type->kind == KIND_BYTES ? from->length : strlen(from->s);
    char *text = esh_alloc(length + 1);
    memcpy(text, from->s, length);
    text[length] = 0;
    retire(to);
    to->s = text;
    to->length = from->length;
  }
  esh_unlock(host);
  if (esh_inside(kOfxActionInstanceChanged))
    esh_instance_changed(to->set->effect, kOfxTypeParameter, to->name, kOfxChangePluginEdited, 1);
  return kOfxStatOK;
}

static OfxStatus edit_begin(OfxParamSetHandle set, const char *name) {
  (void)name;
  if (!valid_set(set)) return kOfxStatErrBadHandle;
  if (!esh_inside(kOfxActionInstanceChanged))
    esh_fault_add(set->effect->host, "paramEditBegin outside InstanceChanged");
  set->edits_open++;
  return kOfxStatOK;
}

static OfxStatus edit_end(OfxParamSetHandle set) {
  if (!valid_set(set)) return kOfxStatErrBadHandle;
  if (!set->edits_open) {
    esh_fault_add(set->effect->host, "paramEditEnd without paramEditBegin");
    return kOfxStatFailed;
  }
  set->edits_open--;
  return kOfxStatOK;
}

const OfxParameterSuiteV1 esh_parameter_suite = {
    define,       get_handle, set_props, param_props, get_value,  get_value_at,    derivative, integral,   set_value,
    set_value_at, num_keys,   key_time,  key_index,   delete_key, delete_all_keys, copy,       edit_begin, edit_end,
};

int esh_param_count(const EshEffect *effect) { return effect->params.count; }
OfxParamHandle esh_param(const EshEffect *effect, int index) {
  return index >= 0 && index < effect->params.count ? effect->params.params[index] : NULL;
}
OfxParamHandle esh_param_find(const EshEffect *effect, const char *name) {
  return esh_params_find((OfxParamSetHandle)&effect->params, name);
}
const char *esh_param_name(OfxParamHandle p) { return p->name; }
const char *esh_param_type(OfxParamHandle p) { return p->type->name; }
const char *esh_param_string(OfxParamHandle p, const char *property, int index) {
  return esh_peek_string(p->props, property, index);
}
double esh_param_number(OfxParamHandle p, const char *property, int index, double otherwise) {
  return esh_peek_double(p->props, property, index, otherwise);
}
int esh_param_dimension(OfxParamHandle p) { return p->type->dimension; }
const char *esh_param_string_value(OfxParamHandle p) { return p->type->kind == KIND_STRING ? p->s : NULL; }
