#ifndef VW_PEAK_H
#define VW_PEAK_H

#include "volleyweave/volleyweave.h"

/// Zeros that a sound needs after its end for its last peaks to be seen.
#define VW_PEAK_LOBES 24

/**
 * The highest value between and at the frames of a sound: its true peak.
 *
 * Eight times oversampled with a Hann-windowed sinc of 24 lobes a side: of a
 * peak at 0.45 of the sample rate no more than 0.14 dB is missed (Rec. ITU-R
 * BS.1770-5, attachment 1 to annex 2), where four times oversampled misses
 * 0.55. Outside the sound is silence,
 * into which it may ring.
 *
 * @param least Only what exceeds this is looked at more closely, which must
 * be below any value of interest by half: a peak between two frames is never
 * twice as high as both unless the sound is at the limit of its band.
 * @param peaks For each frame, the highest value from half a frame before to
 * half a frame after it, over all channels, where that exceeds `least`; else
 * left as it is. May be NULL.
 * @return The highest of all.
 */
double vw_peak_find(const VwSound* sound, double least, float* peaks);

/// The true peak of a sound, in dBTP, and the frame before or at it; NaN of
/// digital silence, which has no frame.
double vw_peak_dbtp_at(const VwSound* sound, size_t* frame);

/// The true peak of a sound, in dBTP; NaN of digital silence.
double vw_peak_dbtp(const VwSound* sound);

#endif
