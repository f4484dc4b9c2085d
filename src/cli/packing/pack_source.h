/// @file
/// What a pack is made of: a prop file, or a folder of takes.
#ifndef VW_CLI_PACK_SOURCE_H
#define VW_CLI_PACK_SOURCE_H

#include "cli/prop/prop.h"

/// Where the sounds come from.
typedef struct {
  Prop        prop;     ///< Owned.
  const char* folder;   ///< The folder named, or NULL. Not owned.
  size_t      n_failed; ///< Takes of the folder that cannot be used.
} PackSource;

/**
 * Read the prop file named on the command line, or that of the folder named, or
 * guess one.
 *
 * @param source Filled in; free with pack_source_clear().
 * @return #EXIT_DONE, #EXIT_FILE or #EXIT_USAGE; what is wrong is said.
 */
int pack_source_read(const Settings* settings, PackSource* source);

/// Free what `source` owns. NULL is accepted.
void pack_source_clear(PackSource* source);

#endif
