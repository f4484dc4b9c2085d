#include "pack/pack_list.h"

#include "store/digest.h"
#include "store/file.h"
#include "store/ledger.h"
#include "store/path.h"

#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

// Digits of a digest, and the blank behind it.
#define DIGITS 16U
#define DIGEST_WIDTH (DIGITS + 1U)

#define FILE_WORDS "pack file "
#define SOUND_WORDS "pack sound "

/* Read */

/// Cut a text into lines; the next one, or NULL.
static char*
next_line(char** text) {
  char* const line = *text;
  if (!line || !*line) {
    return NULL;
  }
  char* const end = strchr(line, '\n');
  *text = end ? end + 1 : NULL;
  if (end) {
    *end = '\0';
  }
  return line;
}

/// Read a digest and the blank behind it; moves `text` there.
static bool
read_digest(const char** text, uint64_t* digest) {
  uint64_t value = 0;
  for (size_t i = 0; i < DIGITS; ++i) {
    const char* const digits = "0123456789abcdef";
    const char        c = (*text)[i];
    const char* const digit = c ? strchr(digits, c) : NULL;
    if (!digit) {
      return false;
    }
    value = 16U * value + (uint64_t)(digit - digits);
  }
  if ((*text)[DIGITS] != ' ') {
    return false;
  }
  *text += DIGEST_WIDTH;
  *digest = value;
  return true;
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
read_file_line(const char* text, VwPackList* list) {
  VwPackListed file = {0};
  if (!read_digest(&text, &file.made) || !read_digest(&text, &file.digest) ||
      !is_inside(text)) {
    return VW_OK;
  }
  file.name = strdup(text);
  list->files[list->n_files++] = file;
  return file.name ? VW_OK : VW_NO_MEMORY;
}

static VwStatus
read_line(const char* line, VwPackList* list) {
  const size_t n_file = strlen(FILE_WORDS);
  const size_t n_sound = strlen(SOUND_WORDS);
  if (!strncmp(line, FILE_WORDS, n_file)) {
    return read_file_line(line + n_file, list);
  }
  if (!strncmp(line, SOUND_WORDS, n_sound)) {
    const char* text = line + n_sound;
    VwPackNoted sound = {0U, line};
    if (read_digest(&text, &sound.key)) {
      list->sounds[list->n_sounds++] = sound;
    }
  }
  return VW_OK;
}

static int
compare_files(const void* a, const void* b) {
  return strcmp(((const VwPackListed*)a)->name, ((const VwPackListed*)b)->name);
}

static int
compare_sounds(const void* a, const void* b) {
  const uint64_t x = ((const VwPackNoted*)a)->key;
  const uint64_t y = ((const VwPackNoted*)b)->key;
  return x < y ? -1 : x > y;
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
read_lines(VwPackList* list) {
  char*             rest = list->text;
  const size_t      n_lines = count_lines(rest);
  const char* const first = next_line(&rest);
  if (!first || (strcmp(first, VW_LEDGER_FINISHED) &&
                 strcmp(first, VW_LEDGER_UNFINISHED))) {
    return VW_OK;
  }
  list->there = true;
  list->unfinished = !strcmp(first, VW_LEDGER_UNFINISHED);
  list->files = calloc(n_lines, sizeof(VwPackListed));
  list->sounds = calloc(n_lines, sizeof(VwPackNoted));
  VwStatus st = list->files && list->sounds ? VW_OK : VW_NO_MEMORY;
  for (const char* line = next_line(&rest); !st && line;
       line = next_line(&rest)) {
    st = read_line(line, list);
  }
  if (!st) {
    qsort(list->files, list->n_files, sizeof(VwPackListed), compare_files);
    qsort(list->sounds, list->n_sounds, sizeof(VwPackNoted), compare_sounds);
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
    // The reader leaves room for one byte more.
    bytes.data[bytes.n_bytes] = '\0';
    out.text = (char*)bytes.data;
    out.digest = vw_digest(bytes.data, bytes.n_bytes);
    st = read_lines(&out);
  }
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
    free(list->sounds);
    free(list->text);
    *list = (VwPackList){0};
  }
}

/* Look up */

const VwPackListed*
vw_pack_list_find(const VwPackList* list, const char* name, size_t* n) {
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
  *n = 0;
  while (from + *n < list->n_files &&
         !strcmp(list->files[from + *n].name, name)) {
    ++*n;
  }
  return *n ? &list->files[from] : NULL;
}

bool
vw_pack_list_holds(const VwPackList* list, const char* name, uint64_t digest) {
  size_t                    n = 0;
  const VwPackListed* const files = vw_pack_list_find(list, name, &n);
  for (size_t i = 0; i < n; ++i) {
    if (files[i].digest == digest) {
      return true;
    }
  }
  return false;
}

const char*
vw_pack_list_figures(const VwPackList* list, uint64_t key) {
  if (!list->n_sounds) {
    return NULL;
  }
  const VwPackNoted        wanted = {key, NULL};
  const VwPackNoted* const found = bsearch(
    &wanted, list->sounds, list->n_sounds, sizeof(VwPackNoted), compare_sounds);
  return found ? found->line : NULL;
}
