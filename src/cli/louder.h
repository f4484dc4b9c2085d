/// @file
/// What would make a family louder: found by trying it.
#ifndef VW_CLI_LOUDER_H
#define VW_CLI_LOUDER_H

#include "cli/report/report.h"

/// The takes of a family, and what was asked of it.
typedef struct {
  const VwTake*      takes;
  const VwShotFacts* facts;
  size_t             n_takes;
  VwFamilyOptions    options;
} FamilyWish;

/**
 * Make a family again with one thing changed at a time.
 *
 * Tries nothing where the loudness asked for was reached, or was the take's
 * own.
 *
 * @param louder Filled in; what could not be tried is NaN.
 */
void louder_find(const FamilyWish* wish,
                 const VwFamily*   family,
                 Louder*           louder);

#endif
