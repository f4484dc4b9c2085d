/// @file
/// A limiter: a sound held under a true-peak ceiling.
#ifndef VW_LIMITER_H
#define VW_LIMITER_H

#include "volleyweave/volleyweave.h"

/// It takes no more than this from a crest if nothing else is asked, dB (chosen
/// here).
#define VW_LIMITING_USUAL_DB 3.0

/// The limiter's reduction falls to a tenth within this time, seconds, once it
/// is let go.
#define VW_LIMITER_RELEASE_S 0.050

/// The limiter's release from 12 dB to nothing, seconds: eight decades.
#define VW_LIMITER_SETTLE_S (8.0 * VW_LIMITER_RELEASE_S)

/// How much a limiter took, and for how long.
typedef struct {
  double most_db; ///< Greatest reduction.
  double time_ms; ///< Time with a reduction above 0.1 dB.
  double share;   ///< Part of the time with a reduction above 1 dB.
} VwLimited;

/**
 * Hold a sound under a true-peak ceiling.
 *
 * Works on all channels alike and only about what exceeds the ceiling: the gain
 * falls on a straight line in dB over the 1.5 ms before a peak, holds for 9 ms
 * after it, and comes back within about #VW_LIMITER_RELEASE_S. Holding for
 * longer than half a turn of 60 Hz keeps the gain still under a steady low
 * tone. It looks no further ahead than 1.5 ms, less than the 2 ms before a
 * shot's attack, so that no shot is turned down for one that may never come.
 *
 * @param ceiling Highest value wanted, full scale 1; HUGE_VAL: no limiter.
 * @param sound Changed in place; a sound under the ceiling not at all.
 * @param limited Set to what it took.
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_limiter_run(double ceiling, VwSound* sound, VwLimited* limited);

/**
 * Hold a cycle that repeats without end under a true-peak ceiling, as it is in
 * the steady burst.
 *
 * @param most_db No lower a ceiling than takes so much counts; HUGE_VAL: any.
 * @param cycle Changed in place.
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_limiter_run_steady(double ceiling, double most_db, VwSound* cycle);

#endif
