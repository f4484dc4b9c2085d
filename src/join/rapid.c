// Loops of rapid fire, joined between its shots.

#include "base/ranges.h"
#include "base/units.h"
#include "burst/burst.h"
#include "join/join.h"
#include "signal/signal.h"
#include "take/events.h"
#include "take/take.h"

#include <math.h>
#include <stdlib.h>

// Of the period so much before an attack, or so long, is crossfaded: the quiet.
#define QUIET_SHARE 0.2
#define QUIET_S 0.02

// A distance of two events is a whole number of periods to this part of one.
#define EVEN 0.1

// What a loop as long as may be is worth beside one of no length, in dB of what
// differs over the join; what is as good as nothing; and by how much a loop
// that starts later has to be better (chosen here).
#define LONG_GAINS_DB 20.0
#define NOTHING 1e-3
#define LATER_DB 1.5

// What each millisecond costs that a loop is off whole cycles (chosen here).
#define MISFIT_COSTS_DB 3.0

static size_t
least(size_t a, size_t b) {
  return a < b ? a : b;
}

/// Two shots, the loop from one to the other, and the frames compared.
typedef struct {
  size_t at;
  size_t apart;    ///< From the one to the other.
  size_t n_pre;    ///< Where they are most alike is no farther off,
  size_t n_near;   ///< and the loop's length not by this, at least as much.
  size_t n_misfit; ///< By how much it misses where they are most alike. Found.
  size_t n_blend;
  size_t n_period;
  size_t gap; ///< Of the loop, left out of the file.
  size_t unit;
  VwTransforms* transforms; ///< Of all pairs. Not owned.
} Pair;

static size_t
distance(size_t a, size_t b) {
  return a < b ? b - a : a - b;
}

/// Of the lengths that the file may have, find the one nearest to that at which
/// what follows on two shots is most alike.
static VwStatus
compare_shots(const VwSound* sound, Pair* pair, VwJoin* join) {
  const size_t from = pair->at - pair->n_blend;
  const size_t n_least = pair->apart - pair->n_near;
  VwSlide      slide = {sound,
                        from,
                        sound,
                        from + pair->apart - pair->n_pre,
                        pair->n_blend + pair->n_period,
                        2U * pair->n_pre + 1U,
                        pair->transforms};
  size_t       at = 0;
  double       likeness = 0.0;
  *join = (VwJoin){.start_frame = pair->at,
                   .blend_frames = pair->n_blend,
                   .gap_frames = pair->gap};
  const VwStatus st = vw_slide_best(&slide, 1U, &at, &likeness);
  const size_t   fit = at - from;
  pair->n_misfit = 2U * pair->n_near + 1U;
  for (size_t n = n_least; !st && n <= n_least + 2U * pair->n_near; ++n) {
    if ((n - pair->gap) % pair->unit == 0U &&
        distance(n, fit) < pair->n_misfit) {
      pair->n_misfit = distance(n, fit);
      join->n_frames = n;
    }
  }
  if (join->n_frames) {
    slide.from = from + join->n_frames;
    join->likeness = vw_slide_likeness(&slide);
  }
  return st;
}

/// What is the same of all pairs.
static Pair
pair_of(unsigned sample_rate_hz, const VwJoinWish* wish, double period) {
  const double rate_hz = (double)sample_rate_hz;
  const size_t pre = vw_shot_pre_roll(sample_rate_hz);
  const bool hidden = (double)wish->gap_frames <= VW_GAP_HIDDEN * period + 0.5;
  return (Pair){.n_pre = pre,
                .n_near = least(pre + wish->frames_unit / 2U,
                                vw_frames_of_s(VW_MISFIT_MOST_S, rate_hz)),
                .n_blend = least(vw_frames_of_s(QUIET_S, rate_hz),
                                 (size_t)(QUIET_SHARE * period)),
                .n_period = (size_t)(period * (1.0 - EVEN)),
                .gap = hidden ? wish->gap_frames : 0U,
                .unit = wish->frames_unit};
}

/// The longest and steadiest loop of whole cycles.
static VwStatus
find_cycles(const VwSound*    sound,
            const VwJoinWish* wish,
            const VwEvents*   events,
            VwJoin*           join) {
  const VwRapidFire* const rapid = &events->rapid;
  const double             rate_hz = (double)sound->rate_hz;
  const double             period = rate_hz / rapid->fire_rate_per_s;
  const size_t             pre = vw_shot_pre_roll(sound->rate_hz);
  const size_t             most =
    least(vw_frames_of_s(wish->cycle_max_s, rate_hz), wish->frames_most);
  double   best = -HUGE_VAL;
  VwStatus st = VW_OK;
  Pair     pair = pair_of(sound->rate_hz, wish, period);
  pair.transforms = vw_transforms_new();
  for (size_t i = rapid->first; !st && i < rapid->first + rapid->n; ++i) {
    const double enough = best + LATER_DB;
    pair.at = events->events[i].start_frame - pre;
    for (size_t k = i + 1U; !st && k < rapid->first + rapid->n; ++k) {
      pair.apart =
        events->events[k].start_frame - events->events[i].start_frame;
      const double cycles = (double)pair.apart / period;
      const double n_cycles = floor(cycles + 0.5);
      const size_t longest = pair.apart + pair.n_near + 1U;
      if (events->events[i].start_frame < pre + pair.n_blend ||
          fabs(cycles - n_cycles) > EVEN ||
          !vw_is_within(n_cycles, (VwRange)VW_RANGE_CYCLE_SHOTS) ||
          longest > most ||
          pair.at + longest + pair.n_period > sound->n_frames) {
        continue;
      }
      VwJoin found;
      st = compare_shots(sound, &pair, &found);
      const double good =
        LONG_GAINS_DB * (double)pair.apart / (double)most -
        MISFIT_COSTS_DB * 1000.0 * (double)pair.n_misfit / rate_hz -
        vw_db_of_power(1.0 - found.likeness + NOTHING);
      if (!st && found.n_frames && good > fmax(best, enough)) {
        best = good;
        *join = found;
      }
    }
  }
  vw_transforms_free(pair.transforms);
  return st ? st : best > -HUGE_VAL ? VW_OK : VW_CYCLE_TOO_LONG;
}

/// Where a frame of a take lies in what is joined, if it does.
static size_t
frame_in(const VwTake* take, const VwSound* sound, double starts_s, size_t at) {
  const double at_s = (double)at / (double)take->sound.rate_hz - starts_s;
  const double frame = floor(at_s * (double)sound->rate_hz + 0.5);
  return frame < (double)sound->n_frames ? (size_t)fmax(frame, 0.0)
                                         : sound->n_frames;
}

VwStatus
vw_join_find_fire(const VwTake*        take,
                  const VwFindOptions* options,
                  const VwJoinCut*     cut,
                  VwEvents*            fire) {
  VwEvents       events = {0};
  const VwStatus st = vw_events_find(&take->sound, &events);
  if (st) {
    return st;
  }
  vw_events_overrule(options, &events);
  for (size_t i = 0; i < events.n_events; ++i) {
    VwEvent* const event = &events.events[i];
    event->start_frame =
      frame_in(take, cut->sound, cut->starts_s, event->start_frame);
    event->end_frame =
      frame_in(take, cut->sound, cut->starts_s, event->end_frame);
  }
  *fire = events;
  return VW_OK;
}

VwStatus
vw_join_find_rapid(const VwSound*    sound,
                   const VwJoinWish* wish,
                   const VwEvents*   fire,
                   VwJoin*           join) {
  const VwRapidFire* const rapid = &fire->rapid;
  const VwStatus           st =
    rapid->n < 2U ? VW_NO_STEADY_RATE : find_cycles(sound, wish, fire, join);
  if (st) {
    return st;
  }
  const size_t last = rapid->first + rapid->n - 1U;
  const double loop_s = (double)join->n_frames / (double)sound->rate_hz;
  join->shots = (unsigned)floor(loop_s * rapid->fire_rate_per_s + 0.5);
  for (size_t i = rapid->first; i <= last; ++i) {
    const size_t at = fire->events[i].start_frame;
    join->ring_out_shots += at >= join->start_frame + join->n_frames ? 1U : 0U;
  }
  join->kind = VW_JOIN_SHOTS;
  join->glide_cents_per_s = NAN;
  // All before the loop, and all after it, is its own.
  join->steady_from = join->start_frame;
  join->steady_to =
    least(join->start_frame + join->n_frames, fire->events[last].end_frame);
  return vw_join_level_db(sound, join, &join->level_db);
}
