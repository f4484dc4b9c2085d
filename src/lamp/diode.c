#include "lamp/diode.h"

#include "lamp/lamp.h"

#include <math.h>

// Boltzmann's constant over the elementary charge (both exact in the SI since
// 2019), volts per kelvin.
#define VOLTS_PER_K (1.380649e-23 / 1.602176634e-19)

#define ZERO_C_K 273.15
#define ROOM_C 25.0

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

// How Is changes with temperature: L. W. Nagel, "SPICE2: a computer program to
// simulate semiconductor circuits", Univ. of California, Berkeley, ERL-M520,
// 1975.
VwDiodeCurve
vw_diode_curve(const VwDiode* diode, double celsius) {
  const double room_k = ZERO_C_K + ROOM_C;
  const double k = ZERO_C_K + celsius;
  const double n = diode->emission;
  const double at_room =
    DROP_AT_A / expm1(diode->drop_v / (n * VOLTS_PER_K * room_k));
  const double rise =
    pow(k / room_k, diode->power / n) *
    exp(diode->gap_v / (n * VOLTS_PER_K) * (1.0 / room_k - 1.0 / k));
  return (VwDiodeCurve){at_room * rise, n * VOLTS_PER_K * k};
}

double
vw_diode_curve_a(const VwDiodeCurve* curve, double volts) {
  return curve->saturation_a * expm1(volts / curve->slope_v);
}

double
vw_diode_current_a(const VwDiode* diode, double celsius, double volts) {
  const VwDiodeCurve curve = vw_diode_curve(diode, celsius);
  return vw_diode_curve_a(&curve, volts);
}
