#include "plan.h"

#include <math.h>

#define ERROR_MOST_PPM 1000.0
#define SHOTS_MOST 64U

static double
error_ppm(const VwPlanWish* wish, unsigned shots, size_t n_frames) {
  const double rate = (double)shots * (double)wish->rate_hz / (double)n_frames;
  return (rate / wish->fire_rate_per_s - 1.0) * 1e6;
}

/// The cycle's length nearest to the wish, never 0.
static size_t
frames_for(const VwPlanWish* wish, unsigned shots) {
  const double wanted =
    (double)shots * (double)wish->rate_hz / wish->fire_rate_per_s;
  const double units = floor(wanted / (double)wish->frames_unit + 0.5);
  return (size_t)fmax(units, 1.0) * wish->frames_unit;
}

static bool
fits(const VwPlanWish* wish, unsigned shots) {
  // A wish that fills the longest cycle is met by its nearest whole frames.
  const double wanted_s = (double)shots / wish->fire_rate_per_s;
  return shots <= SHOTS_MOST && wanted_s <= wish->cycle_max_s * (1.0 + 1e-9);
}

/// The least number of shots wanted that the cycle holds, or 0.
static unsigned
least_shots(const VwPlanWish* wish, bool* fewer) {
  const unsigned unit = wish->shots_unit;
  unsigned       least = (wish->shots_least + unit - 1U) / unit * unit;
  least = least < unit ? unit : least;
  *fewer = false;
  while (least && !fits(wish, least)) {
    *fewer = true;
    least -= unit;
  }
  return least;
}

static void
set_cycle(const VwPlanWish* wish, unsigned shots, VwPlan* plan) {
  plan->shots = shots;
  plan->n_frames = frames_for(wish, shots);
  plan->rate_hz = wish->rate_hz;
  plan->fire_rate_asked_per_s = wish->fire_rate_per_s;
  plan->fire_rate_per_s =
    (double)shots * (double)wish->rate_hz / (double)plan->n_frames;
  plan->error_ppm = error_ppm(wish, shots, plan->n_frames);
}

VwStatus
vw_plan_make(const VwPlanWish* wish, VwPlan* plan) {
  VwPlan out = {0};
  if (wish->shots) {
    if (!fits(wish, wish->shots)) {
      return VW_CYCLE_TOO_LONG;
    }
    set_cycle(wish, wish->shots, &out);
    *plan = out;
    return VW_OK;
  }
  const unsigned least = least_shots(wish, &out.fewer_shots);
  if (!least) {
    return VW_CYCLE_TOO_LONG;
  }
  unsigned best = least;
  double   best_ppm = HUGE_VAL;
  for (unsigned shots = least; best_ppm > ERROR_MOST_PPM && fits(wish, shots);
       shots += wish->shots_unit) {
    const double ppm = fabs(error_ppm(wish, shots, frames_for(wish, shots)));
    best = ppm < best_ppm ? shots : best;
    best_ppm = fmin(ppm, best_ppm);
  }
  set_cycle(wish, best, &out);
  *plan = out;
  return VW_OK;
}

size_t
vw_plan_start(const VwPlan* plan, size_t index) {
  const size_t cycle = index / plan->shots;
  const size_t shot = index % plan->shots;
  return cycle * plan->n_frames +
         (2U * shot * plan->n_frames + plan->shots) / (2U * plan->shots);
}
