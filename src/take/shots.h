#ifndef VW_SHOTS_H
#define VW_SHOTS_H

#include "signal/curve.h"

/// Which shot of a take is meant, in steps of its curve.
typedef struct {
  size_t   rise;    ///< Where its level is first within 6 dB of the loudest.
  size_t   crest;   ///< Where its level is highest.
  size_t   limit;   ///< Where the quiet before the next shot ends, or the take.
  size_t   last;    ///< Where the last shot begins.
  unsigned n_shots; ///< How many the take holds.
} VwShots;

/**
 * Find the first shot whose crest is within 6 dB of the loudest.
 *
 * Another shot begins where the level is within 6 dB of the loudest again,
 * having stayed 12 dB below the crest before it for 25 ms.
 */
VwShots vw_shots_find(const VwCurve* curve);

/**
 * Whether what looks like shots is a sustained sound: the shot meant stays
 * within 12 dB of its crest for 0.9 s, or the whole take does so and between
 * its shots never falls by 25 dB.
 */
bool vw_shots_sustained(const VwCurve* curve, const VwShots* shots);

#endif
