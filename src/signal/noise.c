#include "base/units.h"
#include "signal/signal.h"

#include <math.h>
#include <stdlib.h>

// Over which a power is taken where noise is looked for.
#define MEAN_S 0.010

// The end of a take that may be noise: this part of it, and as long as this.
#define END_SHARE 0.1
#define END_LEAST_S 0.040

// Steady to so much, and so far below the crest.
#define STEADY_DB 2.0
#define BELOW_CREST_DB 20.0

static int
compare_doubles(const void* a, const void* b) {
  const double x = *(const double*)a;
  const double y = *(const double*)b;
  return (x > y) - (x < y);
}

static double
mean_of(const VwCurve* curve, size_t from, size_t to) {
  double sum = 0.0;
  for (size_t i = from; i < to; ++i) {
    sum += curve->power[i];
  }
  return to > from ? sum / (double)(to - from) : 0.0;
}

/// The sorted 10 ms means of steps [from, to).
typedef struct {
  double* means;
  size_t  n;
} Means;

static VwStatus
means_take(const VwCurve* curve, size_t from, size_t to, Means* means) {
  const size_t n_mean = vw_curve_steps(curve, MEAN_S);
  // The last step of a curve may hold fewer frames than the others.
  const size_t end = to < curve->n_steps ? to : curve->n_steps - 1U;
  means->n = end > from ? (end - from) / n_mean : 0U;
  means->means = calloc(means->n + 1U, sizeof(double));
  if (!means->means) {
    return VW_NO_MEMORY;
  }
  for (size_t i = 0; i < means->n; ++i) {
    const size_t at = from + i * n_mean;
    means->means[i] = mean_of(curve, at, at + n_mean);
  }
  qsort(means->means, means->n, sizeof(double), compare_doubles);
  return VW_OK;
}

VwStatus
vw_noise_quietest(const VwCurve* curve,
                  size_t         from,
                  size_t         to,
                  double         share,
                  double*        power) {
  Means          means = {0};
  const VwStatus st = means_take(curve, from, to, &means);
  if (st) {
    return st;
  }
  size_t n_silent = 0;
  while (n_silent < means.n && means.means[n_silent] <= 0.0) {
    ++n_silent;
  }
  const size_t at = (size_t)(share * (double)(means.n - n_silent));
  *power = means.means[n_silent + at];
  free(means.means);
  return VW_OK;
}

static double
noise_after(const VwCurve* curve, size_t crest, size_t limit) {
  const size_t least = vw_curve_steps(curve, END_LEAST_S);
  const size_t share = (size_t)(END_SHARE * (double)(limit - crest));
  const size_t n = share > least ? share : least;
  const size_t end = limit < curve->n_steps ? limit : curve->n_steps - 1U;
  if (end < crest + n) {
    return NAN;
  }
  const double first = mean_of(curve, end - n, end - n / 2U);
  const double second = mean_of(curve, end - n / 2U, end);
  const double highest = curve->level[crest] * vw_power_of_db(-BELOW_CREST_DB);
  if (first <= 0.0 || second <= 0.0 || first > highest ||
      fabs(vw_db_of_power(second / first)) > STEADY_DB) {
    return NAN;
  }
  return 0.5 * (first + second);
}

VwStatus
vw_noise_around(const VwCurve* curve,
                size_t         attack,
                size_t         crest,
                size_t         limit,
                VwNoise*       noise) {
  Means          means = {0};
  const VwStatus st = means_take(curve, 0, attack, &means);
  if (st) {
    return st;
  }
  *noise = (VwNoise){means.n ? means.means[means.n / 2U] : NAN,
                     noise_after(curve, crest, limit)};
  free(means.means);
  return VW_OK;
}
