#ifndef VW_CIRCUIT_H
#define VW_CIRCUIT_H

#include "lamp/lamp.h"

#include "volleyweave/volleyweave.h"

/// Which of the resistors on-time and rate are set by.
typedef enum {
  VW_PARTS_DIODE,        ///< RA the on-time; trimmed RB the time between.
  VW_PARTS_LOW_TRIM_RA,  ///< RB the on-time, while low; trimmed RA the rest.
  VW_PARTS_LOW_TRIM_RB,  ///< The same, RB trimmed, for a duty near a half.
  VW_PARTS_HIGH_TRIM_RB, ///< Lit while high, above a half; RB trimmed.
  VW_N_PARTS
} VwPartsPlan;

/// A timer's circuit, but for its parts.
typedef struct {
  const VwTimerWish* wish;
  double             period_ms;
  VwPartsPlan        plan;
} VwCircuit;

/// Everything that may differ from what is printed on it.
typedef struct {
  double capacitor; ///< Factors.
  double plain;
  double trimmed;
  double chip;    ///< Of the times.
  double celsius; ///< Of the diode.
} VwCorner;

/// Everything as printed, at 25 degrees C.
extern const VwCorner vw_corner_nominal;

/// Resistances: the plain one, and the trimmed one as a whole.
typedef struct {
  double plain_ohm;
  double trimmed_ohm;
} VwOhms;

/// Whether RA is the one that is trimmed.
bool vw_circuit_trims_ra(const VwCircuit* circuit);

/// Whether the lamp is lit while the output is low.
bool vw_circuit_is_low(const VwCircuit* circuit);

/// The times with a capacitor and two resistors at a corner.
VwAstableTimes vw_circuit_times(const VwCircuit* circuit,
                                double           c_farad,
                                VwOhms           ohms,
                                const VwCorner*  corner);

/// Which of the times the lamp is on.
double vw_circuit_on_ms(const VwCircuit* circuit, const VwAstableTimes* times);

/// The trimmed resistance for which the period is the one wanted, or 0 where
/// there is none.
double vw_circuit_trimmed(const VwCircuit* circuit,
                          double           c_farad,
                          double           plain_ohm,
                          const VwCorner*  corner);

/// What the resistor without a trimmer would be, if any value could be had.
double vw_circuit_plain(const VwCircuit* circuit,
                        double           c_farad,
                        double           least_ohm);

#endif
