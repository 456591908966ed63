/* SPDX-License-Identifier: Apache-2.0
 *
 * Bundles and descriptors: finding the binary, loading it, Load, Describe, DescribeInContext.
 */
#include "internal.h"

#include <dlfcn.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

/* Folder of this platform's binary inside a bundle's Contents. The standard lists no folder for 64-bit ARM Linux; that
 * entry follows the pattern of the others. */
#if defined(__APPLE__)
#define ARCHITECTURE "MacOS"
#elif defined(__linux__) && defined(__x86_64__)
#define ARCHITECTURE "Linux-x86-64"
#elif defined(__linux__) && defined(__i386__)
#define ARCHITECTURE "Linux-x86"
#elif defined(__linux__) && defined(__aarch64__)
#define ARCHITECTURE "Linux-aarch64"
#elif defined(__FreeBSD__)
#define ARCHITECTURE "FreeBSD-x86-64"
#else
#error "no OpenFX architecture folder is known for this platform: add it here"
#endif

static int is_folder(const char *path) {
  struct stat s;
  return !stat(path, &s) && S_ISDIR(s.st_mode);
}

static int ends_with(const char *text, const char *end) {
  const size_t n = strlen(text), m = strlen(end);
  return n >= m && !strcmp(text + n - m, end);
}

/* Absolute paths of the bundle folder and the binary, to be freed. */
static int resolve(const char *given, char **folder, char **binary, char *err) {
  static const char suffix[] = ".ofx.bundle";
  char *path = realpath(given, NULL);
  if (!path) {
    esh_error(err, "%s: no such file; give a folder Name.ofx.bundle or a file Name.ofx", given);
    return -1;
  }
  char *slash = strrchr(path, '/');
  if (is_folder(path)) {
    if (!ends_with(path, suffix)) {
      esh_error(err, "%s: a folder, and not a bundle; give a folder Name.ofx.bundle or a file Name.ofx", given);
      free(path);
      return -1;
    }
    const int name_length = (int)(strlen(slash + 1) - strlen(suffix));
    *binary = esh_format("%s/Contents/%s/%.*s.ofx", path, ARCHITECTURE, name_length, slash + 1);
    *folder = path;
    if (access(*binary, R_OK)) {
      esh_error(err, "%s: the bundle has no readable Contents/%s/%.*s.ofx, the binary for this machine", given,
                ARCHITECTURE, name_length, slash + 1);
      free(*binary);
      free(*folder);
      return -1;
    }
    return 0;
  }
  /* A binary. Inside a bundle the bundle counts as its folder: three levels up from Contents/ARCH/Name.ofx. */
  *binary = esh_copy(path);
  *slash = 0;
  char *bundle = esh_copy(path);
  for (int up = 0; up < 2; up++) {
    char *cut = strrchr(bundle, '/');
    if (cut) *cut = 0;
  }
  if (ends_with(bundle, suffix)) {
    free(path);
    *folder = bundle;
  } else {
    free(bundle);
    *folder = path;
  }
  return 0;
}

EshBundle *esh_bundle_open(EshHost *host, const char *given, char *err) {
  char *folder, *binary;
  if (resolve(given, &folder, &binary, err)) return NULL;
  void *library = dlopen(binary, RTLD_NOW | RTLD_LOCAL);
  if (!library) {
    esh_error(err, "%s", dlerror());
    free(folder);
    free(binary);
    return NULL;
  }
  OfxSetHostFunction *set_host = NULL;
  OfxGetNumberOfPluginsFunction *number = NULL;
  OfxGetPluginFunction *get = NULL;
  *(void **)&set_host = dlsym(library, "OfxSetHost");
  *(void **)&number = dlsym(library, "OfxGetNumberOfPlugins");
  *(void **)&get = dlsym(library, "OfxGetPlugin");
  EshBundle *b = esh_alloc(sizeof *b);
  memset(b, 0, sizeof *b);
  b->host = host;
  b->library = library;
  b->folder = folder;
  b->next = host->bundles;
  host->bundles = b;
  OfxStatus refused = kOfxStatOK;
  if (!number || !get)
    esh_error(err, "%s: exports no %s; not an OpenFX plug-in", binary, number ? "OfxGetPlugin" : "OfxGetNumberOfPlugins");
  else if (set_host && (refused = set_host(&host->ofx)))
    esh_error(err, "%s: OfxSetHost answers %s; the plug-in does not want this host", binary, esh_status_name(refused));
  if (!number || !get || refused) {
    free(binary);
    esh_bundle_close(b);
    return NULL;
  }
  const int count = number();
  b->plugins = esh_alloc(sizeof *b->plugins * (size_t)(count > 0 ? count : 1));
  for (int i = 0; i < count; i++) {
    OfxPlugin *p = get(i);
    const char *wrong = !p                                                ? "is NULL"
                        : !p->pluginApi || !p->pluginIdentifier           ? "has no API name or no identifier"
                        : !p->setHost || !p->mainEntry                    ? "has no setHost or no mainEntry"
                        : strcmp(p->pluginApi, kOfxImageEffectPluginApi)  ? "is not an image effect"
                        : p->apiVersion != kOfxImageEffectPluginApiVersion ? "is of another API version"
                                                                          : NULL;
    if (wrong) {
      esh_fault_add(host, "plug-in %d of %s %s; skipped", i, binary, wrong);
      continue;
    }
    b->plugins[b->count] = (EshPluginState){.plugin = p};
    b->count++;
  }
  if (!b->count) {
    esh_error(err, "%s: no image-effect plug-in in it", binary);
    free(binary);
    esh_bundle_close(b);
    return NULL;
  }
  free(binary);
  return b;
}

int esh_bundle_count(const EshBundle *b) { return b->count; }

const OfxPlugin *esh_bundle_plugin(const EshBundle *b, int index) {
  return index >= 0 && index < b->count ? b->plugins[index].plugin : NULL;
}

int esh_bundle_find(const EshBundle *b, const char *id, char *err) {
  if (!id) return 0;
  for (int i = 0; i < b->count; i++)
    if (!strcmp(b->plugins[i].plugin->pluginIdentifier, id)) return i;
  esh_error(err, "%s: no plug-in \"%s\"; the first one is \"%s\"", b->folder, id,
            b->plugins[0].plugin->pluginIdentifier);
  return -1;
}

OfxStatus esh_plugin_unload(EshBundle *b, int index) {
  EshPluginState *s = &b->plugins[index];
  if (!s->loaded) return kOfxStatOK;
  for (int i = 0; i < s->context_count; i++) esh_effect_free(s->contexts[i]);
  s->context_count = 0;
  const OfxStatus status = esh_plugin_action(b->host, s->plugin, kOfxActionUnload);
  if (status != kOfxStatOK && status != kOfxStatReplyDefault)
    esh_fault_add(b->host, "Unload answers %s", esh_status_name(status));
  esh_effect_free(s->descriptor);
  s->descriptor = NULL;
  s->loaded = 0;
  return status;
}

void esh_bundle_close(EshBundle *b) {
  for (int i = 0; i < b->count; i++) esh_plugin_unload(b, i);
  EshBundle **at = &b->host->bundles;
  while (*at != b) at = &(*at)->next;
  *at = b->next;
  dlclose(b->library);
  free(b->plugins);
  free(b->folder);
  free(b);
}

EshEffect *esh_plugin_load(EshBundle *b, int index, char *err) {
  EshPluginState *s = &b->plugins[index];
  if (s->loaded) return s->descriptor;
  s->plugin->setHost(&b->host->ofx);
  OfxStatus status = esh_plugin_action(b->host, s->plugin, kOfxActionLoad);
  if (status != kOfxStatOK && status != kOfxStatReplyDefault) {
    esh_error(err, "%s: Load answers %s", s->plugin->pluginIdentifier, esh_status_name(status));
    return NULL;
  }
  s->loaded = 1;
  s->descriptor = esh_effect_new(b, index, EFFECT_DESCRIPTOR, NULL);
  status = esh_action(s->descriptor, kOfxActionDescribe, NULL, NULL);
  if (status != kOfxStatOK) {
    esh_error(err, "%s: Describe answers %s", s->plugin->pluginIdentifier, esh_status_name(status));
    esh_plugin_unload(b, index);
    return NULL;
  }
  if (!esh_string(s->descriptor, kOfxImageEffectPropSupportedContexts, 0))
    esh_fault_add(b->host, "%s: Describe names no context", s->plugin->pluginIdentifier);
  if (!esh_string(s->descriptor, kOfxImageEffectPropSupportedPixelDepths, 0))
    esh_fault_add(b->host, "%s: Describe names no pixel depth", s->plugin->pluginIdentifier);
  return s->descriptor;
}

static void check_context(EshEffect *e) {
  static const char *const filter[] = {kOfxImageEffectOutputClipName, kOfxImageEffectSimpleSourceClipName};
  const int needs = !strcmp(e->context, kOfxImageEffectContextFilter) ? 2 : 1;
  for (int i = 0; i < needs; i++)
    if (!esh_clip_find(e, filter[i])) esh_fault_add(e->host, "%s: no clip \"%s\"", e->context, filter[i]);
  for (int i = 0; i < e->clip_count; i++)
    if (!esh_peek_count(e->clips[i]->props, kOfxImageEffectPropSupportedComponents))
      esh_fault_add(e->host, "%s: clip \"%s\" names no components", e->context, e->clips[i]->name);
  esh_params_check(&e->params);
}

EshEffect *esh_context(EshBundle *b, int index, const char *context, char *err) {
  EshPluginState *s = &b->plugins[index];
  const char *id = s->plugin->pluginIdentifier;
  if (!s->descriptor) {
    esh_error(err, "%s is not loaded", id);
    return NULL;
  }
  for (int i = 0; i < s->context_count; i++)
    if (!strcmp(s->contexts[i]->context, context)) return s->contexts[i];
  static const char *const known[] = {kOfxImageEffectContextFilter,     kOfxImageEffectContextGeneral,
                                      kOfxImageEffectContextGenerator,  kOfxImageEffectContextTransition,
                                      kOfxImageEffectContextPaint,      kOfxImageEffectContextRetimer};
  const char *name = NULL;
  for (int i = 0; i < 6; i++)
    if (!strcmp(known[i], context)) name = known[i];
  if (!name || !esh_has_string(s->descriptor, kOfxImageEffectPropSupportedContexts, context)) {
    esh_error(err, "%s does not offer %s", id, context);
    return NULL;
  }
  EshEffect *e = esh_effect_new(b, index, EFFECT_CONTEXT, name);
  OfxPropertySetHandle in = esh_props_new(b->host, "OfxImageEffectActionDescribeInContext.in",
                                          esh_copy("DescribeInContext arguments"));
  esh_put_string(in, kOfxImageEffectPropContext, 0, name);
  const OfxStatus status = esh_action(e, kOfxImageEffectActionDescribeInContext, in, NULL);
  esh_props_free(in);
  if (status != kOfxStatOK) {
    esh_error(err, "%s: DescribeInContext %s answers %s", id, name, esh_status_name(status));
    esh_effect_free(e);
    return NULL;
  }
  check_context(e);
  s->contexts[s->context_count++] = e;
  return e;
}

const char *esh_string(const EshEffect *e, const char *property, int index) {
  return esh_peek_string(e->props, property, index);
}
int esh_int(const EshEffect *e, const char *property, int index, int otherwise) {
  return esh_peek_int(e->props, property, index, otherwise);
}
int esh_has_string(const EshEffect *e, const char *property, const char *value) {
  for (int i = 0; i < esh_peek_count(e->props, property); i++)
    if (!strcmp(esh_peek_string(e->props, property, i), value)) return 1;
  return 0;
}
