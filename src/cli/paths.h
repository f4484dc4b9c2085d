/// @file
/// Where the files go, and what they are called.
#ifndef VW_CLI_PATHS_H
#define VW_CLI_PATHS_H

#include "settings.h"

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

/// Whether there is a folder of that name.
bool path_is_folder(const char* path);

/// Name of the file for a part of a take. To be freed; NULL without memory.
char* path_of_part(const Destination* destination,
                   const char*        take,
                   VwPart             part);

/// Whether two takes would make files of the same name, on cards that do not
/// tell capital letters from small ones too.
bool path_same_stem(const char* a, const char* b);

#endif
