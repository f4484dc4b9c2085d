// The 555 as an astable: Texas Instruments, NE555 data sheet SLFS022I (2014),
// 8.3.2, and LM555 data sheet SNAS548D (2015), 7.4.2.

#include "base/units.h"
#include "lamp/lamp.h"

#include <assert.h>
#include <math.h>

/* Preferred values (IEC 60063:2015) */

// Not the rounded powers of ten: the standard lists 2.7 to 4.7 and 8.2 so. E12
// and E6 are every second and every fourth of them.
static const double e24[] = {1.0, 1.1, 1.2, 1.3, 1.5, 1.6, 1.8, 2.0,
                             2.2, 2.4, 2.7, 3.0, 3.3, 3.6, 3.9, 4.3,
                             4.7, 5.1, 5.6, 6.2, 6.8, 7.5, 8.2, 9.1};

static const double e96[] = {
  1.00, 1.02, 1.05, 1.07, 1.10, 1.13, 1.15, 1.18, 1.21, 1.24, 1.27, 1.30,
  1.33, 1.37, 1.40, 1.43, 1.47, 1.50, 1.54, 1.58, 1.62, 1.65, 1.69, 1.74,
  1.78, 1.82, 1.87, 1.91, 1.96, 2.00, 2.05, 2.10, 2.15, 2.21, 2.26, 2.32,
  2.37, 2.43, 2.49, 2.55, 2.61, 2.67, 2.74, 2.80, 2.87, 2.94, 3.01, 3.09,
  3.16, 3.24, 3.32, 3.40, 3.48, 3.57, 3.65, 3.74, 3.83, 3.92, 4.02, 4.12,
  4.22, 4.32, 4.42, 4.53, 4.64, 4.75, 4.87, 4.99, 5.11, 5.23, 5.36, 5.49,
  5.62, 5.76, 5.90, 6.04, 6.19, 6.34, 6.49, 6.65, 6.81, 6.98, 7.15, 7.32,
  7.50, 7.68, 7.87, 8.06, 8.25, 8.45, 8.66, 8.87, 9.09, 9.31, 9.53, 9.76};

/// A series, and the tolerance its parts customarily have.
static const struct {
  const double* values;
  long          every; ///< How far from value to value in them.
  long          n;
  double        tolerance;
} all[] = {[VW_E6] = {e24, 4, 6, 0.20},
           [VW_E12] = {e24, 2, 12, 0.10},
           [VW_E24] = {e24, 1, 24, 0.05},
           [VW_E96] = {e96, 1, 96, 0.01}};

// What a product of a decade and a listed value may be off by rounding.
#define ROUNDING 1e-9

double
vw_e_series_tolerance(VwESeries series) {
  return all[series].tolerance;
}

/// The value of index `index`, 0 being 1.0, in any decade.
static double
value_at(VwESeries series, long index) {
  const long   n = all[series].n;
  const long   decade = (index >= 0 ? index : index - n + 1) / n;
  const double mantissa =
    all[series].values[(index - decade * n) * all[series].every];
  // A division by a whole power of ten is exact to the last digit.
  return decade < 0 ? mantissa / pow(10.0, (double)-decade)
                    : mantissa * pow(10.0, (double)decade);
}

/// Index of the greatest value not above `value`.
static long
index_down(VwESeries series, double value) {
  assert(value > 0.0);
  const double n = (double)all[series].n;
  long         index = (long)floor(log10(value) * n) + 2;
  while (value_at(series, index) > value * (1.0 + ROUNDING)) {
    --index;
  }
  return index;
}

double
vw_e_series_down(VwESeries series, double value) {
  return value_at(series, index_down(series, value));
}

double
vw_e_series_up(VwESeries series, double value) {
  const long   index = index_down(series, value);
  const double down = value_at(series, index);
  return down >= value * (1.0 - ROUNDING) ? down : value_at(series, index + 1);
}

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
