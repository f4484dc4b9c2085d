/// @file
/// Whether every file gets a name, and one of its own.
#ifndef VW_CLI_NAME_CHECK_H
#define VW_CLI_NAME_CHECK_H

#include "cli/files/paths.h"

/**
 * Check the names of all files before anything is read or written, also for
 * cards that do not tell capital letters from small ones.
 *
 * @param why Set to #VW_SAME_STEM or #VW_NO_NAME where that is the fault.
 * @return #EXIT_DONE, or #EXIT_USAGE or #EXIT_FILE, and said.
 */
int name_check(const CommandName* command,
               const Settings*    settings,
               const Destination* destination,
               VwStatus*          why);

#endif
