/* SPDX-License-Identifier: Apache-2.0
 *
 * The Java run-time in the host's process. There is at most one VM in a process, for ever: one that is already there is
 * used (with our classes in a class loader of their own), otherwise one is started at first need and never destroyed.
 *
 * Order of run-times tried: the bundle's own (Contents/Resources/jre); then, if EVENSTOP_JAVA_HOME is set, that one and no
 * other; then JAVA_HOME; then the newest in the places where systems keep them. Java 17 or newer.
 *
 * Sources: JNI Specification, chapter 5 (Invocation API).
 */
#include <dirent.h>
#include <dlfcn.h>
#include <fcntl.h>
#include <jni.h>
#include <locale.h>
#include <signal.h>
#include <stdarg.h>
#include <stdatomic.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "plugin.h"

#define PATH_BYTES 4096
#define MOST_JARS 32
#define OLDEST_JAVA 17
#ifdef __APPLE__
#define LIBJVM "libjvm.dylib"
#define JNIDISPATCH "libjnidispatch.jnilib"
#else
#define LIBJVM "libjvm.so"
#define JNIDISPATCH "libjnidispatch.so"
#endif

typedef jint CreateVm(JavaVM **vm, void **env, void *arguments);
typedef jint GetVms(JavaVM **vms, jsize capacity, jsize *count);

static pthread_mutex_t lock = PTHREAD_MUTEX_INITIALIZER;
static char bundle_of_host[PATH_BYTES]; /* what the host said at Describe */
static EvBridge bridge;
static atomic_int ready;
static int tried;
static int given_up; /* 1 once a VM wanted to exit: no other can start in this process */
static char failure[EV_TEXT];
static JavaVM *vm;
static pthread_key_t attached_key; /* its value on a thread we attached is the VM */

static const char reinstall[] = "Install the plug-in again.";
static const char get_java[] =
  "Install a Java 17 or newer run-time, or set EVENSTOP_JAVA_HOME to the folder of one, and start the host again.";

/* What to do about a run-time that is there and does not work. The bundle's own is taken before any other, so another one
 * helps only once that is gone. */
static const char repair_own[] =
  "Install the plug-in again, or remove that folder and install Java 17 or newer (or set EVENSTOP_JAVA_HOME to the folder of "
  "one); then start the host again.";
static const char repair_other[] =
  "Install that Java again, or set EVENSTOP_JAVA_HOME to the folder of another Java 17 or newer; then start the host again.";

__attribute__((format(printf, 2, 3))) static int fail(char *why, const char *format, ...) {
  va_list arguments;
  va_start(arguments, format);
  vsnprintf(why, EV_TEXT, format, arguments);
  va_end(arguments);
  return 0;
}

static int is_file(const char *path) {
  struct stat info;
  return !stat(path, &info) && S_ISREG(info.st_mode) && info.st_size > 0;
}

static int is_folder(const char *path) {
  struct stat info;
  return !stat(path, &info) && S_ISDIR(info.st_mode);
}

/* a + b + c into a buffer of PATH_BYTES; 0 when it does not fit. */
static int join(char *into, const char *a, const char *b, const char *c) {
  return (size_t)snprintf(into, PATH_BYTES, "%s%s%s", a, b, c) < PATH_BYTES;
}

/* == the bundle == */

void ev_vm_bundle(const char *path) {
  pthread_mutex_lock(&lock);
  bundle_of_host[0] = 0;
  if (path && strlen(path) < sizeof bundle_of_host) {
    strcpy(bundle_of_host, path);
  }
  pthread_mutex_unlock(&lock);
}

/* The folder with the jars, by the host's word, else by where this binary was loaded from. */
static int find_resources(char *resources, char *why) {
  char jars[PATH_BYTES];
  if (bundle_of_host[0] && join(resources, bundle_of_host, "/Contents/Resources", "") && join(jars, resources, "/java", "")
      && is_folder(jars)) {
    return 1;
  }
  Dl_info own;
  char path[PATH_BYTES];
  if (dladdr(&bridge, &own) && own.dli_fname && realpath(own.dli_fname, path)) {
    for (int up = 0; up < 2; up++) { /* Contents/<architecture>/Evenstop.ofx */
      char *slash = strrchr(path, '/');
      if (slash) {
        *slash = 0;
      }
    }
    if (join(resources, path, "/Resources", "") && join(jars, resources, "/java", "") && is_folder(jars)) {
      return 1;
    }
  }
  return fail(why, "Evenstop: the bundle is incomplete, its folder Contents/Resources/java is missing. %s", reinstall);
}

/* Java splits a class path at colons and reads it in the locale's encoding, which in a host is often plain C. A folder whose
 * name it would not find is reached through a descriptor that stays open for ever. */
static void make_plain(char *resources) {
#ifdef __linux__
  static int folder = -1;
  int plain = 1;
  for (const char *c = resources; *c; c++) {
    plain &= *c != ':' && (unsigned char)*c < 0x80;
  }
  if (!plain && folder < 0) {
    folder = open(resources, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
  }
  if (!plain && folder >= 0) {
    snprintf(resources, PATH_BYTES, "/proc/self/fd/%d", folder);
  }
#else
  (void)resources;
#endif
}

static int by_name(const void *a, const void *b) {
  return strcmp(*(char *const *)a, *(char *const *)b);
}

static void free_jars(char **jars, int count) {
  for (int i = 0; i < count; i++) {
    free(jars[i]);
  }
}

/* Full paths of the jars, sorted, so that the class path is the same each time (a class archive depends on it). */
static int list_jars(const char *resources, char **jars, char *why) {
  char folder[PATH_BYTES], path[PATH_BYTES];
  int count = 0, has_bridge = 0;
  DIR *dir = join(folder, resources, "/java", "") ? opendir(folder) : NULL;
  for (struct dirent *entry; dir && count < MOST_JARS && (entry = readdir(dir));) {
    size_t length = strlen(entry->d_name);
    if (length > 4 && !strcmp(entry->d_name + length - 4, ".jar") && join(path, folder, "/", entry->d_name)) {
      has_bridge |= !strncmp(entry->d_name, "evenstop-bridge", 15);
      jars[count] = strdup(path);
      count += jars[count] != NULL;
    }
  }
  if (dir) {
    closedir(dir);
  }
  if (!has_bridge) {
    free_jars(jars, count);
    return fail(why, "Evenstop: the bundle is incomplete, %s holds no evenstop-bridge jar. %s", folder, reinstall);
  }
  qsort(jars, (size_t)count, sizeof *jars, by_name);
  return count;
}

/* The jars for a run-time: that of the vector kernels only where there are vectors. An older Java could not read it and would
 * say so on the host's stderr. Returns how many. */
static int fitting_jars(char *const *jars, int count, int has_vector, char **fit) {
  int fitting = 0;
  for (int i = 0; i < count; i++) {
    if (has_vector || !strstr(jars[i], "/evenstop-vector")) {
      fit[fitting++] = jars[i];
    }
  }
  return fitting;
}

/* == run-times == */

typedef struct Runtime {
  char home[PATH_BYTES];
  char library[PATH_BYTES];
  int version; /* feature number, 17 or more */
  int has_vector;
  int is_own; /* 1 when it is the bundle's */
} Runtime;

/* Reads `release`, which every run-time since Java 8 carries. A run-time whose files are not all there, or whose path holds
 * a colon, at which the VM splits its own paths, is passed over: it would not start. */
static int look_at_runtime(const char *home, Runtime *found) {
  char path[PATH_BYTES], line[4096];
  if (!realpath(home, path) || strchr(path, ':')) {
    return 0;
  }
  if (!join(found->home, home, "", "") || !join(found->library, home, "/lib/server/" LIBJVM, "") || !is_file(found->library)
      || !join(path, home, "/lib/modules", "") || !is_file(path) || !join(path, home, "/release", "")) {
    return 0;
  }
  FILE *release = fopen(path, "r");
  if (!release) {
    return 0;
  }
  found->version = 0;
  found->has_vector = 0;
  while (fgets(line, sizeof line, release)) {
    if (!strncmp(line, "JAVA_VERSION=\"", 14)) {
      found->version = atoi(line + 14);
    }
    if (!strncmp(line, "MODULES=", 8)) {
      found->has_vector = strstr(line, "jdk.incubator.vector") != NULL;
    }
  }
  fclose(release);
  return found->version >= OLDEST_JAVA;
}

static int newest_under(const char *folder, const char *suffix, Runtime *best) {
  char path[PATH_BYTES];
  Runtime candidate;
  DIR *dir = opendir(folder);
  int found = 0;
  for (struct dirent *entry; dir && (entry = readdir(dir));) {
    size_t used = entry->d_name[0] == '.' ? 0 : (size_t)snprintf(path, sizeof path, "%s/%s%s", folder, entry->d_name, suffix);
    if (used > 0 && used < sizeof path && look_at_runtime(path, &candidate)
        && (!found || candidate.version > best->version)) {
      *best = candidate;
      found = 1;
    }
  }
  if (dir) {
    closedir(dir);
  }
  return found;
}

static int find_runtime(const char *resources, Runtime *found, char *why) {
  char path[PATH_BYTES];
  if (join(path, resources, "/jre", "") && look_at_runtime(path, found)) {
    found->is_own = 1;
    return 1;
  }
  found->is_own = 0;
  const char *wanted = getenv("EVENSTOP_JAVA_HOME");
  if (wanted && *wanted) {
    return look_at_runtime(wanted, found)
             ? 1
             : fail(why, EV_PASSES "EVENSTOP_JAVA_HOME is %.200s, which holds no Java %d or newer "
                         "(lib/server/" LIBJVM " and release). Correct or unset it and start the host again.",
                    wanted, OLDEST_JAVA);
  }
  wanted = getenv("JAVA_HOME");
  if (wanted && *wanted && look_at_runtime(wanted, found)) {
    return 1;
  }
#ifdef __APPLE__
  if (newest_under("/Library/Java/JavaVirtualMachines", "/Contents/Home", found)) {
    return 1;
  }
#else
  if (newest_under("/usr/lib/jvm", "", found) || newest_under("/opt", "", found)) {
    return 1;
  }
#endif
  return fail(why, EV_PASSES "no Java run-time was found. %s", get_java);
}

/* == starting == */

/* A start goes on while `lock` is held, on a thread of its own: the host's may have a small stack, and the VM's start is the
 * deepest call there is. A VM that cannot start may want to end the process; its thread is then kept waiting for ever
 * instead, and the host lives on without Java. */
static pthread_mutex_t start_lock = PTHREAD_MUTEX_INITIALIZER;
static pthread_cond_t start_over = PTHREAD_COND_INITIALIZER;
static int start_state; /* 0 going on, 1 done, 2 the VM wanted to exit */
static int start_ok;
static char if_it_exits[EV_TEXT]; /* the failure to tell should the VM want to exit */
static pthread_t start_thread;
static int starting;

static void finish_start(int state) {
  pthread_mutex_lock(&start_lock);
  start_state = state;
  pthread_cond_signal(&start_over);
  pthread_mutex_unlock(&start_lock);
}

/* Does not return on the thread that starts the VM. */
static void stop_starting(void) {
  if (starting && pthread_equal(start_thread, pthread_self())) {
    finish_start(2);
    for (;;) {
      pause();
    }
  }
}

/* What the VM calls in place of exit, and before it aborts. */
static void on_vm_exit(jint code) {
  stop_starting();
  exit(code); /* somebody asked for it from Java later on */
}

static void on_vm_abort(void) {
  stop_starting();
}

/* What an exception says, as one line into `why`; the exception is cleared. */
static void take_exception(JNIEnv *env, const char *doing, char *why) {
  jthrowable thrown = (*env)->ExceptionOccurred(env);
  (*env)->ExceptionClear(env);
  const char *text = NULL;
  jstring words = NULL;
  if (thrown) {
    jclass type = (*env)->GetObjectClass(env, thrown);
    jmethodID method = type ? (*env)->GetMethodID(env, type, "toString", "()Ljava/lang/String;") : NULL;
    words = method ? (*env)->CallObjectMethod(env, thrown, method) : NULL;
    if ((*env)->ExceptionCheck(env)) {
      (*env)->ExceptionClear(env);
      words = NULL;
    }
    text = words ? (*env)->GetStringUTFChars(env, words, NULL) : NULL;
  }
  fail(why, EV_PASSES "%s failed (%.300s). %s", doing, text ? text : "no reason given", reinstall);
  if (text) {
    (*env)->ReleaseStringUTFChars(env, words, text);
  }
}

/* Our classes in a loader of their own, for a VM that someone else started. NULL with an exception pending. */
static jclass class_by_loader(JNIEnv *env, char *const *jars, int count) {
  jclass file_class = (*env)->FindClass(env, "java/io/File");
  jclass uri_class = file_class ? (*env)->FindClass(env, "java/net/URI") : NULL;
  jclass url_class = uri_class ? (*env)->FindClass(env, "java/net/URL") : NULL;
  jclass loader_class = url_class ? (*env)->FindClass(env, "java/net/URLClassLoader") : NULL;
  if (!loader_class) {
    return NULL;
  }
  int has_vector = (*env)->GetVersion(env) >= 0x00180000 && (*env)->FindClass(env, "jdk/incubator/vector/FloatVector") != NULL;
  (*env)->ExceptionClear(env);
  char *fit[MOST_JARS];
  count = fitting_jars(jars, count, has_vector, fit);
  jmethodID new_file = (*env)->GetMethodID(env, file_class, "<init>", "(Ljava/lang/String;)V");
  jmethodID to_uri = (*env)->GetMethodID(env, file_class, "toURI", "()Ljava/net/URI;");
  jmethodID to_url = (*env)->GetMethodID(env, uri_class, "toURL", "()Ljava/net/URL;");
  jmethodID new_loader = (*env)->GetMethodID(env, loader_class, "<init>", "([Ljava/net/URL;)V");
  jmethodID load = (*env)->GetMethodID(env, loader_class, "loadClass", "(Ljava/lang/String;)Ljava/lang/Class;");
  int known = new_file && to_uri && to_url && new_loader && load;
  jobjectArray urls = known ? (*env)->NewObjectArray(env, count, url_class, NULL) : NULL;
  if (!urls) {
    return NULL;
  }
  for (int i = 0; i < count; i++) {
    jstring path = (*env)->NewStringUTF(env, fit[i]);
    jobject file = path ? (*env)->NewObject(env, file_class, new_file, path) : NULL;
    jobject uri = file ? (*env)->CallObjectMethod(env, file, to_uri) : NULL;
    jobject url = uri && !(*env)->ExceptionCheck(env) ? (*env)->CallObjectMethod(env, uri, to_url) : NULL;
    if (!url || (*env)->ExceptionCheck(env)) {
      return NULL;
    }
    (*env)->SetObjectArrayElement(env, urls, i, url);
  }
  jobject loader = (*env)->NewObject(env, loader_class, new_loader, urls);
  jstring name = loader ? (*env)->NewStringUTF(env, "org.evenstop.bridge.Bridge") : NULL;
  return name ? (*env)->CallObjectMethod(env, loader, load, name) : NULL;
}

static int open_bridge(JNIEnv *env, char *const *jars, int count, char *why) {
  jclass type = (*env)->FindClass(env, "org/evenstop/bridge/Bridge");
  if (!type) {
    (*env)->ExceptionClear(env);
    type = class_by_loader(env, jars, count);
  }
  jmethodID open = type && !(*env)->ExceptionCheck(env) ? (*env)->GetStaticMethodID(env, type, "open", "(J)I") : NULL;
  if (!open) {
    take_exception(env, "loading its Java classes", why);
    return 0;
  }
  memset(&bridge, 0, sizeof bridge);
  bridge.magic = EV_BRIDGE_MAGIC;
  bridge.version = EV_BRIDGE_VERSION;
  bridge.size = sizeof bridge;
  jint status = (*env)->CallStaticIntMethod(env, type, open, (jlong)(uintptr_t)&bridge);
  if ((*env)->ExceptionCheck(env)) {
    take_exception(env, "opening its Java side", why);
    return 0;
  }
  if (status != EV_OK || !bridge.prepare || !bridge.free_text) {
    return fail(why, EV_PASSES "binary and jars of the bundle are of different versions. %s", reinstall);
  }
  return 1;
}

static int create_vm(CreateVm *create, const char *resources, char *const *jars, int count, const Runtime *runtime, char *why) {
  size_t length = 64;
  int has_vector = runtime->version >= 25 && runtime->has_vector;
  char *fit[MOST_JARS];
  int without = fitting_jars(jars, count, 0, fit);
  int has_vector_jar = without < count;
  count = fitting_jars(jars, count, has_vector, fit);
  for (int i = 0; i < count; i++) {
    length += strlen(fit[i]) + 1;
  }
  char *class_path = malloc(length);
  char *archive = malloc(PATH_BYTES + 64), *native = malloc(PATH_BYTES + 64), *path = malloc(PATH_BYTES);
  if (!class_path || !archive || !native || !path) {
    free(class_path), free(archive), free(native), free(path);
    return fail(why, EV_PASSES "there is no memory to start Java. Close something and try again.");
  }
  strcpy(class_path, "-Djava.class.path=");
  for (int i = 0; i < count; i++) {
    strcat(class_path, i ? ":" : "");
    strcat(class_path, fit[i]);
  }
  JavaVMOption options[24];
  jint n = 0;
#define OPTION(text) options[n++] = (JavaVMOption){(char *)(uintptr_t)(text), NULL}
  OPTION(class_path);
  options[n++] = (JavaVMOption){(char *)(uintptr_t)"exit", (void *)(uintptr_t)on_vm_exit};
  options[n++] = (JavaVMOption){(char *)(uintptr_t)"abort", (void *)(uintptr_t)on_vm_abort};
  OPTION("-Xrs"); /* the host keeps its INT, TERM, HUP and QUIT */
  OPTION("-Xmx256m");
  OPTION("-XX:+UseSerialGC");
  OPTION("-XX:-UsePerfData");
  /* A first frame's loops are compiled once, when they are called again, not also while they run: frames wait for the compiler. */
  OPTION("-XX:Tier4BackEdgeThreshold=1000000");
  OPTION("-XX:+IgnoreUnrecognizedVMOptions");
  OPTION("-Xlog:disable"); /* the host's stdout is not ours */
  OPTION("-Djava.awt.headless=true");
  OPTION("-Djna.nosys=true");
  OPTION("-Xshare:auto");
  if (join(path, resources, "/java/classes.jsa", "") && is_file(path) && !strncmp(runtime->home, resources, strlen(resources))) {
    snprintf(archive, PATH_BYTES + 64, "-XX:SharedArchiveFile=%s", path);
    OPTION(archive);
  }
  if (join(path, resources, "/java/" JNIDISPATCH, "") && is_file(path)) {
    snprintf(native, PATH_BYTES + 64, "-Djna.boot.library.path=%s/java", resources);
    OPTION(native);
  }
  if (runtime->version >= 22) {
    OPTION("--enable-native-access=ALL-UNNAMED");
  }
  if (has_vector && has_vector_jar) {
    OPTION("--add-modules=jdk.incubator.vector");
  }
#undef OPTION
  JavaVMInitArgs arguments = {.version = JNI_VERSION_10, .nOptions = n, .options = options, .ignoreUnrecognized = JNI_TRUE};
  JNIEnv *env = NULL;
  /* A starting VM sets the process's locale from the environment; the host's decimal point must stay what it was. */
  const char *locale = setlocale(LC_ALL, NULL);
  char *kept = locale ? strdup(locale) : NULL;
  jint result = create(&vm, (void **)&env, &arguments);
  if (kept) {
    (void)setlocale(LC_ALL, kept);
    free(kept);
  }
  free(class_path), free(archive), free(native), free(path);
  if (result != JNI_OK) {
    vm = NULL;
    return runtime->is_own ? fail(why, EV_PASSES "the plug-in's own Java in Contents/Resources/jre did not start (code %d). %s",
                                  (int)result, repair_own)
                           : fail(why, EV_PASSES "Java at %.200s did not start (code %d). %s", runtime->home, (int)result,
                                  repair_other);
  }
  /* This thread ends soon; let it be a guest like all others. */
  (void)(*vm)->DetachCurrentThread(vm);
  return 1;
}

/* Threads carry our exit hook once there is a VM, and Java our addresses: this binary must stay. */
static void stay_loaded(void) {
  Dl_info own;
  if (dladdr(&bridge, &own) && own.dli_fname) {
    (void)dlopen(own.dli_fname, RTLD_NOW | RTLD_NOLOAD | RTLD_NODELETE);
  }
}

/* Whether the files that a VM reads before it listens to us are sound. Where they are not it ends the process. */
static int is_sound(const Runtime *runtime) {
  static const char *const libraries[] = {"/lib/libjimage", "/lib/libjava"};
  char path[PATH_BYTES];
  uint32_t magic = 0;
  FILE *modules = join(path, runtime->home, "/lib/modules", "") ? fopen(path, "rb") : NULL;
  int sound = modules && fread(&magic, sizeof magic, 1, modules) == 1 && (magic == 0xcafedadau || magic == 0xdadafecau);
  if (modules) {
    fclose(modules);
  }
  for (int i = 0; sound && i < 2; i++) {
    sound = join(path, runtime->home, libraries[i], strrchr(LIBJVM, '.')) && dlopen(path, RTLD_LAZY | RTLD_LOCAL);
  }
  return sound;
}

static int damaged(const Runtime *runtime, char *why) {
  return runtime->is_own ? fail(why, EV_PASSES "the plug-in's own Java in Contents/Resources/jre is damaged. %s", repair_own)
                         : fail(why, EV_PASSES "the Java at %.200s is damaged. %s", runtime->home, repair_other);
}

/* The VM of this process, started by whoever. */
static int have_vm(const char *resources, char *const *jars, int count, char *why) {
  if (vm) {
    return 1;
  }
  void *library = dlopen(LIBJVM, RTLD_NOW | RTLD_NOLOAD);
  Runtime *runtime = calloc(1, sizeof *runtime);
  if (!runtime) {
    return fail(why, EV_PASSES "there is no memory to start Java. Close something and try again.");
  }
  int ok = 0;
  if (library) {
    GetVms *get = (GetVms *)(uintptr_t)dlsym(library, "JNI_GetCreatedJavaVMs");
    jsize there = 0;
    stay_loaded();
    if (get && get(&vm, 1, &there) == JNI_OK && there > 0) {
      free(runtime);
      return 1;
    }
    vm = NULL;
    dlclose(library);
    library = NULL;
  }
  if (find_runtime(resources, runtime, why)) {
    library = dlopen(runtime->library, RTLD_NOW | RTLD_LOCAL);
    if (!library || !is_sound(runtime)) {
      damaged(runtime, why);
      library = NULL;
    }
  }
  if (library) {
    stay_loaded();
    CreateVm *create = (CreateVm *)(uintptr_t)dlsym(library, "JNI_CreateJavaVM");
    damaged(runtime, if_it_exits);
    ok = create ? create_vm(create, resources, jars, count, runtime, why) : damaged(runtime, why);
  }
  free(runtime);
  return ok;
}

/* == signals ==
 *
 * The VM needs the signals of bad accesses for its own work (a null reference, a loop to be halted). It calls handlers that
 * were there before it. A host that sets one afterwards takes the signal away from it: then ours goes in front, which asks the
 * VM first and leaves to the host what is not the VM's. Looked at before each action that needs Java. (JDK troubleshooting
 * guide, "signal chaining"; the VM's own function for this, JVM_handle_linux_signal, is exported from libjvm and described in
 * its source.) */
static const int vm_signals[] = {SIGSEGV, SIGBUS, SIGFPE, SIGILL};
enum { VM_SIGNALS = sizeof vm_signals / sizeof *vm_signals };
typedef int HandleSignal(int number, siginfo_t *info, void *context, int end_if_unknown);
static pthread_mutex_t signal_lock = PTHREAD_MUTEX_INITIALIZER;
static HandleSignal *vm_handle;
static void *vm_base;                             /* where libjvm lies */
static atomic_uintptr_t of_vm[VM_SIGNALS];        /* the VM's own handlers, once seen */
static struct sigaction of_host[VM_SIGNALS][2];   /* the host's late handlers: the one in use, and room for the next */
static atomic_int of_host_now[VM_SIGNALS];

static void shared_handler(int number, siginfo_t *info, void *context) {
  if (vm_handle && vm_handle(number, info, context, 0)) {
    return;
  }
  int which = 0;
  while (which < VM_SIGNALS - 1 && vm_signals[which] != number) {
    which++;
  }
  const struct sigaction *host = &of_host[which][atomic_load(&of_host_now[which])];
  if (host->sa_flags & SA_SIGINFO) {
    host->sa_sigaction(number, info, context);
  } else if (host->sa_handler == SIG_DFL || host->sa_handler == SIG_IGN) {
    (void)signal(number, SIG_DFL); /* the fault comes again and ends the process, as it would have without us */
  } else {
    host->sa_handler(number);
  }
}

static void *handler_address(const struct sigaction *action) {
  return action->sa_flags & SA_SIGINFO ? (void *)(uintptr_t)action->sa_sigaction : (void *)(uintptr_t)action->sa_handler;
}

static int lies_in_vm(void *address) {
  Dl_info place;
  return dladdr(address, &place) && place.dli_fbase == vm_base;
}

static void guard_signals(void) {
  if (!vm_handle) {
    return;
  }
  for (int i = 0; i < VM_SIGNALS; i++) {
    struct sigaction now;
    if (sigaction(vm_signals[i], NULL, &now)) {
      continue;
    }
    void *handler = handler_address(&now);
    if (handler == (void *)(uintptr_t)shared_handler || (uintptr_t)handler == atomic_load(&of_vm[i])) {
      continue;
    }
    pthread_mutex_lock(&signal_lock);
    if (!sigaction(vm_signals[i], NULL, &now) && (handler = handler_address(&now)) != (void *)(uintptr_t)shared_handler) {
      if (lies_in_vm(handler)) {
        atomic_store(&of_vm[i], (uintptr_t)handler);
      } else {
        int next = !atomic_load(&of_host_now[i]);
        of_host[i][next] = now;
        atomic_store(&of_host_now[i], next);
        struct sigaction ours = now;
        ours.sa_flags = (now.sa_flags & ~SA_RESETHAND) | SA_SIGINFO | SA_RESTART | SA_ONSTACK;
        ours.sa_sigaction = shared_handler;
        (void)sigaction(vm_signals[i], &ours, NULL);
      }
    }
    pthread_mutex_unlock(&signal_lock);
  }
}

/* Finds the VM's own function for its signals. */
static void find_signal_handling(void) {
#ifdef __linux__
  Dl_info place;
  void *address = (void *)(uintptr_t)(*vm)->DetachCurrentThread; /* some function of the VM */
  if (dladdr(address, &place) && place.dli_fname) {
    void *library = dlopen(place.dli_fname, RTLD_NOW | RTLD_NOLOAD);
    vm_base = place.dli_fbase;
    vm_handle = library ? (HandleSignal *)(uintptr_t)dlsym(library, "JVM_handle_linux_signal") : NULL;
  }
#endif
}

static void detach(void *value) {
  JavaVM *of = value;
  (void)(*of)->DetachCurrentThread(of);
}

/* This thread's environment; attached as a daemon until the thread ends. NULL when Java refuses. */
static JNIEnv *attach(void) {
  JNIEnv *env = NULL;
  jint state = (*vm)->GetEnv(vm, (void **)&env, JNI_VERSION_10);
  if (state == JNI_OK) {
    return env;
  }
  JavaVMAttachArgs arguments = {JNI_VERSION_10, (char *)(uintptr_t)"evenstop-host", NULL};
  if (state != JNI_EDETACHED || (*vm)->AttachCurrentThreadAsDaemon(vm, (void **)&env, &arguments) != JNI_OK) {
    return NULL;
  }
  (void)pthread_setspecific(attached_key, vm);
  return env;
}

static int start(char *why) {
  char *resources = malloc(PATH_BYTES);
  char *jars[MOST_JARS];
  int count = 0, ok = 0;
  if (!resources) {
    return fail(why, EV_PASSES "there is no memory to start Java. Close something and try again.");
  }
  int found = find_resources(resources, why);
  if (found) {
    make_plain(resources);
  }
  if (found && (count = list_jars(resources, jars, why)) && have_vm(resources, jars, count, why)) {
    static int keyed;
    keyed = keyed || !pthread_key_create(&attached_key, detach);
    JNIEnv *env = keyed ? attach() : NULL;
    if (!env) {
      fail(why, EV_PASSES "Java takes no more threads. Start the host again.");
    } else if (!(*env)->PushLocalFrame(env, 64)) {
      find_signal_handling();
      guard_signals();
      ok = open_bridge(env, jars, count, why);
      (*env)->PopLocalFrame(env, NULL);
    }
  }
  free_jars(jars, count);
  free(resources);
  return ok;
}

static void *start_on_thread(void *unused) {
  (void)unused;
  start_ok = start(failure);
  finish_start(1);
  return NULL;
}

/* With `lock` held. */
static void start_apart(void) {
  pthread_attr_t attributes;
  failure[0] = 0;
  start_ok = 0;
  start_state = 0;
  if (pthread_attr_init(&attributes)) {
    fail(failure, EV_PASSES "the system gives no thread to start Java on.");
    return;
  }
  (void)pthread_attr_setstacksize(&attributes, 4u << 20);
  pthread_mutex_lock(&start_lock);
  starting = 1;
  if (pthread_create(&start_thread, &attributes, start_on_thread, NULL)) {
    fail(failure, EV_PASSES "the system gives no thread to start Java on.");
  } else {
    while (!start_state) {
      pthread_cond_wait(&start_over, &start_lock);
    }
    if (start_state == 1) {
      /* It must have left our code before the host may unload us. */
      pthread_mutex_unlock(&start_lock);
      pthread_join(start_thread, NULL);
      pthread_mutex_lock(&start_lock);
    } else {
      (void)pthread_detach(start_thread);
      start_ok = 0;
      given_up = 1;
      memcpy(failure, if_it_exits, sizeof failure);
    }
  }
  starting = 0;
  pthread_mutex_unlock(&start_lock);
  pthread_attr_destroy(&attributes);
}

const EvBridge *ev_vm_running(void) {
  return atomic_load_explicit(&ready, memory_order_acquire) ? &bridge : NULL;
}

const EvBridge *ev_vm(int again, char *why) {
  if (ev_vm_running()) {
    guard_signals();
    return &bridge;
  }
  pthread_mutex_lock(&lock);
  if (!ev_vm_running() && (!tried || (again && !given_up))) {
    start_apart();
    tried = 1;
    atomic_store_explicit(&ready, start_ok, memory_order_release);
  }
  const EvBridge *result = ev_vm_running();
  if (!result) {
    strncpy(why, failure, EV_TEXT);
  }
  pthread_mutex_unlock(&lock);
  return result;
}

int ev_vm_call(EvCall *call, void *block) {
  EvHead *head = block;
  if (!attach()) {
    if (head->capacity > 0) {
      snprintf(head->message, (size_t)head->capacity, "Java takes no more threads. Start the host again.");
    }
    return EV_BROKEN;
  }
  return call((int64_t)(uintptr_t)block);
}
