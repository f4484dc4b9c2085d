#include "file.h"

#include <errno.h>
#include <fcntl.h>
#include <stdlib.h>
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
  if (fstat(fd, &status)) {
    return VW_UNREADABLE;
  }
  if (!S_ISREG(status.st_mode)) {
    return VW_NOT_REGULAR;
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

/// Write and sync. 0, or the error of the system.
static int
write_all(int fd, const VwBytes* bytes) {
  size_t n_written = 0;
  while (n_written < bytes->n_bytes) {
    const ssize_t n =
      write(fd, bytes->data + n_written, bytes->n_bytes - n_written);
    if (n < 0 && errno != EINTR) {
      return errno;
    }
    n_written += n > 0 ? (size_t)n : 0U;
  }
  return fsync(fd) ? errno : 0;
}

int
vw_file_fill(int fd, const VwBytes* bytes) {
  const int error = write_all(fd, bytes);
  // Some file systems tell of a full disk only here.
  return close(fd) && !error ? errno : error;
}
