// Loaded into the program by LD_PRELOAD: one call of the system or for memory
// fails, or all from that one on.
//
//     FAULT_CALL=rename FAULT_AT=3 FAULT_ON=1 FAULT_MARK=FILE
//
// The third and every later rename() fails. FILE is made when it comes to that,
// and holds at the end how much memory of the program's own was not freed.
// Calls of other libraries do not count: not all of them live through it.

#define _GNU_SOURCE

#include <dirent.h>
#include <dlfcn.h>
#include <errno.h>
#include <fcntl.h>
#include <link.h>
#include <stdarg.h>
#include <stdatomic.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/syscall.h>
#include <unistd.h>

extern void* __libc_malloc(size_t n);
extern void* __libc_calloc(size_t n, size_t size);
extern void* __libc_realloc(void* at, size_t n);
extern void  __libc_free(void* at);

/* Which call, and when */

static struct {
  char        call[16];
  long        at;
  bool        for_good;
  int         error;
  const char* mark;
  uintptr_t   from, to; ///< The program's own code.
  bool        ready;
} fault;

static atomic_long n_calls;

static int
find_program(struct dl_phdr_info* info, size_t size, void* data) {
  (void)size;
  (void)data;
  for (int i = 0; i < info->dlpi_phnum; ++i) {
    const ElfW(Phdr)* const part = &info->dlpi_phdr[i];
    if (part->p_type == PT_LOAD && (part->p_flags & PF_X)) {
      fault.from = info->dlpi_addr + part->p_vaddr;
      fault.to = fault.from + part->p_memsz;
    }
  }
  return 1; // the first is the program
}

__attribute__((constructor)) static void
begin(void) {
  const char* const call = getenv("FAULT_CALL");
  const char* const at = getenv("FAULT_AT");
  const char* const error = getenv("FAULT_ERROR");
  if (call && at) {
    strncpy(fault.call, call, sizeof(fault.call) - 1U);
    fault.at = strtol(at, NULL, 10);
    fault.for_good = getenv("FAULT_ON") != NULL;
    fault.error = error ? (int)strtol(error, NULL, 10) : EIO;
    fault.mark = getenv("FAULT_MARK");
    dl_iterate_phdr(find_program, NULL);
    fault.ready = true;
  }
}

static bool
is_own(const void* caller) {
  const uintptr_t at = (uintptr_t)caller;
  return at >= fault.from && at < fault.to;
}

/// Write into the mark, without a call that could fail.
static void
set_mark(long n) {
  char      text[24];
  const int length = snprintf(text, sizeof(text), "%ld\n", n);
  const int fd = (int)syscall(
    SYS_openat, AT_FDCWD, fault.mark, O_WRONLY | O_CREAT | O_TRUNC, 0666);
  if (fd >= 0) {
    (void)!syscall(SYS_write, fd, text, (size_t)length);
    (void)syscall(SYS_close, fd);
  }
}

static bool
fails(const char* call) {
  if (!fault.ready || strcmp(fault.call, call) != 0) {
    return false;
  }
  const long n = atomic_fetch_add(&n_calls, 1) + 1;
  if (n == fault.at) {
    set_mark(-1);
  }
  errno = n >= fault.at ? fault.error : errno;
  return n == fault.at || (fault.for_good && n > fault.at);
}

/* Memory: what the program asks for itself, and what is its own to free */

// A function of the library behind this one.
#define REAL(type, name, ...)                                                  \
  static type (*real)(__VA_ARGS__);                                            \
  if (!real) {                                                                 \
    *(void**)&real = dlsym(RTLD_NEXT, #name);                                  \
  }

#define SLOTS 65536U

static void*       slots[SLOTS];
static atomic_flag slots_lock = ATOMIC_FLAG_INIT;

static size_t
slot_of(const void* at) {
  return (size_t)(((uintptr_t)at >> 4U) * 2654435761U % SLOTS);
}

/// Put one in the place of another: NULL is an empty place.
static void
keep(const void* was, void* is) {
  while (atomic_flag_test_and_set(&slots_lock)) {
  }
  const size_t from = slot_of(was ? was : is);
  for (size_t i = 0; i < 256U; ++i) {
    void** const slot = &slots[(from + i) % SLOTS];
    if (*slot == was) {
      *slot = is;
      break;
    }
  }
  atomic_flag_clear(&slots_lock);
}

static void*
kept(void* at, const void* caller) {
  if (at && fault.ready && is_own(caller)) {
    keep(NULL, at);
  }
  return at;
}

static bool
no_memory(const void* caller) {
  return is_own(caller) && fails("memory") && (errno = ENOMEM);
}

void*
malloc(size_t n) {
  const void* const caller = __builtin_return_address(0);
  return no_memory(caller) ? NULL : kept(__libc_malloc(n), caller);
}

void*
calloc(size_t n, size_t size) {
  const void* const caller = __builtin_return_address(0);
  return no_memory(caller) ? NULL : kept(__libc_calloc(n, size), caller);
}

void*
realloc(void* at, size_t n) {
  const void* const caller = __builtin_return_address(0);
  if (no_memory(caller)) {
    return NULL;
  }
  if (at && fault.ready) {
    keep(at, NULL);
  }
  void* const grown = __libc_realloc(at, n);
  return kept(grown ? grown : at, caller) == at && !grown ? NULL : grown;
}

void
free(void* at) {
  if (at && fault.ready) {
    keep(at, NULL);
  }
  __libc_free(at);
}

char*
strndup(const char* text, size_t n_most) {
  const void* const caller = __builtin_return_address(0);
  const size_t      n = strnlen(text, n_most);
  char* const       copy = no_memory(caller) ? NULL : __libc_malloc(n + 1U);
  if (copy) {
    memcpy(copy, text, n);
    copy[n] = '\0';
  }
  return kept(copy, caller);
}

char*
strdup(const char* text) {
  const void* const caller = __builtin_return_address(0);
  const size_t      n = strlen(text);
  char* const       copy = no_memory(caller) ? NULL : __libc_malloc(n + 1U);
  return copy ? memcpy(kept(copy, caller), text, n + 1U) : NULL;
}

int
vasprintf(char** text, const char* format, va_list arguments) {
  REAL(int, vasprintf, char**, const char*, va_list);
  const void* const caller = __builtin_return_address(0);
  const int         n = no_memory(caller) ? -1 : real(text, format, arguments);
  if (n >= 0) {
    (void)kept(*text, caller);
  }
  return n;
}

FILE*
open_memstream(char** text, size_t* n) {
  REAL(FILE*, open_memstream, char**, size_t*);
  return no_memory(__builtin_return_address(0)) ? NULL : real(text, n);
}

__attribute__((destructor)) static void
end(void) {
  long n = 0;
  for (size_t i = 0; i < SLOTS; ++i) {
    n += slots[i] != NULL;
  }
  if (fault.ready && atomic_load(&n_calls) >= fault.at) {
    set_mark(n);
  }
}

/* Calls of the system */

#define OWN(call) (is_own(__builtin_return_address(0)) && fails(call))

static int
open_with(int folder, const char* path, int flags, mode_t mode) {
  return (int)syscall(SYS_openat, folder, path, flags, mode);
}

int
open64(const char* path, int flags, ...) {
  va_list rest;
  va_start(rest, flags);
  const mode_t mode = flags & O_CREAT ? va_arg(rest, mode_t) : 0;
  va_end(rest);
  return OWN(flags & O_CREAT ? "create" : "open")
           ? -1
           : open_with(AT_FDCWD, path, flags, mode);
}

DIR*
opendir(const char* path) {
  REAL(DIR*, opendir, const char*);
  return OWN("opendir") ? NULL : real(path);
}

ssize_t
pread64(int fd, void* bytes, size_t n, off_t at) {
  return OWN("read") ? -1 : (ssize_t)syscall(SYS_pread64, fd, bytes, n, at);
}

ssize_t
write(int fd, const void* bytes, size_t n) {
  return OWN("write") ? -1 : (ssize_t)syscall(SYS_write, fd, bytes, n);
}

int
fsync(int fd) {
  (void)fd; // nor is the disk waited for
  return OWN("fsync") ? -1 : 0;
}

int
close(int fd) {
  const int failed = (int)syscall(SYS_close, fd);
  return OWN("close") ? -1 : failed;
}

int
link(const char* from, const char* to) {
  return OWN("link")
           ? -1
           : (int)syscall(SYS_linkat, AT_FDCWD, from, AT_FDCWD, to, 0);
}

int
rename(const char* from, const char* to) {
  return OWN("rename") ? -1 : (int)syscall(SYS_rename, from, to);
}

int
unlink(const char* path) {
  return OWN("unlink") ? -1 : (int)syscall(SYS_unlinkat, AT_FDCWD, path, 0);
}

int
mkdir(const char* path, mode_t mode) {
  return OWN("mkdir") ? -1 : (int)syscall(SYS_mkdirat, AT_FDCWD, path, mode);
}
