#ifndef VW_LIMITER_H
#define VW_LIMITER_H

#include "volleyweave/volleyweave.h"

/// How much a limiter took, and for how long.
typedef struct {
  double most_db; ///< Greatest reduction.
  double time_ms; ///< Time with a reduction above 0.1 dB.
} VwLimited;

/**
 * Hold a sound under a true-peak ceiling.
 *
 * Works on all channels alike and only about what exceeds the ceiling: the gain
 * falls on a straight line in dB over the 1.5 ms before a peak, holds for 6 ms
 * after it, and comes back within about 50 ms. Holding for longer than half a
 * turn of 100 Hz keeps the gain still under a steady low tone. It looks no
 * further ahead than 1.5 ms, less than the 2 ms before every attack, so that no
 * shot is turned down for one that may never come.
 *
 * @param ceiling Highest value wanted, full scale 1.
 * @param sound Changed in place; a sound under the ceiling not at all.
 * @param limited Filled in on success.
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_limiter_run(double ceiling, VwSound* sound, VwLimited* limited);

#endif
