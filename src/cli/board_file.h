/// @file
/// Boards as text files, NAME.board.ini.
#ifndef VW_CLI_BOARD_FILE_H
#define VW_CLI_BOARD_FILE_H

#include <volleyweave/volleyweave.h>

#include <stdbool.h>
#include <stdio.h>

/// What the name of a board file ends in.
#define BOARD_FILE_ENDING ".board.ini"

/// Whether a name is that of a board file.
bool board_file_is_called(const char* path);

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
