/// @file
/// A lamp, measured by a recording of its light.
#ifndef VW_GAUGE_LAMP_H
#define VW_GAUGE_LAMP_H

#include "volleyweave/volleyweave.h"

/// A lamp, as its light was recorded.
typedef struct {
  double rate_hz;         ///< Of the line through the flashes on it.
  double uncertainty_hz;  ///< 95 % of the true rates lie within.
  double rate_change;     ///< How much faster it is at the last flash than at
                          ///< the first, a share; NaN if that is not plain.
  double jitter_ms;       ///< RMS of the flashes' times about that line, bent
                          ///< if the rate changes.
  size_t flashes;         ///< On the line.
  double first_s;         ///< Where the first of them begins.
  double on_ms;           ///< Mean on-time. A recording may be upside down:
                          ///< what is not there in a pause counts as lit, and
                          ///< without a pause the shorter part of the period.
  double on_jitter_ms;    ///< RMS of the on-times about their mean.
  double dark_ms;         ///< The other part, which is the on-time of a lamp
                          ///< that is lit for the longer part.
  bool   shown;           ///< A pause shows which part is lit.
  double hum_hz;          ///< Of the mains, as it was taken away.
  double sound_lag_ms;    ///< From a flash to its shot's start in the other
                          ///< channel, median; NaN without.
  double   sound_rate_hz; ///< Of the shots there; NaN if they are not even.
  size_t   shots;         ///< That have a flash; 0 without a sound.
  unsigned channel;       ///< The lamp's.
  bool may_be_sound; ///< Of two channels: both are even, or it hardly holds.
} VwLampGauged;

/**
 * Gauge a lamp by a recording of a phototransistor or a solar cell at a
 * microphone's input (common practice), alone or, in stereo, beside the sound.
 *
 * Edges of the light are where the mean of 0.7 ms jumps; mains hum is taken
 * away before. Whether the light is the first channel or the second is found:
 * it is the one whose edges lie evenly, or if both do the one that holds
 * longer.
 *
 * @param gauged Filled in on success.
 * @return #VW_OK, #VW_NO_MEMORY, #VW_TOO_SHORT, #VW_SILENT, #VW_NO_STEADY_RATE.
 */
VwStatus vw_lamp_gauge(const VwSound* recording, VwLampGauged* gauged);

/**
 * The same by the brightness of each picture of a video.
 *
 * @param brightness In any unit, linear in the light.
 * @param pictures_per_s Of the video.
 * @return As vw_lamp_gauge().
 */
VwStatus vw_lamp_gauge_video(const double* brightness,
                             size_t        n_pictures,
                             double        pictures_per_s,
                             VwLampGauged* gauged);

#endif
