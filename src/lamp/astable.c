// The 555 as an astable: Texas Instruments, NE555 data sheet SLFS022I (2014),
// 8.3.2, and LM555 data sheet SNAS548D (2015), 7.4.2.

#include "lamp/diode.h"
#include "lamp/lamp.h"

#include "volleyweave/volleyweave.h"

#include <math.h>

#define LN2 0.69314718055994531
#define LN3 1.09861228866810969

// Intervals of Simpson's rule along the diode's curve, which is smooth there.
#define N_INTERVALS 16

/// A capacitor being charged through RA, then the diode and RB side by side.
typedef struct {
  const VwAstable* parts;
  VwDiodeCurve     diode;
} Charge;

/// The current that goes on into the capacitor at a voltage across the diode.
static double
current_a(const Charge* charge, double across_v) {
  return vw_diode_curve_a(&charge->diode, across_v) +
         across_v / charge->parts->rb_ohm;
}

/// The voltage across the diode when the capacitor has `capacitor_v`.
static double
across_at(const Charge* charge, double capacitor_v) {
  const double left_v = charge->parts->supply_v - capacitor_v;
  double       low = 0.0;
  double       high = left_v;
  // Newton's steps from above always fall short of the root of a convex
  // function; where they do not, halving goes on.
  double at = fmin(left_v, 1.0);
  for (int i = 0; i < 200 && high - low > 1e-13; ++i) {
    const double excess =
      charge->parts->ra_ohm * current_a(charge, at) + at - left_v;
    const double slope =
      charge->parts->ra_ohm *
        ((vw_diode_curve_a(&charge->diode, at) + charge->diode.saturation_a) /
           charge->diode.slope_v +
         1.0 / charge->parts->rb_ohm) +
      1.0;
    low = excess < 0.0 ? at : low;
    high = excess < 0.0 ? high : at;
    const double next = at - excess / slope;
    if (fabs(next - at) < 1e-12) {
      return next;
    }
    at = next > low && next < high ? next : 0.5 * (low + high);
  }
  return at;
}

/**
 * From a voltage to 2/3 of the supply. With I the current and V the voltage
 * across the diode, the capacitor has Vcc - RA I - V, so
 *
 *     t = C integral of dVc / I = C (RA ln(I1 / I2) + integral of dV / I).
 */
static double
charge_s(const VwAstable* parts, double from_v) {
  const Charge charge = {parts, vw_diode_curve(&parts->diode, parts->celsius)};
  const double first_v = across_at(&charge, from_v);
  const double last_v = across_at(&charge, parts->supply_v * 2.0 / 3.0);
  const double step_v = (first_v - last_v) / N_INTERVALS;
  double       sum = 0.0;
  for (int i = 0; i <= N_INTERVALS; ++i) {
    const double weight =
      i == 0 || i == N_INTERVALS ? 1.0 : (i % 2 ? 4.0 : 2.0);
    sum += weight / current_a(&charge, last_v + i * step_v);
  }
  const double ratio = current_a(&charge, first_v) / current_a(&charge, last_v);
  return parts->c_farad * (parts->ra_ohm * log(ratio) + sum * step_v / 3.0);
}

/// From 2/3 to 1/3 of the supply through RB; the diode, reversed, lets its
/// saturation current pass.
static double
discharge_s(const VwAstable* parts) {
  const VwDiodeCurve curve = vw_diode_curve(&parts->diode, parts->celsius);
  const double       leak_v = curve.saturation_a * parts->rb_ohm;
  return parts->rb_ohm * parts->c_farad *
         log((parts->supply_v * 2.0 / 3.0 + leak_v) /
             (parts->supply_v / 3.0 + leak_v));
}

/// The same, through a diode or without one.
static double
high_s(const VwAstable* parts, double from_share) {
  const double through_ohm = parts->ra_ohm + parts->rb_ohm;
  return parts->wiring == VW_WIRING_DIODE
           ? charge_s(parts, from_share * parts->supply_v)
           : log((1.0 - from_share) * 3.0) * through_ohm * parts->c_farad;
}

VwAstableTimes
vw_astable_times(const VwAstable* parts) {
  const bool   diode = parts->wiring == VW_WIRING_DIODE;
  const double lit_s = high_s(parts, 1.0 / 3.0);
  const double low_s =
    diode ? discharge_s(parts) : LN2 * parts->rb_ohm * parts->c_farad;
  const double period_s = lit_s + low_s;
  return (VwAstableTimes){.high_ms = 1000.0 * lit_s,
                          .first_high_ms = 1000.0 * high_s(parts, 0.0),
                          .low_ms = 1000.0 * low_s,
                          .period_ms = 1000.0 * period_s,
                          .rate_hz = 1.0 / period_s,
                          .high_share = lit_s / period_s};
}

double
vw_astable_constant_drop(double supply_v, double drop_v) {
  const double left_v = supply_v - 3.0 * drop_v;
  return left_v > 0.0 ? log((2.0 * supply_v - 3.0 * drop_v) / left_v)
                      : (double)NAN;
}

double
vw_monostable_s(double r_ohm, double c_farad) {
  return LN3 * r_ohm * c_farad;
}
