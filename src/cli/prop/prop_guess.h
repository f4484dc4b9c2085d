/// @file
/// A prop for a folder of takes, guessed from what each take is.
#ifndef VW_CLI_PROP_GUESS_H
#define VW_CLI_PROP_GUESS_H

#include "cli/prop/prop.h"

/**
 * Guess what to make of the takes in a folder: of a shot, or several, the shot
 * and its rapid fire; anything else as it is, a little softer.
 *
 * @param prop Filled in on success; free with prop_clear().
 * @param n_failed Takes that cannot be used; each was said.
 * @return False, and said, where the folder cannot be read.
 */
bool prop_guess(const char*     folder,
                const Settings* settings,
                Prop*           prop,
                size_t*         n_failed);

/// A name that may stand in `[sound NAME]`, made from a file's name without its
/// ending. To be freed; NULL without memory.
char* prop_guess_name(const char* stem, size_t n_stem);

#endif
