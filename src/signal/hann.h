#ifndef VW_HANN_H
#define VW_HANN_H

#include "volleyweave/volleyweave.h"

/// The window over which a level is taken, seconds.
#define VW_LEVEL_WINDOW_S 0.010

/// Values below this corner count for no level: no small speaker plays them.
#define VW_LEVEL_CORNER_HZ 100.0

/// Running sums up to a value, and the phase of the cosine at it.
typedef struct {
  double sum;
  double sum_cos;
  double sum_sin;
  double phase_cos;
  double phase_sin;
} VwHannPoint;

/**
 * A moving mean with Hann weights.
 *
 * The window is a constant plus one turn of a cosine, so three running sums
 * give the mean at every position at once.
 */
typedef struct {
  VwHannPoint* points;   ///< One before each value and one after all. Owned.
  size_t       n;        ///< Values.
  size_t       n_window; ///< Values under the window.
} VwHann;

/**
 * Prepare the moving mean of `n` values.
 *
 * @param hann Filled in on success; free it with vw_hann_clear().
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_hann_init(VwHann*       hann,
                      const double* values,
                      size_t        n,
                      size_t        n_window);

/// Free the points. NULL is accepted.
void vw_hann_clear(VwHann* hann);

/// The weighted mean about value `at`; what lies outside counts as zero.
double vw_hann_mean(const VwHann* hann, size_t at);

#endif
