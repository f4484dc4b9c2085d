/// @file
/// The words for what the library numbers, wherever one is read or shown; the
/// library has those for kinds, parts, forms and encodings itself.
#ifndef VW_CLI_WORDS_H
#define VW_CLI_WORDS_H

#include <volleyweave/volleyweave.h>

/// A word, and what it stands for.
typedef struct {
  const char* word;
  int         value;
} Choice;

/// All that there are, ended by one without a word.
extern const Choice words_container[];  ///< Of #VwContainer.
extern const Choice words_repeat[];     ///< Of #VwRepeat.
extern const Choice words_release[];    ///< Of #VwRelease.
extern const Choice words_tail[];       ///< Of #VwTail.
extern const Choice words_chip[];       ///< Of #VwChip.
extern const Choice words_make[];       ///< Of #VwMake.
extern const Choice words_on_reason[];  ///< Of #VwOnReason, for programs.
extern const Choice words_on_because[]; ///< The same for a person.

/// The first word that stands for a value, or an empty one. Static.
const char* choice_word(const Choice* choices, int value);

#endif
