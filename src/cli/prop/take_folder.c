#include "cli/prop/take_folder.h"

#include "cli/message/status.h"
#include "cli/message/text.h"
#include "store/store.h"

#include <dirent.h>
#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <sys/stat.h>

/// Names of folders.
typedef struct {
  char** names; ///< Owned.
  size_t n;
} Names;

/// Add a name and take it over.
static bool
names_add(Names* names, char* name) {
  char** const more = realloc(names->names, (names->n + 1U) * sizeof(char*));
  if (!more) {
    free(name);
    return false;
  }
  names->names = more;
  names->names[names->n++] = name;
  return true;
}

static void
names_clear(Names* names) {
  for (size_t i = 0; i < names->n; ++i) {
    free(names->names[i]);
  }
  free(names->names);
}

bool
take_folder_promises(const char* name) {
  static const char* const endings[] = {".wav",
                                        ".wave",
                                        ".flac",
                                        ".ogg",
                                        ".oga",
                                        ".opus",
                                        ".mp3",
                                        ".aif",
                                        ".aiff",
                                        ".aifc",
                                        ".au",
                                        ".caf",
                                        ".m4a",
                                        ".aac",
                                        ".wma"};
  const char* const        dot = strrchr(name, '.');
  for (size_t i = 0; dot && i < sizeof(endings) / sizeof(endings[0]); ++i) {
    if (!strcasecmp(dot, endings[i])) {
      return true;
    }
  }
  return false;
}

static char*
join(const char* folder, const char* name) {
  const size_t n = strlen(folder);
  return text_format(
    "%s%s%s", folder, n && folder[n - 1U] == '/' ? "" : "/", name);
}

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

/// Add the files of one folder, and the names of the folders in it to `inner`.
static bool
add_files(const char* path, size_t at_name, TakeFolder* folder, Names* inner) {
  DIR* const stream = opendir(path);
  bool       good = stream != NULL;
  errno = 0;
  const struct dirent* entry = good ? readdir(stream) : NULL;
  for (; good && entry; entry = readdir(stream)) {
    struct stat facts;
    char* const file =
      entry->d_name[0] == '.' ? NULL : join(path, entry->d_name);
    if (!file || stat(file, &facts)) {
      free(file);
    } else if (S_ISREG(facts.st_mode)) {
      const char* const slash = strrchr(file + at_name, '/');
      good = add(folder,
                 (FolderTake){file,
                              at_name,
                              slash ? (size_t)(slash - file) - at_name : 0U,
                              take_folder_promises(file)});
    } else if (inner && S_ISDIR(facts.st_mode)) {
      good = names_add(inner, file);
    } else {
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
  Names        inner = {0};
  bool         good = add_files(path, at_name, folder, &inner);
  if (!good) {
    say_status(path, errno == ENOTDIR ? VW_NOT_A_FOLDER : VW_UNREADABLE);
  }
  // One level alone: deeper folders name no group.
  for (size_t i = 0; good && i < inner.n; ++i) {
    add_files(inner.names[i], at_name, folder, NULL);
  }
  names_clear(&inner);
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
