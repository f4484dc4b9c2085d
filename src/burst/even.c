#include "base/units.h"
#include "burst/burst.h"
#include "burst/internal.h"
#include "signal/signal.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

// Neighbours' bodies, and the loudness of their periods, differ by no more than
// this (chosen here): tails that meet add up one time and cancel another.
#define UNEVEN_DB 1.0
#define CLOSE_DB 0.05
#define EVEN_ROUNDS 12
#define SWEEPS 50U
#define SQUARE_LEAST 0.05

// A shot's body has another gain than what follows; the one goes over into the
// other for so long, seconds.
#define BLEND_S 0.010

// A body and a period of each shot; and its body and what follows.
enum {
  LEVELS_MOST = 2 * VW_CYCLE_SHOTS_MOST,
  PARTS_MOST = 2 * VW_CYCLE_SHOTS_MOST
};

/// The evening of a cycle.
typedef struct {
  const VwVolley* volley;
  VwSound*        shots;
  double          most_db; ///< By which neighbours may differ.
  VwSound         cycle;
  double          level[LEVELS_MOST];  ///< All bodies, then all periods.
  double          gain_db[PARTS_MOST]; ///< Of each shot's parts so far.
  double (*share)[PARTS_MOST]; ///< Of each part in each level's energy: so
                               ///< many dB it rises with one dB of the part.
} Evening;

/// How much of a shot's second part, that after its body, a frame is: it begins
/// where the latest body ends.
static double
second_part(const VwSound* shot, size_t frame) {
  const size_t n = vw_frames_of_s(BLEND_S, shot->rate_hz);
  const size_t from = vw_frames_of_s(VW_BODY_S, shot->rate_hz) +
                      vw_shot_body_latest(shot->rate_hz);
  return frame < from       ? 0.0
         : frame < from + n ? 1.0 - vw_fade_out_at(frame - from, n)
                            : 1.0;
}

static void
scale_parts(VwSound* shot, const double* gain_db) {
  if (gain_db[0] == 0.0 && gain_db[1] == 0.0) {
    return;
  }
  for (size_t i = 0; i < shot->n_frames; ++i) {
    const double second = second_part(shot, i);
    vw_sound_scale_frame(
      shot, i, vw_gain_of_db(gain_db[0] + second * (gain_db[1] - gain_db[0])));
  }
}

/// Add what a frame of a shot has in common with the cycle to the shares of its
/// parts.
static void
add_share(double* share, double common, double second) {
  share[0] += (1.0 - second) * common;
  share[1] += second * common;
}

/// Find what one shot has in common with each body and period.
static void
add_shares(Evening* work, unsigned shot) {
  const VwPlan* const  plan = work->volley->plan;
  const VwSound* const sound = &work->shots[shot];
  const size_t         n_channels = sound->n_channels;
  const size_t         n_body = vw_frames_of_s(VW_BODY_S, sound->rate_hz);
  const size_t         n_late = vw_shot_body_latest(sound->rate_hz) / 2U;
  const size_t         start = vw_plan_start(plan, shot);
  unsigned             period = shot;
  for (size_t i = 0; i < sound->n_frames; ++i) {
    period += start + i >= vw_plan_start(plan, period + 1U);
    if (period > shot && work->volley->tail == VW_TAIL_CHOKE) {
      break;
    }
    const size_t   at = (start + i) % work->cycle.n_frames;
    const size_t   in = start + i - vw_plan_start(plan, period);
    const unsigned of = period % plan->shots;
    const double   second = second_part(sound, i);
    double         common = 0.0;
    for (size_t c = 0; c < n_channels; ++c) {
      common += (double)sound->values[i * n_channels + c] *
                (double)work->cycle.values[at * n_channels + c];
    }
    add_share(&work->share[plan->shots + of][2U * shot], common, second);
    if (in >= n_late && in < n_late + n_body) {
      add_share(&work->share[of][2U * shot], common, second);
    }
  }
}

/// Find the share of each part in each level.
static void
find_shares(Evening* work) {
  const unsigned n = 2U * work->volley->plan->shots;
  memset(work->share, 0, n * sizeof(*work->share));
  for (unsigned shot = 0; shot < n / 2U; ++shot) {
    add_shares(work, shot);
  }
  for (unsigned i = 0; i < n; ++i) {
    double whole = 0.0;
    for (unsigned part = 0; part < n; ++part) {
      whole += work->share[i][part];
    }
    for (unsigned part = 0; whole > 0.0 && part < n; ++part) {
      work->share[i][part] /= whole;
    }
  }
}

/// The level that follows `i` in the cycle, of the same kind.
static unsigned
next_level(unsigned i, unsigned n_shots) {
  return i / n_shots * n_shots + (i + 1U) % n_shots;
}

/// Measure all levels; by how much the most unlike neighbours differ.
static VwStatus
measure_levels(Evening* work, double* worst_db) {
  const VwPlan* const plan = work->volley->plan;
  VwStatus            st = vw_burst_fold(work->volley, &work->cycle);
  for (unsigned i = 0; !st && i < plan->shots; ++i) {
    VwShotLevels levels;
    st = vw_shot_levels(&work->cycle, plan, i, &levels);
    work->level[i] = levels.body_db;
    work->level[plan->shots + i] = levels.lufs;
  }
  *worst_db = 0.0;
  for (unsigned i = 0; i < 2U * plan->shots; ++i) {
    const double differ =
      work->level[i] - work->level[next_level(i, plan->shots)];
    *worst_db = fmax(*worst_db, fabs(differ));
  }
  return st;
}

/// Add the least gains that bring neighbours together: levels are taken to rise
/// in line with gains, and one pair after the other is put right (S. Kaczmarz,
/// "Angenaeherte Aufloesung von Systemen linearer Gleichungen", 1937).
static void
add_gains(const Evening* work, double* gain_db) {
  const unsigned n = 2U * work->volley->plan->shots;
  double         more_db[PARTS_MOST] = {0.0};
  for (unsigned i = 0; i < n * SWEEPS; ++i) {
    const unsigned      one = i % n;
    const unsigned      next = next_level(one, n / 2U);
    const double* const share = work->share[one];
    const double* const of_next = work->share[next];
    double              differ = work->level[one] - work->level[next];
    double              square = SQUARE_LEAST;
    for (unsigned part = 0; part < n; ++part) {
      const double rise = share[part] - of_next[part];
      differ += rise * more_db[part];
      square += rise * rise;
    }
    const double over =
      differ - fmin(fmax(differ, -work->most_db), work->most_db);
    for (unsigned part = 0; over != 0.0 && part < n; ++part) {
      more_db[part] -= over / square * (share[part] - of_next[part]);
    }
  }
  for (unsigned part = 0; part < n; ++part) {
    gain_db[part] += more_db[part];
  }
}

/// Scale the shots so that their parts have these gains.
static void
set_gains(Evening* work, const double* gain_db) {
  for (unsigned i = 0; i < work->volley->plan->shots; ++i) {
    const double* const wanted = gain_db + (size_t)2U * i;
    double* const       is = work->gain_db + (size_t)2U * i;
    const double        more[] = {wanted[0] - is[0], wanted[1] - is[1]};
    scale_parts(&work->shots[i], more);
    is[0] = wanted[0];
    is[1] = wanted[1];
  }
}

/// Bring neighbours together round by round; the best round stays.
static VwStatus
even(Evening* work) {
  double   best[PARTS_MOST] = {0.0};
  double   least_db = HUGE_VAL;
  double   worst_db = HUGE_VAL;
  VwStatus st = measure_levels(work, &worst_db);
  for (int i = 0; !st && worst_db > work->most_db + CLOSE_DB && i < EVEN_ROUNDS;
       ++i) {
    double gain_db[PARTS_MOST];
    if (worst_db < least_db) {
      least_db = worst_db;
      memcpy(best, work->gain_db, sizeof(best));
    }
    memcpy(gain_db, work->gain_db, sizeof(gain_db));
    find_shares(work);
    add_gains(work, gain_db);
    set_gains(work, gain_db);
    st = measure_levels(work, &worst_db);
  }
  if (least_db < worst_db) {
    set_gains(work, best);
  }
  return st;
}

VwStatus
vw_variants_even(const VwVolley* volley, double spread_db, VwSound* shots) {
  Evening  work = {.volley = volley,
                   .shots = shots,
                   .most_db = fmax(UNEVEN_DB, 2.0 * spread_db),
                   .share = calloc(LEVELS_MOST, sizeof(*work.share))};
  VwStatus st = work.share ? VW_OK : VW_NO_MEMORY;
  st = st ? st
          : vw_sound_init(&work.cycle,
                          volley->plan->n_frames,
                          shots[0].n_channels,
                          shots[0].rate_hz);
  st = st ? st : even(&work);
  vw_sound_clear(&work.cycle);
  free(work.share);
  return st;
}
