/// @file
/// The boards that a prop is packed for.
#ifndef VW_CLI_PACK_BOARDS_H
#define VW_CLI_PACK_BOARDS_H

#include "prop.h"

/// Boards. Starts all zero.
typedef struct {
  VwBoard* boards; ///< Owned.
  char**   asked;  ///< How each is found again. Owned, as are the texts.
  size_t   n_boards;
} PackBoards;

/**
 * Find the boards named on the command line, else the one that the environment
 * names, else those of the prop, else the one in the settings.
 *
 * @param boards Filled in; free with pack_boards_clear().
 * @return #EXIT_DONE, #EXIT_FILE or #EXIT_USAGE; what is wrong is said.
 */
int pack_boards_find(const Settings* settings,
                     const Prop*     prop,
                     PackBoards*     boards);

/// Free what `boards` owns. NULL is accepted.
void pack_boards_clear(PackBoards* boards);

#endif
