#ifndef VW_FASTEST_H
#define VW_FASTEST_H

#include "signal/curve.h"

/// Fire rates that are tried for a shot, per second.
#define VW_FASTEST_LEAST_PER_S 4.0
#define VW_FASTEST_MOST_PER_S 15.0
#define VW_FASTEST_STEP_PER_S 0.5

/**
 * The highest of 4, 4.5 ... 15 per second such that it and every slower one
 * keep a valley of 9 dB on the energy sum of the shot's level curve.
 *
 * @param from,to The shot in steps of the curve.
 * @param fire_rate_per_s Filled in on success; NaN where 4 per second fails.
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_fastest_find(const VwCurve* curve,
                         size_t         from,
                         size_t         to,
                         double*        fire_rate_per_s);

#endif
