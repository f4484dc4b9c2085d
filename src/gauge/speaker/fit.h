/// @file
/// A speaker's response as that of a high-pass with resonances.
#ifndef VW_GAUGE_FIT_H
#define VW_GAUGE_FIT_H

#include "gauge/speaker/speaker.h"

/// What a response is like.
typedef struct {
  double      level_db; ///< At 1 kHz, without the rest.
  double      tilt_db;  ///< An octave.
  double      corner_hz;
  double      order;   ///< 2 for 12 dB an octave.
  double      top_hz;  ///< It falls again, by 12 dB an octave.
  double      coil_hz; ///< From here by 6 dB an octave, as a coil makes it.
  VwResonance resonances[VW_RESONANCES_MOST];
  size_t      n_resonances;
  double      miss_db; ///< What it misses of the response in the mean.
} VwFit;

/// The response of a fit at a frequency, dB; with the first `n` resonances.
double vw_fit_db(const VwFit* fit, size_t n, double hz);

/**
 * Fit a response, of which points without a level are left out.
 *
 * @param fit Filled in on success.
 * @return #VW_OK; #VW_NO_MEMORY; #VW_SILENT: too few points.
 */
VwStatus vw_fit_find(const VwResponse* response, size_t n, VwFit* fit);

#endif
