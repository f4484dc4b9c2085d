// Mains hum, taken away.

#include "gauge/lamp/hum.h"

#include "base/units.h"

#include <math.h>
#include <stdlib.h>

// The mains keep within 1 % (EN 50160, from memory), nearly always within a
// fifth of that. Light of the mains flickers at twice the frequency.
#define OFF_HZ 0.3
#define STEP_HZ 0.02
#define MULTIPLES 8

// A stretch tells frequencies a quarter of a hertz apart; the mains stand still
// for as long (chosen here).
#define STRETCH_S 4.0
#define STRETCH_LEAST_S 1.0

// Means of so many seconds are enough to find the frequency by.
#define MEAN_S 0.001
#define MULTIPLES_SOUGHT 4

/// Values with the rate at which they come.
typedef struct {
  double* values;
  size_t  n;
  double  rate_hz;
} Stretch;

/// A wave: its halves, as they are multiplied with cosine and sine.
typedef struct {
  double hz;
  double cosine;
  double sine;
} Wave;

/// The wave of a frequency in a stretch, weighed by a Hann window.
static Wave
wave_of(const Stretch* in, double hz) {
  const double turn = 2.0 * VW_PI * hz / in->rate_hz;
  const double c = cos(turn);
  const double s = sin(turn);
  double       x = 1.0;
  double       y = 0.0;
  Wave         wave = {.hz = hz};
  for (size_t i = 0; i < in->n; ++i) {
    const double weight =
      1.0 - cos(2.0 * VW_PI * ((double)i + 0.5) / (double)in->n);
    wave.cosine += weight * x * in->values[i];
    wave.sine += weight * y * in->values[i];
    const double next = x * c - y * s;
    y = x * s + y * c;
    x = next;
  }
  wave.cosine *= 2.0 / (double)in->n;
  wave.sine *= 2.0 / (double)in->n;
  return wave;
}

static void
subtract(const Wave* wave, Stretch* from) {
  const double turn = 2.0 * VW_PI * wave->hz / from->rate_hz;
  for (size_t i = 0; i < from->n; ++i) {
    from->values[i] -=
      wave->cosine * cos(turn * (double)i) + wave->sine * sin(turn * (double)i);
  }
}

static double
power_about(const Stretch* coarse, double mains_hz) {
  double power = 0.0;
  for (unsigned i = 1; i <= MULTIPLES_SOUGHT; ++i) {
    const Wave wave = wave_of(coarse, mains_hz * i);
    power += wave.cosine * wave.cosine + wave.sine * wave.sine;
  }
  return power;
}

/// The frequency with the most power near 50 and 60 Hz.
static double
mains_of(const Stretch* coarse) {
  static const double usual[] = {50.0, 60.0};
  double              best_hz = usual[0];
  double              best = 0.0;
  for (size_t i = 0; i < sizeof(usual) / sizeof(usual[0]); ++i) {
    for (int k = -(int)(OFF_HZ / STEP_HZ); k <= (int)(OFF_HZ / STEP_HZ); ++k) {
      const double hz = usual[i] + STEP_HZ * k;
      const double power = power_about(coarse, hz);
      best_hz = power > best ? hz : best_hz;
      best = fmax(power, best);
    }
  }
  return best_hz;
}

/// The means of a stretch. Returns how many there are.
static size_t
means_of(const Stretch* in, double* means) {
  const size_t n_mean = (size_t)fmax(MEAN_S * in->rate_hz, 1.0);
  const size_t n = in->n / n_mean;
  for (size_t i = 0; i < n; ++i) {
    means[i] = 0.0;
    for (size_t k = 0; k < n_mean; ++k) {
      means[i] += in->values[i * n_mean + k] / (double)n_mean;
    }
  }
  return n;
}

/// Take the hum of a stretch away; `means` has room for its means.
static double
clear(Stretch* stretch, double* means) {
  const double  n_mean = floor(fmax(MEAN_S * stretch->rate_hz, 1.0));
  const Stretch coarse = {
    means, means_of(stretch, means), stretch->rate_hz / n_mean};
  const double mains_hz = mains_of(&coarse);
  for (unsigned i = 1; i <= MULTIPLES; ++i) {
    if (mains_hz * i < 0.5 * stretch->rate_hz) {
      const Wave wave = wave_of(stretch, mains_hz * i);
      subtract(&wave, stretch);
    }
  }
  return mains_hz;
}

VwStatus
vw_hum_remove(double* values, size_t n, double rate_hz, double* mains_hz) {
  const size_t each = vw_frames_of_s(STRETCH_S, rate_hz);
  double       first_hz = NAN;
  double*      means = malloc(2U * each * sizeof(*means));
  if (!means) {
    return VW_NO_MEMORY;
  }
  for (size_t at = 0; n - at >= vw_frames_of_s(STRETCH_LEAST_S, rate_hz);) {
    Stretch stretch = {
      values + at, n - at < 2U * each ? n - at : each, rate_hz};
    const double hz = clear(&stretch, means);
    first_hz = at ? first_hz : hz;
    at += stretch.n;
  }
  free(means);
  *mains_hz = first_hz;
  return VW_OK;
}
