#include "burst/settle.h"

#include "base/units.h"
#include "burst/internal.h"
#include "signal/signal.h"
#include "take/take.h"

#include <math.h>
#include <stdlib.h>

// Rounds of bend and gain. One does, but where the burst itself is brought to a
// loudness: then up to ten (of 204 loops made of real recordings).
#define ROUNDS_MOST 12

// What is added to a miss, so that few rounds make up for it (chosen here).
#define SPARE_DB 0.05

// One round takes the constant of a loop but for what the limiter makes of it.
#define CONSTANT_ROUNDS 3

/* Bend */

VwVolley
vw_settling_volley(const VwFamily* family) {
  return (VwVolley){.shots = family->shots,
                    .plan = &family->plan,
                    .tail = family->tail,
                    .natural = family->tightening == VW_BEND_NATURAL,
                    .ceiling = HUGE_VAL,
                    .closed = family->form == VW_FORM_WHOLE_FILE};
}

VwStatus
vw_settling_shots(VwSettling* work) {
  VwFamily* const family = work->family;
  for (unsigned i = 0; i < family->plan.shots; ++i) {
    vw_sound_clear(&family->shots[i]);
  }
  work->slope = 0.0;
  return vw_cycle_make(work->alone, work->options, family, work->bend_from);
}

/// How far a slope brings a decay down by one period after the attack.
static double
fall_in_period(const VwSettling* work, double slope_db_per_s) {
  const VwPlan* const plan = &work->family->plan;
  size_t              earliest = work->bend_from[0];
  for (unsigned i = 1; i < plan->shots; ++i) {
    earliest = work->bend_from[i] < earliest ? work->bend_from[i] : earliest;
  }
  const double from_s = (double)earliest / plan->rate_hz -
                        (double)vw_shot_pre_roll(plan->rate_hz) / plan->rate_hz;
  return slope_db_per_s * fmax(vw_plan_period_s(plan) - from_s, 0.0);
}

/// Bend the tails until the cycle has the valley asked for and so much more,
/// held under a ceiling that is no lower than needs so much limiting; both are
/// those before gain.
static VwStatus
tighten(VwSettling* work,
        double      ceiling,
        double      limiting_most_db,
        double      over_db) {
  VwFamily* const family = work->family;
  VwVolley        volley = vw_settling_volley(family);
  VwTightness     tightness = {0};
  volley.ceiling = ceiling;
  volley.limiting_most_db = limiting_most_db;
  VwStatus st = vw_tighten(&volley,
                           family->shots,
                           work->bend_from,
                           family->valley_asked_db + over_db,
                           &tightness);
  if (!st && family->variants) {
    st =
      vw_variants_even(&volley, work->options->level_spread_db, family->shots);
  }
  work->slope += tightness.slope_db_per_s;
  work->steepest = tightness.steepest;
  family->tightening_db = fall_in_period(work, work->slope);
  family->gap_depth_db = NAN;
  return st || !family->plan.gap_frames
           ? st
           : vw_valley_gap_depth(&volley, &family->gap_depth_db);
}

/// Lay the burst until it has been steady, the limiter settled, for longer than
/// loudness looks back, and for two cycles.
static VwStatus
lay_to_steady(VwSettling* work) {
  const VwVolley      volley = vw_settling_volley(work->family);
  const VwPlan* const plan = &work->family->plan;
  const size_t        settle = (size_t)(VW_LIMITER_SETTLE_S * plan->rate_hz);
  const size_t        n_before =
    (vw_volley_longest(&volley) + settle) / plan->n_frames + 1U;
  const size_t n_heard =
    (size_t)(VW_STEADY_HEARD_S * plan->rate_hz) / plan->n_frames + 1U;
  const size_t         n_after = n_heard < 2U ? 2U : n_heard;
  VwLevelSounds* const sounds = &work->sounds;
  sounds->burst = &work->burst;
  sounds->steady = n_before * plan->n_frames;
  sounds->n_steady = n_after * plan->n_frames;
  sounds->n_closed = volley.closed ? plan->n_frames : 0U;
  sounds->n_gap = plan->gap_frames;
  const size_t n_frames = sounds->steady + sounds->n_steady;
  vw_sound_clear(&work->burst);
  const VwStatus st =
    vw_burst_lay(&volley, (n_before + n_after) * plan->shots, &work->burst);
  // A tail may end long before the next shot would start.
  return st || work->burst.n_frames >= n_frames
           ? st
           : vw_sound_pad(&work->burst, 1U, n_frames);
}

/* Level */

/// Whether the burst is what is brought to a loudness.
static bool
is_led_by_burst(const VwSettling* work) {
  return work->options->level.loud_as == VW_LOUD_AS_BURST &&
         work->family->plan.shots;
}

/// Find what is wished of the level.
static VwStatus
find_wish(VwSettling* work) {
  return vw_level_wish(&work->sounds, &work->options->level, &work->wish);
}

/// Settle the gain on the shots, and on the burst where there is one, which is
/// brought to its level.
static VwStatus
find_gain(VwSettling* work) {
  VwLevel* const level = &work->family->level;
  VwLimited      limited;
  vw_level_settle(&work->sounds, &work->options->level, &work->wish, level);
  if (!work->sounds.burst || work->joined) {
    return VW_OK;
  }
  vw_sound_clear(&work->written);
  const VwStatus st = vw_sound_copy(&work->burst, &work->written);
  if (!st) {
    vw_sound_scale(&work->written, vw_gain_of_db(level->gain_db));
  }
  return st ? st : vw_limiter_run(work->ceiling, &work->written, &limited);
}

/// Measure the valley of the steady cycle at its level.
static VwStatus
measure_valley(VwSettling* work) {
  VwFamily* const family = work->family;
  const VwVolley  volley = vw_settling_volley(family);
  const VwSteady  of = {&work->written, work->sounds.steady};
  return vw_valley_of_steady(&volley, &of, &work->valley);
}

/// Lay the burst, find its gain and measure the valley.
static VwStatus
lay_and_measure(VwSettling* work, bool wish) {
  VwStatus st = lay_to_steady(work);
  st = st || !wish ? st : find_wish(work);
  st = st ? st : find_gain(work);
  return st ? st : measure_valley(work);
}

/**
 * Bend the tails and find the gain until the cycle at its level has the valley
 * asked for.
 *
 * The limiter takes from the crests, and so from the valley; a deeper bend
 * again moves the peak, and with it the gain. Mostly the first round does.
 */
static VwStatus
settle_burst(VwSettling* work) {
  const VwLevelOptions* const options = &work->options->level;
  VwFamily* const             family = work->family;
  const double                most_db = work->wish.limiting_max_db;
  const bool                  by_burst = is_led_by_burst(work);
  // By what the limiter of a cycle that is but tried, which misses peaks
  // between low frames, leaves a deeper valley than that of the burst.
  double over_db = 0.0;
  // The burst's own loudness is not known before it is laid down.
  const bool unknown = by_burst && options->aim == VW_AIM_LOUDNESS;
  VwStatus   st = unknown ? VW_OK : find_wish(work);
  double     ceiling = unknown
                         ? HUGE_VAL
                         : fmax(work->ceiling / vw_gain_of_db(work->wish.gain_db),
                            work->wish.peak * vw_gain_of_db(-most_db));
  st = st ? st : tighten(work, ceiling, most_db, 0.0);
  st = st ? st : lay_and_measure(work, by_burst);
  for (int i = 1; !st && i < ROUNDS_MOST && !work->steepest &&
                  work->valley.depth_db < family->valley_asked_db;
       ++i) {
    const double slope = work->slope;
    ceiling = work->ceiling / vw_gain_of_db(family->level.gain_db);
    st = tighten(work, ceiling, HUGE_VAL, over_db);
    if (!st && work->slope > slope) {
      st = lay_and_measure(work, by_burst);
    } else {
      over_db += family->valley_asked_db - work->valley.depth_db + SPARE_DB;
    }
  }
  family->bent_most = work->steepest;
  return st;
}

/* Constant */

/// The constant of a channel of the loop as it is written.
static VwStatus
find_constant(const VwSettling* work, unsigned channel, double* constant) {
  const VwPlan* const plan = &work->family->plan;
  VwSound             cycle = {0};
  const VwStatus      st =
    vw_sound_part(&work->written, work->sounds.steady, plan->n_frames, &cycle);
  if (st) {
    return st;
  }
  if (work->sounds.n_closed) {
    vw_burst_close_cycle(&cycle, plan->gap_frames);
  }
  cycle.n_frames -= plan->gap_frames;
  *constant = vw_sound_constant(&cycle, channel);
  vw_sound_clear(&cycle);
  return VW_OK;
}

/// Take so much, frames times height, from a channel of a shot, as one slow
/// swell from where its decay is bent to its last frame, which stays zero.
static void
take_swell(VwSound* shot, unsigned channel, size_t from, double amount) {
  const size_t n = shot->n_frames > from ? shot->n_frames - 1U - from : 0U;
  for (size_t i = 0; i < n; ++i) {
    const double fade = vw_fade_out_at(i, n);
    shot->values[(from + i) * shot->n_channels + channel] -=
      (float)(8.0 * amount / (double)n * fade * (1.0 - fade));
  }
}

/// Take the constant on which the loop lies, which is left of a slow thump as
/// its decay is bent and cut, from its shots if it is too much for a loop; the
/// burst stays one signal.
static VwStatus
take_constant(VwSettling* work) {
  VwFamily* const family = work->family;
  const double    gain = vw_gain_of_db(family->level.gain_db);
  const double    n_shots = (double)family->plan.shots;
  const double    n_frames =
    (double)(family->plan.n_frames - family->plan.gap_frames);
  bool     any = true;
  VwStatus st = VW_OK;
  for (int round = 0; !st && any && round < CONSTANT_ROUNDS; ++round) {
    any = false;
    for (unsigned c = 0; !st && c < work->written.n_channels; ++c) {
      double constant = 0.0;
      st = find_constant(work, c, &constant);
      if (st || fabs(constant) <= VW_OFFSET_MOST) {
        continue;
      }
      any = true;
      const double amount = constant / gain * n_frames / n_shots;
      for (unsigned i = 0; i < family->plan.shots; ++i) {
        take_swell(&family->shots[i], c, work->bend_from[i], amount);
      }
    }
    st = st || !any ? st : lay_and_measure(work, is_led_by_burst(work));
  }
  return st;
}

VwStatus
vw_settle(VwSettling* work) {
  VwStatus st = VW_OK;
  if (work->family->plan.shots) {
    st = settle_burst(work);
    return st || work->joined ? st : take_constant(work);
  }
  st = find_wish(work);
  return st ? st : find_gain(work);
}

/* The curve */

/// Bend the tails again for no limiter, and find the level then.
static VwStatus
level_unlimited(VwSettling* work, VwLevel* level) {
  VwStatus st = vw_settling_shots(work);
  st = st ? st : tighten(work, HUGE_VAL, 0.0, 0.0);
  st = st ? st : lay_to_steady(work);
  st = st ? st : find_wish(work);
  if (!st) {
    vw_level_settle(&work->sounds, &work->options->level, &work->wish, level);
  }
  return st;
}

VwStatus
vw_settling_curve(VwSettling* work, VwLevelCurve* curve) {
  VwLevel    first = work->family->level;
  const bool bends = is_led_by_burst(work);
  VwStatus   st = bends ? level_unlimited(work, &first) : VW_OK;
  curve->ceiling = work->wish.ceiling;
  vw_level_curve_begin(&first, work->family->level.gain_db, curve);
  for (size_t i = 1; !st && i < curve->n; ++i) {
    const double gain = vw_gain_of_db(curve->gain_db[i]);
    st = bends ? tighten(work, work->ceiling / gain, HUGE_VAL, 0.0) : VW_OK;
    st = st || !bends ? st : lay_to_steady(work);
    st = st ? st
            : vw_level_curve_measure(
                &work->sounds, &work->options->level, curve, i);
  }
  return st || !bends ? st : lay_and_measure(work, true);
}

void
vw_settling_clear(VwSettling* work) {
  vw_sound_clear(&work->burst);
  vw_sound_clear(&work->written);
  free(work->bend_from);
}
