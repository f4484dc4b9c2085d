#include "card/record.h"

#include "base/text.h"
#include "card/card.h"
#include "store/file.h"
#include "store/ledger.h"
#include "store/path.h"

#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

// "DIGEST  " before a name.
#define DIGITS 16U
#define NAME_AT (DIGITS + 2U)

VwStatus
vw_record_add(VwRecord* record, const char* path, uint64_t digest) {
  VwDelivered* const grown =
    realloc(record->lines, (record->n_lines + 1U) * sizeof(VwDelivered));
  if (!grown) {
    return VW_NO_MEMORY;
  }
  record->lines = grown;
  char* const copy = strdup(path);
  if (!copy) {
    return VW_NO_MEMORY;
  }
  grown[record->n_lines++] = (VwDelivered){.path = copy, .digest = digest};
  return VW_OK;
}

/// The digest that a line starts with; false where it is no line of a file.
static bool
read_digest(const char* line, uint64_t* digest) {
  char digits[DIGITS + 1U] = "";
  if (strlen(line) <= NAME_AT || strspn(line, "0123456789abcdef") != DIGITS ||
      memcmp(line + DIGITS, "  ", 2) != 0) {
    return false;
  }
  memcpy(digits, line, DIGITS);
  *digest = strtoull(digits, NULL, 16);
  return true;
}

static VwStatus
add_line(VwRecord* record, const char* line, const char* folder) {
  uint64_t digest = 0;
  if (!strcmp(line, VW_LEDGER_UNFINISHED)) {
    record->unfinished = true;
  }
  if (!read_digest(line, &digest)) {
    return VW_OK;
  }
  char* const    path = vw_path_join(folder, line + NAME_AT);
  const VwStatus st = path ? vw_record_add(record, path, digest) : VW_NO_MEMORY;
  free(path);
  return st;
}

VwStatus
vw_record_read(VwRecord* record, const char* list, const char* folder) {
  VwBytes  bytes = {0};
  VwStatus st = vw_file_read(list, &bytes);
  if (st) {
    return st == VW_NO_MEMORY ? st : VW_OK;
  }
  // The reader leaves a byte behind the last.
  bytes.data[bytes.n_bytes] = '\0';
  char* rest = NULL;
  char* line = strtok_r((char*)bytes.data, "\n", &rest);
  while (!st && line) {
    st = add_line(record, line, folder);
    line = strtok_r(NULL, "\n", &rest);
  }
  vw_bytes_clear(&bytes);
  return st;
}

static int
compare(const void* a, const void* b) {
  const VwDelivered* const left = a;
  const VwDelivered* const right = b;
  const int order = vw_compare_without_case(left->path, right->path);
  if (order) {
    return order;
  }
  return left->digest < right->digest ? -1 : left->digest > right->digest;
}

void
vw_record_sort(VwRecord* record) {
  size_t n = 0;
  if (record->n_lines) {
    qsort(record->lines, record->n_lines, sizeof(VwDelivered), compare);
  }
  for (size_t i = 0; i < record->n_lines; ++i) {
    if (n && !compare(&record->lines[n - 1U], &record->lines[i])) {
      free(record->lines[i].path);
    } else {
      record->lines[n++] = record->lines[i];
    }
  }
  record->n_lines = n;
}

static int
compare_path(const void* path, const void* line) {
  return vw_compare_without_case(path, ((const VwDelivered*)line)->path);
}

static int
compare_both(const void* wanted, const void* line) {
  return compare(wanted, line);
}

bool
vw_record_names(const VwRecord* record, const char* path) {
  return record->n_lines && bsearch(path,
                                    record->lines,
                                    record->n_lines,
                                    sizeof(VwDelivered),
                                    compare_path);
}

bool
vw_record_holds(const VwRecord* record, const char* path, uint64_t digest) {
  // The path is compared, not changed; it is no const only where it is owned.
  char* const       same = strdup(path);
  const VwDelivered wanted = {.path = same, .digest = digest};
  const bool        holds = same && record->n_lines &&
                     bsearch(&wanted,
                             record->lines,
                             record->n_lines,
                             sizeof(VwDelivered),
                             compare_both);
  free(same);
  return holds;
}

VwStatus
vw_record_text(const VwRecord* record, VwBytes* text) {
  size_t n = 1;
  for (size_t i = 0; i < record->n_lines; ++i) {
    n += NAME_AT + strlen(record->lines[i].path) + 1U;
  }
  char* const out = malloc(n);
  size_t      at = 0;
  if (!out) {
    return VW_NO_MEMORY;
  }
  for (size_t i = 0; i < record->n_lines; ++i) {
    // A name of two lines cannot be listed.
    if (!strchr(record->lines[i].path, '\n')) {
      at += (size_t)snprintf(out + at,
                             n - at,
                             "%016" PRIx64 "  %s\n",
                             record->lines[i].digest,
                             record->lines[i].path);
    }
  }
  *text = (VwBytes){(unsigned char*)out, at};
  return VW_OK;
}

void
vw_record_clear(VwRecord* record) {
  if (record) {
    for (size_t i = 0; i < record->n_lines; ++i) {
      free(record->lines[i].path);
    }
    free(record->lines);
    *record = (VwRecord){0};
  }
}
