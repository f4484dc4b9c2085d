#include "base/units.h"
#include "signal/signal.h"

#include <math.h>

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
