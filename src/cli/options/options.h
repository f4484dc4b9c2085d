/// @file
/// The command line: a table says what there is, and how values are written.
///
/// Long names are never cut short, every letter has a long name, options stand
/// before or after the takes, none is given twice.
#ifndef VW_CLI_OPTIONS_H
#define VW_CLI_OPTIONS_H

#include "base/ranges.h"
#include "cli/message/figures.h"
#include "cli/options/settings.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

/* Values as they are written */

/// A unit that may follow a number.
typedef struct {
  const char* suffix;  ///< As written; an empty one stands for no unit.
  double      factor;  ///< The number is multiplied by this,
  double      divisor; ///< and divided by this, to be in the own unit.
  bool        period;  ///< A time, not a rate: `factor` divided by the number.
} Unit;

/// What an option measures.
typedef struct {
  const char* unit_name; ///< Its own unit, for messages: "dB".
  const char* examples;  ///< How it may be written: "12 or 12dB".
  VwRange     range;     ///< In its own unit.
  const Unit* units;     ///< The units it takes.
  size_t      n_units;   ///< How many.
  bool        whole;     ///< Only whole numbers.
} Quantity;

/// Units and how many, as quantities name them.
#define UNITS(units) (units), sizeof(units) / sizeof((units)[0])

extern const Unit units_none[1];
extern const Unit units_frames[2];
extern const Unit units_db[3];
extern const Unit units_ms[3];      ///< In milliseconds.
extern const Unit units_seconds[4]; ///< In seconds.

/// Read a number with its unit. False where it is none or out of range.
bool units_read(const Quantity* quantity,
                const char*     shown,
                const char*     text,
                double*         value);

/// Read a whole number of at most 4294967295.
bool units_read_count(const Quantity* quantity,
                      const char*     shown,
                      const char*     text,
                      unsigned*       n);

/// Read a fire rate in shots per second.
bool units_read_fire_rate(const char* shown, const char* text, double* per_s);

/// Read a sample rate in Hz.
bool units_read_sample_rate(const char* shown, const char* text, unsigned* hz);

/// Read a whole number from 0 to 18446744073709551615.
bool units_read_seed(const char* shown, const char* text, uint64_t* seed);

/// Find a word among choices. False, and said of `shown`, where it is none.
bool choose(const Choice* choices,
            const char*   shown,
            const char*   word,
            int*          value);

/// The words for encodings, and for numbers of channels.
extern const Choice format_encodings[];
extern const Choice format_channels[];

/* The tables */

/// Most letters of a range or a default.
#define OPTION_TEXT 64U

typedef struct OptionType OptionType;

/// One option: how it is given, what it takes, and where that goes.
typedef struct {
  const char*       name;     ///< Long name, without the dashes.
  char              letter;   ///< Short name, or 0.
  const char*       argument; ///< What its value stands for; NULL: a flag.
  const char*       example;  ///< A value; NULL for a flag.
  unsigned          commands; ///< The commands that have it, as bits.
  const OptionType* type;     ///< How its value is read and printed.
  size_t            offset;   ///< Of its field in the settings.

  /// One line, in which {range}, {default}, {words} and {choices}, words of
  /// which one is the default, stand for those of the row.
  const char* meaning;

  VwRange       range;   ///< Of a number.
  const char*   written; ///< How a number may be written: "12 or 12dB".
  const Choice* words;   ///< Those it takes, or NULL.
  const char*   none;    ///< The word for no value at all, or NULL.
  size_t        given;   ///< Of what says in the settings that it was; or 0.
  double        usual;   ///< The default where the settings hold none; or 0.
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
 * @return False, and said, if it is wrong.
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

/// Print the range of an option, as in "0.5 to 40".
void option_range(const Option* option, char text[OPTION_TEXT]);

/// Print what an option is where it is not given.
void option_default(const Option* option, char text[OPTION_TEXT]);

/// Print help on a command, or on all where it is NULL.
void help_print(const CommandName* command, bool whole, FILE* out);

/// Print all commands and their options as one line of JSON. False where that
/// fails.
bool help_json(FILE* out);

#endif
