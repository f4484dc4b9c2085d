#include "base/ranges.h"
#include "lamp/lamp.h"

#include <math.h>

// A lamp that is to go on and off needs two counts.
#define COUNTS_LEAST 2.0

// Farther off it is another rate: 45 ms apart within half a second (closed
// form).
#define ERROR_MOST_PPM 1e5

static bool
is_sound(const VwCounter* counter) {
  bool sound = vw_is_within(counter->clock_hz, (VwRange)VW_RANGE_CLOCK_HZ) &&
               vw_is_within(counter->bits, (VwRange)VW_RANGE_TIMER_BITS) &&
               counter->n_prescalers >= 1U &&
               counter->n_prescalers <= VW_PRESCALERS_MOST;
  for (size_t i = 0; sound && i < counter->n_prescalers; ++i) {
    sound = vw_is_within(counter->prescalers[i], (VwRange)VW_RANGE_PRESCALER);
  }
  return sound;
}

/// What a prescaler and so many counts make of it.
static VwCounts
counts_of(const VwLamp* lamp,
          double        ticks_per_s,
          unsigned      prescaler,
          double        n_counts) {
  const double rate_hz = ticks_per_s / n_counts;
  const double on = floor(lamp->on_ms / 1000.0 * ticks_per_s + 0.5);
  const double held = fmin(fmax(on, 1.0), n_counts - 1.0);
  return (VwCounts){.prescaler = prescaler,
                    .period_counts = (uint64_t)n_counts,
                    .on_counts = (uint64_t)held,
                    .rate_hz = rate_hz,
                    .on_ms = 1000.0 * held / ticks_per_s,
                    .error_ppm = (rate_hz / lamp->pulse_hz - 1.0) * 1e6};
}

/// Whether `one` is better than the best so far.
static bool
is_better(const VwCounts* one, const VwCounts* best) {
  const double error = fabs(one->error_ppm);
  const double least = fabs(best->error_ppm);
  return !best->prescaler || error < least ||
         (error <= least && one->prescaler < best->prescaler);
}

VwStatus
vw_counts_find(const VwLamp* lamp, const VwCounter* counter, VwCounts* counts) {
  if (!is_sound(counter) || !(lamp->pulse_hz > 0.0) || !(lamp->on_ms > 0.0)) {
    return VW_BAD_OPTION;
  }
  const double most = ldexp(1.0, (int)counter->bits);
  VwCounts     best = {0};
  for (size_t i = 0; i < counter->n_prescalers; ++i) {
    const unsigned prescaler = counter->prescalers[i];
    const double   ticks_per_s = counter->clock_hz / prescaler;
    const double   below = floor(ticks_per_s / lamp->pulse_hz);
    // The rate is not linear in the counts, so both neighbours are tried.
    for (int up = 0; up < 2; ++up) {
      const double   n = fmin(fmax(below + up, COUNTS_LEAST), most);
      const VwCounts one = counts_of(lamp, ticks_per_s, prescaler, n);
      best = is_better(&one, &best) ? one : best;
    }
  }
  if (fabs(best.error_ppm) > ERROR_MOST_PPM) {
    return VW_COUNTS_FEW;
  }
  *counts = best;
  return VW_OK;
}

double
vw_drift_s(double error, double period_ms) {
  const double apart = fabs(error);
  return apart > 0.0 && period_ms / 2.0 >= VW_NOTICED_MS
           ? VW_NOTICED_MS / 1000.0 / apart
           : (double)NAN;
}
