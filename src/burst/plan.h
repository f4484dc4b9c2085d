#ifndef VW_PLAN_H
#define VW_PLAN_H

#include "volleyweave/volleyweave.h"

/// What a cycle must be.
typedef struct {
  double   fire_rate_per_s; ///< Asked.
  unsigned rate_hz;         ///< The board's sample rate.
  double   cycle_max_s;     ///< Longest cycle in a file.
  size_t   frames_most;     ///< No file holds more.
  size_t   gap_frames;      ///< The board's pause behind the file.
  size_t   frames_unit;     ///< The file is a multiple of this, always.
  unsigned shots;           ///< Exactly so many; 0: as needed.
  unsigned shots_least;     ///< As many as this where the cycle holds them.
  unsigned shots_most;      ///< No more than this, but `shots_least`.
  unsigned shots_unit;      ///< A multiple of this, always.
} VwPlanWish;

/**
 * Lay out a cycle: the smallest number of shots with which a whole number of
 * frames meets the fire rate within 0.1 %, else the number with the least
 * error, ties to the smaller.
 *
 * The gap is part of the cycle, or, where it exceeds 0.4 of the period, comes
 * on top of it.
 *
 * @param plan Filled in on success, but for `chosen`.
 * @return #VW_OK, #VW_CYCLE_TOO_LONG, #VW_FILE_TOO_BIG.
 */
VwStatus vw_plan_make(const VwPlanWish* wish, VwPlan* plan);

/// The fastest rate at which the gap is hidden; infinite without one.
double vw_plan_even_fire_rate(const VwPlanWish* wish);

/// Frames of the cycle that lie in a file: all but the gap.
size_t vw_plan_file_frames(const VwPlan* plan);

/// From one shot to the next, where no heard gap lies between them.
double vw_plan_period_s(const VwPlan* plan);

/**
 * Where shot `index` of the burst starts, in frames from the trigger.
 *
 * Shot i lies at `round(i * n_frames / shots)`, in every cycle alike; where the
 * gap is heard (`uneven`), at `round(i * (n_frames - gap_frames) / shots)`.
 */
size_t vw_plan_start(const VwPlan* plan, size_t index);

/**
 * How the shots of one take would lie in the cycle, without the take.
 *
 * @param options Its fire rate and sample rate have to be given.
 * @param plan Filled in on success.
 * @return #VW_OK, #VW_BAD_OPTION, #VW_CYCLE_TOO_LONG, #VW_FILE_TOO_BIG.
 */
VwStatus vw_plan_find(const VwFamilyOptions* options, VwPlan* plan);

#endif
