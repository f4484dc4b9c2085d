/// @file
/// Simulated speakers, and the recordings of what they play.
#ifndef TESTS_SPEAKERS_H
#define TESTS_SPEAKERS_H

#include "volleyweave/volleyweave.h"

/// A resonance: a peaking filter.
typedef struct {
  double hz;
  double db;
  double q;
} SpeakerPeak;

/// A speaker, and how it is recorded. All zero: a wire.
typedef struct {
  double      corner_hz; ///< 3 dB down, Butterworth; 0: none.
  unsigned    order;     ///< 2 to 4.
  SpeakerPeak peaks[4];
  unsigned    n_peaks;
  double      coil_hz; ///< From here on it falls by 6 dB an octave; 0: nowhere.
  double      second;  ///< The second harmonic of a tone at the sweep's level,
                       ///< as a share of it.
  double   third;      ///< The third.
  double   noise_db;   ///< Below the mean level of what it plays; 0: none.
  double   ppm;        ///< By how much slower the board's clock is.
  double   echo_s;     ///< After what is heard first; 0: none.
  double   echo_db;
  double   gain; ///< Of the recording; 0: 1.
  double   clip; ///< It is clipped at this; 0: not.
  unsigned seed; ///< Of the noise.
} Speaker;

/// What a speaker's filters do to a frequency, dB.
double speakers_db(const Speaker* speaker, double hz);

/// Its harmonics at a frequency, as a share of what is played.
double speakers_share(const Speaker* speaker, double hz);

/// A recording of what it plays of a sound of one channel: half a second before
/// it and behind it. Free it with vw_sound_clear().
VwSound speakers_recorded(const Speaker* speaker, const VwSound* sound);

/// A number from 0 to 1, the next of a row.
double speakers_random(unsigned* seed);

#endif // TESTS_SPEAKERS_H
