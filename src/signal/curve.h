#ifndef VW_CURVE_H
#define VW_CURVE_H

#include "volleyweave/volleyweave.h"

/// The course of a sound's level, in steps of about half a millisecond.
typedef struct {
  double* power;  ///< Mean square of each step, mean over the channels. Owned.
  double* level;  ///< 10 ms Hann-weighted power after the level's high-pass,
                  ///< about the middle of each step. Owned.
  size_t n_steps; ///< How many, at least 1.
  size_t n_step;  ///< Frames in a step.
  double step_s;  ///< Length of a step, seconds.
} VwCurve;

/**
 * Take the course of a sound's level.
 *
 * @param curve Filled in on success; free it with vw_curve_clear().
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_curve_take(const VwSound* sound, VwCurve* curve);

/// Free what `curve` owns. NULL is accepted.
void vw_curve_clear(VwCurve* curve);

/// The step with the highest level in [from, to).
size_t vw_curve_crest(const VwCurve* curve, size_t from, size_t to);

/// Steps nearest to a time.
size_t vw_curve_steps(const VwCurve* curve, double seconds);

// No valley reads deeper than this: beyond it no two can be told apart, and
// digital silence has no level.
#define VW_VALLEY_DEEPEST_DB 60.0

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

#endif
