/// @file
/// The options on boards: each puts its value into the settings, and returns
/// false, and says why, where that is wrong.
#ifndef VW_CLI_BOARD_OPTIONS_H
#define VW_CLI_BOARD_OPTIONS_H

#include "cli/options/settings.h"
#include "cli/options/units.h"

/// How long a sound may go on after the release.
extern const Quantity board_overrun_max;

/// How long a run-in may be.
extern const Quantity board_run_in_max;

/// The gap between repeats.
extern const Quantity board_gap;

/// The slot of the first take.
bool board_set_slot(Settings* settings, const char* shown, const char* value);

/// The sound's name.
bool board_set_name(Settings* settings, const char* shown, const char* value);

/// Frames of the board's buffer.
bool board_set_buffer(Settings* settings, const char* shown, const char* value);

#endif
