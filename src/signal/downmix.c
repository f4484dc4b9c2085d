#include "signal/signal.h"

#include <math.h>

// Below this correlation a sum loses more than it gains: two equally strong
// channels with r = -0.3 sum to 1.5 dB less than unrelated ones, for
// 10 log10(1 + r) = -1.5 (closed form).
#define CANCELLING (-0.3)

// Two channels are the same where their difference lies below -40 dB.
#define SAME 1e-4

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

/// Whether channel `a` is channel `b`, or the same `delay` frames later.
static bool
is_same(const VwSound* sound, unsigned a, unsigned b, size_t delay) {
  double       energy = 0.0;
  double       residual = 0.0;
  const size_t n_channels = sound->n_channels;
  for (size_t i = delay; i < sound->n_frames; ++i) {
    const double late = (double)sound->values[i * n_channels + a];
    const double early = (double)sound->values[(i - delay) * n_channels + b];
    energy += (late * late + early * early) / 2.0;
    residual += (late - early) * (late - early);
  }
  return residual < SAME * energy;
}

/// Whether two channels are one, the second perhaps one frame off: their sum
/// would comb the treble.
static bool
is_dual_mono(const VwSound* sound) {
  return sound->n_channels == 2U &&
         (is_same(sound, 0, 1, 0) || is_same(sound, 0, 1, 1) ||
          is_same(sound, 1, 0, 1));
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

static VwDownmix
choose(const VwSound* sound) {
  if (is_dual_mono(sound)) {
    return VW_DOWNMIX_DUAL_MONO;
  }
  return would_cancel(sound) ? VW_DOWNMIX_STRONGER : VW_DOWNMIX_SUM;
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
  const bool     same = sound->n_channels == n_channels;
  const VwStatus st =
    same ? vw_sound_copy(sound, out)
         : vw_sound_init(&mix, sound->n_frames, n_channels, sound->rate_hz);
  if (st) {
    return st;
  }
  *how = VW_DOWNMIX_NONE;
  if (same) {
    return VW_OK;
  }
  unsigned strongest = 0;
  if (sound->n_channels > 1U) {
    *how = choose(sound);
    strongest = *how == VW_DOWNMIX_STRONGER
                  ? vw_sound_strongest(sound, 0, sound->n_frames)
                  : 0U;
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
