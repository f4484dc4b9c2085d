// For realpath().
#define _XOPEN_SOURCE 700

#include "board/board.h"
#include "cli/commands.h"
#include "cli/files/files.h"
#include "cli/message/message.h"
#include "cli/packing/packing.h"
#include "cli/page.h"
#include "cli/prop/prop.h"
#include "store/store.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/// A pack for some boards.
typedef struct {
  const CommandName* command;
  const Settings*    settings;
  PackSource         source;
  PackBoards         boards;
  char*              output; ///< The folder of all packs. Owned.
  double             found_lufs;
  unsigned           cautioned; ///< What was said.
  VwSignals          signals;   ///< That ask for the end.
  PackRun*           runs;      ///< One for each board. Owned.
} Job;

/* Folders */

/// A name without links, of which the last parts need not be there yet. To be
/// freed.
static char*
real_name(const char* path) {
  char* const real = realpath(path, NULL);
  if (real) {
    return real;
  }
  const char* const slash = strrchr(path, '/');
  if (slash == path || (slash && !slash[1])) {
    return text_format("%s", path);
  }
  char* const parent =
    slash ? text_format("%.*s", (int)(slash - path), path) : text_format(".");
  char* const real_parent = parent ? real_name(parent) : NULL;
  char* const name =
    real_parent ? text_format("%s/%s", real_parent, slash ? slash + 1 : path)
                : NULL;
  free(parent);
  free(real_parent);
  return name;
}

/// Refuse to write among the takes of a folder: the next run would find the
/// files of this one there.
static int
check_output(const Settings* settings) {
  const char* const named = settings->takes[0];
  const char* const asked = settings->output ? settings->output : OUTPUT_FOLDER;
  const char* const folder = vw_path_is_folder(named) ? named : NULL;
  char* const       takes = folder ? real_name(folder) : NULL;
  char* const       output = real_name(asked);
  const bool        inside = takes && output && vw_path_lies_in(output, takes);
  free(takes);
  free(output);
  if (!inside) {
    return EXIT_DONE;
  }
  return say_usage(asked,
                   "the pack would lie in the folder of its takes, %s: name "
                   "another folder with -o",
                   folder);
}

/// Refuse what one option alone cannot tell.
static int
check_options(const Settings* settings) {
  if (settings->output && !strcmp(settings->output, "-")) {
    return say_usage("-o -", "a pack is a folder of files: name a folder");
  }
  if (settings->pack.write_list && !strcmp(settings->pack.write_list, "-")) {
    return say_usage("--write-list -",
                     "a sound list is to be packed later: name it, as in "
                     "--write-list sounds.ini");
  }
  if (settings->pack.all_reach &&
      settings->family.level.aim != VW_AIM_LOUDEST) {
    return say_usage("--all-reach",
                     "the loudness is given already: leave one of them out");
  }
  return check_output(settings);
}

/* Loudness */

/// Tell how to keep the loudness that was found, so that a sound changed later
/// does not move the others.
static void
tell_loudness(const Job* job) {
  const Settings* const settings = job->settings;
  const Prop* const     prop = &job->source.prop;
  if (prop->path && !settings->pack.write_list && !settings->quiet &&
      !settings->json && !settings->dry_run && isfinite(job->found_lufs) &&
      prop_loudness_found(prop) != job->found_lufs) {
    fputs("To keep this loudness: ", stdout);
    prop_loudness_print(prop, job->found_lufs, stdout);
    puts(" under [prop]");
  }
}

/* Packs */

static int
pack_for(Job* job, size_t index) {
  const VwBoard* const board = &job->boards.boards[index];
  PackRun* const       run = &job->runs[index];
  *run =
    (PackRun){.command = job->command,
              .settings = job->settings,
              .prop = &job->source.prop,
              .board = board,
              .folder = pack_folder(job->settings, &job->source.prop, board),
              .signals = &job->signals,
              .cautioned = &job->cautioned,
              .partial = job->source.n_failed != 0U,
              .found_lufs = job->found_lufs};
  if (!run->folder) {
    say(board->name, NO_MEMORY);
    return EXIT_FILE;
  }
  const int status = pack_run(run);
  // What was not made is none to go by.
  if (run->made) {
    job->found_lufs = run->found_lufs;
  }
  return status;
}

/// Write the page on which all packs of this run can be tried.
static bool
write_page(const Job* job) {
  char* const    path = vw_path_join(job->output, "tryout.html");
  const PagePack shown = {.settings = job->settings,
                          .prop = &job->source.prop,
                          .boards = &job->boards,
                          .runs = job->runs,
                          .path = path};
  const bool     good = path && page_of_pack(&shown);
  if (!path) {
    say(job->output, NO_MEMORY);
  }
  free(path);
  return good;
}

static void
clear_runs(Job* job) {
  for (size_t i = 0; job->runs && i < job->boards.n_boards; ++i) {
    pack_run_clear(&job->runs[i]);
  }
  free(job->runs);
}

static int
pack_all(Job* job) {
  int status = job->source.n_failed ? EXIT_FILE : EXIT_DONE;
  // What --all-reach finds is found again each time.
  job->found_lufs = job->settings->pack.all_reach
                      ? (double)NAN
                      : prop_loudness_found(&job->source.prop);
  if (!pack_boards_check(job->settings, &job->boards, &job->source.prop)) {
    return EXIT_FILE;
  }
  job->runs = calloc(job->boards.n_boards, sizeof(PackRun));
  if (!job->runs || !job->output) {
    say("pack", NO_MEMORY);
    return EXIT_FILE;
  }
  for (size_t i = 0; i < job->boards.n_boards; ++i) {
    if (pack_for(job, i) != EXIT_DONE) {
      status = EXIT_FILE;
    }
  }
  tell_loudness(job);
  return write_page(job) ? status : EXIT_FILE;
}

/// What to do with a sound list that was written without a board to pack for.
static int
tell_next(const Job* job) {
  const Settings* const settings = job->settings;
  char* const           quoted = text_quoted(settings->pack.write_list);
  if (!settings->quiet && !settings->json) {
    line_flow(stdout,
              "No board is named, so nothing is packed yet; `volleyweave "
              "boards` lists them.");
    line_flow_made(
      text_format("Next: volleyweave pack --board BOARD %s", quoted));
  }
  free(quoted);
  return job->source.n_failed ? EXIT_FILE : EXIT_DONE;
}

/// Write down what was guessed, with the slots and the loudness found since.
static bool
write_list(Job* job) {
  const Settings* const settings = job->settings;
  Prop* const           prop = &job->source.prop;
  if (!settings->pack.write_list || settings->dry_run) {
    return true;
  }
  prop->loudness_found_lufs = job->found_lufs;
  const bool good = prop_write(prop, settings->pack.write_list);
  if (good && !settings->quiet) {
    say(settings->pack.write_list,
        "written: change it as you like, then pack it");
  }
  return good;
}

int
command_pack(const CommandName* command, const Settings* settings) {
  Job job = {
    .command = command, .settings = settings, .found_lufs = (double)NAN};
  vw_signals_hold(&job.signals);
  int status = check_options(settings);
  if (status == EXIT_DONE) {
    status = pack_source_read(settings, &job.source);
  }
  if (status == EXIT_DONE) {
    job.output = pack_folder(settings, &job.source.prop, NULL);
    status = pack_boards_find(command, settings, &job.source.prop, &job.boards);
  }
  if (status == EXIT_DONE) {
    status = job.boards.n_boards ? pack_all(&job) : tell_next(&job);
    status = write_list(&job) ? status : EXIT_FILE;
  }
  clear_runs(&job);
  free(job.output);
  pack_boards_clear(&job.boards);
  pack_source_clear(&job.source);
  vw_signals_release(&job.signals);
  return status;
}
