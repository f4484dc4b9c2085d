/// @file
/// Changing a prop file as a person would: only the lines that have to change.
///
/// Comments, blank lines, order, spaces and line ends stay, byte for byte.
#ifndef VW_CLI_PROP_EDIT_H
#define VW_CLI_PROP_EDIT_H

#include <stdbool.h>
#include <stddef.h>

/// What to do with a key of a section.
typedef enum {
  PROP_SET,  ///< Give its first line the value, or add a line.
  PROP_ADD,  ///< Add a line behind the section's last key.
  PROP_CLEAR ///< Remove all lines with keys but those named in `value`.
} PropEditKind;

/// One change. A section that is missing is added at the end.
typedef struct {
  PropEditKind kind;
  const char*  section; ///< What stands between the brackets.
  const char*  key;     ///< NULL for #PROP_CLEAR.
  const char*  value;   ///< Quoted where it has to be.
} PropEdit;

/**
 * Make the changes in a text, all in one go.
 *
 * @param edits Those for a section that is missing follow one another.
 * @return The new text, to be freed; NULL without memory.
 */
char* prop_edit_text(const char* text, const PropEdit* edits, size_t n_edits);

/**
 * Make the changes in a file: the old file or the whole new one is there at any
 * moment, and it keeps its permissions. A link is followed.
 *
 * @return False, and said, where that failed.
 */
bool prop_edit_file(const char* path, const PropEdit* edits, size_t n_edits);

#endif
