/// @file
/// What a page holds of its boards and sounds, with the names that its scripts
/// read.
#ifndef VW_CLI_PAGE_FACTS_H
#define VW_CLI_PAGE_FACTS_H

#include "cli/message/figures.h"
#include "cli/page/tryout_page.h"

Figures* facts_of_board(const TryoutBoard* shown);

/// Of a sound, without what is heard of it.
Figures* facts_of_sound(const TryoutSound* sound, bool heard);

/// What is heard of it, as codes in base64.
Figures* frames_of_sound(const TryoutSound* sound, bool heard);

/// How many characters those take.
uint64_t frames_length(const TryoutSound* sound);

#endif
