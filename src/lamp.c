#include "pulse.h"

#include "units.h"

#include "volleyweave/volleyweave.h"

#include <math.h>

// A flash of 20 to 50 ms reads well, and the lamp should be dark for at least
// half the period (common practice).
#define ON_MS 30.0
#define ON_SHARE 0.4
#define ON_LEAST_MS 20.0
#define ON_MOST_MS 50.0
#define ON_SHARE_MOST 0.5

// So far below its crest a shot still counts as loud (chosen here).
#define NEAR_DB 12.0

VwLamp
vw_lamp_with(double fire_rate_per_s, double on_ms) {
  const double period_ms = 1000.0 / fire_rate_per_s;
  return (VwLamp){fire_rate_per_s, period_ms, on_ms, on_ms / period_ms};
}

VwLamp
vw_lamp(double fire_rate_per_s) {
  const double period_ms = 1000.0 / fire_rate_per_s;
  return vw_lamp_with(fire_rate_per_s, fmin(ON_MS, ON_SHARE * period_ms));
}

/// How many steps about a shot's crest lie within 12 dB of it, a period at
/// most.
static size_t
near_steps(const VwPulses* pulses, size_t shot) {
  const VwCurve* const curve = &pulses->curve;
  const size_t         from = vw_pulses_step(pulses, shot, 0.0);
  const size_t         to = vw_pulses_step(pulses, shot, 1.0);
  const size_t         crest = vw_curve_crest(curve, from, to);
  const double         least = curve->level[crest] * vw_power_of_db(-NEAR_DB);
  size_t               first = crest;
  size_t               last = crest + 1U;
  while (first > from && curve->level[first - 1U] >= least) {
    --first;
  }
  while (last < first + (to - from) && last < curve->n_steps &&
         curve->level[last] >= least) {
    ++last;
  }
  return last - first;
}

/// A flash that reads well, of a shot that is loud for so long.
static VwOnTime
on_time_for(double near_ms, double period_ms) {
  VwOnTime on_time = {near_ms, near_ms, VW_ON_SOUND};
  if (near_ms < ON_LEAST_MS) {
    on_time = (VwOnTime){ON_LEAST_MS, near_ms, VW_ON_LEAST};
  } else if (near_ms > ON_MOST_MS) {
    on_time = (VwOnTime){ON_MOST_MS, near_ms, VW_ON_MOST};
  }
  if (on_time.on_ms > ON_SHARE_MOST * period_ms) {
    on_time = (VwOnTime){ON_SHARE_MOST * period_ms, near_ms, VW_ON_HALF};
  }
  return on_time;
}

VwStatus
vw_on_time_of_loop(const VwSound* loop, size_t shots, VwOnTime* on_time) {
  VwPulses       pulses = {0};
  const VwStatus st = vw_pulses_take(loop, shots, &pulses);
  if (st) {
    return st;
  }
  double near_ms = 0.0;
  for (size_t i = 0; i < shots; ++i) {
    near_ms += 1000.0 * pulses.curve.step_s * (double)near_steps(&pulses, i) /
               (double)shots;
  }
  const double period_ms =
    1000.0 * (double)loop->n_frames / loop->rate_hz / (double)shots;
  *on_time = on_time_for(near_ms, period_ms);
  vw_pulses_clear(&pulses);
  return VW_OK;
}
