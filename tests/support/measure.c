#include "support/measure.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define TWO_PI 6.283185307179586

static void*
must_calloc(size_t count, size_t size) {
  void* const memory = calloc(count ? count : 1, size);
  if (!memory) {
    abort();
  }
  return memory;
}

static int
compare_doubles(const void* a, const void* b) {
  const double left = *(const double*)a;
  const double right = *(const double*)b;
  return (left > right) - (left < right);
}

double
measure_peak(const VwSound* sound) {
  double peak = 0.0;
  for (size_t i = 0; i < sound->n_frames * sound->n_channels; ++i) {
    peak = fmax(peak, fabs((double)sound->values[i]));
  }
  return peak;
}

double
measure_rms(const VwSound* sound) {
  const size_t n_values = sound->n_frames * sound->n_channels;
  double       sum = 0.0;
  for (size_t i = 0; i < n_values; ++i) {
    sum += (double)sound->values[i] * (double)sound->values[i];
  }
  return sqrt(sum / (double)n_values);
}

static double
step_at(const VwSound* sound, size_t value) {
  return fabs((double)sound->values[value + sound->n_channels] -
              (double)sound->values[value]);
}

double
measure_step_max(const VwSound* sound, size_t first, size_t last) {
  double max = 0.0;
  for (size_t i = first * sound->n_channels; i < last * sound->n_channels;
       ++i) {
    max = fmax(max, step_at(sound, i));
  }
  return max;
}

double
measure_step_percentile(const VwSound* sound, double fraction) {
  const size_t  n_steps = (sound->n_frames - 1) * sound->n_channels;
  double* const steps = must_calloc(n_steps, sizeof(double));
  for (size_t i = 0; i < n_steps; ++i) {
    steps[i] = step_at(sound, i);
  }
  qsort(steps, n_steps, sizeof(double), compare_doubles);
  const double percentile = steps[(size_t)(fraction * (double)(n_steps - 1))];
  free(steps);
  return percentile;
}

double
measure_difference(const VwSound* one, const VwSound* other) {
  const size_t n_one = one->n_frames * one->n_channels;
  const size_t n_other = other->n_frames * other->n_channels;
  double       max = 0.0;
  for (size_t i = 0; i < n_one || i < n_other; ++i) {
    const double a = i < n_one ? (double)one->values[i] : 0.0;
    const double b = i < n_other ? (double)other->values[i] : 0.0;
    max = fmax(max, fabs(a - b));
  }
  return max;
}

// One second-order section of a Butterworth high-pass, by the bilinear
// transform with the corner kept in place (common practice).
static void
high_pass(double* values, size_t n_values, double turns, double q) {
  const double k = tan(TWO_PI / 2.0 * turns);
  const double a0 = 1.0 + k / q + k * k;
  const double a1 = 2.0 * (k * k - 1.0) / a0;
  const double a2 = (1.0 - k / q + k * k) / a0;
  double       x1 = 0.0;
  double       x2 = 0.0;
  double       y1 = 0.0;
  double       y2 = 0.0;
  for (size_t i = 0; i < n_values; ++i) {
    const double x = values[i];
    const double y = (x - 2.0 * x1 + x2) / a0 - a1 * y1 - a2 * y2;
    x2 = x1;
    x1 = x;
    y2 = y1;
    y1 = y;
    values[i] = y;
  }
}

static double*
high_passed_power(const VwSound* sound) {
  double* const power = must_calloc(sound->n_frames, sizeof(double));
  double* const wave = must_calloc(sound->n_frames, sizeof(double));
  const double  turns = 100.0 / sound->rate_hz;
  for (unsigned channel = 0; channel < sound->n_channels; ++channel) {
    for (size_t i = 0; i < sound->n_frames; ++i) {
      wave[i] = (double)sound->values[i * sound->n_channels + channel];
    }
    // The two pole pairs of the fourth order: 1 / (2 cos(pi/8 or 3 pi/8)).
    high_pass(wave, sound->n_frames, turns, 0.541196100146197);
    high_pass(wave, sound->n_frames, turns, 1.306562964876377);
    for (size_t i = 0; i < sound->n_frames; ++i) {
      power[i] += wave[i] * wave[i];
    }
  }
  free(wave);
  return power;
}

// Sums from the start, plain and against a turning pointer, from which any
// stretch under a Hann window is four subtractions away.
typedef struct {
  double* plain;
  double* even;
  double* odd;
  double  angle;
} Sums;

static Sums
sums_new(const double* power, size_t n_frames, double angle) {
  const Sums sums = {must_calloc(n_frames + 1, sizeof(double)),
                     must_calloc(n_frames + 1, sizeof(double)),
                     must_calloc(n_frames + 1, sizeof(double)),
                     angle};
  for (size_t i = 0; i < n_frames; ++i) {
    sums.plain[i + 1] = sums.plain[i] + power[i];
    sums.even[i + 1] = sums.even[i] + power[i] * cos(angle * (double)i);
    sums.odd[i + 1] = sums.odd[i] + power[i] * sin(angle * (double)i);
  }
  return sums;
}

static double
sums_hann(const Sums* sums, size_t centre, size_t first, size_t end) {
  const double plain = sums->plain[end] - sums->plain[first];
  const double even = sums->even[end] - sums->even[first];
  const double odd = sums->odd[end] - sums->odd[first];
  const double turn = sums->angle * (double)centre;
  return 0.5 * (plain + even * cos(turn) + odd * sin(turn));
}

double*
measure_level(const VwSound* sound) {
  const size_t  n_frames = sound->n_frames;
  const size_t  half = (size_t)lround(0.005 * sound->rate_hz);
  double* const level = high_passed_power(sound);
  Sums          sums = sums_new(level, n_frames, TWO_PI / (2.0 * (double)half));
  for (size_t i = 0; i < n_frames; ++i) {
    const size_t first = i > half ? i - half : 0;
    const size_t end = i + half + 1 < n_frames ? i + half + 1 : n_frames;
    level[i] = fmax(sums_hann(&sums, i, first, end), 0.0) / (double)half;
  }
  free(sums.plain);
  free(sums.even);
  free(sums.odd);
  return level;
}

static double
mean_of_lowest_fifth(const double* level, size_t n_frames) {
  double* const sorted = must_calloc(n_frames, sizeof(double));
  memcpy(sorted, level, n_frames * sizeof(double));
  qsort(sorted, n_frames, sizeof(double), compare_doubles);
  const size_t n_lowest = n_frames >= 5 ? n_frames / 5 : 1;
  double       sum = 0.0;
  for (size_t i = 0; i < n_lowest; ++i) {
    sum += sorted[i];
  }
  free(sorted);
  return sum / (double)n_lowest;
}

static double
depth_db(const double* level, size_t n_frames) {
  double crest = 0.0;
  for (size_t i = 0; i < n_frames; ++i) {
    crest = fmax(crest, level[i]);
  }
  const double quiet = mean_of_lowest_fifth(level, n_frames);
  return 10.0 * log10(crest / fmax(quiet, crest * 1e-20));
}

double
measure_valley_db(const VwSound* cycle, size_t n_shots) {
  // Half a second lets the high-pass forget that the sound began.
  const size_t n_before = 1 + cycle->rate_hz / (2 * cycle->n_frames);
  VwSound      played = measure_played(cycle, n_before + 2);
  double*      level = measure_level(&played);
  double       shallow = INFINITY;
  for (size_t i = 0; i < n_shots; ++i) {
    const double step = (double)cycle->n_frames / (double)n_shots;
    const size_t from = (size_t)lround((double)i * step);
    const size_t to = (size_t)lround((double)(i + 1) * step);
    shallow = fmin(
      shallow, depth_db(level + n_before * cycle->n_frames + from, to - from));
  }
  free(level);
  vw_sound_clear(&played);
  return shallow;
}

// Slope of the least-squares line through y over its index.
static double
slope(const double* y, size_t first, size_t end) {
  const double n = (double)(end - first);
  const double mean_x = 0.5 * ((double)first + (double)end - 1.0);
  double       mean_y = 0.0;
  for (size_t i = first; i < end; ++i) {
    mean_y += y[i] / n;
  }
  double xx = 0.0;
  double xy = 0.0;
  for (size_t i = first; i < end; ++i) {
    const double x = (double)i - mean_x;
    xx += x * x;
    xy += x * (y[i] - mean_y);
  }
  return xy / xx;
}

double
measure_decay_s(const VwSound* sound, double from_db, double to_db) {
  const size_t  n_frames = sound->n_frames;
  double* const left_db = must_calloc(n_frames + 1, sizeof(double));
  for (size_t i = n_frames; i-- > 0;) {
    left_db[i] = left_db[i + 1];
    for (unsigned channel = 0; channel < sound->n_channels; ++channel) {
      const double x = (double)sound->values[i * sound->n_channels + channel];
      left_db[i] += x * x;
    }
  }
  const double all = left_db[0];
  size_t       first = 0;
  size_t       end = 0;
  for (size_t i = 0; i < n_frames; ++i) {
    left_db[i] = 10.0 * log10(fmax(left_db[i] / all, 1e-30));
    first += left_db[i] > from_db;
    end += left_db[i] > to_db;
  }
  const double per_frame = slope(left_db, first, end);
  free(left_db);
  return -60.0 / per_frame / sound->rate_hz;
}

size_t
measure_shots(const VwSound* sound) {
  double* const level = measure_level(sound);
  double        max = 0.0;
  for (size_t i = 0; i < sound->n_frames; ++i) {
    max = fmax(max, level[i]);
  }
  size_t n_shots = 0;
  bool   armed = true;
  for (size_t i = 0; i < sound->n_frames; ++i) {
    if (armed && level[i] > max * 0.501) { // 3 dB
      ++n_shots;
      armed = false;
    }
    armed = armed || level[i] < max * 0.158; // 8 dB
  }
  free(level);
  return n_shots;
}

VwSound
measure_played(const VwSound* sound, size_t n_times) {
  VwSound played = {NULL, 0, 0, 0};
  if (vw_sound_init(&played,
                    n_times * sound->n_frames,
                    sound->n_channels,
                    sound->rate_hz)) {
    abort();
  }
  const size_t n_values = sound->n_frames * sound->n_channels;
  for (size_t i = 0; i < n_times; ++i) {
    memcpy(
      played.values + i * n_values, sound->values, n_values * sizeof(float));
  }
  return played;
}
