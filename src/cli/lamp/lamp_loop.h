/// @file
/// How many shots a loop holds: as said, as made, or as counted.
#ifndef VW_CLI_LAMP_LOOP_H
#define VW_CLI_LAMP_LOOP_H

#include "cli/lamp/lamp_report.h"

/**
 * Find the rate of a loop, or else of a recording.
 *
 * @param report Its settings and subject are read; source, what was found and
 * how it is known are filled in.
 */
VwStatus lamp_loop_find(const VwSound* sound, LampReport* report);

/// Print how many shots it is, how that is known, and what to do if it is
/// wrong.
void lamp_loop_text(const LampReport* report, FILE* out);

#endif
