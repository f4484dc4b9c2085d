/// @file
/// The command that makes again what a page shows.
#ifndef VW_CLI_TRYOUT_COMMAND_H
#define VW_CLI_TRYOUT_COMMAND_H

#include "cli/options/settings.h"

/**
 * A command with the options that were given, less those that change no sound.
 *
 * @param but Names of others that are left out, NULL at the end; or NULL.
 * @return To be freed; NULL without memory.
 */
char* tryout_command(const char*        command,
                     const Settings*    settings,
                     const char* const* but);

/// The same with all that it takes in.
char* tryout_command_whole(const char* command, const Settings* settings);

/// Add a word behind others, quoted where a shell wants it. Frees `line`; NULL
/// without memory.
char* tryout_command_add(char* line, const char* before, const char* word);

#endif
