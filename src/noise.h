#ifndef VW_NOISE_H
#define VW_NOISE_H

#include "curve.h"

/**
 * Power of the take's quiet part: the tenth percentile of its 10 ms means.
 *
 * @param sounding Leave digital silence out of the count.
 * @param power Filled in on success; 0 where the quiet part is digital silence.
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_noise_power(const VwCurve* curve, bool sounding, double* power);

#endif
