/// @file
/// The lamp of a sound, as a page tells of it.
#ifndef VW_CLI_TRYOUT_LAMP_H
#define VW_CLI_TRYOUT_LAMP_H

#include <volleyweave/volleyweave.h>

/// The parts about a timer chip that make a lamp flash so, and where the
/// trimmer stands, as `lamp` finds them where nothing else is asked. To be
/// freed; NULL where there are none, or without memory.
char* tryout_lamp_parts(const VwLamp* lamp);

#endif
