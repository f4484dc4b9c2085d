/// @file
/// Figures by their names: one description of a report for all that shows it.
///
/// What there is to tell is gathered once, in a tree with the names that JSON
/// has; a name ends with its unit ("attack_ms"). JSON prints the tree as it is.
/// What is for a person is a list of lines, and a line is words around names of
/// figures. No rendering knows which figure it shows.
#ifndef VW_CLI_FIGURES_H
#define VW_CLI_FIGURES_H

#include "base/caution.h"
#include "base/text.h"
#include "cli/message/message.h"

#include <stdint.h>

/// Figures by name, or a list of such; NULL is what does not exist.
typedef struct json_t Figures;

/* To gather them */

/// Figures by name. To be freed, or handed to others.
Figures* figures_new(void);

/// Let figures find memory as sure() does; once, before the first of them.
void figures_begin(void);

/// A list of figures.
Figures* figures_list(void);

/// Free them. NULL is accepted.
void figures_free(Figures* figures);

/// Set one by its name: a number (null where it is not finite), a count, yes or
/// no (an `int` is what C makes of a comparison), a text (null where it is
/// NULL), or figures of its own, which it owns.
#define figures_set(of, name, value)                                           \
  _Generic((value), double                                                     \
           : figures_set_number, bool                                          \
           : figures_set_flag, int                                             \
           : figures_set_flag, unsigned                                        \
           : figures_set_count, unsigned long                                  \
           : figures_set_count, unsigned long long                             \
           : figures_set_count, char*                                          \
           : figures_set_text, const char*                                     \
           : figures_set_text, Figures*                                        \
           : figures_set_tree)(of, name, value)

void figures_set_number(Figures* of, const char* name, double value);
void figures_set_count(Figures* of, const char* name, uint64_t value);
void figures_set_flag(Figures* of, const char* name, bool value);
void figures_set_text(Figures* of, const char* name, const char* value);
void figures_set_tree(Figures* of, const char* name, Figures* value);

/// A count that is null where it is 0.
void figures_set_some(Figures* of, const char* name, uint64_t value);

/// A text that is made here and freed.
void figures_set_made(Figures* of, const char* name, char* text);

/// Add one to the end of a list, likewise.
#define figures_add(list, value)                                               \
  _Generic((value), double                                                     \
           : figures_add_number, unsigned                                      \
           : figures_add_count, unsigned long                                  \
           : figures_add_count, unsigned long long                             \
           : figures_add_count, char*                                          \
           : figures_add_text, const char*                                     \
           : figures_add_text, Figures*                                        \
           : figures_add_tree)(list, value)

void figures_add_number(Figures* list, double value);
void figures_add_count(Figures* list, uint64_t value);
void figures_add_text(Figures* list, const char* value);
void figures_add_tree(Figures* list, Figures* value);

/* What reports have in common */

/// The figures of a line of JSON: its schema, and the command it is from.
Figures* figures_of_command(const char* command);

/// A failure with its message; NULL where there is none.
Figures* figures_of_error(VwStatus status, const char* message);

/// A failure with the message that goes with it; NULL where there is none.
Figures* figures_of_status(VwStatus status);

/// A lamp track; NULL where there is none.
Figures* figures_of_track(const VwLampTrack* track);

/* To look at them */

/// What a figure is.
typedef enum {
  FIGURE_NONE,
  FIGURE_NUMBER,
  FIGURE_COUNT,
  FIGURE_FLAG,
  FIGURE_TEXT,
  FIGURE_TREE,
} FigureKind;

/// One of them.
typedef struct {
  FigureKind  kind;
  double      number; ///< Of a count too.
  const char* text;   ///< Not owned.
} Figure;

/// A figure by its name, or "first.second" where it is deeper.
Figure figures_get(const Figures* of, const char* name);

/// Those below a name, which "first.second" reaches too; NULL where there are
/// none.
const Figures* figures_at(const Figures* of, const char* name);

/// An entry of a list; NULL behind the last one.
const Figures* figures_entry(const Figures* list, size_t index);

/// Whether names, with blanks between, all hold: there is something, and it is
/// neither "no", a count of 0 nor an empty text. After "!" it must not.
bool figures_hold(const Figures* of, const char* names);

/* To show them */

/// A number as JSON has it: levels to 0.01 dB, times to 0.1 us (ms) or 1 us
/// (s), whole ones as they are, and all else to 7 digits.
double figures_rounded(const char* name, double number);

/// Send them on as JSON without blanks, in pieces, and free them. False where
/// `to` does not take one, or without memory.
bool figures_send(Figures* figures,
                  bool (*to)(void* context, const char* json, size_t n_bytes),
                  void* context);

/// Print them as one line of JSON, and free them. False where that fails.
bool figures_json(Figures* figures, FILE* out);

/**
 * Words with figures in them.
 *
 *     {name}        a number with its unit, a count, or a text made safe;
 *                   "none" where there is none
 *     {name:.1f}    the number alone; printf's "+", a digit, and f or g
 *     {name:r}      a fire rate, as line_rate() has it
 *     {name:%}      a share as a percentage
 *     {name:s}      an "s", unless the count is 1
 *     {name:q}      a text quoted for a shell
 *     {name?words}  the words, if it holds; {!name?words}: if it does not
 *
 */
void figures_print(const Figures* of, const char* words, FILE* out);

/// The same as a text. To be freed.
char* figures_words(const Figures* of, const char* words);

/// A line of a report for a person.
typedef struct {
  const char* label; ///< In front of it, words too; NULL: it is a heading.
  const char* words;
  const char* when; ///< It is shown where these hold; NULL: always.
  bool        wrap; ///< It goes on under itself where it is too long.
} Line;

/// A table of lines, and how many there are.
#define LINES(lines) (lines), sizeof(lines) / sizeof((lines)[0])

/// Print so many lines; none of figures that do not exist.
void figures_lines(const Figures* of,
                   const Line*    lines,
                   size_t         n_lines,
                   FILE*          out);

/* Lines that are no table */

/// Print one line: a label and what belongs to it.
void line_print(FILE* out, const char* label, const char* format, ...)
  TEXT_FORMAT(3, 4);

/// Print a line that may be too long for one: it goes on under itself.
void line_wrap(FILE* out, const char* label, const char* text);

/// A fire rate in three digits; in four where these are over 0.1 % off, which
/// whole frames may cost: 8 of 7.9993, but 12.34.
const char* line_rate(char text[40], double per_s);

/// A time in ms or s.
const char* line_duration(char text[40], double ms);

/* Words for what the library numbers; it has those for kinds, parts, forms and
 * encodings itself. */

/// A word, and what it stands for.
typedef VwWord Choice;

/// All that there are, ended by one without a word.
extern const Choice words_repeat[];     ///< Of #VwRepeat.
extern const Choice words_release[];    ///< Of #VwRelease.
extern const Choice words_tightening[]; ///< Of #VwBend.
extern const Choice words_tail[];       ///< Of #VwTail.
extern const Choice words_kind[];       ///< Of #VwKind.
extern const Choice words_chip[];       ///< Of #VwChip.
extern const Choice words_make[];       ///< Of #VwMake.
extern const Choice words_on_reason[];  ///< Of #VwOnReason, for programs.
extern const Choice words_on_because[]; ///< The same for a person.

/// Of a sound whose lamp does not flash again and again: how often it does.
extern const char* const words_flash[2];

/// The first word that stands for a value, or an empty one. Static.
const char* choice_word(const Choice* choices, int value);

/* Cautions */

/// Flashes in a second from which on they may bring on seizures (G. Harding and
/// others, Epilepsia 46(9), 2005), and the most that screens are held to (W3C,
/// Web Content Accessibility Guidelines 2.2, criterion 2.3.1).
#define CAUTION_FLASHES_PER_S 3.0

/// #VW_CAUTION_FLASH for a lamp that flashes too often, or none.
unsigned caution_of_flashes(double pulse_hz);

/// The text of the first; NULL of none. Static.
const char* caution_text(unsigned cautions);

/// Several of them by their names.
Figures* caution_figures(unsigned cautions);

/// Print several of them, each as a line of a report, but for those that were
/// said in this run; NULL: none were.
void caution_lines(unsigned cautions, unsigned* said, FILE* out);

#endif
