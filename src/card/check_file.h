#ifndef VW_CHECK_FILE_H
#define VW_CHECK_FILE_H

#include "board/board.h"
#include "card/notes.h"

/**
 * Prove one file of a board: its size, header, format and sound.
 *
 * @param path Where it is.
 * @param n_bytes How long it is.
 * @param notes Where faults are noted.
 */
void vw_check_file(const char*    path,
                   uint64_t       n_bytes,
                   const VwBoard* board,
                   VwNotes*       notes);

#endif
