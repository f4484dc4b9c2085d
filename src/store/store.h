#ifndef VW_STORE_H
#define VW_STORE_H

#include "volleyweave/volleyweave.h"

/// A file that is written as it is made.
typedef struct VwPour VwPour;

/**
 * Begin a file that is too large to be held in memory.
 *
 * Until vw_pour_end() it has a temporary name in its folder; what vw_write()
 * promises of one file holds.
 *
 * @param options As for vw_write(); `dry_run` does not count.
 * @param pour Set on success; it ends with vw_pour_end() or vw_pour_drop().
 * @return As vw_write().
 */
VwStatus vw_pour_begin(const char*           path,
                       const VwWriteOptions* options,
                       VwPour**              pour);

/// Add bytes. Where that failed once, nothing more is written, and the same is
/// returned again.
///
/// @return #VW_OK, #VW_DISK_FULL, #VW_WRITE_FAILED.
VwStatus vw_pour_add(VwPour* pour, const void* data, size_t n_bytes);

/// Sync the file, give it its name, and free `pour`; where that fails, or
/// vw_pour_add() did, leave nothing of it behind.
///
/// @return As vw_write().
VwStatus vw_pour_end(VwPour* pour);

/// Free `pour`, and leave nothing of its file behind. NULL is accepted.
void vw_pour_drop(VwPour* pour);

/**
 * Say whether a file is one that vw_write() wrote and nobody changed since.
 *
 * @return True if its folder's list names it with its present digest.
 */
bool vw_is_own_output(const char* path);

/**
 * What was written of a loop when it was made.
 *
 * @param known Filled in on success.
 * @return True if its folder's list names it with its present digest, and says
 * how many shots it holds.
 */
bool vw_made_loop(const char* path, VwLoopKnown* known);

#endif
