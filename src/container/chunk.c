#include "container/chunk.h"

#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

// "RIFF", size, "WAVE".
#define FIRST_CHUNK_AT 12U

// A file of zeros has millions, one after the other.
#define CHUNKS_MOST 1000U

static uint64_t
number_of(const unsigned char* bytes, unsigned n_bytes, bool big_endian) {
  uint64_t number = 0;
  for (unsigned i = 0; i < n_bytes; ++i) {
    number = number << 8U | bytes[big_endian ? i : n_bytes - 1U - i];
  }
  return number;
}

VwChunk
vw_chunk_start(int fd, bool big_endian) {
  return (VwChunk){.fd = fd, .big_endian = big_endian, .at = FIRST_CHUNK_AT};
}

bool
vw_chunk_next(VwChunk* chunk) {
  unsigned char  head[8];
  const uint64_t at = chunk->at + chunk->n_bytes + chunk->n_bytes % 2U;
  if (chunk->n_seen++ >= CHUNKS_MOST ||
      pread(chunk->fd, head, sizeof(head), (off_t)at) !=
        (ssize_t)sizeof(head)) {
    return false;
  }
  memcpy(chunk->name, head, sizeof(chunk->name));
  chunk->at = at + sizeof(head);
  chunk->n_bytes = number_of(head + 4, 4, chunk->big_endian);
  return true;
}

bool
vw_chunk_is(const VwChunk* chunk, const char* name) {
  return !memcmp(chunk->name, name, sizeof(chunk->name));
}

uint64_t
vw_chunk_number(const VwChunk* chunk, unsigned offset, unsigned n_bytes) {
  unsigned char bytes[8];
  if (n_bytes > sizeof(bytes) || offset + n_bytes > chunk->n_bytes ||
      pread(chunk->fd, bytes, n_bytes, (off_t)(chunk->at + offset)) !=
        (ssize_t)n_bytes) {
    return 0;
  }
  return number_of(bytes, n_bytes, chunk->big_endian);
}

uint64_t
vw_chunk_bytes_there(const VwChunk* chunk) {
  struct stat status;
  return fstat(chunk->fd, &status) || (uint64_t)status.st_size < chunk->at
           ? 0U
           : (uint64_t)status.st_size - chunk->at;
}
