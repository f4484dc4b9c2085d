#include "cli/page/tryout_codes.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

// Of values that are made into text at once: whole threes of bytes whatever the
// encoding.
#define PORTION 3072U

unsigned
tryout_codes_bytes(VwEncoding encoding) {
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
  const uint64_t n_bytes = (uint64_t)sound->n_frames * sound->n_channels *
                           tryout_codes_bytes(encoding);
  return (n_bytes + 2U) / 3U * 4U;
}

static uint32_t
bits_of(float value, VwEncoding encoding) {
  if (encoding == VW_ENCODING_FLOAT) {
    uint32_t bits = 0;
    memcpy(&bits, &value, sizeof(bits));
    return bits;
  }
  const double half = ldexp(1.0, 8 * (int)tryout_codes_bytes(encoding) - 1);
  const double code =
    fmin(fmax(floor((double)value * half + 0.5), -half), half - 1.0);
  return encoding == VW_ENCODING_U8 ? (uint32_t)(code + half)
                                    : (uint32_t)(int32_t)code;
}

/// Put bytes into base64 (RFC 4648); of several portions all but the last must
/// be whole threes. Returns where the text ends.
static char*
put_base64(char* at, const unsigned char* bytes, size_t n_bytes) {
  static const char letters[] =
    "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
  for (size_t i = 0; i < n_bytes; i += 3U) {
    const size_t   left = n_bytes - i;
    const unsigned second = left > 1U ? bytes[i + 1U] : 0U;
    const unsigned third = left > 2U ? bytes[i + 2U] : 0U;
    const unsigned bits = (unsigned)bytes[i] << 16U | second << 8U | third;
    *at++ = letters[bits >> 18U];
    *at++ = letters[bits >> 12U & 63U];
    *at++ = left > 1U ? letters[bits >> 6U & 63U] : '=';
    *at++ = left > 2U ? letters[bits & 63U] : '=';
  }
  return at;
}

char*
tryout_codes_text(const VwSound* sound, VwEncoding encoding) {
  const size_t   n_values = sound->n_frames * sound->n_channels;
  const unsigned n_bytes = tryout_codes_bytes(encoding);
  unsigned char  bytes[4U * PORTION];
  char* const text = malloc((size_t)tryout_codes_length(sound, encoding) + 1U);
  char*       end = text;
  for (size_t at = 0; text && at < n_values; at += PORTION) {
    const size_t   n = n_values - at < PORTION ? n_values - at : PORTION;
    unsigned char* to = bytes;
    for (size_t i = 0; i < n; ++i) {
      const uint32_t bits = bits_of(sound->values[at + i], encoding);
      for (unsigned k = 0; k < n_bytes; ++k) {
        *to++ = (unsigned char)(bits >> (8U * k) & 0xFFU);
      }
    }
    end = put_base64(end, bytes, (size_t)(to - bytes));
  }
  if (text) {
    *end = '\0';
  }
  return text;
}
