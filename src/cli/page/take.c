#include "cli/page/page.h"

#include "burst/burst.h"
#include "burst/turns.h"
#include "cli/files/files.h"
#include "cli/message/message.h"
#include "cli/report/report.h"
#include "signal/signal.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

// It makes what `loop` makes.
static const CommandName loop_command = {.name = "tryout", .bit = COMMAND_LOOP};

/// A take on its way into the page.
typedef struct {
  const Settings* settings; ///< Of a board that takes every name.
  const Settings* asked;    ///< As they were given.
  size_t          index;
  Input           input;
  VwShots         turns;  ///< Its own shots, where these take turns.
  VwFamily        family; ///< As asked.
  VwFamily        kept;   ///< The shot alone, its level kept.
  MadeFiles       made;
  Report          report;
  char*           report_text; ///< As --json has it.
} Work;

/// Make what is asked of the take's shot, or of its own shots in turn.
static VwStatus
make_family(Work* work) {
  const VwFamilyOptions* const options = &work->settings->family;
  Input* const                 input = &work->input;
  VwShots* const               turns = &work->turns;
  const VwShotsOf              of = {
                 &input->take, &input->events, &input->facts, input->clipped};
  if (!vw_turns_suit(&input->facts, 1U, options)) {
    return vw_family_make(
      &input->take, &input->facts, 1U, options, &work->family);
  }
  VwStatus st = vw_turns_find(&of, options, turns);
  st =
    st ? st
       : vw_family_make(
           turns->takes, turns->used, turns->n_written, options, &work->family);
  st = st ? st : vw_turns_single(&work->family, &work->report.single);
  if (!st) {
    vw_turns_keep(turns, work->report.single, &work->family, &input->facts);
    work->report.turns = turns;
  }
  return st;
}

static VwStatus
make_families(Work* work) {
  VwFamilyOptions options = work->settings->family;
  VwStatus        st = make_family(work);
  options.shot_only = true;
  options.level.aim = VW_AIM_KEEP;
  return st ? st
            : vw_family_make(&work->input.take,
                             &work->input.facts,
                             1U,
                             &options,
                             &work->kept);
}

/// What is shown of a take.
typedef struct {
  TryoutSounds   sounds; ///< Owned.
  const VwSound* alone;  ///< The shot, its level kept. Not owned.
} Shown;

/// Make the report that --json would print. To be freed.
static char*
report_of(Work* work) {
  char*       text = NULL;
  size_t      n = 0;
  FILE* const out = open_memstream(&text, &n);
  if (!out) {
    return NULL;
  }
  const bool good = (work->report.status || report_warn(&work->report)) &&
                    report_json(&work->report, out);
  if (fclose(out) || !good) {
    free(text);
    return NULL;
  }
  return text;
}

static VwStatus
make(Work* work) {
  const Destination destination = {TO_FOLDER, ".", false};
  work->report = (Report){.command = &loop_command,
                          .settings = work->settings,
                          .inputs = &work->input,
                          .n_inputs = 1U,
                          .first_take = work->index};
  VwStatus st = work->input.status;
  st = st ? st : make_families(work);
  if (!st) {
    work->report.family = &work->family;
    const MadeFrom from = {
      &loop_command, work->settings, &work->family, work->index};
    st = made_files_encode(&from, &destination, &work->made);
  }
  if (!st) {
    work->report.files = work->made.files;
    work->report.n_files = work->made.n_files;
  }
  return st;
}

static void
fail(Work* work, VwStatus status) {
  work->report.status = status;
  work->report.message = work->input.message
                           ? text_format("%s", work->input.message)
                           : status_message(status);
}

static uint64_t
bytes_of(const MadeFiles* made) {
  uint64_t n = 0;
  for (size_t i = 0; i < made->n_files; ++i) {
    n += made->files[i].bytes.n_bytes;
  }
  return n;
}

/* What makes it again */

/// Options on where and how it is made, not on what; slot and part are those of
/// one take.
static const char* const beside[] = {"output",
                                     "force",
                                     "dry-run",
                                     "quiet",
                                     "json",
                                     "jobs",
                                     "write-prop",
                                     "slot",
                                     "part",
                                     NULL};

static bool
is_one_of(const char* name, const char* const* list) {
  while (list && *list && strcmp(*list, name) != 0) {
    ++list;
  }
  return list && *list;
}

char*
tryout_command_add(char* line, const char* before, const char* word) {
  char* const quoted = text_quoted(word);
  char* const longer =
    line && quoted ? text_format("%s%s%s", line, before, quoted) : NULL;
  free(quoted);
  free(line);
  return longer;
}

char*
tryout_command(const char*        command,
               const Settings*    settings,
               const char* const* but) {
  char* line = text_format("volleyweave %s", command);
  for (size_t i = 0; line && i < settings->n_given; ++i) {
    const Given* const given = &settings->given[i];
    if (!is_one_of(given->name, beside) && !is_one_of(given->name, but)) {
      line = tryout_command_add(line, " --", given->name);
      line = given->value ? tryout_command_add(line, " ", given->value) : line;
    }
  }
  return line;
}

/// A take as a word that no option can be. To be freed.
static char*
take_word(const char* take) {
  char* const none = text_format("%s", "");
  return tryout_command_add(none, take[0] == '-' ? "-- " : "", take);
}

/// Add what a board wants that plays by number: the slot of the take with that
/// index, and which file, where all have one name.
static char*
add_place(char* line, const Settings* settings, size_t index) {
  const VwNaming* const naming = &settings->board.naming;
  const bool            burst = settings->family.form == VW_FORM_BURST;
  const bool            wanted = settings->has_board && naming->digits;
  const size_t          slot = settings->slot || wanted
                                 ? index + (settings->slot ? settings->slot : 1U)
                                 : 0U;
  char* const           with_slot =
    line && slot ? text_format("%s --slot %zu", line, slot) : line;
  if (with_slot != line) {
    free(line);
  }
  return settings->has_board && !naming->parts
           ? tryout_command_add(with_slot, " --part ", burst ? "burst" : "loop")
           : with_slot;
}

char*
tryout_command_whole(const char* command, const Settings* settings) {
  char* line = add_place(tryout_command(command, settings, NULL), settings, 0U);
  const bool dash = settings->n_takes && settings->takes[0][0] == '-';
  for (size_t i = 0; line && i < settings->n_takes; ++i) {
    line =
      tryout_command_add(line, dash && !i ? " -- " : " ", settings->takes[i]);
  }
  return line;
}

/// The options that the page leaves as they are, of the take with that index.
static char*
command_to_lay(const Settings* settings, size_t index) {
  static const char* const own[] = {"fire-rate",
                                    "valley",
                                    "tail",
                                    "shots",
                                    "loudness",
                                    "gain",
                                    "loud-as",
                                    NULL};
  return add_place(tryout_command("loop", settings, own), settings, index);
}

/// What makes the files again.
static char*
command_that_made(const Settings* settings, size_t index, const char* take) {
  char* const command =
    add_place(tryout_command("loop", settings, NULL), settings, index);
  char* const whole =
    command ? text_format("%s %s", command, take ? take : "") : NULL;
  free(command);
  return whole;
}

/// Why the page cannot lay the burst anew, or NULL.
static const char*
why_unlaid(const Work* work) {
  const VwFamilyOptions* const options = &work->settings->family;
  VwFamilyOptions              laid = *options;
  laid.fire_rate_per_s = work->family.plan.fire_rate_per_s;
  return vw_wish_is_varied(options, 1U)
           ? "With --variants, --detune or --level-spread every shot of a "
             "burst is another one, which this page cannot lay anew: it plays "
             "what was made."
         : vw_turns_suit(&work->input.facts, 1U, &laid)
           ? "It is rapid fire, each of whose shots is another one, which this "
             "page cannot lay anew: it plays what was made."
         : work->family.join.n_frames
           ? "It sounds on, without shots that this page could lay anew: it "
             "plays what was made."
           : NULL;
}

/* The page */

static void
add_error(Work* work, const char* name, VwStatus status, TryoutPage* page) {
  const char* const reason =
    work->report.message ? work->report.message : vw_strerror(status);
  say(work->settings->takes[work->index], "%s", reason);
  tryout_page_add(page,
                  &(TryoutSound){.family = work->index,
                                 .name = name,
                                 .report = work->report_text,
                                 .error = reason});
}

/// The shot that bursts are laid down from, without a lamp's track.
static VwStatus
find_alone(const Work* work, VwSound* mono, const VwSound** alone) {
  const VwSound* const kept = &work->kept.pieces[0].sound;
  const bool           track = work->settings->family.lamp_track.wanted;
  const VwStatus       st = track ? vw_sound_channel(kept, 0U, mono) : VW_OK;
  *alone = track ? mono : kept;
  return st;
}

/// How a sound is made again.
typedef struct {
  char* command;
  char* take;
  char* made_by;
} Texts;

static Texts
texts_of(const Work* work) {
  const Settings* const asked = work->asked;
  char* const           take = take_word(asked->takes[work->index]);
  return (Texts){.command = command_to_lay(asked, work->index),
                 .take = take,
                 .made_by = command_that_made(asked, work->index, take)};
}

static void
texts_clear(Texts* texts) {
  free(texts->command);
  free(texts->take);
  free(texts->made_by);
}

static void
add_sound(const Work*  work,
          const char*  name,
          const Shown* shown,
          TryoutPage*  page) {
  const Settings* const settings = work->settings;
  Texts                 texts = texts_of(work);
  const TryoutRelay     relay = {.alone = shown->alone,
                                 .use = &work->kept.uses[0],
                                 .options = &settings->family,
                                 .fire_rate_per_s =
                                   work->family.plan.fire_rate_asked_per_s,
                                 .command = texts.command ? texts.command : "",
                                 .take = texts.take ? texts.take : ""};
  const char* const     unlaid = why_unlaid(work);
  const TryoutSound     sound = {
        .family = work->index,
        .settings = settings,
        .name = name,
        .slot = settings->slot ? settings->slot + (unsigned)work->index : 0U,
        .report = work->report_text,
        .made_by = texts.made_by,
        .encoding = work->family.format.encoding,
        .track = settings->family.lamp_track.wanted,
        .single = tryout_sounds_single(&shown->sounds),
        .rapid = tryout_sounds_rapid(&shown->sounds),
        .relay = unlaid ? NULL : &relay,
        .unlaid = unlaid,
        .n_bytes = bytes_of(&work->made)};
  tryout_page_add(page, &sound);
  texts_clear(&texts);
}

static void
add_made(Work* work, const char* name, TryoutPage* page) {
  const VwFamilyOptions* const options = &work->settings->family;
  VwSound                      mono = {0};
  Shown                        shown = {0};
  VwStatus st = tryout_sounds_fill(&work->family, options->seed, &shown.sounds);
  st = st ? st : tryout_sounds_lay(&work->family, options, &shown.sounds);
  st = st ? st : find_alone(work, &mono, &shown.alone);
  if (st) {
    add_error(work, name, st, page);
  } else {
    add_sound(work, name, &shown, page);
  }
  tryout_sounds_clear(&shown.sounds);
  vw_sound_clear(&mono);
}

/// What is asked, but of a board that takes every name: a page has no files.
static Settings
with_any_name(const Settings* settings) {
  const VwBoard free_names = vw_board_defaults();
  Settings      freed = *settings;
  freed.board.naming = free_names.naming;
  freed.board.slots_max = free_names.slots_max;
  freed.slot = 0;
  return freed;
}

bool
tryout_take_add(const Settings* asked, size_t index, TryoutPage* page) {
  const Settings        freed = with_any_name(asked);
  const Settings* const settings = &freed;
  Work                  work = {settings, .asked = asked, .index = index};
  char* const           name = path_sound(settings, index);
  input_load(settings->takes[index], &loop_command, settings, &work.input);
  const VwStatus st = make(&work);
  if (st) {
    fail(&work, st);
  }
  work.report_text = report_of(&work);
  if (settings->json && work.report_text) {
    (void)fputs(work.report_text, stdout);
  }
  if (st) {
    add_error(&work, name ? name : "", st, page);
  } else {
    add_made(&work, name ? name : "", page);
  }
  free(work.report_text);
  free(name);
  report_clear(&work.report);
  made_files_clear(&work.made);
  vw_family_clear(&work.kept);
  vw_family_clear(&work.family);
  vw_shots_clear(&work.turns);
  input_clear(&work.input);
  return !st;
}
