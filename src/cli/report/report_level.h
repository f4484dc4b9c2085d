/// @file
/// The part of the report for a person that is on loudness.
#ifndef VW_CLI_REPORT_LEVEL_H
#define VW_CLI_REPORT_LEVEL_H

#include "cli/report/report.h"

/// Print how loud a recording is as it came.
void report_loudness(const VwLoudness* loudness,
                     unsigned          n_channels,
                     FILE*             out);

/// Print how loud a family became, and what would make it louder.
void report_level(const Report* report, FILE* out);

#endif
