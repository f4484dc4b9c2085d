#ifndef VW_PLAN_H
#define VW_PLAN_H

#include "volleyweave/volleyweave.h"

/// What a cycle must be.
typedef struct {
  double   fire_rate_per_s; ///< Asked.
  unsigned rate_hz;         ///< The board's sample rate.
  double   cycle_max_s;     ///< Longest cycle.
  unsigned shots;           ///< Exactly so many; 0: as needed.
  unsigned shots_least;     ///< As many as this where the cycle holds them.
  unsigned shots_unit;      ///< A multiple of this, always.
  size_t   frames_unit;     ///< The cycle is a multiple of this.
} VwPlanWish;

/**
 * Lay out a cycle: the smallest number of shots with which a whole number of
 * frames meets the fire rate within 0.1 %, else the number with the least
 * error, ties to the smaller.
 *
 * @param plan Filled in on success, but for `chosen`.
 * @return #VW_OK or #VW_CYCLE_TOO_LONG.
 */
VwStatus vw_plan_make(const VwPlanWish* wish, VwPlan* plan);

#endif
