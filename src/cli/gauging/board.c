// A board: its test sound written, or its recording measured.

#include "base/caution.h"
#include "base/ranges.h"
#include "base/size.h"
#include "cli/gauging/gauging.h"
#include "cli/message/figures.h"
#include "cli/plot/plot.h"
#include "store/store.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

// A recording that is clipped for so much of its time, and in which nothing is
// found, is clipped all through.
#define CLIPPED_THROUGH 0.05

// Marks that make a test sound, though not this one.
#define STRANGE_LEAST 8U

/// The test sound in the format of the settings. False, and said, if it does
/// not fit.
static bool
plan(const Settings* settings, VwTestSound* test) {
  const VwFamilyOptions* const family = &settings->family;
  const size_t                 most = vw_size_loop_most(family);
  const unsigned               rate_hz = family->format.rate_hz;
  const VwTestWish             wish = {
                .rate_hz = rate_hz ? rate_hz : VW_SAMPLE_RATE_USUAL_HZ,
                .n_channels = family->format.n_channels,
                .frames_unit = vw_size_loop_unit(family),
                .frames_most = most == SIZE_MAX ? 0U : most,
  };
  return !vw_test_plan(&wish, test) ||
         say(settings->board.name,
             "its files hold less than the second that a test sound lasts: "
             "gauge it with a loop of yours and --loop");
}

static int
write_test(const CommandName* command, const Settings* settings) {
  VwTestSound test;
  VwSound     sound = {0};
  if (!plan(settings, &test)) {
    return EXIT_USAGE;
  }
  const VwStatus st = vw_test_make(&test, &sound);
  if (st) {
    say_status(command->name, st);
    return EXIT_FILE;
  }
  const GaugeSound file = {
    &sound,
    "gauge-board",
    VW_CAUTION_HEARING,
    "copy it onto the board as a held sound; the phone lies a hand's breadth "
    "from speaker and switch, set to WAV if it can: hold the trigger for 10 s, "
    "let go, then press for 1 s, 0.5 s, 0.25 s and so on, with 3 s of quiet "
    "after each"};
  const int status = gauge_write(command, settings, &file);
  vw_sound_clear(&sound);
  return status;
}

/* Measure */

/// What helps where nothing was found. To be freed.
static char*
message_of_nothing(const BoardGauged* gauged) {
  const VwGaugedBoard* const board = &gauged->board;
  if (board->n_strange >= STRANGE_LEAST && !gauged->settings->gauge.loop) {
    return text_format(
      "%zu marks are heard, but of another test sound: name the --board for "
      "which it was written",
      board->n_strange);
  }
  if (board->signs.clipped > CLIPPED_THROUGH) {
    return text_format("clipped all through, and nothing is told: record it "
                       "from farther away, or softer");
  }
  return gauged->settings->gauge.loop
           ? text_format("this loop is not heard in it: give the one that the "
                         "board plays, or record it nearer")
           : text_format("no mark of the test sound is heard in it: let the "
                         "board play what --write wrote, or record it nearer");
}

static char*
message_of(const BoardGauged* gauged) {
  const double most_s = gauged->settings->reading.seconds_max;
  switch (gauged->status) {
    case VW_OK:
      return NULL;
    case VW_NO_SHOT:
      return message_of_nothing(gauged);
    case VW_TOO_LONG:
      return text_format("longer than %g s, and no more is read: cut it to the "
                         "presses, or give a longer --seconds-max",
                         most_s);
    case VW_SILENT:
      return text_format("it is silent: record it again, with the microphone "
                         "near the speaker");
    default:
      return status_message(gauged->status);
  }
}

/// Read a sound, and say its faults.
static VwStatus
read_sound(const Settings* settings, const char* path, VwSound* sound) {
  VwReadFault fault = {0};
  return vw_read(path, &settings->reading, sound, &fault);
}

/// Measure the recording by the loop that is in it. False, and said, if that
/// cannot be read.
static bool
by_loop(BoardGauged* gauged) {
  const char* const path = gauged->settings->gauge.loop;
  VwSound           loop = {0};
  const VwStatus    st = read_sound(gauged->settings, path, &loop);
  if (st) {
    say_status(path, st);
    gauged->status = st;
    return false;
  }
  gauged->status = vw_gauge_by_loop(&gauged->recording, &loop, &gauged->board);
  vw_sound_clear(&loop);
  return true;
}

/// Measure it. False, and said, if that fails.
static bool
measure(BoardGauged* gauged) {
  const Settings* const settings = gauged->settings;
  VwTestSound           test;
  bool                  said = false;
  gauged->status = read_sound(settings, gauged->path, &gauged->recording);
  if (!gauged->status && settings->gauge.loop) {
    said = !by_loop(gauged);
  } else if (!gauged->status && !plan(settings, &test)) {
    said = true;
    gauged->status = VW_FILE_TOO_BIG;
  } else if (!gauged->status) {
    gauged->rate_hz = test.rate_hz;
    gauged->status =
      vw_gauge_by_test(&gauged->recording, &test, &gauged->board);
  }
  if (!gauged->status && !gauged->board.n_plays) {
    gauged->status = VW_NO_SHOT;
  }
  gauged->message = message_of(gauged);
  if (gauged->status && !said) {
    say(gauged->path, "%s", gauged->message ? gauged->message : "failed");
  }
  return !gauged->status;
}

static int
measure_board(const Settings* settings) {
  BoardGauged gauged = {.settings = settings, .path = settings->takes[1]};
  bool        good = measure(&gauged);
  good = good && ((!settings->gauge.save && !settings->plot) ||
                  gauge_board_save(&gauged));
  if (!gauge_board_report(&gauged)) {
    say_status(gauged.path, VW_NO_MEMORY);
    good = false;
  }
  vw_sound_clear(&gauged.recording);
  free(gauged.message);
  free(gauged.saved);
  return good ? EXIT_DONE : EXIT_FILE;
}

/// What does not go together. Returns the exit status.
static int
check(const Settings* settings) {
  const GaugeSettings* const gauge = &settings->gauge;
  if (gauge->write && settings->n_takes > 1U) {
    return say_usage(settings->takes[1], "--write takes no file: leave it out");
  }
  if (!gauge->write && settings->n_takes < 2U) {
    return say_usage("gauge board",
                     "no recording is given: write the test sound with "
                     "`volleyweave gauge board --write`, or name a recording "
                     "of it");
  }
  if (settings->n_takes > 2U) {
    return say_usage(settings->takes[2],
                     "one recording is measured at a time: leave it out");
  }
  return !gauge->save || gauge_board_has_name(settings) ? plot_check(settings)
                                                        : EXIT_USAGE;
}

int
gauge_board(const CommandName* command, const Settings* settings) {
  const int status = check(settings);
  if (status != EXIT_DONE) {
    return status;
  }
  return settings->gauge.write ? write_test(command, settings)
                               : measure_board(settings);
}
