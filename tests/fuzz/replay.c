// Calls a fuzz target with the bytes of every file of a folder, one after the
// other. What is wrong ends the process; it fails also by its memory.

#include "fuzz/fuzz.h"
#include "support/folder.h"

#include <dirent.h>
#include <stdio.h>
#include <stdlib.h>
#include <sys/resource.h>

// What 64 KiB may take, as in tools/fuzz. A sanitizer takes its own.
#define MEMORY_MOST_KIB (256L * 1024L)

#if defined(__has_feature)
#  if __has_feature(address_sanitizer)
#    define SANITIZED
#  endif
#endif

/// Call it with the bytes of a file; false if it is none.
static bool
replay(const char* folder, const char* name) {
  char path[4096];
  (void)snprintf(path, sizeof(path), "%s/%s", folder, name);
  size_t      n_bytes = 0;
  char* const bytes = name[0] == '.' ? NULL : folder_get(path, &n_bytes);
  if (bytes) {
    (void)fprintf(stderr, "== %s\n", name);
    (void)LLVMFuzzerTestOneInput((const uint8_t*)bytes, n_bytes);
  }
  free(bytes);
  return bytes != NULL;
}

static bool
is_small(void) {
  struct rusage usage;
  (void)getrusage(RUSAGE_SELF, &usage);
  (void)fprintf(stderr, "== %ld KiB\n", usage.ru_maxrss);
#ifdef SANITIZED
  return true;
#else
  return usage.ru_maxrss <= MEMORY_MOST_KIB;
#endif
}

int
main(int argc, char** argv) {
  DIR* const folder = argc == 2 ? opendir(argv[1]) : NULL;
  size_t     n = 0;
  if (!folder) {
    return EXIT_FAILURE;
  }
  for (struct dirent* at = NULL; (at = readdir(folder));) {
    n += replay(argv[1], at->d_name);
  }
  (void)closedir(folder);
  return n && is_small() ? EXIT_SUCCESS : EXIT_FAILURE;
}
