#include "base/utf8.h"

#include <stddef.h>

/// The bytes that one character may start with, and what must follow.
typedef struct {
  unsigned char first_low, first_high;
  unsigned char second_low, second_high; ///< Third and fourth: 80 to BF.
  size_t        n_bytes;
} Row;

// The syntax of RFC 3629, section 4.
static const Row rows[] = {
  {0x01, 0x7F, 0x00, 0x00, 1},
  {0xC2, 0xDF, 0x80, 0xBF, 2},
  {0xE0, 0xE0, 0xA0, 0xBF, 3},
  {0xE1, 0xEC, 0x80, 0xBF, 3},
  {0xED, 0xED, 0x80, 0x9F, 3},
  {0xEE, 0xEF, 0x80, 0xBF, 3},
  {0xF0, 0xF0, 0x90, 0xBF, 4},
  {0xF1, 0xF3, 0x80, 0xBF, 4},
  {0xF4, 0xF4, 0x80, 0x8F, 4},
};

static bool
matches(const Row* row, const unsigned char* at) {
  if (at[0] < row->first_low || at[0] > row->first_high) {
    return false;
  }
  if (row->n_bytes > 1U &&
      (at[1] < row->second_low || at[1] > row->second_high)) {
    return false;
  }
  // The text's closing zero fails here, so that nothing beyond it is read.
  for (size_t i = 2; i < row->n_bytes; ++i) {
    if (at[i] < 0x80 || at[i] > 0xBF) {
      return false;
    }
  }
  return true;
}

bool
vw_utf8_is_valid(const char* text) {
  const unsigned char* at = (const unsigned char*)text;
  while (*at) {
    size_t n_bytes = 0;
    for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]) && !n_bytes; ++i) {
      n_bytes = matches(&rows[i], at) ? rows[i].n_bytes : 0U;
    }
    if (!n_bytes) {
      return false;
    }
    at += n_bytes;
  }
  return true;
}
