#ifndef VW_FAMILY_H
#define VW_FAMILY_H

#include "burst/burst.h"

/// What a family is made from; see vw_family_make().
typedef struct {
  const VwTake*          takes;
  const VwShotFacts*     facts;
  size_t                 n_takes;
  const VwFamilyOptions* options;
} VwFamilyWish;

/**
 * Make a family, and measure how its loudness goes with gain.
 *
 * @param family Filled in on success; free it with vw_family_clear().
 * @param curve Filled in on success; may be NULL.
 * @return As vw_family_make().
 */
VwStatus vw_family_measure(const VwFamilyWish* wish,
                           VwFamily*           family,
                           VwLevelCurve*       curve);

#endif
