/// @file
/// The files that a board plays for one trigger, read.
#ifndef VW_CLI_BOARD_FILES_H
#define VW_CLI_BOARD_FILES_H

#include "board/board.h"
#include "cli/options/settings.h"

/// Files and their attacks.
typedef struct {
  VwSound     main;       ///< Owned, as all sounds and attacks.
  VwSound     run_in;     ///< Of three.
  VwSound     ring_out;   ///< Of three.
  size_t*     attacks[2]; ///< Of the main file and the run-in.
  VwRehearsal rehearsal;  ///< Points to the above.
} BoardFiles;

/**
 * Read a loop, or a finished sound, and what belongs to it by its name.
 *
 * @param path The file; of three, any of them.
 * @param files Filled in; free with board_files_clear() also after a failure.
 * @return False, and said, where a file is missing or cannot be used.
 */
bool board_files_read(const char*     path,
                      const Settings* settings,
                      BoardFiles*     files);

/// Free what `files` owns.
void board_files_clear(BoardFiles* files);

#endif
