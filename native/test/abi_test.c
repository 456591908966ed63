/* SPDX-License-Identifier: Apache-2.0
 *
 * openfx.h against the standard's facts: every constant's value, every member's place and type.
 */
#include <stdio.h>
#include <string.h>

#include "openfx.h"

static int failures, checks;

static void text(const char *name, const char *ours, const char *fact) {
  checks++;
  if (!strcmp(ours, fact)) return;
  failures++;
  printf("%s is \"%s\", the standard says \"%s\"\n", name, ours, fact);
}

static void number(const char *name, long ours, long fact) {
  checks++;
  if (ours == fact) return;
  failures++;
  printf("%s is %ld, the standard says %ld\n", name, ours, fact);
}

/* Types of function members: does not compile when they differ. */
#define FUNCTION(type, member, result, arguments)                        \
  static void type##_##member(const type *suite) {                       \
    result(*same) arguments = suite->member;                             \
    (void)same;                                                          \
  }
#include "abi_facts.inc"

/* Members in the table's order: each one's offset is beyond its predecessor's. */
static const char *last_type = "";
static size_t last_offset;
static int last_index;

static void member(const char *type, int index, const char *name, size_t offset) {
  checks++;
  const int first = strcmp(type, last_type) != 0;
  if (first ? (index != 0 || offset != 0) : (index != last_index + 1 || offset <= last_offset)) {
    failures++;
    printf("%s.%s: index %d stands at offset %zu\n", type, name, index, offset);
  }
  last_type = type;
  last_offset = offset;
  last_index = index;
}

int main(void) {
#define TEXT(name, value) text(#name, name, value);
#define NUMBER(name, value) number(#name, name, value);
#define MEMBER(type, index, name) member(#type, index, #name, offsetof(type, name));
#define FUNCTION(type, member, result, arguments) (void)type##_##member;
#include "abi_facts.inc"
  /* Tables of functions hold nothing else. */
  number("pointers in OfxPropertySuiteV1", sizeof(OfxPropertySuiteV1) / sizeof(void *), 18);
  number("pointers in OfxImageEffectSuiteV1", sizeof(OfxImageEffectSuiteV1) / sizeof(void *), 13);
  number("pointers in OfxParameterSuiteV1", sizeof(OfxParameterSuiteV1) / sizeof(void *), 18);
  number("pointers in OfxMemorySuiteV1", sizeof(OfxMemorySuiteV1) / sizeof(void *), 2);
  number("pointers in OfxMultiThreadSuiteV1", sizeof(OfxMultiThreadSuiteV1) / sizeof(void *), 9);
  number("pointers in OfxMessageSuiteV1", sizeof(OfxMessageSuiteV1) / sizeof(void *), 1);
  number("pointers in OfxMessageSuiteV2", sizeof(OfxMessageSuiteV2) / sizeof(void *), 3);
  number("pointers in OfxProgressSuiteV1", sizeof(OfxProgressSuiteV1) / sizeof(void *), 3);
  number("pointers in OfxProgressSuiteV2", sizeof(OfxProgressSuiteV2) / sizeof(void *), 3);
  number("pointers in OfxTimeLineSuiteV1", sizeof(OfxTimeLineSuiteV1) / sizeof(void *), 3);
  number("bytes in OfxRectI", sizeof(OfxRectI), 4 * sizeof(int));
  number("bytes in OfxRectD", sizeof(OfxRectD), 4 * sizeof(double));
  number("bytes in OfxRangeD", sizeof(OfxRangeD), 2 * sizeof(double));
  printf("%d checks, %d failures\n", checks, failures);
  return failures || checks < 400;
}
