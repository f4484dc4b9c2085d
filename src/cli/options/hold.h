/// @file
/// How long a trigger is held, released, held ...
#ifndef VW_CLI_HOLD_H
#define VW_CLI_HOLD_H

#include "cli/options/settings.h"

/// Read times such as 1.2s,300ms,800ms. False, and said, where one is none.
bool hold_set(Settings* settings, const char* shown, const char* value);

#endif
