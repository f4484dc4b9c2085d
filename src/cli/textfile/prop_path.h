/// @file
/// Takes as a prop file names them: seen from its own folder.
#ifndef VW_CLI_PROP_PATH_H
#define VW_CLI_PROP_PATH_H

/// Where a take is, seen from here, that is written so in a prop file. To be
/// freed; NULL without memory.
char* prop_path_from_here(const char* prop_path, const char* take);

/// How a prop file writes a take that is seen so from here. To be freed; NULL
/// without memory, or where either folder is missing.
char* prop_path_from_file(const char* prop_path, const char* take);

#endif
