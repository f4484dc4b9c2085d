/// @file
/// The boards that a prop is packed for.
#ifndef VW_CLI_PACK_BOARDS_H
#define VW_CLI_PACK_BOARDS_H

#include "board/board.h"
#include "cli/prop/prop.h"

/// Boards. Starts all zero.
typedef struct {
  VwBoard* boards; ///< Owned.
  size_t   n_boards;
} PackBoards;

/**
 * Find the boards named on the command line, else the one that the environment
 * names, else those of the prop, else the one in the settings.
 *
 * @param boards Filled in; free with pack_boards_clear().
 * @return #EXIT_DONE, #EXIT_FILE or #EXIT_USAGE; what is wrong is said.
 */
int pack_boards_find(const CommandName* command,
                     const Settings*    settings,
                     const Prop*        prop,
                     PackBoards*        boards);

/**
 * Prove that the boards play what the prop asks for, and give each sound a slot
 * where they play by slots.
 *
 * @return False, and said, where they do not.
 */
bool pack_boards_check(const Settings*   settings,
                       const PackBoards* boards,
                       Prop*             prop);

/// Free what `boards` owns. NULL is accepted.
void pack_boards_clear(PackBoards* boards);

#endif
