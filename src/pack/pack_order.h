#ifndef VW_PACK_ORDER_H
#define VW_PACK_ORDER_H

#include "pack/pack.h"

/// A file of a sound.
typedef struct {
  size_t sound;
  size_t file;
} VwPackPlace;

/**
 * All files of the sounds that were made, in the order of their slots; those
 * without one come last, in the order of the prop.
 *
 * @param n_places Set to how many there are.
 * @return To be freed with free(), or NULL without memory.
 */
VwPackPlace* vw_pack_order_find(const VwPack* pack, size_t* n_places);

/// Write the pack's lists. While it is unfinished, those that were there before
/// are on it beside the files as made.
VwStatus vw_pack_order_list(const VwPack* pack, bool unfinished);

#endif
