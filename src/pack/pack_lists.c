// Writing the lists of a pack's folders.

#include "pack/pack_list.h"
#include "store/digest.h"
#include "store/file.h"
#include "store/ledger.h"
#include "store/path.h"
#include "store/stage.h"

#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

// "DIGEST  " before a name, as vw_write() lists it.
#define NAME_AT 18U

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
  for (char* line = text; line && *line;) {
    char* const end = strchr(line, '\n');
    if (end) {
      *end = '\0';
    }
    const char* const loop = vw_ledger_loop_name(line);
    const bool others = strncmp(line, "pack ", 5) && strlen(line) > NAME_AT &&
                        !is_listed(folder, loop ? loop : line + NAME_AT);
    if (others) {
      fprintf(out, "%s\n", line);
    }
    line = end ? end + 1 : NULL;
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

static void
print_file(FILE* out, const VwPackListed* file) {
  const char* const name = vw_path_name(file->name);
  fprintf(out, "%016" PRIx64 "  %s\n", file->digest, name);
  if (file->loop.shots) {
    fprintf(out,
            VW_LEDGER_LOOP_FORMAT,
            file->digest,
            file->loop.shots,
            file->loop.gap_ms,
            name);
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
    before.data[before.n_bytes] = '\0'; // the reader leaves room for it
    copy_others(out, folder, (char*)before.data);
  }
  for (size_t i = 0; i < folder->wish->n_files; ++i) {
    const VwPackListed* const file = &folder->wish->files[i];
    if (is_in(folder, file->name)) {
      print_file(out, file);
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
    group ? vw_path_sibling(group, "", VW_LEDGER_NAME, "") : NULL;
  char* const path = inside ? vw_path_join(folder->wish->folder, inside) : NULL;
  free(inside);
  free(group);
  return path;
}

static VwStatus
write_list(const Folder* folder) {
  VwBytes     list = {0};
  VwStage     stage = {0};
  bool        same = false;
  char* const path = list_path(folder);
  VwStatus    st = path ? print_list(folder, path, &list, &same) : VW_NO_MEMORY;
  if (!st && !same) {
    st = vw_stage_write(&stage, path, &list);
    st = st ? st : vw_stage_rename(&stage);
    vw_stage_finish(&stage, !st);
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
