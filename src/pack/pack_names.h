#ifndef VW_PACK_NAMES_H
#define VW_PACK_NAMES_H

#include "pack/pack.h"

/**
 * Name all files that the sounds of a pack may make, and find fault with slots
 * and names that exclude each other.
 *
 * @param pack Its sounds' options have the board applied; names and faults are
 * added to it.
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_pack_names_make(VwPack* pack);

#endif
