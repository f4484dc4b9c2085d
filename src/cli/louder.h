/// @file
/// What would make a family louder: found by trying it.
#ifndef VW_CLI_LOUDER_H
#define VW_CLI_LOUDER_H

#include "cli/report/report.h"
#include "family.h"

/**
 * Make a family again with one thing changed at a time.
 *
 * Tries nothing where the loudness asked for was reached, or was the take's
 * own.
 *
 * @param louder Filled in; what could not be tried is NaN.
 */
void louder_find(const VwFamilyWish* wish,
                 const VwFamily*     family,
                 Louder*             louder);

#endif
