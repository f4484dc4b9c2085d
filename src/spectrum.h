#ifndef VW_SPECTRUM_H
#define VW_SPECTRUM_H

#include "volleyweave/volleyweave.h"

/**
 * The autocorrelation of `n` values, silence about them, by way of their power
 * spectrum.
 *
 * @param correlation Room for `n_lags` values, at most `n`.
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_spectrum_correlate(const double* values,
                               size_t        n,
                               double*       correlation,
                               size_t        n_lags);

/**
 * The share of a sound's energy below a frequency, 0 to 1.
 *
 * @param share Filled in on success; NaN of digital silence.
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_spectrum_share_below(const VwSound* sound,
                                 double         hz,
                                 double*        share);

#endif
