/// @file
/// What the command `gauge` measures, each a word behind it.
#ifndef VW_CLI_GAUGING_H
#define VW_CLI_GAUGING_H

#include "cli/options/settings.h"
#include "gauge/gauge.h"

/// Write a board's test sound. Returns the exit status.
int gauge_board(const CommandName* command, const Settings* settings);

/// Gauge a lamp by recordings of its light. Returns the exit status.
int gauge_lamp(const CommandName* command, const Settings* settings);

/// Write a test sound as the files of a command are written, in the format of
/// the settings and under the name `sound`, and report it. Returns the exit
/// status.
int gauge_write(const CommandName* command,
                const Settings*    settings,
                const VwSound*     test,
                const char*        sound);

#endif
