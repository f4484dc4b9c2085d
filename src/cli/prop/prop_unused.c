#include "cli/prop/prop_unused.h"

#include "cli/message/say.h"
#include "cli/prop/take_folder.h"

#include <stdlib.h>
#include <string.h>

// More at once help nobody.
#define NAMED_MOST 5U

static int
compare_paths(const void* a, const void* b) {
  return strcmp(*(const char* const*)a, *(const char* const*)b);
}

/// All takes of a prop, sorted. To be freed; NULL without memory.
static const char**
list_used(const Prop* prop, size_t* n_used) {
  size_t n = 0;
  for (size_t i = 0; i < prop->n_sounds; ++i) {
    n += prop->sounds[i].n_takes;
  }
  const char** const used = calloc(n + 1U, sizeof(char*));
  *n_used = 0;
  for (size_t i = 0; used && i < prop->n_sounds; ++i) {
    for (size_t j = 0; j < prop->sounds[i].n_takes; ++j) {
      used[(*n_used)++] = prop->sounds[i].takes[j];
    }
  }
  if (used) {
    qsort(used, *n_used, sizeof(char*), compare_paths);
  }
  return used;
}

static void
warn(const Prop* prop, const char* take, size_t n_more) {
  if (n_more < NAMED_MOST) {
    say(take,
        "warning: no sound is made of it: add one to %s, as `volleyweave loop "
        "--print-section` prints it",
        prop->path);
  }
}

void
prop_unused_warn(const Prop* prop, const char* folder) {
  TakeFolder         takes = {0};
  size_t             n_used = 0;
  size_t             n_unused = 0;
  const char** const used = list_used(prop, &n_used);
  if (used && take_folder_list(folder, &takes)) {
    for (size_t i = 0; i < takes.n_takes; ++i) {
      const FolderTake* const take = &takes.takes[i];
      if (take->promised &&
          !bsearch(&take->path, used, n_used, sizeof(char*), compare_paths)) {
        warn(prop, take->path, n_unused++);
      }
    }
  }
  if (n_unused > NAMED_MOST) {
    say(folder, "warning: %zu takes of which no sound is made", n_unused);
  }
  take_folder_clear(&takes);
  free(used);
}
