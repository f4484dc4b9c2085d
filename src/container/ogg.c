#include "container/container.h"
#include "container/formats.h"

#include <assert.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

// A page (RFC 3533, section 6): 27 bytes, up to 255 lengths, what they add to.
#define PAGE_BYTES 27U
#define FLAGS_AT 5U
#define FLAG_LAST 4U
#define POSITION_AT 6U
#define NUMBER_AT 14U
#define SUM_AT 22U
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

// The generator of the pages' sums (RFC 3533, section 6, "CRC_checksum").
#define GENERATOR 0x04C11DB7U

/// Bytes of a page of whose start so many are at hand, 0 where it is none.
static uint64_t
page_bytes(const unsigned char* page, size_t n_there) {
  if (n_there < PAGE_BYTES || memcmp(page, "OggS", 4) ||
      n_there < PAGE_BYTES + page[N_LENGTHS_AT]) {
    return 0;
  }
  uint64_t n_bytes = PAGE_BYTES + page[N_LENGTHS_AT];
  for (unsigned i = 0; i < page[N_LENGTHS_AT]; ++i) {
    n_bytes += page[PAGE_BYTES + i];
  }
  return n_bytes;
}

/* Is it whole? */

/// Read the start of the page at a place in the file; its bytes, or 0.
static uint64_t
read_page(int fd, uint64_t at, unsigned char* page) {
  const ssize_t n = pread(fd, page, PAGE_BYTES + 255U, (off_t)at);
  return n < 0 ? 0U : page_bytes(page, (size_t)n);
}

static unsigned
vorbis_rate_hz(int fd) {
  unsigned char head[RATE_AT + 4U] = {0};
  const bool    is_vorbis =
    pread(fd, head, sizeof(head), 0) == (ssize_t)sizeof(head) &&
    !memcmp(head + PAGE_BYTES + 1U, "\1vorbis", 7);
  return is_vorbis ? (unsigned)vw_number_at(head + RATE_AT, 4U, false) : 0U;
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

bool
vw_ogg_look(const VwBytes* head, VwPackedHead* told) {
  told->block_frames = vw_ogg_block_frames(head);
  return head->n_bytes >= 4U && !memcmp(head->data, "OggS", 4);
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
  uint64_t       n_bytes = read_page(fd, 0, page);
  for (uint64_t at = 0; n_bytes && at + n_bytes <= size;) {
    const uint64_t position = vw_number_at(page + POSITION_AT, 8U, false);
    // All ones: no packet ends on the page.
    n_frames = position == UINT64_MAX ? n_frames : position;
    ended = page[FLAGS_AT] & FLAG_LAST;
    at += n_bytes;
    n_bytes = read_page(fd, at, page);
  }
  if (ended) {
    return VW_OK;
  }
  *fault = (VwReadFault){0, n_frames, vorbis_rate_hz(fd)};
  return VW_CUT_SHORT;
}

/* Its number */

static uint32_t
sum_of(const unsigned char* bytes, size_t n_bytes) {
  uint32_t sum = 0;
  for (size_t i = 0; i < n_bytes; ++i) {
    sum ^= (uint32_t)bytes[i] << 24U;
    for (unsigned bit = 0; bit < 8U; ++bit) {
      sum = sum << 1U ^ (sum >> 31U ? GENERATOR : 0U);
    }
  }
  return sum;
}

void
vw_ogg_number(VwBytes* bytes, uint32_t number) {
  size_t at = 0;
  size_t n = (size_t)page_bytes(bytes->data, bytes->n_bytes);
  while (n && n <= bytes->n_bytes - at) {
    unsigned char* const page = bytes->data + at;
    (void)vw_number_put(page + NUMBER_AT, number, 4U);
    (void)vw_number_put(page + SUM_AT, 0U, 4U);
    (void)vw_number_put(page + SUM_AT, sum_of(page, n), 4U);
    at += n;
    n = (size_t)page_bytes(page + n, bytes->n_bytes - at);
  }
}
