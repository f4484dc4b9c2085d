// The shots of a take, one below the other, and those that take turns.

#include "cli/report/sections.h"
#include "store/store.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

// A shot is in doubt if it is so much softer than the loudest, or rises by no
// more than this over what rings at its start.
#define SOFT_DB 12.0
#define RISE_LEAST_DB 6.0

// What is so much softer than the shot before it and so alike, so soon after
// it, may be its echo; a room's first ones come within that time (chosen here,
// as all of these).
#define ECHO_DB 6.0
#define ECHO_LIKE 0.8F
#define ECHO_MS 400.0

// Shorter than this it may be a click.
#define SHORT_MS 15.0

/// Why a shot may be none; NULL if it is beyond doubt.
static const char*
doubt_of(const Report* report, size_t shot) {
  const VwShots* const     split = report->split;
  const VwShotFacts* const facts = &split->facts[shot];
  const VwEvent* const     event = &report->inputs[0].events.events[shot];
  if (split->n == 1U) {
    return facts->length_ms < SHORT_MS ? "short: a click?" : NULL;
  }
  if (shot && facts->attack_ms - split->facts[shot - 1U].attack_ms <= ECHO_MS &&
      event[-1].level_db - event->level_db >= ECHO_DB &&
      split->likeness[shot * split->n + shot - 1U] >= ECHO_LIKE) {
    return "an echo of the one before it?";
  }
  return event->level_db < -SOFT_DB       ? "soft: a bounce, or a bolt?"
         : event->step_db < RISE_LEAST_DB ? "it hardly rises: part of the "
                                            "one before it?"
         : facts->length_ms < SHORT_MS    ? "short: a click?"
                                          : NULL;
}

/// Set which other shot one is most alike to.
static void
set_likest(Figures* of, const VwShots* split, size_t shot) {
  const float* const row = split->likeness + shot * split->n;
  size_t             likest = split->n;
  for (size_t i = 0; i < split->n; ++i) {
    if (i != shot && (likest == split->n || row[i] > row[likest])) {
      likest = i;
    }
  }
  if (likest < split->n) {
    figures_set(of, "likest", likest + 1U);
    figures_set(of, "likest_likeness", (double)row[likest]);
  }
}

static Figures*
likeness_of(const VwShots* split, size_t shot) {
  Figures* const row = figures_list();
  for (size_t i = 0; i < split->n; ++i) {
    figures_add(
      row,
      figures_rounded(
        "likeness",
        nearbyint(1e3 * (double)split->likeness[shot * split->n + i]) / 1e3));
  }
  return row;
}

static Figures*
figures_of_shot(const Report* report, size_t shot) {
  const VwShots* const     split = report->split;
  const VwShotFacts* const facts = &split->facts[shot];
  Figures* const           of = figures_new();
  figures_set(of, "shot", shot + 1U);
  figures_set(of, "start_ms", facts->attack_ms);
  figures_set(of, "length_ms", facts->length_ms);
  figures_set(of,
              "level_db",
              split->n > 1U ? report->inputs[0].events.events[shot].level_db
                            : 0.0);
  figures_set(of, "clipped_frames", facts->n_clipped_frames);
  figures_set(of, "choked", facts->choked);
  figures_set(of, "doubt", doubt_of(report, shot));
  figures_set(of, "kept", split->kept[shot]);
  set_likest(of, split, shot);
  return of;
}

Figures*
split_figures(const Report* report) {
  const VwShots* const split = report->split;
  size_t               at = 0;
  if (!split || report->status) {
    return NULL;
  }
  Figures* const all = figures_list();
  for (size_t i = 0; i < split->n; ++i) {
    Figures* const of = figures_of_shot(report, i);
    const bool     written = split->kept[i] && at < report->n_files;
    figures_set(of, "likeness", likeness_of(split, i));
    figures_set(of, "path", written ? report->files[at++].path : NULL);
    figures_add(all, of);
  }
  return all;
}

void
split_text(const Report* report, FILE* out) {
  const VwShots* const split = report->split;
  Figures* const       take = figures_new();
  figures_set(take, "path", report->inputs[0].path);
  figures_set(
    take, "rapid", report->inputs[0].facts.kind == VW_KIND_RAPID_FIRE);
  figures_set(take, "n", split->n);
  figures_print(
    take, "Found in {path}: {rapid?rapid fire, }{n} shot{n:s}\n", out);
  figures_free(take);
  fprintf(out, "  shot      start     length     level  most alike\n");
  for (size_t i = 0; i < split->n; ++i) {
    Figures* const of = figures_of_shot(report, i);
    char           start[40];
    char           length[40];
    fprintf(out,
            "  %4zu %10s %10s %6.1f dB",
            i + 1U,
            line_duration(start, split->facts[i].attack_ms),
            line_duration(length, split->facts[i].length_ms),
            nearbyint(10.0 * figures_get(of, "level_db").number) / 10.0 + 0.0);
    figures_print(of,
                  "{likest?  to {likest}: {likest_likeness:.2f}}"
                  "{!kept?, left out}{clipped_frames?, clipped}"
                  "{choked?, choked at the next}"
                  "{doubt?{likest?; }{!likest?  }{doubt}}\n",
                  out);
    figures_free(of);
  }
}

/* Left of an earlier split */

/// Where in a shot's file name the digits of its number start and end. False of
/// a name of another kind.
static bool
find_number(const char* name, size_t* from, size_t* to) {
  const char* const dash = strrchr(name, '-');
  const size_t      n_digits = dash ? strspn(dash + 1, "0123456789") : 0U;
  *from = dash ? (size_t)(dash - name) + 1U : 0U;
  *to = *from + n_digits;
  return n_digits && name[*to] == '.';
}

/// Whether two file names differ in the number of a shot alone.
static bool
are_of_one_take(const char* name, const char* other) {
  size_t from = 0;
  size_t to = 0;
  size_t other_from = 0;
  size_t other_to = 0;
  return find_number(name, &from, &to) &&
         find_number(other, &other_from, &other_to) && from == other_from &&
         !strncmp(name, other, from) && !strcmp(name + to, other + other_to);
}

/// Whether a file beside those made is one of an earlier split, and nobody
/// changed it since.
static bool
is_left(const Report* report, const char* name) {
  const char* const made = report->files[0].path;
  bool              left = are_of_one_take(vw_path_name(made), name);
  for (size_t i = 0; left && i < report->n_files; ++i) {
    left = strcmp(vw_path_name(report->files[i].path), name) != 0;
  }
  char* const path = left ? vw_path_sibling(made, name, "") : NULL;
  left = path && vw_is_own_take(path);
  free(path);
  return left;
}

void
split_set_left(Figures* of, const Report* report) {
  char*       text = NULL;
  const char* first = NULL;
  const char* last = NULL;
  size_t      n = 0;
  if (!report->split || !report->n_files ||
      vw_ledger_read(report->files[0].path, &text)) {
    return;
  }
  char* rest = text;
  for (char* line = NULL; (line = vw_ledger_next(&rest));) {
    uint64_t          digest = 0;
    const char* const name = vw_ledger_packed(line, VW_LEDGER_TAKE, &digest);
    if (name && is_left(report, name)) {
      first = first ? first : name;
      last = name;
      ++n;
    }
  }
  figures_set_some(of, "left", n);
  figures_set(of, "several_left", n > 1U);
  figures_set(of, "left_first", first);
  figures_set(of, "left_last", last);
  free(text);
}

/* In turn */

void
split_set_turns(Figures* loop, const Report* report) {
  const VwShots* const turns = report->turns;
  Figures* const       own = turns ? figures_list() : NULL;
  for (size_t i = 0; turns && i < turns->n_written; ++i) {
    figures_add(own, turns->written[i] + 1U);
  }
  figures_set(loop, "own_shots", own);
  figures_set_some(
    loop,
    "own_single_shot",
    turns && !report->packed ? turns->written[report->single] + 1U : 0U);
}

char*
split_turns_words(const Report* report) {
  const VwShots* const turns = report->turns;
  char*                words =
    turns && turns->n_written
                     ? text_format("%zu of its own %zu shots:", turns->n_written, turns->n)
                     : NULL;
  for (size_t i = 0; words && i < turns->n_written; ++i) {
    words = text_more(words, i ? ", " : " ", "%zu", turns->written[i] + 1U);
  }
  return words && turns->n_written > 1U
           ? text_more(words,
                       "; ",
                       "the loudest, %zu, is the single shot",
                       turns->written[report->single] + 1U)
           : words;
}
