/// @file
/// Sounds that are no loop, though one shot in a loop is all that it takes.
#ifndef VW_CLI_LAMP_SINGLE_H
#define VW_CLI_LAMP_SINGLE_H

#include "cli/lamp/lamp_report.h"

/// Whether a sound ends far below its loudest part, as a shot that dies away.
bool lamp_single_ends_quiet(const VwSound* sound);

/**
 * Refuse what by its name, or by its length, is a single shot or a sound that
 * goes on; warn of what may be one.
 *
 * @param quiet It ends so.
 * @return False, and said, where it is refused.
 */
bool lamp_single_check(const LampReport* report, bool quiet);

#endif
