#include "support/measure.h"

#include <math.h>
#include <stdlib.h>

#define PI 3.141592653589793

// Stretch compared, and lag sought on either side.
#define WINDOW_S 0.025
#define REACH_S 0.002

// A mono wave in double precision.
typedef struct {
  double* values;
  size_t  n_frames;
  double  rate_hz;
} Wave;

static Wave
wave_from_sound(const VwSound* sound) {
  const Wave wave = {calloc(sound->n_frames + 1, sizeof(double)),
                     sound->n_frames,
                     sound->rate_hz};
  if (!wave.values) {
    abort();
  }
  for (size_t i = 0; i < sound->n_frames; ++i) {
    for (unsigned channel = 0; channel < sound->n_channels; ++channel) {
      wave.values[i] += (double)sound->values[i * sound->n_channels + channel];
    }
  }
  return wave;
}

// The level curve's root at a thousand values a second, without its mean.
static Wave
wave_of_level(const VwSound* sound) {
  double* const level = measure_level(sound);
  const size_t  n = sound->n_frames * 1000 / sound->rate_hz;
  const Wave    wave = {calloc(n + 1, sizeof(double)), n, 1000.0};
  if (!wave.values) {
    abort();
  }
  double mean = 0.0;
  for (size_t i = 0; i < n; ++i) {
    wave.values[i] = sqrt(level[i * sound->rate_hz / 1000]);
    mean += wave.values[i] / (double)n;
  }
  for (size_t i = 0; i < n; ++i) {
    wave.values[i] -= mean;
  }
  free(level);
  return wave;
}

// Correlation of the wave's first part with the part `lag` later.
static double
correlation(const Wave* wave, size_t lag, size_t n_frames) {
  double ab = 0.0;
  double aa = 1e-30;
  double bb = 1e-30;
  for (size_t i = 0; i < n_frames; ++i) {
    const double a = wave->values[i];
    const double b = wave->values[i + lag];
    ab += a * b;
    aa += a * a;
    bb += b * b;
  }
  return ab / sqrt(aa * bb);
}

// Where a parabola through three neighbours has its top, from the middle one.
static double
top_offset(double before, double at, double after) {
  const double bend = before - 2.0 * at + after;
  return bend < 0.0 ? 0.5 * (before - after) / bend : 0.0;
}

// The shortest lag whose correlation is nearly as high as any.
static double
coarse_period_s(const VwSound* played) {
  enum { SHORTEST = 40, LONGEST = 600 }; // Milliseconds: 25 to 1.7 per second.
  const Wave   wave = wave_of_level(played);
  const size_t n_frames = wave.n_frames - LONGEST - 1;
  double       found[LONGEST + 2];
  double       highest = -1.0;
  for (size_t lag = SHORTEST - 1; lag <= LONGEST + 1; ++lag) {
    found[lag] = correlation(&wave, lag, n_frames);
    highest = fmax(highest, found[lag]);
  }
  size_t best = SHORTEST;
  while (best < LONGEST &&
         (found[best] < 0.93 * highest || found[best] < found[best - 1] ||
          found[best] < found[best + 1])) {
    ++best;
  }
  free(wave.values);
  return 0.001 * ((double)best +
                  top_offset(found[best - 1], found[best], found[best + 1]));
}

// The best lag within `reach` frames of the one expected.
static double
refine_lag(const Wave* wave, double expected, size_t reach) {
  const size_t middle = (size_t)lround(expected);
  const size_t n_wanted = (size_t)(2.0 * wave->rate_hz);
  const size_t n_there = wave->n_frames - middle - reach - 1;
  const size_t n_frames = n_wanted < n_there ? n_wanted : n_there;
  size_t       best = middle;
  double       highest = -2.0;
  for (size_t lag = middle - reach; lag <= middle + reach; ++lag) {
    const double found = correlation(wave, lag, n_frames);
    if (found > highest) {
      highest = found;
      best = lag;
    }
  }
  return (double)best + top_offset(correlation(wave, best - 1, n_frames),
                                   highest,
                                   correlation(wave, best + 1, n_frames));
}

double
measure_period_s(const VwSound* played) {
  const Wave wave = wave_from_sound(played);
  double     period = coarse_period_s(played) * wave.rate_hz;
  size_t     reach = (size_t)(0.0015 * wave.rate_hz);
  for (double n_shots = 1.0;
       n_shots * period + 2.5 * wave.rate_hz < (double)wave.n_frames;
       n_shots *= 2.0) {
    period = refine_lag(&wave, n_shots * period, reach) / n_shots;
    reach = 3;
  }
  free(wave.values);
  return period / wave.rate_hz;
}

// The take at any time, band-limited to 0.45 of the lower rate: a sinc of 32
// zero crossings a side under a Hann window.
static double
sinc_at(const Wave* take, double at_s, double cutoff_hz) {
  const double at = at_s * take->rate_hz;
  const double scale = 2.0 * cutoff_hz / take->rate_hz;
  const double reach = 32.0 / scale;
  const double first = fmax(ceil(at - reach), 0.0);
  const double last = fmin(floor(at + reach), (double)take->n_frames - 1.0);
  double       sum = 0.0;
  for (double i = first; i <= last; i += 1.0) {
    const double x = PI * scale * (i - at);
    const double sinc = fabs(x) < 1e-9 ? 1.0 : sin(x) / x;
    const double hann = 0.5 + 0.5 * cos(PI * (i - at) / reach);
    sum += take->values[(size_t)i] * sinc * hann;
  }
  return sum * scale;
}

// The take on a grid of `fine` points to each frame of the sound.
static Wave
take_on_grid(const Wave* take, double start_s, const Wave* sound, size_t fine) {
  const double lower = fmin(sound->rate_hz, take->rate_hz);
  const double rate = sound->rate_hz * (double)fine;
  const size_t n = (size_t)((WINDOW_S + 2.0 * REACH_S) * rate) + 1;
  const Wave   grid = {calloc(n, sizeof(double)), n, rate};
  if (!grid.values) {
    abort();
  }
  for (size_t i = 0; i < n; ++i) {
    const double at_s = start_s - REACH_S + (double)i / rate;
    grid.values[i] = sinc_at(take, at_s, 0.45 * lower);
  }
  return grid;
}

static double
grid_correlation(const Wave* sound, const Wave* grid, size_t lag, size_t fine) {
  double ab = 0.0;
  double aa = 1e-30;
  double bb = 1e-30;
  for (size_t i = 0; lag + i * fine < grid->n_frames && i < sound->n_frames &&
                     (double)i < WINDOW_S * sound->rate_hz;
       ++i) {
    const double a = sound->values[i];
    const double b = grid->values[lag + i * fine];
    ab += a * b;
    aa += a * a;
    bb += b * b;
  }
  return ab / sqrt(aa * bb);
}

double
measure_lag_s(const VwSound* sound, const VwSound* take, double take_start_s) {
  const Wave   a = wave_from_sound(sound);
  const Wave   b = wave_from_sound(take);
  const size_t fine = (size_t)ceil(40000.0 / a.rate_hz);
  const Wave   grid = take_on_grid(&b, take_start_s, &a, fine);
  // The highest of all tops between the points of the grid: of a tone, the
  // next period's is hardly lower.
  double highest = -2.0;
  double lag = 0.0;
  double before = grid_correlation(&a, &grid, 0, fine);
  double at = grid_correlation(&a, &grid, 1, fine);
  for (size_t i = 2; (double)i < 2.0 * REACH_S * grid.rate_hz; ++i) {
    const double after = grid_correlation(&a, &grid, i, fine);
    const double offset = top_offset(before, at, after);
    const double top = at - 0.25 * (before - after) * offset;
    if (at >= before && at >= after && top > highest) {
      highest = top;
      lag = (double)(i - 1) + offset;
    }
    before = at;
    at = after;
  }
  free(a.values);
  free(b.values);
  free(grid.values);
  return lag / grid.rate_hz - REACH_S;
}
