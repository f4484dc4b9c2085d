#include "base/random.h"
#include "base/ranges.h"
#include "base/units.h"
#include "burst/burst.h"
#include "burst/internal.h"
#include "signal/signal.h"
#include "take/take.h"

#include <assert.h>
#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

// Half of all orders of three takes fit; sixty-four tries find one.
#define TRIES 64

// More draws find hardly any whose neighbours differ more (measured).
#define DEALS 256

#define SHOTS_MOST VW_CYCLE_SHOTS_MOST

static void
in_order(size_t* round, size_t n_takes) {
  for (size_t i = 0; i < n_takes; ++i) {
    round[i] = i;
  }
}

/// Whether the round from turn `at` on meets neither its forerunner nor, as
/// the last, the first turn.
static bool
fits(const size_t* turns, size_t at, size_t n_takes, size_t n_turns) {
  const bool last = at + n_takes == n_turns;
  return (!at || turns[at] != turns[at - 1U]) &&
         (!last || turns[at + n_takes - 1U] != turns[0]);
}

static bool
try_orders(size_t n_takes, size_t n_turns, VwRandom* random, size_t* turns) {
  for (size_t at = 0; at < n_turns; at += n_takes) {
    int n_tries = 0;
    in_order(turns + at, n_takes);
    do {
      vw_shuffle(turns + at, n_takes, random);
    } while (!fits(turns, at, n_takes, n_turns) && ++n_tries < TRIES);
    if (n_tries == TRIES) {
      return false;
    }
  }
  return true;
}

/**
 * Let takes take turns: each as often as every other, none twice in a row, also
 * not over the end of the cycle.
 *
 * @param n_takes 1 or more.
 * @param n_turns A multiple of `n_takes`.
 * @param turns Set to `n_turns` indices of takes.
 */
static void
take_turns(size_t n_takes, size_t n_turns, VwRandom* random, size_t* turns) {
  // Two takes can but alternate.
  if (n_takes > 2U && try_orders(n_takes, n_turns, random, turns)) {
    return;
  }
  for (size_t i = 0; i < n_turns; ++i) {
    turns[i] = i % n_takes;
  }
}

/// What a cycle is made from, and where it goes.
typedef struct {
  const VwSound*         alone;
  const VwFamilyOptions* options;
  VwFamily*              family;
  size_t*                bend_from;
} Work;

/// The shot of each take as the burst has it, before variation.
static VwStatus
start_late(const Work* work, VwSound* started, size_t* crests) {
  VwFamily* const family = work->family;
  const double    period_s = vw_plan_period_s(&family->plan);
  const bool      left_alone = isnan(work->options->valley_db);
  VwStatus        st = VW_OK;
  for (size_t i = 0; !st && i < family->n_takes; ++i) {
    crests[i] = vw_late_crest(&family->uses[i], period_s, family->plan.rate_hz);
    family->uses[i].crest_frame = crests[i];
    st = left_alone ? vw_sound_copy(&work->alone[i], &started[i])
                    : vw_late_start(&work->alone[i],
                                    period_s,
                                    &crests[i],
                                    &family->uses[i].late_start_ms,
                                    &started[i]);
  }
  return st;
}

/// The turns of the variants: of one take so that those that follow each other
/// come at unlike times and tails.
static void
take_variants(const Work* work, VwRandom* random, size_t* which) {
  VwFamily* const family = work->family;
  const size_t    n_takes = family->n_takes;
  const size_t    n_shots = family->plan.shots;
  size_t          order[SHOTS_MOST];
  size_t          at[SHOTS_MOST] = {0};
  for (size_t take = 0; take < n_takes; ++take) {
    take_turns(family->variants, n_shots / n_takes, random, order);
    for (size_t i = 0; i < n_shots; ++i) {
      if (family->turns[i] == take) {
        which[i] = order[at[take]++];
      }
    }
  }
}

/// How unlike the least unlike neighbours are.
static double
contrast(const VwVariant* variants, const size_t* which, size_t n) {
  double least = HUGE_VAL;
  for (size_t i = 0; i < n; ++i) {
    const VwVariant* const one = &variants[which[i]];
    const VwVariant* const next = &variants[which[(i + 1U) % n]];
    const double           timing = fabs(one->delay_ms - next->delay_ms);
    const double           tail = fabs(one->tail - next->tail);
    const double           tilts = fabs(one->tilt_db - next->tilt_db);
    const double           cents = fabs(one->detune_cents - next->detune_cents);
    least =
      fmin(least,
           6.0 * timing / VW_VARIANT_TIMING_MS + tail / VW_VARIANT_TAIL +
             tilts / VW_VARIANT_TILT_DB + cents / VW_VARIANT_DETUNE_CENTS);
  }
  return least;
}

/// Draw variants and their turns: of many draws the one whose neighbours differ
/// most.
static void
deal_variants(const Work* work,
              VwRandom*   random,
              VwVariant*  variants,
              size_t*     which) {
  VwFamily* const family = work->family;
  const size_t    n_shots = family->plan.shots;
  VwVariant       drawn[SHOTS_MOST];
  size_t          order[SHOTS_MOST];
  double          best = -1.0;
  for (int i = 0; i < DEALS; ++i) {
    vw_variants_draw(work->options, family->variants, random, drawn);
    take_variants(work, random, order);
    const double unlike = contrast(drawn, order, n_shots);
    if (unlike > best) {
      best = unlike;
      memcpy(variants, drawn, sizeof(drawn));
      memcpy(which, order, sizeof(order));
    }
  }
}

static VwStatus
vary_shots(const Work* work, const VwSound* started, const size_t* crests) {
  VwFamily* const  family = work->family;
  const unsigned   n_shots = family->plan.shots;
  const unsigned   rate_hz = family->format.rate_hz;
  VwRandom         random = {work->options->seed};
  VwVariant        variants[SHOTS_MOST];
  size_t           which[SHOTS_MOST];
  VwStatus         st = VW_OK;
  const VwKickTone kick =
    vw_kick_tone(work->options, vw_plan_period_s(&family->plan));
  take_turns(family->n_takes, n_shots, &random, family->turns);
  family->variants = vw_wish_variants(work->options, n_shots, family->n_takes);
  if (family->variants) {
    deal_variants(work, &random, variants, which);
  } else {
    vw_variants_draw(work->options, n_shots, &random, variants);
    in_order(which, n_shots);
  }
  for (unsigned i = 0; !st && i < n_shots; ++i) {
    const size_t     take = family->turns[i];
    VwVariant* const variant = &variants[which[i]];
    variant->n_heard = family->plan.n_frames / n_shots;
    st =
      vw_variant_make(&started[take], crests[take], variant, &family->shots[i]);
    const size_t later = vw_variant_delay(variant, rate_hz);
    work->bend_from[i] = crests[take] + vw_tighten_margin(rate_hz) + later;
    if (!st && kick.is_laid) {
      const size_t body = vw_kick_body(&family->plan) + later;
      st = vw_kick_lay(
        &kick, vw_shot_pre_roll(rate_hz) + later, 1U, &family->shots[i]);
      work->bend_from[i] =
        work->bend_from[i] > body ? work->bend_from[i] : body;
    }
  }
  return st;
}

VwStatus
vw_cycle_make(const VwSound*         alone,
              const VwFamilyOptions* options,
              VwFamily*              family,
              size_t*                bend_from) {
  const Work     work = {alone, options, family, bend_from};
  VwSound* const started = calloc(family->n_takes, sizeof(VwSound));
  size_t* const  crests = calloc(family->n_takes, sizeof(size_t));
  VwStatus       st = started && crests ? VW_OK : VW_NO_MEMORY;
  st = st ? st : start_late(&work, started, crests);
  st = st ? st : vary_shots(&work, started, crests);
  for (size_t i = 0; started && i < family->n_takes; ++i) {
    vw_sound_clear(&started[i]);
  }
  free(started);
  free(crests);
  return st;
}
