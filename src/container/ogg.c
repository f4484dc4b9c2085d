#include "container/ogg.h"

#include "container/container.h"

#include <assert.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

// A page (RFC 3533, section 6): 27 bytes, up to 255 lengths, what they add to.
#define PAGE_BYTES 27U
#define FLAGS_AT 5U
#define FLAG_LAST 4U
#define POSITION_AT 6U
#define N_LENGTHS_AT 26U

// Where the first page of a Vorbis stream states the sample rate: behind one
// length, seven bytes of name, four of version and one of channels (Vorbis I
// specification, section 4.2.2).
#define RATE_AT (PAGE_BYTES + 1U + 7U + 4U + 1U)

// Behind it and three bit rates stand both sizes of blocks, as exponents of two
// (the same section), the longer one in the upper half of the byte.
#define BLOCKS_AT (RATE_AT + 4U + 12U)
#define BLOCK_LEAST 6U
#define BLOCK_MOST 13U

/// Number in little-endian order.
static uint64_t
number_at(const unsigned char* bytes, unsigned n_bytes) {
  uint64_t number = 0;
  for (unsigned i = n_bytes; i-- > 0;) {
    number = number << 8U | bytes[i];
  }
  return number;
}

/// Bytes of the page at a place in the file, 0 where there is none.
static uint64_t
page_bytes(int fd, uint64_t at, unsigned char* page) {
  const ssize_t n = pread(fd, page, PAGE_BYTES + 255U, (off_t)at);
  if (n < (ssize_t)PAGE_BYTES || memcmp(page, "OggS", 4)) {
    return 0;
  }
  const unsigned n_lengths = page[N_LENGTHS_AT];
  if (n < (ssize_t)(PAGE_BYTES + n_lengths)) {
    return 0;
  }
  uint64_t n_bytes = PAGE_BYTES + n_lengths;
  for (unsigned i = 0; i < n_lengths; ++i) {
    n_bytes += page[PAGE_BYTES + i];
  }
  return n_bytes;
}

static unsigned
vorbis_rate_hz(int fd) {
  unsigned char head[RATE_AT + 4U] = {0};
  const bool    is_vorbis =
    pread(fd, head, sizeof(head), 0) == (ssize_t)sizeof(head) &&
    !memcmp(head + PAGE_BYTES + 1U, "\1vorbis", 7);
  return is_vorbis ? (unsigned)number_at(head + RATE_AT, 4) : 0U;
}

unsigned
vw_ogg_block_frames(const VwBytes* bytes) {
  assert(bytes);
  if (bytes->n_bytes <= BLOCKS_AT || memcmp(bytes->data, "OggS", 4) != 0 ||
      memcmp(bytes->data + PAGE_BYTES + 1U, "\1vorbis", 7) != 0) {
    return 0;
  }
  const unsigned exponent = bytes->data[BLOCKS_AT] >> 4U;
  return exponent >= BLOCK_LEAST && exponent <= BLOCK_MOST ? 1U << exponent
                                                           : 0U;
}

VwStatus
vw_ogg_check(int fd, VwReadFault* fault) {
  struct stat   status;
  unsigned char page[PAGE_BYTES + 255U];
  if (fstat(fd, &status)) {
    return VW_UNREADABLE;
  }
  const uint64_t size = (uint64_t)status.st_size;
  uint64_t       n_frames = 0;
  bool           ended = false;
  uint64_t       n_bytes = page_bytes(fd, 0, page);
  for (uint64_t at = 0; n_bytes && at + n_bytes <= size;) {
    const uint64_t position = number_at(page + POSITION_AT, 8);
    // All ones: no packet ends on the page.
    n_frames = position == UINT64_MAX ? n_frames : position;
    ended = page[FLAGS_AT] & FLAG_LAST;
    at += n_bytes;
    n_bytes = page_bytes(fd, at, page);
  }
  if (ended) {
    return VW_OK;
  }
  *fault = (VwReadFault){0, n_frames, vorbis_rate_hz(fd)};
  return VW_CUT_SHORT;
}
