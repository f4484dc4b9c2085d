// The last line of a report: what is worth trying next.

#include "board/board.h"
#include "cli/message/message.h"
#include "cli/options/options.h"
#include "cli/report/sections.h"
#include "store/store.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

// Options that a next command does not repeat: those that it has a place of its
// own for, and those that make no difference to what is heard.
static const char left_out[] = " fire-rate board slot part output plot force "
                               "dry-run json quiet verbose ";

// Those that say what of a take is used: nothing of a file made of it.
static const char of_take[] = " from to pick start as ";

/// Print those of the options given that another command has too.
///
/// @param made It goes on with files that this one made.
static void
print_given(const Report* report, unsigned command, bool made, FILE* out) {
  for (size_t i = 0; i < report->settings->n_given; ++i) {
    const Given* const  given = &report->settings->given[i];
    const Option* const option = options_find(given->name);
    if (!option || !(option->commands & command) ||
        text_lists(left_out, given->name) ||
        (made && text_lists(of_take, given->name))) {
      continue;
    }
    char* const value = given->value ? text_quoted(given->value) : NULL;
    fprintf(out,
            " --%s%s%s",
            given->name,
            !value                   ? ""
            : given->value[0] == '-' ? "="
                                     : " ",
            value ? value : "");
    free(value);
  }
}

/// Whether no page holds what was made: a ladder, takes that take turns, or
/// other takes before and behind the loop.
static bool
is_apart(const Report* report) {
  const Settings* const settings = report->settings;
  return settings->loop.burst_seconds > 0.0 || settings->loop.take_turns ||
         settings->n_ends;
}

/// Words for the board to go on with, and its slot.
#define BOARD                                                                  \
  "{board? --board {board:q}}{slot? --slot {slot}{!names_parts? --part loop}}"
#define PAGE_BOARD "{board? --board {board:q}}{own_slot? --slot {own_slot}}"

/// Set the board: where none was asked for it is the default one.
static void
set_board(Figures* next, const Report* report) {
  const Settings* const settings = report->settings;
  const size_t          slot = settings->slot + report->first_take;
  if (settings->has_board) {
    figures_set(next, "board", settings->board_asked);
    // The one just made keeps its own slot.
    figures_set(next, "own_slot", settings->slot ? slot : 0U);
    figures_set(next, "slot", settings->slot ? slot + 1U : 0U);
    figures_set(next, "names_parts", settings->board.naming.parts);
  }
}

/// The takes' rapid fire, or a page to hear what was made of them.
static void
next_loop(const Report* report, bool page, FILE* out) {
  const Settings* const settings = report->settings;
  const VwFamily* const family = report->family;
  const char* const     folder = settings->output;
  Figures* const        next = figures_new();
  figures_set(next, "page", page);
  // As asked, as chosen, or one to begin with.
  figures_set(next, "asked", settings->loop.fire_rate_text);
  figures_set(next,
              "rate_per_s",
              family && family->plan.chosen ? family->plan.fire_rate_asked_per_s
                                            : 9.0);
  figures_set(
    next, "folder", folder && vw_path_is_folder(folder) ? folder : NULL);
  figures_set(next, "dash", report->inputs[0].path[0] == '-');
  set_board(next, report);
  // What sounds on is joined, and so is rapid fire at its own rate.
  const VwShotFacts* const facts = &report->inputs[0].facts;
  figures_set(next,
              "fires",
              (!page || report->command->bit == COMMAND_LOOP) &&
                (report->n_inputs > 1U || (facts->kind != VW_KIND_SUSTAINED &&
                                           (isnan(facts->rapid_per_s) ||
                                            settings->loop.fire_rate_text))));
  figures_print(next,
                "{page?To hear it: volleyweave tryout}"
                "{!page?Next: volleyweave loop}"
                "{fires? --fire-rate {asked?{asked:q}}"
                "{!asked?{rate_per_s}/s}}",
                out);
  print_given(report, page ? COMMAND_TRYOUT : COMMAND_LOOP, false, out);
  figures_print(next, page ? PAGE_BOARD : BOARD, out);
  figures_print(next, "{folder? -o {folder:q}}{dash? --}", out);
  for (size_t i = 0; i < report->n_inputs; ++i) {
    figures_set(next, "take", report->inputs[i].path);
    figures_print(next, " {take:q}", out);
  }
  fputc('\n', out);
  figures_free(next);
}

/// The shot of a take that has several, which can be picked.
static void
next_pick(const Report* report, FILE* out) {
  const Input* const    input = &report->inputs[0];
  const VwEvents* const events = &input->events;
  Figures* const        next = figures_new();
  size_t                used = 1;
  while (used < events->n_events &&
         events->events[used].start_frame <= input->facts.crest_frame) {
    ++used;
  }
  figures_set(next, "used", used);
  figures_set(next, "dash", input->path[0] == '-');
  figures_set(next, "take", input->path);
  figures_print(next, "Next: volleyweave shot --pick {used}", out);
  print_given(report, COMMAND_SHOT, false, out);
  figures_print(next, "{dash? --} {take:q}\n", out);
  figures_free(next);
}

/// What to do after a sound that is no shot.
static void
next_whole(const Report* report, FILE* out) {
  const bool made = report->n_files && !report->settings->dry_run &&
                    strcmp(report->files[0].path, "-") != 0;
  const char* const path =
    made ? report->files[0].path : report->inputs[0].path;
  Figures* const next = figures_new();
  figures_set(next, "made", made);
  figures_set(next, "file", path);
  figures_set(next, "dash", path[0] == '-');
  if (!made) {
    set_board(next, report);
  }
  figures_print(next, "Next: volleyweave {made?inspect}{!made?convert}", out);
  print_given(report, made ? COMMAND_INSPECT : COMMAND_CONVERT, made, out);
  figures_print(next, BOARD "{dash? --} {file:q}\n", out);
  figures_free(next);
}

/// A loop of shots that were split, taking turns: of the first that are neither
/// soft nor clipped. What rings of the shot before one hides its attack, which
/// lies where every shot's does.
static void
next_turns(const Report* report, FILE* out) {
  const Settings* const    settings = report->settings;
  const VwShots* const     split = report->split;
  const VwShotFacts* const facts = &report->inputs[0].facts;
  const VwContainer        container = settings->board.container;
  Figures* const           next = figures_new();
  size_t                   n = 0;
  if (settings->dry_run || !report->n_files ||
      (settings->has_board &&
       (container == VW_CONTAINER_RAW || container == VW_CONTAINER_C_ARRAY))) {
    figures_free(next);
    return; // no file, or none that can be read again
  }
  bool choked = false;
  for (size_t i = 0; i < report->n_files && n < VW_TURNS_USUAL; ++i) {
    n += split->good[split->written[i]] ? 1U : 0U;
    choked |= split->facts[split->written[i]].choked;
  }
  set_board(next, report);
  figures_set(next, "start_ms", choked ? 1000.0 * VW_PRE_ROLL_S : (double)NAN);
  figures_set_made(next, "rate", found_rate(facts, facts->rapid_per_s));
  figures_set(next, "turns", n > 1U);
  figures_set(next, "dash", report->files[0].path[0] == '-');
  figures_print(next,
                "Next: volleyweave loop --as shot"
                "{start_ms? --start {start_ms:.4g}ms}"
                "{rate? --fire-rate {rate}/s}"
                "{turns? --take-turns}",
                out);
  print_given(report, COMMAND_LOOP, true, out);
  figures_print(next, BOARD "{dash? --}", out);
  for (size_t i = 0, k = 0; i < report->n_files && k < (n ? n : 1U); ++i) {
    if (!n || split->good[split->written[i]]) {
      figures_set(next, "take", report->files[i].path);
      figures_print(next, " {take:q}", out);
      ++k;
    }
  }
  fputc('\n', out);
  figures_free(next);
}

void
next_text(const Report* report, FILE* out) {
  const Input* const input = &report->inputs[0];
  if (report->split) {
    next_turns(report, out);
    return;
  }
  if (vw_is_own_output(input->path)) {
    return; // nothing is made of it again
  }
  if (report->command->bit == COMMAND_INSPECT &&
      input->facts.kind == VW_KIND_SEVERAL_SHOTS &&
      input->facts.shots_in_take > 1U && !report->settings->family.find.pick) {
    next_pick(report, out);
  } else if (input->has_shot) {
    if (report->family && !is_apart(report)) {
      next_loop(report, true, out);
    }
    if (report->command->bit != COMMAND_LOOP) {
      next_loop(report, false, out);
    }
  } else {
    next_whole(report, out);
  }
}
