/// @file
/// One take at several fire rates, one after the other, in one file: to choose
/// by ear.
#ifndef VW_CLI_LADDER_H
#define VW_CLI_LADDER_H

#include "cli/options/settings.h"

/// Make the file. Returns the program's exit status; what went wrong is said.
int ladder_make(const CommandName* command, const Settings* settings);

#endif
