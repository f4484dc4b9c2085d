/// @file
/// Real recordings: the WAV files of the Debian package bzflag-data, and those
/// of more packages whose kinds are labelled.
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

/// A line of a file of labels: tests/take/kinds.txt says what its fields are.
typedef struct {
  const char* package;
  const char* path;         ///< In the package.
  const char* kind;         ///< What vw_kind_name() calls it.
  const char* or_kind;      ///< Right too; NULL without one.
  double      figure_least; ///< Shots, or shots per second; NaN if unknown.
  double      figure_most;
  bool        is_held; ///< Kept from tuning.
} RecordingLabel;

/// Visit every labelled recording that is here; returns how many were visited,
/// 0 where the labels cannot be read.
///
/// A package is looked for in the folder of its name in
/// $VOLLEYWEAVE_RECORDINGS, as `dpkg -x` lays it there, then where it is
/// installed. What is not here is said, a line a package.
size_t recordings_labelled(const char* labels,
                           void (*visit)(const RecordingLabel* label,
                                         const VwSound*        raw));

#endif // TESTS_RECORDINGS_H
