/// @file
/// Prop files as text.
#ifndef VW_CLI_PROP_SECTION_H
#define VW_CLI_PROP_SECTION_H

#include "cli/prop/prop.h"

/**
 * Print on standard output the section of a prop file for a sound, with the
 * options given. Takes are as seen from here; what belongs under `[prop]`
 * stands in remarks above.
 *
 * @param takes Those it is made of.
 * @return False without memory.
 */
bool prop_print_section(const CommandName* command,
                        const Settings*    settings,
                        const char* const* takes,
                        size_t             n_takes);

/**
 * Write a prop as a new file, from where its takes are seen.
 *
 * @return False, and said, where it cannot be written or is there already.
 */
bool prop_write(const Prop* prop, const char* path);

#endif
