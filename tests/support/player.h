/// @file
/// A simulated playback board.
#ifndef TESTS_PLAYER_H
#define TESTS_PLAYER_H

#include "volleyweave/volleyweave.h"

#include <stdbool.h>
#include <stddef.h>

/// The frames nearest to a board's pause.
size_t player_gap_frames(double gap_ms, unsigned rate_hz);

/// What is heard of a file that is played again and again with a pause behind
/// it each time. Free it with vw_sound_clear().
VwSound player_repeats(const VwSound* file, size_t n_gap, size_t n_times);

/// A press of a board's trigger.
typedef struct {
  size_t n_frames; ///< How long it is held.
  size_t n_gap;    ///< The board's pause between repeats.
  bool   finishes; ///< It plays a file that it has begun to its end.
} PlayerPress;

/// What is heard of one press, up to its last frame of the file. Free it with
/// vw_sound_clear().
VwSound player_pressed(const VwSound* file, const PlayerPress* press);

/// Where shots start in what is heard: where the level comes up to 3 dB below
/// its maximum, in frames, after having been 8 dB below it.
///
/// @param at Room for `most` of them.
/// @return How many there are.
size_t player_shots(const VwSound* heard, double* at, size_t most);

#endif // TESTS_PLAYER_H
