/// @file
/// The lamp of a sound, as a page tells of it.
#ifndef VW_CLI_TRYOUT_LAMP_H
#define VW_CLI_TRYOUT_LAMP_H

#include "cli/options/settings.h"
#include "cli/page/json_text.h"

/// Add the key `lampParts`: the parts about a timer chip that make a lamp flash
/// so, and where its trimmer stands, as `lamp` finds them.
void tryout_lamp_add(JsonText*       page,
                     const Settings* settings,
                     const VwLamp*   lamp);

#endif
