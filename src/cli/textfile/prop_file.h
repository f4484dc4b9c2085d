/// @file
/// The bytes of a prop file. It is the user's own: it is never half written.
#ifndef VW_CLI_PROP_FILE_H
#define VW_CLI_PROP_FILE_H

#include <stdbool.h>

/// Most bytes of a prop file.
#define PROP_FILE_BYTES_MOST 1000000U

/// The text of a file of at most so many bytes, to be freed. NULL, and said,
/// where it cannot be read or is no text.
char* prop_file_read(const char* path);

/**
 * Write a file, or write it anew: at any moment the old one or the whole new
 * one is there. A file that was there keeps its permissions; a link is
 * followed.
 *
 * @return False, and said, where that failed.
 */
bool prop_file_save(const char* path, const char* text);

#endif
