#ifndef VW_GAUGE_HUM_H
#define VW_GAUGE_HUM_H

#include "volleyweave/volleyweave.h"

/**
 * Take mains hum and its multiples away: of 50 or 60 Hz, whichever there is
 * more of, by the amplitudes and phases of stretches of 4 s.
 *
 * @param values In and out.
 * @param mains_hz Set to the frequency of the mains in the first stretch; NaN
 * if there is less than 1 s.
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_hum_remove(double* values,
                       size_t  n,
                       double  rate_hz,
                       double* mains_hz);

#endif
