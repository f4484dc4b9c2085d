#define _XOPEN_SOURCE 700

#include "support/folder.h"

#include <dirent.h>
#include <ftw.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

char*
folder_make(void) {
  const char* const parent = getenv("TMPDIR");
  char              path[4096];
  snprintf(
    path, sizeof(path), "%s/volleyweave-XXXXXX", parent ? parent : P_tmpdir);
  return mkdtemp(path) ? strdup(path) : NULL;
}

int
folder_enter(void** state) {
  *state = folder_make();
  return !*state || chdir(*state) ? -1 : 0;
}

static int
remove_one(const char*        path,
           const struct stat* status,
           int                type,
           struct FTW*        place) {
  (void)status;
  (void)type;
  (void)place;
  return remove(path);
}

int
folder_leave(void** state) {
  char* const path = *state;
  const int   failed =
    chdir("/") || nftw(path, remove_one, 8, FTW_DEPTH | FTW_PHYS);
  free(path);
  return failed;
}

void
folder_put(const char* path, const void* bytes, size_t n_bytes) {
  FILE* const file = fopen(path, "wb");
  if (!file || fwrite(bytes, 1, n_bytes, file) != n_bytes || fclose(file)) {
    abort();
  }
}

char*
folder_get(const char* path, size_t* n_bytes) {
  FILE* const file = fopen(path, "rb");
  if (!file) {
    return NULL;
  }
  fseek(file, 0, SEEK_END);
  const size_t size = (size_t)ftell(file);
  rewind(file);
  char* const bytes = malloc(size + 1);
  if (!bytes || fread(bytes, 1, size, file) != size) {
    abort();
  }
  bytes[size] = '\0';
  fclose(file);
  *n_bytes = size;
  return bytes;
}

bool
folder_holds(const char* path, const char* text) {
  size_t      n_bytes = 0;
  char* const bytes = folder_get(path, &n_bytes);
  const bool  holds =
    bytes && n_bytes == strlen(text) && !memcmp(bytes, text, n_bytes);
  free(bytes);
  return holds;
}

size_t
folder_count(const char* path) {
  DIR* const folder = opendir(path);
  size_t     n = 0;
  if (!folder) {
    abort();
  }
  for (const struct dirent* entry = readdir(folder); entry;
       entry = readdir(folder)) {
    n += strcmp(entry->d_name, ".") && strcmp(entry->d_name, "..") ? 1U : 0U;
  }
  closedir(folder);
  return n;
}
