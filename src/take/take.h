#ifndef VW_TAKE_H
#define VW_TAKE_H

#include "base/units.h"
#include "signal/signal.h"

#include "volleyweave/volleyweave.h"

// The way from a file to a take is vw_read() and vw_take_prepare(), and that to
// its shot vw_find(); see the public header.

/// What lies so long before the attack belongs to the shot, seconds.
#define VW_PRE_ROLL_S 0.002

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

#endif
