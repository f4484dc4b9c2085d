/// @file
/// What is reported of one take, or of several that take turns.
#ifndef VW_CLI_REPORT_H
#define VW_CLI_REPORT_H

#include "cli/files/input.h"
#include "cli/files/paths.h"
#include "cli/message/figures.h"
#include "cli/options/settings.h"
#include "pack/pack.h"

#include <stdio.h>

/// A file that was made, or would be.
typedef struct {
  VwPart      part;
  char*       path;  ///< Owned; "-" for standard output.
  VwBytes     bytes; ///< Owned.
  size_t      n_frames;
  unsigned    n_channels;
  unsigned    rate_hz;
  unsigned    block_frames; ///< Longest block that may be padded, or 0.
  VwLoopKnown loop;         ///< What a loop holds; all zero of other parts.
} MadeFile;

/// Something that is not as good as it could be.
typedef struct {
  const char* take;  ///< The take it is about; NULL: all of them.
  char*       text;  ///< One line. Owned.
  const char* brief; ///< What it says of several at once. Static.
  const char* id;    ///< By which its kind is known. Static.
} Warning;

/// What would make a family louder, each alone, in dB; NaN where it was not
/// tried.
typedef struct {
  bool   tried;           ///< Anything was.
  double speaker_db;      ///< Leaving out what a 40 mm speaker cannot play, as
                          ///< such a speaker plays both.
  double limiting_db;     ///< More limiting.
  double limiting_max_db; ///< That much of it.
  double tightening_db;   ///< Tails left as recorded; of the burst.
} Louder;

/// What a report tells of a sound of a pack.
typedef struct {
  const VwPackSound* sound;
} PackedSound;

/// Everything that a report tells.
typedef struct {
  const CommandName* command;
  const Settings*    settings;
  const Input*       inputs;
  size_t             n_inputs;
  size_t             first_take; ///< Of them, among all takes.
  const VwFamily*    family;     ///< NULL where none was made.
  const PackedSound* packed;     ///< NULL where it is no sound of a pack.
  VwLoudness         written;    ///< Of the first file of the family.
  Louder             louder;
  const MadeFile*    files;
  size_t             n_files;
  Warning*           warnings; ///< Owned.
  size_t             n_warnings;
  VwStatus           status;  ///< What became of it.
  char*              message; ///< "fault: remedy" where it failed. Owned.
} Report;

/// Derive the warnings from the facts of a report without a fault, unless that
/// was done. False without memory.
bool report_warn(Report* report);

/// The text of a warning by its kind; NULL where there is none.
const char* report_warning(const Report* report, const char* id);

/// What a board takes and does, as every report has it.
Figures* report_board(const VwBoard* board);

/// All that there is to tell, as JSON has it.
Figures* report_figures(const Report* report);

/// Free what the report owns.
void report_clear(Report* report);

/// Print what was found and done, for a person.
void report_text(const Report* report, FILE* out);

/// Print one line of JSON, also for what failed. False without memory.
bool report_json(const Report* report, FILE* out);

#endif
