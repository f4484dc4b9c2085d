/// @file
/// Text files of sections and keys: boards, props, settings.
///
/// UTF-8; `[section]` lines and `key = value` lines below them. A line that
/// begins with # or ; is a comment, and so is what follows " ;" behind a value.
/// A value in double quotes may hold anything: \" \\ \n \t and \xHH stand for a
/// quote, a backslash, a new line, a tab and any byte.
#ifndef VW_CLI_INI_FILE_H
#define VW_CLI_INI_FILE_H

#include "base/status.h"

#include <volleyweave/volleyweave.h>

#include <stdbool.h>

// Longest line, in bytes; inih holds 200 with the end of the line.
#define INI_LINE_MOST 197U

/// One key of a section.
typedef struct {
  char*    key;
  char*    value;
  unsigned line; ///< From 1.
} IniEntry;

/// One section as it stands in the file.
typedef struct {
  char*     name;
  unsigned  line;    ///< From 1.
  IniEntry* entries; ///< In their order. Owned, as are the texts.
  size_t    n_entries;
} IniSection;

/// A whole file.
typedef struct {
  IniSection* sections; ///< In their order. Owned.
  size_t      n_sections;
} IniFile;

/**
 * Read a text file.
 *
 * @param path The file; at most 1 MB.
 * @param repeatable A key that may stand more than once in a section, or NULL.
 * @param file Filled in with what can be used; free it with ini_clear().
 * @param faults All that is wrong is added, the first 50 of it.
 * @return #VW_OK, also with faults; #VW_NO_MEMORY, #VW_MISSING,
 * #VW_UNREADABLE, #VW_NOT_REGULAR.
 */
VwStatus ini_read(const char* path,
                  const char* repeatable,
                  IniFile*    file,
                  VwFaults*   faults);

/// Free what `file` owns and set it to zero. NULL is accepted.
void ini_clear(IniFile* file);

/// A value as it stands in a file, in quotes where it needs them. To be freed;
/// NULL without memory.
char* ini_quote(const char* value);

#endif
