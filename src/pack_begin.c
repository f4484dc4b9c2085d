#include "pack_before.h"
#include "pack_order.h"

#include <assert.h>

/// Make the folders of all groups that files are going to be in.
static VwStatus
make_groups(const VwPack* pack) {
  VwStatus st = VW_OK;
  for (size_t i = 0; !st && i < pack->n_sounds; ++i) {
    const VwPackSound* const sound = &pack->sounds[i];
    for (size_t k = 0; !st && sound->due && k < sound->n_files; ++k) {
      st = vw_pack_folders_make_group(pack->store->folders.pack,
                                      sound->files[k].name);
    }
  }
  return st;
}

VwStatus
vw_pack_begin(VwPack* pack) {
  assert(pack);
  VwPackStore* const store = pack->store;
  if (pack->faults.n_faults || pack->sums.n_unmeasured) {
    return VW_BAD_OPTION;
  }
  // A run may have been stopped when all but this was done.
  vw_pack_folders_sweep(store->folders.pack);
  vw_pack_folders_sweep(store->folders.before);
  if (!pack->changes) {
    return VW_OK;
  }
  VwStatus st = vw_pack_folders_make(store->folders.pack);
  // Of a run that was stopped the last whole version is kept already.
  if (!st && store->list.n_files && !store->list.unfinished) {
    st = vw_pack_before_keep(store);
  }
  st = st ? st : vw_pack_order_list(pack, true, false);
  st = st ? st : make_groups(pack);
  if (!st) {
    vw_pack_folders_drop(store->folders.making);
    st = vw_pack_folders_make(store->folders.making);
  }
  return st;
}
