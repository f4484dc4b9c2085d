#include "pack/pack_before.h"

#include "pack/pack.h"
#include "pack/pack_old.h"
#include "store/store.h"

#include <stdlib.h>
#include <string.h>
#include <unistd.h>

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
keep(const VwPackFolders* folders, const char* name) {
  char* const from = vw_path_join(folders->pack, name);
  char* const to = vw_path_join(folders->before, name);
  VwStatus st = from && to ? vw_pack_folders_make_group(folders->before, name)
                           : VW_NO_MEMORY;
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
keep_list(const VwPackFolders* folders) {
  char* const from = vw_path_join(folders->pack, VW_LEDGER_NAME);
  char* const to = vw_path_join(folders->before, VW_LEDGER_NAME);
  VwStatus    st = from && to ? vw_file_copy(from, to) : VW_NO_MEMORY;
  free(from);
  free(to);
  return st;
}

VwStatus
vw_pack_before_keep(const VwPackStore* store) {
  const VwPackFolders* const folders = &store->folders;
  const VwPackList* const    list = &store->list;
  VwStatus                   st = vw_pack_folders_make(folders->before);
  st = st ? st : remove_kept(folders->before);
  // The list first: a file that is there is then on it.
  st = st ? st : keep_list(folders);
  for (size_t i = 0; !st && i < list->n_files; ++i) {
    if (!i || strcmp(list->files[i - 1U].name, list->files[i].name)) {
      st = keep(folders, list->files[i].name);
    }
  }
  return st;
}
