/// @file
/// Boards as text files, NAME.board.ini.
#ifndef VW_CLI_BOARD_FILE_H
#define VW_CLI_BOARD_FILE_H

#include "board/board.h"

#include <volleyweave/volleyweave.h>

#include <stdbool.h>
#include <stdio.h>

/// What the name of a board file ends in.
#define BOARD_FILE_ENDING ".board.ini"

/// Whether a name ends as those of board files do.
bool board_file_is_called(const char* path);

/// Whether a board is asked for by its file: with a slash or that ending.
bool board_file_is_path(const char* asked);

/// Whether a board asked for, by its file or its name, has this name.
bool board_file_is_of(const char* asked, const char* name);

/**
 * Read a board file.
 *
 * @param board Filled in on success; its name is the file's.
 * @return False, and all faults said, where it is none.
 */
bool board_file_read(const char* path, VwBoard* board);

/// Print a board as a file to edit, each key explained. False without memory.
bool board_file_print(const VwBoard* board, FILE* out);

#endif
