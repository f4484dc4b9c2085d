/// @file
/// Make files of takes: what the commands that write have in common.
#ifndef VW_CLI_MAKE_H
#define VW_CLI_MAKE_H

#include "cli/options/settings.h"

/// Make what `command` makes of the takes in `settings`. Returns the program's
/// exit status; what went wrong is said.
int make_all(const CommandName* command, const Settings* settings);

#endif
