#include "signal/signal.h"

#include <math.h>
#include <stdlib.h>

// What a transform finds is looked at exactly if it is so near to the best; it
// is wrong by far less (chosen here).
#define NEAR 1e-4

static double
energy_of(const VwSound* sound, size_t from, size_t n) {
  const float* const values = sound->values + from * sound->n_channels;
  double             energy = 0.0;
  for (size_t i = 0; i < n * sound->n_channels; ++i) {
    energy += (double)values[i] * (double)values[i];
  }
  return energy;
}

static double
ratio(double product, double one, double other) {
  const double scale = sqrt(fmax(one, 0.0) * fmax(other, 0.0));
  return scale > 1e-12 ? fmin(fmax(product / scale, -1.0), 1.0) : 0.0;
}

double
vw_slide_likeness(const VwSlide* wish) {
  const size_t       n_channels = wish->one->n_channels;
  const float* const a = wish->one->values + wish->at * n_channels;
  const float* const b = wish->other->values + wish->from * n_channels;
  double             product = 0.0;
  for (size_t i = 0; i < wish->n * n_channels; ++i) {
    product += (double)a[i] * (double)b[i];
  }
  return ratio(product,
               energy_of(wish->one, wish->at, wish->n),
               energy_of(wish->other, wish->from, wish->n));
}

VwStatus
vw_slide_over_lag(const VwSlide* wish, double* likeness) {
  const size_t n_channels = wish->one->n_channels;
  const double energy = energy_of(wish->one, wish->at, wish->n);
  double       slid = energy_of(wish->other, wish->from, wish->n);
  VwStatus     st = VW_OK;
  for (size_t i = 0; i < wish->n_lags; ++i) {
    likeness[i] = 0.0;
  }
  for (size_t c = 0; !st && c < n_channels; ++c) {
    const VwCross cross = {wish->one->values + wish->at * n_channels + c,
                           wish->other->values + wish->from * n_channels + c,
                           n_channels,
                           wish->n,
                           wish->n_lags};
    st = vw_spectrum_cross(&cross, likeness);
  }
  for (size_t i = 0; !st && i < wish->n_lags; ++i) {
    likeness[i] = ratio(likeness[i], energy, slid);
    if (i + 1U < wish->n_lags) {
      slid += energy_of(wish->other, wish->from + i + wish->n, 1U) -
              energy_of(wish->other, wish->from + i, 1U);
    }
  }
  return st;
}

VwStatus
vw_slide_best(const VwSlide* wish, size_t step, size_t* at, double* likeness) {
  double* const  over_lag = calloc(wish->n_lags, sizeof(double));
  const VwStatus st =
    over_lag ? vw_slide_over_lag(wish, over_lag) : VW_NO_MEMORY;
  double most = -1.0;
  for (size_t i = 0; !st && i < wish->n_lags; i += step) {
    most = fmax(most, over_lag[i]);
  }
  VwSlide there = *wish;
  *likeness = -2.0;
  for (size_t i = 0; !st && i < wish->n_lags; i += step) {
    if (over_lag[i] >= most - NEAR) {
      there.from = wish->from + i;
      const double alike = vw_slide_likeness(&there);
      *at = alike > *likeness ? there.from : *at;
      *likeness = fmax(alike, *likeness);
    }
  }
  free(over_lag);
  return st;
}
