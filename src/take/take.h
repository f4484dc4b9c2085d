#ifndef VW_TAKE_H
#define VW_TAKE_H

#include "base/units.h"
#include "signal/signal.h"
#include "take/events.h"

#include "volleyweave/volleyweave.h"

// The way from a file to a take is vw_read() and vw_take_prepare(), and that to
// its shot vw_find(); see the public header.

/// What lies so long before the attack belongs to the shot, seconds.
#define VW_PRE_ROLL_S 0.002

/// Below 5 ms there is no room for an attack and a tail.
#define VW_SHORTEST_S 0.005

/**
 * The stretch of a recording that is asked for, without a copy.
 *
 * @return #VW_OK or #VW_BAD_STRETCH.
 */
VwStatus vw_stretch_view(const VwSound*       raw,
                         const VwFindOptions* options,
                         VwSound*             view);

/// Level of the loudest 10 ms of the stretch relative to those of all of its
/// recording, dB; 0 if it is all of it.
double vw_stretch_level_db(const VwSound* raw, const VwFindOptions* options);

/**
 * Frames before the attack at the start of every shot: 2 ms. The cut from loop
 * to loop lies before them, in the quiet before a shot and not in its attack
 * (0.5 to 2 ms: common practice).
 */
static inline size_t
vw_shot_pre_roll(unsigned rate_hz) {
  return vw_frames_of_s(VW_PRE_ROLL_S, rate_hz);
}

/// Fire rates that are tried for a shot, per second.
#define VW_FASTEST_LEAST_PER_S 4.0
#define VW_FASTEST_MOST_PER_S 15.0
#define VW_FASTEST_STEP_PER_S 0.5

/**
 * The pitch in the middle of each step, from 40 ms about it, as vw_find() tells
 * that of a tail.
 *
 * @param pitch_hz Set to `n_steps` values; NaN where there is none.
 * @return #VW_OK, #VW_NO_MEMORY.
 */
VwStatus vw_pitch_follow(const VwSound*   sound,
                         const VwStretch* stretch,
                         float*           pitch_hz);

/**
 * Find whether the stretch that is asked for starts within a shot, and note
 * where that one starts: what is left of it would be taken for a shot.
 *
 * @param take What vw_take_prepare_stretch() left of the recording.
 * @param facts Of the take; `torn_ms` is set.
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_torn_find(const VwSound*       raw,
                      const VwTake*        take,
                      const VwFindOptions* options,
                      VwShotFacts*         facts);

/**
 * vw_find() among events that are known.
 *
 * @param events From vw_events_find() of the take's sound.
 */
VwStatus vw_find_among(const VwTake*        take,
                       const VwFindOptions* options,
                       const VwEvents*      events,
                       VwShotFacts*         facts);

/**
 * The same of each shot of a take.
 *
 * @param facts Set to those of each event if events are shots; of any other
 * kind of take there is one shot.
 */
VwStatus vw_find_each(const VwTake*        take,
                      const VwFindOptions* options,
                      const VwEvents*      events,
                      VwShotFacts*         facts);

/**
 * Count the clipped frames of each event, as vw_take_prepare() counts those of
 * the take: from where it starts, or from its quiet before, to the next.
 *
 * @param raw As it was read.
 * @param n_clipped Set to those of each.
 */
void vw_clipped_of_events(const VwSound*  raw,
                          const VwEvents* events,
                          size_t*         n_clipped);

#endif
