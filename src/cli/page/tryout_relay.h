/// @file
/// What a page lays a burst anew from.
#ifndef VW_CLI_TRYOUT_RELAY_H
#define VW_CLI_TRYOUT_RELAY_H

#include "cli/page/tryout_page.h"

/// Add the key `relay` to a sound's facts; null without one.
void tryout_relay_add(JsonText* page, const TryoutRelay* relay);

#endif
