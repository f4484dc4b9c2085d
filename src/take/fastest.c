#include "signal/signal.h"
#include "take/internal.h"
#include "take/take.h"

#include <math.h>
#include <stdlib.h>

/// The level `at` steps into the shot, between steps on a straight line.
static double
level_at(const VwCurve* curve, double at, size_t to) {
  const size_t step = (size_t)at;
  if (step + 1U >= to) {
    return 0.0;
  }
  const double part = at - (double)step;
  return curve->level[step] * (1.0 - part) + curve->level[step + 1U] * part;
}

/// Valley of the energy sum at one fire rate; `levels` holds a period.
static double
valley_at(const VwCurve* curve,
          size_t         from,
          size_t         to,
          double         period,
          double*        levels) {
  const size_t n = (size_t)period;
  for (size_t i = 0; i < n; ++i) {
    levels[i] = 0.0;
    for (double at = (double)(from + i); at < (double)to; at += period) {
      levels[i] += level_at(curve, at, to);
    }
  }
  return vw_valley_of_levels(levels, n);
}

VwStatus
vw_fastest_find(const VwCurve* curve,
                size_t         from,
                size_t         to,
                double*        fire_rate_per_s) {
  const double  longest = 1.0 / VW_FASTEST_LEAST_PER_S / curve->step_s;
  double* const levels = calloc((size_t)longest + 1U, sizeof(double));
  if (!levels) {
    return VW_NO_MEMORY;
  }
  double fastest = NAN;
  for (double rate = VW_FASTEST_LEAST_PER_S; rate <= VW_FASTEST_MOST_PER_S;
       rate += VW_FASTEST_STEP_PER_S) {
    const double period = 1.0 / rate / curve->step_s;
    if (valley_at(curve, from, to, period, levels) < VW_VALLEY_APART_DB) {
      break;
    }
    fastest = rate;
  }
  free(levels);
  *fire_rate_per_s = fastest;
  return VW_OK;
}
