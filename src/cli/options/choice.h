/// @file
/// Words that an option takes.
#ifndef VW_CLI_CHOICE_H
#define VW_CLI_CHOICE_H

#include <stdbool.h>
#include <stddef.h>

/// A word, and what it stands for.
typedef struct {
  const char* word;
  int         value;
} Choice;

/// Find a word among choices. False, and said of `shown`, where it is none.
bool choose(const Choice* choices,
            const char*   shown,
            const char*   word,
            int*          value);

/// The first word that stands for a value, or an empty one. Static.
const char* choice_word(const Choice* choices, int value);

#endif
