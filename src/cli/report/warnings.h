/// @file
/// The tables of what is said wherever a result is not as good as it could be.
#ifndef VW_CLI_WARNINGS_H
#define VW_CLI_WARNINGS_H

#include "cli/report/report.h"

/// What a warning looks at: one take and the family made from it.
typedef struct {
  const Report*      report;
  const Input*       input; ///< NULL where it is about all takes.
  const VwShotFacts* facts;
  const VwTakeUse*   use;    ///< NULL where no family was made.
  const VwFamily*    family; ///< NULL, or one without a loop, for a shot.
} Facts;

/// A kind of warning.
typedef struct {
  /// The warning's text where there is one, or NULL; to be freed.
  char* (*find)(const Facts* of);
  const char* brief; ///< What it says of several at once.
} WarningKind;

/// Those on a take.
const WarningKind* warnings_of_take(size_t* n);

/// Those on a family: its level.
const WarningKind* warnings_of_family(size_t* n);

/// Those on a loop.
const WarningKind* warnings_of_loop(size_t* n);

#endif
