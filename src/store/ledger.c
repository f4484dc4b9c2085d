// For realpath().
#define _XOPEN_SOURCE 700

#include "store/store.h"

#include <assert.h>
#include <inttypes.h>
#include <stdlib.h>
#include <string.h>

// "DIGEST  " before a name.
#define NAME_AT (VW_DIGEST_DIGITS + 2U)

// A line on a loop: its digest, how many shots it holds, the pause that it was
// made for, and its name.
#define LOOP "loop "
#define LOOP_FORMAT LOOP "%016" PRIx64 " %zu %.6f %s\n"

// A line on a file that may be a take again: its digest and its name.
#define TAKE "take"

// What a line on a loop can say: as many shots and as long a gap as a family
// takes.
#define SHOTS_MOST 64U
#define GAP_MOST_MS 1000.0

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

const char*
vw_ledger_loop(const char* line) {
  uint64_t          digest = 0;
  const char* const take = vw_ledger_packed(line, TAKE " ", &digest);
  const char*       at = strncmp(line, LOOP, strlen(LOOP)) ? NULL : line;
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
  if (entry->loop.shots) {
    fprintf(out,
            LOOP_FORMAT,
            entry->digest,
            entry->loop.shots,
            entry->loop.gap_ms,
            name);
  }
  if (entry->is_take) {
    fprintf(out, TAKE " %016" PRIx64 " %s\n", entry->digest, name);
  }
}

/* Look up */

VwStatus
vw_ledger_read(const char* path, char** text) {
  VwBytes     bytes = {0};
  char* const list = vw_path_sibling(path, VW_LEDGER_NAME, "");
  VwStatus    st = list ? vw_file_read(list, &bytes) : VW_NO_MEMORY;
  free(list);
  if (st == VW_NO_MEMORY) {
    return st;
  }
  *text = (char*)bytes.data;
  return VW_OK;
}

/// What is looked for in a list.
typedef struct {
  const char*     name;
  const uint64_t* digest; ///< NULL: any.
  VwLoopKnown*    known;  ///< Filled in from a line on a loop; NULL: the line
                          ///< on the file is meant.
} Wanted;

/// Whether a line on a loop is the one wanted, and tells what one can be.
static bool
tells_loop(const char* line, const Wanted* wanted) {
  const char* const name = vw_ledger_loop(line);
  uint64_t          digest = 0;
  VwLoopKnown       known = {0};
  const bool        told = name && !strcmp(name, wanted->name) &&
                    sscanf(line,
                           LOOP "%16" SCNx64 " %5zu %12lf",
                           &digest,
                           &known.shots,
                           &known.gap_ms) == 3 &&
                    digest == *wanted->digest && known.shots &&
                    known.shots <= SHOTS_MOST && known.gap_ms >= 0.0 &&
                    known.gap_ms <= GAP_MOST_MS;
  *wanted->known = told ? known : *wanted->known;
  return told;
}

static bool
tells(const char* line, const Wanted* wanted) {
  uint64_t          digest = 0;
  const char* const name = vw_ledger_file(line, &digest);
  return wanted->known ? tells_loop(line, wanted)
                       : name && !strcmp(name, wanted->name) &&
                           (!wanted->digest || digest == *wanted->digest);
}

// A list that cannot be read is as good as none: nothing is then ours.
static bool
look_up(const char* path, const uint64_t* digest, VwLoopKnown* known) {
  const Wanted wanted = {vw_path_name(path), digest, known};
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
    const char* const name = vw_ledger_packed(line, TAKE " ", &told);
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
vw_made_loop(const char* path, VwLoopKnown* known) {
  assert(path && known);
  char* const real = realpath(path, NULL);
  uint64_t    digest = 0;
  const bool  made =
    real && is_listed(real, &digest) && look_up(real, &digest, known);
  free(real);
  return made;
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
/// that tells of it as a loop.
static bool
is_outdated(const char*          line,
            const char*          rest,
            const VwLedgerEntry* entries,
            size_t               n_entries) {
  uint64_t          digest = 0;
  const char* const file = vw_ledger_file(line, &digest);
  const char* const loop = vw_ledger_loop(line);
  for (size_t i = 0; i < n_entries; ++i) {
    const char* const name = vw_path_name(entries[i].path);
    if ((loop && !strcmp(loop, name)) ||
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
  if (!out || fclose(out)) {
    free(text);
    return VW_NO_MEMORY;
  }
  *list = (VwBytes){(unsigned char*)text, n_bytes};
  return VW_OK;
}
