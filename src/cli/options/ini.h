/// @file
/// Text files of sections and keys: boards, props, settings.
///
/// UTF-8; `[section]` lines and `key = value` lines below them. A line that
/// begins with # or ; is a comment, and so is what follows " ;" behind a value.
/// A value in double quotes may hold anything: \" \\ \n \t and \xHH stand for a
/// quote, a backslash, a new line, a tab and any byte.
///
/// What is wrong with a file is said at once, each fault with its line; whoever
/// reads goes on, and asks at the end whether there was any.
#ifndef VW_CLI_INI_H
#define VW_CLI_INI_H

#include "cli/message/message.h"

#include <stdbool.h>
#include <stddef.h>

/* Faults */

/// The faults of one file. Starts with its path alone.
typedef struct {
  const char* path;
  size_t      n; ///< Counted on, also where no more are said.
} Faults;

/// Whether so many were said that no more are.
bool fault_is_enough(const Faults* faults);

/// The file and a line of it, for messages: "sounds.ini:12". To be freed.
char* fault_subject(const Faults* faults, unsigned line);

/// Say a fault in a line, or of the whole file where that is 0.
void fault_say(Faults* faults, unsigned line, const char* format, ...)
  TEXT_FORMAT(3, 4);

/// Say that there are more, where there are. True where there was none at all.
bool fault_end(const Faults* faults);

/* Files */

/// One key of a section.
typedef struct {
  const char* key;
  const char* value;
  unsigned    line; ///< From 1.
} IniEntry;

/// One section as it stands in the file.
typedef struct {
  const char* name;
  unsigned    line;    ///< From 1.
  IniEntry*   entries; ///< In their order.
  size_t      n_entries;
} IniSection;

/// A whole file. All that stands in it points into `text` and `entries`.
typedef struct {
  IniSection* sections; ///< In their order. Owned.
  size_t      n_sections;
  IniEntry*   entries; ///< Of all sections. Owned.
  size_t      n_entries;
  char*       text; ///< Owned.
} IniFile;

/**
 * Read a text file of at most 1 MB.
 *
 * @param repeatable A key that may stand more than once in a section, or NULL.
 * @param faults Its path is read; all that is wrong is said and counted.
 * @param file Filled in with what can be used; free it with ini_clear().
 * @return False, and said, if the file cannot be read; true also with
 * faults.
 */
bool ini_read(const char* repeatable, Faults* faults, IniFile* file);

/// Free what `file` owns and set it to zero. NULL is accepted.
void ini_clear(IniFile* file);

/// A value as it stands in a file, in quotes where it needs them. To be freed;
/// NULL without memory.
char* ini_quote(const char* value);

/// Where a file is, seen from here, that a text file names so. To be freed;
/// NULL without memory.
char* ini_path(const char* text_file, const char* named);

#endif
