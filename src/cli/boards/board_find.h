/// @file
/// From a board's name to what it accepts.
#ifndef VW_CLI_BOARD_FIND_H
#define VW_CLI_BOARD_FIND_H

#include "board/board.h"

#include <volleyweave/volleyweave.h>

#include <stdbool.h>

/**
 * Find a board.
 *
 * @param asked A file, where there is a slash in it or it ends as board files
 * do; else the name of one of the user's own boards, or of one built in.
 * @return False, and said, where there is none or its file has faults.
 */
bool board_find(const char* asked, VwBoard* board);

/**
 * Find the board asked for, or else the default one.
 *
 * @param asked As in board_find(), "none", or NULL: the default.
 * @param found Set to whether there is one.
 * @return False, and said, where something is wrong.
 */
bool board_find_or_default(const char* asked, VwBoard* board, bool* found);

#endif
