/// @file
/// Meters of the tests' own for what is written: true peak and loudness.
#ifndef TESTS_METER_H
#define TESTS_METER_H

#include "volleyweave/volleyweave.h"

/// What lies about a sound's ends.
typedef enum {
  METER_SILENCE, ///< 32 frames of zeros at either end are looked at too.
  METER_ITSELF   ///< The sound again, as a loop is played.
} MeterEnds;

/// True peak, dBTP: 16 times oversampled by a Hann-windowed sinc of 24 lobes a
/// side.
double meter_true_peak_dbtp(const VwSound* sound, MeterEnds ends);

/// Greatest momentary loudness of a sound in silence, looked at every 10 ms.
///
/// A libebur128 meter that has seen nothing before; below 22 kHz it is fed a
/// copy at 48 kHz.
double meter_effect_lufs(const VwSound* sound);

/// Greatest momentary loudness of a loop that is played again and again, once
/// it has been for a second.
double meter_loop_lufs(const VwSound* loop);

#endif // TESTS_METER_H
