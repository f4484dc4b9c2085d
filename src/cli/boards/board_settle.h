/// @file
/// What a board decides of the settings, and what it does not accept.
#ifndef VW_CLI_BOARD_SETTLE_H
#define VW_CLI_BOARD_SETTLE_H

#include "cli/options/settings.h"

/**
 * Find the board asked for and let it decide what no option did.
 *
 * @return False, and said, where there is no such board, or where an option
 * asks for what it does not play.
 */
bool board_settle(const CommandName* command, Settings* settings);

/// Whether the board names a file of every take, so asked. False, and said,
/// where it does not.
bool board_check_slots(const Settings* settings);

/// Bytes of the largest file that the board takes; 0: no limit.
uint64_t board_bytes_max(const Settings* settings);

#endif
