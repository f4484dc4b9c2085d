// What lies in a pack's folder becomes what was made.

#include "burst/burst.h"
#include "pack/internal.h"
#include "store/store.h"

#include <assert.h>
#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

/* Files that no sound makes any more */

/// Whether a sound may make a file of that name.
static bool
is_made(const VwPack* pack, const char* name) {
  for (size_t i = 0; i < pack->n_sounds; ++i) {
    const VwPackWork* const work = &pack->store->works[i];
    for (size_t k = 0; k < work->n_names; ++k) {
      if (!strcmp(work->names[k].name, name)) {
        return true;
      }
    }
  }
  return false;
}

/// Note a file that no sound makes, where it is still there.
static VwStatus
note(VwPack* pack, const char* name) {
  const VwPackStore* const store = pack->store;
  VwPackOld* const         old = &pack->old[pack->n_old];
  uint64_t                 digest = 0;
  char* const              path = vw_path_join(store->folder, name);
  VwStatus st = path ? vw_pack_digest_file(path, &digest) : VW_NO_MEMORY;
  free(path);
  if (st) {
    return st == VW_NO_MEMORY ? st : VW_OK;
  }
  old->name = strdup(name);
  old->changed = !vw_pack_list_holds(&store->list, name, digest);
  pack->n_old += old->name ? 1U : 0U;
  return old->name ? VW_OK : VW_NO_MEMORY;
}

VwStatus
vw_pack_old_find(VwPack* pack) {
  const VwPackList* const list = &pack->store->list;
  pack->old = calloc(list->n_files + 1U, sizeof(VwPackOld));
  VwStatus st = pack->old ? VW_OK : VW_NO_MEMORY;
  for (size_t i = 0; !st && i < list->n_files; ++i) {
    const char* const name = list->files[i].name;
    const bool        again = i && !strcmp(list->files[i - 1U].name, name);
    st = again || is_made(pack, name) ? VW_OK : note(pack, name);
  }
  return st;
}

static bool
has_failed(const VwPack* pack) {
  for (size_t i = 0; i < pack->n_sounds; ++i) {
    if (pack->sounds[i].status) {
      return true;
    }
  }
  return false;
}

static void
remove_old(VwPack* pack) {
  for (size_t i = 0; i < pack->n_old; ++i) {
    VwPackOld* const old = &pack->old[i];
    char* const      path = vw_path_join(pack->store->folder, old->name);
    uint64_t         digest = 0;
    // Somebody may have changed it while the pack was made.
    old->changed = path && !vw_pack_digest_file(path, &digest) &&
                   !vw_pack_list_holds(&pack->store->list, old->name, digest);
    old->removed = path && !old->changed && !unlink(path);
    free(path);
  }
}

/// Whether files have to go; where a sound failed, none does.
static bool
has_to_remove(const VwPack* pack) {
  const bool stay = pack->options.keep_old || has_failed(pack);
  for (size_t i = 0; !stay && i < pack->n_old; ++i) {
    if (!pack->old[i].changed) {
      return true;
    }
  }
  return false;
}

/* The version before */

/// Remove the files of the version that is kept, as far as they are a pack's.
static VwStatus
remove_kept(const char* before) {
  VwPackList list = {0};
  VwStatus   st = vw_pack_list_read(before, &list);
  for (size_t i = 0; !st && i < list.n_files; ++i) {
    const VwPackListed* const file = &list.files[i];
    uint64_t                  digest = 0;
    char* const               path = vw_path_join(before, file->name);
    st = path ? VW_OK : VW_NO_MEMORY;
    if (path && !vw_pack_digest_file(path, &digest) && digest == file->digest) {
      unlink(path);
    }
    free(path);
  }
  vw_pack_list_clear(&list);
  return st;
}

/// Keep one file, where it is there.
static VwStatus
keep(const VwPackStore* store, const char* name) {
  char* const from = vw_path_join(store->folder, name);
  char* const to = vw_path_join(store->before, name);
  VwStatus    st =
    from && to ? vw_pack_folders_make_group(store->before, name) : VW_NO_MEMORY;
  if (!st && !access(from, F_OK) && link(from, to)) {
    // What somebody put there stays; cards know no second names.
    st = access(to, F_OK) ? vw_file_copy(from, to) : VW_OK;
  }
  free(from);
  free(to);
  return st;
}

/// The list comes with its files, or they would not be known to be a pack's.
static VwStatus
keep_list(const VwPackStore* store) {
  char* const from = vw_path_join(store->folder, VW_LEDGER_NAME);
  char* const to = vw_path_join(store->before, VW_LEDGER_NAME);
  VwStatus    st = from && to ? vw_file_copy(from, to) : VW_NO_MEMORY;
  free(from);
  free(to);
  return st;
}

/// Keep the files of a finished pack in the folder of the version before,
/// instead of those kept there. Files get a second name, or are copied where
/// that cannot be. What is no pack's there stays.
static VwStatus
keep_before(const VwPackStore* store) {
  const VwPackList* const list = &store->list;
  VwStatus                st = vw_pack_folders_make(store->before);
  st = st ? st : remove_kept(store->before);
  // The list first: a file that is there is then on it.
  st = st ? st : keep_list(store);
  for (size_t i = 0; !st && i < list->n_files; ++i) {
    st = keep(store, list->files[i].name);
  }
  return st;
}

/* Begin */

/// Make the folders of all groups that files are going to be in.
static VwStatus
make_groups(const VwPack* pack) {
  VwStatus st = VW_OK;
  for (size_t i = 0; !st && i < pack->n_sounds; ++i) {
    const VwPackSound* const sound = &pack->sounds[i];
    for (size_t k = 0; !st && sound->due && k < sound->n_files; ++k) {
      st =
        vw_pack_folders_make_group(pack->store->folder, sound->files[k].name);
    }
  }
  return st;
}

/// Whether the list is still what the pack was opened with.
static VwStatus
check_list(const VwPackStore* store) {
  VwPackList     list = {0};
  const VwStatus st = vw_pack_list_read(store->folder, &list);
  const bool     same = list.digest == store->list.digest;
  vw_pack_list_clear(&list);
  return st ? st : same ? VW_OK : VW_BUSY;
}

static VwStatus
begin(VwPack* pack) {
  const VwStatus st = check_list(pack->store);
  if (!st) {
    vw_pack_folders_sweep(pack->store->folder);
    vw_pack_folders_sweep(pack->store->before);
    vw_pack_folders_sweep(pack->store->making);
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
  VwStatus st = vw_pack_folders_make(store->folder);
  if (st) {
    return st;
  }
  st = vw_pack_lock_take(store);
  if (st == VW_FOLDER_READONLY) {
    store->barred = st;
    return VW_OK; // where nothing changes, nothing has to be written
  }
  st = st ? st : begin(pack);
  if (st) {
    vw_pack_lock_drop(store);
  }
  return st;
}

/* What was made */

/// List the files of the sounds that were made, in the order of their slots,
/// with room for those of before.
static VwStatus
list_made(const VwPack* pack, VwPackList* made) {
  size_t        n = pack->store->list.n_files;
  size_t* const order = vw_pack_by_slot(pack);
  for (size_t i = 0; i < pack->n_sounds; ++i) {
    n += pack->sounds[i].n_files;
  }
  *made = (VwPackList){.files = calloc(n + 1U, sizeof(VwPackListed)),
                       .prop = pack->options.prop,
                       .prop_at = pack->options.prop_at,
                       .board = pack->options.board->name};
  for (size_t i = 0; order && made->files && i < pack->n_sounds; ++i) {
    const VwPackSound* const sound = &pack->sounds[order[i]];
    const VwPackWork* const  work = &pack->store->works[order[i]];
    for (size_t k = 0; work->made && k < sound->n_files; ++k) {
      made->files[made->n_files++] = (VwPackListed){
        .name = sound->files[k].name,
        .digest = sound->files[k].digest,
        .made = vw_made_of(
          &sound->family, sound->files[k].part, sound->options.burst_shots),
        .sound = sound->wish->name,
        .staged = work->there[k].staged};
    }
  }
  free(order);
  return order && made->files ? VW_OK : VW_NO_MEMORY;
}

/// Write the lists of the files made, and of those of before that are there:
/// all while it is unfinished, then those that were not made again.
static VwStatus
write_list(const VwPack* pack, const VwPackList* made, bool unfinished) {
  const VwPackStore* const store = pack->store;
  VwPackList               list = *made;
  list.unfinished = unfinished;
  for (size_t i = 0; i < store->list.n_files; ++i) {
    const VwPackListed* const file = &store->list.files[i];
    char* const               path = vw_path_join(store->folder, file->name);
    struct stat               status;
    if (path && !lstat(path, &status) &&
        (unfinished || !vw_pack_list_names(made, file->name))) {
      list.files[list.n_files] = *file;
      list.files[list.n_files++].left = !is_made(pack, file->name);
    }
    free(path);
  }
  return vw_pack_list_write(store->folder, &list);
}

/// Give a file its name.
static VwStatus
place(const VwPack* pack, const VwPackListed* file) {
  const VwPackStore* const store = pack->store;
  char* const              staged = vw_pack_staged_path(store, file->name);
  char* const              path = vw_path_join(store->folder, file->name);
  char* const              waiting = vw_pack_staged_path(store, "");
  VwStatus st = staged && path && waiting ? VW_OK : VW_NO_MEMORY;
  if (!st && pack->options.board->order == VW_ORDER_WRITTEN) {
    // Where files wait nothing is half under its final name.
    st = vw_file_copy(file->staged ? staged : path, waiting);
    if (!st && rename(waiting, path)) {
      st = vw_file_status(errno);
    }
  } else if (!st && file->staged && rename(staged, path)) {
    st = vw_file_status(errno);
  }
  free(staged);
  free(path);
  free(waiting);
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

/* End */

/// Count the files that are there as they are made, and those that are not. On
/// a board that plays in written order all are `written` again where one is.
static void
count_files(VwPack* pack, bool written) {
  VwPackSums* const sums = &pack->sums;
  sums->n_same = 0;
  sums->n_other = 0;
  for (size_t i = 0; i < pack->n_sounds; ++i) {
    const VwPackSound* const sound = &pack->sounds[i];
    for (size_t k = 0; pack->store->works[i].made && k < sound->n_files; ++k) {
      VwPackFile* const file = &sound->files[k];
      if (written && file->fate == VW_PACK_FILE_SAME) {
        file->fate = VW_PACK_FILE_REPLACED;
      }
      sums->n_same += file->fate == VW_PACK_FILE_SAME ? 1U : 0U;
      sums->n_other += file->fate == VW_PACK_FILE_SAME ? 0U : 1U;
    }
  }
}

/// Change what is there into what was made.
static VwStatus
change(VwPack* pack, const VwPackList* made) {
  const VwPackStore* const store = pack->store;
  VwStatus                 st = VW_OK;
  // Of a run that was stopped the last whole version is kept already.
  if (store->list.n_files && !store->list.unfinished) {
    st = keep_before(store);
  }
  // The list first: whichever file is there is then known.
  st = st ? st : write_list(pack, made, true);
  for (size_t i = 0; !st && i < made->n_files; ++i) {
    st = place(pack, &made->files[i]);
  }
  if (!st && has_to_remove(pack)) {
    remove_old(pack);
  }
  if (!st) {
    sync_folder(store->folder);
  }
  return st;
}

void
vw_pack_leave(VwPack* pack) {
  assert(pack);
  vw_pack_lock_drop(pack->store);
}

VwStatus
vw_pack_end(VwPack* pack) {
  assert(pack);
  VwPackList made = {0};
  const bool whole = is_whole(pack);
  count_files(pack, false);
  const bool changes =
    !whole || pack->unfinished || pack->sums.n_other || has_to_remove(pack);
  count_files(pack, changes && pack->options.board->order == VW_ORDER_WRITTEN);
  if (!pack->store->lock) {
    return changes ? pack->store->barred : VW_OK;
  }
  VwStatus st = list_made(pack, &made);
  if (!st && changes) {
    st = change(pack, &made);
  }
  if (!st && whole) {
    st = write_list(pack, &made, false);
  }
  free(made.files);
  vw_pack_lock_drop(pack->store);
  return st;
}
