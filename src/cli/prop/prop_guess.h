/// @file
/// A prop for a folder of takes, guessed from what each take is.
#ifndef VW_CLI_PROP_GUESS_H
#define VW_CLI_PROP_GUESS_H

#include "cli/options/settings.h"

/// A guess.
typedef struct {
  char*  text;     ///< Of a prop file that lies in the folder. Owned.
  size_t n_sounds; ///< How many sounds it has.
  size_t n_failed; ///< Takes that cannot be used; each was said.
} PropGuess;

/**
 * Guess what to make of the takes in a folder: of a shot, or several, the shot
 * and its rapid fire; anything else as it is, a little softer.
 *
 * @param guess Filled in on success; its text is to be freed.
 * @return False, and said, where the folder cannot be read.
 */
bool prop_guess(const char* folder, const Settings* settings, PropGuess* guess);

/// A name that may stand in `[sound NAME]`, made from a file's name without its
/// ending. To be freed; NULL without memory.
char* prop_guess_name(const char* stem, size_t n_stem);

#endif
