#include "store/store.h"

#include <dirent.h>
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <sys/stat.h>

const char*
vw_path_name(const char* path) {
  const char* const slash = strrchr(path, '/');
  return slash ? slash + 1 : path;
}

const char*
vw_path_ending(const char* path) {
  const char* const name = vw_path_name(path);
  const char* const dot = strrchr(name, '.');
  // A dot in front hides a file; it starts no ending.
  return dot && dot > name ? dot : name + strlen(name);
}

bool
vw_path_ends_in(const char* path, const char* ending) {
  const size_t n = strlen(path);
  const size_t n_ending = strlen(ending);
  return n > n_ending && !strcasecmp(path + n - n_ending, ending);
}

bool
vw_path_is_folder(const char* path) {
  struct stat facts;
  return !stat(path, &facts) && S_ISDIR(facts.st_mode);
}

bool
vw_path_lies_in(const char* path, const char* folder) {
  const size_t n = strlen(folder);
  return !strncmp(path, folder, n) &&
         (!path[n] || path[n] == '/' || (n && folder[n - 1U] == '/'));
}

/// A text and another, with `between` between them; NULL without memory.
static char*
joined(const char* text, size_t n, const char* between, const char* other) {
  const size_t n_all = n + strlen(between) + strlen(other) + 1U;
  char* const  all = malloc(n_all);
  if (all) {
    (void)snprintf(all, n_all, "%.*s%s%s", (int)n, text, between, other);
  }
  return all;
}

char*
vw_path_sibling(const char* path, const char* name, const char* after) {
  return joined(path, (size_t)(vw_path_name(path) - path), name, after);
}

char*
vw_path_join(const char* folder, const char* name) {
  const size_t n = strlen(folder);
  const bool   slash = *name && n && folder[n - 1U] != '/';
  return joined(folder, n, slash ? "/" : "", name);
}

/* Folders */

static VwEntryKind
kind_of(mode_t mode) {
  if (S_ISREG(mode)) {
    return VW_ENTRY_FILE;
  }
  if (S_ISDIR(mode)) {
    return VW_ENTRY_FOLDER;
  }
  return S_ISLNK(mode) ? VW_ENTRY_LINK : VW_ENTRY_OTHER;
}

/// Add what stands under a path; takes over `path`, also where it fails.
static VwStatus
add(VwTree* tree, const char* root, char* path) {
  VwEntry* const grown =
    path ? realloc(tree->entries, (tree->n_entries + 1U) * sizeof(VwEntry))
         : NULL;
  char* const whole = grown ? vw_path_join(root, path) : NULL;
  struct stat status;
  if (grown) {
    tree->entries = grown;
  }
  if (!whole || lstat(whole, &status)) {
    free(path);
    const bool gone = whole && errno == ENOENT;
    free(whole);
    return !grown || !whole ? VW_NO_MEMORY : gone ? VW_OK : VW_UNREADABLE;
  }
  free(whole);
  tree->entries[tree->n_entries] = (VwEntry){path,
                                             kind_of(status.st_mode),
                                             (uint64_t)status.st_size,
                                             (int64_t)status.st_mtime,
                                             tree->n_entries};
  ++tree->n_entries;
  return VW_OK;
}

/// Add the names in a folder, which is open.
static VwStatus
add_names(VwTree* tree, const char* root, const char* folder, DIR* names) {
  VwStatus st = VW_OK;
  while (!st) {
    errno = 0;
    const struct dirent* const name = readdir(names);
    if (!name) {
      return errno ? VW_UNREADABLE : VW_OK;
    }
    if (strcmp(name->d_name, ".") != 0 && strcmp(name->d_name, "..") != 0) {
      st = add(tree, root, vw_path_join(folder, name->d_name));
    }
  }
  return st;
}

static VwStatus
add_folder(VwTree* tree, const char* root, const char* folder) {
  char* const whole = vw_path_join(root, folder);
  if (!whole) {
    return VW_NO_MEMORY;
  }
  DIR* const names = opendir(whole);
  const int  error = errno;
  free(whole);
  if (!names) {
    return error == ENOENT ? VW_MISSING : VW_UNREADABLE;
  }
  const VwStatus st = add_names(tree, root, folder, names);
  (void)closedir(names);
  return st;
}

/// Compare paths part by part: a folder, what is in it, then the next name.
static int
compare(const void* a, const void* b) {
  const char* left = ((const VwEntry*)a)->path;
  const char* right = ((const VwEntry*)b)->path;
  while (*left && *left == *right) {
    ++left;
    ++right;
  }
  // A slash comes before every character, but after the end.
  const int first = *left == '/' ? 1 : *left ? (unsigned char)*left + 1 : 0;
  const int second = *right == '/' ? 1 : *right ? (unsigned char)*right + 1 : 0;
  return first - second;
}

VwStatus
vw_tree_read(const char* root, VwTree* tree) {
  VwTree   made = {0};
  VwStatus st = add_folder(&made, root, "");
  // Folders are added to the list's end and come up in turn.
  for (size_t i = 0; !st && i < made.n_entries; ++i) {
    // The list moves when it grows.
    char* const folder = made.entries[i].path;
    if (made.entries[i].kind == VW_ENTRY_FOLDER) {
      st = add_folder(&made, root, folder);
    }
    if (st == VW_UNREADABLE || st == VW_MISSING) {
      made.entries[i].kind = VW_ENTRY_CLOSED;
      st = VW_OK;
    }
  }
  if (st) {
    vw_tree_clear(&made);
    return st;
  }
  if (made.n_entries) {
    qsort(made.entries, made.n_entries, sizeof(VwEntry), compare);
  }
  *tree = made;
  return VW_OK;
}

bool
vw_tree_share_folder(const VwEntry* a, const VwEntry* b) {
  const size_t n = (size_t)(vw_path_name(a->path) - a->path);
  return n == (size_t)(vw_path_name(b->path) - b->path) &&
         !memcmp(a->path, b->path, n);
}

void
vw_tree_clear(VwTree* tree) {
  if (tree) {
    for (size_t i = 0; i < tree->n_entries; ++i) {
      free(tree->entries[i].path);
    }
    free(tree->entries);
    *tree = (VwTree){0};
  }
}
