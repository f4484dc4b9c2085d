#include "board/board.h"
#include "pack/pack.h"
#include "pack/pack_before.h"
#include "pack/pack_old.h"
#include "pack/pack_order.h"
#include "store/store.h"

#include <assert.h>
#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <unistd.h>

/// Give a file its name.
static VwStatus
place(const VwPack* pack, const VwPackPlace* at) {
  const VwPackStore* const store = pack->store;
  const char* const        name = pack->sounds[at->sound].files[at->file].name;
  const bool  is_staged = store->works[at->sound].there[at->file].staged;
  char* const staged = vw_pack_staged_path(store, name);
  char* const path = vw_path_join(store->folders.pack, name);
  char* const waiting = vw_pack_staged_path(store, "");
  VwStatus    st = staged && path && waiting ? VW_OK : VW_NO_MEMORY;
  if (!st && pack->options.board->order == VW_ORDER_WRITTEN) {
    // Where files wait nothing is half under its final name.
    st = vw_file_copy(is_staged ? staged : path, waiting);
    if (!st && rename(waiting, path)) {
      st = vw_file_status(errno);
    }
  } else if (!st && is_staged && rename(staged, path)) {
    st = vw_file_status(errno);
  }
  free(staged);
  free(path);
  free(waiting);
  return st;
}

static VwStatus
place_all(VwPack* pack) {
  size_t             n_places = 0;
  VwPackPlace* const places = vw_pack_order_find(pack, &n_places);
  VwStatus           st = places ? VW_OK : VW_NO_MEMORY;
  for (size_t i = 0; !st && i < n_places; ++i) {
    st = place(pack, &places[i]);
  }
  free(places);
  return st;
}

/// Names too are to outlive a loss of power. Not every file system can.
static void
sync_folder(const char* path) {
  const int fd = open(path, O_RDONLY | O_CLOEXEC);
  if (fd >= 0) {
    fsync(fd);
    close(fd);
  }
}

/// Whether all that had to be made is.
static bool
is_whole(const VwPack* pack) {
  for (size_t i = 0; i < pack->n_sounds; ++i) {
    if (pack->sounds[i].due && !pack->store->works[i].made) {
      return false;
    }
  }
  return true;
}

static bool
has_to_prune(const VwPack* pack) {
  for (size_t i = 0; pack->options.prune && i < pack->n_old; ++i) {
    if (!pack->old[i].changed) {
      return true;
    }
  }
  return false;
}

/// Count the files that are there as they are made, and those that are not.
static void
count_files(VwPack* pack) {
  pack->sums.n_same = 0;
  pack->sums.n_other = 0;
  for (size_t i = 0; i < pack->n_sounds; ++i) {
    const VwPackSound* const sound = &pack->sounds[i];
    for (size_t k = 0; pack->store->works[i].made && k < sound->n_files; ++k) {
      const bool same = sound->files[k].fate == VW_PACK_FILE_SAME;
      pack->sums.n_same += same ? 1U : 0U;
      pack->sums.n_other += same ? 0U : 1U;
    }
  }
}

/// On a board that plays in written order all is written again where one is.
static void
settle_order(VwPack* pack) {
  for (size_t i = 0; i < pack->n_sounds; ++i) {
    VwPackSound* const sound = &pack->sounds[i];
    for (size_t k = 0; pack->store->works[i].made && k < sound->n_files; ++k) {
      VwPackFile* const file = &sound->files[k];
      file->fate =
        file->fate == VW_PACK_FILE_SAME ? VW_PACK_FILE_REPLACED : file->fate;
    }
  }
  count_files(pack);
}

/// Change what is there into what was made.
static VwStatus
change(VwPack* pack) {
  const VwPackStore* const store = pack->store;
  VwStatus                 st = VW_OK;
  // Of a run that was stopped the last whole version is kept already.
  if (store->list.n_files && !store->list.unfinished) {
    st = vw_pack_before_keep(store);
  }
  // The list first: whichever file is there is then known.
  st = st ? st : vw_pack_order_list(pack, true);
  st = st ? st : place_all(pack);
  if (!st && pack->options.prune) {
    vw_pack_old_remove(pack);
  }
  if (!st) {
    sync_folder(store->folders.pack);
  }
  return st;
}

VwStatus
vw_pack_end(VwPack* pack) {
  assert(pack);
  VwPackStore* const store = pack->store;
  const bool         whole = is_whole(pack);
  count_files(pack);
  const bool changes =
    !whole || pack->unfinished || pack->sums.n_other || has_to_prune(pack);
  if (changes && pack->options.board->order == VW_ORDER_WRITTEN) {
    settle_order(pack);
  }
  if (!store->lock.path) {
    return VW_OK;
  }
  VwStatus st = changes ? change(pack) : VW_OK;
  if (!st && whole) {
    st = vw_pack_order_list(pack, false);
  }
  // Also where it failed: what waits takes room, and is made again.
  vw_pack_folders_sweep(store->folders.making);
  vw_pack_lock_drop(&store->lock);
  vw_pack_folders_drop(store->folders.making);
  return st;
}
