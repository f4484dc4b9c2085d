/// @file
/// Boards as JSON.
#ifndef VW_CLI_REPORT_BOARDS_H
#define VW_CLI_REPORT_BOARDS_H

#include "board/board.h"

#include <volleyweave/volleyweave.h>

#include <stdbool.h>
#include <stdio.h>

/// A board, and where it is from.
typedef struct {
  const VwBoard* board;
  const char*    path;       ///< Its file; NULL: it is built in.
  bool           is_default; ///< It counts where none is named.
} BoardReport;

/// Print it as one line. False without memory.
bool report_boards_json(const BoardReport* report, FILE* out);

#endif
