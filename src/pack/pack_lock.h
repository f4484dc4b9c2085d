#ifndef VW_PACK_LOCK_H
#define VW_PACK_LOCK_H

#include "volleyweave/volleyweave.h"

/// What keeps other runs from making the same pack. Starts all zero.
typedef struct {
  char* path; ///< Of the file that is locked, or NULL. Owned.
  int   fd;   ///< Of that file, where there is a path.
} VwPackLock;

/**
 * Keep others from the pack whose files wait in a folder, which is made.
 *
 * The system ends it with the process, however that ends. Where a file system
 * has no locks, nobody is kept from anything.
 *
 * @return #VW_OK, #VW_NO_MEMORY, #VW_BUSY, or what vw_file_status() says.
 */
VwStatus vw_pack_lock_take(const char* making, VwPackLock* lock);

/// Let others in again. The folder can be removed after that.
void vw_pack_lock_drop(VwPackLock* lock);

#endif
