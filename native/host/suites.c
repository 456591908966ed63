/* SPDX-License-Identifier: Apache-2.0
 *
 * The small suites: memory, multithread, message, progress, timeline; and fetchSuite.
 */
#include "internal.h"

#include <errno.h>
#include <math.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

/* Memory suite: blocks in a list, so that leaks and foreign pointers show. */
typedef struct EshBlock {
  struct EshBlock *next;
  void *memory;
} EshBlock;

static OfxStatus memory_alloc(void *handle, size_t bytes, void **memory) {
  (void)handle;
  EshHost *host = esh_the_host;
  if (!memory) return kOfxStatErrBadHandle;
  *memory = malloc(bytes ? bytes : 1);
  if (!*memory) return kOfxStatErrMemory;
  EshBlock *block = esh_alloc(sizeof *block);
  block->memory = *memory;
  esh_lock(host);
  block->next = host->blocks;
  host->blocks = block;
  host->counts.memory_allocs++;
  esh_unlock(host);
  return kOfxStatOK;
}

static OfxStatus memory_free(void *memory) {
  EshHost *host = esh_the_host;
  esh_lock(host);
  EshBlock **at = &host->blocks;
  while (*at && (*at)->memory != memory) at = &(*at)->next;
  EshBlock *block = *at;
  if (block) {
    *at = block->next;
    host->counts.memory_frees++;
  }
  esh_unlock(host);
  if (!block) {
    esh_fault_add(host, "memoryFree of memory that the memory suite did not give out");
    return kOfxStatErrBadHandle;
  }
  free(block->memory);
  free(block);
  return kOfxStatOK;
}

const OfxMemorySuiteV1 esh_memory_suite = {memory_alloc, memory_free};

void esh_blocks_drop(EshHost *host) {
  while (host->blocks) {
    EshBlock *block = host->blocks;
    host->blocks = block->next;
    free(block->memory);
    free(block);
  }
}

/* Multithread suite. Jobs are handed out one by one to at most config.threads threads. */
typedef struct Jobs {
  OfxThreadFunctionV1 *function;
  void *argument;
  unsigned count;
  atomic_uint next;
  EshAction *action;
  struct Jobs *after; /* in the list of a pool, whose lock guards this and the next two */
  unsigned wanted;    /* threads of the pool that may still come and work */
  unsigned working;   /* those that do */
} Jobs;

/* Threads that wait for jobs from one call to the next. */
struct EshPool {
  EshHost *host;
  pthread_mutex_t lock;
  pthread_cond_t come, gone; /* there are jobs, or all is over; a thread has left its jobs */
  Jobs *jobs;
  int over;
  unsigned count;
  pthread_t threads[255];
};

static _Thread_local int in_job;      /* this thread is running a job */
static _Thread_local int spawned;     /* this thread was started by the suite */
static _Thread_local unsigned job_index;

static void work(Jobs *jobs) {
  in_job = 1;
  for (unsigned i; (i = atomic_fetch_add(&jobs->next, 1)) < jobs->count;) {
    job_index = i;
    jobs->function(i, jobs->count, jobs->argument);
  }
  in_job = 0;
  job_index = 0;
}

static void *run_thread(void *argument) {
  Jobs *jobs = argument;
  spawned = 1;
  esh_set_current_action(jobs->action);
  work(jobs);
  return NULL;
}

static void *pool_thread(void *argument) {
  EshPool *pool = argument;
  spawned = 1;
  pthread_mutex_lock(&pool->lock);
  for (;;) {
    Jobs *jobs = pool->jobs;
    while (jobs && !jobs->wanted) jobs = jobs->after;
    if (!jobs && pool->over) break;
    if (!jobs) {
      pthread_cond_wait(&pool->come, &pool->lock);
      continue;
    }
    jobs->wanted--;
    jobs->working++;
    pthread_mutex_unlock(&pool->lock);
    esh_set_current_action(jobs->action);
    work(jobs);
    esh_set_current_action(NULL);
    pthread_mutex_lock(&pool->lock);
    jobs->working--;
    pthread_cond_broadcast(&pool->gone);
  }
  pthread_mutex_unlock(&pool->lock);
  return NULL;
}

static EshPool *pool_of(EshHost *host) {
  esh_lock(host);
  if (!host->pool) {
    host->pool = esh_alloc(sizeof *host->pool);
    memset(host->pool, 0, sizeof *host->pool);
    host->pool->host = host;
    pthread_mutex_init(&host->pool->lock, NULL);
    pthread_cond_init(&host->pool->come, NULL);
    pthread_cond_init(&host->pool->gone, NULL);
  }
  esh_unlock(host);
  return host->pool;
}

void esh_pool_drop(EshHost *host) {
  EshPool *pool = host->pool;
  if (!pool) return;
  pthread_mutex_lock(&pool->lock);
  pool->over = 1;
  pthread_cond_broadcast(&pool->come);
  pthread_mutex_unlock(&pool->lock);
  for (unsigned i = 0; i < pool->count; i++) pthread_join(pool->threads[i], NULL);
  pthread_cond_destroy(&pool->gone);
  pthread_cond_destroy(&pool->come);
  pthread_mutex_destroy(&pool->lock);
  free(pool);
  host->pool = NULL;
}

/* Works with up to `extra` threads of the pool, which has as many at least unless the system gives no more. */
static void work_with_pool(EshPool *pool, Jobs *jobs, unsigned extra) {
  pthread_mutex_lock(&pool->lock);
  while (pool->count < extra && pool->count < sizeof pool->threads / sizeof *pool->threads
         && !esh_thread(pool->host, &pool->threads[pool->count], pool_thread, pool))
    pool->count++;
  jobs->wanted = extra;
  jobs->after = pool->jobs;
  pool->jobs = jobs;
  pthread_cond_broadcast(&pool->come);
  pthread_mutex_unlock(&pool->lock);
  work(jobs);
  pthread_mutex_lock(&pool->lock);
  Jobs **at = &pool->jobs;
  while (*at != jobs) at = &(*at)->after;
  *at = jobs->after;
  while (jobs->working) pthread_cond_wait(&pool->gone, &pool->lock);
  pthread_mutex_unlock(&pool->lock);
}

static void work_with_new_threads(EshHost *host, Jobs *jobs, unsigned extra) {
  pthread_t *threads = esh_alloc(sizeof *threads * (extra + 1));
  unsigned started = 0;
  while (started < extra && !esh_thread(host, &threads[started], run_thread, jobs)) started++;
  work(jobs);
  for (unsigned i = 0; i < started; i++) pthread_join(threads[i], NULL);
  free(threads);
}

static OfxStatus multi_thread(OfxThreadFunctionV1 *function, unsigned count, void *argument) {
  EshHost *host = esh_the_host;
  if (!function) return kOfxStatErrValue;
  if (in_job) {
    esh_fault_add(host, "multiThread called from within one of its jobs");
    return kOfxStatErrExists;
  }
  const EshOddThreads odd = host->config.odd_threads;
  const unsigned cpus = host->config.threads ? host->config.threads : 1;
  if (!count) count = cpus;
  if (odd == ESH_THREADS_IDLE) return kOfxStatOK;
  if (odd == ESH_THREADS_FEWER) count = (count + 1) / 2;
  Jobs jobs = {.function = function, .argument = argument, .count = count, .action = esh_current_action()};
  esh_lock(host);
  host->counts.thread_calls++;
  host->counts.thread_jobs += count;
  esh_unlock(host);
  const unsigned extra = (cpus < count ? cpus : count) - 1; /* the calling thread works too */
  if (host->config.keeps_threads) work_with_pool(pool_of(host), &jobs, extra);
  else work_with_new_threads(host, &jobs, extra);
  return odd == ESH_THREADS_FAIL ? kOfxStatFailed : kOfxStatOK;
}

static OfxStatus thread_cpus(unsigned *cpus) {
  if (!cpus) return kOfxStatErrValue;
  const EshConfig *c = &esh_the_host->config;
  *cpus = c->odd_threads == ESH_THREADS_NO_CPU ? 0 : c->odd_threads == ESH_THREADS_MANY ? 100000 : c->threads ? c->threads : 1;
  return kOfxStatOK;
}

static OfxStatus thread_index(unsigned *index) {
  if (!index) return kOfxStatErrValue;
  *index = in_job ? job_index : 0;
  return kOfxStatOK;
}

/* True for every thread that is running a job, the caller's own included: from inside a job nothing else matters. */
static int thread_is_spawned(void) { return spawned || in_job; }

struct OfxMutex {
  struct OfxMutex *next;
  pthread_mutex_t mutex;
};

static OfxStatus mutex_create(OfxMutexHandle *handle, int locks) {
  EshHost *host = esh_the_host;
  if (!handle) return kOfxStatErrBadHandle;
  *handle = NULL;
  if (locks < 0) return kOfxStatErrValue;
  struct OfxMutex *m = esh_alloc(sizeof *m);
  pthread_mutexattr_t attributes;
  pthread_mutexattr_init(&attributes);
  pthread_mutexattr_settype(&attributes, PTHREAD_MUTEX_RECURSIVE);
  pthread_mutex_init(&m->mutex, &attributes);
  pthread_mutexattr_destroy(&attributes);
  for (int i = 0; i < locks; i++) pthread_mutex_lock(&m->mutex);
  esh_lock(host);
  m->next = host->mutexes;
  host->mutexes = m;
  host->counts.mutex_creates++;
  esh_unlock(host);
  *handle = m;
  return kOfxStatOK;
}

static struct OfxMutex **find_mutex(EshHost *host, OfxMutexHandle handle) {
  struct OfxMutex **at = &host->mutexes;
  while (*at && *at != handle) at = &(*at)->next;
  return at;
}

static int known(const OfxMutexHandle handle) {
  EshHost *host = esh_the_host;
  esh_lock(host);
  const int found = *find_mutex(host, handle) != NULL;
  esh_unlock(host);
  if (!found) esh_fault_add(host, "a mutex function was given a handle that is not a live mutex");
  return found;
}

static OfxStatus mutex_destroy(const OfxMutexHandle handle) {
  EshHost *host = esh_the_host;
  if (!known(handle)) return kOfxStatErrBadHandle;
  esh_lock(host);
  struct OfxMutex **at = find_mutex(host, handle);
  *at = handle->next;
  host->counts.mutex_destroys++;
  esh_unlock(host);
  pthread_mutex_destroy(&handle->mutex);
  free(handle);
  return kOfxStatOK;
}

static OfxStatus mutex_lock(const OfxMutexHandle handle) {
  if (!known(handle)) return kOfxStatErrBadHandle;
  return pthread_mutex_lock(&handle->mutex) ? kOfxStatFailed : kOfxStatOK;
}

static OfxStatus mutex_unlock(const OfxMutexHandle handle) {
  if (!known(handle)) return kOfxStatErrBadHandle;
  return pthread_mutex_unlock(&handle->mutex) ? kOfxStatFailed : kOfxStatOK;
}

static OfxStatus mutex_try_lock(const OfxMutexHandle handle) {
  if (!known(handle)) return kOfxStatErrBadHandle;
  return pthread_mutex_trylock(&handle->mutex) ? kOfxStatFailed : kOfxStatOK;
}

const OfxMultiThreadSuiteV1 esh_thread_suite = {
    multi_thread,  thread_cpus, thread_index, thread_is_spawned, mutex_create,
    mutex_destroy, mutex_lock,  mutex_unlock, mutex_try_lock,
};

void esh_mutexes_drop(EshHost *host) {
  while (host->mutexes) {
    struct OfxMutex *m = host->mutexes;
    host->mutexes = m->next;
    free(m); /* may be locked by a plug-in that is gone: not destroyed, only freed */
  }
}

/* Messages are kept in the order they came. */
static OfxStatus record(void *handle, const char *type, const char *id, const char *format, va_list args,
                        int persistent) {
  EshHost *host = esh_the_host;
  static const char *const types[] = {kOfxMessageFatal, kOfxMessageError, kOfxMessageWarning,
                                      kOfxMessageMessage, kOfxMessageLog, kOfxMessageQuestion};
  int found = -1;
  for (int i = 0; type && i < 6; i++)
    if (!strcmp(types[i], type)) found = i;
  if (found < 0 || !format) {
    esh_fault_add(host, "message of unknown type \"%.60s\"", type ? type : "(null)");
    return kOfxStatErrValue;
  }
  if (persistent && (!handle || found == 0 || found > 3)) {
    esh_fault_add(host, "setPersistentMessage needs an effect, and type error, warning or message");
    return handle ? kOfxStatErrValue : kOfxStatErrBadHandle;
  }
  char small[512];
  va_list again;
  va_copy(again, args);
  const int length = vsnprintf(small, sizeof small, format, args);
  char *text = esh_alloc((size_t)(length < 0 ? 0 : length) + 1);
  if (length < 0) *text = 0;
  else vsnprintf(text, (size_t)length + 1, format, again);
  va_end(again);
  esh_lock(host);
  for (int i = 0; persistent && i < host->message_count; i++)
    if (host->messages[i].persistent && host->message_effects[i] == handle) host->messages[i].cleared = 1;
  host->messages = esh_grow(host->messages, sizeof *host->messages * (size_t)(host->message_count + 1));
  host->message_effects = esh_grow(host->message_effects,
                                   sizeof *host->message_effects * (size_t)(host->message_count + 1));
  host->message_effects[host->message_count] = handle;
  host->messages[host->message_count++] = (EshMessage){persistent, 0, types[found], esh_copy(id ? id : ""), text};
  if (host->config.log)
    fprintf(host->config.log, "message [%s%s] %s%s%s\n", types[found], persistent ? ", persistent" : "", id ? id : "",
            id && *id ? ": " : "", text);
  const int background = host->config.background;
  esh_unlock(host);
  if (found != 5) return kOfxStatOK;
  if (background) {
    esh_fault_add(host, "a question was asked of a host without a user");
    return kOfxStatFailed;
  }
  return kOfxStatReplyYes;
}

static OfxStatus message(void *handle, const char *type, const char *id, const char *format, ...) {
  va_list args;
  va_start(args, format);
  const OfxStatus status = record(handle, type, id, format, args, 0);
  va_end(args);
  return status;
}

static OfxStatus persistent_message(void *handle, const char *type, const char *id, const char *format, ...) {
  va_list args;
  va_start(args, format);
  const OfxStatus status = record(handle, type, id, format, args, 1);
  va_end(args);
  return status;
}

static OfxStatus clear_message(void *handle) {
  EshHost *host = esh_the_host;
  if (!handle) return kOfxStatErrBadHandle;
  esh_lock(host);
  for (int i = 0; i < host->message_count; i++)
    if (host->messages[i].persistent && host->message_effects[i] == handle) host->messages[i].cleared = 1;
  esh_unlock(host);
  return kOfxStatOK;
}

const OfxMessageSuiteV1 esh_message_suite1 = {message};
const OfxMessageSuiteV2 esh_message_suite2 = {message, persistent_message, clear_message};

static EshEffect *instance(void *handle) {
  EshEffect *e = handle;
  return e && e->magic == MAGIC_EFFECT && e->kind == EFFECT_INSTANCE ? e : NULL;
}

static OfxStatus progress_start(void *handle) {
  EshEffect *e = instance(handle);
  if (!e) return kOfxStatErrBadHandle;
  esh_lock(e->host);
  const int nested = e->progress_open;
  if (!nested) {
    e->progress_open = 1;
    e->progress_updates = 0;
    e->host->counts.progress_starts++;
  }
  esh_unlock(e->host);
  if (!nested) return kOfxStatOK;
  esh_fault_add(e->host, "progressStart while a progress is open already");
  return kOfxStatFailed;
}

static OfxStatus progress_start1(void *handle, const char *label) {
  (void)label;
  return progress_start(handle);
}

static OfxStatus progress_start2(void *handle, const char *text, const char *id) {
  (void)text, (void)id;
  return progress_start(handle);
}

static OfxStatus progress_update(void *handle, double progress) {
  EshEffect *e = instance(handle);
  if (!e) return kOfxStatErrBadHandle;
  if (!(progress >= 0 && progress <= 1)) esh_fault_add(e->host, "progressUpdate %g is outside 0 to 1", progress);
  esh_lock(e->host);
  const int open = e->progress_open;
  int cancel = 0;
  if (open) {
    e->progress_updates++;
    e->host->counts.progress_updates++;
    cancel = e->host->config.cancel_at > 0 && e->progress_updates >= e->host->config.cancel_at;
    e->host->counts.progress_cancels += cancel;
  }
  esh_unlock(e->host);
  if (!open) {
    esh_fault_add(e->host, "progressUpdate without progressStart");
    return kOfxStatFailed;
  }
  return cancel ? kOfxStatReplyNo : kOfxStatOK;
}

static OfxStatus progress_end(void *handle) {
  EshEffect *e = instance(handle);
  if (!e) return kOfxStatErrBadHandle;
  esh_lock(e->host);
  const int open = e->progress_open;
  e->progress_open = 0;
  e->host->counts.progress_ends += open;
  esh_unlock(e->host);
  if (open) return kOfxStatOK;
  esh_fault_add(e->host, "progressEnd without progressStart");
  return kOfxStatFailed;
}

const OfxProgressSuiteV1 esh_progress_suite1 = {progress_start1, progress_update, progress_end};
const OfxProgressSuiteV2 esh_progress_suite2 = {progress_start2, progress_update, progress_end};

static OfxStatus get_time(void *handle, double *time) {
  EshEffect *e = instance(handle);
  if (!e || !time) return kOfxStatErrBadHandle;
  *time = e->host->config.odd_timeline ? (double)NAN : e->time;
  return kOfxStatOK;
}

static OfxStatus goto_time(void *handle, double time) {
  EshEffect *e = instance(handle);
  if (!e) return kOfxStatErrBadHandle;
  const EshFormat *f = esh_source_format(e->source);
  if (!(time >= f->first && time <= f->last)) return kOfxStatErrValue;
  e->time = time;
  return kOfxStatOK;
}

static OfxStatus time_bounds(void *handle, double *first, double *last) {
  EshEffect *e = instance(handle);
  if (!e || !first || !last) return kOfxStatErrBadHandle;
  const EshFormat *f = esh_source_format(e->source);
  *first = e->host->config.odd_timeline ? (double)NAN : f->first;
  *last = e->host->config.odd_timeline ? -HUGE_VAL : f->last;
  return kOfxStatOK;
}

const OfxTimeLineSuiteV1 esh_timeline_suite = {get_time, goto_time, time_bounds};

static int listed(const char *const *names, const char *name, int version) {
  for (int i = 0; i < ESH_MAX_NAMES && names[i]; i++) {
    const char *slash = strchr(names[i], '/');
    const size_t length = slash ? (size_t)(slash - names[i]) : strlen(names[i]);
    if (strlen(name) == length && !memcmp(name, names[i], length) && (!slash || atoi(slash + 1) == version)) return 1;
  }
  return 0;
}

/* Members of each suite's struct in order: what null_functions names. */
static const char property_members[] =
    "propSetPointer propSetString propSetDouble propSetInt propSetPointerN propSetStringN propSetDoubleN propSetIntN "
    "propGetPointer propGetString propGetDouble propGetInt propGetPointerN propGetStringN propGetDoubleN propGetIntN "
    "propReset propGetDimension";
static const char effect_members[] =
    "getPropertySet getParamSet clipDefine clipGetHandle clipGetPropertySet clipGetImage clipReleaseImage "
    "clipGetRegionOfDefinition abort imageMemoryAlloc imageMemoryFree imageMemoryLock imageMemoryUnlock";
static const char parameter_members[] =
    "paramDefine paramGetHandle paramSetGetPropertySet paramGetPropertySet paramGetValue paramGetValueAtTime "
    "paramGetDerivative paramGetIntegral paramSetValue paramSetValueAtTime paramGetNumKeys paramGetKeyTime "
    "paramGetKeyIndex paramDeleteKey paramDeleteAllKeys paramCopy paramEditBegin paramEditEnd";
static const char memory_members[] = "memoryAlloc memoryFree";
static const char thread_members[] =
    "multiThread multiThreadNumCPUs multiThreadIndex multiThreadIsSpawnedThread mutexCreate mutexDestroy mutexLock "
    "mutexUnLock mutexTryLock";
static const char message_members[] = "message setPersistentMessage clearPersistentMessage";
static const char progress_members[] = "progressStart progressUpdate progressEnd";
static const char timeline_members[] = "getTime gotoTime getTimeBounds";

_Static_assert(sizeof(OfxPropertySuiteV1) == 18 * sizeof(void *), "property_members names another struct");
_Static_assert(sizeof(OfxImageEffectSuiteV1) == 13 * sizeof(void *), "effect_members names another struct");
_Static_assert(sizeof(OfxParameterSuiteV1) == 18 * sizeof(void *), "parameter_members names another struct");
_Static_assert(sizeof(OfxMultiThreadSuiteV1) == 9 * sizeof(void *), "thread_members names another struct");

/* Copies a suite, with the functions named in the configuration NULL. `copy` has room for the longest suite. */
static const void *thinned(const EshConfig *config, const void *suite, const char *members, size_t bytes, void **copy) {
  if (!config->null_functions[0]) return suite;
  memcpy(copy, suite, bytes);
  for (size_t n = 0; n < bytes / sizeof *copy; n++) {
    const char *end = strchr(members, ' ');
    const size_t length = end ? (size_t)(end - members) : strlen(members);
    for (int i = 0; i < ESH_MAX_NAMES && config->null_functions[i]; i++)
      if (strlen(config->null_functions[i]) == length && !memcmp(config->null_functions[i], members, length)) copy[n] = NULL;
    members += length + (end != NULL);
  }
  return copy;
}

const void *esh_fetch_suite(OfxPropertySetHandle handle, const char *name, int version) {
  enum { LONGEST = 32 };
  static const struct {
    const char *name;
    int version;
    const void *suite;
    size_t bytes;
    const char *members;
  } suites[] = {
#define SUITE(name, version, table, members) {name, version, &table, sizeof table, members}
      SUITE(kOfxPropertySuite, 1, esh_property_suite, property_members),
      SUITE(kOfxImageEffectSuite, 1, esh_effect_suite, effect_members),
      SUITE(kOfxParameterSuite, 1, esh_parameter_suite, parameter_members),
      SUITE(kOfxMemorySuite, 1, esh_memory_suite, memory_members),
      SUITE(kOfxMultiThreadSuite, 1, esh_thread_suite, thread_members),
      SUITE(kOfxMessageSuite, 1, esh_message_suite1, message_members),
      SUITE(kOfxMessageSuite, 2, esh_message_suite2, message_members),
      SUITE(kOfxProgressSuite, 1, esh_progress_suite1, progress_members),
      SUITE(kOfxProgressSuite, 2, esh_progress_suite2, progress_members),
      SUITE(kOfxTimeLineSuite, 1, esh_timeline_suite, timeline_members),
#undef SUITE
  };
  static void *copies[sizeof suites / sizeof suites[0]][LONGEST];
  static void *const hollow[LONGEST];
  EshHost *host = esh_the_host;
  if (!host || !name || handle != host->props) return NULL;
  if (!esh_current_action() && !host->loads) {
    esh_fault_add(host, "fetchSuite %s before the Load action", name);
    return NULL;
  }
  if (listed(host->config.without_suites, name, version)) return NULL;
  for (size_t i = 0; i < sizeof suites / sizeof suites[0]; i++)
    if (!strcmp(suites[i].name, name) && suites[i].version == version)
      return listed(host->config.hollow_suites, name, version)
                 ? (const void *)hollow
                 : thinned(&host->config, suites[i].suite, suites[i].members, suites[i].bytes, copies[i]);
  return NULL;
}
