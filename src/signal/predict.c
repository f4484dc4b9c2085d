#include "signal/signal.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/// One more coefficient from the errors forwards and backwards; both shrink by
/// what it explains.
static double
reflect(double* forward, double* backward, size_t from, size_t n) {
  double ab = 0.0;
  double aa = 0.0;
  for (size_t i = from; i < n; ++i) {
    ab += forward[i] * backward[i - 1U];
    aa += forward[i] * forward[i] + backward[i - 1U] * backward[i - 1U];
  }
  const double k = aa > 0.0 ? 2.0 * ab / aa : 0.0;
  for (size_t i = n; i-- > from;) {
    const double f = forward[i];
    forward[i] = f - k * backward[i - 1U];
    backward[i] = backward[i - 1U] - k * f;
  }
  return k;
}

bool
vw_predict_fit(const double* values, size_t n, size_t order, double* weights) {
  double* const errors = malloc(2U * n * sizeof(double));
  double        before[VW_PREDICT_MOST];
  if (!errors) {
    return false;
  }
  memcpy(errors, values, n * sizeof(double));
  memcpy(errors + n, values, n * sizeof(double));
  for (size_t m = 0; m < order; ++m) {
    const double k = reflect(errors, errors + n, m + 1U, n);
    memcpy(before, weights, m * sizeof(double));
    for (size_t i = 0; i < m; ++i) {
      weights[i] = before[i] - k * before[m - 1U - i];
    }
    weights[m] = k;
  }
  free(errors);
  return true;
}
