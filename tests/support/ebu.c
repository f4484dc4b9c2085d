#include "support/ebu.h"

#include <math.h>
#include <stdlib.h>

#define PI 3.141592653589793

enum { RATE_HZ = 48000 };

static VwSound
new_sound(size_t n_frames, unsigned n_channels) {
  VwSound sound = {NULL, 0, 0, 0};
  if (vw_sound_init(&sound, n_frames, n_channels, RATE_HZ)) {
    abort();
  }
  return sound;
}

static double
amplitude_of(double dbfs) {
  return pow(10.0, dbfs / 20.0);
}

static void
put(VwSound* sound, size_t frame, double value) {
  for (unsigned channel = 0; channel < sound->n_channels; ++channel) {
    sound->values[frame * sound->n_channels + channel] = (float)value;
  }
}

VwSound
ebu_tone(const EbuSegment* segments, size_t n_segments, size_t n_times) {
  double seconds = 0.0;
  for (size_t i = 0; i < n_segments * n_times; ++i) {
    seconds += segments[i % n_segments].seconds;
  }
  VwSound sound = new_sound((size_t)lround(seconds * RATE_HZ), 2);
  double  end_s = 0.0;
  size_t  frame = 0;
  for (size_t i = 0; i < n_segments * n_times; ++i) {
    const double amplitude = amplitude_of(segments[i % n_segments].dbfs);
    end_s += segments[i % n_segments].seconds;
    const size_t end = (size_t)lround(end_s * RATE_HZ);
    for (; frame < end && frame < sound.n_frames; ++frame) {
      // A period of 48 frames.
      const double turns = (double)(frame % 48U) / 48.0;
      put(&sound, frame, amplitude * sin(2.0 * PI * turns));
    }
  }
  return sound;
}

VwSound
ebu_five_channels(void) {
  static const double dbfs[] = {-28.0, -28.0, -24.0, -30.0, -30.0};
  VwSound             sound = new_sound((size_t)20 * RATE_HZ, 5);
  for (size_t i = 0; i < sound.n_frames * 5U; ++i) {
    const double turns = (double)(i / 5U % 48U) / 48.0;
    sound.values[i] =
      (float)(amplitude_of(dbfs[i % 5U]) * sin(2.0 * PI * turns));
  }
  return sound;
}

// Fade the first and the last 10 ms.
static void
taper(VwSound* sound) {
  const size_t n = RATE_HZ / 100;
  for (size_t i = 0; i < n; ++i) {
    const float gain = (float)i / (float)n;
    for (unsigned channel = 0; channel < sound->n_channels; ++channel) {
      const size_t last = sound->n_frames - 1U - i;
      sound->values[i * sound->n_channels + channel] *= gain;
      sound->values[last * sound->n_channels + channel] *= gain;
    }
  }
}

VwSound
ebu_sine(double parts, double amplitude, double phase_degrees) {
  VwSound sound = new_sound(RATE_HZ / 2U, 2);
  for (size_t i = 0; i < sound.n_frames; ++i) {
    const double turns = (double)i / parts + phase_degrees / 360.0;
    put(&sound, i, amplitude * sin(2.0 * PI * turns));
  }
  taper(&sound);
  return sound;
}

// At four times the rate: periods of 24, of which one has 16 and twice the
// level, continuous in phase.
static double
four_times_at(long n) {
  const long start = 24L * 1000L;
  if (n < start) {
    return 0.5 * sin(2.0 * PI * (double)(n % 24L) / 24.0);
  }
  if (n < start + 16L) {
    return sin(2.0 * PI * (double)(n - start) / 16.0);
  }
  return 0.5 * sin(2.0 * PI * (double)((n - start - 16L) % 24L) / 24.0);
}

VwSound
ebu_peak(unsigned decimation_offset) {
  // Low-pass at half the final rate: a sinc of 512 lobes under a Hann window.
  enum { HALF = 1024 };
  static double weights[2 * HALF + 1];
  for (long k = -HALF; k <= HALF; ++k) {
    const double x = PI * (double)k / 4.0;
    const double window = 0.5 + 0.5 * cos(PI * (double)k / (HALF + 1));
    weights[k + HALF] = (k ? sin(x) / x : 1.0) * window / 4.0;
  }
  VwSound sound = new_sound(12000, 2);
  for (size_t i = 0; i < sound.n_frames; ++i) {
    const long n = 4L * (long)i + (long)decimation_offset;
    double     value = 0.0;
    for (long k = -HALF; k <= HALF; ++k) {
      // A wave that has always been there; the fades are put on after.
      value +=
        weights[k + HALF] * four_times_at(n + k < 0 ? n + k + 2400L : n + k);
    }
    put(&sound, i, value);
  }
  taper(&sound);
  return sound;
}
