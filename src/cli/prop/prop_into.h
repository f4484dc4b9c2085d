/// @file
/// Adding to a prop file what a command just made.
#ifndef VW_CLI_PROP_INTO_H
#define VW_CLI_PROP_INTO_H

#include "cli/options/settings.h"

/**
 * Add a sound, with the options given, to the prop file that `settings` names;
 * one of the same name and make is replaced, but keeps its slot, group and
 * level. A file that is missing is created.
 *
 * @param takes Those it is made of.
 * @return False, and said, where that failed.
 */
bool prop_into(const CommandName* command,
               const Settings*    settings,
               const char* const* takes,
               size_t             n_takes);

/**
 * Prove that the prop file can be added to, before anything is made.
 *
 * @return False, and said, where it has faults.
 */
bool prop_into_check(const Settings* settings);

#endif
