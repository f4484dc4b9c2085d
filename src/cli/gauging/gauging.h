/// @file
/// What the command `gauge` measures, each a word behind it.
#ifndef VW_CLI_GAUGING_H
#define VW_CLI_GAUGING_H

#include "cli/options/settings.h"

/// Write a board's test sound. Returns the exit status.
int gauge_board(const CommandName* command, const Settings* settings);

/// Gauge a lamp by recordings of its light. Returns the exit status.
int gauge_lamp(const CommandName* command, const Settings* settings);

/// Write a speaker's test sound, or find what recordings of it tell. Returns
/// the exit status.
int gauge_speaker(const CommandName* command, const Settings* settings);

/// A test sound that is to be written.
typedef struct {
  const VwSound* sound;
  const char*    name;
  unsigned       cautions; ///< What to take care of when it is played.
} GaugeSound;

/// Write a test sound as the files of a command are written, in the format of
/// the settings, and report it. Returns the exit status.
int gauge_write(const CommandName* command,
                const Settings*    settings,
                const GaugeSound*  test);

#endif
