#ifndef VW_VALLEY_H
#define VW_VALLEY_H

#include "burst/burst.h"

/**
 * Depth of the quiet below the crest in one period of levels.
 *
 * The quiet is the mean of the lowest fifth.
 *
 * @param levels Powers, in any even spacing. They are put in another order.
 * @param n How many, at least 1.
 * @return dB; 60 at most.
 */
double vw_valley_of_levels(double* levels, size_t n);

/**
 * How far the last decay of a cycle has come down where the board's gap cuts it
 * off.
 *
 * @param volley How the shots are laid down about the gap.
 * @param depth_db Filled in on success: dB below the shot's crest, 60 at most.
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_valley_gap_depth(const VwVolley* volley, double* depth_db);

/**
 * The valley of a steady cycle, of its shallowest shot.
 *
 * @param cycle One cycle, which repeats without end.
 * @param plan Where the shots lie in it. Shot `first` starts at frame 0.
 * @param valley_db Filled in on success.
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_valley_measure(const VwSound* cycle,
                           const VwPlan*  plan,
                           double*        valley_db);

/// Where in a steady cycle the shallowest valley lies.
typedef struct {
  double   depth_db;    ///< As in #VwFamily; 60 at most.
  unsigned shot;        ///< Before which next one, from 0 on.
  size_t   crest_frame; ///< Where this shot's level is highest.
  size_t   quiet_frame; ///< Where it is lowest before the next.
  double   crest_dbfs;  ///< The level there, behind the high-pass at 100 Hz;
                        ///< NaN of silence.
  double quiet_dbfs;    ///< `depth_db` below: the mean of the lowest fifth.
} VwValley;

/**
 * Find the shallowest valley of a loop, repeated without end.
 *
 * @param loop One whole cycle of a plan, its gap left out.
 * @param valley Filled in on success.
 * @return #VW_OK, #VW_NO_MEMORY, #VW_BAD_OPTION (the plan is another's).
 */
VwStatus vw_valley_of_loop(const VwSound* loop,
                           const VwPlan*  plan,
                           VwValley*      valley);

#endif
