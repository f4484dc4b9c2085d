/// @file
/// The signals that loudness meters are checked with, made from their tables:
/// EBU Tech 3341 version 4 and Tech 3342 version 4, both of November 2023.
#ifndef TESTS_EBU_H
#define TESTS_EBU_H

#include "volleyweave/volleyweave.h"

#include <stddef.h>

/// A stretch of a signal: so long, at such a peak level; -HUGE_VAL: silence.
typedef struct {
  double seconds;
  double dbfs;
} EbuSegment;

/// A 1000 Hz sine at 48 kHz in phase in both channels, stretch after stretch
/// with no break of phase, all of them `n_times` over.
///
/// Free it with vw_sound_clear(), as all that follow.
VwSound ebu_tone(const EbuSegment* segments, size_t n_segments, size_t n_times);

/// Case 6 of Tech 3341: five channels, L, R, C, Ls, Rs.
VwSound ebu_five_channels(void);

/// Cases 15 to 19: a sine of 48 kHz / `parts` with 10 ms fades, half a second.
VwSound ebu_sine(double parts, double amplitude, double phase_degrees);

/// Cases 20 to 23: one period of a quarter of the sample rate within a sixth,
/// made at four times the rate, low-passed and decimated.
VwSound ebu_peak(unsigned decimation_offset);

#endif // TESTS_EBU_H
