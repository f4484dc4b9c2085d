/// @file
/// Tones in a sound, measured: their pitch, level, and what else is there.
#ifndef TESTS_TONES_H
#define TESTS_TONES_H

#include "volleyweave/volleyweave.h"

#include <stddef.h>

/// A stretch of one channel of a sound.
typedef struct {
  const VwSound* sound;
  size_t         first;
  size_t         n_frames;
  unsigned       channel;
} Stretch;

/// Pitch of the tone nearest to `near_hz`, within 4 % of it.
///
/// The maximum of the Fourier transform of the stretch under a Hann window.
double tone_pitch_hz(const Stretch* stretch, double near_hz);

/// Up to 16 tones of known pitch.
typedef struct {
  double hz[16];
  double level[16]; ///< Amplitude found.
  double phase[16]; ///< Phase at the first frame, as a sine, in turns.
  size_t n_tones;
  double rest_rms; ///< RMS of what is left without them.
} Tones;

/// Take tones of known pitch out of a stretch by least squares.
void tones_fit(const Stretch* stretch, Tones* tones);

/// Cents from one pitch to another.
double tone_cents(double from_hz, double to_hz);

#endif // TESTS_TONES_H
