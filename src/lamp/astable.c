// The 555 as an astable: Texas Instruments, NE555 data sheet SLFS022I (2014),
// 8.3.2, and LM555 data sheet SNAS548D (2015), 7.4.2.

#include "base/units.h"
#include "lamp/lamp.h"

#include <math.h>

// Boltzmann's constant over the elementary charge (both exact in the SI since
// 2019), volts per kelvin.
#define VOLTS_PER_K (1.380649e-23 / 1.602176634e-19)

#define ZERO_C_K 273.15
#define DROP_AT_A 1e-3

// Emission coefficients of small diodes, their gaps and powers of temperature:
// common practice.
VwDiode
vw_diode_small_signal(void) {
  return (VwDiode){.drop_v = 0.6, .emission = 1.8, .gap_v = 1.11, .power = 3.0};
}

VwDiode
vw_diode_schottky(void) {
  return (VwDiode){
    .drop_v = 0.25, .emission = 1.05, .gap_v = 0.69, .power = 2.0};
}

/// A diode at one temperature.
typedef struct {
  double saturation_a; ///< Is.
  double slope_v;      ///< n Vt.
} DiodeCurve;

// How Is changes with temperature: L. W. Nagel, "SPICE2: a computer program to
// simulate semiconductor circuits", Univ. of California, Berkeley, ERL-M520,
// 1975.
static DiodeCurve
curve_of(const VwDiode* diode, double celsius) {
  const double room_k = ZERO_C_K + VW_ROOM_C;
  const double k = ZERO_C_K + celsius;
  const double n = diode->emission;
  const double at_room =
    DROP_AT_A / expm1(diode->drop_v / (n * VOLTS_PER_K * room_k));
  const double rise =
    pow(k / room_k, diode->power / n) *
    exp(diode->gap_v / (n * VOLTS_PER_K) * (1.0 / room_k - 1.0 / k));
  return (DiodeCurve){at_room * rise, n * VOLTS_PER_K * k};
}

static double
curve_a(const DiodeCurve* curve, double volts) {
  return curve->saturation_a * expm1(volts / curve->slope_v);
}

double
vw_diode_current_a(const VwDiode* diode, double celsius, double volts) {
  const DiodeCurve curve = curve_of(diode, celsius);
  return curve_a(&curve, volts);
}

// Intervals of Simpson's rule along the diode's curve, which is smooth there.
#define N_INTERVALS 16

/// A capacitor being charged through RA, then the diode and RB side by side.
typedef struct {
  const VwAstable* parts;
  DiodeCurve       diode;
} Charge;

/// The current that goes on into the capacitor at a voltage across the diode.
static double
current_a(const Charge* charge, double across_v) {
  return curve_a(&charge->diode, across_v) + across_v / charge->parts->rb_ohm;
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
        ((curve_a(&charge->diode, at) + charge->diode.saturation_a) /
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
  const Charge charge = {parts, curve_of(&parts->diode, parts->celsius)};
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
  const DiodeCurve curve = curve_of(&parts->diode, parts->celsius);
  const double     leak_v = curve.saturation_a * parts->rb_ohm;
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
    diode ? discharge_s(parts) : VW_LN2 * parts->rb_ohm * parts->c_farad;
  const double period_s = lit_s + low_s;
  return (VwAstableTimes){.high_ms = 1000.0 * lit_s,
                          .first_high_ms = 1000.0 * high_s(parts, 0.0),
                          .low_ms = 1000.0 * low_s,
                          .period_ms = 1000.0 * period_s,
                          .rate_hz = 1.0 / period_s,
                          .high_share = lit_s / period_s};
}
