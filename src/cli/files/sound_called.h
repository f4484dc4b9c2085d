/// @file
/// What a pack's list calls the sound in a file, where the file's name does not
/// tell: on a board that plays by number.
#ifndef VW_CLI_SOUND_CALLED_H
#define VW_CLI_SOUND_CALLED_H

#include <stdbool.h>

/// The name of the sound in a file of a pack. To be freed; NULL where the list
/// has none.
///
/// @param file Its name in the pack's folder, with its group's.
char* sound_called(const char* pack, const char* file);

/// Whether that is its name, whatever its letters' size.
bool sound_is_called(const char* pack, const char* file, const char* sound);

#endif
