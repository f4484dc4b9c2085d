#include "cli/page/tryout_codes.h"

#include <math.h>
#include <string.h>

// Of values that are made into text at once: whole threes of bytes whatever the
// encoding.
#define PORTION 3072U

static unsigned
bytes_of(VwEncoding encoding) {
  static const unsigned bytes[] = {[VW_ENCODING_U8] = 1U,
                                   [VW_ENCODING_S16] = 2U,
                                   [VW_ENCODING_S24] = 3U,
                                   [VW_ENCODING_FLOAT] = 4U};
  return bytes[encoding];
}

const char*
tryout_codes_word(VwEncoding encoding) {
  static const char* const words[] = {[VW_ENCODING_U8] = "u8",
                                      [VW_ENCODING_S16] = "s16",
                                      [VW_ENCODING_S24] = "s24",
                                      [VW_ENCODING_FLOAT] = "f32"};
  return words[encoding];
}

uint64_t
tryout_codes_length(const VwSound* sound, VwEncoding encoding) {
  const uint64_t n_bytes =
    (uint64_t)sound->n_frames * sound->n_channels * bytes_of(encoding);
  return (n_bytes + 2U) / 3U * 4U;
}

static uint32_t
bits_of(float value, VwEncoding encoding) {
  if (encoding == VW_ENCODING_FLOAT) {
    uint32_t bits = 0;
    memcpy(&bits, &value, sizeof(bits));
    return bits;
  }
  const double half = ldexp(1.0, 8 * (int)bytes_of(encoding) - 1);
  const double code =
    fmin(fmax(floor((double)value * half + 0.5), -half), half - 1.0);
  return encoding == VW_ENCODING_U8 ? (uint32_t)(code + half)
                                    : (uint32_t)(int32_t)code;
}

void
tryout_codes_add(JsonText* page, const VwSound* sound, VwEncoding encoding) {
  const size_t   n_values = sound->n_frames * sound->n_channels;
  const unsigned n_bytes = bytes_of(encoding);
  unsigned char  bytes[4U * PORTION];
  json_text_bytes(page, "\"", 1U);
  for (size_t at = 0; at < n_values; at += PORTION) {
    const size_t   n = n_values - at < PORTION ? n_values - at : PORTION;
    unsigned char* to = bytes;
    for (size_t i = 0; i < n; ++i) {
      const uint32_t bits = bits_of(sound->values[at + i], encoding);
      for (unsigned k = 0; k < n_bytes; ++k) {
        *to++ = (unsigned char)(bits >> (8U * k) & 0xFFU);
      }
    }
    json_text_base64(page, bytes, (size_t)(to - bytes));
  }
  json_text_bytes(page, "\"", 1U);
}
