/* SPDX-License-Identifier: Apache-2.0
 *
 * Facts: which properties each property set of the OpenFX 1.5 image-effect standard has, with type, dimension, who may
 * write and which values are allowed; and the same for the arguments of actions ("<action>.in", "<action>.out").
 *
 * Generated once, by a script, from the standard's published property metadata (one row per set and property, in its
 * order) and then kept by hand. Left out: interacts, parametric curves, custom interpolation. ParamsValue and
 * ParamsPushButton are the metadata's common parameter properties, with and without those of a value. Rows marked
 * "added" are not in that metadata but in the standard's reference text; other remarks say where we differ and why.
 */
#include "internal.h"

/* types: bits of ESH_INT...; BOOL is an int held to 0 and 1. dimension 0 = any. flags: who writes, may a host omit it. */
#define I ESH_INT
#define B (ESH_INT | ESH_BOOL)
#define D ESH_DOUBLE
#define S ESH_STRING
#define P ESH_POINTER
#define H ESH_HOST_WRITES
#define W ESH_PLUGIN_WRITES
#define O ESH_HOST_MAY_OMIT

static const char v0[] = "OfxImageComponentNone,OfxImageComponentRGBA,OfxImageComponentRGB,OfxImageComponentAlpha";
static const char v1[] = "OfxFieldNone,OfxFieldLower,OfxFieldUpper,OfxFieldBoth,OfxFieldSingle,OfxFieldDoubled";
static const char v2[] = "OfxBitDepthNone,OfxBitDepthByte,OfxBitDepthShort,OfxBitDepthHalf,OfxBitDepthFloat";
static const char v3[] = "OfxImageOpaque,OfxImageAlphaPremultiplied,OfxImageAlphaUnPremultiplied";
static const char v4[] = "OfxFieldNone,OfxFieldLower,OfxFieldUpper";
static const char v5[] =
    "OfxImageEffectContextGenerator,OfxImageEffectContextFilter,OfxImageEffectContextTransition,"
    "OfxImageEffectContextPaint,OfxImageEffectContextGeneral,OfxImageEffectContextRetimer";
static const char v6[] = "OfxImageEffectRenderUnsafe,OfxImageEffectRenderInstanceSafe,OfxImageEffectRenderFullySafe";
static const char v7[] = "false,true";
static const char v8[] = "false,true,needed";
static const char v9[] =
    "OfxImageEffectColourManagementNone,OfxImageEffectColourManagementBasic,"
    "OfxImageEffectColourManagementCore,OfxImageEffectColourManagementFull,"
    "OfxImageEffectColourManagementOCIO";
static const char v10[] = "OfxFieldNone,OfxFieldBoth,OfxFieldLower,OfxFieldUpper";
static const char v11[] =
    "kOfxImageEffectHostPropNativeOriginBottomLeft,kOfxImageEffectHostPropNativeOriginTopLeft,"
    "kOfxImageEffectHostPropNativeOriginCenter";
static const char v12[] =
    "OfxParamDoubleTypePlain,OfxParamDoubleTypeAngle,OfxParamDoubleTypeScale,OfxParamDoubleTypeTime,"
    "OfxParamDoubleTypeAbsoluteTime,OfxParamDoubleTypeX,OfxParamDoubleTypeXAbsolute,"
    "OfxParamDoubleTypeY,OfxParamDoubleTypeYAbsolute,OfxParamDoubleTypeXY,"
    "OfxParamDoubleTypeXYAbsolute";
static const char v13[] = "OfxParamInvalidateValueChange,OfxParamInvalidateValueChangeToEnd,OfxParamInvalidateAll";
static const char v14[] =
    "OfxParamStringIsSingleLine,OfxParamStringIsMultiLine,OfxParamStringIsFilePath,"
    "OfxParamStringIsDirectoryPath,OfxParamStringIsLabel,OfxParamStringIsRichTextFormat";
static const char v15[] = "OfxChangeUserEdited,OfxChangePluginEdited,OfxChangeTime";

static const EshPropDef set_ClipDescriptor[] = {
    {"OfxPropType", S, 1, W, NULL},
    {"OfxPropName", S, 1, W, NULL},
    {"OfxPropLabel", S, 1, W, NULL},
    {"OfxPropShortLabel", S, 1, W, NULL},
    {"OfxPropLongLabel", S, 1, W, NULL},
    {"OfxImageEffectPropSupportedComponents", S, 0, W, v0},
    {"OfxImageEffectPropTemporalClipAccess", B, 1, W, NULL},
    {"OfxImageClipPropOptional", B, 1, W, NULL},
    {"OfxImageClipPropFieldExtraction", S, 1, W, v1},
    {"OfxImageClipPropIsMask", B, 1, W, NULL},
    {"OfxImageEffectPropSupportsTiles", B, 1, W, NULL}, /* added */
};
static const EshPropDef set_ClipInstance[] = {
    {"OfxPropType", S, 1, H, NULL},
    {"OfxPropName", S, 1, H, NULL},
    {"OfxPropLabel", S, 1, H, NULL},
    {"OfxPropShortLabel", S, 1, H, NULL},
    {"OfxPropLongLabel", S, 1, H, NULL},
    {"OfxImageEffectPropSupportedComponents", S, 0, H, v0},
    {"OfxImageEffectPropTemporalClipAccess", B, 1, H, NULL},
    {"OfxImageClipPropColourspace", S, 1, H, NULL},
    {"OfxImageClipPropPreferredColourspaces", S, 0, H, NULL},
    {"OfxImageClipPropOptional", B, 1, H, NULL},
    {"OfxImageClipPropFieldExtraction", S, 1, H, v1},
    {"OfxImageClipPropIsMask", B, 1, H, NULL},
    {"OfxImageEffectPropSupportsTiles", B, 1, H, NULL},
    {"OfxImageEffectPropPixelDepth", S, 1, H, v2},
    {"OfxImageEffectPropComponents", S, 1, H, v0},
    {"OfxImageClipPropUnmappedPixelDepth", S, 1, H, v2},
    {"OfxImageClipPropUnmappedComponents", S, 1, H, v0},
    {"OfxImageEffectPropPreMultiplication", S, 1, H, v3},
    {"OfxImagePropPixelAspectRatio", D, 1, H, NULL},
    {"OfxImageEffectPropFrameRate", D, 1, H, NULL},
    {"OfxImageEffectPropFrameRange", D, 2, H, NULL},
    {"OfxImageClipPropFieldOrder", S, 1, H, v4},
    {"OfxImageClipPropConnected", B, 1, H, NULL},
    {"OfxImageEffectPropUnmappedFrameRange", D, 2, H, NULL},
    {"OfxImageEffectPropUnmappedFrameRate", D, 1, H, NULL},
};
static const EshPropDef set_EffectDescriptor[] = {
    {"OfxPropType", S, 1, W, NULL},
    {"OfxPropLabel", S, 1, W, NULL},
    {"OfxPropShortLabel", S, 1, W, NULL},
    {"OfxPropLongLabel", S, 1, W, NULL},
    {"OfxPropVersion", I, 0, W | O, NULL},
    {"OfxPropVersionLabel", S, 1, W | O, NULL},
    {"OfxPropPluginDescription", S, 1, W | O, NULL},
    {"OfxImageEffectPropSupportedContexts", S, 0, W, v5},
    {"OfxImageEffectPluginPropGrouping", S, 1, W, NULL},
    {"OfxImageEffectPluginPropObsolete", B, 1, W, NULL},
    {"OfxImageEffectPluginPropSingleInstance", B, 1, W, NULL},
    {"OfxImageEffectPluginRenderThreadSafety", S, 1, W, v6},
    {"OfxImageEffectPluginPropHostFrameThreading", B, 1, W, NULL},
    {"OfxImageEffectPluginPropOverlayInteractV1", P, 1, W, NULL},
    {"OfxImageEffectPropOpenCLSupported", S, 1, W | O, v7},
    {"OfxImageEffectPropSupportsMultiResolution", B, 1, W, NULL},
    {"OfxImageEffectPropSupportsTiles", B, 1, W, NULL},
    {"OfxImageEffectPropTemporalClipAccess", B, 1, W, NULL},
    {"OfxImageEffectPropSupportedPixelDepths", S, 0, W, v2},
    {"OfxImageEffectPluginPropFieldRenderTwiceAlways", B, 1, W, NULL},
    {"OfxImageEffectPropMultipleClipDepths", B, 1, W, NULL},
    {"OfxImageEffectPropSupportsMultipleClipPARs", B, 1, W, NULL},
    {"OfxImageEffectPropClipPreferencesSlaveParam", S, 0, W, NULL},
    {"OfxImageEffectPropOpenGLRenderSupported", S, 1, W, v8},
    {"OfxImageEffectPropCPURenderSupported", S, 1, W | O, v7},
    {"OfxPluginPropFilePath", S, 1, H, NULL},
    {"OfxOpenGLPropPixelDepth", S, 0, W | O, v2},
    {"OfxImageEffectPluginPropOverlayInteractV2", P, 1, W, NULL},
    {"OfxImageEffectPropColourManagementAvailableConfigs", S, 0, W | O, NULL},
    {"OfxImageEffectPropColourManagementStyle", S, 1, W | O, v9},
    {"OfxImageEffectPropNoSpatialAwareness", S, 1, W | O, v7}, /* added */
    {"OfxImageEffectInstancePropSequentialRender", I, 1, W | O, NULL}, /* added */
    {"OfxImageEffectPropCudaRenderSupported", S, 1, W | O, v8}, /* added */
    {"OfxImageEffectPropMetalRenderSupported", S, 1, W | O, v8}, /* added */
    {"OfxImageEffectPropOpenCLRenderSupported", S, 1, W | O, v8}, /* added */
    {"OfxImageEffectPropCudaStreamSupported", S, 1, W | O, v8}, /* added */
};
static const EshPropDef set_EffectInstance[] = {
    {"OfxPropType", S, 1, H, NULL},
    {"OfxImageEffectPropContext", S, 1, H, v5},
    {"OfxPropInstanceData", P, 1, H | W, NULL}, /* writable here: a plug-in keeps its own data in it */
    {"OfxImageEffectPropProjectSize", D, 2, H, NULL},
    {"OfxImageEffectPropProjectOffset", D, 2, H, NULL},
    {"OfxImageEffectPropProjectExtent", D, 2, H, NULL},
    {"OfxImageEffectPropPixelAspectRatio", D, 1, H, NULL},
    {"OfxImageEffectInstancePropEffectDuration", D, 1, H, NULL},
    {"OfxImageEffectInstancePropSequentialRender", B, 1, H, NULL},
    {"OfxImageEffectPropSupportsTiles", B, 1, H, NULL},
    {"OfxImageEffectPropOpenGLRenderSupported", S, 1, H, v8},
    {"OfxImageEffectPropCPURenderSupported", S, 1, H | O, v7},
    {"OfxImageEffectPropFrameRate", D, 1, H, NULL},
    {"OfxPropIsInteractive", B, 1, H, NULL},
    {"OfxImageEffectPropOCIOConfig", S, 1, H, NULL},
    {"OfxImageEffectPropOCIODisplay", S, 1, H, NULL},
    {"OfxImageEffectPropOCIOView", S, 1, H, NULL},
    {"OfxImageEffectPropColourManagementConfig", S, 1, H, NULL},
    {"OfxImageEffectPropColourManagementStyle", S, 1, H, v9},
    {"OfxImageEffectPropDisplayColourspace", S, 1, H, NULL},
    {"OfxImageEffectPropPluginHandle", P, 1, H, NULL}, /* added */
};
static const EshPropDef set_Image[] = {
    {"OfxPropType", S, 1, H, NULL},
    {"OfxImageEffectPropPixelDepth", S, 1, H, v2},
    {"OfxImageEffectPropComponents", S, 1, H, v0},
    {"OfxImageEffectPropPreMultiplication", S, 1, H, v3},
    {"OfxImageEffectPropRenderScale", D, 2, H, NULL},
    {"OfxImagePropPixelAspectRatio", D, 1, H, NULL},
    {"OfxImagePropData", P, 1, H, NULL},
    {"OfxImagePropBounds", I, 4, H, NULL},
    {"OfxImagePropRegionOfDefinition", I, 4, H, NULL},
    {"OfxImagePropRowBytes", I, 1, H, NULL},
    {"OfxImagePropField", S, 1, H, v10},
    {"OfxImagePropUniqueIdentifier", S, 1, H, NULL}, /* added */
};
static const EshPropDef set_ImageEffectHost[] = {
    {"OfxPropAPIVersion", I, 0, H, NULL},
    {"OfxPropType", S, 1, H, NULL},
    {"OfxPropName", S, 1, H, NULL},
    {"OfxPropLabel", S, 1, H, NULL},
    {"OfxPropVersion", I, 0, H, NULL},
    {"OfxPropVersionLabel", S, 1, H, NULL},
    {"OfxImageEffectHostPropIsBackground", B, 1, H, NULL},
    {"OfxImageEffectPropSupportsOverlays", B, 1, H, NULL},
    {"OfxImageEffectPropSupportsMultiResolution", B, 1, H, NULL},
    {"OfxImageEffectPropSupportsTiles", B, 1, H, NULL},
    {"OfxImageEffectPropTemporalClipAccess", B, 1, H, NULL},
    {"OfxImageEffectPropSupportedComponents", S, 0, H, v0},
    {"OfxImageEffectPropSupportedContexts", S, 0, H, v5},
    {"OfxImageEffectPropMultipleClipDepths", B, 1, H, NULL},
    {"OfxImageEffectPropOpenCLSupported", S, 1, H | O, v7},
    {"OfxImageEffectPropSupportsMultipleClipPARs", B, 1, H, NULL},
    {"OfxImageEffectPropSetableFrameRate", B, 1, H, NULL},
    {"OfxImageEffectPropSetableFielding", B, 1, H, NULL},
    {"OfxParamHostPropSupportsCustomInteract", B, 1, H, NULL},
    {"OfxParamHostPropSupportsStringAnimation", B, 1, H, NULL},
    {"OfxParamHostPropSupportsChoiceAnimation", B, 1, H, NULL},
    {"OfxParamHostPropSupportsBooleanAnimation", B, 1, H, NULL},
    {"OfxParamHostPropSupportsCustomAnimation", B, 1, H, NULL},
    {"OfxParamHostPropSupportsStrChoice", B, 1, H | O, NULL},
    {"OfxParamHostPropSupportsStrChoiceAnimation", B, 1, H | O, NULL},
    {"OfxParamHostPropMaxParameters", I, 1, H, NULL},
    {"OfxParamHostPropMaxPages", I, 1, H, NULL},
    {"OfxParamHostPropPageRowColumnCount", I, 2, H, NULL},
    {"OfxPropHostOSHandle", P, 1, H | O, NULL},
    {"OfxParamHostPropSupportsParametricAnimation", B, 1, H | O, NULL},
    {"OfxImageEffectInstancePropSequentialRender", B, 1, H | O, NULL},
    {"OfxImageEffectPropOpenGLRenderSupported", S, 1, H, v8},
    {"OfxImageEffectPropCPURenderSupported", S, 1, H | O, v7},
    {"OfxImageEffectPropRenderQualityDraft", B, 1, H | O, NULL},
    {"OfxImageEffectHostPropNativeOrigin", S, 1, H | O, v11},
    {"OfxImageEffectPropColourManagementAvailableConfigs", S, 0, H | O, NULL},
    {"OfxImageEffectPropSupportedPixelDepths", S, 0, H, v2}, /* added */
    {"OfxImageEffectPropColourManagementStyle", S, 1, H | O, v9}, /* added */
};
static const EshPropDef set_ParamDouble1D[] = {
    {"OfxParamPropShowTimeMarker", B, 1, W, NULL},
    {"OfxParamPropDoubleType", S, 1, W, v12},
    {"OfxPropType", S, 1, W, NULL},
    {"OfxPropName", S, 1, W, NULL},
    {"OfxPropLabel", S, 1, W, NULL},
    {"OfxPropShortLabel", S, 1, W, NULL},
    {"OfxPropLongLabel", S, 1, W, NULL},
    {"OfxParamPropType", S, 1, W, NULL},
    {"OfxParamPropSecret", B, 1, W, NULL},
    {"OfxParamPropHint", S, 1, W, NULL},
    {"OfxParamPropScriptName", S, 1, W, NULL},
    {"OfxParamPropParent", S, 1, W, NULL},
    {"OfxParamPropEnabled", B, 1, W, NULL},
    {"OfxParamPropDataPtr", P, 1, W, NULL},
    {"OfxPropIcon", S, 2, W, NULL},
    {"OfxParamPropInteractV1", P, 1, W, NULL},
    {"OfxParamPropInteractSize", D, 2, W, NULL},
    {"OfxParamPropInteractSizeAspect", D, 1, W, NULL},
    {"OfxParamPropInteractMinimumSize", D, 2, W, NULL},
    {"OfxParamPropInteractPreferedSize", I, 2, W, NULL},
    {"OfxParamPropHasHostOverlayHandle", B, 1, W, NULL},
    {"kOfxParamPropUseHostOverlayHandle", B, 1, W, NULL},
    {"OfxParamPropDefault", I | D | S | P, 0, W, NULL},
    {"OfxParamPropAnimates", B, 1, W, NULL},
    {"OfxParamPropIsAnimating", B, 1, H, NULL},
    {"OfxParamPropIsAutoKeying", B, 1, H, NULL},
    {"OfxParamPropPersistant", B, 1, W, NULL},
    {"OfxParamPropEvaluateOnChange", B, 1, W, NULL},
    {"OfxParamPropPluginMayWrite", B, 1, W, NULL},
    {"OfxParamPropCacheInvalidation", S, 1, W, v13},
    {"OfxParamPropCanUndo", B, 1, W, NULL},
    {"OfxParamPropMin", I | D, 0, W, NULL},
    {"OfxParamPropMax", I | D, 0, W, NULL},
    {"OfxParamPropDisplayMin", I | D, 0, W, NULL},
    {"OfxParamPropDisplayMax", I | D, 0, W, NULL},
    {"OfxParamPropIncrement", D, 1, W, NULL},
    {"OfxParamPropDigits", I, 1, W, NULL}, /* added */
};
static const EshPropDef set_ParameterSet[] = {
    {"OfxPropParamSetNeedsSyncing", B, 1, W, NULL},
    {"OfxPluginPropParamPageOrder", S, 0, W, NULL}, /* added */
};
static const EshPropDef set_ParamsChoice[] = {
    {"OfxParamPropChoiceOption", S, 0, W, NULL},
    {"OfxParamPropChoiceOrder", I, 0, W, NULL},
    {"OfxPropType", S, 1, W, NULL},
    {"OfxPropName", S, 1, W, NULL},
    {"OfxPropLabel", S, 1, W, NULL},
    {"OfxPropShortLabel", S, 1, W, NULL},
    {"OfxPropLongLabel", S, 1, W, NULL},
    {"OfxParamPropType", S, 1, W, NULL},
    {"OfxParamPropSecret", B, 1, W, NULL},
    {"OfxParamPropHint", S, 1, W, NULL},
    {"OfxParamPropScriptName", S, 1, W, NULL},
    {"OfxParamPropParent", S, 1, W, NULL},
    {"OfxParamPropEnabled", B, 1, W, NULL},
    {"OfxParamPropDataPtr", P, 1, W, NULL},
    {"OfxPropIcon", S, 2, W, NULL},
    {"OfxParamPropInteractV1", P, 1, W, NULL},
    {"OfxParamPropInteractSize", D, 2, W, NULL},
    {"OfxParamPropInteractSizeAspect", D, 1, W, NULL},
    {"OfxParamPropInteractMinimumSize", D, 2, W, NULL},
    {"OfxParamPropInteractPreferedSize", I, 2, W, NULL},
    {"OfxParamPropHasHostOverlayHandle", B, 1, W, NULL},
    {"kOfxParamPropUseHostOverlayHandle", B, 1, W, NULL},
    {"OfxParamPropDefault", I | D | S | P, 0, W, NULL},
    {"OfxParamPropAnimates", B, 1, W, NULL},
    {"OfxParamPropIsAnimating", B, 1, H, NULL},
    {"OfxParamPropIsAutoKeying", B, 1, H, NULL},
    {"OfxParamPropPersistant", B, 1, W, NULL},
    {"OfxParamPropEvaluateOnChange", B, 1, W, NULL},
    {"OfxParamPropPluginMayWrite", B, 1, W, NULL},
    {"OfxParamPropCacheInvalidation", S, 1, W, v13},
};
static const EshPropDef set_ParamsCustom[] = {
    {"OfxParamPropCustomCallbackV1", P, 1, W, NULL},
    {"OfxPropType", S, 1, W, NULL},
    {"OfxPropName", S, 1, W, NULL},
    {"OfxPropLabel", S, 1, W, NULL},
    {"OfxPropShortLabel", S, 1, W, NULL},
    {"OfxPropLongLabel", S, 1, W, NULL},
    {"OfxParamPropType", S, 1, W, NULL},
    {"OfxParamPropSecret", B, 1, W, NULL},
    {"OfxParamPropHint", S, 1, W, NULL},
    {"OfxParamPropScriptName", S, 1, W, NULL},
    {"OfxParamPropParent", S, 1, W, NULL},
    {"OfxParamPropEnabled", B, 1, W, NULL},
    {"OfxParamPropDataPtr", P, 1, W, NULL},
    {"OfxPropIcon", S, 2, W, NULL},
    {"OfxParamPropInteractV1", P, 1, W, NULL},
    {"OfxParamPropInteractSize", D, 2, W, NULL},
    {"OfxParamPropInteractSizeAspect", D, 1, W, NULL},
    {"OfxParamPropInteractMinimumSize", D, 2, W, NULL},
    {"OfxParamPropInteractPreferedSize", I, 2, W, NULL},
    {"OfxParamPropHasHostOverlayHandle", B, 1, W, NULL},
    {"kOfxParamPropUseHostOverlayHandle", B, 1, W, NULL},
    {"OfxParamPropDefault", I | D | S | P, 0, W, NULL},
    {"OfxParamPropAnimates", B, 1, W, NULL},
    {"OfxParamPropIsAnimating", B, 1, H, NULL},
    {"OfxParamPropIsAutoKeying", B, 1, H, NULL},
    {"OfxParamPropPersistant", B, 1, W, NULL},
    {"OfxParamPropEvaluateOnChange", B, 1, W, NULL},
    {"OfxParamPropPluginMayWrite", B, 1, W, NULL},
    {"OfxParamPropCacheInvalidation", S, 1, W, v13},
};
static const EshPropDef set_ParamsDouble2D3D[] = {
    {"OfxParamPropDoubleType", S, 1, W, v12},
    {"OfxPropType", S, 1, W, NULL},
    {"OfxPropName", S, 1, W, NULL},
    {"OfxPropLabel", S, 1, W, NULL},
    {"OfxPropShortLabel", S, 1, W, NULL},
    {"OfxPropLongLabel", S, 1, W, NULL},
    {"OfxParamPropType", S, 1, W, NULL},
    {"OfxParamPropSecret", B, 1, W, NULL},
    {"OfxParamPropHint", S, 1, W, NULL},
    {"OfxParamPropScriptName", S, 1, W, NULL},
    {"OfxParamPropParent", S, 1, W, NULL},
    {"OfxParamPropEnabled", B, 1, W, NULL},
    {"OfxParamPropDataPtr", P, 1, W, NULL},
    {"OfxPropIcon", S, 2, W, NULL},
    {"OfxParamPropInteractV1", P, 1, W, NULL},
    {"OfxParamPropInteractSize", D, 2, W, NULL},
    {"OfxParamPropInteractSizeAspect", D, 1, W, NULL},
    {"OfxParamPropInteractMinimumSize", D, 2, W, NULL},
    {"OfxParamPropInteractPreferedSize", I, 2, W, NULL},
    {"OfxParamPropHasHostOverlayHandle", B, 1, W, NULL},
    {"kOfxParamPropUseHostOverlayHandle", B, 1, W, NULL},
    {"OfxParamPropDefault", I | D | S | P, 0, W, NULL},
    {"OfxParamPropAnimates", B, 1, W, NULL},
    {"OfxParamPropIsAnimating", B, 1, H, NULL},
    {"OfxParamPropIsAutoKeying", B, 1, H, NULL},
    {"OfxParamPropPersistant", B, 1, W, NULL},
    {"OfxParamPropEvaluateOnChange", B, 1, W, NULL},
    {"OfxParamPropPluginMayWrite", B, 1, W, NULL},
    {"OfxParamPropCacheInvalidation", S, 1, W, v13},
    {"OfxParamPropCanUndo", B, 1, W, NULL},
    {"OfxParamPropMin", I | D, 0, W, NULL},
    {"OfxParamPropMax", I | D, 0, W, NULL},
    {"OfxParamPropDisplayMin", I | D, 0, W, NULL},
    {"OfxParamPropDisplayMax", I | D, 0, W, NULL},
    {"OfxParamPropIncrement", D, 1, W, NULL},
    {"OfxParamPropDigits", I, 1, W, NULL}, /* added */
    {"OfxParamPropDimensionLabel", S, 0, W, NULL}, /* added */
};
static const EshPropDef set_ParamsGroup[] = {
    {"OfxParamPropGroupOpen", B, 1, W, NULL},
    {"OfxPropType", S, 1, W, NULL},
    {"OfxPropName", S, 1, W, NULL},
    {"OfxPropLabel", S, 1, W, NULL},
    {"OfxPropShortLabel", S, 1, W, NULL},
    {"OfxPropLongLabel", S, 1, W, NULL},
    {"OfxParamPropType", S, 1, W, NULL},
    {"OfxParamPropSecret", B, 1, W, NULL},
    {"OfxParamPropHint", S, 1, W, NULL},
    {"OfxParamPropScriptName", S, 1, W, NULL},
    {"OfxParamPropParent", S, 1, W, NULL},
    {"OfxParamPropEnabled", B, 1, W, NULL},
    {"OfxParamPropDataPtr", P, 1, W, NULL},
};
static const EshPropDef set_ParamsInt2D3D[] = {
    {"OfxParamPropDimensionLabel", S, 0, W, NULL}, /* one label per dimension */
    {"OfxPropType", S, 1, W, NULL},
    {"OfxPropName", S, 1, W, NULL},
    {"OfxPropLabel", S, 1, W, NULL},
    {"OfxPropShortLabel", S, 1, W, NULL},
    {"OfxPropLongLabel", S, 1, W, NULL},
    {"OfxParamPropType", S, 1, W, NULL},
    {"OfxParamPropSecret", B, 1, W, NULL},
    {"OfxParamPropHint", S, 1, W, NULL},
    {"OfxParamPropScriptName", S, 1, W, NULL},
    {"OfxParamPropParent", S, 1, W, NULL},
    {"OfxParamPropEnabled", B, 1, W, NULL},
    {"OfxParamPropDataPtr", P, 1, W, NULL},
    {"OfxPropIcon", S, 2, W, NULL},
    {"OfxParamPropInteractV1", P, 1, W, NULL},
    {"OfxParamPropInteractSize", D, 2, W, NULL},
    {"OfxParamPropInteractSizeAspect", D, 1, W, NULL},
    {"OfxParamPropInteractMinimumSize", D, 2, W, NULL},
    {"OfxParamPropInteractPreferedSize", I, 2, W, NULL},
    {"OfxParamPropHasHostOverlayHandle", B, 1, W, NULL},
    {"kOfxParamPropUseHostOverlayHandle", B, 1, W, NULL},
    {"OfxParamPropDefault", I | D | S | P, 0, W, NULL},
    {"OfxParamPropAnimates", B, 1, W, NULL},
    {"OfxParamPropIsAnimating", B, 1, H, NULL},
    {"OfxParamPropIsAutoKeying", B, 1, H, NULL},
    {"OfxParamPropPersistant", B, 1, W, NULL},
    {"OfxParamPropEvaluateOnChange", B, 1, W, NULL},
    {"OfxParamPropPluginMayWrite", B, 1, W, NULL},
    {"OfxParamPropCacheInvalidation", S, 1, W, v13},
    {"OfxParamPropCanUndo", B, 1, W, NULL},
    {"OfxParamPropMin", I | D, 0, W, NULL},
    {"OfxParamPropMax", I | D, 0, W, NULL},
    {"OfxParamPropDisplayMin", I | D, 0, W, NULL},
};
static const EshPropDef set_ParamsPage[] = {
    {"OfxParamPropPageChild", S, 0, W, NULL},
    {"OfxPropType", S, 1, W, NULL},
    {"OfxPropName", S, 1, W, NULL},
    {"OfxPropLabel", S, 1, W, NULL},
    {"OfxPropShortLabel", S, 1, W, NULL},
    {"OfxPropLongLabel", S, 1, W, NULL},
    {"OfxParamPropType", S, 1, W, NULL},
    {"OfxParamPropSecret", B, 1, W, NULL},
    {"OfxParamPropHint", S, 1, W, NULL},
    {"OfxParamPropScriptName", S, 1, W, NULL},
    {"OfxParamPropParent", S, 1, W, NULL},
    {"OfxParamPropEnabled", B, 1, W, NULL},
    {"OfxParamPropDataPtr", P, 1, W, NULL},
};
static const EshPropDef set_ParamsStrChoice[] = {
    {"OfxParamPropChoiceOption", S, 0, W, NULL},
    {"OfxParamPropChoiceEnum", B, 1, W, NULL},
    {"OfxPropType", S, 1, W, NULL},
    {"OfxPropName", S, 1, W, NULL},
    {"OfxPropLabel", S, 1, W, NULL},
    {"OfxPropShortLabel", S, 1, W, NULL},
    {"OfxPropLongLabel", S, 1, W, NULL},
    {"OfxParamPropType", S, 1, W, NULL},
    {"OfxParamPropSecret", B, 1, W, NULL},
    {"OfxParamPropHint", S, 1, W, NULL},
    {"OfxParamPropScriptName", S, 1, W, NULL},
    {"OfxParamPropParent", S, 1, W, NULL},
    {"OfxParamPropEnabled", B, 1, W, NULL},
    {"OfxParamPropDataPtr", P, 1, W, NULL},
    {"OfxPropIcon", S, 2, W, NULL},
    {"OfxParamPropInteractV1", P, 1, W, NULL},
    {"OfxParamPropInteractSize", D, 2, W, NULL},
    {"OfxParamPropInteractSizeAspect", D, 1, W, NULL},
    {"OfxParamPropInteractMinimumSize", D, 2, W, NULL},
    {"OfxParamPropInteractPreferedSize", I, 2, W, NULL},
    {"OfxParamPropHasHostOverlayHandle", B, 1, W, NULL},
    {"kOfxParamPropUseHostOverlayHandle", B, 1, W, NULL},
    {"OfxParamPropDefault", I | D | S | P, 0, W, NULL},
    {"OfxParamPropAnimates", B, 1, W, NULL},
    {"OfxParamPropIsAnimating", B, 1, H, NULL},
    {"OfxParamPropIsAutoKeying", B, 1, H, NULL},
    {"OfxParamPropPersistant", B, 1, W, NULL},
    {"OfxParamPropEvaluateOnChange", B, 1, W, NULL},
    {"OfxParamPropPluginMayWrite", B, 1, W, NULL},
    {"OfxParamPropCacheInvalidation", S, 1, W, v13},
};
static const EshPropDef set_ParamsString[] = {
    {"OfxParamPropStringMode", S, 1, W, v14},
    {"OfxParamPropStringFilePathExists", B, 1, W, NULL},
    {"OfxPropType", S, 1, W, NULL},
    {"OfxPropName", S, 1, W, NULL},
    {"OfxPropLabel", S, 1, W, NULL},
    {"OfxPropShortLabel", S, 1, W, NULL},
    {"OfxPropLongLabel", S, 1, W, NULL},
    {"OfxParamPropType", S, 1, W, NULL},
    {"OfxParamPropSecret", B, 1, W, NULL},
    {"OfxParamPropHint", S, 1, W, NULL},
    {"OfxParamPropScriptName", S, 1, W, NULL},
    {"OfxParamPropParent", S, 1, W, NULL},
    {"OfxParamPropEnabled", B, 1, W, NULL},
    {"OfxParamPropDataPtr", P, 1, W, NULL},
    {"OfxPropIcon", S, 2, W, NULL},
    {"OfxParamPropInteractV1", P, 1, W, NULL},
    {"OfxParamPropInteractSize", D, 2, W, NULL},
    {"OfxParamPropInteractSizeAspect", D, 1, W, NULL},
    {"OfxParamPropInteractMinimumSize", D, 2, W, NULL},
    {"OfxParamPropInteractPreferedSize", I, 2, W, NULL},
    {"OfxParamPropHasHostOverlayHandle", B, 1, W, NULL},
    {"kOfxParamPropUseHostOverlayHandle", B, 1, W, NULL},
    {"OfxParamPropDefault", I | D | S | P, 0, W, NULL},
    {"OfxParamPropAnimates", B, 1, W, NULL},
    {"OfxParamPropIsAnimating", B, 1, H, NULL},
    {"OfxParamPropIsAutoKeying", B, 1, H, NULL},
    {"OfxParamPropPersistant", B, 1, W, NULL},
    {"OfxParamPropEvaluateOnChange", B, 1, W, NULL},
    {"OfxParamPropPluginMayWrite", B, 1, W, NULL},
    {"OfxParamPropCacheInvalidation", S, 1, W, v13},
    {"OfxParamPropCanUndo", B, 1, W, NULL},
    {"OfxParamPropMin", I | D, 0, W, NULL},
    {"OfxParamPropMax", I | D, 0, W, NULL},
    {"OfxParamPropDisplayMin", I | D, 0, W, NULL},
};
static const EshPropDef set_ParamsValue[] = {
    {"OfxPropType", S, 1, W, NULL},
    {"OfxPropName", S, 1, W, NULL},
    {"OfxPropLabel", S, 1, W, NULL},
    {"OfxPropShortLabel", S, 1, W, NULL},
    {"OfxPropLongLabel", S, 1, W, NULL},
    {"OfxParamPropType", S, 1, W, NULL},
    {"OfxParamPropSecret", B, 1, W, NULL},
    {"OfxParamPropHint", S, 1, W, NULL},
    {"OfxParamPropScriptName", S, 1, W, NULL},
    {"OfxParamPropParent", S, 1, W, NULL},
    {"OfxParamPropEnabled", B, 1, W, NULL},
    {"OfxParamPropDataPtr", P, 1, W, NULL},
    {"OfxPropIcon", S, 2, W, NULL},
    {"OfxParamPropInteractV1", P, 1, W, NULL},
    {"OfxParamPropInteractSize", D, 2, W, NULL},
    {"OfxParamPropInteractSizeAspect", D, 1, W, NULL},
    {"OfxParamPropInteractMinimumSize", D, 2, W, NULL},
    {"OfxParamPropInteractPreferedSize", I, 2, W, NULL},
    {"OfxParamPropHasHostOverlayHandle", B, 1, W, NULL},
    {"kOfxParamPropUseHostOverlayHandle", B, 1, W, NULL},
    {"OfxParamPropDefault", I | D | S | P, 0, W, NULL},
    {"OfxParamPropAnimates", B, 1, W, NULL},
    {"OfxParamPropIsAnimating", B, 1, H, NULL},
    {"OfxParamPropIsAutoKeying", B, 1, H, NULL},
    {"OfxParamPropPersistant", B, 1, W, NULL},
    {"OfxParamPropEvaluateOnChange", B, 1, W, NULL},
    {"OfxParamPropPluginMayWrite", B, 1, W, NULL},
    {"OfxParamPropCacheInvalidation", S, 1, W, v13},
    {"OfxParamPropCanUndo", B, 1, W, NULL},
};
static const EshPropDef set_ParamsPushButton[] = {
    {"OfxPropType", S, 1, W, NULL},
    {"OfxPropName", S, 1, W, NULL},
    {"OfxPropLabel", S, 1, W, NULL},
    {"OfxPropShortLabel", S, 1, W, NULL},
    {"OfxPropLongLabel", S, 1, W, NULL},
    {"OfxParamPropType", S, 1, W, NULL},
    {"OfxParamPropSecret", B, 1, W, NULL},
    {"OfxParamPropHint", S, 1, W, NULL},
    {"OfxParamPropScriptName", S, 1, W, NULL},
    {"OfxParamPropParent", S, 1, W, NULL},
    {"OfxParamPropEnabled", B, 1, W, NULL},
    {"OfxParamPropDataPtr", P, 1, W, NULL},
    {"OfxPropIcon", S, 2, W, NULL},
    {"OfxParamPropInteractV1", P, 1, W, NULL},
    {"OfxParamPropInteractSize", D, 2, W, NULL},
    {"OfxParamPropInteractSizeAspect", D, 1, W, NULL},
    {"OfxParamPropInteractMinimumSize", D, 2, W, NULL},
    {"OfxParamPropInteractPreferedSize", I, 2, W, NULL},
    {"OfxParamPropHasHostOverlayHandle", B, 1, W, NULL},
    {"kOfxParamPropUseHostOverlayHandle", B, 1, W, NULL},
};
static const EshPropDef set_OfxActionBeginInstanceChanged_in[] = {
    {"OfxImageEffectPropThumbnailRender", S, 1, H, v7},
    {"OfxPropChangeReason", S, 1, H, v15},
};
static const EshPropDef set_OfxActionEndInstanceChanged_in[] = {
    {"OfxPropChangeReason", S, 1, H, v15},
};
static const EshPropDef set_OfxActionInstanceChanged_in[] = {
    {"OfxImageEffectPropRenderScale", D, 2, H, NULL},
    {"OfxImageEffectPropThumbnailRender", S, 1, H, v7},
    {"OfxPropChangeReason", S, 1, H, v15},
    {"OfxPropName", S, 1, H, NULL},
    {"OfxPropTime", D, 1, H, NULL},
    {"OfxPropType", S, 1, H, NULL},
};
static const EshPropDef set_OfxImageEffectActionBeginSequenceRender_in[] = {
    {"OfxImageEffectPropCudaEnabled", B, 1, H, NULL},
    {"OfxImageEffectPropCudaRenderSupported", S, 1, H, v8},
    {"OfxImageEffectPropCudaStream", P, 1, H, NULL},
    {"OfxImageEffectPropCudaStreamSupported", S, 1, H, v8},
    {"OfxImageEffectPropFrameRange", D, 2, H, NULL},
    {"OfxImageEffectPropFrameStep", D, 1, H, NULL},
    {"OfxImageEffectPropInteractiveRenderStatus", B, 1, H, NULL},
    {"OfxImageEffectPropMetalCommandQueue", P, 1, H, NULL},
    {"OfxImageEffectPropMetalEnabled", B, 1, H, NULL},
    {"OfxImageEffectPropMetalRenderSupported", S, 1, H, v8},
    {"OfxImageEffectPropNoSpatialAwareness", S, 1, H, v7},
    {"OfxImageEffectPropOpenCLCommandQueue", P, 1, H, NULL},
    {"OfxImageEffectPropOpenCLEnabled", B, 1, H, NULL},
    {"OfxImageEffectPropOpenCLImage", P, 1, H, NULL},
    {"OfxImageEffectPropOpenCLRenderSupported", S, 1, H, v8},
    {"OfxImageEffectPropOpenCLSupported", S, 1, H, v7},
    {"OfxImageEffectPropOpenGLEnabled", B, 1, H, NULL},
    {"OfxImageEffectPropOpenGLTextureIndex", I, 1, H, NULL},
    {"OfxImageEffectPropOpenGLTextureTarget", I, 1, H, NULL},
    {"OfxImageEffectPropRenderScale", D, 2, H, NULL},
    {"OfxImageEffectPropSequentialRenderStatus", B, 1, H, NULL},
    {"OfxImageEffectPropThumbnailRender", S, 1, H, v7},
    {"OfxPropIsInteractive", B, 1, H, NULL},
};
static const EshPropDef set_OfxImageEffectActionDescribeInContext_in[] = {
    {"OfxImageEffectPropContext", S, 1, H, v5},
};
static const EshPropDef set_OfxImageEffectActionEndSequenceRender_in[] = {
    {"OfxImageEffectPropCudaEnabled", B, 1, H, NULL},
    {"OfxImageEffectPropCudaRenderSupported", S, 1, H, v8},
    {"OfxImageEffectPropCudaStream", P, 1, H, NULL},
    {"OfxImageEffectPropCudaStreamSupported", S, 1, H, v8},
    {"OfxImageEffectPropFrameRange", D, 2, H, NULL},
    {"OfxImageEffectPropFrameStep", D, 1, H, NULL},
    {"OfxImageEffectPropInteractiveRenderStatus", B, 1, H, NULL},
    {"OfxImageEffectPropMetalCommandQueue", P, 1, H, NULL},
    {"OfxImageEffectPropMetalEnabled", B, 1, H, NULL},
    {"OfxImageEffectPropMetalRenderSupported", S, 1, H, v8},
    {"OfxImageEffectPropOpenCLCommandQueue", P, 1, H, NULL},
    {"OfxImageEffectPropOpenCLEnabled", B, 1, H, NULL},
    {"OfxImageEffectPropOpenCLImage", P, 1, H, NULL},
    {"OfxImageEffectPropOpenCLRenderSupported", S, 1, H, v8},
    {"OfxImageEffectPropOpenCLSupported", S, 1, H, v7},
    {"OfxImageEffectPropOpenGLEnabled", B, 1, H, NULL},
    {"OfxImageEffectPropOpenGLTextureIndex", I, 1, H, NULL},
    {"OfxImageEffectPropOpenGLTextureTarget", I, 1, H, NULL},
    {"OfxImageEffectPropRenderScale", D, 2, H, NULL},
    {"OfxImageEffectPropSequentialRenderStatus", B, 1, H, NULL},
    {"OfxPropIsInteractive", B, 1, H, NULL},
};
static const EshPropDef set_OfxImageEffectActionGetClipPreferences_out[] = {
    {"OfxImageClipPropContinuousSamples", B, 1, W, NULL},
    {"OfxImageClipPropFieldOrder", S, 1, W, v4},
    {"OfxImageEffectFrameVarying", B, 1, W, NULL},
    {"OfxImageEffectPropFrameRate", D, 1, W, NULL},
    {"OfxImageEffectPropPreMultiplication", S, 1, W, v3},
};
static const EshPropDef set_OfxImageEffectActionGetFramesNeeded_in[] = {
    {"OfxImageEffectPropThumbnailRender", S, 1, H, v7},
    {"OfxPropTime", D, 1, H, NULL},
};
static const EshPropDef set_OfxImageEffectActionGetFramesNeeded_out[] = {
    {"OfxImageEffectPropFrameRange", D, 2, W, NULL},
};
static const EshPropDef set_OfxImageEffectActionGetOutputColourspace_in[] = {
    {"OfxImageClipPropPreferredColourspaces", S, 0, H, NULL},
};
static const EshPropDef set_OfxImageEffectActionGetOutputColourspace_out[] = {
    {"OfxImageClipPropColourspace", S, 1, W, NULL},
};
static const EshPropDef set_OfxImageEffectActionGetRegionOfDefinition_in[] = {
    {"OfxImageEffectPropRenderScale", D, 2, H, NULL},
    {"OfxImageEffectPropThumbnailRender", S, 1, H, v7},
    {"OfxPropTime", D, 1, H, NULL},
};
static const EshPropDef set_OfxImageEffectActionGetRegionOfDefinition_out[] = {
    {"OfxImageEffectPropRegionOfDefinition", D, 4, W, NULL},
};
static const EshPropDef set_OfxImageEffectActionGetRegionsOfInterest_in[] = {
    {"OfxImageEffectPropRegionOfInterest", D, 4, H, NULL},
    {"OfxImageEffectPropRenderScale", D, 2, H, NULL},
    {"OfxImageEffectPropThumbnailRender", S, 1, H, v7},
    {"OfxPropTime", D, 1, H, NULL},
};
static const EshPropDef set_OfxImageEffectActionGetTimeDomain_out[] = {
    {"OfxImageEffectPropFrameRange", D, 2, W, NULL},
};
static const EshPropDef set_OfxImageEffectActionIsIdentity_in[] = {
    {"OfxImageEffectPropFieldToRender", S, 1, H, v10},
    {"OfxImageEffectPropRenderScale", D, 2, H, NULL},
    {"OfxImageEffectPropRenderWindow", I, 4, H, NULL},
    {"OfxImageEffectPropThumbnailRender", S, 1, H, v7},
    {"OfxPropTime", D, 1, H, NULL},
};
static const EshPropDef set_OfxImageEffectActionRender_in[] = {
    {"OfxImageEffectPropCudaEnabled", B, 1, H, NULL},
    {"OfxImageEffectPropCudaRenderSupported", S, 1, H, v8},
    {"OfxImageEffectPropCudaStream", P, 1, H, NULL},
    {"OfxImageEffectPropCudaStreamSupported", S, 1, H, v8},
    {"OfxImageEffectPropInteractiveRenderStatus", B, 1, H, NULL},
    {"OfxImageEffectPropMetalCommandQueue", P, 1, H, NULL},
    {"OfxImageEffectPropMetalEnabled", B, 1, H, NULL},
    {"OfxImageEffectPropMetalRenderSupported", S, 1, H, v8},
    {"OfxImageEffectPropNoSpatialAwareness", S, 1, H, v7},
    {"OfxImageEffectPropOpenCLCommandQueue", P, 1, H, NULL},
    {"OfxImageEffectPropOpenCLEnabled", B, 1, H, NULL},
    {"OfxImageEffectPropOpenCLImage", P, 1, H, NULL},
    {"OfxImageEffectPropOpenCLRenderSupported", S, 1, H, v8},
    {"OfxImageEffectPropOpenCLSupported", S, 1, H, v7},
    {"OfxImageEffectPropOpenGLEnabled", B, 1, H, NULL},
    {"OfxImageEffectPropOpenGLTextureIndex", I, 1, H, NULL},
    {"OfxImageEffectPropOpenGLTextureTarget", I, 1, H, NULL},
    {"OfxImageEffectPropRenderQualityDraft", B, 1, H, NULL},
    {"OfxImageEffectPropSequentialRenderStatus", B, 1, H, NULL},
    {"OfxImageEffectPropThumbnailRender", S, 1, H, v7},
    {"OfxPropTime", D, 1, H, NULL},
    {"OfxImageEffectPropFieldToRender", S, 1, H, v10}, /* added */
    {"OfxImageEffectPropRenderWindow", I, 4, H, NULL}, /* added */
    {"OfxImageEffectPropRenderScale", D, 2, H, NULL}, /* added */
};
static const EshPropDef set_OfxImageEffectActionIsIdentity_out[] = {
    {"OfxPropName", S, 1, W, NULL}, /* added */
    {"OfxPropTime", D, 1, W, NULL}, /* added */
};

#define SET(name, array) {name, array, (int)(sizeof array / sizeof array[0])}
const EshSetDef esh_set_defs[] = {
    SET("ClipDescriptor", set_ClipDescriptor),
    SET("ClipInstance", set_ClipInstance),
    SET("EffectDescriptor", set_EffectDescriptor),
    SET("EffectInstance", set_EffectInstance),
    SET("Image", set_Image),
    SET("ImageEffectHost", set_ImageEffectHost),
    SET("ParamDouble1D", set_ParamDouble1D),
    SET("ParameterSet", set_ParameterSet),
    SET("ParamsChoice", set_ParamsChoice),
    SET("ParamsCustom", set_ParamsCustom),
    SET("ParamsDouble2D3D", set_ParamsDouble2D3D),
    SET("ParamsGroup", set_ParamsGroup),
    SET("ParamsInt2D3D", set_ParamsInt2D3D),
    SET("ParamsPage", set_ParamsPage),
    SET("ParamsStrChoice", set_ParamsStrChoice),
    SET("ParamsString", set_ParamsString),
    SET("ParamsValue", set_ParamsValue),
    SET("ParamsPushButton", set_ParamsPushButton),
    SET("OfxActionBeginInstanceChanged.in", set_OfxActionBeginInstanceChanged_in),
    SET("OfxActionEndInstanceChanged.in", set_OfxActionEndInstanceChanged_in),
    SET("OfxActionInstanceChanged.in", set_OfxActionInstanceChanged_in),
    SET("OfxImageEffectActionBeginSequenceRender.in", set_OfxImageEffectActionBeginSequenceRender_in),
    SET("OfxImageEffectActionDescribeInContext.in", set_OfxImageEffectActionDescribeInContext_in),
    SET("OfxImageEffectActionEndSequenceRender.in", set_OfxImageEffectActionEndSequenceRender_in),
    SET("OfxImageEffectActionGetClipPreferences.out", set_OfxImageEffectActionGetClipPreferences_out),
    SET("OfxImageEffectActionGetFramesNeeded.in", set_OfxImageEffectActionGetFramesNeeded_in),
    SET("OfxImageEffectActionGetFramesNeeded.out", set_OfxImageEffectActionGetFramesNeeded_out),
    SET("OfxImageEffectActionGetOutputColourspace.in", set_OfxImageEffectActionGetOutputColourspace_in),
    SET("OfxImageEffectActionGetOutputColourspace.out", set_OfxImageEffectActionGetOutputColourspace_out),
    SET("OfxImageEffectActionGetRegionOfDefinition.in", set_OfxImageEffectActionGetRegionOfDefinition_in),
    SET("OfxImageEffectActionGetRegionOfDefinition.out", set_OfxImageEffectActionGetRegionOfDefinition_out),
    SET("OfxImageEffectActionGetRegionsOfInterest.in", set_OfxImageEffectActionGetRegionsOfInterest_in),
    SET("OfxImageEffectActionGetTimeDomain.out", set_OfxImageEffectActionGetTimeDomain_out),
    SET("OfxImageEffectActionIsIdentity.in", set_OfxImageEffectActionIsIdentity_in),
    SET("OfxImageEffectActionRender.in", set_OfxImageEffectActionRender_in),
    SET("OfxImageEffectActionIsIdentity.out", set_OfxImageEffectActionIsIdentity_out),
    {"OfxImageEffectActionGetRegionsOfInterest.out", NULL, 0}, /* only per-clip properties */
};
const int esh_set_def_count = (int)(sizeof esh_set_defs / sizeof esh_set_defs[0]);
