// SPDX-License-Identifier: Apache-2.0
//
// OpenColorIO's CPU processor behind a C interface, for the benchmark only. Built where the library is installed.

#include <OpenColorIO/OpenColorIO.h>

#include <cstdint>

namespace ocio = OCIO_NAMESPACE;

namespace {

struct Look {
  ocio::ConstCPUProcessorRcPtr processor;
};

Look *make(const ocio::ConstTransformRcPtr &transform) {
  const ocio::ConstConfigRcPtr config = ocio::Config::CreateRaw();
  return new Look{config->getProcessor(transform)->getDefaultCPUProcessor()};
}

}  // namespace

extern "C" {

#define EXPORT __attribute__((visibility("default")))

EXPORT const char *evb_ocio_version() { return ocio::GetVersion(); }

// A 3-D table of size^3 RGB triples, red slowest, with tetrahedral interpolation. NULL when the library refuses.
EXPORT void *evb_ocio_3d(const float *rgb, int32_t size) {
  try {
    const ocio::Lut3DTransformRcPtr t = ocio::Lut3DTransform::Create(static_cast<unsigned long>(size));
    t->setInterpolation(ocio::INTERP_TETRAHEDRAL);
    for (int32_t r = 0; r < size; r++)
      for (int32_t g = 0; g < size; g++)
        for (int32_t b = 0; b < size; b++, rgb += 3) t->setValue(r, g, b, rgb[0], rgb[1], rgb[2]);
    return make(t);
  } catch (const ocio::Exception &) {
    return nullptr;
  }
}

// The same 1-D table of `size` levels over 0..1 for the three channels.
EXPORT void *evb_ocio_1d(const float *levels, int32_t size) {
  try {
    const ocio::Lut1DTransformRcPtr t = ocio::Lut1DTransform::Create(static_cast<unsigned long>(size), false);
    t->setInterpolation(ocio::INTERP_LINEAR);
    for (int32_t i = 0; i < size; i++) t->setValue(i, levels[i], levels[i], levels[i]);
    return make(t);
  } catch (const ocio::Exception &) {
    return nullptr;
  }
}

// Rows of RGBA float; 0, or 1 when the library refuses. May be called by several threads at once on different rows.
EXPORT int32_t evb_ocio_apply(const void *look, const float *from, float *to, int32_t width, int32_t rows) {
  try {
    const ocio::PackedImageDesc in(const_cast<float *>(from), width, rows, 4);
    ocio::PackedImageDesc out(to, width, rows, 4);
    static_cast<const Look *>(look)->processor->apply(in, out);
    return 0;
  } catch (const ocio::Exception &) {
    return 1;
  }
}

EXPORT void evb_ocio_free(void *look) { delete static_cast<Look *>(look); }
}
