#include "base/status.h"
#include "board/board.h"
#include "card/card.h"
#include "cli/boards/boards.h"
#include "cli/commands.h"
#include "cli/files/files.h"
#include "cli/message/message.h"
#include "cli/packing/packing.h"
#include "cli/plot/plot.h"
#include "cli/report/card.h"
#include "container/container.h"
#include "store/store.h"

#include <stdlib.h>

/// Print a fault as one line, safe to show.
static void
print_fault(const VwFault* fault) {
  char* const line =
    text_format("%s: %s: %s", fault->path, fault->what, fault->remedy);
  char* const safe = text_safe(line);
  line_flow(stdout, safe);
  free(safe);
  free(line);
}

static void
say_warning(const VwFault* warning) {
  say(warning->path,
      "warning: %s%s%s",
      warning->what,
      *warning->remedy ? ": " : "",
      warning->remedy);
}

static void
print_findings(const VwFindings* found, bool quiet) {
  for (size_t i = 0; i < found->faults.n_faults; ++i) {
    print_fault(&found->faults.faults[i]);
  }
  for (size_t i = 0; !quiet && i < found->warnings.n_faults; ++i) {
    say_warning(&found->warnings.faults[i]);
  }
}

/// "" or the share of a board's room that is taken.
static void
share_word(char text[64], uint64_t n_bytes, uint64_t capacity) {
  char size[24];
  text[0] = '\0';
  if (capacity) {
    (void)snprintf(text,
                   64,
                   ", %.0f %% of the board's %s",
                   100.0 * (double)n_bytes / (double)capacity,
                   report_size(size, capacity));
  }
}

/// What is found where there is no fault: `good`, or that there are warnings.
/// To be freed.
static char*
verdict(const VwFindings* found, const char* good) {
  const size_t n = found->warnings.n_faults;
  return n ? text_format(
               "no fault, but mind the %zu warning%s", n, n == 1U ? "" : "s")
           : text_format("%s", good);
}

/// Say how files of ours come onto the card.
static void
print_next(const CheckReport* report) {
  char* const folder = text_quoted(report->path);
  printf("  its hidden records, .volleyweave.*, are not for the card\n");
  if (!vw_container_is_bare(report->board->container)) {
    line_flow_made(
      text_format("Next: volleyweave deliver %s --to CARD", folder));
  }
  free(folder);
}

/// Print how much there is, where nothing is amiss.
static void
print_summary(const CheckReport* report) {
  const VwFindings* const found = report->findings;
  char                    share[64];
  SizeText                size;
  char* const             path = text_safe(report->path);
  char* const             words = verdict(found, "good");
  report_card_size(
    size, found->n_bytes, found->n_bytes_on_card, found->cluster_bytes);
  share_word(share, found->n_bytes_on_card, report->board->capacity_bytes);
  line_flow_made(text_format("%s: %s for %s: %zu file%s, %s%s",
                             path,
                             words,
                             report->board->name,
                             found->n_files,
                             found->n_files == 1U ? "" : "s",
                             size,
                             share));
  if (pack_near_is_ours(report->path)) {
    print_next(report);
  }
  free(words);
  free(path);
}

static void
print_text(const CheckReport* report, bool quiet) {
  print_findings(report->findings, quiet);
  if (!quiet && !report->findings->faults.n_faults) {
    print_summary(report);
  }
}

/// Print what is wrong with a loop, or what it may be if nothing is.
static void
print_loop(const CheckReport* report, double gap_ms, bool quiet) {
  const VwFindings* const found = report->findings;
  if (!quiet) {
    report_loop_text(report->path, &report->loop, stdout);
  }
  print_findings(found, quiet);
  if (!quiet && !found->faults.n_faults && !report->loop.facts->single &&
      !report->loop.facts->several && !report->loop.facts->once) {
    char* const words = verdict(found, "a good loop");
    line_flow_made(text_format("%s: %s; if it stutters, %s",
                               report->path,
                               words,
                               gap_ms > 0.0
                                 ? "the board's gap is not the one given"
                                 : "make it with the board's --gap"));
    free(words);
  }
}

/// Draw the picture that is asked for. False, and said, if it cannot be
/// written. What has no sound has no picture.
static bool
draw(const CheckReport* report, const Settings* settings) {
  VwSound  sound = {0};
  VwBytes  bytes = {0};
  VwStatus st = vw_read(report->path, &settings->reading, &sound, NULL);
  if (st) {
    say(settings->plot,
        "not drawn, since no sound can be read: mend the file first");
    return true;
  }
  st = plot_file(report, &sound, settings->plot, &bytes);
  st = st ? st : made_picture_write(&bytes, settings);
  vw_sound_clear(&sound);
  vw_bytes_clear(&bytes);
  if (st) {
    plot_say(settings->plot, st);
  }
  return !st;
}

/// Report what was found, in the way asked for. Returns the exit status.
static int
show(const CheckReport* report, const Settings* settings) {
  const VwStatus st = report->status;
  int            status = st                                  ? EXIT_FILE
                          : report->findings->faults.n_faults ? EXIT_FAULTS
                                                              : EXIT_DONE;
  if (st) {
    say_status(report->path, st);
  }
  if (settings->json && !report_check_json(report, stdout)) {
    say_status(report->path, VW_NO_MEMORY);
  } else if (!settings->json && !st && report->board) {
    print_text(report, settings->quiet);
  } else if (!settings->json && !st) {
    print_loop(report, settings->family.gap_ms, settings->quiet);
  }
  if (settings->plot && !st && !draw(report, settings)) {
    status = EXIT_FILE;
  }
  // What is said of the next one comes after what is said of this.
  (void)fflush(stdout);
  return status;
}

/// Check a file as a loop, by itself. Returns the exit status.
static int
check_loop(const Settings* settings, const char* path) {
  VwSound           sound = {0};
  VwLoopFacts       facts = {0};
  VwFindings        found = {0};
  const VwLoopAsked asked = loop_asked(settings, path);
  VwStatus st = vw_loop_read(path, &settings->reading, &asked, &sound, &facts);
  st = st ? st : vw_loop_note(&sound, path, &facts, &found);
  const CheckReport report = {.path = path,
                              .loop = {st ? NULL : &sound, st ? NULL : &facts},
                              .findings = st ? NULL : &found,
                              .status = st};
  const int         status = show(&report, settings);
  vw_findings_clear(&found);
  vw_sound_clear(&sound);
  return status;
}

/// Whether what is checked without a board can be a loop.
static int
check_alone(const Settings* settings) {
  for (size_t i = 0; i < settings->n_takes; ++i) {
    if (vw_path_is_folder(settings->takes[i])) {
      return say_usage("--board",
                       "a folder needs a board: name one, as in --board "
                       "wav-44k-mono; `volleyweave boards` lists them");
    }
  }
  return EXIT_DONE;
}

/// Check one file or folder. Returns the exit status.
static int
check(const Settings* settings, const VwBoard* board, const char* path) {
  VwFindings found = {0};
  if (pack_near_refuse(path)) {
    return EXIT_USAGE;
  }
  const VwStatus    st = vw_check(path, board, &found);
  const CheckReport report = {
    .path = path, .board = board, .findings = st ? NULL : &found, .status = st};
  const int status = show(&report, settings);
  vw_findings_clear(&found);
  return status;
}

/// Whether there can be a picture of what is checked.
static int
check_plot(const Settings* settings) {
  if (settings->plot && vw_path_is_folder(settings->takes[0])) {
    return say_usage("--plot",
                     "a picture shows one file: name one of the folder's");
  }
  return plot_check(settings);
}

int
command_check(const CommandName* command, const Settings* settings) {
  VwBoard board;
  size_t  n_failed = 0;
  bool    found = false;
  int     status = EXIT_DONE;
  (void)command;
  status = check_plot(settings);
  if (status != EXIT_DONE) {
    return status;
  }
  if (!board_find_or_default(settings->board_asked, &board, &found)) {
    return EXIT_USAGE;
  }
  if (found && settings->family.find.has_kind) {
    return say_usage(
      "--as", "it is for a loop without a board: leave it or --board out");
  }
  status = found ? EXIT_DONE : check_alone(settings);
  if (status != EXIT_DONE) {
    return status;
  }
  for (size_t i = 0; i < settings->n_takes; ++i) {
    const int one = found ? check(settings, &board, settings->takes[i])
                          : check_loop(settings, settings->takes[i]);
    n_failed += one == EXIT_FILE;
    status = one == EXIT_DONE || status == EXIT_FILE ? status : one;
  }
  if (n_failed && settings->n_takes > 1U) {
    say("check", "%zu of %zu failed", n_failed, settings->n_takes);
  }
  return status;
}
