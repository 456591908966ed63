/* SPDX-License-Identifier: Apache-2.0
 *
 * Our own declarations of the OpenFX 1.5 C interface, as far as an image-effect host or plug-in of this project needs it.
 *
 * Written from tables of facts (constant names and values, struct members in order) of the standard, published by the
 * Academy Software Foundation at https://github.com/AcademySoftwareFoundation/openfx; the words are ours. Left out:
 * interacts and drawing, dialogs, parametric curves, and the GPU suites (their properties are here, since a host
 * publishes them).
 *
 * How the two sides talk
 *   The plug-in is a shared object. It exports OfxGetNumberOfPlugins, OfxGetPlugin and, since 1.5, optionally OfxSetHost.
 *   The host fetches function tables ("suites") by name and version through OfxHost.fetchSuite and calls the plug-in
 *   through one function, OfxPlugin.mainEntry, with the name of an action. A suite the host does not have is NULL.
 *   Everything else travels through property sets: small typed dictionaries reached by handle.
 *
 * Rules that hold everywhere
 *   Strings     UTF-8, NUL-terminated. A string handed to a setter is copied by the callee. A string obtained from a
 *               getter belongs to the property set or parameter that gave it and lives until that entry is next written
 *               or its set goes away; copy it to keep it.
 *   Handles     belong to the host. Image handles live from clipGetImage to clipReleaseImage, inside one action.
 *   Rectangles  half-open: a pixel (x, y) is inside when x1 <= x < x2 and y1 <= y < y2. x2 <= x1 means empty.
 *   Axes        x to the right, y UP: the row at y1 is the bottom of the picture.
 *   Row bytes   signed distance from a row to the row above it. Negative when the host stores the top row first; may be
 *               longer than the pixels of a row. The data pointer is the pixel (bounds.x1, bounds.y1), so
 *                 address(x, y) = data + (ptrdiff_t)(y - y1) * rowBytes + (ptrdiff_t)(x - x1) * bytesPerPixel
 *   Pixels      channels interleaved, R G B A. Byte 0..255, short 0..65535 (full range), half and float nominally 0..1
 *               but unbounded: negatives, values above 1, infinities and NaN all occur.
 *   Spaces      canonical coordinates (double) are pixels at scale 1 and square aspect; pixel coordinates (int) are
 *               canonical times render scale, divided in x by the pixel aspect ratio.
 *   Time        in frames, as double; the first frame of a clip is the lower end of its frame range.
 */
#ifndef EVENSTOP_OPENFX_H
#define EVENSTOP_OPENFX_H

#include <limits.h>
#include <stddef.h>

#ifdef __cplusplus
extern "C" {
#endif

/* == status == */

/* What every suite function and every action returns. */
typedef int OfxStatus;

/* 0 is success. ErrExists: a name is taken. ErrFormat: a file or memory block has the wrong form. ErrValue: a value out
 * of range or of the wrong type. ErrUnknown: no such name. ErrUnsupported: known, but not offered here.
 * ReplyDefault: an action the plug-in did not handle; the host does what the standard prescribes. ReplyYes/ReplyNo answer
 * questions (and ReplyNo from progressUpdate means: the user wants to stop). */
#define kOfxStatOK 0
#define kOfxStatFailed 1
#define kOfxStatErrFatal 2
#define kOfxStatErrUnknown 3
#define kOfxStatErrMissingHostFeature 4
#define kOfxStatErrUnsupported 5
#define kOfxStatErrExists 6
#define kOfxStatErrFormat 7
#define kOfxStatErrMemory 8
#define kOfxStatErrBadHandle 9
#define kOfxStatErrBadIndex 10
#define kOfxStatErrValue 11
#define kOfxStatReplyYes 12
#define kOfxStatReplyNo 13
#define kOfxStatReplyDefault 14
#define kOfxStatUnlicensed 15
/* Image-effect additions: a clip's pixel format is not one the plug-in handles; and failures of a GPU render. */
#define kOfxStatErrImageFormat 1000
#define kOfxStatGPUOutOfMemory 1001
#define kOfxStatGLOutOfMemory 1001
#define kOfxStatGPURenderFailed 1002
#define kOfxStatGLRenderFailed 1002

/* == plain types == */

typedef struct OfxPropertySetStruct *OfxPropertySetHandle;
typedef double OfxTime; /* frames */

/* min and max both included. */
typedef struct OfxRangeI {
  int min, max;
} OfxRangeI;
typedef struct OfxRangeD {
  double min, max;
} OfxRangeD;
typedef struct OfxPointI {
  int x, y;
} OfxPointI;
typedef struct OfxPointD {
  double x, y;
} OfxPointD;
/* Half-open, y up; OfxRectI in pixel, OfxRectD in canonical coordinates. */
typedef struct OfxRectI {
  int x1, y1, x2, y2;
} OfxRectI;
typedef struct OfxRectD {
  double x1, y1, x2, y2;
} OfxRectD;

/* Stand-ins for an infinite extent in OfxRectI/OfxRectD. */
#define kOfxFlagInfiniteMax INT_MAX
#define kOfxFlagInfiniteMin INT_MIN

/* == host and plug-in == */

/* Given to OfxPlugin.setHost; stays valid until the plug-in is unloaded. `host` is the property set that says what the
 * host can do. fetchSuite may be called from the Load action on; NULL when the suite or version is not there. */
typedef struct OfxHost {
  OfxPropertySetHandle host;
  const void *(*fetchSuite)(OfxPropertySetHandle host, const char *suiteName, int suiteVersion);
} OfxHost;

/* The one entry point. `action` is compared by its characters, never by address. `handle` is the OfxImageEffectHandle of
 * the descriptor or instance, or NULL (Load, Unload). inArgs and outArgs may be NULL; both live for this call only. */
typedef OfxStatus(OfxPluginEntryPoint)(const char *action, const void *handle, OfxPropertySetHandle inArgs,
                                       OfxPropertySetHandle outArgs);

/* Static data of the binary. pluginIdentifier: unique, ASCII, never changed once released. A new major version is a
 * different look; a minor one renders old projects the same. */
typedef struct OfxPlugin {
  const char *pluginApi; /* kOfxImageEffectPluginApi */
  int apiVersion;        /* kOfxImageEffectPluginApiVersion */
  const char *pluginIdentifier;
  unsigned int pluginVersionMajor;
  unsigned int pluginVersionMinor;
  void (*setHost)(OfxHost *host);
  OfxPluginEntryPoint *mainEntry;
} OfxPlugin;

/* What a plug-in binary exports (the host looks them up by these names). Order: OfxSetHost if present (its pointer is
 * good only until OfxGetPlugin is called; any status but OK means "not for this host"), OfxGetNumberOfPlugins, OfxGetPlugin
 * with 0 <= nth < number, then each plug-in's setHost. None of them may do work or fetch suites. */
typedef OfxStatus(OfxSetHostFunction)(const OfxHost *host);
typedef int(OfxGetNumberOfPluginsFunction)(void);
typedef OfxPlugin *(OfxGetPluginFunction)(int nth);

#define kOfxImageEffectPluginApi "OfxImageEffectPluginAPI"
#define kOfxImageEffectPluginApiVersion 1

/* Actions every kind of plug-in gets. CreateInstance to DestroyInstance bracket an instance's life; a host sends
 * BeginInstanceChanged, any number of InstanceChanged, EndInstanceChanged. SyncPrivateData: write private state into
 * parameters, the project is about to be saved or copied. PurgeCaches: give memory back. */
#define kOfxActionLoad "OfxActionLoad"
#define kOfxActionDescribe "OfxActionDescribe"
#define kOfxActionUnload "OfxActionUnload"
#define kOfxActionPurgeCaches "OfxActionPurgeCaches"
#define kOfxActionSyncPrivateData "OfxActionSyncPrivateData"
#define kOfxActionCreateInstance "OfxActionCreateInstance"
#define kOfxActionDestroyInstance "OfxActionDestroyInstance"
#define kOfxActionInstanceChanged "OfxActionInstanceChanged"
#define kOfxActionBeginInstanceChanged "OfxActionBeginInstanceChanged"
#define kOfxActionEndInstanceChanged "OfxActionEndInstanceChanged"
#define kOfxActionBeginInstanceEdit "OfxActionBeginInstanceEdit"
#define kOfxActionEndInstanceEdit "OfxActionEndInstanceEdit"

/* General properties. */
#define kOfxPropAPIVersion "OfxPropAPIVersion"
#define kOfxPropTime "OfxPropTime"
#define kOfxPropIsInteractive "OfxPropIsInteractive"
#define kOfxPluginPropFilePath "OfxPluginPropFilePath"
#define kOfxPropInstanceData "OfxPropInstanceData"
#define kOfxPropType "OfxPropType"
#define kOfxPropName "OfxPropName"
#define kOfxPropVersion "OfxPropVersion"
#define kOfxPropVersionLabel "OfxPropVersionLabel"
#define kOfxPropPluginDescription "OfxPropPluginDescription"
#define kOfxPropLabel "OfxPropLabel"
#define kOfxPropIcon "OfxPropIcon"
#define kOfxPropShortLabel "OfxPropShortLabel"
#define kOfxPropLongLabel "OfxPropLongLabel"
#define kOfxPropChangeReason "OfxPropChangeReason"
#define kOfxPropEffectInstance "OfxPropEffectInstance"
#define kOfxPropHostOSHandle "OfxPropHostOSHandle"
/* Values of kOfxPropChangeReason. */
#define kOfxChangeUserEdited "OfxChangeUserEdited"
#define kOfxChangePluginEdited "OfxChangePluginEdited"
#define kOfxChangeTime "OfxChangeTime"
/* Sample types; values of the pixel-depth properties. Half is IEEE 754 binary16. */
#define kOfxBitDepthNone "OfxBitDepthNone"
#define kOfxBitDepthByte "OfxBitDepthByte"
#define kOfxBitDepthShort "OfxBitDepthShort"
#define kOfxBitDepthFloat "OfxBitDepthFloat"
#define kOfxBitDepthHalf "OfxBitDepthHalf"

/* == property suite, version 1 == */

#define kOfxPropertySuite "OfxPropertySuite"

/* Typed access to a property set. The single forms touch element `index`; the N forms elements 0..count-1. Getting an
 * index past the end gives ErrBadIndex, an unknown name ErrUnknown, the wrong type or a read-only entry ErrValue.
 * Writing past the end of a property of free dimension extends it. propReset puts back the entry's default.
 * Bool and enum properties of the standard travel as int and string. */
typedef struct OfxPropertySuiteV1 {
  OfxStatus (*propSetPointer)(OfxPropertySetHandle properties, const char *property, int index, void *value);
  OfxStatus (*propSetString)(OfxPropertySetHandle properties, const char *property, int index, const char *value);
  OfxStatus (*propSetDouble)(OfxPropertySetHandle properties, const char *property, int index, double value);
  OfxStatus (*propSetInt)(OfxPropertySetHandle properties, const char *property, int index, int value);
  OfxStatus (*propSetPointerN)(OfxPropertySetHandle properties, const char *property, int count, void *const *value);
  OfxStatus (*propSetStringN)(OfxPropertySetHandle properties, const char *property, int count,
                              const char *const *value);
  OfxStatus (*propSetDoubleN)(OfxPropertySetHandle properties, const char *property, int count, const double *value);
  OfxStatus (*propSetIntN)(OfxPropertySetHandle properties, const char *property, int count, const int *value);
  OfxStatus (*propGetPointer)(OfxPropertySetHandle properties, const char *property, int index, void **value);
  OfxStatus (*propGetString)(OfxPropertySetHandle properties, const char *property, int index, char **value);
  OfxStatus (*propGetDouble)(OfxPropertySetHandle properties, const char *property, int index, double *value);
  OfxStatus (*propGetInt)(OfxPropertySetHandle properties, const char *property, int index, int *value);
  OfxStatus (*propGetPointerN)(OfxPropertySetHandle properties, const char *property, int count, void **value);
  OfxStatus (*propGetStringN)(OfxPropertySetHandle properties, const char *property, int count, char **value);
  OfxStatus (*propGetDoubleN)(OfxPropertySetHandle properties, const char *property, int count, double *value);
  OfxStatus (*propGetIntN)(OfxPropertySetHandle properties, const char *property, int count, int *value);
  OfxStatus (*propReset)(OfxPropertySetHandle properties, const char *property);
  OfxStatus (*propGetDimension)(OfxPropertySetHandle properties, const char *property, int *count);
} OfxPropertySuiteV1;

/* == memory suite, version 1 == */

#define kOfxMemorySuite "OfxMemorySuite"

/* General memory of the host. `handle` is an effect handle or NULL. The caller frees with memoryFree. */
typedef struct OfxMemorySuiteV1 {
  OfxStatus (*memoryAlloc)(void *handle, size_t nBytes, void **allocatedData);
  OfxStatus (*memoryFree)(void *allocatedData);
} OfxMemorySuiteV1;

/* == multithread suite, version 1 == */

#define kOfxMultiThreadSuite "OfxMultiThreadSuite"

typedef struct OfxMutex *OfxMutexHandle;
/* Called once per job, threadIndex in 0..threadMax-1. */
typedef void(OfxThreadFunctionV1)(unsigned int threadIndex, unsigned int threadMax, void *customArg);

/* multiThread returns when all nThreads jobs are done; they may run one after another on one thread. Not recursive: from
 * inside a job it gives ErrExists. multiThreadIndex is 0 on a thread the suite did not start. A mutex is recursive,
 * lockCount is how often it starts out locked. */
typedef struct OfxMultiThreadSuiteV1 {
  OfxStatus (*multiThread)(OfxThreadFunctionV1 func, unsigned int nThreads, void *customArg);
  OfxStatus (*multiThreadNumCPUs)(unsigned int *nCPUs);
  OfxStatus (*multiThreadIndex)(unsigned int *threadIndex);
  int (*multiThreadIsSpawnedThread)(void);
  OfxStatus (*mutexCreate)(OfxMutexHandle *mutex, int lockCount);
  OfxStatus (*mutexDestroy)(const OfxMutexHandle mutex);
  OfxStatus (*mutexLock)(const OfxMutexHandle mutex);
  OfxStatus (*mutexUnLock)(const OfxMutexHandle mutex);
  OfxStatus (*mutexTryLock)(const OfxMutexHandle mutex); /* Failed when someone else holds it */
} OfxMultiThreadSuiteV1;

/* == message suite, versions 1 and 2 == */

#define kOfxMessageSuite "OfxMessageSuite"
#define kOfxMessageFatal "OfxMessageFatal"
#define kOfxMessageError "OfxMessageError"
#define kOfxMessageWarning "OfxMessageWarning"
#define kOfxMessageMessage "OfxMessageMessage"
#define kOfxMessageLog "OfxMessageLog"
#define kOfxMessageQuestion "OfxMessageQuestion"

/* `format` is a printf format: pass "%s" and the text, never the text itself. A question returns ReplyYes or ReplyNo. */
typedef struct OfxMessageSuiteV1 {
  OfxStatus (*message)(void *handle, const char *messageType, const char *messageId, const char *format, ...);
} OfxMessageSuiteV1;

/* A persistent message stays shown on the effect until cleared or replaced; types error, warning and message only. */
typedef struct OfxMessageSuiteV2 {
  OfxStatus (*message)(void *handle, const char *messageType, const char *messageId, const char *format, ...);
  OfxStatus (*setPersistentMessage)(void *handle, const char *messageType, const char *messageId, const char *format,
                                    ...);
  OfxStatus (*clearPersistentMessage)(void *handle);
} OfxMessageSuiteV2;

/* == progress suite, versions 1 and 2 == */

#define kOfxProgressSuite "OfxProgressSuite"

/* Start, updates with progress 0..1, end. An update answering ReplyNo asks the plug-in to stop its task. Not nested. */
typedef struct OfxProgressSuiteV1 {
  OfxStatus (*progressStart)(void *effectInstance, const char *label);
  OfxStatus (*progressUpdate)(void *effectInstance, double progress);
  OfxStatus (*progressEnd)(void *effectInstance);
} OfxProgressSuiteV1;

/* As version 1; messageid names the message for a host that remembers answers, and may be NULL. */
typedef struct OfxProgressSuiteV2 {
  OfxStatus (*progressStart)(void *effectInstance, const char *message, const char *messageid);
  OfxStatus (*progressUpdate)(void *effectInstance, double progress);
  OfxStatus (*progressEnd)(void *effectInstance);
} OfxProgressSuiteV2;

/* == timeline suite, version 1 == */

#define kOfxTimeLineSuite "OfxTimeLineSuite"

typedef struct OfxTimeLineSuiteV1 {
  OfxStatus (*getTime)(void *instance, double *time);
  OfxStatus (*gotoTime)(void *instance, double time);
  OfxStatus (*getTimeBounds)(void *instance, double *firstTime, double *lastTime); /* both included */
} OfxTimeLineSuiteV1;

/* == parameter suite, version 1 == */

#define kOfxParameterSuite "OfxParameterSuite"

typedef struct OfxParamStruct *OfxParamHandle;
typedef struct OfxParamSetStruct *OfxParamSetHandle;
typedef OfxStatus(OfxCustomParamInterpFuncV1)(OfxParamSetHandle instance, OfxPropertySetHandle inArgs,
                                              OfxPropertySetHandle outArgs);

/* Value of a parameter of type bytes. Not NUL-terminated. */
typedef struct OfxBytes {
  const unsigned char *data;
  size_t length;
} OfxBytes;

/* The variable arguments have exact C types; there is no promotion to help:
 *   type                 get                               set
 *   Integer, Choice      int *                             int
 *   Boolean              int * (0 or 1)                    int
 *   Double               double *                          double
 *   Integer2D, 3D        int * two, three times            int two, three times
 *   Double2D, 3D         double * two, three times         double two, three times
 *   RGB, RGBA            double * three, four times        double three, four times
 *   String, Custom,
 *   StrChoice            char ** (owned by the host)       const char * (copied)
 *   Bytes                OfxBytes *                        const OfxBytes *
 *   Group, Page,
 *   PushButton           no value: ErrUnsupported          no value: ErrUnsupported
 * Define parameters while describing in a context; read and write them on instances. During render read with
 * paramGetValueAtTime; write only inside InstanceChanged. paramEditBegin/End bracket writes that undo together.
 * paramGetKeyIndex: direction <0 before, 0 at, >0 after `time`. */
typedef struct OfxParameterSuiteV1 {
  OfxStatus (*paramDefine)(OfxParamSetHandle paramSet, const char *paramType, const char *name,
                           OfxPropertySetHandle *propertySet);
  OfxStatus (*paramGetHandle)(OfxParamSetHandle paramSet, const char *name, OfxParamHandle *param,
                              OfxPropertySetHandle *propertySet);
  OfxStatus (*paramSetGetPropertySet)(OfxParamSetHandle paramSet, OfxPropertySetHandle *propHandle);
  OfxStatus (*paramGetPropertySet)(OfxParamHandle param, OfxPropertySetHandle *propHandle);
  OfxStatus (*paramGetValue)(OfxParamHandle paramHandle, ...);
  OfxStatus (*paramGetValueAtTime)(OfxParamHandle paramHandle, OfxTime time, ...);
  OfxStatus (*paramGetDerivative)(OfxParamHandle paramHandle, OfxTime time, ...);
  OfxStatus (*paramGetIntegral)(OfxParamHandle paramHandle, OfxTime time1, OfxTime time2, ...);
  OfxStatus (*paramSetValue)(OfxParamHandle paramHandle, ...);
  OfxStatus (*paramSetValueAtTime)(OfxParamHandle paramHandle, OfxTime time, ...);
  OfxStatus (*paramGetNumKeys)(OfxParamHandle paramHandle, unsigned int *numberOfKeys);
  OfxStatus (*paramGetKeyTime)(OfxParamHandle paramHandle, unsigned int nthKey, OfxTime *time);
  OfxStatus (*paramGetKeyIndex)(OfxParamHandle paramHandle, OfxTime time, int direction, int *index);
  OfxStatus (*paramDeleteKey)(OfxParamHandle paramHandle, OfxTime time);
  OfxStatus (*paramDeleteAllKeys)(OfxParamHandle paramHandle);
  OfxStatus (*paramCopy)(OfxParamHandle paramTo, OfxParamHandle paramFrom, OfxTime dstOffset,
                         const OfxRangeD *frameRange);
  OfxStatus (*paramEditBegin)(OfxParamSetHandle paramSet, const char *name);
  OfxStatus (*paramEditEnd)(OfxParamSetHandle paramSet);
} OfxParameterSuiteV1;

/* Values of kOfxPropType for parameter descriptors and instances, and the parameter types. */
#define kOfxTypeParameter "OfxTypeParameter"
#define kOfxTypeParameterInstance "OfxTypeParameterInstance"
#define kOfxParamTypeInteger "OfxParamTypeInteger"
#define kOfxParamTypeDouble "OfxParamTypeDouble"
#define kOfxParamTypeBoolean "OfxParamTypeBoolean"
#define kOfxParamTypeChoice "OfxParamTypeChoice"
#define kOfxParamTypeStrChoice "OfxParamTypeStrChoice"
#define kOfxParamTypeRGBA "OfxParamTypeRGBA"
#define kOfxParamTypeRGB "OfxParamTypeRGB"
#define kOfxParamTypeDouble2D "OfxParamTypeDouble2D"
#define kOfxParamTypeInteger2D "OfxParamTypeInteger2D"
#define kOfxParamTypeDouble3D "OfxParamTypeDouble3D"
#define kOfxParamTypeInteger3D "OfxParamTypeInteger3D"
#define kOfxParamTypeString "OfxParamTypeString"
#define kOfxParamTypeCustom "OfxParamTypeCustom"
#define kOfxParamTypeBytes "OfxParamTypeBytes"
#define kOfxParamTypeGroup "OfxParamTypeGroup"
#define kOfxParamTypePage "OfxParamTypePage"
#define kOfxParamTypePushButton "OfxParamTypePushButton"
/* What the host's parameters can do (int, 0 or 1, and counts). */
#define kOfxParamHostPropSupportsCustomAnimation "OfxParamHostPropSupportsCustomAnimation"
#define kOfxParamHostPropSupportsStringAnimation "OfxParamHostPropSupportsStringAnimation"
#define kOfxParamHostPropSupportsBooleanAnimation "OfxParamHostPropSupportsBooleanAnimation"
#define kOfxParamHostPropSupportsChoiceAnimation "OfxParamHostPropSupportsChoiceAnimation"
#define kOfxParamHostPropSupportsCustomInteract "OfxParamHostPropSupportsCustomInteract"
#define kOfxParamHostPropMaxParameters "OfxParamHostPropMaxParameters"
#define kOfxParamHostPropMaxPages "OfxParamHostPropMaxPages"
#define kOfxParamHostPropPageRowColumnCount "OfxParamHostPropPageRowColumnCount"
#define kOfxParamHostPropSupportsStrChoiceAnimation "OfxParamHostPropSupportsStrChoiceAnimation"
#define kOfxParamHostPropSupportsStrChoice "OfxParamHostPropSupportsStrChoice"
/* Properties of parameters. Set Min and Max before DisplayMin and DisplayMax. Mind the spelling of Persistant. */
#define kOfxParamPropInteractV1 "OfxParamPropInteractV1"
#define kOfxParamPropInteractSize "OfxParamPropInteractSize"
#define kOfxParamPropInteractSizeAspect "OfxParamPropInteractSizeAspect"
#define kOfxParamPropInteractMinimumSize "OfxParamPropInteractMinimumSize"
#define kOfxParamPropInteractPreferedSize "OfxParamPropInteractPreferedSize"
#define kOfxParamPropType "OfxParamPropType"
#define kOfxParamPropAnimates "OfxParamPropAnimates"
#define kOfxParamPropCanUndo "OfxParamPropCanUndo"
#define kOfxPropParamSetNeedsSyncing "OfxPropParamSetNeedsSyncing"
#define kOfxParamPropIsAnimating "OfxParamPropIsAnimating"
#define kOfxParamPropPluginMayWrite "OfxParamPropPluginMayWrite"
#define kOfxParamPropPersistant "OfxParamPropPersistant"
#define kOfxParamPropEvaluateOnChange "OfxParamPropEvaluateOnChange"
#define kOfxParamPropSecret "OfxParamPropSecret"
#define kOfxParamPropScriptName "OfxParamPropScriptName"
#define kOfxParamPropCacheInvalidation "OfxParamPropCacheInvalidation"
#define kOfxParamPropHint "OfxParamPropHint"
#define kOfxParamPropDefault "OfxParamPropDefault"
#define kOfxParamPropDoubleType "OfxParamPropDoubleType"
#define kOfxParamPropDefaultCoordinateSystem "OfxParamPropDefaultCoordinateSystem"
#define kOfxParamPropHasHostOverlayHandle "OfxParamPropHasHostOverlayHandle"
#define kOfxParamPropUseHostOverlayHandle "kOfxParamPropUseHostOverlayHandle" /* unlike its name */
#define kOfxParamPropShowTimeMarker "OfxParamPropShowTimeMarker"
#define kOfxPluginPropParamPageOrder "OfxPluginPropParamPageOrder"
#define kOfxParamPropPageChild "OfxParamPropPageChild"
#define kOfxParamPropParent "OfxParamPropParent"
#define kOfxParamPropGroupOpen "OfxParamPropGroupOpen"
#define kOfxParamPropEnabled "OfxParamPropEnabled"
#define kOfxParamPropDataPtr "OfxParamPropDataPtr"
#define kOfxParamPropChoiceOption "OfxParamPropChoiceOption"
#define kOfxParamPropChoiceOrder "OfxParamPropChoiceOrder"
#define kOfxParamPropChoiceEnum "OfxParamPropChoiceEnum"
#define kOfxParamPropMin "OfxParamPropMin"
#define kOfxParamPropMax "OfxParamPropMax"
#define kOfxParamPropDisplayMin "OfxParamPropDisplayMin"
#define kOfxParamPropDisplayMax "OfxParamPropDisplayMax"
#define kOfxParamPropIncrement "OfxParamPropIncrement"
#define kOfxParamPropDigits "OfxParamPropDigits"
#define kOfxParamPropDimensionLabel "OfxParamPropDimensionLabel"
#define kOfxParamPropIsAutoKeying "OfxParamPropIsAutoKeying"
#define kOfxParamPropCustomInterpCallbackV1 "OfxParamPropCustomCallbackV1" /* unlike its name */
#define kOfxParamPropStringMode "OfxParamPropStringMode"
#define kOfxParamPropStringFilePathExists "OfxParamPropStringFilePathExists"
#define kOfxParamPropCustomValue "OfxParamPropCustomValue"
#define kOfxParamPropInterpolationTime "OfxParamPropInterpolationTime"
#define kOfxParamPropInterpolationAmount "OfxParamPropInterpolationAmount"
/* Values of kOfxParamPropDoubleType. */
#define kOfxParamDoubleTypePlain "OfxParamDoubleTypePlain"
#define kOfxParamDoubleTypeScale "OfxParamDoubleTypeScale"
#define kOfxParamDoubleTypeAngle "OfxParamDoubleTypeAngle"
#define kOfxParamDoubleTypeTime "OfxParamDoubleTypeTime"
#define kOfxParamDoubleTypeAbsoluteTime "OfxParamDoubleTypeAbsoluteTime"
#define kOfxParamDoubleTypeX "OfxParamDoubleTypeX"
#define kOfxParamDoubleTypeY "OfxParamDoubleTypeY"
#define kOfxParamDoubleTypeXAbsolute "OfxParamDoubleTypeXAbsolute"
#define kOfxParamDoubleTypeYAbsolute "OfxParamDoubleTypeYAbsolute"
#define kOfxParamDoubleTypeXY "OfxParamDoubleTypeXY"
#define kOfxParamDoubleTypeXYAbsolute "OfxParamDoubleTypeXYAbsolute"
/* Values of kOfxParamPropStringMode. */
#define kOfxParamStringIsSingleLine "OfxParamStringIsSingleLine"
#define kOfxParamStringIsMultiLine "OfxParamStringIsMultiLine"
#define kOfxParamStringIsFilePath "OfxParamStringIsFilePath"
#define kOfxParamStringIsDirectoryPath "OfxParamStringIsDirectoryPath"
#define kOfxParamStringIsLabel "OfxParamStringIsLabel"
#define kOfxParamStringIsRichTextFormat "OfxParamStringIsRichTextFormat"
/* Page children that are gaps; values of kOfxParamPropCacheInvalidation and kOfxParamPropDefaultCoordinateSystem;
 * interpolation. */
#define kOfxParamPageSkipRow "OfxParamPageSkipRow"
#define kOfxParamPageSkipColumn "OfxParamPageSkipColumn"
#define kOfxParamInvalidateValueChange "OfxParamInvalidateValueChange"
#define kOfxParamInvalidateValueChangeToEnd "OfxParamInvalidateValueChangeToEnd"
#define kOfxParamInvalidateAll "OfxParamInvalidateAll"
#define kOfxParamCoordinatesCanonical "OfxParamCoordinatesCanonical"
#define kOfxParamCoordinatesNormalised "OfxParamCoordinatesNormalised"
#define kOfxParamInterpTypeConstantStep "OfxParamInterpTypeConstantStep"
#define kOfxParamInterpTypeLinear "OfxParamInterpTypeLinear"
#define kOfxParamInterpTypeSmooth "OfxParamInterpTypeSmooth"
#define kOfxParamInterpType "OfxParamInterpType"

/* == image effect suite, version 1 == */

#define kOfxImageEffectSuite "OfxImageEffectSuite"

typedef struct OfxImageEffectStruct *OfxImageEffectHandle;
typedef struct OfxImageClipStruct *OfxImageClipHandle;
typedef struct OfxImageMemoryStruct *OfxImageMemoryHandle;

/* clipDefine only while describing in a context, clipGetHandle only on instances.
 * clipGetImage: `region` (canonical, may be NULL for "what render asked for") is a wish; the image may be larger. Each
 * success needs exactly one clipReleaseImage before the action returns. Failed means there is no image at that time:
 * treat as black and transparent; ErrMemory means stop.
 * abort: non-zero once the host no longer wants the result; leave soon, release images, return OK.
 * imageMemory...: memory the host may move unless locked; locks nest. */
typedef struct OfxImageEffectSuiteV1 {
  OfxStatus (*getPropertySet)(OfxImageEffectHandle imageEffect, OfxPropertySetHandle *propHandle);
  OfxStatus (*getParamSet)(OfxImageEffectHandle imageEffect, OfxParamSetHandle *paramSet);
  OfxStatus (*clipDefine)(OfxImageEffectHandle imageEffect, const char *name, OfxPropertySetHandle *propertySet);
  OfxStatus (*clipGetHandle)(OfxImageEffectHandle imageEffect, const char *name, OfxImageClipHandle *clip,
                             OfxPropertySetHandle *propertySet);
  OfxStatus (*clipGetPropertySet)(OfxImageClipHandle clip, OfxPropertySetHandle *propHandle);
  OfxStatus (*clipGetImage)(OfxImageClipHandle clip, OfxTime time, const OfxRectD *region,
                            OfxPropertySetHandle *imageHandle);
  OfxStatus (*clipReleaseImage)(OfxPropertySetHandle imageHandle);
  OfxStatus (*clipGetRegionOfDefinition)(OfxImageClipHandle clip, OfxTime time, OfxRectD *bounds);
  int (*abort)(OfxImageEffectHandle imageEffect);
  OfxStatus (*imageMemoryAlloc)(OfxImageEffectHandle instanceHandle, size_t nBytes, OfxImageMemoryHandle *memoryHandle);
  OfxStatus (*imageMemoryFree)(OfxImageMemoryHandle memoryHandle);
  OfxStatus (*imageMemoryLock)(OfxImageMemoryHandle memoryHandle, void **returnedPtr);
  OfxStatus (*imageMemoryUnlock)(OfxImageMemoryHandle memoryHandle);
} OfxImageEffectSuiteV1;

/* Values of kOfxPropType for the host, descriptors, instances, clips and images. */
#define kOfxTypeImageEffectHost "OfxTypeImageEffectHost"
#define kOfxTypeImageEffect "OfxTypeImageEffect"
#define kOfxTypeImageEffectInstance "OfxTypeImageEffectInstance"
#define kOfxTypeClip "OfxTypeClip"
#define kOfxTypeImage "OfxTypeImage"
/* Actions of image effects. Order for a render: preferences, region of definition, regions of interest, frames needed,
 * then BeginSequenceRender, per frame IsIdentity and Render (render window in pixels), EndSequenceRender. */
#define kOfxImageEffectActionGetRegionOfDefinition "OfxImageEffectActionGetRegionOfDefinition"
#define kOfxImageEffectActionGetRegionsOfInterest "OfxImageEffectActionGetRegionsOfInterest"
#define kOfxImageEffectActionGetTimeDomain "OfxImageEffectActionGetTimeDomain"
#define kOfxImageEffectActionGetFramesNeeded "OfxImageEffectActionGetFramesNeeded"
#define kOfxImageEffectActionGetClipPreferences "OfxImageEffectActionGetClipPreferences"
#define kOfxImageEffectActionIsIdentity "OfxImageEffectActionIsIdentity"
#define kOfxImageEffectActionRender "OfxImageEffectActionRender"
#define kOfxImageEffectActionBeginSequenceRender "OfxImageEffectActionBeginSequenceRender"
#define kOfxImageEffectActionEndSequenceRender "OfxImageEffectActionEndSequenceRender"
#define kOfxImageEffectActionDescribeInContext "OfxImageEffectActionDescribeInContext"
/* Contexts: how the effect is used. Filter: one source in, one out, same size. General: anything. */
#define kOfxImageEffectContextGenerator "OfxImageEffectContextGenerator"
#define kOfxImageEffectContextFilter "OfxImageEffectContextFilter"
#define kOfxImageEffectContextTransition "OfxImageEffectContextTransition"
#define kOfxImageEffectContextPaint "OfxImageEffectContextPaint"
#define kOfxImageEffectContextGeneral "OfxImageEffectContextGeneral"
#define kOfxImageEffectContextRetimer "OfxImageEffectContextRetimer"
/* Channel layouts. Alpha is one channel. */
#define kOfxImageComponentNone "OfxImageComponentNone"
#define kOfxImageComponentRGBA "OfxImageComponentRGBA"
#define kOfxImageComponentRGB "OfxImageComponentRGB"
#define kOfxImageComponentAlpha "OfxImageComponentAlpha"
/* Thread safety a plug-in promises for render: none; one render per instance at a time; any. */
#define kOfxImageEffectRenderUnsafe "OfxImageEffectRenderUnsafe"
#define kOfxImageEffectRenderInstanceSafe "OfxImageEffectRenderInstanceSafe"
#define kOfxImageEffectRenderFullySafe "OfxImageEffectRenderFullySafe"
/* Alpha states; values of kOfxImageEffectPropPreMultiplication. The values do not follow the names. */
#define kOfxImageOpaque "OfxImageOpaque"
#define kOfxImagePreMultiplied "OfxImageAlphaPremultiplied" /* unlike its name */
#define kOfxImageUnPreMultiplied "OfxImageAlphaUnPremultiplied" /* unlike its name */
/* Fields. None is progressive, the only one our host renders; to a per-pixel effect every field is the same work. */
#define kOfxImageFieldNone "OfxFieldNone"
#define kOfxImageFieldLower "OfxFieldLower"
#define kOfxImageFieldUpper "OfxFieldUpper"
#define kOfxImageFieldBoth "OfxFieldBoth"
#define kOfxImageFieldSingle "OfxFieldSingle"
#define kOfxImageFieldDoubled "OfxFieldDoubled"
/* Names the standard fixes for clips and parameters of the contexts. */
#define kOfxImageEffectOutputClipName "Output"
#define kOfxImageEffectSimpleSourceClipName "Source"
#define kOfxImageEffectTransitionSourceFromClipName "SourceFrom"
#define kOfxImageEffectTransitionSourceToClipName "SourceTo"
#define kOfxImageEffectTransitionParamName "Transition"
#define kOfxImageEffectRetimerParamName "SourceTime"

/* Per-clip properties are a stem followed by the clip's name, for instance "OfxImageClipPropRoI_Source". The stems: */
#define kOfxImageClipPropComponentsStem "OfxImageClipPropComponents_"     /* clip preferences, out: string */
#define kOfxImageClipPropDepthStem "OfxImageClipPropDepth_"               /* clip preferences, out: string */
#define kOfxImageClipPropPARStem "OfxImageClipPropPAR_"                   /* clip preferences, out: double */
#define kOfxImageClipPropRoIStem "OfxImageClipPropRoI_"                   /* regions of interest, out: double x 4 */
#define kOfxImageClipPropFrameRangeStem "OfxImageClipPropFrameRange_"     /* frames needed, out: double x 2n */

/* Properties of the host (what it can do). */
#define kOfxImageEffectHostPropIsBackground "OfxImageEffectHostPropIsBackground"
#define kOfxHostNativeOriginBottomLeft "kOfxImageEffectHostPropNativeOriginBottomLeft" /* unlike its name */
#define kOfxHostNativeOriginTopLeft "kOfxImageEffectHostPropNativeOriginTopLeft" /* unlike its name */
#define kOfxHostNativeOriginCenter "kOfxImageEffectHostPropNativeOriginCenter" /* unlike its name */
#define kOfxImageEffectHostPropNativeOrigin "OfxImageEffectHostPropNativeOrigin"
/* Properties a plug-in sets while describing. */
#define kOfxImageEffectPluginPropSingleInstance "OfxImageEffectPluginPropSingleInstance"
#define kOfxImageEffectPluginPropHostFrameThreading "OfxImageEffectPluginPropHostFrameThreading"
#define kOfxImageEffectPluginPropGrouping "OfxImageEffectPluginPropGrouping"
#define kOfxImageEffectPluginPropObsolete "OfxImageEffectPluginPropObsolete"
#define kOfxImageEffectPluginPropOverlayInteractV1 "OfxImageEffectPluginPropOverlayInteractV1"
#define kOfxImageEffectPluginPropOverlayInteractV2 "OfxImageEffectPluginPropOverlayInteractV2"
#define kOfxImageEffectPluginPropFieldRenderTwiceAlways "OfxImageEffectPluginPropFieldRenderTwiceAlways"
/* Properties of images. */
#define kOfxImagePropUniqueIdentifier "OfxImagePropUniqueIdentifier"
#define kOfxImagePropPixelAspectRatio "OfxImagePropPixelAspectRatio"
#define kOfxImagePropData "OfxImagePropData"
#define kOfxImagePropBounds "OfxImagePropBounds"
#define kOfxImagePropRegionOfDefinition "OfxImagePropRegionOfDefinition"
#define kOfxImagePropRowBytes "OfxImagePropRowBytes"
#define kOfxImagePropField "OfxImagePropField"
/* Properties of clips. */
#define kOfxImageClipPropContinuousSamples "OfxImageClipPropContinuousSamples"
#define kOfxImageClipPropUnmappedPixelDepth "OfxImageClipPropUnmappedPixelDepth"
#define kOfxImageClipPropUnmappedComponents "OfxImageClipPropUnmappedComponents"
#define kOfxImageClipPropOptional "OfxImageClipPropOptional"
#define kOfxImageClipPropIsMask "OfxImageClipPropIsMask"
#define kOfxImageClipPropConnected "OfxImageClipPropConnected"
#define kOfxImageClipPropFieldOrder "OfxImageClipPropFieldOrder"
#define kOfxImageClipPropFieldExtraction "OfxImageClipPropFieldExtraction"
/* Properties of effects, instances and action arguments. Two of them have a value unlike their name. */
#define kOfxImageEffectPropSupportedContexts "OfxImageEffectPropSupportedContexts"
#define kOfxImageEffectPropPluginHandle "OfxImageEffectPropPluginHandle"
#define kOfxImageEffectPluginRenderThreadSafety "OfxImageEffectPluginRenderThreadSafety"
#define kOfxImageEffectPropSupportsMultipleClipDepths "OfxImageEffectPropMultipleClipDepths" /* unlike its name */
#define kOfxImageEffectPropSupportsMultipleClipPARs "OfxImageEffectPropSupportsMultipleClipPARs"
#define kOfxImageEffectPropClipPreferencesSlaveParam "OfxImageEffectPropClipPreferencesSlaveParam"
#define kOfxImageEffectPropSetableFrameRate "OfxImageEffectPropSetableFrameRate"
#define kOfxImageEffectPropSetableFielding "OfxImageEffectPropSetableFielding"
#define kOfxImageEffectInstancePropSequentialRender "OfxImageEffectInstancePropSequentialRender"
#define kOfxImageEffectPropSequentialRenderStatus "OfxImageEffectPropSequentialRenderStatus"
#define kOfxImageEffectPropInteractiveRenderStatus "OfxImageEffectPropInteractiveRenderStatus"
#define kOfxImageEffectPropSupportsOverlays "OfxImageEffectPropSupportsOverlays"
#define kOfxImageEffectPropSupportsMultiResolution "OfxImageEffectPropSupportsMultiResolution"
#define kOfxImageEffectPropSupportsTiles "OfxImageEffectPropSupportsTiles"
#define kOfxImageEffectPropTemporalClipAccess "OfxImageEffectPropTemporalClipAccess"
#define kOfxImageEffectPropContext "OfxImageEffectPropContext"
#define kOfxImageEffectPropPixelDepth "OfxImageEffectPropPixelDepth"
#define kOfxImageEffectPropComponents "OfxImageEffectPropComponents"
#define kOfxImageEffectPropPreMultiplication "OfxImageEffectPropPreMultiplication"
#define kOfxImageEffectPropSupportedPixelDepths "OfxImageEffectPropSupportedPixelDepths"
#define kOfxImageEffectPropSupportedComponents "OfxImageEffectPropSupportedComponents"
#define kOfxImageEffectPropFrameRate "OfxImageEffectPropFrameRate"
#define kOfxImageEffectPropUnmappedFrameRate "OfxImageEffectPropUnmappedFrameRate"
#define kOfxImageEffectPropFrameStep "OfxImageEffectPropFrameStep"
#define kOfxImageEffectPropFrameRange "OfxImageEffectPropFrameRange"
#define kOfxImageEffectPropUnmappedFrameRange "OfxImageEffectPropUnmappedFrameRange"
#define kOfxImageEffectFrameVarying "OfxImageEffectFrameVarying"
#define kOfxImageEffectPropRenderScale "OfxImageEffectPropRenderScale"
#define kOfxImageEffectPropRenderQualityDraft "OfxImageEffectPropRenderQualityDraft"
#define kOfxImageEffectPropNoSpatialAwareness "OfxImageEffectPropNoSpatialAwareness"
#define kOfxImageEffectPropThumbnailRender "OfxImageEffectPropThumbnailRender"
#define kOfxImageEffectPropProjectExtent "OfxImageEffectPropProjectExtent"
#define kOfxImageEffectPropProjectSize "OfxImageEffectPropProjectSize"
#define kOfxImageEffectPropProjectOffset "OfxImageEffectPropProjectOffset"
#define kOfxImageEffectPropProjectPixelAspectRatio "OfxImageEffectPropPixelAspectRatio" /* unlike its name */
#define kOfxImageEffectInstancePropEffectDuration "OfxImageEffectInstancePropEffectDuration"
#define kOfxImageEffectPropFieldToRender "OfxImageEffectPropFieldToRender"
#define kOfxImageEffectPropRegionOfDefinition "OfxImageEffectPropRegionOfDefinition"
#define kOfxImageEffectPropRegionOfInterest "OfxImageEffectPropRegionOfInterest"
#define kOfxImageEffectPropRenderWindow "OfxImageEffectPropRenderWindow"
#define kOfxImageEffectPropBehaviourWhenUnlicensed "OfxImageEffectPropBehaviourWhenUnlicensed"
/* What a plug-in wants done when it is not licensed. */
#define kOfxUnlicensedContinue "OfxUnlicensedContinue"
#define kOfxUnlicensedFail "OfxUnlicensedFail"

/* == colour management, since 1.5 == */

/* A plug-in offers a style while describing; the host's choice stands on the instance. In the Basic style a clip's
 * kOfxImageClipPropColourspace is one of the five kOfxColourspace... strings below. */
#define kOfxImageEffectPropColourManagementStyle "OfxImageEffectPropColourManagementStyle"
#define kOfxImageEffectColourManagementNone "OfxImageEffectColourManagementNone"
#define kOfxImageEffectColourManagementBasic "OfxImageEffectColourManagementBasic"
#define kOfxImageEffectColourManagementCore "OfxImageEffectColourManagementCore"
#define kOfxImageEffectColourManagementFull "OfxImageEffectColourManagementFull"
#define kOfxImageEffectColourManagementOCIO "OfxImageEffectColourManagementOCIO"
#define kOfxImageEffectPropColourManagementAvailableConfigs "OfxImageEffectPropColourManagementAvailableConfigs"
#define kOfxImageEffectPropColourManagementConfig "OfxImageEffectPropColourManagementConfig"
#define kOfxImageEffectPropOCIOConfig "OfxImageEffectPropOCIOConfig"
#define kOfxImageClipPropColourspace "OfxImageClipPropColourspace"
#define kOfxImageClipPropPreferredColourspaces "OfxImageClipPropPreferredColourspaces"
#define kOfxImageEffectPropDisplayColourspace "OfxImageEffectPropDisplayColourspace"
#define kOfxImageEffectPropOCIODisplay "OfxImageEffectPropOCIODisplay"
#define kOfxImageEffectPropOCIOView "OfxImageEffectPropOCIOView"
#define kOfxImageEffectActionGetOutputColourspace "OfxImageEffectActionGetOutputColourspace"
#define kOfxColourspaceDisplayHdr "ofx_display_hdr"
#define kOfxColourspaceDisplaySdr "ofx_display_sdr"
#define kOfxColourspaceRaw "ofx_raw"
#define kOfxColourspaceSceneLinear "ofx_scene_linear"
#define kOfxColourspaceSceneLog "ofx_scene_log"
/* Answer to GetOutputColourspace meaning "the same as the Source clip": this prefix and the clip's name. */
#define kOfxColourspaceOfClipStem "OfxColourspace_"

/* == GPU properties (published, never offered by our host) == */

#define kOfxImageEffectPropOpenGLRenderSupported "OfxImageEffectPropOpenGLRenderSupported"
#define kOfxOpenGLPropPixelDepth "OfxOpenGLPropPixelDepth"
#define kOfxImageEffectPropOpenGLEnabled "OfxImageEffectPropOpenGLEnabled"
#define kOfxImageEffectPropOpenGLTextureIndex "OfxImageEffectPropOpenGLTextureIndex"
#define kOfxImageEffectPropOpenGLTextureTarget "OfxImageEffectPropOpenGLTextureTarget"
#define kOfxImageEffectPropCPURenderSupported "OfxImageEffectPropCPURenderSupported"
#define kOfxImageEffectPropCudaRenderSupported "OfxImageEffectPropCudaRenderSupported"
#define kOfxImageEffectPropCudaEnabled "OfxImageEffectPropCudaEnabled"
#define kOfxImageEffectPropCudaStreamSupported "OfxImageEffectPropCudaStreamSupported"
#define kOfxImageEffectPropCudaStream "OfxImageEffectPropCudaStream"
#define kOfxImageEffectPropMetalRenderSupported "OfxImageEffectPropMetalRenderSupported"
#define kOfxImageEffectPropMetalEnabled "OfxImageEffectPropMetalEnabled"
#define kOfxImageEffectPropMetalCommandQueue "OfxImageEffectPropMetalCommandQueue"
#define kOfxImageEffectPropOpenCLRenderSupported "OfxImageEffectPropOpenCLRenderSupported"
#define kOfxImageEffectPropOpenCLSupported "OfxImageEffectPropOpenCLSupported"
#define kOfxImageEffectPropOpenCLEnabled "OfxImageEffectPropOpenCLEnabled"
#define kOfxImageEffectPropOpenCLCommandQueue "OfxImageEffectPropOpenCLCommandQueue"
#define kOfxImageEffectPropOpenCLImage "OfxImageEffectPropOpenCLImage"
#define kOfxActionOpenGLContextAttached "OfxActionOpenGLContextAttached"
#define kOfxActionOpenGLContextDetached "kOfxActionOpenGLContextDetached" /* unlike its name */
#define kOfxOpenGLRenderSuite "OfxImageEffectOpenGLRenderSuite" /* unlike its name */
#define kOfxOpenCLProgramSuite "OfxOpenCLProgramSuite"

/* == parametric: host flag only == */

#define kOfxParamHostPropSupportsParametricAnimation "OfxParamHostPropSupportsParametricAnimation"

#ifdef __cplusplus
}
#endif

#endif
