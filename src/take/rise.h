#ifndef VW_RISE_H
#define VW_RISE_H

#include "volleyweave/volleyweave.h"

/// A straight rise out of noise.
typedef struct {
  const VwSound* sound;
  size_t         from;  ///< The first frame looked at, still in the noise.
  size_t         to;    ///< One past the last.
  double         noise; ///< Power of the noise.
  double         near;  ///< The frame, with its fraction, where the rise ...
  double         power; ///< ... comes to this power.
} VwRise;

/**
 * The likeliest start of a slow rise.
 *
 * The noise hides the beginning of a slow rise. Supposing normal values whose
 * deviation rises on a straight line, the start is where their likelihood is
 * greatest (method of maximum likelihood).
 *
 * @param change The frame from which the rise stands out of the noise.
 */
size_t vw_rise_start(const VwRise* rise, size_t change);

#endif
