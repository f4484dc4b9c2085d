#include "signal/hann.h"

#include "base/units.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

VwStatus
vw_hann_init(VwHann* hann, const double* values, size_t n, size_t n_window) {
  VwHann out = {malloc((n + 1U) * sizeof(VwHannPoint)), n, n_window};
  if (!out.points) {
    return VW_NO_MEMORY;
  }
  out.n_window = n_window ? n_window : 1U;
  // A phasor that is turned step by step is off by less than 1e-15 a step.
  const double turn = 2.0 * VW_PI / (double)out.n_window;
  const double turn_cos = cos(turn);
  const double turn_sin = sin(turn);
  VwHannPoint  point = {0.0, 0.0, 0.0, 1.0, 0.0};
  for (size_t i = 0; i < n; ++i) {
    out.points[i] = point;
    point.sum += values[i];
    point.sum_cos += values[i] * point.phase_cos;
    point.sum_sin += values[i] * point.phase_sin;
    const double turned =
      point.phase_cos * turn_cos - point.phase_sin * turn_sin;
    point.phase_sin = point.phase_sin * turn_cos + point.phase_cos * turn_sin;
    point.phase_cos = turned;
  }
  out.points[n] = point;
  *hann = out;
  return VW_OK;
}

void
vw_hann_clear(VwHann* hann) {
  if (hann) {
    free(hann->points);
    memset(hann, 0, sizeof(*hann));
  }
}

double
vw_hann_mean(const VwHann* hann, size_t at) {
  const size_t             half = hann->n_window / 2U;
  const size_t             from = at > half ? at - half : 0U;
  const size_t             to_wanted = at + hann->n_window - half;
  const size_t             to = to_wanted < hann->n ? to_wanted : hann->n;
  const VwHannPoint* const a = &hann->points[from];
  const VwHannPoint* const b = &hann->points[to];
  const VwHannPoint* const middle = &hann->points[at];
  // w(i) = 1 + cos(turn (i - at)); its sum over the window is n.
  const double sum = (b->sum - a->sum) +
                     (b->sum_cos - a->sum_cos) * middle->phase_cos +
                     (b->sum_sin - a->sum_sin) * middle->phase_sin;
  return sum > 0.0 ? sum / (double)hann->n_window : 0.0;
}
