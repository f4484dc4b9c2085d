#include "base/units.h"
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

VwBiquad
vw_biquad_high_pass(double corner_hz, double q, double rate_hz) {
  const double w = 2.0 * VW_PI * corner_hz / rate_hz;
  const double alpha = sin(w) / (2.0 * q);
  const double a0 = 1.0 + alpha;
  const double b = (1.0 + cos(w)) / 2.0 / a0;
  return (VwBiquad){.b0 = b,
                    .b1 = -2.0 * b,
                    .b2 = b,
                    .a1 = -2.0 * cos(w) / a0,
                    .a2 = (1.0 - alpha) / a0};
}

void
vw_biquad_settle(VwBiquad* biquad, double constant) {
  // The output of a high-pass on a constant is zero.
  biquad->s1 = -biquad->b0 * constant;
  biquad->s2 = biquad->b2 * constant;
}

void
vw_high_pass_4th(VwBiquad sections[VW_HIGH_PASS_SECTIONS],
                 double   corner_hz,
                 double   rate_hz) {
  sections[0] = vw_biquad_high_pass(corner_hz, 0.5 / cos(VW_PI / 8.0), rate_hz);
  sections[1] =
    vw_biquad_high_pass(corner_hz, 0.5 / cos(3.0 * VW_PI / 8.0), rate_hz);
}

void
vw_sound_high_pass(VwSound* sound, double corner_hz) {
  for (unsigned c = 0; c < sound->n_channels; ++c) {
    VwBiquad sections[VW_HIGH_PASS_SECTIONS];
    vw_high_pass_4th(sections, corner_hz, sound->rate_hz);
    for (size_t i = 0; i < sound->n_frames; ++i) {
      float* const value = &sound->values[i * sound->n_channels + c];
      *value = (float)vw_high_pass_step(sections, (double)*value);
    }
  }
}
