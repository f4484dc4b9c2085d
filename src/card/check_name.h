#ifndef VW_CHECK_NAME_H
#define VW_CHECK_NAME_H

#include "board/board.h"
#include "card/notes.h"
#include "store/store.h"

/// Whether a name has the ending of the board's files, in any letters.
bool vw_name_is_of_board(const char* name, const VwBoard* board);

/**
 * Which part of a family a file's name tells of.
 *
 * @param n_before Set to the length of the name before the part's word and
 * what joins it, or before the ending.
 * @return False where the name tells of none.
 */
bool vw_name_part(const char*    name,
                  const VwBoard* board,
                  VwPart*        part,
                  size_t*        n_before);

/// Note what the board does not allow in a file's name, its folder left out.
void vw_check_name(const char* name, const VwBoard* board, VwNotes* notes);

/**
 * Note names that get into each other's way: two sounds on one slot, names that
 * differ in their letters' case alone.
 *
 * @param files The board's files, by name.
 * @param notes Its path is the folder in which they are.
 */
void vw_check_names_together(const VwEntry* const* files,
                             size_t                n_files,
                             const VwBoard*        board,
                             VwNotes*              notes);

#endif
