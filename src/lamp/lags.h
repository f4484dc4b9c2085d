#ifndef VW_LAGS_H
#define VW_LAGS_H

#include "lamp/bands.h"

/// How the bands of a loop and the same later go together, lag by lag. Starts
/// all zero.
typedef struct {
  double* product; ///< Sum of the products of what lies a lag apart. Owned.
  double* energy;  ///< The most that the product can be. Owned.
  size_t  n_lags;
  double  step_s; ///< From one lag to the next.
} VwLags;

/**
 * Take the lags of bands, within the file: nothing runs on over its seam.
 *
 * @param lags Filled in on success; free it with vw_lags_clear().
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_lags_take(const VwBands* bands, VwLags* lags);

/// Free what is owned. NULL is accepted.
void vw_lags_clear(VwLags* lags);

/// The period of so many shots (2 and up) that repeats best, between two.
double vw_lags_period_s(const VwLags* lags,
                        size_t        shots,
                        double        least_s,
                        double        most_s);

#endif
