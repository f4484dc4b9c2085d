/// @file
/// What the name of a file that was made here tells: sound and part.
#ifndef VW_CLI_SOUND_NAME_H
#define VW_CLI_SOUND_NAME_H

#include <volleyweave/volleyweave.h>

/// A file's name taken apart. Points into the path.
typedef struct {
  const char* path;
  size_t      at_sound; ///< Where the sound's name begins, behind a slot.
  size_t      n_sound;
  size_t at_part; ///< Where the part's word begins; counts with `has_part`.
  bool   has_part;
  VwPart part;
} SoundName;

/// Take the name of a file apart: [SLOT joiner] SOUND [joiner PART] ENDING.
SoundName sound_name_of(const char* path);

/// The name of the file with another part of the same sound. To be freed; NULL
/// without memory.
char* sound_name_sibling(const SoundName* name, VwPart part);

/// Whether the file is of a sound of that name, whatever its letters' size.
bool sound_name_is(const SoundName* name, const char* sound);

/// Whether two files are of one sound, in one folder.
bool sound_name_is_sibling(const SoundName* name, const SoundName* other);

#endif
