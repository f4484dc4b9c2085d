/// @file
/// The last line of the report: what is worth trying next.
#ifndef VW_CLI_REPORT_NEXT_H
#define VW_CLI_REPORT_NEXT_H

#include "cli/report/report.h"

/// Print the command to go on with.
void report_next(const Report* report, FILE* out);

#endif
