// The shots in a file that was made here.

#include "base/units.h"
#include "board/board.h"
#include "lamp/lamp.h"
#include "signal/signal.h"
#include "take/events.h"
#include "take/take.h"

#include "volleyweave/volleyweave.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>

// Behind a loop a shot is an event so near to its place, in periods (chosen
// here).
#define SHOT_NEAR 0.2

/// From the first attack each lies as far as its event does.
static VwStatus
find_in_file(const VwSound* sound, size_t** shots, size_t* n_shots) {
  VwEvents       events = {0};
  const VwStatus st =
    vw_sound_peak(sound) > 0.0 ? vw_events_find(sound, &events) : VW_OK;
  if (st) {
    return st;
  }
  const size_t  n = events.n_events ? events.n_events : 1U;
  size_t* const found = calloc(n, sizeof(size_t));
  for (size_t i = 0; found && i < n; ++i) {
    found[i] = vw_shot_pre_roll(sound->rate_hz);
    found[i] += events.n_events
                  ? events.events[i].start_frame - events.events[0].start_frame
                  : 0U;
  }
  vw_events_clear(&events);
  *shots = found;
  *n_shots = n;
  return found ? VW_OK : VW_NO_MEMORY;
}

/// Place the shots of a loop in which none are counted at their events: one if
/// they are none of several, and none of a sound that goes on.
static VwStatus
find_heard(const VwSound* loop, size_t** shots, size_t* n_shots) {
  VwEvents       events = {0};
  const VwStatus st = vw_events_heard(loop, &events);
  const bool     several = !st && vw_events_are_shots(&events);
  const bool     none = !st && events.kind == VW_KIND_SUSTAINED;
  const size_t   n = none ? 0U : several ? events.n_events : 1U;
  size_t* const  found = n ? calloc(n, sizeof(size_t)) : NULL;
  for (size_t i = 0; found && i < n; ++i) {
    found[i] =
      several ? events.events[i].start_frame : vw_shot_pre_roll(loop->rate_hz);
  }
  vw_events_clear(&events);
  if (st == VW_NO_MEMORY || (n && !found)) {
    free(found);
    return VW_NO_MEMORY;
  }
  *shots = found;
  *n_shots = n;
  return VW_OK;
}

/// Spread the shots of a loop over the file, or over file and gap.
static VwStatus
find_in_loop(const VwSound*     loop,
             const VwLoopKnown* known,
             size_t**           shots,
             size_t*            n_shots) {
  VwRateFound    found = {.shots = known->shots ? known->shots : 1U};
  const VwStatus st = vw_rate_of_loop(loop, known, &found);
  if (st && st != VW_NO_STEADY_RATE) {
    return st;
  }
  if (st && !known->shots) {
    return find_heard(loop, shots, n_shots);
  }
  const size_t gap =
    found.uneven ? 0U : vw_frames_of_s(found.gap_ms / 1000.0, loop->rate_hz);
  const size_t  n = found.shots;
  size_t* const spread = calloc(n, sizeof(size_t));
  if (!spread) {
    return VW_NO_MEMORY;
  }
  for (size_t i = 0; i < n; ++i) {
    spread[i] = vw_shot_pre_roll(loop->rate_hz) +
                (2U * i * (loop->n_frames + gap) + n) / (2U * n);
  }
  *shots = spread;
  *n_shots = n;
  return VW_OK;
}

VwStatus
vw_rehearse_find_shots(const VwSound*     sound,
                       const VwLoopKnown* loop,
                       size_t**           shots,
                       size_t*            n_shots) {
  assert(sound && sound->n_frames && shots && n_shots);
  return loop ? find_in_loop(sound, loop, shots, n_shots)
              : find_in_file(sound, shots, n_shots);
}

VwStatus
vw_rehearse_find_uneven(const VwSound* sound, size_t** shots, size_t* n_shots) {
  assert(sound && shots && *shots);
  VwEvents events = {0};
  if (!(vw_sound_peak(sound) > 0.0)) {
    return VW_OK;
  }
  VwStatus st = vw_events_heard(sound, &events);
  if (!st && vw_events_are_uneven(&events, *n_shots)) {
    const size_t  n = events.n_events;
    size_t* const found = calloc(n, sizeof(size_t));
    for (size_t i = 0; found && i < n; ++i) {
      found[i] = events.events[i].start_frame;
    }
    st = found ? VW_OK : VW_NO_MEMORY;
    if (found) {
      free(*shots);
      *shots = found;
      *n_shots = n;
    }
  }
  vw_events_clear(&events);
  return st == VW_NO_MEMORY ? st : VW_OK;
}

/* A loop within its file */

/// How many shots follow each other by a period from a frame on: as many as
/// there are events at their places.
static VwStatus
count_behind(const VwSound* sound,
             double         from,
             double         period,
             size_t*        n_behind) {
  size_t*        shots = NULL;
  size_t         n_shots = 0;
  const VwStatus st = find_in_file(sound, &shots, &n_shots);
  *n_behind = 0;
  for (size_t i = 0; !st && i < n_shots; ++i) {
    const double next = from + (double)*n_behind * period;
    *n_behind += fabs((double)shots[i] - next) < SHOT_NEAR * period;
  }
  free(shots);
  return st == VW_NO_MEMORY ? st : VW_OK;
}

VwStatus
vw_rehearse_spread_shots(const VwRehearsal* rehearsal,
                         const VwPlayed*    loop,
                         size_t**           shots,
                         size_t*            n_shots) {
  assert(loop->n_shots);
  const size_t start = rehearsal->loop_start;
  const double n_loop = (double)(rehearsal->loop_end - start);
  const double period = n_loop / (double)loop->n_shots;
  const size_t n_before = (size_t)((double)start / period + 0.5);
  const size_t n_to_end = n_before + loop->n_shots;
  const double first = (double)loop->shots[0];
  const double behind = (double)rehearsal->loop_end + first;
  const double from =
    first + fmax((double)start - (double)n_before * period, 0.0);
  size_t         n_behind = 0;
  const VwStatus st =
    count_behind(rehearsal->main.sound, behind, period, &n_behind);
  const size_t  n = n_to_end + n_behind;
  size_t* const spread = st ? NULL : calloc(n, sizeof(size_t));
  if (!spread) {
    return VW_NO_MEMORY;
  }
  for (size_t i = 0; i < n; ++i) {
    spread[i] = i < n_before ? (size_t)(from + (double)i * period + 0.5)
                : i < n_to_end
                  ? start + loop->shots[i - n_before]
                  : (size_t)(behind + (double)(i - n_to_end) * period + 0.5);
  }
  *shots = spread;
  *n_shots = n;
  return VW_OK;
}
