#include "base/status.h"
#include "pack/internal.h"
#include "store/store.h"

#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

// "pack prop DIGEST NAME", and "pack name NAME<tab>SOUND".
#define PROP_WORDS "pack prop "
#define NAME_WORDS "pack name "

/* Read */

/// Whether a name lies in the pack's folder, or in that of one of its groups.
static bool
is_inside(const char* name) {
  const char* const last = vw_path_name(name);
  const size_t      n_group = (size_t)(last - name);
  return *last && strcmp(last, ".") && strcmp(last, "..") && n_group != 1U &&
         (!n_group || (!memchr(name, '/', n_group - 1U) &&
                       strncmp(name, "./", 2) && strncmp(name, "../", 3)));
}

static VwStatus
read_line(const char* line, VwPackList* list) {
  VwPackListed file = {0};
  const size_t n_board = strlen(VW_LEDGER_BOARD);
  const char*  name = vw_ledger_packed(line, VW_LEDGER_OF_PACK, &file.digest);
  file.left = !name;
  name = name ? name : vw_ledger_packed(line, VW_LEDGER_LEFT, &file.digest);
  if (!name) {
    const char* const prop = vw_ledger_packed(line, PROP_WORDS, &file.digest);
    list->prop = prop ? prop : list->prop;
    list->prop_at = prop ? file.digest : list->prop_at;
    if (!list->board && !strncmp(line, VW_LEDGER_BOARD, n_board)) {
      list->board = line + n_board;
    }
    return VW_OK;
  }
  // Older lists have another digest in front.
  const char* behind = name;
  uint64_t    digest = 0;
  if (vw_digest_read(&behind, &digest) && *behind == ' ') {
    file.digest = digest;
    name = behind + 1;
  }
  if (!is_inside(name)) {
    return VW_OK;
  }
  file.name = strdup(name);
  list->files[list->n_files++] = file;
  return file.name ? VW_OK : VW_NO_MEMORY;
}

static int
compare_files(const void* a, const void* b) {
  return strcmp(((const VwPackListed*)a)->name, ((const VwPackListed*)b)->name);
}

/// Read the lines of a list of this version; of another it stays empty.
static VwStatus
read_lines(char* text, VwPackList* list) {
  const size_t      n_most = strlen(text) / VW_DIGEST_DIGITS + 1U;
  const char* const first = vw_ledger_next(&text);
  if (!first || (strcmp(first, VW_LEDGER_FINISHED) &&
                 strcmp(first, VW_LEDGER_UNFINISHED))) {
    return VW_OK;
  }
  list->unfinished = !strcmp(first, VW_LEDGER_UNFINISHED);
  list->files = calloc(n_most, sizeof(VwPackListed));
  VwStatus st = list->files ? VW_OK : VW_NO_MEMORY;
  for (const char* line = NULL; !st && (line = vw_ledger_next(&text));) {
    st = read_line(line, list);
  }
  if (!st) {
    qsort(list->files, list->n_files, sizeof(VwPackListed), compare_files);
  }
  return st;
}

/// Whether the folder of a file's group is one, and no link to one elsewhere:
/// no step follows those.
static VwStatus
is_in_pack(const char* folder, const char* name, bool* is) {
  struct stat  status;
  const size_t n_group = (size_t)(vw_path_name(name) - name);
  *is = true;
  if (!n_group) {
    return VW_OK;
  }
  char* const group = strndup(name, n_group - 1U);
  char* const path = group ? vw_path_join(folder, group) : NULL;
  *is = path && !lstat(path, &status) && !S_ISLNK(status.st_mode);
  free(group);
  const bool good = path != NULL;
  free(path);
  return good ? VW_OK : VW_NO_MEMORY;
}

/// Drop the files that lie elsewhere: they are not known.
static VwStatus
drop_outside(const char* folder, VwPackList* list) {
  VwStatus st = VW_OK;
  size_t   n = 0;
  for (size_t i = 0; i < list->n_files; ++i) {
    VwPackListed* const file = &list->files[i];
    bool                is = true;
    st = st ? st : is_in_pack(folder, file->name, &is);
    if (is) {
      list->files[n++] = *file;
    } else {
      free(file->name);
    }
  }
  list->n_files = n;
  return st;
}

VwStatus
vw_pack_list_read(const char* folder, VwPackList* list) {
  VwPackList  out = {0};
  char*       text = NULL;
  char* const path = vw_path_join(folder, VW_LEDGER_NAME);
  VwStatus    st = path ? vw_ledger_read(path, &text) : VW_NO_MEMORY;
  // Without a list nothing is known.
  if (text) {
    out.digest = vw_digest(text, strlen(text));
    out.text = text;
    st = read_lines(text, &out);
    st = st ? st : drop_outside(folder, &out);
  }
  free(path);
  if (st) {
    vw_pack_list_clear(&out);
    return st;
  }
  *list = out;
  return VW_OK;
}

void
vw_pack_list_clear(VwPackList* list) {
  if (list) {
    for (size_t i = 0; i < list->n_files; ++i) {
      free(list->files[i].name);
    }
    free(list->files);
    free(list->text);
    *list = (VwPackList){0};
  }
}

/* Look up */

bool
vw_pack_list_names(const VwPackList* list, const char* name) {
  for (size_t i = 0; i < list->n_files; ++i) {
    if (!list->files[i].left && !strcmp(list->files[i].name, name)) {
      return true;
    }
  }
  return false;
}

bool
vw_pack_list_holds(const VwPackList* list, const char* name, uint64_t digest) {
  for (size_t i = 0; i < list->n_files; ++i) {
    if (list->files[i].digest == digest && !strcmp(list->files[i].name, name)) {
      return true;
    }
  }
  return false;
}

/* Write */

/// One folder of a pack, and the files in it.
typedef struct {
  const char*                folder; ///< The pack's.
  const VwPackList*          list;
  const VwPackListed* const* files; ///< All of the pack, sorted by name.
  const char*                group; ///< With a slash at its end; empty: the
                                    ///< pack's own folder.
  size_t n_group;                   ///< Characters of that.
} Folder;

static int
compare_names(const void* a, const void* b) {
  return compare_files(*(const VwPackListed* const*)a,
                       *(const VwPackListed* const*)b);
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

/// The path of a name in a folder, from the pack's on. To be freed; NULL
/// without memory.
static char*
path_in(const Folder* folder, const char* name) {
  char* const group = strndup(folder->group, folder->n_group);
  char* const path = group ? vw_path_sibling(group, name, "") : NULL;
  free(group);
  return path;
}

/// Whether a line of a folder's list names a file of the pack.
static bool
is_listed(const Folder* folder, const char* name) {
  char* const               full = path_in(folder, name);
  const VwPackListed        wanted = {.name = full};
  const VwPackListed* const key = &wanted;
  const bool                is = full && folder->list->n_files &&
                  bsearch(&key,
                          folder->files,
                          folder->list->n_files,
                          sizeof(VwPackListed*),
                          compare_names);
  free(full);
  return is;
}

/// Copy the lines of a list that are not the pack's.
static void
copy_others(FILE* out, const Folder* folder, char* text) {
  for (const char* line = NULL; (line = vw_ledger_next(&text));) {
    uint64_t          digest = 0;
    const char* const file = vw_ledger_file(line, &digest);
    const char* const name = file ? file : vw_ledger_part(line);
    if (*line && strncmp(line, "pack ", 5) &&
        !(name && is_listed(folder, name))) {
      fprintf(out, "%s\n", line);
    }
  }
}

static void
print_pack(FILE* out, const VwPackList* list) {
  fprintf(
    out, "%s\n", list->unfinished ? VW_LEDGER_UNFINISHED : VW_LEDGER_FINISHED);
  if (list->prop && !strchr(list->prop, '\n')) {
    fprintf(out, PROP_WORDS "%016" PRIx64 " %s\n", list->prop_at, list->prop);
  }
  if (list->board) {
    fprintf(out, VW_LEDGER_BOARD "%s\n", list->board);
  }
  for (size_t i = 0; i < list->n_files; ++i) {
    const VwPackListed* const file = &list->files[i];
    fprintf(out,
            "%s%016" PRIx64 " %s\n",
            file->left ? VW_LEDGER_LEFT : VW_LEDGER_OF_PACK,
            file->digest,
            file->name);
    // A line like that of another name would be none.
    if (file->sound && !strpbrk(file->name, "\t\n") &&
        !strpbrk(file->sound, "\t\n")) {
      fprintf(out, NAME_WORDS "%s\t%s\n", file->name, file->sound);
    }
  }
}

/// Print the list of a folder; `before` is what it was, or NULL, and is cut up.
static void
print_list(FILE* out, const Folder* folder, char* before) {
  if (!folder->n_group) {
    print_pack(out, folder->list);
  }
  copy_others(out, folder, before);
  for (size_t i = 0; i < folder->list->n_files; ++i) {
    const VwPackListed* const file = &folder->list->files[i];
    if (is_in(folder, file->name)) {
      vw_ledger_print(out,
                      &(VwLedgerEntry){.path = file->name,
                                       .digest = file->digest,
                                       .made = file->made});
    }
  }
}

/// Write a list where it says anything else than before.
static VwStatus
replace(const Folder* folder, const char* path) {
  char*          text = NULL;
  char*          before = NULL;
  size_t         n_bytes = 0;
  FILE* const    out = open_memstream(&text, &n_bytes);
  VwStatus       st = out ? vw_ledger_read(path, &before) : VW_NO_MEMORY;
  const uint64_t digest = before ? vw_digest(before, strlen(before)) : 0U;
  if (out) {
    print_list(out, folder, before);
    st = fclose(out) ? VW_NO_MEMORY : st;
  }
  if (!st && (!before || vw_digest(text, n_bytes) != digest)) {
    st = vw_file_write(path, &(VwBytes){(unsigned char*)text, n_bytes});
  }
  free(before);
  free(text);
  return st;
}

static VwStatus
write_list(const Folder* folder) {
  char* const name = path_in(folder, VW_LEDGER_NAME);
  char* const path = name ? vw_path_join(folder->folder, name) : NULL;
  char* const own = path ? vw_path_sibling(path, ".", "") : NULL;
  VwStatus    st = own ? VW_OK : VW_NO_MEMORY;
  if (!st) {
    const int lock = vw_folder_lock(own);
    st = replace(folder, path);
    vw_folder_unlock(lock);
  }
  free(own);
  free(path);
  free(name);
  return st;
}

VwStatus
vw_pack_list_write(const char* folder, const VwPackList* list) {
  const VwPackListed** const files =
    calloc(list->n_files + 1U, sizeof(const VwPackListed*));
  if (!files) {
    return VW_NO_MEMORY;
  }
  for (size_t i = 0; i < list->n_files; ++i) {
    files[i] = &list->files[i];
  }
  qsort(files, list->n_files, sizeof(const VwPackListed*), compare_names);
  Folder   at = {folder, list, files, "", 0U};
  VwStatus st = VW_OK;
  // Those of the groups first: the pack's own says whether all is finished.
  for (size_t i = 0; !st && i < list->n_files; ++i) {
    const char* const name = files[i]->name;
    if (group_length(name) && !is_in(&at, name)) {
      at.group = name;
      at.n_group = group_length(name);
      st = write_list(&at);
    }
  }
  at.group = "";
  at.n_group = 0U;
  st = st ? st : write_list(&at);
  free(files);
  return st;
}

char*
vw_pack_sound_in(const char* folder, const char* file) {
  const size_t n_file = strlen(file);
  char*        text = NULL;
  char*        found = NULL;
  char* const  path = vw_path_join(folder, VW_LEDGER_NAME);
  if (path) {
    (void)vw_ledger_read(path, &text);
  }
  char* rest = text;
  for (char* line = NULL; !found && (line = vw_ledger_next(&rest));) {
    const char* const at = line + strlen(NAME_WORDS);
    if (!strncmp(line, NAME_WORDS, strlen(NAME_WORDS)) &&
        !strncmp(at, file, n_file) && at[n_file] == '\t') {
      found = strdup(at + n_file + 1U);
    }
  }
  free(text);
  free(path);
  return found;
}
