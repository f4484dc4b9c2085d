#ifndef VW_PACK_LOUDNESS_H
#define VW_PACK_LOUDNESS_H

#include "pack/pack.h"

/**
 * Find the loudness of a pack and the gain of each family in it.
 *
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_pack_loudness_settle(VwPack* pack);

#endif
