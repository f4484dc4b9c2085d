#ifndef VW_BANDS_H
#define VW_BANDS_H

#include "volleyweave/volleyweave.h"

/// How many bands there are.
#define VW_BANDS 12U

/// How loud a loop is in each of a few bands, from step to step, beside the
/// band's mean: by it two shots of one take are told to be alike, also where
/// one is a little higher or louder.
typedef struct {
  double* values;   ///< `n_steps` times #VW_BANDS. Owned.
  size_t  n_steps;  ///< In a cycle, evenly spread.
  double  step_s;   ///< About 2 ms.
  double  length_s; ///< Of the cycle.
} VwBands;

/**
 * Take the bands of a loop that is played without end.
 *
 * @param mono One cycle, of one channel.
 * @param bands Filled in on success; free it with vw_bands_clear().
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_bands_take(const VwSound* mono, VwBands* bands);

/// Free what is owned. NULL is accepted.
void vw_bands_clear(VwBands* bands);

/// Two pieces of a loop.
typedef struct {
  double from_s;   ///< Where one starts.
  double other_s;  ///< Where the other starts.
  double length_s; ///< Of both.
  bool   wraps;    ///< They run on over the seam; else they end there.
} VwBandsPair;

/// How alike two pieces are: 1 for the same course, about 0 for two that have
/// nothing to do with each other.
double vw_bands_likeness(const VwBands* bands, const VwBandsPair* pair);

#endif
