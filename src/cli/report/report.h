/// @file
/// What is reported of one take, or of several that take turns.
#ifndef VW_CLI_REPORT_H
#define VW_CLI_REPORT_H

#include "burst/turns.h"
#include "cli/files/files.h"
#include "cli/message/figures.h"
#include "cli/options/settings.h"
#include "pack/pack.h"

#include <stdio.h>

/// A join residual down here is as good as exact, for which -200 stands.
#define EXACT_DB (-199.95)

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
  double limiting_db;     ///< More limiting; of the single shot.
  double burst_db;        ///< The same, of the burst.
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
  unsigned*          cautioned;  ///< What was said before in this run, or NULL.
  const PackedSound* packed;     ///< NULL where it is no sound of a pack.
  const VwShots*     split;      ///< Of split alone.
  const VwShots*     turns;      ///< The take's own shots that take turns, or
                                 ///< NULL.
  size_t          single;        ///< Which of these is the single shot.
  VwLoudness      written;       ///< Of the first file of the family.
  Louder          louder;
  const MadeFile* files;
  size_t          n_files;
  Warning*        warnings; ///< Owned.
  size_t          n_warnings;
  VwStatus        status;  ///< What became of it.
  char*           message; ///< "fault: remedy" where it failed. Owned.
} Report;

/// Why no family was made of takes, and what helps, as far as what was asked or
/// heard tells; else as the status has it. To be freed; NULL without memory.
char* report_message(const VwFamilyOptions* wish,
                     const VwShotFacts*     facts,
                     size_t                 n_takes,
                     VwStatus               status);

/// Derive the warnings from the facts of a report without a fault, unless that
/// was done. False without memory.
bool report_warn(Report* report);

/// The text of a warning by its kind; NULL where there is none.
const char* report_warning(const Report* report, const char* id);

/// What a board takes and does, as every report has it.
Figures* report_board(const VwBoard* board);

/// All that there is to tell, as JSON has it.
Figures* report_figures(const Report* report);

/* How long a sound goes on after the release. */

/// The files that a board plays. Start from all zero.
typedef struct {
  size_t n_frames[VW_PART_WHOLE + 1U]; ///< Of the longest of each part.
} Overrun;

/// Take a file of so many frames into account.
void overrun_add(Overrun* overrun, VwPart part, size_t n_frames);

/// Whether a board plays on when its trigger is let go.
bool overrun_is_any(const VwBoard* board);

/// The longest that is heard after the release: a file that has just begun,
/// and what follows on it.
size_t overrun_frames(const Overrun* overrun);

/// Free what the report owns.
void report_clear(Report* report);

/// Print one line of JSON, also for what failed. False without memory.
bool report_json(const Report* report, FILE* out);

/// Show a report with its warnings on `out`, in the way asked for: as text
/// unless it failed, or as JSON. Without memory that becomes its status.
void report_show(Report* report, FILE* out);

/// Print what it takes from amplifier and cell, and the caution, if that was
/// asked.
void power_text(const Report* report, FILE* out);

/// Say how many takes of several failed, and return the exit status.
int report_failures(const Settings* settings, size_t n_failed);

#endif
