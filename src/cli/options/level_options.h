/// @file
/// The options on how loud: each puts its value into the settings, and returns
/// false, and says why, where that is wrong.
#ifndef VW_CLI_LEVEL_OPTIONS_H
#define VW_CLI_LEVEL_OPTIONS_H

#include "cli/options/settings.h"

/// A loudness in LUFS, "loudest" or "keep".
bool level_set_loudness(Settings*   settings,
                        const char* shown,
                        const char* value);

/// A gain in dB.
bool level_set_gain(Settings* settings, const char* shown, const char* value);

/// The highest true peak.
bool level_set_ceiling(Settings*   settings,
                       const char* shown,
                       const char* value);

/// A speaker's diameter or corner, or "none".
bool level_set_speaker(Settings*   settings,
                       const char* shown,
                       const char* value);

/// What has the loudness aimed at.
bool level_set_loud_as(Settings*   settings,
                       const char* shown,
                       const char* value);

#endif
