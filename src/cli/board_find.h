/// @file
/// From a board's name to what it accepts.
#ifndef VW_CLI_BOARD_FIND_H
#define VW_CLI_BOARD_FIND_H

#include <volleyweave/volleyweave.h>

/**
 * Find a board.
 *
 * @param asked Its name, or NULL: none was given.
 * @return False, and said, where there is none.
 */
bool board_find(const char* asked, VwBoard* board);

#endif
