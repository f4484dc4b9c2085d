// Writing the lists of a pack's folders.

#include "pack/pack_list.h"
#include "store/store.h"

#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/// One folder of a pack, and the files in it.
typedef struct {
  const VwPackListWish*      wish;
  const VwPackListed* const* files; ///< All of the pack, sorted by name.
  const char*                group; ///< With a slash at its end; empty: the
                                    ///< pack's own folder.
  size_t n_group;                   ///< Characters of that.
} Folder;

static int
compare_names(const void* a, const void* b) {
  const VwPackListed* const x = *(const VwPackListed* const*)a;
  const VwPackListed* const y = *(const VwPackListed* const*)b;
  return strcmp(x->name, y->name);
}

static size_t
group_length(const char* name) {
  return (size_t)(vw_path_name(name) - name);
}

static bool
is_in(const Folder* folder, const char* name) {
  return group_length(name) == folder->n_group &&
         !strncmp(name, folder->group, folder->n_group);
}

/// Whether a line of a folder's list names a file of the pack.
static bool
is_listed(const Folder* folder, const char* name) {
  char* const full = malloc(folder->n_group + strlen(name) + 1U);
  if (!full) {
    return false;
  }
  memcpy(full, folder->group, folder->n_group);
  strcpy(full + folder->n_group, name);
  const VwPackListed        wanted = {.name = full};
  const VwPackListed* const key = &wanted;
  const bool                is = folder->wish->n_files && bsearch(&key,
                                                   folder->files,
                                                   folder->wish->n_files,
                                                   sizeof(VwPackListed*),
                                                   compare_names);
  free(full);
  return is;
}

/// Copy the lines of a list that are not the pack's.
static void
copy_others(FILE* out, const Folder* folder, char* text) {
  for (char* line = NULL; (line = vw_ledger_next(&text));) {
    uint64_t          digest = 0;
    const char* const file = vw_ledger_file(line, &digest);
    const char* const name = file ? file : vw_ledger_loop(line);
    if (*line && strncmp(line, "pack ", 5) &&
        !(name && is_listed(folder, name))) {
      fprintf(out, "%s\n", line);
    }
  }
}

static void
print_pack(FILE* out, const VwPackListWish* wish) {
  fprintf(
    out, "%s\n", wish->unfinished ? VW_LEDGER_UNFINISHED : VW_LEDGER_FINISHED);
  for (size_t i = 0; i < wish->n_files; ++i) {
    const VwPackListed* const file = &wish->files[i];
    fprintf(out, "pack file %016" PRIx64 " %s\n", file->digest, file->name);
    // A line like that of another name would be none.
    if (file->sound && !strpbrk(file->name, "\t\n") &&
        !strpbrk(file->sound, "\t\n")) {
      fprintf(out, "pack name %s\t%s\n", file->name, file->sound);
    }
  }
}

static VwStatus
print_list(const Folder* folder, const char* path, VwBytes* list, bool* same) {
  char*          text = NULL;
  size_t         n_bytes = 0;
  VwBytes        before = {0};
  const VwStatus st = vw_file_read(path, &before);
  FILE* const    out = open_memstream(&text, &n_bytes);
  if (st == VW_NO_MEMORY || !out) {
    vw_bytes_clear(&before);
    return VW_NO_MEMORY;
  }
  const uint64_t digest = st ? 0U : vw_digest(before.data, before.n_bytes);
  if (!folder->n_group) {
    print_pack(out, folder->wish);
  }
  if (!st) {
    copy_others(out, folder, (char*)before.data);
  }
  for (size_t i = 0; i < folder->wish->n_files; ++i) {
    const VwPackListed* const file = &folder->wish->files[i];
    if (is_in(folder, file->name)) {
      const VwLedgerEntry entry = {file->name, file->digest, file->loop};
      vw_ledger_print(out, &entry);
    }
  }
  vw_bytes_clear(&before);
  if (fclose(out)) {
    free(text);
    return VW_NO_MEMORY;
  }
  *list = (VwBytes){(unsigned char*)text, n_bytes};
  *same = !st && vw_digest(text, n_bytes) == digest;
  return VW_OK;
}

static char*
list_path(const Folder* folder) {
  char* const group = strndup(folder->group, folder->n_group);
  char* const inside =
    group ? vw_path_sibling(group, VW_LEDGER_NAME, "") : NULL;
  char* const path = inside ? vw_path_join(folder->wish->folder, inside) : NULL;
  free(inside);
  free(group);
  return path;
}

static VwStatus
write_list(const Folder* folder) {
  VwBytes     list = {0};
  bool        same = false;
  char* const path = list_path(folder);
  VwStatus    st = path ? print_list(folder, path, &list, &same) : VW_NO_MEMORY;
  if (!st && !same) {
    st = vw_file_write(path, &list);
  }
  vw_bytes_clear(&list);
  free(path);
  return st;
}

VwStatus
vw_pack_list_write(const VwPackListWish* wish) {
  const VwPackListed** const files =
    calloc(wish->n_files + 1U, sizeof(const VwPackListed*));
  if (!files) {
    return VW_NO_MEMORY;
  }
  for (size_t i = 0; i < wish->n_files; ++i) {
    files[i] = &wish->files[i];
  }
  qsort(files, wish->n_files, sizeof(const VwPackListed*), compare_names);
  Folder   folder = {wish, files, "", 0U};
  VwStatus st = VW_OK;
  // Those of the groups first: the pack's own says whether all is finished.
  for (size_t i = 0; !st && i < wish->n_files; ++i) {
    const char* const name = files[i]->name;
    const size_t      n_group = group_length(name);
    if (n_group && !is_in(&folder, name)) {
      folder.group = name;
      folder.n_group = n_group;
      st = write_list(&folder);
    }
  }
  folder.group = "";
  folder.n_group = 0U;
  st = st ? st : write_list(&folder);
  free(files);
  return st;
}
