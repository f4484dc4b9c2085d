#include "file.h"

#include "path.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

VwStatus
vw_file_status(int error) {
  switch (error) {
    case ENOSPC:
    case EDQUOT:
      return VW_DISK_FULL;
    case EROFS:
    case EACCES:
    case EPERM:
      return VW_FOLDER_READONLY;
    case ENOENT:
      return VW_NO_FOLDER;
    case ENOTDIR:
      return VW_NOT_A_FOLDER;
    case ENOMEM:
      return VW_NO_MEMORY;
    default:
      return VW_WRITE_FAILED;
  }
}

static VwStatus
read_open(int fd, VwBytes* bytes) {
  struct stat status;
  if (fstat(fd, &status) || !S_ISREG(status.st_mode)) {
    return VW_UNREADABLE;
  }
  const size_t n_bytes = (size_t)status.st_size;
  VwBytes      out = {malloc(n_bytes + 1U), 0};
  if (!out.data) {
    return VW_NO_MEMORY;
  }
  while (out.n_bytes < n_bytes) {
    const ssize_t n = read(fd, out.data + out.n_bytes, n_bytes - out.n_bytes);
    if (n <= 0) {
      vw_bytes_clear(&out);
      return VW_UNREADABLE;
    }
    out.n_bytes += (size_t)n;
  }
  *bytes = out;
  return VW_OK;
}

VwStatus
vw_file_read(const char* path, VwBytes* bytes) {
  const int fd = open(path, O_RDONLY | O_NONBLOCK | O_CLOEXEC);
  if (fd < 0) {
    return errno == ENOENT ? VW_MISSING : VW_UNREADABLE;
  }
  const VwStatus st = read_open(fd, bytes);
  close(fd);
  return st;
}

static VwStatus
write_all(int fd, const VwBytes* bytes) {
  size_t n_written = 0;
  while (n_written < bytes->n_bytes) {
    const ssize_t n =
      write(fd, bytes->data + n_written, bytes->n_bytes - n_written);
    if (n < 0 && errno != EINTR) {
      return vw_file_status(errno);
    }
    n_written += n > 0 ? (size_t)n : 0U;
  }
  return fsync(fd) ? vw_file_status(errno) : VW_OK;
}

/// Give a file the permissions that a new file of this process gets.
static void
open_up(int fd) {
  const mode_t mask = umask(0);
  umask(mask);
  // Not every file system of a card knows permissions; the file is no worse.
  if (fchmod(fd, 0666 & ~mask)) {
    errno = 0;
  }
}

VwStatus
vw_file_stage(const char* path, const VwBytes* bytes, char** staged) {
  char* const name = vw_path_sibling(path, ".", vw_path_name(path), ".XXXXXX");
  if (!name) {
    return VW_NO_MEMORY;
  }
  const int fd = mkstemp(name);
  if (fd < 0) {
    const VwStatus st = vw_file_status(errno);
    free(name);
    return st;
  }
  open_up(fd);
  VwStatus st = write_all(fd, bytes);
  if (close(fd) && !st) {
    st = vw_file_status(errno);
  }
  if (st) {
    unlink(name);
    free(name);
    return st;
  }
  *staged = name;
  return VW_OK;
}
