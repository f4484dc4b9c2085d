/// @file
/// Measures of sounds that share nothing with the library.
#ifndef TESTS_MEASURE_H
#define TESTS_MEASURE_H

#include "volleyweave/volleyweave.h"

#include <stddef.h>

/// Highest absolute value.
double measure_peak(const VwSound* sound);

/// Root of the mean square of all values.
double measure_rms(const VwSound* sound);

/// Largest step from one frame to the next between two frames, of all channels.
double measure_step_max(const VwSound* sound, size_t first, size_t last);

/// A percentile (0 to 1) of the steps from frame to frame, of all channels.
double measure_step_percentile(const VwSound* sound, double fraction);

/// Largest difference of two sounds, the shorter continued with zeros.
double measure_difference(const VwSound* one, const VwSound* other);

/// A power level curve, one value per frame. Free it with free().
///
/// Fourth-order Butterworth high-pass at 100 Hz, power of all channels, Hann
/// window of 10 ms centred on the frame.
double* measure_level(const VwSound* sound);

/// Valley in dB of a steady cycle that holds `n_shots` evenly spread shots.
///
/// From a shot's crest to the mean of the lowest fifth of its period on the
/// level curve of the cycle repeated; the shallowest shot counts.
double measure_valley_db(const VwSound* cycle, size_t n_shots);

/// Time of a decay by 60 dB, from a line through the backward-integrated
/// energy between two levels in dB (ISO 3382-1:2009).
double measure_decay_s(const VwSound* sound, double from_db, double to_db);

/// How many times the level rises to within 3 dB of its maximum after having
/// been 8 dB below it.
size_t measure_shots(const VwSound* sound);

/// Play a sound again and again. Free it with vw_sound_clear().
VwSound measure_played(const VwSound* sound, size_t n_times);

/// How much later than `take_start_s` in its take a mono sound cut from it
/// starts: the lag of the highest correlation, sought within 2 ms.
///
/// The take is brought to the rate of the sound by a windowed sinc.
double measure_lag_s(const VwSound* sound,
                     const VwSound* take,
                     double         take_start_s);

/// Time from shot to shot in a sound that repeats identical shots for many
/// seconds, by autocorrelation: of the level first, then of the wave over ever
/// more shots.
double measure_period_s(const VwSound* played);

#endif // TESTS_MEASURE_H
