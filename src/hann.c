#include "hann.h"

#include "units.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

VwStatus
vw_hann_init(VwHann* hann, const double* values, size_t n, size_t n_window) {
  const VwHann out = {
    malloc((n + 1U) * 3U * sizeof(double)), n, n_window ? n_window : 1U};
  if (!out.sums) {
    return VW_NO_MEMORY;
  }
  // A phasor that is turned step by step is off by less than 1e-15 a step.
  const double turn = 2.0 * VW_PI / (double)out.n_window;
  const double turn_cos = cos(turn);
  const double turn_sin = sin(turn);
  double       x_cos = 1.0;
  double       x_sin = 0.0;
  double*      sum = out.sums;
  sum[0] = sum[1] = sum[2] = 0.0;
  for (size_t i = 0; i < n; ++i, sum += 3) {
    sum[3] = sum[0] + values[i];
    sum[4] = sum[1] + values[i] * x_cos;
    sum[5] = sum[2] + values[i] * x_sin;
    const double turned = x_cos * turn_cos - x_sin * turn_sin;
    x_sin = x_sin * turn_cos + x_cos * turn_sin;
    x_cos = turned;
  }
  *hann = out;
  return VW_OK;
}

void
vw_hann_clear(VwHann* hann) {
  if (hann) {
    free(hann->sums);
    memset(hann, 0, sizeof(*hann));
  }
}

double
vw_hann_mean(const VwHann* hann, size_t at) {
  const size_t  half = hann->n_window / 2U;
  const size_t  from = at > half ? at - half : 0U;
  const size_t  to_wanted = at + hann->n_window - half;
  const size_t  to = to_wanted < hann->n ? to_wanted : hann->n;
  const double* a = hann->sums + 3U * from;
  const double* b = hann->sums + 3U * to;
  const double  middle =
    (double)at + 0.5 * (double)(hann->n_window - 1U) - (double)half;
  const double angle = 2.0 * VW_PI / (double)hann->n_window * middle;
  // w(i) = 1 + cos(turn (i - middle)); its sum over the window is n.
  const double sum =
    (b[0] - a[0]) + (b[1] - a[1]) * cos(angle) + (b[2] - a[2]) * sin(angle);
  return sum > 0.0 ? sum / (double)hann->n_window : 0.0;
}
