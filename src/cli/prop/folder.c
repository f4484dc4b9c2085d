// The files of a folder that may be takes, and those of which no sound is made.

#include "cli/message/message.h"
#include "cli/options/types.h"
#include "cli/prop/prop.h"
#include "container/container.h"
#include "store/store.h"

#include <dirent.h>
#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

/// Add a file, or leave it out where it is ours. Takes `path` over.
static bool
add(TakeFolder* folder, FolderTake take) {
  if (!folder->with_ours && vw_is_own_output(take.path)) {
    free(take.path);
    return true;
  }
  const size_t n = folder->n_takes;
  if (!(n & (n - 1U))) {
    FolderTake* const more =
      realloc(folder->takes, (n ? 2U * n : 1U) * sizeof(FolderTake));
    if (!more) {
      free(take.path);
      return false;
    }
    folder->takes = more;
  }
  folder->takes[folder->n_takes++] = take;
  return true;
}

/// Add the files of a folder and, where `inner` are meant too, those of the
/// folders in it: one level alone, since deeper ones name no group.
static bool
add_files(const char* path, size_t at_name, TakeFolder* folder, bool inner) {
  DIR* const           stream = opendir(path);
  bool                 good = stream != NULL;
  const struct dirent* entry = good ? readdir(stream) : NULL;
  for (; good && entry; entry = readdir(stream)) {
    struct stat facts;
    char* const file =
      entry->d_name[0] == '.' ? NULL : vw_path_join(path, entry->d_name);
    if (!file || stat(file, &facts)) {
      free(file);
    } else if (S_ISREG(facts.st_mode)) {
      const size_t n_folder = (size_t)(vw_path_name(file) - file);
      good = add(folder,
                 (FolderTake){file,
                              at_name,
                              n_folder > at_name ? n_folder - 1U - at_name : 0U,
                              vw_name_promises(file) == VW_PROMISE_SOUND});
    } else {
      if (inner && S_ISDIR(facts.st_mode)) {
        (void)add_files(file, at_name, folder, false);
      }
      free(file);
    }
  }
  if (stream) {
    closedir(stream);
  }
  return good;
}

static int
compare_takes(const void* a, const void* b) {
  const FolderTake* const one = a;
  const FolderTake* const two = b;
  return strcmp(one->path, two->path);
}

bool
take_folder_list(const char* path, TakeFolder* folder) {
  const size_t n = strlen(path);
  const size_t at_name = n && path[n - 1U] == '/' ? n : n + 1U;
  errno = 0;
  const bool good = add_files(path, at_name, folder, true);
  if (!good) {
    say_status(path, errno == ENOTDIR ? VW_NOT_A_FOLDER : VW_UNREADABLE);
  }
  if (folder->n_takes) {
    qsort(folder->takes, folder->n_takes, sizeof(FolderTake), compare_takes);
  }
  return good;
}

void
take_folder_clear(TakeFolder* folder) {
  if (folder) {
    for (size_t i = 0; i < folder->n_takes; ++i) {
      free(folder->takes[i].path);
    }
    free(folder->takes);
    *folder = (TakeFolder){0};
  }
}

/* Takes that no sound is made of */

// More at once help nobody.
#define NAMED_MOST 5U

static int
compare_paths(const void* a, const void* b) {
  return strcmp(*(const char* const*)a, *(const char* const*)b);
}

// Takes beside its own that a section names at most: of run-in and ring-out.
#define ENDS_MOST 2U

/// Add the takes that keys name.
static void
add_ends(const PropKeys* keys, const char** used, size_t* n) {
  for (size_t i = 0; i < keys->n_options; ++i) {
    if (keys->options[i].option->type == &type_take) {
      used[(*n)++] = keys->options[i].value;
    }
  }
}

/// All takes of a prop, sorted. To be freed; NULL without memory.
static const char**
list_used(const Prop* prop, size_t* n_used) {
  size_t n = 0;
  size_t n_most = ENDS_MOST * (prop->n_sounds + prop->n_ons) + 1U;
  for (size_t i = 0; i < prop->n_sounds; ++i) {
    n_most += prop->sounds[i].n_takes;
  }
  const char** const used = calloc(n_most, sizeof(char*));
  for (size_t i = 0; used && i < prop->n_sounds; ++i) {
    const PropSound* const sound = &prop->sounds[i];
    for (size_t j = 0; j < sound->n_takes; ++j) {
      used[n++] = sound->takes[j];
    }
    add_ends(&sound->keys, used, &n);
  }
  for (size_t i = 0; used && i < prop->n_ons; ++i) {
    add_ends(&prop->ons[i].keys, used, &n);
  }
  if (used) {
    qsort(used, n, sizeof(char*), compare_paths);
  }
  *n_used = n;
  return used;
}

static void
warn(const Prop* prop, const char* take, size_t n_more) {
  if (n_more < NAMED_MOST) {
    char* const quoted = text_quoted(take);
    say(take,
        "warning: no sound is made of it: add one to %s, as `volleyweave loop "
        "--print-section %s%s` prints it",
        prop->path,
        take[0] == '-' ? "-- " : "",
        quoted);
    free(quoted);
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
    say(folder,
        "warning: no sound is made of %zu takes: add them, or delete them",
        n_unused);
  }
  take_folder_clear(&takes);
  free(used);
}
