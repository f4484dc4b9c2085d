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

VwBeat
vw_beat(const VwLamp* lamp, size_t shots, double heard_gap_ms) {
  if (shots < 2U || !(heard_gap_ms > 0.0)) {
    return (VwBeat){1U, lamp->period_ms, lamp->period_ms};
  }
  const double interval_ms = lamp->period_ms - heard_gap_ms / (double)shots;
  return (VwBeat){shots, interval_ms, interval_ms + heard_gap_ms};
}

double
vw_beat_off_ms(const VwBeat* beat) {
  return (beat->last_ms - beat->interval_ms) * (double)(beat->shots - 1U) /
         (double)beat->shots;
}

/// A lamp, and the timer that is to flash it.
typedef struct {
  const VwLamp* lamp;
  const VwBeat* beat;
  double        most; ///< Counts of the timer.
} Search;

/// What a prescaler and so many counts of a cycle make of it.
static VwCounts
counts_of(const Search* search,
          double        ticks_per_s,
          unsigned      prescaler,
          double        n_cycle) {
  const VwLamp* const lamp = search->lamp;
  const double        shots = (double)search->beat->shots;
  const double        rate_hz = ticks_per_s * shots / n_cycle;
  const double        interval =
    shots > 1.0 ? floor(search->beat->interval_ms / 1000.0 * ticks_per_s + 0.5)
                       : n_cycle;
  const double last = n_cycle - (shots - 1.0) * interval;
  const double on = floor(lamp->on_ms / 1000.0 * ticks_per_s + 0.5);
  const double held = fmin(fmax(on, 1.0), fmin(interval, last) - 1.0);
  if (interval < COUNTS_LEAST || last < COUNTS_LEAST || last > search->most) {
    return (VwCounts){.error_ppm = HUGE_VAL};
  }
  return (VwCounts){.prescaler = prescaler,
                    .period_counts = (uint64_t)interval,
                    .last_counts = (uint64_t)last,
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
  return one->prescaler &&
         (!best->prescaler || error < least ||
          (error <= least && one->prescaler < best->prescaler));
}

VwStatus
vw_counts_find(const VwLamp*    lamp,
               const VwBeat*    beat,
               const VwCounter* counter,
               VwCounts*        counts) {
  if (!is_sound(counter) || !(lamp->pulse_hz > 0.0) || !(lamp->on_ms > 0.0)) {
    return VW_BAD_OPTION;
  }
  const Search search = {lamp, beat, ldexp(1.0, (int)counter->bits)};
  const double shots = (double)beat->shots;
  VwCounts     best = {0};
  for (size_t i = 0; i < counter->n_prescalers; ++i) {
    const unsigned prescaler = counter->prescalers[i];
    const double   ticks_per_s = counter->clock_hz / prescaler;
    const double   below = floor(ticks_per_s * shots / lamp->pulse_hz);
    // The rate is not linear in the counts, so both neighbours are tried.
    for (int up = 0; up < 2; ++up) {
      const double n =
        fmin(fmax(below + up, shots * COUNTS_LEAST), shots * search.most);
      const VwCounts one = counts_of(&search, ticks_per_s, prescaler, n);
      best = is_better(&one, &best) ? one : best;
    }
  }
  if (!best.prescaler || fabs(best.error_ppm) > ERROR_MOST_PPM) {
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
