#ifndef VW_SHOTS_H
#define VW_SHOTS_H

#include "curve.h"

/// Which shot of a take is meant, in steps of its curve.
typedef struct {
  size_t   rise;    ///< Where its level is first within 6 dB of the loudest.
  size_t   crest;   ///< Where its level is highest.
  size_t   limit;   ///< Where the quiet before the next shot ends, or the take.
  unsigned n_shots; ///< How many the take holds.
} VwShots;

/**
 * Find the first shot whose crest is within 6 dB of the loudest.
 *
 * Another shot begins where the level is within 6 dB of the loudest again,
 * having stayed 12 dB below the crest before it for 25 ms.
 */
VwShots vw_shots_find(const VwCurve* curve);

/// Seconds in which the level is within 12 dB of the take's loudest.
double vw_shots_loud_s(const VwCurve* curve);

#endif
