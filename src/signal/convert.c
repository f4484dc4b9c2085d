#include "signal/signal.h"

#include <soxr.h>

#include <math.h>
#include <string.h>

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

static VwStatus
choose(const VwSound* sound, VwDownmix* how) {
  double late_ms = 0.0;
  if (is_dual_mono(sound)) {
    *how = VW_DOWNMIX_DUAL_MONO;
    return VW_OK;
  }
  const VwStatus st = vw_side_late(sound, &late_ms);
  *how = fabs(late_ms) > 0.0   ? VW_DOWNMIX_LATE
         : would_cancel(sound) ? VW_DOWNMIX_STRONGER
                               : VW_DOWNMIX_SUM;
  return st;
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
  VwSound    mix = {0};
  const bool same = sound->n_channels == n_channels;
  VwStatus   st =
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
    st = choose(sound, how);
    strongest = *how == VW_DOWNMIX_STRONGER || *how == VW_DOWNMIX_LATE
                  ? vw_sound_strongest(sound, 0, sound->n_frames)
                  : 0U;
  }
  if (st) {
    vw_sound_clear(&mix);
    return st;
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

#define PAD_S 0.020

#define BLOCK_FRAMES 16384U

static unsigned
greatest_divisor(unsigned a, unsigned b) {
  while (b) {
    const unsigned rest = a % b;
    a = b;
    b = rest;
  }
  return a;
}

/// Frames of padding that are whole at both rates: so many at `in_hz`.
static size_t
pad_frames(unsigned in_hz, unsigned out_hz) {
  const size_t unit = in_hz / greatest_divisor(in_hz, out_hz);
  const size_t wanted = (size_t)(PAD_S * in_hz) + 1U;
  return (wanted + unit - 1U) / unit * unit;
}

/// Convert block by block: the library's queues grow by what they are given at
/// once.
static soxr_error_t
feed(soxr_t soxr, const VwSound* padded, VwSound* converted) {
  const unsigned n_channels = padded->n_channels;
  soxr_error_t   error = NULL;
  size_t         n_read = 0;
  size_t         n_written = 0;
  bool           more = true;
  while (!error && more) {
    const size_t left = padded->n_frames - n_read;
    const float* block = left ? padded->values + n_read * n_channels : NULL;
    size_t       n_in = 0;
    size_t       n_out = 0;
    error = soxr_process(soxr,
                         block,
                         left < BLOCK_FRAMES ? left : BLOCK_FRAMES,
                         &n_in,
                         converted->values + n_written * n_channels,
                         converted->n_frames - n_written,
                         &n_out);
    n_read += n_in;
    n_written += n_out;
    more = block ? n_in > 0U : n_out > 0U;
  }
  return error;
}

static VwStatus
run(const VwSound* padded, unsigned long recipe, VwSound* converted) {
  const soxr_quality_spec_t quality = soxr_quality_spec(recipe, 0);
  const soxr_io_spec_t      io = soxr_io_spec(SOXR_FLOAT32_I, SOXR_FLOAT32_I);
  const soxr_runtime_spec_t runtime = soxr_runtime_spec(1);
  soxr_error_t              error = NULL;
  const soxr_t              soxr = soxr_create(padded->rate_hz,
                                  converted->rate_hz,
                                  padded->n_channels,
                                  &error,
                                  &io,
                                  &quality,
                                  &runtime);
  error = error ? error : feed(soxr, padded, converted);
  soxr_delete(soxr);
  return error ? VW_NO_MEMORY : VW_OK;
}

static VwStatus
convert(const VwSound* sound,
        unsigned       rate_hz,
        unsigned long  recipe,
        VwSound*       out) {
  const double ratio = (double)rate_hz / (double)sound->rate_hz;
  const size_t n_out = (size_t)floor((double)sound->n_frames * ratio + 0.5);
  const size_t n_pad = pad_frames(sound->rate_hz, rate_hz);
  const size_t n_pad_out = (size_t)floor((double)n_pad * ratio + 0.5);
  VwSound      padded = {0};
  VwSound      converted = {0};
  VwStatus     st = vw_sound_init(
    &padded, sound->n_frames + 2U * n_pad, sound->n_channels, sound->rate_hz);
  st =
    st ? st
       : vw_sound_init(
           &converted, n_out + 2U * n_pad_out + 1U, sound->n_channels, rate_hz);
  if (!st) {
    memcpy(padded.values + n_pad * sound->n_channels,
           sound->values,
           sound->n_frames * sound->n_channels * sizeof(float));
    st = run(&padded, recipe, &converted);
  }
  st = st ? st : vw_sound_part(&converted, n_pad_out, n_out, out);
  vw_sound_clear(&padded);
  vw_sound_clear(&converted);
  return st;
}

VwStatus
vw_convert(const VwSound* sound, unsigned rate_hz, VwSound* out) {
  return convert(sound, rate_hz, SOXR_HQ, out);
}

VwStatus
vw_convert_whole_band(const VwSound* sound, unsigned rate_hz, VwSound* out) {
  return convert(sound, rate_hz, SOXR_HQ | SOXR_STEEP_FILTER, out);
}
