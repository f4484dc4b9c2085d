/// @file
/// The boards at hand: the user's own and those built in.
#ifndef VW_CLI_BOARD_LIST_H
#define VW_CLI_BOARD_LIST_H

#include "board/board.h"

#include <volleyweave/volleyweave.h>

#include <stdbool.h>
#include <stddef.h>

/// A board at hand.
typedef struct {
  char*          name;     ///< Owned.
  char*          path;     ///< Its file, or NULL. Owned.
  const VwBoard* built_in; ///< Where it has no file.
} BoardEntry;

/// Boards by their names. Starts all zero.
typedef struct {
  BoardEntry* entries; ///< Owned.
  size_t      n;
} BoardList;

/// List the user's boards, then those built in that none of them replaces; free
/// with board_list_clear(). False without memory.
bool board_list_fill(BoardList* list);

/// Free what `list` owns. NULL is accepted.
void board_list_clear(BoardList* list);

/// The folder of the user's boards. To be freed; NULL where there is none.
char* board_list_folder(void);

#endif
