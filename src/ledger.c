#include "ledger.h"

#include "file.h"
#include "path.h"

#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

// "DIGEST  " before a name.
#define DIGITS 16U
#define NAME_AT (DIGITS + 2U)

/// A line of the list, without its end.
typedef struct {
  const char* text;
  size_t      length;
} Line;

/// The line from `at` on; moves `at` behind it.
static Line
next_line(const VwBytes* list, size_t* at) {
  const char* const text = (const char*)list->data + *at;
  const size_t      left = list->n_bytes - *at;
  const char* const end = memchr(text, '\n', left);
  const Line        line = {text, end ? (size_t)(end - text) : left};
  *at += line.length + (end ? 1U : 0U);
  return line;
}

static bool
line_names(const Line* line, const char* name) {
  return line->length == NAME_AT + strlen(name) &&
         !memcmp(line->text + NAME_AT, name, line->length - NAME_AT);
}

/// Whether a line from `at` on names a file, and starts with `digits`.
static bool
list_has(const VwBytes* list, size_t at, const char* name, const char* digits) {
  while (at < list->n_bytes) {
    const Line line = next_line(list, &at);
    if (line_names(&line, name) && !memcmp(line.text, digits, strlen(digits))) {
      return true;
    }
  }
  return false;
}

// A list that cannot be read is as good as none: nothing is then ours.
static VwStatus
read_list(const char* path, VwBytes* list) {
  *list = (VwBytes){0};
  char* const list_path = vw_path_sibling(path, "", VW_LEDGER_NAME, "");
  if (!list_path) {
    return VW_NO_MEMORY;
  }
  const VwStatus st = vw_file_read(list_path, list);
  free(list_path);
  return st == VW_NO_MEMORY ? st : VW_OK;
}

static bool
is_listed(const char* path, const char* digits) {
  VwBytes    list;
  const bool is =
    !read_list(path, &list) && list_has(&list, 0, vw_path_name(path), digits);
  vw_bytes_clear(&list);
  return is;
}

bool
vw_ledger_names(const char* path) {
  return is_listed(path, "");
}

bool
vw_ledger_holds(const char* path, uint64_t digest) {
  char digits[DIGITS + 1U];
  snprintf(digits, sizeof(digits), "%016" PRIx64, digest);
  return is_listed(path, digits);
}

/// Entries whose names fit on a line.
static bool
fits_line(const VwLedgerEntry* entry) {
  return !strchr(vw_path_name(entry->path), '\n');
}

static size_t
room_for(const VwBytes*       before,
         const VwLedgerEntry* entries,
         size_t               n_entries) {
  size_t room = before->n_bytes + 2U;
  for (size_t i = 0; i < n_entries; ++i) {
    room += NAME_AT + strlen(vw_path_name(entries[i].path)) + 1U;
  }
  return room;
}

/// Whether a line may go: one that names an entry and is not the last to.
static bool
is_outdated(const Line*          line,
            const VwBytes*       rest,
            const VwLedgerEntry* entries,
            size_t               n_entries) {
  for (size_t i = 0; i < n_entries; ++i) {
    const char* const name = vw_path_name(entries[i].path);
    if (line_names(line, name)) {
      return list_has(rest, 0, name, "");
    }
  }
  return false;
}

/// Copy the lines that stay; returns the bytes written.
static size_t
copy_lines(const VwBytes*       before,
           const VwLedgerEntry* entries,
           size_t               n_entries,
           char*                text) {
  size_t n = 0;
  for (size_t at = 0; at < before->n_bytes;) {
    const Line    line = next_line(before, &at);
    const VwBytes rest = {before->data + at, before->n_bytes - at};
    if (line.length && !is_outdated(&line, &rest, entries, n_entries)) {
      memcpy(text + n, line.text, line.length);
      n += line.length;
      text[n++] = '\n';
    }
  }
  return n;
}

static VwStatus
list_with(const VwBytes*       before,
          const VwLedgerEntry* entries,
          size_t               n_entries,
          VwBytes*             list) {
  const size_t room = room_for(before, entries, n_entries);
  char* const  text = malloc(room);
  if (!text) {
    return VW_NO_MEMORY;
  }
  size_t n = copy_lines(before, entries, n_entries, text);
  for (size_t i = 0; i < n_entries; ++i) {
    if (fits_line(&entries[i])) {
      n += (size_t)snprintf(text + n,
                            room - n,
                            "%016" PRIx64 "  %s\n",
                            entries[i].digest,
                            vw_path_name(entries[i].path));
    }
  }
  *list = (VwBytes){(unsigned char*)text, n};
  return VW_OK;
}

VwStatus
vw_ledger_with(const VwLedgerEntry* entries, size_t n_entries, VwBytes* list) {
  VwBytes  before;
  VwStatus st = read_list(entries->path, &before);
  st = st ? st : list_with(&before, entries, n_entries, list);
  vw_bytes_clear(&before);
  return st;
}
