/// @file
/// What the command line asks for.
#ifndef VW_CLI_SETTINGS_H
#define VW_CLI_SETTINGS_H

#include <volleyweave/volleyweave.h>

#include <stdbool.h>
#include <stddef.h>

/// The commands that work on takes, as bits.
enum {
  COMMAND_INSPECT = 1U,
  COMMAND_SHOT = 2U,
  COMMAND_LOOP = 4U,
  COMMAND_CONVERT = 8U,
  COMMANDS_CUT = COMMAND_SHOT | COMMAND_LOOP,
  COMMANDS_MAKE = COMMANDS_CUT | COMMAND_CONVERT,
  COMMANDS_ALL = COMMAND_INSPECT | COMMANDS_MAKE,
};

/// A command's name and bit.
typedef struct {
  const char* name;
  unsigned    bit;
} CommandName;

/// Everything asked for. Names point into the program's arguments.
typedef struct {
  VwFamilyOptions family;
  VwReadOptions   reading;
  const char*     fire_rate_text; ///< As given, or NULL.
  const char*     output;         ///< As given, or NULL.
  bool            has_form;       ///< --form was given.
  bool            has_burst;      ///< --burst was given.
  bool            has_loudness;   ///< --loudness was given.
  bool            has_gain;       ///< --gain was given.
  bool            has_speaker;    ///< --speaker was given.
  bool            has_part;       ///< --part was given; `part` counts.
  VwPart          part;
  bool            help; ///< --help was given: nothing else counts.
  bool            take_turns;
  bool            json;
  bool            quiet;
  bool            dry_run;
  bool            force;
  const char**    takes; ///< Names of the takes. Owned.
  size_t          n_takes;
} Settings;

/// The defaults for up to `n_takes_most` takes. False without memory.
bool settings_init(Settings* settings, size_t n_takes_most);

/// Free what `settings` owns.
void settings_clear(Settings* settings);

/// Check what one option alone cannot tell. False, and said, where options
/// contradict each other or the takes.
bool settings_check(const CommandName* command, const Settings* settings);

/// Whether a command, so asked, writes a part.
bool settings_write(const CommandName* command,
                    const Settings*    settings,
                    VwPart             part);

/// How many files a command writes, so asked.
size_t settings_n_files(const CommandName* command, const Settings* settings);

#endif
