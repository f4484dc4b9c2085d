#ifndef VW_TIGHTEN_H
#define VW_TIGHTEN_H

#include "burst/burst.h"

/// What was reached by tightening.
typedef struct {
  double valley_db;      ///< Of the steady cycle.
  double slope_db_per_s; ///< How fast the decays are bent down; 0: not at all.
} VwTightness;

/// Frames from a shot's crest to where its bend begins: half a level's window.
size_t vw_tighten_margin(unsigned rate_hz);

/**
 * Bend the shots' decays down, no more than a valley needs.
 *
 * Every shot is left as it is to just past its crest; from there its level
 * falls the faster by a number of decibels per second, the same for all. What
 * has fallen by 140 dB is cut off.
 *
 * @param volley How the shots are laid down.
 * @param shots The same shots, `plan->shots` of them; bent in place.
 * @param bend_from The frame of each from which it may be bent.
 * @param valley_db To reach; NaN: it is measured and no shot is bent.
 * @param tightness Filled in on success.
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_tighten(const VwVolley* volley,
                    VwSound*        shots,
                    const size_t*   bend_from,
                    double          valley_db,
                    VwTightness*    tightness);

#endif
