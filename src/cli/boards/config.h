/// @file
/// Where settings are kept (XDG Base Directory Specification 0.8).
#ifndef VW_CLI_CONFIG_H
#define VW_CLI_CONFIG_H

#include <stddef.h>

/// A file or folder of the user: "boards" in ~/.config/volleyweave, say. To be
/// freed; NULL without memory or where there is no such place.
char* config_of_user(const char* name);

/// The same in the system's places, the most important first. NULL past the
/// last, and without memory.
char* config_of_system(size_t index, const char* name);

#endif
