/* SPDX-License-Identifier: Apache-2.0
 *
 * Effects, clips, images and the image effect suite; the frame buffers behind images, with their guard bytes.
 */
#include "internal.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { GUARD = 4096, CACHE_LIMIT = 4 };

/* Filler of guard bytes, padding and fresh output frames: no value that a plug-in would write by chance over a whole
 * word, and another one at each address, so that shifted copies show. */
static unsigned char filler(size_t offset) { return (unsigned char)(0xa5u ^ (offset * 37u) ^ (offset >> 8)); }

double esh_scale(const EshHost *host) { return host->config.render_scale > 0 ? host->config.render_scale : 1; }

OfxRectI esh_frame_rect(const EshHost *host, const EshFormat *f) {
  const EshConfig *c = &host->config;
  const double scale = esh_scale(host);
  return (OfxRectI){(int)floor(c->origin_x * scale), (int)floor(c->origin_y * scale),
                    (int)ceil((c->origin_x + f->width) * scale), (int)ceil((c->origin_y + f->height) * scale)};
}

EshFormat esh_scaled_format(const EshHost *host, const EshFormat *format) {
  const OfxRectI r = esh_frame_rect(host, format);
  EshFormat f = *format;
  f.width = r.x2 - r.x1;
  f.height = r.y2 - r.y1;
  return f;
}

/* Frame of the clip, top row first, to the same at render scale: the nearest pixel, so no new values come up. */
static void *shrink(const EshHost *host, const EshFormat *f, void *pixels) {
  if (esh_scale(host) == 1) return pixels;
  const double scale = esh_scale(host);
  const OfxRectI r = esh_frame_rect(host, f);
  const EshFormat small = esh_scaled_format(host, f);
  unsigned char *out = malloc(esh_frame_bytes(&small)), *to = out;
  const size_t pixel = esh_depth_bytes(f->depth) * (size_t)esh_component_count(f->components);
  for (int row = 0; out && row < small.height; row++)
    for (int column = 0; column < small.width; column++, to += pixel) {
      int x = (int)floor((r.x1 + column + 0.5) / scale) - host->config.origin_x;
      int y = (int)floor((r.y2 - 1 - row + 0.5) / scale) - host->config.origin_y; /* from the bottom */
      x = x < 0 ? 0 : x >= f->width ? f->width - 1 : x;
      y = y < 0 ? 0 : y >= f->height ? f->height - 1 : y;
      memcpy(to, (unsigned char *)pixels + ((size_t)(f->height - 1 - y) * (size_t)f->width + (size_t)x) * pixel, pixel);
    }
  free(pixels);
  return out;
}

EshBuffer *esh_buffer_new(EshHost *host, const EshFormat *whole, int checked) {
  const EshFormat scaled = esh_scaled_format(host, whole), *f = &scaled;
  const size_t sample = esh_depth_bytes(f->depth);
  const size_t pixel = sample * (size_t)esh_component_count(f->components);
  const size_t padding = ((size_t)host->config.row_padding + sample - 1) / sample * sample;
  const size_t stride = pixel * (size_t)f->width + padding;
  EshBuffer *b = esh_alloc(sizeof *b);
  memset(b, 0, sizeof *b);
  b->block_bytes = stride * (size_t)f->height + 2 * GUARD;
  if (posix_memalign((void **)&b->block, 64, b->block_bytes)) {
    free(b);
    return NULL;
  }
  b->shadow = checked ? malloc(b->block_bytes) : NULL;
  if (checked && !b->shadow) {
    esh_buffer_free(b);
    return NULL;
  }
  if (checked) {
    for (size_t i = 0; i < b->block_bytes; i++) b->block[i] = filler(i);
    memcpy(b->shadow, b->block, b->block_bytes);
  } else {
    memset(b->block, 0, b->block_bytes);
  }
  b->pixel_bytes = pixel;
  b->bounds = esh_frame_rect(host, whole);
  b->row_bytes = host->config.negative_stride ? -(ptrdiff_t)stride : (ptrdiff_t)stride;
  b->origin = b->block + GUARD + (host->config.negative_stride ? stride * (size_t)(f->height - 1) : 0);
  return b;
}

void esh_buffer_free(EshBuffer *b) {
  if (!b) return;
  free(b->shadow);
  free(b->block);
  free(b);
}

static unsigned char *pixel_at(const EshBuffer *b, int x, int y) {
  return b->origin + (ptrdiff_t)(y - b->bounds.y1) * b->row_bytes +
         (ptrdiff_t)(x - b->bounds.x1) * (ptrdiff_t)b->pixel_bytes;
}

void esh_buffer_import(EshBuffer *b, const void *top_down) {
  const size_t row = b->pixel_bytes * (size_t)(b->bounds.x2 - b->bounds.x1);
  const unsigned char *from = top_down;
  for (int y = b->bounds.y2 - 1; y >= b->bounds.y1; y--, from += row) memcpy(pixel_at(b, b->bounds.x1, y), from, row);
}

void esh_buffer_export(const EshBuffer *b, OfxRectI w, void *top_down) {
  const size_t row = b->pixel_bytes * (size_t)(b->bounds.x2 - b->bounds.x1);
  unsigned char *to = top_down;
  for (int y = b->bounds.y2 - 1; y >= b->bounds.y1; y--, to += row) {
    memset(to, 0, row);
    if (y < w.y1 || y >= w.y2 || w.x2 <= w.x1) continue;
    memcpy(to + b->pixel_bytes * (size_t)(w.x1 - b->bounds.x1), pixel_at(b, w.x1, y),
           b->pixel_bytes * (size_t)(w.x2 - w.x1));
  }
}

int esh_buffer_check(EshBuffer *b, OfxRectI w) {
  if (!b->shadow) return 0;
  int bad = 0;
  const int empty = w.x2 <= w.x1 || w.y2 <= w.y1;
  size_t at = 0; /* everything before is compared */
  const int rows = b->bounds.y2 - b->bounds.y1;
  for (int r = 0; !empty && r < rows; r++) { /* in memory order */
    const int y = b->row_bytes < 0 ? b->bounds.y2 - 1 - r : b->bounds.y1 + r;
    if (y < w.y1 || y >= w.y2) continue;
    const size_t first = (size_t)(pixel_at(b, w.x1, y) - b->block);
    const size_t length = b->pixel_bytes * (size_t)(w.x2 - w.x1);
    bad |= memcmp(b->block + at, b->shadow + at, first - at) != 0;
    memcpy(b->shadow + first, b->block + first, length);
    at = first + length;
  }
  bad |= memcmp(b->block + at, b->shadow + at, b->block_bytes - at) != 0;
  if (bad) memcpy(b->shadow, b->block, b->block_bytes); /* report once, not for every later window */
  return bad ? -1 : 0;
}

uint64_t esh_buffer_hash(const EshBuffer *b) {
  uint64_t h = 0x9e3779b97f4a7c15u;
  size_t i = 0;
  for (; i + 8 <= b->block_bytes; i += 8) {
    uint64_t v;
    memcpy(&v, b->block + i, 8);
    h = (h ^ v) * 0xff51afd7ed558ccdu;
    h ^= h >> 29;
  }
  for (; i < b->block_bytes; i++) h = (h ^ b->block[i]) * 0xff51afd7ed558ccdu;
  return h;
}

static void drop_cached(EshEffect *effect, EshBuffer *b) {
  if (b->hashed && esh_buffer_hash(b) != b->hash)
    esh_fault_add(effect->host, "the plug-in wrote into an image of the Source clip, or around it");
  esh_buffer_free(b);
}

/* Frees unused source frames beyond the newest `keep`. */
static void trim(EshEffect *effect, int keep) {
  for (EshBuffer **at = &effect->cache; *at;) {
    EshBuffer *b = *at;
    if (b->references || keep-- > 0) {
      at = &b->next;
      continue;
    }
    *at = b->next;
    drop_cached(effect, b);
  }
}

void esh_cache_clear(EshEffect *effect) {
  esh_lock(effect->host);
  trim(effect, 0);
  esh_unlock(effect->host);
}

EshBuffer *esh_source_buffer(EshEffect *effect, OfxImageClipHandle clip, int frame, OfxStatus *status) {
  EshHost *host = effect->host;
  *status = kOfxStatOK;
  if (frame < clip->format.first || frame > clip->format.last) {
    *status = kOfxStatFailed;
    return NULL;
  }
  esh_lock(host);
  EshBuffer *b = effect->cache;
  while (b && b->frame != frame) b = b->next;
  if (!b) {
    void *pixels = malloc(esh_frame_bytes(&clip->format));
    b = pixels ? esh_buffer_new(host, &clip->format, 0) : NULL;
    char err[ESH_ERR];
    if (!b) {
      *status = kOfxStatErrMemory;
    } else if (esh_source_read(clip->source, frame, pixels, err)) {
      *status = kOfxStatFailed;
      esh_buffer_free(b);
      b = NULL;
    } else if (!(pixels = shrink(host, &clip->format, pixels))) {
      *status = kOfxStatErrMemory;
      esh_buffer_free(b);
      b = NULL;
    } else {
      if (!host->config.unchecked)
        for (size_t i = 0; i < b->block_bytes; i++) b->block[i] = filler(i);
      esh_buffer_import(b, pixels);
      b->frame = frame;
      b->id = ++host->next_image_id;
      b->hashed = !host->config.unchecked;
      if (b->hashed) b->hash = esh_buffer_hash(b);
      b->next = effect->cache;
      effect->cache = b;
    }
    free(pixels);
  }
  if (b) b->references++;
  esh_unlock(host);
  return b;
}

void esh_buffer_release(EshEffect *effect, EshBuffer *b) {
  esh_lock(effect->host);
  b->references--;
  trim(effect, CACHE_LIMIT);
  esh_unlock(effect->host);
}

OfxImageClipHandle esh_clip_find(EshEffect *effect, const char *name) {
  for (int i = 0; i < effect->clip_count; i++)
    if (!strcmp(effect->clips[i]->name, name)) return effect->clips[i];
  return NULL;
}

int esh_clip_count(const EshEffect *effect) { return effect->clip_count; }
const char *esh_clip_name(const EshEffect *effect, int index) {
  return index >= 0 && index < effect->clip_count ? effect->clips[index]->name : NULL;
}

static void describe_defaults(EshEffect *e) {
  OfxPropertySetHandle s = e->props;
  const OfxPlugin *plugin = e->bundle->plugins[e->index].plugin;
  esh_put_string(s, kOfxPropType, 0, kOfxTypeImageEffect);
  esh_put_string(s, kOfxPropLabel, 0, plugin->pluginIdentifier);
  esh_put_string(s, kOfxPropShortLabel, 0, plugin->pluginIdentifier);
  esh_put_string(s, kOfxPropLongLabel, 0, plugin->pluginIdentifier);
  esh_put_int(s, kOfxPropVersion, 0, (int)plugin->pluginVersionMajor);
  esh_put_int(s, kOfxPropVersion, 1, (int)plugin->pluginVersionMinor);
  esh_put_string(s, kOfxPropVersionLabel, 0, "");
  esh_put_string(s, kOfxPropPluginDescription, 0, "");
  esh_put_string(s, kOfxImageEffectPluginPropGrouping, 0, "");
  esh_put_int(s, kOfxImageEffectPluginPropObsolete, 0, 0);
  esh_put_int(s, kOfxImageEffectPluginPropSingleInstance, 0, 0);
  esh_put_string(s, kOfxImageEffectPluginRenderThreadSafety, 0, kOfxImageEffectRenderInstanceSafe);
  esh_put_int(s, kOfxImageEffectPluginPropHostFrameThreading, 0, 1);
  esh_put_pointer(s, kOfxImageEffectPluginPropOverlayInteractV1, 0, NULL);
  esh_put_pointer(s, kOfxImageEffectPluginPropOverlayInteractV2, 0, NULL);
  esh_put_int(s, kOfxImageEffectPropSupportsMultiResolution, 0, 1);
  esh_put_int(s, kOfxImageEffectPropSupportsTiles, 0, 1);
  esh_put_int(s, kOfxImageEffectPropTemporalClipAccess, 0, 0);
  esh_put_int(s, kOfxImageEffectPluginPropFieldRenderTwiceAlways, 0, 1);
  esh_put_int(s, kOfxImageEffectPropSupportsMultipleClipDepths, 0, 0);
  esh_put_int(s, kOfxImageEffectPropSupportsMultipleClipPARs, 0, 0);
  esh_put_string(s, kOfxImageEffectPropOpenGLRenderSupported, 0, "false");
  esh_put_string(s, kOfxImageEffectPropCPURenderSupported, 0, "true");
  esh_put_string(s, kOfxImageEffectPropColourManagementStyle, 0, kOfxImageEffectColourManagementNone);
  esh_put_string(s, kOfxPluginPropFilePath, 0, e->bundle->folder);
  esh_props_settle(s);
}

EshEffect *esh_effect_new(EshBundle *bundle, int index, int kind, const char *context) {
  EshEffect *e = esh_alloc(sizeof *e);
  memset(e, 0, sizeof *e);
  e->magic = MAGIC_EFFECT;
  e->host = bundle->host;
  e->bundle = bundle;
  e->index = index;
  e->kind = kind;
  e->context = context;
  e->host->live_effects++;
  if (kind == EFFECT_DESCRIPTOR) {
    e->props = esh_props_new(e->host, "EffectDescriptor", esh_copy("effect descriptor"));
    describe_defaults(e);
  } else if (kind == EFFECT_CONTEXT) {
    e->props = esh_props_clone(bundle->plugins[index].descriptor->props, "EffectDescriptor",
                               esh_format("effect descriptor in %s", context));
  } else {
    e->props = esh_props_new(e->host, "EffectInstance", esh_copy("effect instance"));
  }
  esh_params_init(&e->params, e);
  return e;
}

void esh_effect_free(EshEffect *e) {
  if (!e) return;
  esh_cache_clear(e);
  for (int i = 0; i < e->clip_count; i++) {
    esh_props_free(e->clips[i]->props);
    free(e->clips[i]->name);
    free(e->clips[i]->needed);
    e->clips[i]->magic = MAGIC_DEAD;
    free(e->clips[i]);
  }
  free(e->clips);
  esh_params_clear(&e->params);
  esh_props_free(e->props);
  e->host->live_effects--;
  e->magic = MAGIC_DEAD;
  free(e);
}

static int valid(EshEffect *e) { return e && e->magic == MAGIC_EFFECT; }
static int valid_clip(OfxImageClipHandle clip) { return clip && clip->magic == MAGIC_CLIP; }

static OfxStatus get_props(EshEffect *e, OfxPropertySetHandle *props) {
  if (!valid(e) || !props) return kOfxStatErrBadHandle;
  *props = e->props;
  return kOfxStatOK;
}

static OfxStatus get_params(EshEffect *e, OfxParamSetHandle *params) {
  if (!valid(e) || !params) return kOfxStatErrBadHandle;
  *params = &e->params;
  return kOfxStatOK;
}

static OfxStatus clip_define(EshEffect *e, const char *name, OfxPropertySetHandle *props) {
  if (props) *props = NULL;
  if (!valid(e)) return kOfxStatErrBadHandle;
  if (!name || !*name) return kOfxStatErrValue;
  if (e->kind != EFFECT_CONTEXT || !esh_inside(kOfxImageEffectActionDescribeInContext)) {
    esh_fault_add(e->host, "clipDefine %s outside DescribeInContext", name);
    return kOfxStatErrUnsupported;
  }
  if (esh_clip_find(e, name)) {
    esh_fault_add(e->host, "clipDefine %s: there is a clip of that name already", name);
    return kOfxStatErrExists;
  }
  OfxImageClipHandle c = esh_alloc(sizeof *c);
  memset(c, 0, sizeof *c);
  c->magic = MAGIC_CLIP;
  c->effect = e;
  c->name = esh_copy(name);
  c->is_output = !strcmp(name, kOfxImageEffectOutputClipName);
  c->props = esh_props_new(e->host, "ClipDescriptor", esh_format("clip %s", name));
  esh_put_string(c->props, kOfxPropType, 0, kOfxTypeClip);
  esh_put_string(c->props, kOfxPropName, 0, name);
  esh_put_string(c->props, kOfxPropLabel, 0, name);
  esh_put_string(c->props, kOfxPropShortLabel, 0, name);
  esh_put_string(c->props, kOfxPropLongLabel, 0, name);
  esh_put_int(c->props, kOfxImageEffectPropTemporalClipAccess, 0, 0);
  esh_put_int(c->props, kOfxImageClipPropOptional, 0, 0);
  esh_put_string(c->props, kOfxImageClipPropFieldExtraction, 0, kOfxImageFieldDoubled);
  esh_put_int(c->props, kOfxImageClipPropIsMask, 0, 0);
  esh_put_int(c->props, kOfxImageEffectPropSupportsTiles, 0, 1);
  esh_props_settle(c->props);
  e->clips = esh_grow(e->clips, sizeof *e->clips * (size_t)(e->clip_count + 1));
  e->clips[e->clip_count++] = c;
  if (props) *props = c->props;
  return kOfxStatOK;
}

static OfxStatus clip_get_handle(EshEffect *e, const char *name, OfxImageClipHandle *clip,
                                 OfxPropertySetHandle *props) {
  if (!valid(e)) return kOfxStatErrBadHandle;
  if (e->kind != EFFECT_INSTANCE) {
    esh_fault_add(e->host, "clipGetHandle on a descriptor; only instances have clips");
    return kOfxStatErrBadHandle;
  }
  OfxImageClipHandle c = name ? esh_clip_find(e, name) : NULL;
  if (!c) return kOfxStatErrUnknown;
  if (clip) *clip = c;
  if (props) *props = c->props;
  return kOfxStatOK;
}

static OfxStatus clip_get_props(OfxImageClipHandle clip, OfxPropertySetHandle *props) {
  if (!valid_clip(clip) || !props) return kOfxStatErrBadHandle;
  *props = clip->props;
  return kOfxStatOK;
}

static EshAction *render_action(void) {
  EshAction *a = esh_current_action();
  while (a && strcmp(a->name, kOfxImageEffectActionRender)) a = a->outer;
  return a;
}

static OfxRectI intersect(OfxRectI a, OfxRectI b) {
  OfxRectI r = {a.x1 > b.x1 ? a.x1 : b.x1, a.y1 > b.y1 ? a.y1 : b.y1, a.x2 < b.x2 ? a.x2 : b.x2,
                a.y2 < b.y2 ? a.y2 : b.y2};
  return r;
}

static int declared(OfxImageClipHandle clip, OfxTime time) {
  for (int i = 0; i < clip->needed_count; i++)
    if (time >= clip->needed[i].min && time <= clip->needed[i].max) return 1;
  return 0;
}

static int pixel_coordinate(double canonical, double scale, int up) {
  const double v = up ? ceil(canonical * scale) : floor(canonical * scale);
  return v > 1e9 ? 1000000000 : v < -1e9 ? -1000000000 : (int)v;
}

static OfxStatus get_image(OfxImageClipHandle clip, OfxTime time, const OfxRectD *region,
                           OfxPropertySetHandle *handle) {
  if (handle) *handle = NULL;
  if (!valid_clip(clip) || !handle) return kOfxStatErrBadHandle;
  EshEffect *e = clip->effect;
  EshHost *host = e->host;
  EshAction *action = esh_current_action();
  if (!action) {
    esh_fault_add(host, "clipGetImage on %s outside any action", clip->name);
    return kOfxStatFailed;
  }
  if (e->kind != EFFECT_INSTANCE) return kOfxStatErrBadHandle;
  if (!isfinite(time)) return kOfxStatErrValue;
  EshAction *render = render_action();
  EshBuffer *buffer;
  OfxStatus status = kOfxStatOK;
  if (clip->is_output) {
    if (!render || time != render->time) {
      esh_fault_add(host, "clipGetImage on %s at a time that is not being rendered", clip->name);
      return kOfxStatFailed;
    }
    buffer = render->output;
  } else {
    if (!clip->source) return kOfxStatFailed;
    esh_lock(host);
    const long nth = ++host->input_fetches;
    esh_unlock(host);
    if (host->config.fail_fetch_at > 0 && nth >= host->config.fail_fetch_at)
      return host->config.fail_fetch_status ? host->config.fail_fetch_status : kOfxStatFailed;
    if (render && !declared(clip, time))
      esh_fault_add(host, "Render fetches %s at a time that GetFramesNeeded did not name", clip->name);
    buffer = esh_source_buffer(e, clip, (int)floor(time), &status);
    if (!buffer) return status;
  }
  OfxRectI bounds = buffer->bounds;
  const double scale = esh_scale(host);
  if (host->config.tight_bounds && render) {
    OfxRectI wish = render->window;
    const double across = scale / clip->format.pixel_aspect;
    if (region && !clip->is_output)
      wish = (OfxRectI){pixel_coordinate(region->x1, across, 0), pixel_coordinate(region->y1, scale, 0),
                        pixel_coordinate(region->x2, across, 1), pixel_coordinate(region->y2, scale, 1)};
    bounds = intersect(bounds, wish);
    if (bounds.x2 <= bounds.x1 || bounds.y2 <= bounds.y1) { /* nothing of the clip there */
      if (!clip->is_output) esh_buffer_release(e, buffer);
      return kOfxStatFailed;
    }
  }
  EshImage *image = esh_alloc(sizeof *image);
  memset(image, 0, sizeof *image);
  image->buffer = buffer;
  image->clip = clip;
  image->action = render ? render : action;
  image->time = time;
  OfxPropertySetHandle s = image->props = esh_props_new(host, "Image", esh_format("image of %s", clip->name));
  s->image = image;
  const EshFormat *f = &clip->format;
  const EshOddImages odd = host->config.odd_images;
  const EshDepth depth = odd == ESH_IMAGES_SOURCE_DEPTH && !clip->is_output ? ESH_BYTE : f->depth;
  esh_put_string(s, kOfxPropType, 0, kOfxTypeImage);
  esh_put_string(s, kOfxImageEffectPropPixelDepth, 0, odd == ESH_IMAGES_DEPTH ? "OfxBitDepthOdd" : esh_depth_ofx(depth));
  esh_put_string(s, kOfxImageEffectPropComponents, 0,
                 odd == ESH_IMAGES_COMPONENTS ? "OfxImageComponentOdd" : esh_components_ofx(f->components));
  esh_put_string(s, kOfxImageEffectPropPreMultiplication, 0, esh_premult_ofx(f->premult));
  esh_put_double(s, kOfxImageEffectPropRenderScale, 0, scale);
  esh_put_double(s, kOfxImageEffectPropRenderScale, 1, scale);
  esh_put_double(s, kOfxImagePropPixelAspectRatio, 0, f->pixel_aspect);
  esh_put_pointer(s, kOfxImagePropData, 0, odd == ESH_IMAGES_NO_DATA ? NULL : pixel_at(buffer, bounds.x1, bounds.y1));
  if (odd == ESH_IMAGES_EMPTY) bounds.x2 = bounds.x1, bounds.y2 = bounds.y1;
  const int b[4] = {bounds.x1, bounds.y1, bounds.x2, bounds.y2};
  const int d[4] = {buffer->bounds.x1, buffer->bounds.y1, buffer->bounds.x2, buffer->bounds.y2};
  for (int i = 0; i < 4; i++) {
    esh_put_int(s, kOfxImagePropBounds, i, b[i]);
    esh_put_int(s, kOfxImagePropRegionOfDefinition, i, d[i]);
  }
  esh_put_int(s, kOfxImagePropRowBytes, 0, odd == ESH_IMAGES_NO_ROWS ? 0 : (int)buffer->row_bytes);
  esh_put_string(s, kOfxImagePropField, 0, kOfxImageFieldNone);
  char id[32];
  snprintf(id, sizeof id, "%llu", (unsigned long long)buffer->id);
  esh_put_string(s, kOfxImagePropUniqueIdentifier, 0, id);
  esh_lock(host);
  image->next = host->images;
  host->images = image;
  host->counts.fetches++;
  esh_unlock(host);
  *handle = s;
  return kOfxStatOK;
}

static OfxStatus release_image(OfxPropertySetHandle handle) {
  EshHost *host = esh_the_host;
  if (!handle || !host) return kOfxStatErrBadHandle;
  esh_lock(host);
  /* By address alone: a handle released before points to freed memory. */
  EshImage **at = &host->images;
  while (*at && (*at)->props != handle) at = &(*at)->next;
  EshImage *image = *at;
  if (image) {
    *at = image->next;
    host->counts.releases++;
  }
  esh_unlock(host);
  if (!image) {
    esh_fault_add(host, "clipReleaseImage with a handle that is not a fetched image (released twice?)");
    return kOfxStatErrBadHandle;
  }
  if (!image->clip->is_output) esh_buffer_release(image->clip->effect, image->buffer);
  esh_props_free(image->props);
  free(image);
  return kOfxStatOK;
}

static OfxStatus clip_region(OfxImageClipHandle clip, OfxTime time, OfxRectD *bounds) {
  (void)time;
  if (!valid_clip(clip) || !bounds) return kOfxStatErrBadHandle;
  if (clip->effect->kind != EFFECT_INSTANCE || (!clip->source && !clip->is_output)) return kOfxStatFailed;
  const EshConfig *c = &clip->effect->host->config;
  const double aspect = clip->format.pixel_aspect;
  *bounds = (OfxRectD){c->origin_x * aspect, c->origin_y, (c->origin_x + clip->format.width) * aspect,
                       c->origin_y + clip->format.height};
  return kOfxStatOK;
}

static int should_abort(EshEffect *e) {
  EshHost *host = esh_the_host;
  if (!valid(e) || !host) return 0;
  esh_lock(host);
  host->counts.abort_calls++;
  esh_unlock(host);
  EshAction *render = render_action();
  if (!render || host->config.abort_at <= 0) return 0;
  if (atomic_fetch_add(&render->abort_calls, 1) + 1 < host->config.abort_at) return 0;
  atomic_store(&render->aborted, 1);
  return 1;
}

struct OfxImageMemoryStruct {
  int magic;
  struct OfxImageMemoryStruct *next;
  void *memory;
  int locks;
};

static struct OfxImageMemoryStruct **find_memory(EshHost *host, OfxImageMemoryHandle handle) {
  struct OfxImageMemoryStruct **at = &host->image_memory;
  while (*at && *at != handle) at = &(*at)->next;
  return at;
}

static OfxStatus memory_alloc(EshEffect *e, size_t bytes, OfxImageMemoryHandle *handle) {
  if (!handle) return kOfxStatErrBadHandle;
  *handle = NULL;
  if (e && !valid(e)) return kOfxStatErrBadHandle;
  EshHost *host = esh_the_host;
  void *memory = malloc(bytes ? bytes : 1);
  if (!memory) return kOfxStatErrMemory;
  struct OfxImageMemoryStruct *m = esh_alloc(sizeof *m);
  esh_lock(host);
  *m = (struct OfxImageMemoryStruct){MAGIC_MEMORY, host->image_memory, memory, 0};
  host->image_memory = m;
  host->counts.image_allocs++;
  esh_unlock(host);
  *handle = m;
  return kOfxStatOK;
}

static OfxStatus memory_free(OfxImageMemoryHandle handle) {
  EshHost *host = esh_the_host;
  esh_lock(host);
  struct OfxImageMemoryStruct **at = find_memory(host, handle), *m = *at;
  if (m) {
    *at = m->next;
    host->counts.image_frees++;
  }
  esh_unlock(host);
  if (!m) {
    esh_fault_add(host, "imageMemoryFree with a handle that is not allocated image memory");
    return kOfxStatErrBadHandle;
  }
  if (m->locks) esh_fault_add(host, "imageMemoryFree of locked image memory");
  free(m->memory);
  free(m);
  return kOfxStatOK;
}

static OfxStatus memory_lock(OfxImageMemoryHandle handle, void **pointer) {
  EshHost *host = esh_the_host;
  esh_lock(host);
  struct OfxImageMemoryStruct *m = *find_memory(host, handle);
  if (m && pointer) {
    m->locks++;
    *pointer = m->memory;
  }
  esh_unlock(host);
  return m && pointer ? kOfxStatOK : kOfxStatErrBadHandle;
}

static OfxStatus memory_unlock(OfxImageMemoryHandle handle) {
  EshHost *host = esh_the_host;
  esh_lock(host);
  struct OfxImageMemoryStruct *m = *find_memory(host, handle);
  const int locked = m && m->locks;
  if (locked) m->locks--;
  esh_unlock(host);
  return !m ? kOfxStatErrBadHandle : locked ? kOfxStatOK : kOfxStatFailed;
}

const OfxImageEffectSuiteV1 esh_effect_suite = {
    get_props,     get_params,  clip_define,  clip_get_handle, clip_get_props, get_image,     release_image,
    clip_region,   should_abort, memory_alloc, memory_free,     memory_lock,    memory_unlock,
};

void esh_image_memory_drop(EshHost *host) {
  while (host->image_memory) {
    struct OfxImageMemoryStruct *m = host->image_memory;
    host->image_memory = m->next;
    free(m->memory);
    free(m);
  }
}

int esh_images_drop(EshHost *host, EshAction *action, char *which, size_t size) {
  int left = 0;
  for (;;) {
    esh_lock(host);
    EshImage *image = host->images;
    while (image && action && image->action != action) image = image->next;
    esh_unlock(host);
    if (!image) return left;
    if (!left++) snprintf(which, size, "%s at time %g", image->clip->name, image->time);
    release_image(image->props);
    esh_lock(host);
    host->counts.releases--; /* the host's release is not the plug-in's */
    esh_unlock(host);
  }
}
