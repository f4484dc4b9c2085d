/// @file
/// The lines of a text of sections and keys, for whoever changes one of them.
#ifndef VW_CLI_INI_LINE_H
#define VW_CLI_INI_LINE_H

#include <stddef.h>

/// A line of a text, or a part of one. Owns nothing.
typedef struct {
  const char* start;  ///< NULL where there is no such part.
  size_t      length; ///< Without the line's end.
  const char* next;   ///< Where the next one starts, or the text ends.
} IniLine;

/// The first line of a text, behind a mark of UTF-8.
IniLine ini_line_first(const char* text);

/// The line that starts here; of no length at the end of the text.
IniLine ini_line_at(const char* start);

/// The name in a line `[NAME]`; no start where it is none.
IniLine ini_line_section(IniLine line);

/// The key in a line `key = value`; no start where it is none.
IniLine ini_line_key(IniLine line);

/// The value in a line that has a key, without the comment that follows it.
IniLine ini_line_value(IniLine line);

#endif
