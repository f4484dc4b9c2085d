#include "cli/lamp/lamp_prop.h"

#include "board/board.h"
#include "cli/files/paths.h"
#include "cli/message/caution.h"
#include "cli/message/say.h"
#include "cli/message/status.h"
#include "cli/message/text.h"
#include "cli/packing/pack_boards.h"
#include "cli/packing/pack_run.h"
#include "cli/packing/pack_source.h"
#include "pack/pack.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

// Where a pack would be, that is asked for its figures.
#define FOLDER "volleyweave-out"

// 2 a second leave a single flash what is usual, or half a period if asked.
#define SINGLE_PER_S 2.0
#define SINGLE_MOST_MS 250.0

/// A prop and its boards.
typedef struct {
  const CommandName* command;
  const Settings*    settings;
  PackSource         source;
  PackBoards         boards;
} Job;

static bool
ends_in(const char* word, const char* ending) {
  const size_t n = strlen(word);
  const size_t k = strlen(ending);
  return n >= k && !strcmp(word + n - k, ending);
}

bool
lamp_prop_is(const char* word) {
  return ends_in(word, ".ini") || path_is_folder(word);
}

/* One sound */

/// How long the lamp of a single shot flashes.
static VwOnTime
single_on_time(const VwFamilyOptions* options) {
  return options->lamp_on_ms > 0.0
           ? (VwOnTime){fmin(options->lamp_on_ms, SINGLE_MOST_MS),
                        (double)NAN,
                        VW_ON_ASKED}
           : (VwOnTime){vw_lamp(SINGLE_PER_S).on_ms, (double)NAN, VW_ON_USUAL};
}

/// False, and said, where a lamp cannot be on for as long as was asked.
static bool
set_flashes(const VwPackSound* sound, LampReport* report) {
  const VwFamily* const family = &sound->family;
  const double          duty = report->settings->lamp.duty;
  if (!family->plan.shots) {
    report->on_time = single_on_time(&sound->options);
    report->lamp.on_ms = report->on_time.on_ms;
    return true;
  }
  report->on_time = family->on_time;
  report->lamp = family->lamp;
  if (duty > 0.0) {
    report->on_time.on_ms = duty * report->lamp.period_ms;
    report->on_time.reason = VW_ON_ASKED;
    report->lamp = vw_lamp_with(report->lamp.pulse_hz, report->on_time.on_ms);
  }
  report->track = family->lamp_track;
  return lamp_find(report);
}

/* One board */

static bool
take_figures(const VwPack* pack, LampProp* prop) {
  bool good = true;
  prop->packed = !pack->sums.n_other && !pack->sums.n_failed;
  for (size_t i = 0; i < pack->n_sounds; ++i) {
    const VwPackSound* const sound = &pack->sounds[i];
    LampReport* const        report = &prop->lamps[i];
    report->settings = &prop->settings;
    report->subject = prop->subject;
    report->source = LAMP_FROM_PROP;
    report->sound = sound->wish->name;
    report->slot = sound->wish->slot;
    report->make = sound->wish->make;
    report->status = sound->status;
    good &= sound->status || sound->wish->make == VW_MAKE_WHOLE ||
            set_flashes(sound, report);
  }
  return good;
}

/// Whether a lamp's flashes need the stronger caution.
static bool
is_faster(const LampReport* lamp, const LampReport* than) {
  const unsigned fast = caution_of_flashes(lamp->lamp.pulse_hz);
  return fast != caution_of_flashes(than->lamp.pulse_hz)
           ? fast != 0
           : lamp_most_hz(lamp) > lamp_most_hz(than);
}

const LampReport*
lamp_prop_fastest(const LampProp* prop) {
  const LampReport* fastest = NULL;
  for (size_t i = 0; i < prop->n_lamps; ++i) {
    const LampReport* const lamp = &prop->lamps[i];
    if (lamp_flashes(lamp) && (!fastest || is_faster(lamp, fastest))) {
      fastest = lamp;
    }
  }
  return fastest;
}

static bool
show(const LampProp* prop) {
  const bool json = prop->settings.json;
  const bool good = !json || lamp_prop_json(prop, stdout);
  if (!good) {
    say_status(prop->subject, VW_NO_MEMORY);
  } else if (!json && !prop->settings.quiet) {
    lamp_table(prop, stdout);
  }
  return good;
}

static int
report_pack(const PackRun* run, const VwPack* pack, LampProp* prop) {
  const size_t n_failed = pack_run_say_failures(run, pack);
  if (!take_figures(pack, prop)) {
    return EXIT_USAGE;
  }
  return show(prop) && !n_failed ? EXIT_DONE : EXIT_FILE;
}

static int
report_board(Job* job, size_t index) {
  const VwBoard* const board = &job->boards.boards[index];
  char* const          folder = text_format(FOLDER "/%s", board->name);
  PackRun              run = {.command = job->command,
                              .settings = job->settings,
                              .prop = &job->source.prop,
                              .board = board,
                              .board_asked = job->boards.asked[index],
                              .folder = folder,
                              .found_lufs = job->source.prop.loudness_found_lufs};
  LampProp             prop = {
                .settings = *job->settings,
                .subject = job->settings->takes[0],
                .n_lamps = job->source.prop.n_sounds,
                .lamps = calloc(job->source.prop.n_sounds + 1U, sizeof(LampReport))};
  VwPack       pack = {0};
  VwSoundWish* wishes = NULL;
  int          status = EXIT_FILE;
  prop.settings.has_board = true;
  prop.settings.board = *board;
  if (!folder || !prop.lamps) {
    say_status(board->name, VW_NO_MEMORY);
  } else if (pack_run_try(&run, &wishes, &pack)) {
    status = report_pack(&run, &pack, &prop);
  }
  vw_pack_clear(&pack);
  free(wishes);
  free(prop.lamps);
  free(folder);
  return status;
}

/* All */

/// Refuse what asks for something else than a table.
static int
check_options(const Settings* settings) {
  if (ends_in(settings->takes[0], ".board.ini")) {
    return say_usage(settings->takes[0],
                     "a board: name it with --board, beside a fire rate, a "
                     "loop or a prop file");
  }
  if (settings_is_given(settings, "gap")) {
    return say_usage("--gap",
                     "a prop's boards have gaps of their own: write it into "
                     "the board's file");
  }
  const char* const of_one = settings->lamp.brightness_steps > 0.0
                               ? "--brightness-steps"
                             : settings->lamp.header ? "--header"
                             : settings->plot        ? "--plot"
                                                     : NULL;
  return of_one ? say_usage(of_one,
                            "it is of one sound: give the loop of one of them "
                            "instead of the prop, or its fire rate, as in "
                            "`volleyweave lamp 9/s`")
                : EXIT_DONE;
}

static int
report_boards(Job* job) {
  int status = job->source.n_failed ? EXIT_FILE : EXIT_DONE;
  if (!pack_boards_check(job->settings, &job->boards, &job->source.prop)) {
    return EXIT_FILE;
  }
  for (size_t i = 0; i < job->boards.n_boards; ++i) {
    const int of_board = report_board(job, i);
    status = of_board == EXIT_DONE ? status : of_board;
  }
  return status;
}

int
lamp_prop(const CommandName* command, const Settings* settings) {
  Job job = {.command = command, .settings = settings};
  int status = check_options(settings);
  if (status == EXIT_DONE) {
    status = pack_source_read(settings, &job.source);
  }
  if (status == EXIT_DONE) {
    status = pack_boards_find(command, settings, &job.source.prop, &job.boards);
  }
  if (status == EXIT_DONE) {
    status = report_boards(&job);
  }
  pack_boards_clear(&job.boards);
  pack_source_clear(&job.source);
  return status;
}
