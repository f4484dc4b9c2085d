/// @file
/// A sound's level over time, small enough for a line of a table.
#ifndef VW_CLI_TRYOUT_OUTLINE_H
#define VW_CLI_TRYOUT_OUTLINE_H

#include "cli/page/json_text.h"

/// Add an array of the peak in each of 96 equal stretches, whole dB above -60
/// dBFS.
void tryout_outline_add(JsonText* page, const VwSound* sound);

#endif
