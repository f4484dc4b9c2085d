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

/// Powers of frequencies from windows of a sound, one after the other.
typedef struct VwPowers VwPowers;

/// For windows of at least `n_frames`; `*n` is set to how many powers they
/// give, evenly from 0 to half the sample rate. NULL without memory.
VwPowers* vw_powers_new(size_t n_frames, size_t* n);

/**
 * Add to each power that of a Hann window about a frame, the mean of all
 * channels: a full-scale sine adds 1. What lies outside of the sound is
 * silence.
 */
void vw_powers_add(VwPowers*      powers,
                   const VwSound* sound,
                   size_t         middle,
                   double*        sums);

/// Free it. NULL is accepted.
void vw_powers_free(VwPowers* powers);

#endif
