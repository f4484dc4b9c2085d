#ifndef VW_PACK_BEFORE_H
#define VW_PACK_BEFORE_H

#include "pack/pack.h"

/**
 * Keep the files of a finished pack in the folder of the version before,
 * instead of the one kept there.
 *
 * Files get a second name, or are copied where that cannot be. What is no
 * pack's there stays.
 *
 * @return #VW_OK, #VW_NO_MEMORY, or what vw_file_status() says.
 */
VwStatus vw_pack_before_keep(const VwPackStore* store);

#endif
