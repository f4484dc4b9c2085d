#include "cli/textfile/ini_line.h"

#include <stdbool.h>
#include <string.h>

// What some editors write at the start of a text in UTF-8.
#define MARK "\xEF\xBB\xBF"

IniLine
ini_line_at(const char* start) {
  const char* const feed = strchr(start, '\n');
  const char* const end = feed ? feed : start + strlen(start);
  const bool        carriage = end > start && end[-1] == '\r';
  return (IniLine){
    start, (size_t)(end - start) - (carriage ? 1U : 0U), feed ? feed + 1 : end};
}

IniLine
ini_line_first(const char* text) {
  return ini_line_at(text +
                     (strncmp(text, MARK, strlen(MARK)) ? 0U : strlen(MARK)));
}

static bool
is_blank(char letter) {
  return letter == ' ' || letter == '\t';
}

/// Take blanks away at both ends.
static IniLine
trimmed(IniLine line) {
  while (line.length && is_blank(*line.start)) {
    ++line.start;
    --line.length;
  }
  while (line.length && is_blank(line.start[line.length - 1U])) {
    --line.length;
  }
  return line;
}

IniLine
ini_line_section(IniLine line) {
  IniLine name = trimmed(line);
  if (!name.length || *name.start != '[') {
    return (IniLine){0};
  }
  size_t n = name.length;
  while (n && name.start[n - 1U] != ']') {
    --n;
  }
  return n < 2U ? (IniLine){0} : (IniLine){name.start + 1, n - 2U, NULL};
}

IniLine
ini_line_key(IniLine line) {
  const IniLine     all = trimmed(line);
  const char* const equals =
    all.length ? memchr(all.start, '=', all.length) : NULL;
  if (!equals || strchr("#;[", *all.start)) {
    return (IniLine){0};
  }
  return trimmed((IniLine){all.start, (size_t)(equals - all.start), NULL});
}

/// Length of a value in quotes, with them.
static size_t
quoted_length(IniLine value) {
  size_t n = 1;
  while (n < value.length && value.start[n] != '"') {
    n += value.start[n] == '\\' ? 2U : 1U;
  }
  return n < value.length ? n + 1U : value.length;
}

/// Length of a value up to a comment, which begins with " ;".
static size_t
plain_length(IniLine value) {
  size_t n = 0;
  while (n < value.length &&
         !(is_blank(value.start[n]) && n + 1U < value.length &&
           value.start[n + 1U] == ';')) {
    ++n;
  }
  return n;
}

IniLine
ini_line_value(IniLine line) {
  const char* const behind =
    (const char*)memchr(line.start, '=', line.length) + 1;
  IniLine value = trimmed(
    (IniLine){behind, line.length - (size_t)(behind - line.start), NULL});
  value.length = value.length && *value.start == '"'   ? quoted_length(value)
                 : value.length && *value.start == ';' ? 0U
                                                       : plain_length(value);
  return trimmed(value);
}
