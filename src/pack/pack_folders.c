// For realpath().
#define _XOPEN_SOURCE 700

#include "pack/pack_folders.h"

#include "store/store.h"

#include <ctype.h>
#include <dirent.h>
#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define BESIDE ".making"
#define INSIDE ".volleyweave.making"
#define BEFORE ".before"

// Digits of a digest in the names of waiting files.
#define DIGITS 16U

static bool
is_own_file_system(const char* folder) {
  struct stat status;
  struct stat above;
  char* const parent = vw_path_join(folder, "..");
  const bool  is = parent && !stat(folder, &status) && !stat(parent, &above) &&
                  status.st_dev != above.st_dev;
  free(parent);
  return is;
}

VwStatus
vw_pack_folders_find(const char* folder, VwPackFolders* folders) {
  // A link to a folder elsewhere is followed, or nothing could be renamed.
  VwPackFolders out = {.pack = realpath(folder, NULL)};
  if (!out.pack) {
    out.pack = strdup(folder);
  }
  if (out.pack) {
    out.making = is_own_file_system(out.pack)
                   ? vw_path_join(out.pack, INSIDE)
                   : vw_path_sibling(out.pack, vw_path_name(out.pack), BESIDE);
    out.before = vw_path_sibling(out.pack, vw_path_name(out.pack), BEFORE);
  }
  if (!out.making || !out.before) {
    vw_pack_folders_clear(&out);
    return VW_NO_MEMORY;
  }
  *folders = out;
  return VW_OK;
}

void
vw_pack_folders_clear(VwPackFolders* folders) {
  if (folders) {
    free(folders->pack);
    free(folders->making);
    free(folders->before);
    *folders = (VwPackFolders){0};
  }
}

static VwStatus
make_one(const char* path) {
  struct stat status;
  if (!mkdir(path, 0777)) {
    return VW_OK;
  }
  const int error = errno;
  if (!stat(path, &status)) {
    return S_ISDIR(status.st_mode) ? VW_OK : VW_NOT_A_FOLDER;
  }
  return vw_file_status(error);
}

VwStatus
vw_pack_folders_make(const char* path) {
  char* const part = strdup(path);
  VwStatus    st = part ? VW_OK : VW_NO_MEMORY;
  for (char* at = part; !st && at && *at;) {
    at += strspn(at, "/");
    at += strcspn(at, "/");
    const char end = *at;
    *at = '\0';
    st = make_one(part);
    *at = end;
  }
  free(part);
  return st;
}

VwStatus
vw_pack_folders_make_group(const char* folder, const char* name) {
  const char* const end = vw_path_name(name);
  if (end == name) {
    return VW_OK;
  }
  struct stat status;
  char* const group = strndup(name, (size_t)(end - name) - 1U);
  char* const path = group ? vw_path_join(folder, group) : NULL;
  VwStatus    st = path ? VW_OK : VW_NO_MEMORY;
  if (path && mkdir(path, 0777) && errno != EEXIST) {
    st = vw_file_status(errno);
  } else if (path && (lstat(path, &status) || !S_ISDIR(status.st_mode))) {
    st = VW_NOT_A_FOLDER;
  }
  free(path);
  free(group);
  return st;
}

/// Whether a name is that of a waiting file, or of one on its way to that.
static bool
is_waiting(const char* name) {
  return (!strncmp(name, ".volleyweave-", 13) &&
          isdigit((unsigned char)name[13])) ||
         (strspn(name, "0123456789abcdef") == DIGITS &&
          !strcmp(name + DIGITS, VW_PACK_WAITING));
}

void
vw_pack_folders_sweep(const char* path) {
  DIR* const folder = opendir(path);
  if (!folder) {
    return;
  }
  for (const struct dirent* entry = readdir(folder); entry;
       entry = readdir(folder)) {
    char* const left =
      is_waiting(entry->d_name) ? vw_path_join(path, entry->d_name) : NULL;
    if (left) {
      unlink(left);
    }
    free(left);
  }
  closedir(folder);
}

void
vw_pack_folders_drop(const char* making) {
  vw_pack_folders_sweep(making);
  rmdir(making);
}
