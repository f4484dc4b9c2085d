/// @file
/// Real recordings: the WAV files of the Debian package bzflag-data.
#ifndef TESTS_RECORDINGS_H
#define TESTS_RECORDINGS_H

#include "volleyweave/volleyweave.h"

#include <stdbool.h>
#include <stddef.h>

enum {
  RECORDINGS = 34,        ///< How many there are.
  RECORDINGS_MISSING = 77 ///< Exit status of a test that cannot run.
};

/// Go by this folder, or NULL for the package's; false, and said, without it.
bool recordings_find(const char* folder);

/// The folder that they are in.
const char* recordings_place(void);

/// Do something with every recording; returns how many held.
size_t recordings_each(bool (*check)(const char* name, const VwSound* raw));

#endif // TESTS_RECORDINGS_H
