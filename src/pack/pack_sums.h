#ifndef VW_PACK_SUMS_H
#define VW_PACK_SUMS_H

#include "pack/pack.h"

/// Sum up the files of a pack, and where it is too big say what would help.
void vw_pack_sums_find(VwPack* pack);

/**
 * Give sounds lower sample rates, the least audible first, until by estimate
 * all fits or none can be lowered; they have to be measured again.
 *
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_pack_sums_fit(VwPack* pack);

#endif
