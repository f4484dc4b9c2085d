#ifndef VW_CHECK_HEADER_H
#define VW_CHECK_HEADER_H

#include "board/board.h"
#include "card/notes.h"
#include "container/container.h"

/// Note what a simple reader of WAV files would stumble over. True where the
/// sound can be read all the same.
bool vw_check_header(const VwWavHeader* header,
                     const VwBoard*     board,
                     VwNotes*           notes);

#endif
