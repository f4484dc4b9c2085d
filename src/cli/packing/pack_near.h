/// @file
/// Whether somebody named the folder in which packs lie, not a pack, or a pack,
/// not a card.
#ifndef VW_CLI_PACK_NEAR_H
#define VW_CLI_PACK_NEAR_H

#include <stdbool.h>

/// Say it where `path` is a folder of packs and none itself. True, and said.
bool pack_near_refuse(const char* path);

/// Say it where a folder to deliver to is a pack. True, and said.
bool pack_near_refuse_target(const char* folder);

/// Whether a folder was made by this program.
bool pack_near_is_ours(const char* folder);

#endif
