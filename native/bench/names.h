/* SPDX-License-Identifier: Apache-2.0
 *
 * Names of the benchmark's functions: each file is compiled as it stands, and once more for this very processor.
 */
#ifndef EVENSTOP_BENCH_NAMES_H
#define EVENSTOP_BENCH_NAMES_H

#ifdef EVB_NATIVE
#define NAME(name) name##_native
#else
#define NAME(name) name
#endif

#if defined(__GNUC__)
#define EXPORT __attribute__((visibility("default")))
#else
#define EXPORT
#endif

#endif
