/// @file
/// The command line after the command: a table says what there is.
///
/// Long names are never cut short, every letter has a long name, options stand
/// before or after the takes, none is given twice.
#ifndef VW_CLI_OPTIONS_H
#define VW_CLI_OPTIONS_H

#include "cli/options/settings.h"
#include "cli/options/units.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdio.h>

/// One option: a flag where it has no argument, a quantity where it has one,
/// and else whatever `take` makes of its value.
typedef struct {
  const char*     name;     ///< Long name, without the dashes.
  char            letter;   ///< Short name, or 0.
  const char*     argument; ///< What its value stands for; NULL: a flag.
  const char*     example;  ///< A value; NULL for a flag.
  unsigned        commands; ///< The commands that have it, as bits.
  const Quantity* quantity; ///< What it measures, or NULL.
  size_t          offset;   ///< Of its flag or quantity in the settings.

  /// Put a value into the settings. False, and said, where it is wrong.
  bool (*set)(Settings* settings, const char* shown, const char* value);

  const char* help; ///< One line.
} Option;

/// The commands, in the order in which help lists them.
extern const CommandName command_names[];

/// How many there are.
extern const size_t n_commands;

/// The command of that name, or NULL.
const CommandName* command_find(const char* name);

/// All options, in the order in which help prints them.
extern const Option option_table[];

/// How many there are.
extern const size_t n_options;

/// The option of that long name, or NULL.
const Option* options_find(const char* name);

/// The option nearest to a misspelled name among those that have one of these
/// bits, or NULL.
const Option* options_nearest(const char* name, unsigned commands);

/**
 * Put a value into the settings.
 *
 * @param shown The option and its value as given, for messages.
 * @param value NULL for a flag.
 * @return False, and said, where it is wrong.
 */
bool options_store(Settings*     settings,
                   const Option* option,
                   const char*   shown,
                   const char*   value);

/**
 * Read the arguments that follow a command.
 *
 * @param command Name of the command and its bit.
 * @param arguments What follows it, ended by NULL.
 * @param settings Filled in from the defaults; free with settings_clear().
 * @return False, and said on standard error, at the first fault.
 */
bool options_read(const CommandName* command,
                  char* const*       arguments,
                  Settings*          settings);

/// Print help on a command, or on all where it is NULL.
void help_print(const CommandName* command, FILE* out);

#endif
