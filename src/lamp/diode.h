#ifndef VW_DIODE_H
#define VW_DIODE_H

#include "lamp/lamp.h"

#include "volleyweave/volleyweave.h"

/// A diode at one temperature.
typedef struct {
  double saturation_a; ///< Is.
  double slope_v;      ///< n Vt.
} VwDiodeCurve;

/// The curve of a diode.
VwDiodeCurve vw_diode_curve(const VwDiode* diode, double celsius);

/// The current at a voltage.
double vw_diode_curve_a(const VwDiodeCurve* curve, double volts);

#endif
