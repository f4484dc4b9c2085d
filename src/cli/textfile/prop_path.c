// For realpath().
#define _XOPEN_SOURCE 700

#include "cli/textfile/prop_path.h"

#include "cli/message/text.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const char*
name_of(const char* path) {
  const char* const slash = strrchr(path, '/');
  return slash ? slash + 1 : path;
}

char*
prop_path_from_here(const char* prop_path, const char* take) {
  const int n = take[0] == '/' ? 0 : (int)(name_of(prop_path) - prop_path);
  return text_format("%.*s%s", n, prop_path, take);
}

/// The folder that a file lies in, without links, ended by a slash. To be
/// freed.
static char*
real_folder(const char* path) {
  char* const folder = text_format("%.*s.", (int)(name_of(path) - path), path);
  char* const real = folder ? realpath(folder, NULL) : NULL;
  char* const slashed =
    real ? text_format("%s%s", real, real[1] ? "/" : "") : NULL;
  free(folder);
  free(real);
  return slashed;
}

/// How far two folders go together, ended by a slash.
static size_t
shared_length(const char* a, const char* b) {
  size_t shared = 0;
  for (size_t i = 0; a[i] && a[i] == b[i]; ++i) {
    shared = a[i] == '/' ? i + 1U : shared;
  }
  return shared;
}

/// The way from one folder to a file in another.
static char*
relative(const char* from, const char* to, const char* name) {
  const size_t shared = shared_length(from, to);
  char*        way = NULL;
  size_t       n = 0;
  FILE* const  out = open_memstream(&way, &n);
  for (const char* at = from + shared; out && (at = strchr(at, '/')); ++at) {
    fputs("../", out);
  }
  if (!out || fprintf(out, "%s%s", to + shared, name) < 0 || fclose(out)) {
    free(way);
    return NULL;
  }
  return way;
}

char*
prop_path_from_file(const char* prop_path, const char* take) {
  char* const from = real_folder(prop_path);
  char* const to = real_folder(take);
  char* const way = from && to ? relative(from, to, name_of(take)) : NULL;
  free(from);
  free(to);
  return way;
}
