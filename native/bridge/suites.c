/* SPDX-License-Identifier: Apache-2.0
 *
 * The host's suites, its properties read with a default, and messages. Nothing is expected of a host beyond the three
 * suites that image effects cannot do without.
 */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "plugin.h"

EvSuites ev_suites;
OfxHost *ev_host;

static const void *suite(const char *name, int version) {
  return ev_host->fetchSuite(ev_host->host, name, version);
}

OfxStatus ev_suites_fetch(void) {
  if (!ev_host || !ev_host->fetchSuite) {
    return kOfxStatErrMissingHostFeature;
  }
  ev_suites.message2 = suite(kOfxMessageSuite, 2);
  ev_suites.message = suite(kOfxMessageSuite, 1);
  ev_suites.property = suite(kOfxPropertySuite, 1);
  ev_suites.effect = suite(kOfxImageEffectSuite, 1);
  ev_suites.parameter = suite(kOfxParameterSuite, 1);
  ev_suites.threads = suite(kOfxMultiThreadSuite, 1);
  ev_suites.progress2 = suite(kOfxProgressSuite, 2);
  ev_suites.progress = suite(kOfxProgressSuite, 1);
  ev_suites.timeline = suite(kOfxTimeLineSuite, 1);
  const char *missing = !ev_suites.property ? kOfxPropertySuite
                        : !ev_suites.effect ? kOfxImageEffectSuite
                        : !ev_suites.parameter ? kOfxParameterSuite : NULL;
  if (!missing) {
    return kOfxStatOK;
  }
  char text[EV_TEXT] = "Evenstop cannot work in this host: it has no ";
  strncat(text, missing, sizeof text - strlen(text) - 1);
  ev_say(NULL, kOfxMessageError, "missingSuite", text);
  ev_suites_forget();
  return kOfxStatErrMissingHostFeature;
}

void ev_suites_forget(void) {
  memset(&ev_suites, 0, sizeof ev_suites);
}

/* Single getters first, then those for several: a host may have one kind only. */
enum { MOST_NUMBERS = 8 };

static int get_int(OfxPropertySetHandle set, const char *name, int index, int *value) {
  const OfxPropertySuiteV1 *suite = ev_suites.property;
  int several[MOST_NUMBERS];
  if (!suite || !set) {
    return 0;
  }
  if (suite->propGetInt) {
    return suite->propGetInt(set, name, index, value) == kOfxStatOK;
  }
  if (index < MOST_NUMBERS && suite->propGetIntN && suite->propGetIntN(set, name, index + 1, several) == kOfxStatOK) {
    *value = several[index];
    return 1;
  }
  return 0;
}

static int get_double(OfxPropertySetHandle set, const char *name, int index, double *value) {
  const OfxPropertySuiteV1 *suite = ev_suites.property;
  double several[MOST_NUMBERS];
  if (!suite || !set) {
    return 0;
  }
  if (suite->propGetDouble) {
    return suite->propGetDouble(set, name, index, value) == kOfxStatOK;
  }
  if (index < MOST_NUMBERS && suite->propGetDoubleN && suite->propGetDoubleN(set, name, index + 1, several) == kOfxStatOK) {
    *value = several[index];
    return 1;
  }
  return 0;
}

int ev_int(OfxPropertySetHandle set, const char *name, int index, int otherwise) {
  int value;
  return get_int(set, name, index, &value) ? value : otherwise;
}

double ev_double(OfxPropertySetHandle set, const char *name, int index, double otherwise) {
  double value;
  return get_double(set, name, index, &value) ? value : otherwise;
}

const char *ev_string(OfxPropertySetHandle set, const char *name, int index, const char *otherwise) {
  char *value = NULL;
  const OfxPropertySuiteV1 *suite = ev_suites.property;
  return suite && suite->propGetString && set && suite->propGetString(set, name, index, &value) == kOfxStatOK && value
           ? value
           : otherwise;
}

void *ev_pointer(OfxPropertySetHandle set, const char *name) {
  void *value = NULL;
  const OfxPropertySuiteV1 *suite = ev_suites.property;
  return suite && suite->propGetPointer && set && suite->propGetPointer(set, name, 0, &value) == kOfxStatOK ? value : NULL;
}

int ev_ints(OfxPropertySetHandle set, const char *name, int count, int *values) {
  for (int i = 0; i < count; i++) {
    if (!get_int(set, name, i, values + i)) {
      return 0;
    }
  }
  return 1;
}

int ev_doubles(OfxPropertySetHandle set, const char *name, int count, double *values) {
  for (int i = 0; i < count; i++) {
    if (!get_double(set, name, i, values + i)) {
      return 0;
    }
  }
  return 1;
}

OfxStatus ev_set_string(OfxPropertySetHandle set, const char *name, int index, const char *value) {
  return set && ev_suites.property && ev_suites.property->propSetString
           ? ev_suites.property->propSetString(set, name, index, value)
           : kOfxStatErrMissingHostFeature;
}

void ev_offer_int(OfxPropertySetHandle set, const char *name, int index, int value) {
  if (set && ev_suites.property && ev_suites.property->propSetInt) {
    (void)ev_suites.property->propSetInt(set, name, index, value);
  }
}

void ev_offer_double(OfxPropertySetHandle set, const char *name, int index, double value) {
  if (set && ev_suites.property && ev_suites.property->propSetDouble) {
    (void)ev_suites.property->propSetDouble(set, name, index, value);
  }
}

void ev_offer_string(OfxPropertySetHandle set, const char *name, int index, const char *value) {
  (void)ev_set_string(set, name, index, value);
}

void ev_signed(char *text, const char *opening, const char *why) {
  static const char ours[] = "Evenstop";
  if (!strncmp(why, ours, sizeof ours - 1)) {
    opening = "";
  }
  snprintf(text, EV_TEXT, "%s%.*s", opening, EV_TEXT - 1 - (int)strlen(opening), why);
}

int ev_say(void *effect, const char *type, const char *id, const char *text) {
  if (ev_suites.message2 && ev_suites.message2->message
      && ev_suites.message2->message(effect, type, id, "%s", text) == kOfxStatOK) {
    return 1;
  }
  return ev_suites.message && ev_suites.message->message
         && ev_suites.message->message(effect, type, id, "%s", text) == kOfxStatOK;
}
