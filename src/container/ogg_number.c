#include "container/ogg_number.h"

#include <string.h>

// A page (RFC 3533, section 6): 27 bytes, up to 255 lengths, what they add to.
#define PAGE_BYTES 27U
#define NUMBER_AT 14U
#define SUM_AT 22U
#define N_LENGTHS_AT 26U

// The generator of the pages' sums (RFC 3533, section 6, "CRC_checksum").
#define GENERATOR 0x04C11DB7U

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

static void
put(unsigned char* at, uint32_t number) {
  for (unsigned i = 0; i < 4U; ++i) {
    at[i] = (unsigned char)(number >> (8U * i));
  }
}

/// Bytes of a page, 0 where no whole one is left.
static size_t
page_bytes(const unsigned char* page, size_t n_left) {
  if (n_left < PAGE_BYTES || memcmp(page, "OggS", 4) ||
      n_left < PAGE_BYTES + page[N_LENGTHS_AT]) {
    return 0;
  }
  size_t n_bytes = PAGE_BYTES + page[N_LENGTHS_AT];
  for (unsigned i = 0; i < page[N_LENGTHS_AT]; ++i) {
    n_bytes += page[PAGE_BYTES + i];
  }
  return n_bytes <= n_left ? n_bytes : 0U;
}

void
vw_ogg_number(VwBytes* bytes, uint32_t number) {
  unsigned char* page = bytes->data;
  size_t         n_left = bytes->n_bytes;
  size_t         n = page_bytes(page, n_left);
  while (n) {
    put(page + NUMBER_AT, number);
    put(page + SUM_AT, 0);
    put(page + SUM_AT, sum_of(page, n));
    page += n;
    n_left -= n;
    n = page_bytes(page, n_left);
  }
}
