#ifndef VW_PACK_OLD_H
#define VW_PACK_OLD_H

#include "pack/pack.h"

/// Find the files of earlier runs that no sound makes any more.
VwStatus vw_pack_old_find(VwPack* pack);

/// Remove those of them that nobody changed.
void vw_pack_old_remove(VwPack* pack);

/**
 * The digest of a file of the pack.
 *
 * @return #VW_OK, #VW_NO_MEMORY, #VW_MISSING, #VW_NOT_REGULAR (also a link),
 * #VW_UNREADABLE.
 */
VwStatus vw_pack_digest_file(const char* path, uint64_t* digest);

#endif
