#ifndef VW_NOISE_H
#define VW_NOISE_H

#include "signal/curve.h"

/// Seconds over which a power is taken where noise is looked for.
#define VW_NOISE_MEAN_S 0.010

/**
 * Power of the quiet in steps [from, to) of a curve: a low one of its 10 ms
 * means, digital silence left out.
 *
 * @param share Which of the sorted means: 0 the lowest, 0.1 the tenth
 * percentile.
 * @param power Filled in on success; 0 where all is digital silence or the
 * stretch is shorter than 10 ms.
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_noise_quietest(const VwCurve* curve,
                           size_t         from,
                           size_t         to,
                           double         share,
                           double*        power);

/// What is known of a take's noise. NaN: nothing.
typedef struct {
  double before; ///< Power before the attack: the median of 10 ms means.
  double after;  ///< Power after the tail, where the take's end is steady.
} VwNoise;

/**
 * Look for the noise before step `attack` and at the end of `[crest, limit)`.
 *
 * The end counts as noise where its last tenth (40 ms at least) is level to
 * 2 dB and 20 dB below the crest; else it is a tail still falling.
 *
 * @param noise Filled in on success.
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_noise_around(const VwCurve* curve,
                         size_t         attack,
                         size_t         crest,
                         size_t         limit,
                         VwNoise*       noise);

#endif
