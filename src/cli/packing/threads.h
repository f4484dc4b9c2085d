/// @file
/// How many sounds are worked on at a time.
#ifndef VW_CLI_THREADS_H
#define VW_CLI_THREADS_H

#include "cli/options/settings.h"

/// As many as are asked for, or one for each core.
int threads_count(const Settings* settings);

#endif
