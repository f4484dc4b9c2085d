#include "tryout_take.h"

#include "input.h"
#include "made_files.h"
#include "report.h"
#include "say.h"
#include "status.h"
#include "tryout_sounds.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const CommandName loop_command = {"loop", COMMAND_LOOP};

/// A take on its way into the page.
typedef struct {
  const Settings* settings;
  size_t          index;
  Input           input;
  VwFamily        family; ///< As asked.
  VwFamily        kept;   ///< The shot alone, its level kept.
  MadeFiles       made;
  Report          report;
} Work;

static VwStatus
make_families(Work* work) {
  VwFamilyOptions options = work->settings->family;
  VwStatus        st = vw_family_make(
    &work->input.take, &work->input.facts, 1U, &options, &work->family);
  options.shot_only = true;
  options.level.aim = VW_AIM_KEEP;
  return st ? st
            : vw_family_make(&work->input.take,
                             &work->input.facts,
                             1U,
                             &options,
                             &work->kept);
}

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
  const Destination destination = {TO_FOLDER, "volleyweave-out", false};
  work->report = (Report){.command = &loop_command,
                          .settings = work->settings,
                          .inputs = &work->input,
                          .n_inputs = 1U,
                          .first_take = work->index};
  VwStatus st = work->input.status;
  st = st ? st : make_families(work);
  if (!st) {
    work->report.family = &work->family;
    st = made_files_encode(&work->report, &destination, &work->made);
  }
  if (!st) {
    work->report.files = work->made.files;
    work->report.n_files = work->made.n_files;
  }
  return st;
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

static bool
is_one_of(const char* name, const char* const* list) {
  while (*list && strcmp(*list, name) != 0) {
    ++list;
  }
  return *list != NULL;
}

/// The command and its options but for some. To be freed; NULL without memory.
static char*
command_of(const Settings* settings, const char* const* but) {
  char* command = text_format("volleyweave loop");
  for (size_t i = 0; command && i < settings->n_given; ++i) {
    const Given* const given = &settings->given[i];
    if (is_one_of(given->name, but)) {
      continue;
    }
    char* const value = given->value ? text_quoted(given->value) : NULL;
    char* const more = text_format("%s --%s%s%s",
                                   command,
                                   given->name,
                                   value ? " " : "",
                                   value ? value : "");
    free(value);
    free(command);
    command = more;
  }
  return command;
}

/// The options that the page leaves as they are.
static char*
command_to_lay(const Settings* settings) {
  static const char* const own[] = {"fire-rate",
                                    "valley",
                                    "tail",
                                    "shots",
                                    "loudness",
                                    "gain",
                                    "loud-as",
                                    "output",
                                    "force",
                                    "dry-run",
                                    "quiet",
                                    NULL};
  return command_of(settings, own);
}

/// What makes the files again.
static char*
command_that_made(const Settings* settings, const char* take) {
  static const char* const page[] = {
    "output", "force", "dry-run", "quiet", NULL};
  char* const command = command_of(settings, page);
  char* const whole =
    command ? text_format("%s %s", command, take ? take : "") : NULL;
  free(command);
  return whole;
}

/// Whether the page can lay the burst anew: with no two shots alike it cannot.
static bool
can_relay(const Settings* settings) {
  return settings->family.detune_cents == 0.0 &&
         settings->family.level_spread_db == 0.0;
}

/* The page */

static void
add_error(Work* work, const char* name, VwStatus status, JsonText* page) {
  char* const       message = work->input.message
                                ? text_format("%s", work->input.message)
                                : status_message(status);
  const char* const reason = message ? message : "failed";
  const char* const path = work->settings->takes[work->index];
  say(path, "%s", reason);
  tryout_page_add(page, &(TryoutSound){.name = name, .error = reason});
  free(message);
}

static void
add_made(Work* work, const char* name, JsonText* page) {
  const Settings* const settings = work->settings;
  char* const           command = command_to_lay(settings);
  char* const           take = text_quoted(settings->takes[work->index]);
  char* const           report = report_of(work);
  char* const           made_by = command_that_made(settings, take);
  TryoutSounds          sounds = {0};
  const VwStatus    st = tryout_sounds_make(&work->family, settings, &sounds);
  const TryoutRelay relay = {.alone = &work->kept.pieces[0].sound,
                             .use = &work->kept.uses[0],
                             .options = &settings->family,
                             .fire_rate_per_s =
                               work->family.plan.fire_rate_asked_per_s,
                             .command = command ? command : "",
                             .take = take ? take : ""};
  const TryoutSound sound = {
    .name = name,
    .slot = settings->slot ? settings->slot + (unsigned)work->index : 0U,
    .report = report,
    .made_by = made_by,
    .single = &sounds.single,
    .rapid = &sounds.rapid,
    .relay = can_relay(settings) ? &relay : NULL,
    .n_bytes = bytes_of(&work->made)};
  if (st) {
    add_error(work, name, st, page);
  } else {
    tryout_page_add(page, &sound);
  }
  tryout_sounds_clear(&sounds);
  free(made_by);
  free(report);
  free(take);
  free(command);
}

bool
tryout_take_add(const Settings* settings, size_t index, JsonText* page) {
  Work        work = {.settings = settings, .index = index};
  char* const name = path_sound(settings, index);
  input_load(settings->takes[index], &loop_command, settings, &work.input);
  const VwStatus st = make(&work);
  if (st) {
    add_error(&work, name ? name : "", st, page);
  } else {
    add_made(&work, name ? name : "", page);
  }
  free(name);
  report_clear(&work.report);
  made_files_clear(&work.made);
  vw_family_clear(&work.kept);
  vw_family_clear(&work.family);
  input_clear(&work.input);
  return !st;
}
