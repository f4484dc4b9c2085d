/// @file
/// Comments of a lamp's C header.
#ifndef VW_CLI_LAMP_COMMENT_H
#define VW_CLI_LAMP_COMMENT_H

#include "cli/lamp/lamp_report.h"

/// Print all cautions as lines of a comment.
void lamp_comment_cautions(const LampReport* report, FILE* out);

#endif
