/* SPDX-License-Identifier: Apache-2.0
 *
 * An instance of the effect: its parameters, what is kept beside them, and what happens when the user changes something.
 * Everything kept can be made again from the parameters, so a copied project or a render node gives the same pixels.
 */
#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "plugin.h"

static OfxPropertySetHandle properties_of(OfxImageEffectHandle effect) {
  OfxPropertySetHandle set = NULL;
  return ev_suites.effect->getPropertySet && ev_suites.effect->getPropertySet(effect, &set) == kOfxStatOK ? set : NULL;
}

EvInstance *ev_instance(const void *handle) {
  return ev_pointer(properties_of((OfxImageEffectHandle)(uintptr_t)handle), kOfxPropInstanceData);
}

OfxImageClipHandle ev_clip(EvInstance *instance, const char *name, OfxPropertySetHandle *properties) {
  OfxImageClipHandle clip = NULL;
  OfxPropertySetHandle set = NULL;
  if (!ev_suites.effect->clipGetHandle
      || ev_suites.effect->clipGetHandle(instance->effect, name, &clip, &set) != kOfxStatOK) {
    clip = NULL;
    set = NULL;
  }
  if (clip && !set && ev_suites.effect->clipGetPropertySet) {
    (void)ev_suites.effect->clipGetPropertySet(clip, &set);
  }
  if (properties) {
    *properties = set;
  }
  return clip;
}

OfxStatus ev_create_instance(OfxImageEffectHandle effect, OfxPropertySetHandle in, OfxPropertySetHandle out) {
  (void)in, (void)out;
  OfxPropertySetHandle set = properties_of(effect);
  if (!set || !ev_suites.property->propSetPointer) {
    return kOfxStatErrMissingHostFeature;
  }
  EvInstance *instance = calloc(1, sizeof *instance);
  if (!instance) {
    return kOfxStatErrMemory;
  }
  instance->effect = effect;
  instance->properties = set;
  if (pthread_mutex_init(&instance->lock, NULL)) {
    free(instance);
    return kOfxStatErrMemory;
  }
  if (ev_suites.effect->getParamSet && ev_suites.effect->getParamSet(effect, &instance->set) == kOfxStatOK) {
    for (int i = 0; i < EV_PARAMETER_COUNT; i++) {
      if (!ev_suites.parameter->paramGetHandle
          || ev_suites.parameter->paramGetHandle(instance->set, ev_parameters[i].name, &instance->parameter[i], NULL)
               != kOfxStatOK) {
        instance->parameter[i] = NULL; /* its default serves */
      }
    }
  }
  OfxStatus status = ev_suites.property->propSetPointer(set, kOfxPropInstanceData, 0, instance);
  if (status == kOfxStatOK && ev_instance(effect) != instance) {
    status = kOfxStatErrMissingHostFeature; /* a host that takes it and does not give it back */
  }
  if (status != kOfxStatOK) {
    pthread_mutex_destroy(&instance->lock);
    free(instance);
  }
  return status;
}

/* With the lock held, or when nobody else can be there. */
static void forget_trial(EvInstance *instance) {
  free(instance->trial_measurement);
  free(instance->trial_correction);
  free(instance->trial_sky);
  free(instance->trial_wishes);
  instance->trial_measurement = instance->trial_correction = instance->trial_sky = instance->trial_wishes = NULL;
}

static void forget_prepared(EvInstance *instance) {
  for (int i = 0; i < 2; i++) {
    free(instance->prepared[i].text);
    instance->prepared[i].text = NULL;
  }
}

OfxStatus ev_destroy_instance(OfxImageEffectHandle effect, OfxPropertySetHandle in, OfxPropertySetHandle out) {
  (void)in, (void)out;
  EvInstance *instance = ev_instance(effect);
  if (!instance) {
    return kOfxStatReplyDefault;
  }
  if (ev_suites.property->propSetPointer) {
    (void)ev_suites.property->propSetPointer(instance->properties, kOfxPropInstanceData, 0, NULL);
  }
  forget_trial(instance);
  forget_prepared(instance);
  pthread_mutex_destroy(&instance->lock);
  free(instance);
  return kOfxStatOK;
}

/* A correction in use is prepared again at the next render; the trial's frames are measured again. */
OfxStatus ev_purge_caches(OfxImageEffectHandle effect, OfxPropertySetHandle in, OfxPropertySetHandle out) {
  (void)in, (void)out;
  EvInstance *instance = ev_instance(effect);
  if (!instance) {
    return kOfxStatReplyDefault;
  }
  pthread_mutex_lock(&instance->lock);
  forget_prepared(instance);
  pthread_mutex_unlock(&instance->lock);
  return kOfxStatOK;
}

double ev_number_at(EvInstance *instance, EvParameterId id, OfxTime time) {
  const EvParameter *parameter = &ev_parameters[id];
  double value = parameter->number;
  if (instance->parameter[id] && ev_suites.parameter->paramGetValueAtTime
      && ev_suites.parameter->paramGetValueAtTime(instance->parameter[id], time, &value) != kOfxStatOK) {
    value = parameter->number;
  }
  if (isnan(value)) {
    value = parameter->number;
  }
  return value < parameter->min ? parameter->min : value > parameter->max ? parameter->max : value;
}

int ev_index_at(EvInstance *instance, EvParameterId id, OfxTime time) {
  const EvParameter *parameter = &ev_parameters[id];
  int value = (int)parameter->number;
  if (instance->parameter[id] && ev_suites.parameter->paramGetValueAtTime
      && ev_suites.parameter->paramGetValueAtTime(instance->parameter[id], time, &value) != kOfxStatOK) {
    value = (int)parameter->number;
  }
  if (!parameter->option_count) {
    return value != 0;
  }
  return value < 0 || value >= parameter->option_count ? (int)parameter->number : value;
}

int ev_option(EvParameterId id, const char *name) {
  for (int i = 0; i < ev_parameters[id].option_count; i++) {
    if (!strcmp(ev_parameters[id].options[i].name, name)) {
      return i;
    }
  }
  return -1;
}

int ev_write_text(EvInstance *instance, EvParameterId id, const char *text) {
  return instance->parameter[id] && ev_suites.parameter->paramSetValue
         && ev_suites.parameter->paramSetValue(instance->parameter[id], text) == kOfxStatOK;
}

char *ev_text_at(EvInstance *instance, EvParameterId id, OfxTime time) {
  char *value = NULL;
  if (!instance->parameter[id] || !ev_suites.parameter->paramGetValueAtTime
      || ev_suites.parameter->paramGetValueAtTime(instance->parameter[id], time, &value) != kOfxStatOK || !value || !*value) {
    return NULL;
  }
  return strdup(value);
}

/* A number as the bits of a double: a locale of the host may write decimals its own way. */
static void write_bits(FILE *out, const char *name, double value) {
  uint64_t bits;
  memcpy(&bits, &value, sizeof bits);
  fprintf(out, "%s#%" PRIx64 "\n", name, bits);
}

char *ev_wishes_at(EvInstance *instance, OfxTime time) {
  char *text = NULL;
  size_t length;
  FILE *out = open_memstream(&text, &length);
  if (!out) {
    return NULL;
  }
  for (int i = 0; i < EV_PARAMETER_COUNT; i++) {
    const EvParameter *parameter = &ev_parameters[i];
    EvParameterId id = (EvParameterId)i;
    if (!parameter->solves) {
      continue;
    }
    if (!strcmp(parameter->type, kOfxParamTypeDouble)) {
      write_bits(out, parameter->name, ev_number_at(instance, id, time));
    } else if (!strcmp(parameter->type, kOfxParamTypeBoolean)) {
      write_bits(out, parameter->name, ev_index_at(instance, id, time));
    } else if (!strcmp(parameter->type, kOfxParamTypeChoice)) {
      fprintf(out, "%s=%s\n", parameter->name, parameter->options[ev_index_at(instance, id, time)].name);
    } else {
      char *value = ev_text_at(instance, id, time);
      if (value) {
        fprintf(out, "%s:%zu\n%s\n", parameter->name, strlen(value), value);
      }
      free(value);
    }
  }
  int written = !ferror(out);
  if (fclose(out) || !written) {
    free(text);
    return NULL;
  }
  return text;
}

int ev_complain(EvInstance *instance, const char *type, const char *text) {
  pthread_mutex_lock(&instance->lock);
  int known = !strncmp(instance->complaint, text, sizeof instance->complaint - 1);
  if (!known) {
    strncpy(instance->complaint, text, sizeof instance->complaint - 1);
  }
  int stays = instance->complaint_persists;
  pthread_mutex_unlock(&instance->lock);
  if (known) {
    return stays;
  }
  const OfxMessageSuiteV2 *suite = ev_suites.message2;
  int persists = suite && suite->setPersistentMessage
                 && suite->setPersistentMessage(instance->effect, type, "evenstop", "%s", text) == kOfxStatOK;
  if (!persists) {
    ev_say(instance->effect, type, "evenstop", text);
  }
  pthread_mutex_lock(&instance->lock);
  instance->complaint_persists = persists;
  pthread_mutex_unlock(&instance->lock);
  return 1;
}

void ev_complain_of_java(EvInstance *instance, const char *why, int asked) {
  if (!ev_complain(instance, kOfxMessageError, why) && asked) {
    ev_say(instance->effect, kOfxMessageError, "evenstop", why);
  }
}

void ev_recovered(EvInstance *instance) {
  pthread_mutex_lock(&instance->lock);
  int persists = instance->complaint[0] && instance->complaint_persists;
  instance->complaint[0] = 0;
  instance->complaint_persists = 0;
  pthread_mutex_unlock(&instance->lock);
  if (persists && ev_suites.message2 && ev_suites.message2->clearPersistentMessage) {
    (void)ev_suites.message2->clearPersistentMessage(instance->effect);
  }
}

static int is_wish(const char *name) {
  for (int i = 0; i < EV_PARAMETER_COUNT; i++) {
    if (ev_parameters[i].solves && !ev_parameters[i].secret && !strcmp(ev_parameters[i].name, name)) {
      return 1;
    }
  }
  return 0;
}

OfxStatus ev_instance_changed(OfxImageEffectHandle effect, OfxPropertySetHandle in, OfxPropertySetHandle out) {
  (void)out;
  EvInstance *instance = ev_instance(effect);
  if (!instance) {
    return kOfxStatReplyDefault;
  }
  const char *type = ev_string(in, kOfxPropType, 0, "");
  const char *name = ev_string(in, kOfxPropName, 0, "");
  /* Without a reason it may be the user. Our own writes are of parameters that start nothing, so nothing goes round. */
  const char *reason = ev_string(in, kOfxPropChangeReason, 0, kOfxChangeUserEdited);
  if (!strcmp(type, kOfxTypeClip)) {
    /* Another clip, or the same one connected after loading: what was measured on the fly no longer counts. */
    if (!strcmp(name, kOfxImageEffectSimpleSourceClipName) && strcmp(reason, kOfxChangeTime)) {
      pthread_mutex_lock(&instance->lock);
      forget_trial(instance);
      instance->trial_said = 0;
      pthread_mutex_unlock(&instance->lock);
    }
    return kOfxStatOK;
  }
  /* Our own writes come back with another reason and must not start anything. */
  if (strcmp(type, kOfxTypeParameter) || strcmp(reason, kOfxChangeUserEdited)) {
    return kOfxStatReplyDefault;
  }
  if (!strcmp(name, ev_parameters[EV_MEASURE_CLIP].name)) {
    ev_measure_pressed(instance);
    return kOfxStatOK;
  }
  if (ev_file_pressed(instance, name, ev_double(in, kOfxPropTime, 0, 0))) {
    return kOfxStatOK;
  }
  if (is_wish(name)) {
    ev_solve_again(instance, ev_double(in, kOfxPropTime, 0, 0));
    return kOfxStatOK;
  }
  return kOfxStatReplyDefault;
}
