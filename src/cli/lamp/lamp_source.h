/// @file
/// From a fire rate or a sound file to a lamp.
#ifndef VW_CLI_LAMP_SOURCE_H
#define VW_CLI_LAMP_SOURCE_H

#include "cli/lamp/lamp_report.h"

/**
 * Find out what the lamp goes with.
 *
 * @param report Its settings are read; source, rate, lamp, on-time and, of a
 * sound, brightness are filled in.
 * @return #EXIT_DONE, or #EXIT_USAGE or #EXIT_FILE, and said.
 */
int lamp_source_find(LampReport* report);

#endif
