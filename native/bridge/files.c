/* SPDX-License-Identifier: Apache-2.0
 *
 * The buttons that load and save aims, camera profiles and corrections. Java reads, checks and writes the files; here their
 * content goes into parameters, and trouble to the user.
 */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "plugin.h"

/* By operation of EvFile. */
static const struct {
  EvParameterId button, path;
} buttons[] = {
  [EV_READ_PRESET] = {EV_LOAD_PRESET, EV_PRESET_FILE},
  [EV_READ_PROFILE] = {EV_LOAD_PROFILE, EV_PROFILE_FILE},
  [EV_READ_CORRECTION] = {EV_LOAD_CORRECTION, EV_CORRECTION_FILE},
  [EV_WRITE_PRESET] = {EV_SAVE_PRESET, EV_PRESET_FILE},
  [EV_WRITE_PROFILE] = {EV_SAVE_PROFILE, EV_PROFILE_FILE},
  [EV_WRITE_CORRECTION] = {EV_SAVE_CORRECTION, EV_CORRECTION_FILE},
};

/* What is wrong with a file stays in view, where the host can keep a message, until a press goes well. */
static void tell(EvInstance *instance, const char *why) {
  char text[EV_TEXT];
  ev_signed(text, "Evenstop: ", why);
  const OfxMessageSuiteV2 *suite = ev_suites.message2;
  if (suite && suite->setPersistentMessage
      && suite->setPersistentMessage(instance->effect, kOfxMessageError, "evenstopFile", "%s", text) == kOfxStatOK) {
    pthread_mutex_lock(&instance->lock);
    instance->file_trouble = 1;
    pthread_mutex_unlock(&instance->lock);
  } else {
    ev_say(instance->effect, kOfxMessageError, "evenstopFile", text);
  }
}

static void went_well(EvInstance *instance) {
  pthread_mutex_lock(&instance->lock);
  int shown = instance->file_trouble;
  instance->file_trouble = 0;
  if (shown) {
    instance->complaint[0] = 0; /* goes with it; what still holds is said again by the next render */
    instance->complaint_persists = 0;
  }
  pthread_mutex_unlock(&instance->lock);
  if (shown && ev_suites.message2 && ev_suites.message2->clearPersistentMessage) {
    (void)ev_suites.message2->clearPersistentMessage(instance->effect);
  }
}

static int set_number(EvInstance *instance, EvParameterId id, double value) {
  return instance->parameter[id] && ev_suites.parameter->paramSetValue
         && ev_suites.parameter->paramSetValue(instance->parameter[id], value) == kOfxStatOK;
}

static int set_index(EvInstance *instance, EvParameterId id, int value) {
  return instance->parameter[id] && ev_suites.parameter->paramSetValue
         && ev_suites.parameter->paramSetValue(instance->parameter[id], value) == kOfxStatOK;
}

/* A saved aim holds what subject, level and chroma controls did: they go back to their defaults. The sky's stay. */
static int reset_controls(EvInstance *instance) {
  int taken = set_index(instance, EV_SUBJECT, (int)ev_parameters[EV_SUBJECT].number);
  for (int i = 0; i < EV_PARAMETER_COUNT; i++) {
    const EvParameter *parameter = &ev_parameters[i];
    if (parameter->solves && !strcmp(parameter->type, kOfxParamTypeDouble)
        && strcmp(parameter->parent, ev_parameters[EV_SKY_GROUP].name)) {
      taken &= set_number(instance, (EvParameterId)i, parameter->number);
    }
  }
  return taken;
}

/* Puts what was loaded where it counts; 1 when the host took all of it. */
static int take(EvInstance *instance, int operation, const char *content, const char *found) {
  if (operation == EV_READ_CORRECTION) {
    ev_keep(instance, NULL, content, "", found);
    return 1; /* which says itself what the host did not take */
  }
  EvParameterId text = operation == EV_READ_PRESET ? EV_PRESET_TEXT : EV_PROFILE_TEXT;
  EvParameterId choice = operation == EV_READ_PRESET ? EV_PRESET : EV_PROFILE;
  int bracketed = ev_suites.parameter->paramEditBegin && ev_suites.parameter->paramEditEnd
                  && ev_suites.parameter->paramEditBegin(instance->set, "Evenstop: load file") == kOfxStatOK;
  int taken = ev_write_text(instance, text, content);
  taken &= set_index(instance, choice, ev_option(choice, "file"));
  if (operation == EV_READ_PRESET) {
    taken &= reset_controls(instance);
  }
  if (bracketed) {
    (void)ev_suites.parameter->paramEditEnd(instance->set);
  }
  return taken;
}

static void run(EvInstance *instance, int operation, OfxTime time) {
  char why[EV_TEXT] = "";
  const EvBridge *bridge = ev_vm(1, why);
  if (!bridge) {
    ev_complain_of_java(instance, why, 1);
    return;
  }
  char *path = ev_text_at(instance, buttons[operation].path, time);
  char *text = operation == EV_WRITE_CORRECTION ? ev_text_at(instance, EV_CORRECTION, time)
               : operation >= EV_WRITE_PRESET   ? ev_wishes_at(instance, time)
                                                : NULL;
  EvFile block = {.head = {why, EV_TEXT}, .operation = operation, .path = path ? path : "", .text = text,
                  .length = text ? (int64_t)strlen(text) : 0};
  int ok = ev_vm_call(bridge->file, &block) == EV_OK;
  char *content = ev_taken(bridge, block.content), *found = ev_taken(bridge, block.found);
  if (ok && !(content && found)) {
    ok = 0;
    snprintf(why, sizeof why, "there is no memory left; close something and try again.");
  }
  if (ok && operation <= EV_READ_CORRECTION && !take(instance, operation, content, found)) {
    ok = 0;
    snprintf(why, sizeof why, "the host did not take what was loaded. Try again.");
  }
  if (ok) {
    went_well(instance);
  } else {
    tell(instance, why);
  }
  if (ok && operation <= EV_READ_PROFILE) {
    ev_solve_again(instance, time);
  }
  free(path);
  free(text);
  free(content);
  free(found);
}

int ev_file_pressed(EvInstance *instance, const char *name, OfxTime time) {
  for (int i = 0; i < (int)(sizeof buttons / sizeof *buttons); i++) {
    if (!strcmp(ev_parameters[buttons[i].button].name, name)) {
      run(instance, i, time);
      return 1;
    }
  }
  return 0;
}
