#include "burst/wish.h"

#include "base/size.h"
#include "base/units.h"
#include "burst/options.h"
#include "burst/plan.h"
#include "take/fastest.h"

#include <math.h>
#include <stdint.h>

// Slower than this a trigger held does not feel like rapid fire (from
// memory).
#define CHOSEN_LEAST_PER_S 8.0

// With variation as many shots as this are worth telling apart (6 to 8:
// common practice).
#define VARIED_SHOTS 6U

// A decay that a gap cuts off is hardly told from the others where it is one of
// so many; more only make the file longer (4 to 8: common practice).
#define GAP_SHOTS_LEAST 4U
#define GAP_SHOTS_MOST 8U

bool
vw_wish_is_varied(const VwFamilyOptions* options, size_t n_takes) {
  return n_takes > 1U || options->detune_cents > 0.0 ||
         options->level_spread_db > 0.0;
}

/// The fastest rate that every take stands, but a rapid one.
static double
choose_fire_rate(const VwShotFacts* facts, size_t n_takes) {
  double slowest = VW_FASTEST_MOST_PER_S;
  for (size_t i = 0; i < n_takes; ++i) {
    const double fastest = facts[i].fastest_fire_rate_per_s;
    slowest = fmin(slowest, isnan(fastest) ? 0.0 : fastest);
  }
  return fmax(slowest, CHOSEN_LEAST_PER_S);
}

/// The rate chosen, or a slower one where only that hides the gap, and it is
/// still a burst.
static double
choose_for_gap(double chosen_per_s, const VwPlanWish* wish) {
  if (!wish->gap_frames) {
    return chosen_per_s;
  }
  const double even = vw_plan_even_fire_rate(wish);
  const double steps = floor(even / VW_FASTEST_STEP_PER_S);
  const double slower = steps * VW_FASTEST_STEP_PER_S;
  return slower >= VW_FASTEST_LEAST_PER_S ? fmin(chosen_per_s, slower)
                                          : chosen_per_s;
}

VwPlanWish
vw_wish_make(const VwFamilyOptions* options,
             const VwShotFacts*     facts,
             size_t                 n_takes,
             unsigned               rate_hz) {
  const bool   repeats = options->form == VW_FORM_WHOLE_FILE;
  const double gap_s = repeats ? options->gap_ms / 1000.0 : 0.0;
  VwPlanWish   wish = {.fire_rate_per_s = options->fire_rate_per_s,
                       .rate_hz = rate_hz,
                       .cycle_max_s = options->cycle_max_s,
                       .frames_most = vw_size_loop_most(options),
                       .gap_frames = vw_frames_of_s(gap_s, rate_hz),
                       .frames_unit = vw_size_loop_unit(options),
                       .shots = options->shots,
                       .shots_least = 1U,
                       .shots_most = UINT32_MAX,
                       .shots_unit = (unsigned)n_takes};
  if (wish.fire_rate_per_s == 0.0) {
    wish.fire_rate_per_s =
      choose_for_gap(choose_fire_rate(facts, n_takes), &wish);
  }
  if (wish.gap_frames) {
    wish.shots_least = GAP_SHOTS_LEAST;
    wish.shots_most = GAP_SHOTS_MOST;
  }
  if (vw_wish_is_varied(options, n_takes)) {
    wish.shots_least = VARIED_SHOTS;
  }
  return wish;
}

VwStatus
vw_plan_find(const VwFamilyOptions* options, VwPlan* plan) {
  if (!vw_options_are_sound(options, 1U) || options->fire_rate_per_s == 0.0 ||
      !options->format.rate_hz) {
    return VW_BAD_OPTION;
  }
  const VwPlanWish wish =
    vw_wish_make(options, NULL, 1U, options->format.rate_hz);
  VwPlan         out = {0};
  const VwStatus st = vw_plan_make(&wish, &out);
  if (!st) {
    out.fewer_shots &= vw_wish_is_varied(options, 1U);
    *plan = out;
  }
  return st;
}
