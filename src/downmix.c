#include "downmix.h"

#include "sound.h"

#include <math.h>
#include <string.h>

// Below this correlation a sum loses more than it gains: two equally strong
// channels with r = -0.3 sum to 1.5 dB less than unrelated ones, for
// 10 log10(1 + r) = -1.5 (closed form).
#define CANCELLING (-0.3)

// A channel 12 dB weaker, in power, takes at most 2.5 dB off the other.
#define WEAK 0.063

static double
product_of(const VwSound* sound, unsigned a, unsigned b) {
  double       sum = 0.0;
  const float* frame = sound->values;
  for (size_t i = 0; i < sound->n_frames; ++i, frame += sound->n_channels) {
    sum += (double)frame[a] * (double)frame[b];
  }
  return sum;
}

static bool
would_cancel(const VwSound* sound) {
  for (unsigned a = 0; a < sound->n_channels; ++a) {
    for (unsigned b = a + 1U; b < sound->n_channels; ++b) {
      const double one = product_of(sound, a, a);
      const double other = product_of(sound, b, b);
      const bool   alike = fmin(one, other) > fmax(one, other) * WEAK;
      if (alike && product_of(sound, a, b) < CANCELLING * sqrt(one * other)) {
        return true;
      }
    }
  }
  return false;
}

/// The one channel's value of a frame.
static float
mixed(const float* frame,
      unsigned     n_channels,
      VwDownmix    how,
      unsigned     strongest) {
  if (how != VW_DOWNMIX_SUM) {
    return frame[strongest];
  }
  double sum = 0.0;
  for (unsigned c = 0; c < n_channels; ++c) {
    sum += (double)frame[c];
  }
  return (float)(sum / (double)n_channels);
}

VwStatus
vw_downmix(const VwSound* sound,
           unsigned       n_channels,
           VwDownmix*     how,
           VwSound*       out) {
  VwSound        mix = {0};
  const VwStatus st =
    vw_sound_init(&mix, sound->n_frames, n_channels, sound->rate_hz);
  if (st) {
    return st;
  }
  *how = VW_DOWNMIX_NONE;
  if (sound->n_channels == n_channels) {
    memcpy(
      mix.values, sound->values, sound->n_frames * n_channels * sizeof(float));
    *out = mix;
    return VW_OK;
  }
  unsigned strongest = 0;
  if (sound->n_channels > 1U) {
    *how = would_cancel(sound) ? VW_DOWNMIX_STRONGER : VW_DOWNMIX_SUM;
    strongest = vw_sound_strongest(sound, 0, sound->n_frames);
  }
  for (size_t i = 0; i < sound->n_frames; ++i) {
    const float value = mixed(sound->values + i * sound->n_channels,
                              sound->n_channels,
                              *how,
                              strongest);
    for (unsigned c = 0; c < n_channels; ++c) {
      mix.values[i * n_channels + c] = value;
    }
  }
  *out = mix;
  return VW_OK;
}
