#include "riff.h"

#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

// Chunks looked at before giving up.
#define CHUNKS_MOST 1000

static uint32_t
le32(const unsigned char* bytes) {
  return (uint32_t)bytes[0] | (uint32_t)bytes[1] << 8U |
         (uint32_t)bytes[2] << 16U | (uint32_t)bytes[3] << 24U;
}

static uint32_t
le16(const unsigned char* bytes) {
  return (uint32_t)bytes[0] | (uint32_t)bytes[1] << 8U;
}

static bool
read_at(int fd, off_t at, unsigned char* bytes, size_t n_bytes) {
  return pread(fd, bytes, n_bytes, at) == (ssize_t)n_bytes;
}

static bool
read_format(int fd, off_t at, VwRiff* riff) {
  unsigned char format[16];
  if (!read_at(fd, at, format, sizeof(format))) {
    return false;
  }
  riff->n_channels = le16(format + 2);
  riff->rate_hz = le32(format + 4);
  riff->n_block = le16(format + 12);
  return true;
}

bool
vw_riff_read(int fd, VwRiff* riff) {
  unsigned char head[12];
  struct stat   status;
  VwRiff        out = {0};
  bool          has_format = false;
  if (fstat(fd, &status) || !read_at(fd, 0, head, 12) ||
      memcmp(head, "RIFF", 4) || memcmp(head + 8, "WAVE", 4)) {
    return false;
  }
  off_t at = 12;
  for (int i = 0; i < CHUNKS_MOST && read_at(fd, at, head, 8); ++i) {
    const uint32_t n_bytes = le32(head + 4);
    at += 8;
    if (!memcmp(head, "data", 4)) {
      out.has_data = true;
      out.n_bytes_promised = n_bytes;
      out.n_bytes_there = (uint64_t)(status.st_size - at);
      break;
    }
    if (!memcmp(head, "fmt ", 4)) {
      has_format = read_format(fd, at, &out);
    }
    at += (off_t)n_bytes + (off_t)(n_bytes & 1U);
  }
  *riff = out;
  return has_format;
}
