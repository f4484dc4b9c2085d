/// @file
/// How long a sound goes on after the release.
#ifndef VW_CLI_OVERRUN_H
#define VW_CLI_OVERRUN_H

#include "board/board.h"

#include "volleyweave/volleyweave.h"

/// The files that a board plays. Start from all zero.
typedef struct {
  size_t n_main;     ///< Frames of the longest loop or burst.
  size_t n_run_in;   ///< Of the run-in, where it is a file of its own.
  size_t n_ring_out; ///< Of the ring-out, likewise.
} Overrun;

/// Take a file of so many frames into account.
void overrun_add(Overrun* overrun, VwPart part, size_t n_frames);

/// Whether a board plays on when its trigger is let go.
bool overrun_is_any(const VwBoard* board);

/// The longest that is heard after the release: a file that has just begun,
/// and what follows on it.
size_t overrun_frames(const Overrun* overrun);

#endif
