/// @file
/// Folders for a test's files.
#ifndef TESTS_FOLDER_H
#define TESTS_FOLDER_H

#include <stdbool.h>
#include <stddef.h>

/// Make a new folder among the temporary files. Its name is to be freed; NULL
/// where there can be none.
char* folder_make(void);

/// Make a new folder for temporary files and go to it.
///
/// A set-up of a test; files are then named without a folder.
int folder_enter(void** state);

/// Leave and remove the folder with all that is in it, folders too.
///
/// The tear-down that goes with folder_enter().
int folder_leave(void** state);

/// Write a file.
void folder_put(const char* path, const void* bytes, size_t n_bytes);

/// The bytes of a file and a zero behind them, to be freed; NULL without one.
char* folder_get(const char* path, size_t* n_bytes);

/// Whether a file holds exactly this text.
bool folder_holds(const char* path, const char* text);

/// How many names there are in a folder, hidden ones too.
size_t folder_count(const char* path);

#endif // TESTS_FOLDER_H
