#ifndef VW_CHECK_SOUND_H
#define VW_CHECK_SOUND_H

#include "board/board.h"
#include "card/notes.h"

/// What is known of a file before its sound is looked at.
typedef struct {
  bool     exact;    ///< It was not packed with loss: a zero is a zero.
  bool     has_part; ///< Its name tells which part of a family it is.
  VwPart   part;
  unsigned block_frames; ///< Longest block that may be padded, or 0.
  bool     has_loop;     ///< It has loop points that the board reads.
  size_t   loop_start;   ///< First frame of the loop.
  size_t   loop_last;    ///< Its last frame.
} VwSoundFacts;

/// Note what is heard amiss in a sound: its ends, its seam, its level.
void vw_check_sound(const VwSound*      sound,
                    const VwSoundFacts* facts,
                    const VwBoard*      board,
                    VwNotes*            notes);

#endif
