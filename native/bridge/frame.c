/* SPDX-License-Identifier: Apache-2.0
 *
 * An image of the host as a plain struct: what the image itself says counts, not what was agreed on before.
 */
#include <string.h>

#include "plugin.h"

static const struct {
  const char *name;
  int number, bytes;
} depths[] = {
  {kOfxBitDepthByte, EV_BYTE, 1},
  {kOfxBitDepthShort, EV_SHORT, 2},
  {kOfxBitDepthHalf, EV_HALF, 2},
  {kOfxBitDepthFloat, EV_FLOAT, 4},
}, layouts[] = {
  {kOfxImageComponentRGBA, EV_RGBA, 4},
  {kOfxImageComponentRGB, EV_RGB, 3},
  {kOfxImageComponentAlpha, EV_ALPHA, 1},
};

/* The clip knows best; some hosts say it on the image only. Without a word, alpha is taken as separate from colour when
 * there is one: nothing is divided. */
static int alpha_state(OfxPropertySetHandle clip, OfxPropertySetHandle image, int components) {
  if (components != EV_RGBA) {
    return EV_OPAQUE;
  }
  const char *state = ev_string(clip, kOfxImageEffectPropPreMultiplication, 0, NULL);
  if (!state || !*state) {
    state = ev_string(image, kOfxImageEffectPropPreMultiplication, 0, kOfxImageUnPreMultiplied);
  }
  return !strcmp(state, kOfxImageOpaque)           ? EV_OPAQUE
         : !strcmp(state, kOfxImagePreMultiplied) ? EV_PREMULTIPLIED
                                                  : EV_UNPREMULTIPLIED;
}

OfxStatus ev_frame_fetch(OfxImageClipHandle clip, OfxPropertySetHandle clip_properties, OfxTime time,
                         const OfxRectD *region, EvFrame *frame) {
  memset(frame, 0, sizeof *frame);
  frame->depth = frame->components = -1;
  frame->depth_name = frame->components_name = "";
  if (!clip || !ev_suites.effect->clipGetImage || !ev_suites.effect->clipReleaseImage) {
    return kOfxStatOK;
  }
  OfxStatus status = ev_suites.effect->clipGetImage(clip, time, region, &frame->image);
  if (status != kOfxStatOK) {
    frame->image = NULL;
    return status == kOfxStatErrMemory ? status : kOfxStatOK;
  }
  OfxPropertySetHandle image = frame->image;
  int bounds[4];
  frame->data = ev_pointer(image, kOfxImagePropData);
  frame->row_bytes = ev_int(image, kOfxImagePropRowBytes, 0, 0);
  if (!frame->data || !ev_ints(image, kOfxImagePropBounds, 4, bounds)) {
    ev_frame_release(frame);
    return kOfxStatOK;
  }
  frame->bounds = (OfxRectI){bounds[0], bounds[1], bounds[2], bounds[3]};
  /* What the image says counts; an image that says nothing is as its clip. */
  frame->depth_name = ev_string(image, kOfxImageEffectPropPixelDepth, 0, NULL);
  frame->components_name = ev_string(image, kOfxImageEffectPropComponents, 0, NULL);
  if (!frame->depth_name) {
    frame->depth_name = ev_string(clip_properties, kOfxImageEffectPropPixelDepth, 0, "");
  }
  if (!frame->components_name) {
    frame->components_name = ev_string(clip_properties, kOfxImageEffectPropComponents, 0, "");
  }
  int sample_bytes = 0, samples = 0;
  for (size_t i = 0; i < sizeof depths / sizeof *depths; i++) {
    if (!strcmp(depths[i].name, frame->depth_name)) {
      frame->depth = depths[i].number;
      sample_bytes = depths[i].bytes;
    }
  }
  for (size_t i = 0; i < sizeof layouts / sizeof *layouts; i++) {
    if (!strcmp(layouts[i].name, frame->components_name)) {
      frame->components = layouts[i].number;
      samples = layouts[i].bytes;
    }
  }
  frame->pixel_bytes = sample_bytes * samples;
  /* Rows that lie over each other, or of no known length, are none to walk along. */
  int64_t width = (int64_t)frame->bounds.x2 - frame->bounds.x1, rows = (int64_t)frame->bounds.y2 - frame->bounds.y1;
  int64_t reach = frame->row_bytes < 0 ? -(int64_t)frame->row_bytes : (int64_t)frame->row_bytes;
  if (width > INT32_MAX || rows > INT32_MAX || (width > 0 && rows > 1 && reach < width * frame->pixel_bytes)) {
    ev_frame_release(frame);
    return kOfxStatOK;
  }
  frame->alpha = alpha_state(clip_properties, image, frame->components);
  return kOfxStatOK;
}

void ev_frame_release(EvFrame *frame) {
  if (frame->image && ev_suites.effect->clipReleaseImage) {
    (void)ev_suites.effect->clipReleaseImage(frame->image);
  }
  frame->image = NULL;
  frame->data = NULL;
}

char *ev_frame_at(const EvFrame *frame, int x, int y) {
  return frame->data + (ptrdiff_t)(y - frame->bounds.y1) * frame->row_bytes
         + (ptrdiff_t)(x - frame->bounds.x1) * frame->pixel_bytes;
}

int ev_frame_is_whole(const EvFrame *frame) {
  int shown[4];
  if (!ev_ints(frame->image, kOfxImagePropRegionOfDefinition, 4, shown)) {
    return 1;
  }
  return frame->bounds.x1 <= shown[0] && frame->bounds.y1 <= shown[1] && frame->bounds.x2 >= shown[2]
         && frame->bounds.y2 >= shown[3];
}
