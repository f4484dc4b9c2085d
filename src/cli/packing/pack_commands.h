/// @file
/// A command for each sound of a pack, which makes the same bytes alone.
#ifndef VW_CLI_PACK_COMMANDS_H
#define VW_CLI_PACK_COMMANDS_H

#include "cli/packing/pack_report.h"
#include "pack/pack.h"

/// Print one line for each sound, on standard output, for a shell. False
/// without memory.
bool pack_commands_print(const PackReport* report);

/// Print what makes all files of a sound in the usual folder, without an end of
/// line. False without memory.
bool pack_commands_one(const PackReport*  report,
                       const VwPackSound* sound,
                       FILE*              out);

#endif
