#include "pack/pack_list.h"

#include "store/store.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define FILE_WORDS "pack file "

/* Read */

/// Read a digest and the blank behind it; moves `text` there.
static bool
read_digest(const char** text, uint64_t* digest) {
  return vw_digest_read(text, digest) && *(*text)++ == ' ';
}

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
  const size_t n_words = strlen(FILE_WORDS);
  const char*  text = line + n_words;
  VwPackListed file = {0};
  if (strncmp(line, FILE_WORDS, n_words) || !read_digest(&text, &file.digest) ||
      !is_inside(text)) {
    return VW_OK;
  }
  file.name = strdup(text);
  list->files[list->n_files++] = file;
  return file.name ? VW_OK : VW_NO_MEMORY;
}

static int
compare_files(const void* a, const void* b) {
  return strcmp(((const VwPackListed*)a)->name, ((const VwPackListed*)b)->name);
}

static size_t
count_lines(const char* text) {
  size_t n = 1;
  for (; (text = strchr(text, '\n')); ++text) {
    ++n;
  }
  return n;
}

/// Read the lines of a list of this version; of another it stays empty.
static VwStatus
read_lines(char* text, VwPackList* list) {
  char*             rest = text;
  const size_t      n_lines = count_lines(rest);
  const char* const first = vw_ledger_next(&rest);
  if (!first || (strcmp(first, VW_LEDGER_FINISHED) &&
                 strcmp(first, VW_LEDGER_UNFINISHED))) {
    return VW_OK;
  }
  list->there = true;
  list->unfinished = !strcmp(first, VW_LEDGER_UNFINISHED);
  list->files = calloc(n_lines, sizeof(VwPackListed));
  VwStatus st = list->files ? VW_OK : VW_NO_MEMORY;
  for (const char* line = vw_ledger_next(&rest); !st && line;
       line = vw_ledger_next(&rest)) {
    st = read_line(line, list);
  }
  if (!st) {
    qsort(list->files, list->n_files, sizeof(VwPackListed), compare_files);
  }
  return st;
}

VwStatus
vw_pack_list_read(const char* folder, VwPackList* list) {
  VwPackList  out = {0};
  VwBytes     bytes = {0};
  char* const path = vw_path_join(folder, VW_LEDGER_NAME);
  VwStatus    st = path ? vw_file_read(path, &bytes) : VW_NO_MEMORY;
  free(path);
  if (st && st != VW_NO_MEMORY) {
    *list = out; // without a list nothing is known
    return VW_OK;
  }
  if (!st) {
    out.digest = vw_digest(bytes.data, bytes.n_bytes);
    st = read_lines((char*)bytes.data, &out);
  }
  vw_bytes_clear(&bytes);
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
    *list = (VwPackList){0};
  }
}

/* Look up */

/// The first of the files of that name or after it.
static size_t
find(const VwPackList* list, const char* name) {
  size_t from = 0;
  size_t to = list->n_files;
  while (from < to) {
    const size_t middle = from + (to - from) / 2U;
    if (strcmp(list->files[middle].name, name) < 0) {
      from = middle + 1U;
    } else {
      to = middle;
    }
  }
  return from;
}

bool
vw_pack_list_holds(const VwPackList* list, const char* name, uint64_t digest) {
  for (size_t i = find(list, name);
       i < list->n_files && !strcmp(list->files[i].name, name);
       ++i) {
    if (list->files[i].digest == digest) {
      return true;
    }
  }
  return false;
}
