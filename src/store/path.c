#include "store/path.h"

#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

const char*
vw_path_name(const char* path) {
  const char* const slash = strrchr(path, '/');
  return slash ? slash + 1 : path;
}

static size_t
folder_length(const char* path) {
  return (size_t)(vw_path_name(path) - path);
}

char*
vw_path_sibling(const char* path,
                const char* before,
                const char* name,
                const char* after) {
  const size_t n_folder = folder_length(path);
  const size_t n =
    n_folder + strlen(before) + strlen(name) + strlen(after) + 1U;
  char* const sibling = malloc(n);
  if (sibling) {
    memcpy(sibling, path, n_folder);
    snprintf(sibling + n_folder, n - n_folder, "%s%s%s", before, name, after);
  }
  return sibling;
}

char*
vw_path_join(const char* folder, const char* name) {
  const size_t n_folder = strlen(folder);
  const bool   slash = *name && n_folder && folder[n_folder - 1U] != '/';
  const size_t n = n_folder + strlen(name) + 2U;
  char* const  path = malloc(n);
  if (path) {
    snprintf(path, n, "%s%s%s", folder, slash ? "/" : "", name);
  }
  return path;
}
