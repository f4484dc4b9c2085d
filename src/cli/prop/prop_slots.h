/// @file
/// Which slot each sound of a prop has. None ever moves by itself.
#ifndef VW_CLI_PROP_SLOTS_H
#define VW_CLI_PROP_SLOTS_H

#include "board/board.h"
#include "cli/prop/prop.h"
#include "cli/textfile/textfile.h"

/**
 * Prove that no two sounds have one slot, and that the board has it.
 *
 * @param board Name of the board, or NULL for what holds for any.
 * @param most Highest slot, or 0 where nothing is known of it.
 */
void prop_slots_check(const Prop* prop,
                      const char* board,
                      unsigned    most,
                      Faults*     faults);

/**
 * Give every sound that lacks one the lowest slot that is free on all boards.
 *
 * @param boards Those that are packed for; does nothing where none plays by
 * slots.
 * @return False, and said, where no slot is left.
 */
bool prop_slots_give(Prop* prop, const VwBoard* const* boards, size_t n_boards);

/// Whether a sound has a slot that it was given, and that no file tells.
bool prop_slots_are_given(const Prop* prop);

#endif
