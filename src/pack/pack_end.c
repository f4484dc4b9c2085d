#include "board/board.h"
#include "pack/pack.h"
#include "pack/pack_old.h"
#include "pack/pack_order.h"
#include "store/file.h"
#include "store/path.h"
#include "store/stage.h"

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
  const VwPackWork* const  work = &store->works[at->sound];
  const char* const        name = pack->sounds[at->sound].files[at->file].name;
  char* const              staged = vw_pack_staged_path(store, work, name);
  char* const              path = vw_path_join(store->folders.pack, name);
  char* const              waiting = vw_pack_staged_path(store, work, "");
  VwStatus st = staged && path && waiting ? VW_OK : VW_NO_MEMORY;
  if (!st && pack->options.board->order == VW_ORDER_WRITTEN) {
    // Where files wait nothing is half under its final name.
    st = vw_stage_copy(work->staged ? staged : path, waiting);
    if (!st && rename(waiting, path)) {
      st = vw_file_status(errno);
    }
  } else if (!st && work->staged && rename(staged, path)) {
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
    if (pack->sounds[i].due && !pack->store->works[i].staged) {
      return false;
    }
  }
  return true;
}

VwStatus
vw_pack_end(VwPack* pack) {
  assert(pack);
  const VwPackFolders* const folders = &pack->store->folders;
  if (!pack->changes) {
    return VW_OK;
  }
  const bool whole = is_whole(pack);
  // The list first: whichever file is there is then known.
  VwStatus st = vw_pack_order_list(pack, true, true);
  st = st ? st : place_all(pack);
  if (!st && pack->options.prune) {
    vw_pack_old_remove(pack);
  }
  if (!st) {
    sync_folder(folders->pack);
  }
  // Also where it failed: what waits takes room, and is made again.
  vw_pack_folders_sweep(folders->making);
  if (!st && whole) {
    st = vw_pack_order_list(pack, false, true);
  }
  vw_pack_lock_drop(&pack->store->lock);
  vw_pack_folders_drop(folders->making);
  pack->changes = st != VW_OK;
  return st;
}
