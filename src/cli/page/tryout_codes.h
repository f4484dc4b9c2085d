/// @file
/// Sounds as text in a page.
#ifndef VW_CLI_TRYOUT_CODES_H
#define VW_CLI_TRYOUT_CODES_H

#include "cli/page/json_text.h"

/// The word for an encoding in a page: "u8", "s16", "s24", "f32". Static.
const char* tryout_codes_word(VwEncoding encoding);

/// How many characters a sound takes in a page.
uint64_t tryout_codes_length(const VwSound* sound, VwEncoding encoding);

/// Add a sound as a string in base64: codes, frame after frame, little end
/// first. Values that came from such codes become the same again.
void tryout_codes_add(JsonText*      page,
                      const VwSound* sound,
                      VwEncoding     encoding);

#endif
