#include "lamp/lamp.h"

#include "volleyweave/volleyweave.h"

#include <math.h>

double
vw_drift_s(double error, double period_ms) {
  const double apart = fabs(error);
  return apart > 0.0 && period_ms / 2.0 >= VW_NOTICED_MS
           ? VW_NOTICED_MS / 1000.0 / apart
           : (double)NAN;
}
