#include "card/card.h"
#include "cli/boards/boards.h"
#include "cli/commands.h"
#include "cli/message/figures.h"
#include "cli/packing/packing.h"
#include "cli/report/card.h"
#include "store/store.h"

#include <inttypes.h>
#include <stdlib.h>

/// A step with one file.
typedef VwStatus (*Step)(VwDelivery* delivery, size_t index);

/// Take a step with each file; on a terminal it is shown how far it is.
static VwStatus
take_all(const Settings* settings,
         const char*     what,
         Step            step,
         VwDelivery*     delivery) {
  Progress  progress = {.silent = settings->quiet};
  VwSignals signals;
  VwStatus  st = VW_OK;
  progress_begin(&progress, what, delivery->n_files);
  for (size_t i = 0; !st && i < delivery->n_files; ++i) {
    // Nobody stops it within a file.
    vw_signals_hold(&signals);
    st = step(delivery, i);
    vw_signals_release(&signals);
    progress_step(&progress, delivery->files[i].path);
  }
  progress_end(&progress);
  return st;
}

/// Write all files, then read all back.
static VwStatus
deliver(const Settings* settings, VwDelivery* delivery) {
  VwSignals signals;
  vw_signals_hold(&signals);
  VwStatus st = vw_delivery_make_room(delivery);
  vw_signals_release(&signals);
  st = st ? st : take_all(settings, "writing", vw_delivery_write, delivery);
  st =
    st ? st : take_all(settings, "reading back", vw_delivery_verify, delivery);
  return st ? st : vw_delivery_finish(delivery);
}

/// Note what keeps a file from playing right, beside what is not as its pack
/// made it.
static VwStatus
check_file(const VwBoard* board, VwDelivery* delivery, size_t index) {
  const char* const name = delivery->files[index].path;
  VwFindings        found = {0};
  char* const       path = vw_path_join(delivery->from, name);
  VwStatus          st = path ? vw_check(path, board, &found) : VW_NO_MEMORY;
  for (size_t i = 0; !st && i < found.faults.n_faults; ++i) {
    const VwFault* const fault = &found.faults.faults[i];
    st = vw_faults_add(&delivery->apart, name, 0, fault->what, fault->remedy);
  }
  vw_findings_clear(&found);
  free(path);
  return st;
}

/// Check all files as their board plays them: the one asked for, or the pack's.
/// Returns the exit status.
static int
check_files(const Settings* settings, VwDelivery* delivery) {
  const char* const name =
    settings->board_asked ? settings->board_asked : delivery->board;
  VwBoard  board;
  VwStatus st = VW_OK;
  if (!name) {
    return EXIT_DONE;
  }
  if (!settings->board_asked && !board_is_at_hand(name)) {
    say(settings->takes[0],
        "warning: not checked, since its board %s is not at hand: name its "
        "file with --board",
        name);
    return EXIT_DONE;
  }
  if (!board_find(name, &board)) {
    return EXIT_USAGE;
  }
  for (size_t i = 0; !st && i < delivery->n_files; ++i) {
    st = check_file(&board, delivery, i);
  }
  if (st) {
    say_status(settings->takes[0], st);
  }
  return st ? EXIT_FILE : EXIT_DONE;
}

/// Print names of files, each with what happens to it.
static void
print_names(const char* what, const VwDelivered* files, size_t n_files) {
  for (size_t i = 0; i < n_files; ++i) {
    char* const name = text_safe(files[i].path);
    printf("  %-12s %s (%" PRIu64 " bytes)\n", what, name, files[i].n_bytes);
    free(name);
  }
}

static void
print_text(const DeliveryReport* report) {
  const VwDelivery* const delivery = report->delivery;
  char* const             to = text_safe(report->to);
  SizeText                size;
  char                    room[24];
  if (report->dry_run) {
    print_names("would clear", delivery->old, delivery->n_old);
    print_names("would write", delivery->files, delivery->n_files);
  }
  report_card_size(size,
                   delivery->n_bytes,
                   delivery->n_bytes_on_card,
                   delivery->cluster_bytes);
  line_flow_made(text_format("%s: %zu file%s, %s, of %s free%s",
                             to,
                             delivery->n_files,
                             delivery->n_files == 1U ? "" : "s",
                             size,
                             report_size(room, delivery->n_bytes_free),
                             report->dry_run ? "; nothing was written" : ""));
  if (report->verified) {
    line_flow_made(
      text_format("%s: written in order, and verified: every byte reads back "
                  "right; eject it before you take it out",
                  to));
  }
  caution_lines(VW_CAUTION_LOOK_ALIKE | VW_CAUTION_HEARING, NULL, stdout);
  free(to);
}

static void
say_warnings(const DeliveryReport* report) {
  const VwDelivery* const delivery = report->delivery;
  if (!pack_near_is_ours(report->from)) {
    say(report->from,
        "warning: not made by `volleyweave pack`: check it with `volleyweave "
        "check`");
  }
  for (size_t i = 0; i < delivery->apart.n_faults; ++i) {
    const VwFault* const fault = &delivery->apart.faults[i];
    char* const          path = vw_path_join(report->from, fault->path);
    say(path, "warning: %s: %s", fault->what, fault->remedy);
    free(path);
  }
  for (size_t i = 0; i < delivery->n_left; ++i) {
    char* const path = text_format("%s/%s", report->to, delivery->left[i].path);
    say(path,
        "warning: not put there by this program, and a simple board may play "
        "it: delete it, or move it away");
    free(path);
  }
  if (!delivery->mounted) {
    say(report->to,
        "warning: no card is mounted here, it is a folder of another disk: "
        "check that it is the right one");
  }
  if (!delivery->ordered) {
    say(report->to,
        "warning: its files are not in the order written, by which some boards "
        "play: clear it and deliver again");
  }
}

/// Say what failed, and what that means for the card.
static void
say_failure(const DeliveryReport* report, bool begun) {
  const char* const at = report->delivery->at;
  if (report->status == VW_NO_FOLDER && !begun) {
    say(report->to,
        "there is no such folder: put the card in and mount it; `lsblk` lists "
        "the places");
    return;
  }
  say_status(at ? at : report->to, report->status);
  if (begun) {
    say(report->to,
        "the delivery is not complete and the card is not verified: "
        "deliver again");
  }
}

static int
run(const Settings* settings, VwDelivery* delivery) {
  DeliveryReport report = {.from = settings->takes[0],
                           .to = settings->deliver.to,
                           .delivery = delivery,
                           .dry_run = settings->dry_run};
  report.status =
    vw_delivery_plan(report.from, report.to, settings->force, delivery);
  if (report.status != VW_NESTED && pack_near_refuse_target(report.to)) {
    return EXIT_USAGE;
  }
  const int checked =
    report.status ? EXIT_DONE : check_files(settings, delivery);
  if (checked != EXIT_DONE) {
    return checked;
  }
  const bool begun = !report.status && !settings->dry_run;
  if (begun) {
    report.status = deliver(settings, delivery);
    report.verified = !report.status;
  }
  if (report.status) {
    say_failure(&report, begun);
  }
  if (settings->json && !report_delivery_json(&report, stdout)) {
    say_status(report.to, VW_NO_MEMORY);
  } else if (!settings->json && !settings->quiet && !report.status) {
    say_warnings(&report);
    print_text(&report);
  }
  return report.status ? EXIT_FILE : EXIT_DONE;
}

int
command_deliver(const CommandName* command, const Settings* settings) {
  VwDelivery delivery = {0};
  (void)command;
  if (pack_near_refuse(settings->takes[0])) {
    return EXIT_USAGE;
  }
  const int status = run(settings, &delivery);
  vw_delivery_clear(&delivery);
  return status;
}
