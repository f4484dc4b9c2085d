/// @file
/// Sounds as text in a page.
#ifndef VW_CLI_TRYOUT_CODES_H
#define VW_CLI_TRYOUT_CODES_H

#include <volleyweave/volleyweave.h>

/// The word for an encoding in a page: "u8", "s16", "s24", "f32". Static.
const char* tryout_codes_word(VwEncoding encoding);

/// Bytes of one code.
unsigned tryout_codes_bytes(VwEncoding encoding);

/// How many characters a sound takes in a page.
uint64_t tryout_codes_length(const VwSound* sound, VwEncoding encoding);

/// A sound in base64: codes, frame after frame, little end first. Values that
/// came from such codes become the same again. To be freed; NULL without
/// memory.
char* tryout_codes_text(const VwSound* sound, VwEncoding encoding);

#endif
