/// @file
/// What a prop asks for that a board does not play.
#ifndef VW_CLI_PROP_BOARD_H
#define VW_CLI_PROP_BOARD_H

#include "board/board.h"
#include "cli/prop/prop.h"
#include "cli/textfile/textfile.h"

/**
 * Prove that a board plays what is asked for each sound: its sample rate,
 * channels, bits and form.
 *
 * @param line What was given on the command line, or NULL.
 */
void prop_board_check(const Prop*     prop,
                      const VwBoard*  board,
                      const Settings* line,
                      Faults*         faults);

#endif
