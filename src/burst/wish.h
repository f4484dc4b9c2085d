#ifndef VW_WISH_H
#define VW_WISH_H

#include "burst/plan.h"

/**
 * What the cycle must be for these takes, this board and these options.
 *
 * @param facts What was found in each of the `n_takes` takes.
 * @param rate_hz The board's sample rate.
 */
VwPlanWish vw_wish_make(const VwFamilyOptions* options,
                        const VwShotFacts*     facts,
                        size_t                 n_takes,
                        unsigned               rate_hz);

/// Whether no two shots running are alike.
bool vw_wish_is_varied(const VwFamilyOptions* options, size_t n_takes);

#endif
