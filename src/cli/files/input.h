/// @file
/// One take: read, prepared, and its shot found.
#ifndef VW_CLI_INPUT_H
#define VW_CLI_INPUT_H

#include "cli/options/settings.h"

/// A take and what was found in it, or why not.
typedef struct {
  const char* path;         ///< As given.
  VwTake      take;         ///< Owned.
  VwShotFacts facts;        ///< Of use where `status` is #VW_OK.
  bool        has_shot;     ///< A shot was looked for and found.
  bool        has_loudness; ///< `loudness` counts.
  VwLoudness  loudness;     ///< Of the recording as it came; of inspect alone.
  VwStatus    status;       ///< What became of it.
  char*       message;      ///< "fault: remedy" where it failed. Owned.
} Input;

/// Read the take named by `path` and find its shot; see `status` for the end.
/// Free with input_clear().
void input_load(const char*        path,
                const CommandName* command,
                const Settings*    settings,
                Input*             input);

/// Free what `input` owns. NULL is accepted.
void input_clear(Input* input);

#endif
