/// @file
/// Test signals, synthesised from figures that the tests know exactly.
#ifndef TESTS_SIGNALS_H
#define TESTS_SIGNALS_H

#include "volleyweave/volleyweave.h"

#include <stdint.h>

/// A seeded source of pseudo-random numbers: same seed, same numbers.
typedef struct {
  uint64_t state;
} SignalRandom;

/// A source started from `seed`; neighbouring seeds give one stream, shifted.
SignalRandom signal_random(uint64_t seed);

/// The next number, evenly spread over 0 <= x < 1.
double signal_uniform(SignalRandom* random);

/// The next number of a normal distribution with mean 0 and variance 1.
double signal_normal(SignalRandom* random);

/// One burst: a linear rise, full level, then an exponential decay.
typedef struct {
  double start_s;  ///< Where it starts; need not lie on a frame.
  double rise_s;   ///< Length of the linear rise; 0: at once.
  double hold_s;   ///< Time at full level after the rise.
  double decay_s;  ///< Time in which it then decays by 60 dB; 0: never.
  double level;    ///< Amplitude of the tone; noise gets the same RMS.
  double pitch_hz; ///< Pitch at its start; 0: white noise.
  double glide_octaves_per_s; ///< How the pitch changes.
  double phase_turns;         ///< Phase at its start, as a sine.
} SignalBurst;

/// Mono silence. Free it with vw_sound_clear().
VwSound signal_silence(double seconds, unsigned rate_hz);

/// Add a burst to every channel.
void signal_add_burst(VwSound*           sound,
                      const SignalBurst* burst,
                      SignalRandom*      random);

/// Amplitude that `burst` has at time `at_s` of the sound.
double signal_burst_envelope(const SignalBurst* burst, double at_s);

/// Add white noise with the given RMS to every channel, independently.
void signal_add_noise(VwSound* sound, double rms, SignalRandom* random);

/// Add a constant.
void signal_add_offset(VwSound* sound, double offset);

/// Add an offset that starts with a burst and decays as it does.
void signal_add_offset_under(VwSound*           sound,
                             const SignalBurst* burst,
                             double             offset);

/// Add one frame of the given value.
void signal_add_click(VwSound* sound, double at_s, double level);

/// Add a sine over the whole length, phase in turns.
void signal_add_tone(VwSound* sound,
                     double   pitch_hz,
                     double   level,
                     double   phase);

/// A mono shot with some noise before it: the plainest take.
VwSound signal_take(double             seconds,
                    unsigned           rate_hz,
                    const SignalBurst* burst,
                    uint64_t           seed);

#endif // TESTS_SIGNALS_H
