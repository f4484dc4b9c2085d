/// @file
/// Reports and their warnings, in the way and on the stream asked for.
#ifndef VW_CLI_SHOW_H
#define VW_CLI_SHOW_H

#include "cli/report/report.h"

/// Show a report on `out`: as text unless it failed, or as JSON.
void show(Report* report, FILE* out);

/// Say how many takes of several failed, and return the exit status.
int show_failures(const Settings* settings, size_t n_failed);

#endif
