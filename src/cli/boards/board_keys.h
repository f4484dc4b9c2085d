/// @file
/// The keys of a board file, in the order in which they are printed.
#ifndef VW_CLI_BOARD_KEYS_H
#define VW_CLI_BOARD_KEYS_H

#include "cli/boards/board_value.h"

/// How many there are.
#define BOARD_KEYS 26U

/// All of them.
extern const BoardKey board_keys[BOARD_KEYS];

/// The key of that name in that section, or in any where that is NULL; NULL
/// where there is none.
const BoardKey* board_keys_find(const char* section, const char* name);

/// The key nearest to a misspelled name, or NULL.
const BoardKey* board_keys_nearest(const char* name);

/// What to say to a name from elsewhere, or NULL. Static.
const char* board_keys_hint(const char* name);

/// The section of that name, or the nearest, or NULL. Static.
const char* board_keys_section(const char* name);

#endif
