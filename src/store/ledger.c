// For realpath().
#define _XOPEN_SOURCE 700

#include "base/ranges.h"
#include "store/store.h"

#include <assert.h>
#include <inttypes.h>
#include <stdlib.h>
#include <string.h>

// "DIGEST  " before a name.
#define NAME_AT (VW_DIGEST_DIGITS + 2U)

// A line on what a file holds: its part, its digest, how many shots, of a loop
// the gap that it was made for, of a burst its fire rate, and its name.
#define PART_FORMAT "%s %016" PRIx64 " %zu %.6f %s\n"
#define PART_FIGURES "%*s %16" SCNx64 " %5zu %12lf"

/* Lines */

char*
vw_ledger_next(char** rest) {
  char* const line = *rest && **rest ? *rest : NULL;
  char* const end = line ? strchr(line, '\n') : NULL;
  *rest = end ? end + 1 : NULL;
  if (end) {
    *end = '\0';
  }
  return line;
}

const char*
vw_ledger_file(const char* line, uint64_t* digest) {
  return vw_digest_read(&line, digest) && !strncmp(line, "  ", 2) && line[2]
           ? line + 2
           : NULL;
}

const char*
vw_ledger_packed(const char* line, const char* words, uint64_t* digest) {
  const size_t n_words = strlen(words);
  const char*  text = strncmp(line, words, n_words) ? "" : line + n_words;
  return vw_digest_read(&text, digest) && text[0] == ' ' && text[1] ? text + 1
                                                                    : NULL;
}

/// Whether a line starts with a part's word.
static bool
starts_with_part(const char* line, VwPart* part) {
  for (int i = VW_PART_SHOT; i <= VW_PART_WHOLE; ++i) {
    const char* const word = vw_part_name((VwPart)i);
    const size_t      n = strlen(word);
    if (!strncmp(line, word, n) && line[n] == ' ') {
      *part = (VwPart)i;
      return true;
    }
  }
  return false;
}

const char*
vw_ledger_part(const char* line) {
  uint64_t          digest = 0;
  VwPart            part = VW_PART_SHOT;
  const char* const take = vw_ledger_packed(line, VW_LEDGER_TAKE, &digest);
  const char*       at = starts_with_part(line, &part) ? line : NULL;
  if (take) {
    return take;
  }
  for (int i = 0; at && i < 4; ++i) {
    at = strchr(at, ' ');
    at = at ? at + 1 : NULL;
  }
  return at;
}

void
vw_ledger_print(FILE* out, const VwLedgerEntry* entry) {
  const char* const name = vw_path_name(entry->path);
  fprintf(out, "%016" PRIx64 "  %s\n", entry->digest, name);
  const VwMade* const made = &entry->made;
  if (made->part || made->shots) {
    fprintf(out,
            PART_FORMAT,
            vw_part_name(made->part),
            entry->digest,
            made->shots,
            made->part == VW_PART_BURST ? made->fire_rate_per_s : made->gap_ms,
            name);
  }
  if (entry->is_take) {
    fprintf(out, VW_LEDGER_TAKE "%016" PRIx64 " %s\n", entry->digest, name);
  }
}

/* Look up */

VwStatus
vw_ledger_read(const char* path, char** text) {
  VwBytes     bytes = {0};
  char* const list = vw_path_sibling(path, VW_LEDGER_NAME, "");
  VwStatus    st = list ? vw_file_read(list, &bytes) : VW_NO_MEMORY;
  free(list);
  if (st == VW_NO_MEMORY || st == VW_UNREADABLE) {
    return st;
  }
  *text = (char*)bytes.data;
  return VW_OK;
}

/// What is looked for in a list.
typedef struct {
  const char*     name;
  const uint64_t* digest; ///< NULL: any.
  VwMade*         made;   ///< Filled in from a line on what it holds; NULL:
                          ///< the line on the file is meant.
} Wanted;

/// Whether what a line says can be.
static bool
is_sound(const VwMade* made) {
  const VwRange shots = VW_RANGE_BURST_SHOTS;
  const double  n = (double)made->shots;
  switch (made->part) {
    case VW_PART_SHOT:
      return made->shots == 1U;
    case VW_PART_LOOP:
      return n <= ((VwRange)VW_RANGE_CYCLE_SHOTS).most &&
             vw_is_within(made->gap_ms, (VwRange)VW_RANGE_GAP_MS);
    case VW_PART_BURST:
      return !made->shots || (vw_is_within(n, shots) &&
                              vw_is_within(made->fire_rate_per_s,
                                           (VwRange)VW_RANGE_FIRE_RATE_PER_S));
    case VW_PART_RUN_IN:
    case VW_PART_RING_OUT:
      return n <= shots.most;
    default:
      return !made->shots;
  }
}

/// Whether a line on what a file holds is the one wanted.
static bool
tells_part(const char* line, const Wanted* wanted) {
  const char* const name = vw_ledger_part(line);
  uint64_t          digest = 0;
  double            figure = 0.0;
  VwMade            made = {0};
  bool              told = name && !strcmp(name, wanted->name) &&
              starts_with_part(line, &made.part) &&
              sscanf(line, PART_FIGURES, &digest, &made.shots, &figure) == 3 &&
              digest == *wanted->digest;
  made.gap_ms = made.part == VW_PART_LOOP ? figure : 0.0;
  made.fire_rate_per_s = made.part == VW_PART_BURST ? figure : 0.0;
  told = told && is_sound(&made);
  *wanted->made = told ? made : *wanted->made;
  return told;
}

static bool
tells(const char* line, const Wanted* wanted) {
  uint64_t          digest = 0;
  const char* const name = vw_ledger_file(line, &digest);
  return wanted->made ? tells_part(line, wanted)
                      : name && !strcmp(name, wanted->name) &&
                          (!wanted->digest || digest == *wanted->digest);
}

// A list that cannot be read is as good as none: nothing is then ours.
static bool
look_up(const char* path, const uint64_t* digest, VwMade* made) {
  const Wanted wanted = {vw_path_name(path), digest, made};
  char*        text = NULL;
  bool         found = false;
  if (vw_ledger_read(path, &text)) {
    return false;
  }
  char* rest = text;
  for (char* line = NULL; !found && (line = vw_ledger_next(&rest));) {
    found = tells(line, &wanted);
  }
  free(text);
  return found;
}

/// Whether a list names a file at all, and what its digest is: most files are
/// on no list, and are not read.
static bool
is_listed(const char* path, uint64_t* digest) {
  return look_up(path, NULL, NULL) && !vw_file_digest(path, digest);
}

bool
vw_ledger_owns(const char* path) {
  uint64_t digest = 0;
  return is_listed(path, &digest) && look_up(path, &digest, NULL);
}

/// Whether the list says of a file of ours that it may be a take.
static bool
is_take(const char* path) {
  uint64_t digest = 0;
  uint64_t told = 0;
  char*    text = NULL;
  bool     found = false;
  if (vw_ledger_read(path, &text) || vw_file_digest(path, &digest)) {
    free(text);
    return false;
  }
  char* rest = text;
  for (char* line = NULL; !found && (line = vw_ledger_next(&rest));) {
    const char* const name = vw_ledger_packed(line, VW_LEDGER_TAKE, &told);
    found = name && !strcmp(name, vw_path_name(path)) && told == digest;
  }
  free(text);
  return found;
}

bool
vw_is_own_output(const char* path) {
  assert(path);
  char* const real = realpath(path, NULL);
  const bool  own = real && vw_ledger_owns(real) && !is_take(real);
  free(real);
  return own;
}

bool
vw_is_own_take(const char* path) {
  assert(path);
  char* const real = realpath(path, NULL);
  const bool  own = real && is_take(real);
  free(real);
  return own;
}

bool
vw_made_as(const char* path, VwMade* made) {
  assert(path && made);
  char* const real = realpath(path, NULL);
  uint64_t    digest = 0;
  const bool  told =
    real && is_listed(real, &digest) && look_up(real, &digest, made);
  free(real);
  return told;
}

bool
vw_made_loop(const char* path, VwLoopKnown* known) {
  VwMade     made = {0};
  const bool is =
    vw_made_as(path, &made) && made.part == VW_PART_LOOP && made.shots;
  *known = is ? (VwLoopKnown){made.shots, made.gap_ms} : *known;
  return is;
}

bool
vw_is_made_otherwise(const char* path) {
  VwLoopKnown known = {0};
  return !vw_made_loop(path, &known) && vw_is_own_output(path);
}

/* Add */

/// Whether a line of a text names a file.
static bool
is_named_in(const char* text, const char* name) {
  const size_t n_name = strlen(name);
  while (text && *text) {
    const size_t n = strcspn(text, "\n");
    if (n == NAME_AT + n_name && !strncmp(text + NAME_AT, name, n_name)) {
      return true;
    }
    text += n + (text[n] != '\0');
  }
  return false;
}

/// Whether a line may go: one that names an entry and is not the last to; one
/// that tells what it holds.
static bool
is_outdated(const char*          line,
            const char*          rest,
            const VwLedgerEntry* entries,
            size_t               n_entries) {
  uint64_t          digest = 0;
  const char* const file = vw_ledger_file(line, &digest);
  const char* const part = vw_ledger_part(line);
  for (size_t i = 0; i < n_entries; ++i) {
    const char* const name = vw_path_name(entries[i].path);
    if ((part && !strcmp(part, name)) ||
        (file && !strcmp(file, name) && is_named_in(rest, name))) {
      return true;
    }
  }
  return false;
}

static void
print_all(FILE*                out,
          char*                before,
          const VwLedgerEntry* entries,
          size_t               n_entries) {
  char* rest = before;
  for (char* line = NULL; (line = vw_ledger_next(&rest));) {
    if (*line && !is_outdated(line, rest, entries, n_entries)) {
      fprintf(out, "%s\n", line);
    }
  }
  for (size_t i = 0; i < n_entries; ++i) {
    // A name of two lines cannot be listed.
    if (!strchr(vw_path_name(entries[i].path), '\n')) {
      vw_ledger_print(out, &entries[i]);
    }
  }
}

VwStatus
vw_ledger_with(const VwLedgerEntry* entries, size_t n_entries, VwBytes* list) {
  char*          before = NULL;
  char*          text = NULL;
  size_t         n_bytes = 0;
  const VwStatus st = vw_ledger_read(entries->path, &before);
  FILE* const    out = st ? NULL : open_memstream(&text, &n_bytes);
  if (out) {
    print_all(out, before, entries, n_entries);
  }
  free(before);
  if (st) {
    return st;
  }
  if (!out || fclose(out)) {
    free(text);
    return VW_NO_MEMORY;
  }
  *list = (VwBytes){(unsigned char*)text, n_bytes};
  return VW_OK;
}
