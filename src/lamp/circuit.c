#include "lamp/circuit.h"

#include "lamp/lamp.h"

#include <math.h>

#define LN2 0.69314718055994531

// Newton's steps on what is all but a straight line.
#define STEPS_MOST 20

const VwCorner vw_corner_nominal = {1.0, 1.0, 1.0, 1.0, 25.0};

bool
vw_circuit_trims_ra(const VwCircuit* circuit) {
  return circuit->plan == VW_PARTS_LOW_TRIM_RA;
}

bool
vw_circuit_is_low(const VwCircuit* circuit) {
  return circuit->plan == VW_PARTS_LOW_TRIM_RA ||
         circuit->plan == VW_PARTS_LOW_TRIM_RB;
}

VwAstableTimes
vw_circuit_times(const VwCircuit* circuit,
                 double           c_farad,
                 VwOhms           ohms,
                 const VwCorner*  corner) {
  const bool      ra_trimmed = vw_circuit_trims_ra(circuit);
  const double    plain = ohms.plain_ohm * corner->plain;
  const double    trimmed = ohms.trimmed_ohm * corner->trimmed;
  const VwAstable parts = {.wiring = circuit->wish->wiring,
                           .ra_ohm = ra_trimmed ? trimmed : plain,
                           .rb_ohm = ra_trimmed ? plain : trimmed,
                           .c_farad = c_farad * corner->capacitor,
                           .supply_v = circuit->wish->supply_v,
                           .diode = circuit->wish->diode,
                           .celsius = corner->celsius};
  VwAstableTimes  times = vw_astable_times(&parts);
  times.high_ms *= corner->chip;
  times.first_high_ms *= corner->chip;
  times.low_ms *= corner->chip;
  times.period_ms *= corner->chip;
  times.rate_hz /= corner->chip;
  return times;
}

double
vw_circuit_on_ms(const VwCircuit* circuit, const VwAstableTimes* times) {
  return vw_circuit_is_low(circuit) ? times->low_ms : times->high_ms;
}

double
vw_circuit_trimmed(const VwCircuit* circuit,
                   double           c_farad,
                   double           plain_ohm,
                   const VwCorner*  corner) {
  // RB discharges, and without a diode it charges too.
  const bool once =
    circuit->plan == VW_PARTS_DIODE || vw_circuit_trims_ra(circuit);
  const double s_per_ohm =
    (once ? LN2 : 2.0 * LN2) * c_farad * corner->capacitor;
  double ohm = circuit->period_ms / 2000.0 / c_farad;
  for (int i = 0; i < STEPS_MOST; ++i) {
    const VwAstableTimes times =
      vw_circuit_times(circuit, c_farad, (VwOhms){plain_ohm, ohm}, corner);
    const double step =
      (circuit->period_ms - times.period_ms) / 1000.0 / s_per_ohm;
    if (fabs(step) < 1e-7 * ohm) {
      return ohm;
    }
    ohm += step;
    if (ohm < 1.0) {
      return 0.0;
    }
  }
  return ohm;
}

/// With a diode: the RA with which the time high is the on-time.
static double
ra_for_on_time(const VwCircuit* circuit, double c_farad) {
  const double on_ms = circuit->wish->on_ms;
  const double rb = (circuit->period_ms - on_ms) / 1000.0 / LN2 / c_farad;
  double       ra = on_ms / 1000.0 / c_farad;
  double       factor = 0.0;
  for (int i = 0; i < STEPS_MOST && fabs(factor - 1.0) > 1e-6; ++i) {
    const VwAstableTimes times =
      vw_circuit_times(circuit, c_farad, (VwOhms){ra, rb}, &vw_corner_nominal);
    factor = on_ms / times.high_ms;
    ra *= factor;
  }
  return ra;
}

double
vw_circuit_plain(const VwCircuit* circuit, double c_farad, double least_ohm) {
  const double ohm_per_ms = 1.0 / (1000.0 * LN2 * c_farad);
  const double on = circuit->wish->on_ms * ohm_per_ms;
  const double all = circuit->period_ms * ohm_per_ms;
  switch (circuit->plan) {
    case VW_PARTS_LOW_TRIM_RA:
      return on; // RB
    case VW_PARTS_LOW_TRIM_RB:
      return fmax(all - 2.0 * on, least_ohm); // RA
    case VW_PARTS_HIGH_TRIM_RB:
      return fmax(2.0 * on - all, least_ohm); // RA
    case VW_PARTS_DIODE:
    case VW_N_PARTS:
      break;
  }
  return ra_for_on_time(circuit, c_farad);
}
