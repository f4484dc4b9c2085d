#include "store/ledger.h"

#include "store/file.h"
#include "store/path.h"

#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

// "DIGEST  " before a name.
#define DIGITS 16U
#define NAME_AT (DIGITS + 2U)

// What a line on a loop takes beside its name, at most, and what it can say: as
// many shots and as long a gap as a family takes.
#define LOOP_ROOM 64U
#define SHOTS_MOST 64U
#define GAP_MOST_MS 1000.0

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

/// Where the name stands on a line on a loop, or NULL.
static const char*
loop_name_on(const Line* line) {
  const size_t      n_word = strlen(VW_LEDGER_LOOP);
  const char* const end = line->text + line->length;
  const char*       at = line->text;
  if (line->length < n_word || memcmp(at, VW_LEDGER_LOOP, n_word)) {
    return NULL;
  }
  at += n_word;
  for (int i = 0; at && i < 3; ++i) {
    at = memchr(at, ' ', (size_t)(end - at));
    at = at ? at + 1 : NULL;
  }
  return at;
}

const char*
vw_ledger_loop_name(const char* line) {
  const Line whole = {line, strlen(line)};
  return loop_name_on(&whole);
}

static bool
loop_names(const Line* line, const char* name) {
  const char* const named = loop_name_on(line);
  const size_t      n = strlen(name);
  return named && (size_t)(line->text + line->length - named) == n &&
         !memcmp(named, name, n);
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

/// Read the numbers of a line on a loop. False where they are none.
static bool
read_loop(const Line* line, uint64_t* digest, VwLoopKnown* known) {
  char              text[LOOP_ROOM + 1U] = {0};
  const char* const name = loop_name_on(line);
  const size_t      n = name ? (size_t)(name - line->text) : 0U;
  size_t            shots = 0;
  double            gap_ms = 0.0;
  if (!n || n > LOOP_ROOM) {
    return false;
  }
  memcpy(text, line->text, n);
  if (sscanf(text,
             VW_LEDGER_LOOP "%16" SCNx64 " %5zu %12lf",
             digest,
             &shots,
             &gap_ms) != 3) {
    return false;
  }
  *known = (VwLoopKnown){shots, gap_ms};
  return shots && shots <= SHOTS_MOST && gap_ms >= 0.0 && gap_ms <= GAP_MOST_MS;
}

bool
vw_ledger_knows(const char* path, uint64_t digest, VwLoopKnown* known) {
  VwBytes list;
  bool    knows = false;
  if (read_list(path, &list)) {
    return false;
  }
  for (size_t at = 0; !knows && at < list.n_bytes;) {
    const Line  line = next_line(&list, &at);
    uint64_t    sum = 0;
    VwLoopKnown read = {0};
    knows = loop_names(&line, vw_path_name(path)) &&
            read_loop(&line, &sum, &read) && sum == digest;
    *known = knows ? read : *known;
  }
  vw_bytes_clear(&list);
  return knows;
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
    const size_t n_name = strlen(vw_path_name(entries[i].path));
    room += NAME_AT + n_name + 1U + LOOP_ROOM + n_name;
  }
  return room;
}

/// Whether a line may go: one that names an entry and is not the last to; one
/// that tells of it as a loop.
static bool
is_outdated(const Line*          line,
            const VwBytes*       rest,
            const VwLedgerEntry* entries,
            size_t               n_entries) {
  for (size_t i = 0; i < n_entries; ++i) {
    const char* const name = vw_path_name(entries[i].path);
    if (loop_names(line, name)) {
      return true;
    }
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

/// Print the lines on an entry; returns the bytes written.
static size_t
print_entry(const VwLedgerEntry* entry, char* text, size_t room) {
  const char* const name = vw_path_name(entry->path);
  size_t            n =
    (size_t)snprintf(text, room, "%016" PRIx64 "  %s\n", entry->digest, name);
  if (entry->loop.shots) {
    n += (size_t)snprintf(text + n,
                          room - n,
                          VW_LEDGER_LOOP_FORMAT,
                          entry->digest,
                          entry->loop.shots,
                          entry->loop.gap_ms,
                          name);
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
      n += print_entry(&entries[i], text + n, room - n);
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
