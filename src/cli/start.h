/// @file
/// From the program's arguments to a command.
#ifndef VW_CLI_START_H
#define VW_CLI_START_H

/// Do what the arguments, ended by NULL and without the program's own name,
/// ask for. Returns the exit status.
int start(char* const* arguments);

#endif
