// The fire rate of a recording of rapid fire.

#include "base/units.h"
#include "lamp/lamp.h"
#include "lamp/pulse.h"

#include "volleyweave/volleyweave.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

// Bounds without a source beside them are simulated here: with them the rapid
// fire of the test of found rates is read within its limits.

// Fire rates that are looked for.
#define RATE_LEAST_PER_S 2.5
#define RATE_MOST_PER_S 25.0

#define SHOTS_LEAST 4U

// Levels farther below the crest count as silence.
#define FLOOR_DB 25.0

// The rise of a level is taken over twice this.
#define HALF_RISE_S 0.005

// A rise belongs to a shot where it is so large beside those of the loudest.
#define RISE_SHARE 0.4

// Shots lie at least so far apart, and at most, in parts of the period; a
// person hears one displaced by less as even.
#define NEAREST_SHARE 0.7
#define FARTHEST_SHARE 1.3
#define JITTER_SHARE_MOST 0.12

// The crest of a shot lies within so much of its steepest rise.
#define CREST_AFTER_S 0.012

/// What is known of a recording.
typedef struct {
  VwCurve curve;
  double* rise;  ///< How much the level rises about each step, dB. Owned.
  size_t* shots; ///< Steps of the shots' rises. Owned.
  size_t  n_shots;
  double  floor; ///< Power that counts as silence.
} Heard;

static double
db_at(const Heard* heard, size_t step) {
  return vw_db_of_power(fmax(heard->curve.level[step], heard->floor));
}

static VwStatus
take_rises(Heard* heard) {
  const VwCurve* const curve = &heard->curve;
  const size_t         reach = vw_curve_steps(curve, HALF_RISE_S);
  const double crest = curve->level[vw_curve_crest(curve, 0, curve->n_steps)];
  heard->floor = crest * vw_power_of_db(-FLOOR_DB);
  heard->rise = calloc(curve->n_steps + 1U, sizeof(double));
  heard->shots = calloc(curve->n_steps + 1U, sizeof(size_t));
  if (!heard->rise || !heard->shots) {
    return VW_NO_MEMORY;
  }
  if (!(crest > 0.0)) {
    return VW_NO_STEADY_RATE;
  }
  for (size_t i = 0; i + reach < curve->n_steps; ++i) {
    const size_t before = i > reach ? i - reach : 0U;
    heard->rise[i] = fmax(db_at(heard, i + reach) - db_at(heard, before), 0.0);
  }
  return VW_OK;
}

/* Period */

static double
correlation(const Heard* heard, size_t lag) {
  const size_t n = heard->curve.n_steps;
  double       sum = 0.0;
  for (size_t i = 0; i + lag < n; ++i) {
    sum += heard->rise[i] * heard->rise[i + lag];
  }
  // The overlap shrinks with the lag; so does the sum.
  return sum * (double)n / (double)(n - lag);
}

/// The shortest lag that fits nearly as well as any, or 0.
static size_t
coarse_period(const Heard* heard) {
  const size_t shortest = vw_curve_steps(&heard->curve, 1.0 / RATE_MOST_PER_S);
  const size_t longest = vw_curve_steps(&heard->curve, 1.0 / RATE_LEAST_PER_S);
  double       best = 0.0;
  size_t       period = 0;
  double*      values = calloc(longest + 2U, sizeof(double));
  for (size_t lag = shortest;
       values && lag <= longest && lag + shortest < heard->curve.n_steps;
       ++lag) {
    values[lag] = correlation(heard, lag);
    best = fmax(best, values[lag]);
  }
  for (size_t lag = shortest + 1U; values && !period && lag < longest; ++lag) {
    const bool top =
      values[lag] >= values[lag - 1U] && values[lag] > values[lag + 1U];
    period = top && values[lag] >= 0.7 * best ? lag : 0U;
  }
  free(values);
  return period;
}

/* Shots */

/// The highest rise in [from, to).
static size_t
highest_rise(const Heard* heard, size_t from, size_t to) {
  size_t best = from;
  for (size_t i = from; i < to && i < heard->curve.n_steps; ++i) {
    best = heard->rise[i] > heard->rise[best] ? i : best;
  }
  return best;
}

/// Every step whose rise is the highest within `reach` of it, and high.
static void
pick_shots(Heard* heard, size_t period) {
  const size_t n = heard->curve.n_steps;
  const size_t reach = (size_t)(NEAREST_SHARE * (double)period);
  const double least = RISE_SHARE * heard->rise[highest_rise(heard, 0, n)];
  heard->n_shots = 0;
  for (size_t i = 0; i < n; ++i) {
    const size_t from = i > reach ? i - reach : 0U;
    if (heard->rise[i] >= least &&
        highest_rise(heard, from, i + reach + 1U) == i) {
      heard->shots[heard->n_shots++] = i;
    }
  }
}

/// Where the level of a shot comes to half its first crest, in steps: its
/// attack, since the window is symmetrical.
static double
attack_of(const Heard* heard, size_t shot, size_t period) {
  const VwCurve* const curve = &heard->curve;
  const size_t         rise = heard->shots[shot];
  const size_t         window = vw_curve_steps(curve, CREST_AFTER_S);
  const size_t         crest = vw_curve_crest(curve, rise, rise + window);
  const size_t         first = rise > period / 2U ? rise - period / 2U : 0U;
  size_t               low = crest;
  while (low > first && curve->level[low - 1U] < curve->level[low]) {
    --low;
  }
  const double half = 0.5 * (curve->level[crest] + curve->level[low]);
  size_t       at = low;
  while (at + 1U < crest && curve->level[at + 1U] < half) {
    ++at;
  }
  const double here = curve->level[at];
  const double next = curve->level[at + 1U];
  return (double)at + (next > here ? (half - here) / (next - here) : 0.0);
}

/// Mean period of the shots and how uneven they are. False where they are not
/// steady.
static bool
fit(const Heard* heard, size_t period, VwRateFound* found) {
  const size_t n = heard->n_shots;
  if (n < SHOTS_LEAST) {
    return false;
  }
  const double first = attack_of(heard, 0, period);
  const double last = attack_of(heard, n - 1U, period);
  const double mean = (last - first) / (double)(n - 1U);
  double       square = 0.0;
  double       before = first;
  for (size_t i = 1; i < n; ++i) {
    const double at = attack_of(heard, i, period);
    const double off = at - first - mean * (double)i;
    if (at - before < NEAREST_SHARE * mean ||
        at - before > FARTHEST_SHARE * mean) {
      return false;
    }
    square += off * off / (double)n;
    before = at;
  }
  const double jitter = sqrt(square);
  found->fire_rate_per_s = 1.0 / (mean * heard->curve.step_s);
  found->shots = n;
  found->jitter_ms = 1000.0 * jitter * heard->curve.step_s;
  return jitter <= JITTER_SHARE_MOST * mean;
}

static VwStatus
find_rate(Heard* heard, VwRateFound* found) {
  const VwStatus st = take_rises(heard);
  if (st) {
    return st;
  }
  const size_t period = coarse_period(heard);
  VwRateFound  out = {0};
  if (!period) {
    return VW_NO_STEADY_RATE;
  }
  pick_shots(heard, period);
  if (!fit(heard, period, &out)) {
    return VW_NO_STEADY_RATE;
  }
  *found = out;
  return VW_OK;
}

VwStatus
vw_rate_of_recording(const VwSound* recording, VwRateFound* found) {
  VwSound  mono = {0};
  Heard    heard = {0};
  VwStatus st = vw_pulse_channel(recording, &mono);
  st = st ? st : vw_curve_take(&mono, &heard.curve);
  st = st ? st : find_rate(&heard, found);
  vw_curve_clear(&heard.curve);
  free(heard.rise);
  free(heard.shots);
  vw_sound_clear(&mono);
  return st;
}
