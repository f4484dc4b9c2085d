/// @file
/// The options of the files' format.
#ifndef VW_CLI_FORMAT_OPTIONS_H
#define VW_CLI_FORMAT_OPTIONS_H

#include "cli/options/choice.h"
#include "cli/options/settings.h"

extern const Choice format_encodings[5];
extern const Choice format_channels[5];

bool format_set_sample_rate(Settings*   settings,
                            const char* shown,
                            const char* value);
bool format_set_channels(Settings*   settings,
                         const char* shown,
                         const char* value);
bool format_set_bits(Settings* settings, const char* shown, const char* value);
bool format_set_dither(Settings*   settings,
                       const char* shown,
                       const char* value);

#endif
