#ifndef VW_TIMELINE_H
#define VW_TIMELINE_H

#include "board/board.h"

#include "volleyweave/volleyweave.h"

/// A trigger that is held, in frames.
typedef struct {
  size_t from; ///< Where it is pressed.
  size_t to;   ///< Where it is let go.
} VwPress;

/// Which file of those that a board holds for a trigger.
typedef enum {
  VW_FILE_MAIN,    ///< The only one; of three, the loop.
  VW_FILE_RUN_IN,  ///< Of three.
  VW_FILE_RING_OUT ///< Of three.
} VwFile;

/// Frames [from, to) of a file, heard from frame `at` on.
typedef struct {
  VwFile file;
  size_t from;
  size_t to;
  size_t at;
} VwPlay;

/// What a board plays. Starts all zero.
typedef struct {
  VwPlay* plays; ///< In the order in which they begin. Owned.
  size_t  n_plays;
  size_t  n_room; ///< How many there is room for.
} VwTimeline;

/// Files and board, in frames.
typedef struct {
  VwRepeat  repeat;
  VwRelease release;
  size_t    n_main;
  size_t    n_run_in;
  size_t    n_ring_out;
  size_t    loop_start; ///< Of the main file, where it has loop points.
  size_t    loop_end;
  size_t    gap;
  size_t    delay;  ///< From the press to the sound, `notice` included.
  size_t    notice; ///< How long a press lasts before it is one.
} VwPlaying;

/**
 * Follow a board through some presses; see vw_rehearse() for the rules.
 *
 * @param presses One after the other, `n_presses` of them.
 * @param timeline Filled in on success; free it with vw_timeline_clear().
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_timeline_make(const VwPlaying* playing,
                          const VwPress*   presses,
                          size_t           n_presses,
                          VwTimeline*      timeline);

/// Free what `timeline` owns. NULL is accepted.
void vw_timeline_clear(VwTimeline* timeline);

#endif
