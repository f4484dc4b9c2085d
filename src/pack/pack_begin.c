#include "pack/pack.h"
#include "pack/pack_order.h"

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

/// Whether the list is still what the pack was opened with.
static VwStatus
check_list(const VwPackStore* store) {
  VwPackList     list = {0};
  const VwStatus st = vw_pack_list_read(store->folders.pack, &list);
  const bool     same = list.digest == store->list.digest;
  vw_pack_list_clear(&list);
  return st ? st : same ? VW_OK : VW_BUSY;
}

/// Remove what a run left behind that was stopped.
static void
sweep(const VwPackFolders* folders) {
  vw_pack_folders_sweep(folders->pack);
  vw_pack_folders_sweep(folders->before);
  vw_pack_folders_sweep(folders->making);
}

static VwStatus
begin(VwPack* pack) {
  const VwStatus st = check_list(pack->store);
  if (!st) {
    sweep(&pack->store->folders);
  }
  return st ? st : make_groups(pack);
}

VwStatus
vw_pack_begin(VwPack* pack) {
  assert(pack);
  VwPackStore* const store = pack->store;
  if (pack->faults.n_faults || pack->sums.n_unmeasured) {
    return VW_BAD_OPTION;
  }
  if (!pack->sums.n_due && !pack->n_old && !pack->unfinished) {
    return VW_OK;
  }
  VwStatus st = vw_pack_folders_make(store->folders.pack);
  st = st ? st : vw_pack_lock_take(store->folders.making, &store->lock);
  if (!st) {
    st = begin(pack);
    if (st) {
      vw_pack_lock_drop(&store->lock);
      vw_pack_folders_drop(store->folders.making);
    }
  }
  return st;
}
