/// @file
/// Takes that lie in the folder and that no sound is made of.
#ifndef VW_CLI_PROP_UNUSED_H
#define VW_CLI_PROP_UNUSED_H

#include "cli/prop/prop.h"

/// Name the takes of a folder that its prop does not.
void prop_unused_warn(const Prop* prop, const char* folder);

#endif
