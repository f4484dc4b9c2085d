#include "noise.h"

#include <stdlib.h>

#define MEAN_S 0.010

// Low enough to lie in the quiet part of a take that holds little of it, high
// enough that a few gated gaps do not pass for it.
#define QUIET_SHARE 0.1

static int
compare_doubles(const void* a, const void* b) {
  const double x = *(const double*)a;
  const double y = *(const double*)b;
  return (x > y) - (x < y);
}

VwStatus
vw_noise_power(const VwCurve* curve, bool sounding, double* power) {
  const size_t n_mean = vw_curve_steps(curve, MEAN_S);
  // The last step may hold fewer frames than the others.
  const size_t  n_whole = curve->n_steps > 1U ? curve->n_steps - 1U : 1U;
  const size_t  n_means = n_whole < n_mean ? 1U : n_whole / n_mean;
  double* const means   = calloc(n_means, sizeof(double));
  if (!means) {
    return VW_NO_MEMORY;
  }
  size_t n_kept = 0;
  for (size_t i = 0; i < n_means; ++i) {
    double sum = 0.0;
    for (size_t j = i * n_mean; j < (i + 1U) * n_mean && j < n_whole; ++j) {
      sum += curve->power[j];
    }
    if (sum > 0.0 || !sounding) {
      means[n_kept++] = sum / (double)n_mean;
    }
  }
  qsort(means, n_kept, sizeof(double), compare_doubles);
  *power = n_kept ? means[(size_t)(QUIET_SHARE * (double)n_kept)] : 0.0;
  free(means);
  return VW_OK;
}
