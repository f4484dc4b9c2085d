/// @file
/// Lines of the report for a person: a label and what belongs to it.
#ifndef VW_CLI_LINE_H
#define VW_CLI_LINE_H

#include "cli/message/text.h"

#include <stdio.h>

/// Print one line: a label and what belongs to it.
void line_print(FILE* out, const char* label, const char* format, ...)
  TEXT_FORMAT(3, 4);

/// Print a line that may be too long for one: it goes on under itself.
void line_wrap(FILE* out, const char* label, const char* text);

/// The same of a text that is made here and freed; NULL prints nothing.
void line_wrap_made(FILE* out, const char* label, char* text);

/// Print a text that is no line of a report: as one line, but broken between
/// words where a terminal shows it.
void line_flow(FILE* out, const char* text);

/// The same on standard output, of a text that is made here and freed.
void line_flow_made(char* text);

/// A number with its unit, or "none" where it does not exist.
const char* line_value(char        text[40],
                       double      number,
                       int         decimals,
                       const char* unit);

/// A time in ms or s.
const char* line_duration(char text[40], double ms);

#endif
