#include "pack/pack_old.h"

#include "pack/pack.h"
#include "store/store.h"

#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

VwStatus
vw_pack_digest_file(const char* path, uint64_t* digest) {
  struct stat status;
  if (lstat(path, &status)) {
    return errno == ENOENT ? VW_MISSING : VW_UNREADABLE;
  }
  if (!S_ISREG(status.st_mode)) {
    return VW_NOT_REGULAR;
  }
  return vw_file_digest(path, digest);
}

static int
compare_names(const void* a, const void* b) {
  return strcmp(*(const char* const*)a, *(const char* const*)b);
}

/// All names that the sounds may make, sorted. NULL without memory.
static const char**
all_names(const VwPack* pack, size_t* n_names) {
  const VwPackStore* const store = pack->store;
  size_t                   n = 0;
  for (size_t i = 0; i < pack->n_sounds; ++i) {
    n += store->works[i].n_names;
  }
  const char** const names = calloc(n + 1U, sizeof(const char*));
  size_t             at = 0;
  for (size_t i = 0; names && i < pack->n_sounds; ++i) {
    for (size_t k = 0; k < store->works[i].n_names; ++k) {
      names[at++] = store->works[i].names[k].name;
    }
  }
  if (names) {
    qsort(names, n, sizeof(const char*), compare_names);
  }
  *n_names = n;
  return names;
}

/// Note a file that no sound makes, where it is still there.
static VwStatus
note(VwPack* pack, const char* name) {
  const VwPackStore* const store = pack->store;
  VwPackOld* const         old = &pack->old[pack->n_old];
  uint64_t                 digest = 0;
  char* const              path = vw_path_join(store->folders.pack, name);
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
  size_t                  n_names = 0;
  const char** const      names = all_names(pack, &n_names);
  pack->old = calloc(list->n_files + 1U, sizeof(VwPackOld));
  VwStatus st = names && pack->old ? VW_OK : VW_NO_MEMORY;
  for (size_t i = 0; !st && i < list->n_files; ++i) {
    const char* const name = list->files[i].name;
    const bool        again = i && !strcmp(list->files[i - 1U].name, name);
    const bool        made =
      bsearch(&name, names, n_names, sizeof(const char*), compare_names);
    st = again || made ? VW_OK : note(pack, name);
  }
  free(names);
  return st;
}

void
vw_pack_old_remove(VwPack* pack) {
  for (size_t i = 0; i < pack->n_old; ++i) {
    VwPackOld* const old = &pack->old[i];
    char* const      path = vw_path_join(pack->store->folders.pack, old->name);
    uint64_t         digest = 0;
    // Somebody may have changed it while the pack was made.
    old->changed = path && !vw_pack_digest_file(path, &digest) &&
                   !vw_pack_list_holds(&pack->store->list, old->name, digest);
    old->removed = path && !old->changed && !unlink(path);
    free(path);
  }
}
