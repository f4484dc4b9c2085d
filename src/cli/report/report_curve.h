/// @file
/// A take's level curve in characters.
#ifndef VW_CLI_REPORT_CURVE_H
#define VW_CLI_REPORT_CURVE_H

#include "cli/files/input.h"
#include "cli/message/terminal.h"

/// Draw it with the shot's marks, within the terminal's width; nothing where
/// the terminal is too narrow, or none.
void report_curve(const Input* input, const Terminal* terminal, FILE* out);

#endif
