#ifndef VW_CHECK_ORDER_H
#define VW_CHECK_ORDER_H

#include "card/notes.h"
#include "store/store.h"

/**
 * Whether a folder lies on a file system that names files in the order in which
 * they were written, as those of cards do.
 */
bool vw_order_is_kept(const char* root);

/**
 * Note files that were not written in the order of their names: one fault for
 * each folder.
 *
 * @param files The board's files, by name.
 * @param kept The folder names them in the order written; or else the times at
 * which they were written count.
 * @param notes Its path is the folder in which they are.
 */
void vw_check_order(const VwEntry* const* files,
                    size_t                n_files,
                    bool                  kept,
                    VwNotes*              notes);

#endif
