/// @file
/// The sections of a report: their figures, and their lines for a person.
#ifndef VW_CLI_SECTIONS_H
#define VW_CLI_SECTIONS_H

#include "cli/message/figures.h"
#include "cli/report/report.h"
#include "signal/power.h"

// Of decibels: what the report would round away.
#define DB_SHOWN 0.05

/* Found */

/// The shot of an input; NULL where there is none.
Figures* found_shot(const Report* report, size_t index);

/// How loud an input is as it came; NULL where nobody asked.
Figures* found_loudness(const Input* input);

/// A fire rate in as many digits as that of rapid fire is known to. To be
/// freed; NULL of anything else, and without memory.
char* found_rate(const VwShotFacts* facts, double per_s);

/// Print what was found in an input.
void found_text(const Report* report, size_t index, FILE* out);

/* Made; NULL where nothing was. */

Figures* made_loop(const Report* report);

/// How a sustained sound was joined; NULL of shots.
Figures* made_join(const Report* report);

/// Add what words on a loop's join need beside its figures.
void add_join_words(Figures* loop, const VwJoin* join);

Figures* made_level(const Report* report);

/// Print it, what would make it louder, and its caution.
void level_text(const Report* report, FILE* out);

/// A kind of warning: it is given if the figure that it is known by holds.
typedef struct {
  const char* id;
  const char* brief; ///< What it says of several at once.
  const char* words;
} WarningKind;

/// The `index`th of all kinds of warnings; NULL past the last. Static.
const WarningKind* report_warning_kind(size_t index);

/// How many kinds of warnings there are of the level.
enum { KINDS_OF_LEVEL = 4 };

extern const WarningKind kinds_of_level[KINDS_OF_LEVEL];

/// What they are known by.
Figures* level_of(const Report* report);

/// Those of a loop of a sound that sounds on.
enum { KINDS_OF_JOIN = 7 };

extern const WarningKind kinds_of_join[KINDS_OF_JOIN];

/// What they are known by.
Figures* join_of(const Report* report);

Figures* made_lamp(const Report* report);

/// What it takes from amplifier and cell; NULL if that was not asked.
Figures* made_power(const Report* report);

/// Whether that was asked, of something that is heard.
bool power_is_asked(const Report* report);

/// The figures, if it was.
VwPower power_of(const Report* report);

Figures* made_files(const Report* report);

/// Each shot of a take that is split; NULL of any other command.
Figures* split_figures(const Report* report);

/// Print them.
void split_text(const Report* report, FILE* out);

/// Set how many shots of an earlier split of the take lie beside those made,
/// and the first and the last of their names.
void split_set_left(Figures* of, const Report* report);

/// Set which of its own shots a loop lays down in turn; NULL of any other.
void split_set_turns(Figures* loop, const Report* report);

/// The same as words. To be freed; NULL of any other, and without memory.
char* split_turns_words(const Report* report);

/// Print what was made.
void made_text(const Report* report, FILE* out);

/// Print the command to go on with.
void next_text(const Report* report, FILE* out);

#endif
