/// @file
/// Whether the values of a board file agree with each other.
#ifndef VW_CLI_BOARD_CHECK_H
#define VW_CLI_BOARD_CHECK_H

#include "board/board.h"
#include "cli/boards/board_keys.h"
#include "cli/textfile/textfile.h"

/// A board file that is being read.
typedef struct {
  VwBoard  board;
  unsigned lines[BOARD_KEYS]; ///< Where each key stands; 0: nowhere.
  Faults   faults;
} BoardReading;

/// Say what does not agree.
void board_check(BoardReading* reading);

#endif
