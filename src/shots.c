#include "shots.h"

#include "units.h"

// A crest so far below the loudest is still one of the take's shots.
#define CREST_RANGE_DB 6.0

// Between two shots the level falls at least so far.
#define DIP_DB 12.0

// 20 shots per second, beyond which shots fuse into a buzz (common practice).
#define CLOSEST_S 0.050

/// The run through a take's level.
typedef struct {
  double   crest_level; ///< Highest level of the shot at hand.
  size_t   crest;       ///< Where.
  bool     fallen;      ///< The level has fallen since.
  size_t   quietest;    ///< Where it was lowest since.
  unsigned n_shots;
} Run;

static void
follow(Run* run, const VwCurve* curve, size_t i) {
  const double level = curve->level[i];
  if (level > run->crest_level) {
    run->crest_level = level;
    run->crest       = i;
    run->quietest    = i;
    run->fallen      = false;
  } else {
    run->quietest = level < curve->level[run->quietest] ? i : run->quietest;
    run->fallen =
      run->fallen || level < run->crest_level * vw_power_of_db(-DIP_DB);
  }
}

VwShots
vw_shots_find(const VwCurve* curve) {
  const size_t n       = curve->n_steps;
  const double loudest = curve->level[vw_curve_crest(curve, 0, n)];
  const double near    = loudest * vw_power_of_db(-CREST_RANGE_DB);
  const size_t closest = vw_curve_steps(curve, CLOSEST_S);
  VwShots      shots   = {0, 0, n, 0};
  Run          run     = {0};
  for (size_t i = 0; i < n; ++i) {
    const bool loud = curve->level[i] >= near;
    if (loud && !run.n_shots) {
      shots.rise = i;
      run        = (Run){curve->level[i], i, false, i, 1U};
    } else if (loud && run.fallen && i - run.crest >= closest) {
      shots.limit = run.n_shots == 1U ? run.quietest : shots.limit;
      run         = (Run){curve->level[i], i, false, i, run.n_shots + 1U};
    } else if (run.n_shots) {
      follow(&run, curve, i);
    }
  }
  shots.n_shots = run.n_shots;
  shots.crest   = vw_curve_crest(curve, shots.rise, shots.limit);
  return shots;
}

double
vw_shots_loud_s(const VwCurve* curve) {
  const size_t n       = curve->n_steps;
  const double loudest = curve->level[vw_curve_crest(curve, 0, n)];
  const double loud    = loudest * vw_power_of_db(-DIP_DB);
  size_t       n_loud  = 0;
  for (size_t i = 0; i < n; ++i) {
    n_loud += curve->level[i] >= loud ? 1U : 0U;
  }
  return (double)n_loud * curve->step_s;
}
