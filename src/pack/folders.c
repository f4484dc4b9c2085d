// For realpath().
#define _XOPEN_SOURCE 700

#include "pack/internal.h"
#include "store/store.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

// How the names of the other folders end, beside the pack's or in it.
#define BESIDE ".making"
#define INSIDE ".volleyweave.making"
#define BEFORE ".before"

#define LOCK_NAME ".volleyweave-lock"

// How the names of waiting files end, after the digits of a digest.
#define WAITING ".waiting"
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
vw_pack_folders_find(const char* folder, VwPackStore* store) {
  // A link to a folder elsewhere is followed, or nothing could be renamed.
  char* const real = realpath(folder, NULL);
  char* const pack = real ? real : strdup(folder);
  if (!pack) {
    return VW_NO_MEMORY;
  }
  store->folder = pack;
  store->making = is_own_file_system(pack)
                    ? vw_path_join(pack, INSIDE)
                    : vw_path_sibling(pack, vw_path_name(pack), BESIDE);
  store->before = vw_path_sibling(pack, vw_path_name(pack), BEFORE);
  return store->making && store->before ? VW_OK : VW_NO_MEMORY;
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

/* Files that wait */

char*
vw_pack_staged_path(const VwPackStore* store, const char* name) {
  char staged[40];
  snprintf(staged,
           sizeof(staged),
           "%016" PRIx64 WAITING,
           vw_digest(name, strlen(name)));
  return vw_path_join(store->making, staged);
}

/// Whether a name is that of a waiting file.
static bool
is_waiting(const char* name) {
  return strspn(name, "0123456789abcdef") == DIGITS &&
         !strcmp(name + DIGITS, WAITING);
}

void
vw_pack_folders_sweep(const char* path) {
  vw_folder_sweep(path);
  DIR* const folder = opendir(path);
  if (!folder) {
    return;
  }
  for (const struct dirent* entry = readdir(folder); entry;
       entry = readdir(folder)) {
    if (is_waiting(entry->d_name)) {
      unlinkat(dirfd(folder), entry->d_name, 0);
    }
  }
  closedir(folder);
}

VwStatus
vw_pack_digest_file(const char* path, uint64_t* digest) {
  struct stat status;
  if (lstat(path, &status)) {
    return errno == ENOENT ? VW_MISSING : VW_UNREADABLE;
  }
  if (!S_ISREG(status.st_mode)) {
    return VW_NOT_REGULAR;
  }
  return vw_file_digest(path, digest);
}

/* The lock */

/// Whether an open file is still the one of that name.
static bool
is_named(int fd, const char* path) {
  struct stat open_one;
  struct stat named;
  return !fstat(fd, &open_one) && !stat(path, &named) &&
         open_one.st_dev == named.st_dev && open_one.st_ino == named.st_ino;
}

static VwStatus
lock_file(const char* path, int* fd) {
  struct flock whole = {.l_type = F_WRLCK, .l_whence = SEEK_SET};
  *fd = open(path, O_RDWR | O_CREAT | O_NOFOLLOW | O_CLOEXEC, 0666);
  if (*fd < 0) {
    return vw_file_status(errno);
  }
  const bool held =
    fcntl(*fd, F_SETLK, &whole) && (errno == EACCES || errno == EAGAIN);
  // Another run may just have ended, and removed it.
  if (held || !is_named(*fd, path)) {
    close(*fd);
    return VW_BUSY;
  }
  return VW_OK;
}

VwStatus
vw_pack_lock_take(VwPackStore* store) {
  char* const path = vw_path_join(store->making, LOCK_NAME);
  VwStatus    st = path ? vw_pack_folders_make(store->making) : VW_NO_MEMORY;
  st = st ? st : lock_file(path, &store->lock_fd);
  if (st) {
    rmdir(store->making); // fails where it is another run's
    free(path);
    return st;
  }
  store->lock = path;
  return VW_OK;
}

void
vw_pack_lock_drop(VwPackStore* store) {
  if (store->lock) {
    vw_pack_folders_sweep(store->making);
    // Removed while it is held: who opens it after that opens another.
    unlink(store->lock);
    close(store->lock_fd);
    free(store->lock);
    store->lock = NULL;
    rmdir(store->making);
  }
}
