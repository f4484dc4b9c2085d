#ifndef VW_CHECK_FORMAT_H
#define VW_CHECK_FORMAT_H

#include "board/board.h"
#include "card/notes.h"

/// What a file says of its frames; what it does not say is 0.
typedef struct {
  uint64_t rate_hz;
  uint64_t n_channels;
  uint64_t bits;
  bool     is_float;
} VwFileFormat;

/// Note what the board does not accept in a format.
void vw_check_format(const VwFileFormat* format,
                     const VwBoard*      board,
                     VwNotes*            notes);

#endif
