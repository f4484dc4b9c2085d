#include "pack/pack_lock.h"

#include "pack/pack_folders.h"
#include "store/store.h"

#include <errno.h>
#include <fcntl.h>
#include <stdlib.h>
#include <sys/stat.h>
#include <unistd.h>

#define NAME ".volleyweave-lock"

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
vw_pack_lock_take(const char* making, VwPackLock* lock) {
  VwPackLock out = {vw_path_join(making, NAME), -1};
  VwStatus   st = out.path ? vw_pack_folders_make(making) : VW_NO_MEMORY;
  st = st ? st : lock_file(out.path, &out.fd);
  if (st) {
    rmdir(making); // fails where it is another run's
    free(out.path);
    return st;
  }
  *lock = out;
  return VW_OK;
}

void
vw_pack_lock_drop(VwPackLock* lock) {
  if (lock && lock->path) {
    // Removed while it is held: who opens it after that opens another.
    unlink(lock->path);
    close(lock->fd);
    free(lock->path);
    *lock = (VwPackLock){NULL, -1};
  }
}
