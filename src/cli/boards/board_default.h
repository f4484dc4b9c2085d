/// @file
/// The board that counts where none is named.
#ifndef VW_CLI_BOARD_DEFAULT_H
#define VW_CLI_BOARD_DEFAULT_H

#include <stdbool.h>

/// The environment variable that names it.
#define BOARD_VARIABLE "VOLLEYWEAVE_BOARD"

/// What the environment names: a board, a board file or "none"; or NULL.
const char* board_default_of_environment(void);

/**
 * The board that counts: that of the environment, then what the settings of the
 * user name, then those of the system.
 *
 * @param name Filled in with what is named, or NULL. To be freed.
 * @return False, and said, where they cannot be read.
 */
bool board_default(char** name);

#endif
