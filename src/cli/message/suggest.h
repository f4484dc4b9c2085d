/// @file
/// "Did you mean": the nearest name, and the right words for a first try.
#ifndef VW_CLI_SUGGEST_H
#define VW_CLI_SUGGEST_H

#include <stdbool.h>
#include <stddef.h>

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
