#include "base/units.h"
#include "lamp/heard.h"
#include "signal/signal.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define STEP_S 0.002

// Bands are evenly spread from where small speakers begin to play to where
// most of a shot's sound has ended (chosen here).
#define LOWEST_HZ 150.0
#define HIGHEST_HZ 11000.0

// Farther below the loudest a band is as good as silent.
#define FLOOR_DB 30.0

/// The band of a frequency, or #VW_BANDS.
static size_t
band_of(double hz, unsigned rate_hz) {
  const double highest = fmin(HIGHEST_HZ, 0.49 * (double)rate_hz);
  if (hz < LOWEST_HZ || hz > highest) {
    return VW_BANDS;
  }
  const double place = log(hz / LOWEST_HZ) / log(highest / LOWEST_HZ);
  const size_t band = (size_t)(place * (double)VW_BANDS);
  return band < VW_BANDS ? band : VW_BANDS - 1U;
}

/// Add up the powers about each step, band by band.
static VwStatus
take_bands(const VwSound* played, size_t n_more, VwBands* bands) {
  size_t          n_powers = 0;
  VwPowers* const powers = vw_powers_new(2U * n_more, &n_powers);
  double* const   sums = powers ? calloc(n_powers, sizeof(double)) : NULL;
  const double    bin_hz = 0.5 * played->rate_hz / (double)(n_powers - 1U);
  for (size_t k = 0; sums && k < bands->n_steps; ++k) {
    const double at = (double)k * bands->step_s * played->rate_hz;
    memset(sums, 0, n_powers * sizeof(double));
    vw_powers_add(powers, played, n_more + (size_t)(at + 0.5), sums);
    for (size_t i = 1; i < n_powers; ++i) {
      const size_t band = band_of((double)i * bin_hz, played->rate_hz);
      if (band < VW_BANDS) {
        bands->values[k * VW_BANDS + band] += sums[i];
      }
    }
  }
  const VwStatus st = sums ? VW_OK : VW_NO_MEMORY;
  free(sums);
  vw_powers_free(powers);
  return st;
}

/// From powers to levels above the floor, and from these to what is beside
/// their mean.
static void
take_levels(VwBands* bands) {
  const size_t n = bands->n_steps * VW_BANDS;
  double       loudest = 0.0;
  for (size_t i = 0; i < n; ++i) {
    loudest = fmax(loudest, bands->values[i]);
  }
  const double floor = fmax(loudest * vw_power_of_db(-FLOOR_DB), 1e-30);
  for (size_t band = 0; band < VW_BANDS; ++band) {
    double sum = 0.0;
    for (size_t i = band; i < n; i += VW_BANDS) {
      bands->values[i] = log1p(bands->values[i] / floor);
      sum += bands->values[i];
    }
    for (size_t i = band; i < n; i += VW_BANDS) {
      bands->values[i] -= sum / (double)bands->n_steps;
    }
  }
}

VwStatus
vw_bands_take(const VwSound* mono, VwBands* bands) {
  VwBands      out = {.length_s = (double)mono->n_frames / mono->rate_hz};
  VwSound      played = {0};
  const size_t n_more =
    vw_frames_of_s(0.5 * VW_LEVEL_WINDOW_S, mono->rate_hz) + 1U;
  out.n_steps = (size_t)(out.length_s / STEP_S) + 1U;
  out.step_s = out.length_s / (double)out.n_steps;
  out.values = calloc(out.n_steps * VW_BANDS, sizeof(double));
  VwStatus st = out.values ? VW_OK : VW_NO_MEMORY;
  st = st ? st : vw_loop_play(mono, n_more, &played);
  st = st ? st : take_bands(&played, n_more, &out);
  vw_sound_clear(&played);
  if (st) {
    vw_bands_clear(&out);
    return st;
  }
  take_levels(&out);
  *bands = out;
  return VW_OK;
}

void
vw_bands_clear(VwBands* bands) {
  if (bands) {
    free(bands->values);
    memset(bands, 0, sizeof(*bands));
  }
}

double
vw_bands_likeness(const VwBands* bands, const VwBandsPair* pair) {
  const size_t n = (size_t)(pair->length_s / bands->step_s);
  const double last_s = bands->length_s - VW_LOOP_END_S;
  const size_t from = (size_t)(pair->from_s / bands->step_s + 0.5);
  const size_t other = (size_t)(pair->other_s / bands->step_s + 0.5);
  const double later_s = fmax(pair->from_s, pair->other_s);
  double       product = 0.0;
  double       energy = 1e-9;
  for (size_t k = 0; k < n; ++k) {
    if (!pair->wraps && later_s + (double)k * bands->step_s > last_s) {
      break;
    }
    const double* const x =
      bands->values + (from + k) % bands->n_steps * VW_BANDS;
    const double* const y =
      bands->values + (other + k) % bands->n_steps * VW_BANDS;
    for (size_t band = 0; band < VW_BANDS; ++band) {
      product += x[band] * y[band];
      energy += 0.5 * (x[band] * x[band] + y[band] * y[band]);
    }
  }
  return product / energy;
}
