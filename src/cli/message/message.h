/// @file
/// What the program says: texts, faults on standard error, progress, and what
/// somebody may have meant.
#ifndef VW_CLI_MESSAGE_H
#define VW_CLI_MESSAGE_H

#include <volleyweave/volleyweave.h>

#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdio.h>

/* Memory */

/// What was asked of memory for the program's own words and figures, freed as
/// usual. Without memory it says so, and the program ends with #EXIT_FILE: a
/// line that is missing would be worse.
void* sure(void* made);

/// Say that there is none, and end the program so.
_Noreturn void out_of_memory(void);

/// malloc() in that way.
void* sure_bytes(size_t n_bytes);

/* Texts */

#define TEXT_FORMAT(at, first) __attribute__((format(printf, at, first)))

/// The text that `printf` would print, to be freed.
char* text_format(const char* format, ...) TEXT_FORMAT(1, 2);

/// The same from a list of arguments.
char* text_format_list(const char* format, va_list arguments) TEXT_FORMAT(1, 0);

/// Add to a list what `printf` would print, behind `joint` unless it begins the
/// list, which then is NULL. Frees the list. To be freed.
char* text_more(char* list, const char* joint, const char* format, ...)
  TEXT_FORMAT(3, 4);

/// Whether a word stands in a list with a space before and after each word.
bool text_lists(const char* list, const char* word);

/**
 * Make text safe to show: control characters, marks that turn the direction of
 * writing and bytes that are no UTF-8 become `\xHH`.
 *
 * @return To be freed.
 */
char* text_safe(const char* text);

/// Print as much of a safe text as fits into so many columns. Returns how many
/// it took.
size_t text_cut(const char* text, size_t n_columns, FILE* out);

/// Quote a file name for a shell where that is needed, and make it safe to
/// show. To be freed.
char* text_quoted(const char* name);

/// The program as it was called, quoted for a shell; to be freed.
char* program_called(void);

/// Print so many bytes of words of our own; the commands in them, behind a
/// backquote, ": " or nothing, start as the program was called.
void program_put(const char* words, size_t n_bytes, FILE* out);

/// Whether a byte is a control character of ASCII.
bool text_is_control(char byte);

/// Whether a text holds one.
bool text_has_controls(const char* text);

/* The terminal */

/// How wide the terminal is that `stream` writes to, or as wide as COLUMNS asks
/// for, if less; 0: it is none.
size_t terminal_width(FILE* stream);

/// Print words that are no line of a report, commands in them as program_put()
/// does: as one line, but broken between words where a terminal shows it.
void line_flow(FILE* out, const char* words);

/// The same on standard output, of a text that is made here and freed.
void line_flow_made(char* text);

/* Faults, one a line: `volleyweave: SUBJECT: fault: remedy`. */

/// Ways in which the program ends.
enum {
  EXIT_DONE = 0,   ///< Everything was done.
  EXIT_FILE = 1,   ///< A file could not be used or written.
  EXIT_USAGE = 2,  ///< The command line makes no sense.
  EXIT_FAULTS = 3, ///< A check found faults.
};

/// What is said of it where no status is.
#define NO_MEMORY "not enough memory: close other programs"

/// Say what is wrong with `subject`, a file or an option. Returns false.
bool say(const char* subject, const char* format, ...) TEXT_FORMAT(2, 3);

/// Say it, and return #EXIT_USAGE.
int say_usage(const char* subject, const char* format, ...) TEXT_FORMAT(2, 3);

/// The status's word for programs: "CUT_SHORT". Static.
const char* status_word(VwStatus status);

/// "fault: remedy" in one line. To be freed.
char* status_message(VwStatus status);

/// Say it of `subject` on standard error. Returns false.
bool say_status(const char* subject, VwStatus status);

/* How far a long job is: one line that changes on a terminal, else a line for
 * each step. */

/// How many steps to work on at a time: as many as are asked for, or one for
/// each core where that is 0.
int threads_count(double jobs);

/// A job of equal steps.
typedef struct {
  const char* what; ///< What is done: "measuring".
  size_t      n_steps;
  size_t      n_done;
  size_t      n_columns; ///< Of the terminal; 0: nobody watches.
  bool        silent;    ///< Nothing is shown.
  double      start_s;
  size_t      n_shown; ///< Columns of the line shown last.
} Progress;

/// Begin a job of `n_steps` steps. `silent` stays as it is.
void progress_begin(Progress* progress, const char* what, size_t n_steps);

/// Count a step as done, and show it by a name. One thread at a time.
void progress_step(Progress* progress, const char* name);

/// Wipe the line away.
void progress_end(Progress* progress);

/* "Did you mean": the nearest name, and the right words for a first try. */

/// What somebody may try first, and what to say to it.
typedef struct {
  const char* tries; ///< Words with a space before and after each.
  const char* hint;
} FirstTry;

/// What to say to a word, or NULL. Static.
const char* suggest_hint(const FirstTry* tries,
                         size_t          n_tries,
                         const char*     word);

/// Single edits (a letter more, less, other, or two swapped) from `a` to `b`.
size_t suggest_distance(const char* a, const char* b);

/// Whether `name` is near enough to `word` to be meant by it.
bool suggest_is_near(const char* word, const char* name);

/// The nearer to `word` of two names, where it is near enough at all; `best`
/// may be NULL.
const char* suggest_nearer(const char* word,
                           const char* best,
                           const char* name);

/// What to say to a first word that is no command, or NULL.
const char* suggest_for_word(const char* word);

/// What to say to an option that is none, given without dashes, or NULL.
const char* suggest_for_option(const char* name);

#endif
