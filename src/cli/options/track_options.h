/// @file
/// What options measure that tell of the lamp and its track.
#ifndef VW_CLI_TRACK_OPTIONS_H
#define VW_CLI_TRACK_OPTIONS_H

#include "cli/options/units.h"

extern const Quantity track_on_time;   ///< Milliseconds.
extern const Quantity track_frequency; ///< Hertz.
extern const Quantity track_level;     ///< dBFS.

#endif
