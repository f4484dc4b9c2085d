#include "lamp/heard.h"
#include "signal/signal.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static void
add_products(VwLags* lags, const double* correlation) {
  for (size_t i = 0; i < lags->n_lags; ++i) {
    lags->product[i] += correlation[i];
  }
}

/// Add up the correlations of all bands.
static VwStatus
take_products(const VwBands* bands, VwLags* lags) {
  const size_t  n = bands->n_steps;
  double* const band = calloc(n, sizeof(double));
  double* const correlation = calloc(n, sizeof(double));
  VwStatus      st = band && correlation ? VW_OK : VW_NO_MEMORY;
  for (size_t b = 0; !st && b < VW_BANDS; ++b) {
    for (size_t k = 0; k < n; ++k) {
      band[k] = bands->values[k * VW_BANDS + b];
    }
    st = vw_spectrum_correlate(band, n, correlation, n);
    if (!st) {
      add_products(lags, correlation);
    }
  }
  free(band);
  free(correlation);
  return st;
}

static double
energy_at(const VwBands* bands, size_t step) {
  const double* const values = bands->values + step * VW_BANDS;
  double              energy = 0.0;
  for (size_t b = 0; b < VW_BANDS; ++b) {
    energy += values[b] * values[b];
  }
  return energy;
}

/// Half the energies of both pieces that lie a lag apart.
static void
take_energies(const VwBands* bands, VwLags* lags) {
  const size_t n = bands->n_steps;
  double       head = 0.0;
  double       tail = 0.0;
  for (size_t i = n; i-- > 0;) {
    head += energy_at(bands, n - 1U - i);
    tail += energy_at(bands, i);
    lags->energy[i] = 0.5 * (head + tail);
  }
}

VwStatus
vw_lags_take(const VwBands* bands, VwLags* lags) {
  VwLags out = {.n_lags = bands->n_steps, .step_s = bands->step_s};
  out.product = calloc(out.n_lags, sizeof(double));
  out.energy = calloc(out.n_lags, sizeof(double));
  VwStatus st = out.product && out.energy ? VW_OK : VW_NO_MEMORY;
  st = st ? st : take_products(bands, &out);
  if (st) {
    vw_lags_clear(&out);
    return st;
  }
  take_energies(bands, &out);
  *lags = out;
  return VW_OK;
}

void
vw_lags_clear(VwLags* lags) {
  if (lags) {
    free(lags->product);
    free(lags->energy);
    memset(lags, 0, sizeof(*lags));
  }
}

/// How well all that lies whole periods apart goes together, 0 to 1. Takes that
/// take turns are alike at some of these lags alone.
static double
likeness(const VwLags* lags, size_t shots, double period_s) {
  double product = 0.0;
  double energy = 1e-9;
  for (size_t i = 1; i < shots; ++i) {
    const size_t lag = (size_t)((double)i * period_s / lags->step_s + 0.5);
    if (lag < lags->n_lags) {
      product += fmax(lags->product[lag], 0.0);
      energy += lags->energy[lag];
    }
  }
  return product / energy;
}

double
vw_lags_period_s(const VwLags* lags,
                 size_t        shots,
                 double        least_s,
                 double        most_s) {
  // So fine that the last shot moves by one lag.
  const double step_s = lags->step_s / (double)(shots - 1U);
  double       best_s = least_s;
  double       best = -1.0;
  for (double period_s = least_s; period_s <= most_s; period_s += step_s) {
    const double alike = likeness(lags, shots, period_s);
    if (alike > best) {
      best = alike;
      best_s = period_s;
    }
  }
  return best_s;
}
