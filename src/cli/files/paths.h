/// @file
/// Where the files go, and what they are called.
#ifndef VW_CLI_PATHS_H
#define VW_CLI_PATHS_H

#include "cli/options/settings.h"

/// What -o means.
typedef enum {
  TO_FOLDER, ///< Files of the usual names in a folder.
  TO_FILE,   ///< The one file.
  TO_STDOUT, ///< The one file's bytes on standard output.
} DestinationKind;

/// Where the files go.
typedef struct {
  DestinationKind kind;
  const char*     path; ///< The folder or the file; points into arguments.
  bool            made; ///< We created the folder.
} Destination;

/**
 * Make out what -o means, before anything is read or written.
 *
 * @return #EXIT_DONE, or #EXIT_USAGE or #EXIT_FILE, and said.
 */
int destination_choose(const CommandName* command,
                       const Settings*    settings,
                       Destination*       destination);

/// Create the folder where it is missing. Signals should wait meanwhile.
VwStatus destination_open(Destination* destination);

/// Remove the folder again where we created it and nothing lies in it.
void destination_close(Destination* destination);

/// Whether there is a folder for an output to lie in: #EXIT_DONE, or
/// #EXIT_FILE, and said.
int path_check_parent(const char* path);

/// The sound's name in those of a take's files: as asked, or the take's own. To
/// be freed; NULL without memory.
char* path_sound(const Settings* settings, size_t take);

/**
 * Name of the file for a part of a take, as the board wants it.
 *
 * @param take Index of the take among all.
 * @param path To be freed; filled in on success.
 * @return #VW_OK, #VW_NO_MEMORY, #VW_NO_NAME.
 */
VwStatus path_of_part(const Destination* destination,
                      const Settings*    settings,
                      size_t             take,
                      VwPart             part,
                      char**             path);

#endif
