#include "container/dither.h"

#include "container/codes.h"

#include <math.h>

// Shorter ones are zero crossings of slow waves, in which the noise of the
// dither must not come and go.
#define SILENCE_FRAMES 32U

// The difference of two uniform values; its mean is exactly zero.
double
vw_dither_next(VwRandom* random) {
  const uint64_t bits = vw_random_bits(random);
  const double   one = (double)(bits >> 32U);
  const double   other = (double)(bits & 0xFFFFFFFFU);
  return (one - other) * 0x1.0p-32;
}

static bool
is_zero(const VwSound* sound, size_t frame) {
  const float* const values = sound->values + frame * sound->n_channels;
  for (unsigned c = 0; c < sound->n_channels; ++c) {
    if (values[c] != 0.0F) {
      return false;
    }
  }
  return true;
}

size_t
vw_dither_silence(const VwSound* sound, size_t frame) {
  if (!is_zero(sound, frame)) {
    return 0U;
  }
  size_t end = frame + 1U;
  while (end < sound->n_frames && is_zero(sound, end)) {
    ++end;
  }
  const bool outside = frame == 0 || end == sound->n_frames;
  return outside || end - frame >= SILENCE_FRAMES ? end - frame : 0U;
}

double
vw_encoding_noise_dbfs(VwEncoding encoding) {
  static const double half_ranges[] = {
    [VW_ENCODING_U8] = 0x1.0p7,
    [VW_ENCODING_S16] = 0x1.0p15,
    [VW_ENCODING_S24] = 0x1.0p23,
  };

  if ((size_t)encoding >= sizeof(half_ranges) / sizeof(half_ranges[0])) {
    return -200.0;
  }
  // Rounding with TPDF dither has a variance of 1/4 LSB^2 (S. P. Lipshitz, R.
  // A. Wannamaker, J. Vanderkooy, J. Audio Eng. Soc. 40(5), 1992).
  return 20.0 * log10(0.5 / half_ranges[encoding]);
}
