#include "base/ranges.h"
#include "base/size.h"
#include "base/units.h"
#include "burst/burst.h"
#include "signal/signal.h"
#include "take/take.h"

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

/// Whether the gap is too long to lie in the last decay. Its own rounding to
/// frames makes no difference.
static bool
is_uneven(const VwPlanWish* wish) {
  const double period = (double)wish->rate_hz / wish->fire_rate_per_s;
  return (double)wish->gap_frames > VW_GAP_HIDDEN * period + 0.5;
}

/// The fastest rate at which the gap is hidden; infinite without one.
static double
even_fire_rate(const VwPlanWish* wish) {
  return VW_GAP_HIDDEN * (double)wish->rate_hz / (double)wish->gap_frames;
}

/// How much of the gap is part of the periods.
static double
hidden_gap(const VwPlanWish* wish) {
  return is_uneven(wish) ? 0.0 : (double)wish->gap_frames;
}

/// Of the shots laid in a file of so many frames, a heard gap left aside.
static double
error_ppm(const VwPlanWish* wish, unsigned shots, size_t n_frames) {
  const double rate = (double)shots * (double)wish->rate_hz /
                      ((double)n_frames + hidden_gap(wish));
  return (rate / wish->fire_rate_per_s - 1.0) * 1e6;
}

/// The most frames that a file may have.
static size_t
frames_most(const VwPlanWish* wish) {
  // A wish that fills the longest cycle is met by its nearest whole frames.
  const double cycle = wish->cycle_max_s * (double)wish->rate_hz * (1.0 + 1e-9);
  return cycle < (double)wish->frames_most ? (size_t)cycle : wish->frames_most;
}

/// The file's length nearest to the wish, never 0. One that is too long gives
/// way to the longest, where that meets the fire rate well enough.
static size_t
frames_for(const VwPlanWish* wish, unsigned shots) {
  const size_t unit = wish->frames_unit;
  const double wanted =
    (double)shots * (double)wish->rate_hz / wish->fire_rate_per_s -
    hidden_gap(wish);
  const size_t low = (size_t)fmax(floor(wanted / (double)unit), 1.0) * unit;
  const size_t high = low + unit;
  const size_t nearest =
    fabs(error_ppm(wish, shots, low)) <= fabs(error_ppm(wish, shots, high))
      ? low
      : high;
  const size_t most = frames_most(wish) / unit * unit;
  const bool   as_well =
    most && fabs(error_ppm(wish, shots, most)) <= VW_ERROR_MOST_PPM;
  return nearest > most && as_well ? most : nearest;
}

static bool
fits(const VwPlanWish* wish, unsigned shots) {
  return shots <= VW_CYCLE_SHOTS_MOST &&
         frames_for(wish, shots) <= frames_most(wish);
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

/// The number of shots, `least` or more, that comes nearest.
static unsigned
best_shots(const VwPlanWish* wish, unsigned least) {
  unsigned best = least;
  double   best_ppm = HUGE_VAL;
  for (unsigned shots = least;
       best_ppm > VW_ERROR_MOST_PPM && fits(wish, shots) &&
       (shots == least || shots <= wish->shots_most);
       shots += wish->shots_unit) {
    const double ppm = fabs(error_ppm(wish, shots, frames_for(wish, shots)));
    best = ppm < best_ppm ? shots : best;
    best_ppm = fmin(ppm, best_ppm);
  }
  return best;
}

/// Why so many shots do not fit.
static VwStatus
refusal(const VwPlanWish* wish, unsigned shots) {
  VwPlanWish unlimited = *wish;
  unlimited.frames_most = SIZE_MAX;
  return fits(&unlimited, shots) ? VW_FILE_TOO_BIG : VW_CYCLE_TOO_LONG;
}

/// The fire rate of `shots` in so many frames.
static double
rate_of(const VwPlanWish* wish, unsigned shots, double n_frames) {
  return (double)shots * (double)wish->rate_hz / n_frames;
}

static void
set_cycle(const VwPlanWish* wish, unsigned shots, VwPlan* plan) {
  const size_t n_file = frames_for(wish, shots);
  const double gap = (double)wish->gap_frames;
  const double wanted =
    (double)shots * (double)wish->rate_hz / wish->fire_rate_per_s;
  plan->shots = shots;
  plan->n_frames = n_file + wish->gap_frames;
  plan->gap_frames = wish->gap_frames;
  plan->rate_hz = wish->rate_hz;
  plan->uneven = is_uneven(wish);
  plan->fire_rate_asked_per_s = wish->fire_rate_per_s;
  plan->fire_rate_per_s = rate_of(wish, shots, (double)plan->n_frames);
  plan->error_ppm = (plan->fire_rate_per_s / wish->fire_rate_per_s - 1.0) * 1e6;
  plan->plain_fire_rate_per_s = wish->gap_frames && !plan->uneven
                                  ? rate_of(wish, shots, wanted + gap)
                                  : plan->fire_rate_per_s;
  plan->even_fire_rate_per_s =
    plan->uneven ? even_fire_rate(wish) : (double)NAN;
}

/// Let a cycle be a multiple of its variants, as many as it holds; true where
/// that is fewer.
static bool
hold_variants(VwPlanWish* wish) {
  unsigned n = wish->variants;
  while (n > 1U && !fits(wish, n * wish->shots_unit)) {
    --n;
  }
  wish->shots_unit *= n > 1U ? n : 1U;
  return n < wish->variants;
}

VwStatus
vw_plan_make(const VwPlanWish* wish, VwPlan* plan) {
  VwPlan     out = {0};
  VwPlanWish held = *wish;
  unsigned   shots = wish->shots;
  if (shots && !fits(wish, shots)) {
    return refusal(wish, shots);
  }
  if (!shots) {
    const bool     less = hold_variants(&held);
    const unsigned least = least_shots(&held, &out.fewer_shots);
    if (!least) {
      return refusal(wish, wish->shots_unit);
    }
    out.fewer_shots |= less;
    shots = best_shots(&held, least);
  }
  set_cycle(wish, shots, &out);
  *plan = out;
  return VW_OK;
}

size_t
vw_plan_file_frames(const VwPlan* plan) {
  return plan->n_frames - plan->gap_frames;
}

/// What the shots of a cycle share out among them.
static size_t
shared_frames(const VwPlan* plan) {
  return plan->uneven ? vw_plan_file_frames(plan) : plan->n_frames;
}

double
vw_plan_period_s(const VwPlan* plan) {
  return (double)shared_frames(plan) / (double)plan->shots /
         (double)plan->rate_hz;
}

size_t
vw_plan_start(const VwPlan* plan, size_t index) {
  const size_t cycle = index / plan->shots;
  const size_t shot = index % plan->shots;
  return cycle * plan->n_frames +
         (2U * shot * shared_frames(plan) + plan->shots) / (2U * plan->shots);
}

VwMade
vw_made_of(const VwFamily* family, VwPart part, unsigned burst_shots) {
  const VwPlan* const plan = &family->plan;
  VwMade              made = {.part = part};
  switch (part) {
    case VW_PART_SHOT:
      made.shots = 1U;
      break;
    case VW_PART_LOOP:
      made.shots = plan->shots;
      made.gap_ms = 1000.0 * (double)plan->gap_frames / (double)plan->rate_hz;
      break;
    case VW_PART_BURST:
      if (plan->shots && family->join.n_frames) {
        return (VwMade){0}; // what leads in to it has shots too
      }
      made.shots = plan->shots ? burst_shots : 0U;
      made.fire_rate_per_s = plan->shots ? plan->fire_rate_per_s : 0.0;
      break;
    case VW_PART_RUN_IN:
    case VW_PART_RING_OUT:
      if (!family->join.shots) {
        return (VwMade){0};
      }
      made.shots = part == VW_PART_RUN_IN ? family->run_in_shots
                                          : family->join.ring_out_shots;
      break;
    case VW_PART_WHOLE:
      break;
  }
  return made;
}

bool
vw_wish_is_varied(const VwFamilyOptions* options, size_t n_takes) {
  return n_takes > 1U || options->detune_cents > 0.0 ||
         options->level_spread_db > 0.0 || options->variants;
}

unsigned
vw_wish_variants(const VwFamilyOptions* options,
                 unsigned               n_shots,
                 size_t                 n_takes) {
  const unsigned of_each = n_shots / (unsigned)n_takes;
  const unsigned asked = options->variants;
  // Each comes as often as every other, or every shot is another.
  return asked && of_each % asked ? of_each : asked;
}

/// The fastest rate that every take stands and at which each attack reads as
/// one, but a rapid one.
static double
choose_fire_rate(const VwShotFacts* facts, size_t n_takes) {
  double slowest = VW_FASTEST_MOST_PER_S;
  for (size_t i = 0; i < n_takes; ++i) {
    const double fastest = facts[i].fastest_fire_rate_per_s;
    const double reads = 1000.0 * VW_ATTACK_SHARE_MOST / facts[i].rise_ms;
    slowest = fmin(slowest, isnan(fastest) ? 0.0 : fastest);
    slowest = fmin(
      slowest, floor(reads / VW_FASTEST_STEP_PER_S) * VW_FASTEST_STEP_PER_S);
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
  const double even = even_fire_rate(wish);
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
  VwPlanWish wish = {.fire_rate_per_s = options->fire_rate_per_s,
                     .rate_hz = rate_hz,
                     .cycle_max_s = options->cycle_max_s,
                     .frames_most = vw_size_loop_most(options),
                     .gap_frames = vw_size_gap(options, rate_hz),
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
  if (options->variants) {
    wish.variants = options->variants;
  } else if (vw_wish_is_varied(options, n_takes)) {
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
