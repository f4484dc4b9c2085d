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

VwStatus
vw_file_open(const char* path, VwOpenFile* file) {
  struct stat status;
  const int   fd = open(path, O_RDONLY | O_NONBLOCK | O_CLOEXEC);
  if (fd < 0) {
    return errno == ENOENT || errno == ENOTDIR ? VW_MISSING
           : errno == ENOMEM                   ? VW_NO_MEMORY
                                               : VW_UNREADABLE;
  }
  const bool told = !fstat(fd, &status);
  if (!told || !S_ISREG(status.st_mode)) {
    close(fd);
    return told ? VW_NOT_REGULAR : VW_UNREADABLE;
  }
  *file = (VwOpenFile){.fd = fd, .n_bytes = (uint64_t)status.st_size};
  return VW_OK;
}

size_t
vw_file_get(VwOpenFile* file, void* to, size_t n_bytes, uint64_t at) {
  unsigned char* const bytes = to;
  size_t               n_read = 0;
  while (n_read < n_bytes) {
    const ssize_t n =
      pread(file->fd, bytes + n_read, n_bytes - n_read, (off_t)(at + n_read));
    if (n < 0 && errno == EINTR) {
      continue;
    }
    if (n <= 0) {
      file->failed = file->failed || n < 0;
      break;
    }
    n_read += (size_t)n;
  }
  return n_read;
}

void
vw_file_close(VwOpenFile* file) {
  close(file->fd);
}

static VwStatus
read_all(VwOpenFile* file, VwBytes* bytes) {
  const size_t n_bytes = (size_t)file->n_bytes;
  VwBytes      out = {malloc(n_bytes + 1U), n_bytes};
  if (!out.data) {
    return VW_NO_MEMORY;
  }
  if (vw_file_get(file, out.data, n_bytes, 0U) < n_bytes) {
    vw_bytes_clear(&out);
    return VW_UNREADABLE;
  }
  out.data[n_bytes] = '\0';
  *bytes = out;
  return VW_OK;
}

VwStatus
vw_file_read(const char* path, VwBytes* bytes) {
  VwOpenFile file = {0};
  VwStatus   st = vw_file_open(path, &file);
  if (!st) {
    st = read_all(&file, bytes);
    vw_file_close(&file);
  }
  return st;
}

// As much of a file as is held at once.
#define PORTION_BYTES 65536U

static VwStatus
digest_all(VwOpenFile* file, XXH3_state_t* state) {
  unsigned char* const portion = malloc(PORTION_BYTES);
  size_t               n = portion ? PORTION_BYTES : 0U;
  for (uint64_t at = 0; n == PORTION_BYTES; at += n) {
    n = vw_file_get(file, portion, PORTION_BYTES, at);
    (void)XXH3_64bits_update(state, portion, n);
  }
  free(portion);
  return !portion ? VW_NO_MEMORY : file->failed ? VW_UNREADABLE : VW_OK;
}

VwStatus
vw_file_digest(const char* path, uint64_t* digest) {
  VwOpenFile file = {0};
  VwStatus   st = vw_file_open(path, &file);
  if (st) {
    return st;
  }
  XXH3_state_t* const state = XXH3_createState();
  const bool          good = state && XXH3_64bits_reset(state) == XXH_OK;
  st = good ? digest_all(&file, state) : VW_NO_MEMORY;
  if (!st) {
    *digest = XXH3_64bits_digest(state);
  }
  (void)XXH3_freeState(state);
  vw_file_close(&file);
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
