#include "base/random.h"
#include "base/units.h"
#include "burst/burst.h"
#include "burst/internal.h"
#include "signal/signal.h"
#include "take/take.h"

#include <samplerate.h>

#include <assert.h>
#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

// Half of all orders of three takes fit; sixty-four tries find one.
#define TRIES 64

// Zeros in front, so that the converter starts in silence.
#define PAD_S 0.020

/// Put `n` numbers into another order (R. Durstenfeld, Algorithm 235, CACM
/// 1964).
static void
shuffle(size_t* numbers, size_t n, VwRandom* random) {
  for (size_t i = n; i > 1U; --i) {
    const size_t j = (size_t)vw_random_below(random, i);
    const size_t number = numbers[i - 1U];
    numbers[i - 1U] = numbers[j];
    numbers[j] = number;
  }
}

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
      shuffle(turns + at, n_takes, random);
    } while (!fits(turns, at, n_takes, n_turns) && ++n_tries < TRIES);
    if (n_tries == TRIES) {
      return false;
    }
  }
  return true;
}

/**
 * Let takes take turns: each as often as every other, none twice running, also
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

/// The `i`-th of `n` numbers spread evenly over [-most, most].
static double
spread(size_t i, size_t n, double most) {
  return n > 1U ? most * (2.0 * (double)i / (double)(n - 1U) - 1.0) : 0.0;
}

/// How one shot differs from the take's.
typedef struct {
  double detune_cents;
  double gain_db;
} Variant;

/**
 * Draw variants for the shots of a cycle.
 *
 * Both measures are spread evenly from the least to the greatest and dealt out
 * at random, so that no two shots are alike; the mean energy is unchanged.
 */
static void
draw_variants(const VwFamilyOptions* options,
              size_t                 n_shots,
              VwRandom*              random,
              Variant*               variants) {
  size_t order[64];
  assert(n_shots <= sizeof(order) / sizeof(order[0]));
  for (size_t i = 0; i < n_shots; ++i) {
    order[i] = i;
  }
  shuffle(order, n_shots, random);
  for (size_t i = 0; i < n_shots; ++i) {
    variants[i].detune_cents = spread(order[i], n_shots, options->detune_cents);
  }
  shuffle(order, n_shots, random);
  double energy = 0.0;
  for (size_t i = 0; i < n_shots; ++i) {
    variants[i].gain_db = spread(order[i], n_shots, options->level_spread_db);
    energy += vw_power_of_db(variants[i].gain_db);
  }
  for (size_t i = 0; i < n_shots; ++i) {
    variants[i].gain_db -= vw_db_of_power(energy / (double)n_shots);
  }
}

/// Play a shot `speed` times as fast; its attack stays to the nearest frame.
static VwStatus
play_at(const VwSound* shot, double speed, VwSound* out) {
  const size_t n_channels = shot->n_channels;
  const size_t n_pre = vw_shot_pre_roll(shot->rate_hz);
  const size_t n_pad = vw_frames_of_s(PAD_S, shot->rate_hz);
  const size_t n_drop =
    (size_t)floor((double)(n_pad + n_pre) / speed + 0.5) - n_pre;
  const size_t n_in = shot->n_frames + 2U * n_pad;
  const size_t n_all = (size_t)((double)n_in / speed) + 1U;
  const size_t n_out =
    (size_t)floor((double)(shot->n_frames - n_pre) / speed + 0.5) + n_pre;
  VwSound  padded = {0};
  VwSound  played = {0};
  VwStatus st = vw_sound_init(&padded, n_in, shot->n_channels, shot->rate_hz);
  st = st ? st : vw_sound_init(&played, n_all, shot->n_channels, shot->rate_hz);
  if (!st) {
    memcpy(padded.values + n_pad * n_channels,
           shot->values,
           shot->n_frames * n_channels * sizeof(float));
    SRC_DATA data = {.data_in = padded.values,
                     .data_out = played.values,
                     .input_frames = (long)n_in,
                     .output_frames = (long)n_all,
                     .src_ratio = 1.0 / speed};
    st = src_simple(&data, SRC_SINC_BEST_QUALITY, (int)n_channels)
           ? VW_NO_MEMORY
           : VW_OK;
  }
  st = st ? st : vw_sound_part(&played, n_drop, n_out, out);
  if (!st) {
    vw_shot_close_ends(out);
  }
  vw_sound_clear(&padded);
  vw_sound_clear(&played);
  return st;
}

/**
 * Make a variant of a shot; its attack stays where it is.
 *
 * @param out Filled in on success; free it with vw_sound_clear().
 * @return #VW_OK or #VW_NO_MEMORY.
 */
static VwStatus
vary(const VwSound* shot, const Variant* variant, VwSound* out) {
  const double   speed = pow(2.0, variant->detune_cents / 1200.0);
  const VwStatus st = variant->detune_cents != 0.0 ? play_at(shot, speed, out)
                                                   : vw_sound_copy(shot, out);
  if (!st) {
    vw_sound_scale(out, vw_gain_of_db(variant->gain_db));
  }
  return st;
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

static VwStatus
vary_shots(const Work* work, const VwSound* started, const size_t* crests) {
  VwFamily* const family = work->family;
  const unsigned  n_shots = family->plan.shots;
  VwRandom        random = {work->options->seed};
  Variant*        variants = calloc(n_shots, sizeof(Variant));
  VwStatus        st = variants ? VW_OK : VW_NO_MEMORY;
  if (!st) {
    take_turns(family->n_takes, n_shots, &random, family->turns);
    draw_variants(work->options, n_shots, &random, variants);
  }
  for (unsigned i = 0; !st && i < n_shots; ++i) {
    const size_t take = family->turns[i];
    st = vary(&started[take], &variants[i], &family->shots[i]);
    work->bend_from[i] =
      crests[take] + vw_tighten_margin(family->format.rate_hz);
  }
  free(variants);
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
