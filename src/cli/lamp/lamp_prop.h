/// @file
/// The lamps of all sounds of a prop on one board.
#ifndef VW_CLI_LAMP_PROP_H
#define VW_CLI_LAMP_PROP_H

#include "cli/lamp/lamp_report.h"
#include "cli/options/settings.h"

/// What is reported of a prop.
typedef struct {
  Settings    settings; ///< As given, and the board. Owns nothing.
  const char* subject;  ///< The prop, as given.
  LampReport* lamps;    ///< One for each sound, in their order. Owned.
  size_t      n_lamps;
  bool        packed; ///< The pack is made, and nothing has changed since.
} LampProp;

/// Whether a word names a prop: a prop file or a folder.
bool lamp_prop_is(const char* word);

/// Report on a prop. Returns the exit status.
int lamp_prop(const CommandName* command, const Settings* settings);

/// The fastest of the lamps, whose cautions count for all; NULL where none
/// flashes.
const LampReport* lamp_prop_fastest(const LampProp* prop);

/// Print tables for a person.
void lamp_table(const LampProp* prop, FILE* out);

/// Print a line of JSON for each sound, and one for the prop. False without
/// memory.
bool lamp_prop_json(const LampProp* prop, FILE* out);

#endif
