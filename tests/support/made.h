/// @file
/// What the library makes of a recording, all steps in a row.
#ifndef TESTS_MADE_H
#define TESTS_MADE_H

#include "volleyweave/volleyweave.h"

#include <stdbool.h>
#include <stddef.h>

/// A take, what was found in it, and its family.
typedef struct {
  VwTake      take;
  VwShotFacts facts;
  VwFamily    family;
} Made;

/// Options of the family with float frames and everything else as it comes.
VwFamilyOptions made_options(void);

/// Prepare a recording, find its shot and make its family.
///
/// False, and nothing to clear, where a step fails, whose status is printed.
bool made_new(const VwSound* raw, const VwFamilyOptions* options, Made* made);

/// Free it all.
void made_clear(Made* made);

/// The piece of a family with the given part, or NULL.
const VwPiece* made_piece(const VwFamily* family, VwPart part);

/// Encode a part and read it back with the tests' own reader.
///
/// Free it with vw_sound_clear().
VwSound made_written(const VwFamily* family, VwPart part, uint64_t seed);

/// Lay a burst down from the shots that a family hands out.
VwSound made_laid_down(const VwFamily* family, size_t n_shots);

/// Run-in, loop as often as said, ring-out, one after the other.
VwSound made_joined(const VwFamily* family, size_t n_loops);

#endif // TESTS_MADE_H
