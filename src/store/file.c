#include "store/stage.h"
#include "store/store.h"

#include <xxhash.h>

#include <errno.h>
#include <fcntl.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

/* Digests */

uint64_t
vw_digest(const void* data, size_t n_bytes) {
  return XXH3_64bits(data, n_bytes);
}

bool
vw_digest_read(const char** text, uint64_t* digest) {
  static const char digits[] = "0123456789abcdef";

  uint64_t value = 0;
  for (size_t i = 0; i < VW_DIGEST_DIGITS; ++i) {
    const char        c = (*text)[i];
    const char* const digit = c ? strchr(digits, c) : NULL;
    if (!digit) {
      return false;
    }
    value = 16U * value + (uint64_t)(digit - digits);
  }
  *text += VW_DIGEST_DIGITS;
  *digest = value;
  return true;
}

/* Read */

/// Open a file that is one, and tell its size.
static VwStatus
open_regular(const char* path, int* fd, size_t* n_bytes) {
  struct stat status;
  const int   opened = open(path, O_RDONLY | O_NONBLOCK | O_CLOEXEC);
  if (opened < 0) {
    return errno == ENOENT ? VW_MISSING : VW_UNREADABLE;
  }
  const bool told = !fstat(opened, &status);
  if (!told || !S_ISREG(status.st_mode)) {
    close(opened);
    return told ? VW_NOT_REGULAR : VW_UNREADABLE;
  }
  *fd = opened;
  *n_bytes = (size_t)status.st_size;
  return VW_OK;
}

static VwStatus
read_all(int fd, size_t n_bytes, VwBytes* bytes) {
  VwBytes out = {malloc(n_bytes + 1U), 0};
  if (!out.data) {
    return VW_NO_MEMORY;
  }
  while (out.n_bytes < n_bytes) {
    const ssize_t n = read(fd, out.data + out.n_bytes, n_bytes - out.n_bytes);
    if (n < 0 && errno == EINTR) {
      continue;
    }
    if (n <= 0) {
      vw_bytes_clear(&out);
      return VW_UNREADABLE;
    }
    out.n_bytes += (size_t)n;
  }
  out.data[n_bytes] = '\0';
  *bytes = out;
  return VW_OK;
}

VwStatus
vw_file_read(const char* path, VwBytes* bytes) {
  int      fd = -1;
  size_t   n_bytes = 0;
  VwStatus st = open_regular(path, &fd, &n_bytes);
  if (!st) {
    st = read_all(fd, n_bytes, bytes);
    close(fd);
  }
  return st;
}

// As much of a file as is held at once.
#define PORTION_BYTES 65536U

static VwStatus
digest_all(int fd, XXH3_state_t* state) {
  unsigned char* const portion = malloc(PORTION_BYTES);
  ssize_t              n = portion ? 1 : 0;
  while (n > 0) {
    do {
      n = read(fd, portion, PORTION_BYTES);
    } while (n < 0 && errno == EINTR);
    if (n > 0) {
      (void)XXH3_64bits_update(state, portion, (size_t)n);
    }
  }
  free(portion);
  return !portion ? VW_NO_MEMORY : n < 0 ? VW_UNREADABLE : VW_OK;
}

VwStatus
vw_file_digest(const char* path, uint64_t* digest) {
  int      fd = -1;
  size_t   n_bytes = 0;
  VwStatus st = open_regular(path, &fd, &n_bytes);
  if (st) {
    return st;
  }
  XXH3_state_t* const state = XXH3_createState();
  const bool          good = state && XXH3_64bits_reset(state) == XXH_OK;
  st = good ? digest_all(fd, state) : VW_NO_MEMORY;
  if (!st) {
    *digest = XXH3_64bits_digest(state);
  }
  (void)XXH3_freeState(state);
  close(fd);
  return st;
}

/* Write */

VwStatus
vw_file_status(int error) {
  switch (error) {
    case 0:
      return VW_OK;
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
vw_file_fill(int fd, const VwBytes* bytes) {
  const int error = vw_file_add(fd, bytes->data, bytes->n_bytes);
  const int synced = error ? error : fsync(fd) ? errno : 0;
  // Some file systems tell of a full disk only here.
  return close(fd) && !synced ? errno : synced;
}
