#ifndef VW_FILTER_H
#define VW_FILTER_H

#include <stddef.h>

/// A second-order section in transposed direct form II.
typedef struct {
  double b0, b1, b2, a1, a2;
  double s1, s2; ///< State.
} VwBiquad;

/// Sections of the fourth-order high-pass.
#define VW_HIGH_PASS_SECTIONS 2

/**
 * A second-order high-pass, by the bilinear transform of the analogue filter
 * with the corner prewarped (R. Bristow-Johnson, "Cookbook formulae for audio
 * EQ biquad filter coefficients").
 */
VwBiquad vw_biquad_high_pass(double corner_hz, double q, double rate_hz);

/// Settle a high-pass on a constant input, as if it had always been there.
void vw_biquad_settle(VwBiquad* biquad, double constant);

/// Filter one value.
static inline double
vw_biquad_step(VwBiquad* biquad, double x) {
  const double y = biquad->b0 * x + biquad->s1;
  biquad->s1 = biquad->b1 * x - biquad->a1 * y + biquad->s2;
  biquad->s2 = biquad->b2 * x - biquad->a2 * y;
  return y;
}

/**
 * A fourth-order Butterworth high-pass: two sections whose Q are those of its
 * pole pairs, 1 / (2 cos(pi/8)) and 1 / (2 cos(3 pi/8)).
 */
void vw_high_pass_4th(VwBiquad sections[VW_HIGH_PASS_SECTIONS],
                      double   corner_hz,
                      double   rate_hz);

#endif
