#include "base/units.h"
#include "take/internal.h"

// A crest so far below the loudest is still one of the take's shots.
#define CREST_RANGE_DB 6.0

// Between two shots the level falls at least so far ...
#define DIP_DB 12.0

// ... for so long: a trill dips for less, and at 20 shots per second, beyond
// which shots fuse into a buzz (common practice), half the period is as long.
#define DIP_S 0.025

// A sound that stays so long within the dip of its crest is no shot; nor are
// stretches of one that never falls so far between them.
#define SUSTAINED_S 0.9
#define SILENCE_DB 25.0

/// The run through a take's level.
typedef struct {
  double   crest_level; ///< Highest level of the shot at hand.
  size_t   quietest;    ///< Where the level was lowest since its crest.
  size_t   n_low;       ///< For how many steps it has been low.
  bool     fallen;      ///< It has been low for long enough.
  unsigned n_shots;
} Run;

static Run
run_start(const VwCurve* curve, size_t i, unsigned n_shots) {
  return (Run){
    .crest_level = curve->level[i], .quietest = i, .n_shots = n_shots};
}

static void
follow(Run* run, const VwCurve* curve, size_t i) {
  const double level = curve->level[i];
  if (level > run->crest_level) {
    *run = run_start(curve, i, run->n_shots);
    return;
  }
  const bool low = level < run->crest_level * vw_power_of_db(-DIP_DB);
  run->n_low = low ? run->n_low + 1U : 0U;
  run->fallen = run->fallen || run->n_low >= vw_curve_steps(curve, DIP_S);
  run->quietest = level < curve->level[run->quietest] ? i : run->quietest;
}

VwShots
vw_shots_find(const VwCurve* curve) {
  const size_t n = curve->n_steps;
  const double loudest = curve->level[vw_curve_crest(curve, 0, n)];
  const double near = loudest * vw_power_of_db(-CREST_RANGE_DB);
  VwShots      shots = {.limit = n};
  Run          run = {0};
  for (size_t i = 0; i < n; ++i) {
    const bool loud = curve->level[i] >= near;
    if (loud && !run.n_shots) {
      shots.rise = i;
      run = run_start(curve, i, 1U);
    } else if (loud && run.fallen) {
      shots.limit = run.n_shots == 1U ? run.quietest : shots.limit;
      shots.last = i;
      run = run_start(curve, i, run.n_shots + 1U);
    } else if (run.n_shots) {
      follow(&run, curve, i);
    }
  }
  shots.n_shots = run.n_shots;
  shots.crest = vw_curve_crest(curve, shots.rise, shots.limit);
  return shots;
}

/// Seconds of [from, to) in which the level is within 12 dB of the crest.
static double
loud_s(const VwCurve* curve, size_t from, size_t to, double crest_level) {
  const double loud = crest_level * vw_power_of_db(-DIP_DB);
  size_t       n_loud = 0;
  for (size_t i = from; i < to; ++i) {
    n_loud += curve->level[i] >= loud ? 1U : 0U;
  }
  return (double)n_loud * curve->step_s;
}

/// Whether the level falls by 25 dB somewhere between the shots.
static bool
falls_between(const VwCurve* curve, const VwShots* shots) {
  const double low = curve->level[shots->crest] * vw_power_of_db(-SILENCE_DB);
  for (size_t i = shots->rise; i < shots->last; ++i) {
    if (curve->level[i] < low) {
      return true;
    }
  }
  return false;
}

bool
vw_shots_sustained(const VwCurve* curve, const VwShots* shots) {
  const double crest = curve->level[shots->crest];
  return loud_s(curve, shots->rise, shots->limit, crest) >= SUSTAINED_S ||
         (loud_s(curve, 0, curve->n_steps, crest) >= SUSTAINED_S &&
          !falls_between(curve, shots));
}
