#include "store/file.h"

#include "store/digest.h"

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

// As much of a file as is held at once.
#define PORTION_BYTES 65536U

static VwStatus
add_digest(int fd, VwDigester* digester) {
  unsigned char* const portion = malloc(PORTION_BYTES);
  ssize_t              n = portion ? 1 : 0;
  while (n > 0) {
    n = read(fd, portion, PORTION_BYTES);
    if (n > 0) {
      vw_digester_add(digester, portion, (size_t)n);
    }
  }
  free(portion);
  return !portion ? VW_NO_MEMORY : n < 0 ? VW_UNREADABLE : VW_OK;
}

static VwStatus
digest_open(int fd, uint64_t* digest) {
  struct stat status;
  if (fstat(fd, &status)) {
    return VW_UNREADABLE;
  }
  if (!S_ISREG(status.st_mode)) {
    return VW_NOT_REGULAR;
  }
  VwDigester* const digester = vw_digester_new();
  const VwStatus    st = digester ? add_digest(fd, digester) : VW_NO_MEMORY;
  if (!st) {
    *digest = vw_digester_value(digester);
  }
  vw_digester_free(digester);
  return st;
}

VwStatus
vw_file_digest(const char* path, uint64_t* digest) {
  const int fd = open(path, O_RDONLY | O_NONBLOCK | O_CLOEXEC);
  if (fd < 0) {
    return errno == ENOENT ? VW_MISSING : VW_UNREADABLE;
  }
  const VwStatus st = digest_open(fd, digest);
  close(fd);
  return st;
}

int
vw_file_add(int fd, const void* data, size_t n_bytes) {
  const unsigned char* const bytes = data;
  size_t                     n_written = 0;
  while (n_written < n_bytes) {
    const ssize_t n = write(fd, bytes + n_written, n_bytes - n_written);
    if (n < 0 && errno != EINTR) {
      return errno;
    }
    n_written += n > 0 ? (size_t)n : 0U;
  }
  return 0;
}

int
vw_file_finish(int fd, int error) {
  const int synced = error ? error : fsync(fd) ? errno : 0;
  // Some file systems tell of a full disk only here.
  return close(fd) && !synced ? errno : synced;
}

int
vw_file_fill(int fd, const VwBytes* bytes) {
  return vw_file_finish(fd, vw_file_add(fd, bytes->data, bytes->n_bytes));
}
