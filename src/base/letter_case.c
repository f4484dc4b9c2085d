#include "base/letter_case.h"

#include <stdint.h>
#include <string.h>

/// Capital letters in a row, and how far off their small ones are.
typedef struct {
  uint32_t first;
  uint32_t last;
  uint32_t step; ///< 2: each capital is followed by its small letter.
  int32_t  to_small;
} Capitals;

// The simple case mappings of the Unicode Character Database, from memory:
// Latin, Greek, Cyrillic, Armenian and the wide forms of Latin letters.
static const Capitals capitals[] = {
  {0x41, 0x5A, 1, 32},    {0xC0, 0xD6, 1, 32},     {0xD8, 0xDE, 1, 32},
  {0x100, 0x12E, 2, 1},   {0x132, 0x136, 2, 1},    {0x139, 0x147, 2, 1},
  {0x14A, 0x176, 2, 1},   {0x178, 0x178, 1, -121}, {0x179, 0x17D, 2, 1},
  {0x1CD, 0x1DB, 2, 1},   {0x1DE, 0x1EE, 2, 1},    {0x1F8, 0x21E, 2, 1},
  {0x222, 0x232, 2, 1},   {0x386, 0x386, 1, 38},   {0x388, 0x38A, 1, 37},
  {0x38C, 0x38C, 1, 64},  {0x38E, 0x38F, 1, 63},   {0x391, 0x3A1, 1, 32},
  {0x3A3, 0x3AB, 1, 32},  {0x400, 0x40F, 1, 80},   {0x410, 0x42F, 1, 32},
  {0x460, 0x480, 2, 1},   {0x48A, 0x4BE, 2, 1},    {0x4C1, 0x4CD, 2, 1},
  {0x4D0, 0x52E, 2, 1},   {0x531, 0x556, 1, 48},   {0x1E00, 0x1E94, 2, 1},
  {0x1EA0, 0x1EFE, 2, 1}, {0xFF21, 0xFF3A, 1, 32},
};

/// What is left of a name.
typedef struct {
  const unsigned char* at;
  const unsigned char* end;
} Rest;

static Rest
rest_of(const char* text, size_t n_bytes) {
  const unsigned char* const at = (const unsigned char*)text;
  return (Rest){at, at + n_bytes};
}

/// The next character, 0 at the end.
static uint32_t
next(Rest* rest) {
  const uint32_t first = rest->at < rest->end ? *rest->at++ : 0U;
  const unsigned n_more = first >= 0xF0U   ? 3U
                          : first >= 0xE0U ? 2U
                          : first >= 0xC0U ? 1U
                                           : 0U;
  uint32_t       code = n_more ? first & (0x3FU >> n_more) : first;
  for (unsigned i = 0; i < n_more; ++i) {
    if (rest->at == rest->end || (*rest->at & 0xC0U) != 0x80U) {
      return 0x110000U + first; // cut short: no character at all
    }
    code = code << 6U | (*rest->at++ & 0x3FU);
  }
  return code;
}

static uint32_t
small(uint32_t code) {
  for (size_t i = 0; i < sizeof(capitals) / sizeof(capitals[0]); ++i) {
    const Capitals* const row = &capitals[i];
    if (code >= row->first && code <= row->last &&
        (code - row->first) % row->step == 0U) {
      return (uint32_t)((int32_t)code + row->to_small);
    }
  }
  return code;
}

static int
compare(Rest x, Rest y) {
  uint32_t one = 0;
  uint32_t other = 0;
  do {
    one = small(next(&x));
    other = small(next(&y));
  } while (one && one == other);
  return one < other ? -1 : one > other;
}

int
vw_compare_without_case(const char* a, const char* b) {
  return compare(rest_of(a, strlen(a)), rest_of(b, strlen(b)));
}

bool
vw_same_without_case(const char* a, size_t n_a, const char* b, size_t n_b) {
  return !compare(rest_of(a, n_a), rest_of(b, n_b));
}
