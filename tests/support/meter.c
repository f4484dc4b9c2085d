#include "support/meter.h"

#include "support/measure.h"

#include <ebur128.h>
#include <samplerate.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define PI 3.141592653589793

enum { TIMES = 16, LOBES = 24, TAPS = 2 * LOBES, PADDING = 32 };

// Below this rate the K-weighting that every meter uses bends.
enum { METERED_LEAST_HZ = 22000, METERED_HZ = 48000 };

/* True peak */

typedef struct {
  double weights[TIMES][TAPS];
  double most; // Greatest sum of absolute weights.
} Sinc;

static Sinc
sinc_make(void) {
  Sinc sinc = {.most = 0.0};
  for (int phase = 0; phase < TIMES; ++phase) {
    double sum = 0.0;
    for (int tap = 0; tap < TAPS; ++tap) {
      const double x = (double)phase / TIMES + LOBES - 1 - tap;
      const double window = 0.5 + 0.5 * cos(PI * x / LOBES);
      const double wave = fabs(x) < 1e-9 ? 1.0 : sin(PI * x) / (PI * x);
      sinc.weights[phase][tap] = wave * window;
      sum += fabs(wave * window);
    }
    sinc.most = fmax(sinc.most, sum);
  }
  return sinc;
}

static double
value_at(const VwSound* sound, unsigned channel, long frame, MeterEnds ends) {
  const long n = (long)sound->n_frames;
  if (ends == METER_ITSELF) {
    frame = (frame % n + n) % n;
  } else if (frame < 0 || frame >= n) {
    return 0.0;
  }
  return sound->values[frame * (long)sound->n_channels + (long)channel];
}

// Highest value at the 16 places from a frame on; 0 where it cannot exceed
// `than`.
static double
highest_after(const Sinc* sinc, const double about[TAPS], double than) {
  double most = 0.0;
  for (int tap = 0; tap < TAPS; ++tap) {
    most = fmax(most, fabs(about[tap]));
  }
  double highest = 0.0;
  for (int phase = 0; phase < TIMES && most * sinc->most > than; ++phase) {
    double value = 0.0;
    for (int tap = 0; tap < TAPS; ++tap) {
      value += sinc->weights[phase][tap] * about[tap];
    }
    highest = fmax(highest, fabs(value));
  }
  return highest;
}

double
meter_true_peak_dbtp(const VwSound* sound, MeterEnds ends) {
  const Sinc sinc = sinc_make();
  const long n = (long)sound->n_frames;
  double     highest = 0.0;
  for (unsigned channel = 0; channel < sound->n_channels; ++channel) {
    for (long frame = -PADDING; frame < n + PADDING; ++frame) {
      double about[TAPS];
      for (int tap = 0; tap < TAPS; ++tap) {
        about[tap] = value_at(sound, channel, frame + tap - LOBES + 1, ends);
      }
      highest = fmax(highest, highest_after(&sinc, about, highest));
    }
  }
  return 20.0 * log10(highest);
}

/* Loudness */

static VwSound
new_sound(size_t n_frames, unsigned n_channels, unsigned rate_hz) {
  VwSound sound = {NULL, 0, 0, 0};
  if (vw_sound_init(&sound, n_frames, n_channels, rate_hz)) {
    abort();
  }
  return sound;
}

// The sound as the meter is fed it, half a second of silence about it.
static VwSound
in_silence(const VwSound* sound) {
  const size_t n_before = sound->rate_hz / 2U;
  VwSound      padded = new_sound(
    sound->n_frames + 2U * n_before, sound->n_channels, sound->rate_hz);
  memcpy(padded.values + n_before * sound->n_channels,
         sound->values,
         sound->n_frames * sound->n_channels * sizeof(float));
  return padded;
}

static VwSound
at_metered_rate(const VwSound* sound) {
  const double ratio = (double)METERED_HZ / sound->rate_hz;
  const size_t n_most = (size_t)((double)sound->n_frames * ratio) + 1U;
  VwSound      converted = new_sound(n_most, sound->n_channels, METERED_HZ);
  SRC_DATA     data = {.data_in = sound->values,
                       .data_out = converted.values,
                       .input_frames = (long)sound->n_frames,
                       .output_frames = (long)n_most,
                       .src_ratio = ratio};
  if (src_simple(&data, SRC_SINC_BEST_QUALITY, (int)sound->n_channels)) {
    abort();
  }
  return converted;
}

// Greatest momentary loudness from `from_s` on.
static double
greatest_from(const VwSound* sound, double from_s) {
  ebur128_state* meter =
    ebur128_init(sound->n_channels, sound->rate_hz, EBUR128_MODE_M);
  if (!meter) {
    abort();
  }
  const size_t n_hop = sound->rate_hz / 100U;
  double       greatest = -HUGE_VAL;
  for (size_t at = 0; at + n_hop <= sound->n_frames; at += n_hop) {
    double lufs = 0.0;
    if (ebur128_add_frames_float(
          meter, sound->values + at * sound->n_channels, n_hop) ||
        ebur128_loudness_momentary(meter, &lufs)) {
      abort();
    }
    if ((double)(at + n_hop) >= from_s * sound->rate_hz) {
      greatest = fmax(greatest, lufs);
    }
  }
  ebur128_destroy(&meter);
  return greatest;
}

static double
greatest_metered(const VwSound* sound, double from_s) {
  if (sound->rate_hz >= METERED_LEAST_HZ) {
    return greatest_from(sound, from_s);
  }
  VwSound      converted = at_metered_rate(sound);
  const double greatest = greatest_from(&converted, from_s);
  vw_sound_clear(&converted);
  return greatest;
}

double
meter_effect_lufs(const VwSound* sound) {
  VwSound      padded = in_silence(sound);
  const double lufs = greatest_metered(&padded, 0.0);
  vw_sound_clear(&padded);
  return lufs;
}

double
meter_loop_lufs(const VwSound* loop) {
  const double loop_s = (double)loop->n_frames / loop->rate_hz;
  VwSound      played = measure_played(loop, (size_t)ceil(1.5 / loop_s) + 1U);
  // The last frames would be converted as if silence followed.
  const double lufs = greatest_metered(&played, 1.0);
  vw_sound_clear(&played);
  return lufs;
}
