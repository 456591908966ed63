/* SPDX-License-Identifier: Apache-2.0
 *
 * Project files: the persistent parameter values of one instance as text. The form is described in host.h.
 */
#include "internal.h"

#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static const char first_line[] = "ofxhost-project 1";

static int persistent(OfxParamHandle p) {
  return p->type->kind != KIND_NONE && esh_peek_int(p->props, kOfxParamPropPersistant, 0, 1);
}

int esh_project_save(EshEffect *e, const char *path, char *err) {
  const OfxStatus status = esh_sync_private_data(e);
  if (status != kOfxStatOK) {
    esh_error(err, "SyncPrivateData answers %s; nothing was saved", esh_status_name(status));
    return -1;
  }
  char *unfinished = esh_format("%s.unfinished", path);
  FILE *file = fopen(unfinished, "w");
  int bad = !file;
  if (file) {
    const OfxPlugin *plugin = e->bundle->plugins[e->index].plugin;
    fprintf(file, "%s\nplugin %s %u\n", first_line, plugin->pluginIdentifier, plugin->pluginVersionMajor);
    for (int i = 0; i < e->params.count; i++) {
      OfxParamHandle p = e->params.params[i];
      if (!persistent(p)) continue;
      char *text = esh_param_text(p);
      fprintf(file, "param %s %s %s\n", p->name, p->type->name, text);
      free(text);
    }
    bad = ferror(file);
    bad |= fclose(file);
    bad = bad || rename(unfinished, path);
  }
  if (bad) {
    esh_error(err, "%s: %s", path, strerror(errno));
    unlink(unfinished);
  }
  free(unfinished);
  return bad ? -1 : 0;
}

/* Handles line `number`; `store` 0 only checks. */
static int take_line(EshEffect *e, const char *path, int number, char *line, int store, char *err) {
  char why[ESH_ERR];
  char *name = strncmp(line, "param ", 6) ? NULL : line + 6;
  char *type = name ? strchr(name, ' ') : NULL;
  char *text = type ? strchr(type + 1, ' ') : NULL;
  if (!text) {
    esh_error(err, "%s:%d: \"%.60s\"; a line is: param NAME TYPE VALUES", path, number, line);
    return -1;
  }
  *type++ = 0;
  *text++ = 0;
  OfxParamHandle p = esh_params_find(&e->params, name);
  if (!p) {
    esh_error(err, "%s:%d: the plug-in has no parameter \"%s\"", path, number, name);
    return -1;
  }
  if (strcmp(p->type->name, type)) {
    esh_error(err, "%s:%d: parameter %s is of type %s, not %s", path, number, name, p->type->name, type);
    return -1;
  }
  if (esh_param_parse(p, text, 1, store, why)) {
    esh_error(err, "%s:%d: %.400s", path, number, why);
    return -1;
  }
  return 0;
}

static int take_head(EshEffect *e, const char *path, int number, const char *line, char *err) {
  const OfxPlugin *plugin = e->bundle->plugins[e->index].plugin;
  char *wanted = number == 1 ? esh_copy(first_line)
                             : esh_format("plugin %s %u", plugin->pluginIdentifier, plugin->pluginVersionMajor);
  const int good = !strcmp(line, wanted);
  if (!good) esh_error(err, "%s:%d: \"%.80s\"; this line must be \"%s\"", path, number, line, wanted);
  free(wanted);
  return good ? 0 : -1;
}

int esh_project_load(EshEffect *e, const char *path, char *err) {
  FILE *file = fopen(path, "r");
  if (!file) {
    esh_error(err, "%s: %s", path, strerror(errno));
    return -1;
  }
  char *line = NULL;
  size_t size = 0;
  int bad = 0;
  for (int store = 0; store < 2 && !bad; store++) { /* once to check all of it, once to take it */
    rewind(file);
    int number = 0;
    ssize_t length;
    while (!bad && (length = getline(&line, &size, file)) >= 0) {
      number++;
      if (length && line[length - 1] == '\n') line[--length] = 0;
      if (strlen(line) != (size_t)length) {
        esh_error(err, "%s:%d: a zero byte; this is not a text file", path, number);
        bad = -1;
      } else if (number <= 2) {
        bad = take_head(e, path, number, line, err);
      } else {
        bad = take_line(e, path, number, line, store, err);
      }
    }
    if (!bad && number < 2) {
      esh_error(err, "%s: not a project file; its first line must be \"%s\"", path, first_line);
      bad = -1;
    }
  }
  free(line);
  fclose(file);
  return bad;
}
