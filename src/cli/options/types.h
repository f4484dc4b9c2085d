/// @file
/// The kinds of values that options take: how each is read and printed.
#ifndef VW_CLI_TYPES_H
#define VW_CLI_TYPES_H

#include "cli/options/options.h"

/// A value as given, and where it goes.
typedef struct {
  const Option* option;
  const char*   shown; ///< The option and its value, for messages.
  const char*   text;  ///< NULL for a flag on the command line.
  Settings*     settings;
} Value;

/// A kind of value.
struct OptionType {
  /// Put a value into the settings. False, and said, if it is wrong.
  bool (*read)(const Value* value);

  /// Print what a field of the settings holds; NULL: it is never printed.
  void (*print)(const Option* option,
                const void*   field,
                char          text[OPTION_TEXT]);

  Quantity    quantity;    ///< Of numbers; its range stands in the row.
  const char* shown_unit;  ///< Printed behind the number; NULL: nothing.
  double      shown_times; ///< What it is multiplied by before; 0: by nothing.
};

/* Of several options */

extern const OptionType type_flag;
extern const OptionType type_words; ///< One of the row's words.
extern const OptionType type_text;  ///< Any text.
extern const OptionType type_name;  ///< Of a file or folder.
extern const OptionType type_take;  ///< Of a take, seen from a prop's file.

extern const OptionType type_count;  ///< A whole number, kept as one.
extern const OptionType type_frames; ///< The same, with its unit.
extern const OptionType type_whole;  ///< A whole number, kept as a double.
extern const OptionType type_number;
extern const OptionType type_seconds;
extern const OptionType type_ms;
extern const OptionType type_db;
extern const OptionType type_dbfs;
extern const OptionType type_cents;
extern const OptionType type_hz;
extern const OptionType type_volt;
extern const OptionType type_ampere;
extern const OptionType type_ohm;
extern const OptionType type_ampere_hours;
extern const OptionType type_share;
extern const OptionType type_percent;

/* Of one option each */

extern const OptionType type_fire_rates;
extern const OptionType type_form;
extern const OptionType type_burst;
extern const OptionType type_seed;
extern const OptionType type_sample_rate;
extern const OptionType type_bits;
extern const OptionType type_loudness;
extern const OptionType type_gain;
extern const OptionType type_ceiling;
extern const OptionType type_speaker;
extern const OptionType type_sound_name;
extern const OptionType type_card;
extern const OptionType type_holds;
extern const OptionType type_capacitors;
extern const OptionType type_prescalers;
extern const OptionType type_header;
extern const OptionType type_picture;

#endif
