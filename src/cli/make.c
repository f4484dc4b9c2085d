#include "cli/commands.h"

#include "cli/files/files.h"
#include "cli/louder.h"
#include "cli/message/message.h"
#include "cli/plot/plot.h"
#include "cli/prop/prop.h"
#include "cli/report/report.h"
#include "join/join.h"

#include <stdlib.h>

/// A command at work, and the takes of one family.
typedef struct {
  const CommandName* command;
  const Settings*    settings;
  Destination*       destination;
  Input*             inputs;
  size_t             n_inputs;
  Input*             ends;      ///< Takes of run-in and ring-out.
  const char* const* first;     ///< Of all takes.
  unsigned*          cautioned; ///< What was said.
  VwShots*           shots;     ///< Of the take, where more than one is used.
  Settings*          names;     ///< What their files are named by, likewise.
  size_t*            n_split;   ///< How many were named before, likewise.
} Work;

// Run-in and ring-out.
#define N_ENDS 2U

/* One family */

/// Say what is wrong with an input, if anything is.
static void
tell_input(const Input* input, Report* report) {
  if (input->status) {
    say(input->path, "%s", input->message);
    report->status = report->status ? report->status : input->status;
    report->message =
      report->message ? report->message : text_format("%s", input->message);
  }
}

/// Read the takes of run-in and ring-out, whole.
static void
load_ends(const Work* work, Report* report) {
  static const CommandName whole = {.name = "loop", .bit = COMMAND_CONVERT};
  const char* const        paths[] = {work->settings->loop.run_in_take,
                                      work->settings->loop.ring_out_take};
  Settings                 settings = *work->settings;
  settings.family.find = settings_defaults().family.find;
  for (size_t i = 0; i < N_ENDS; ++i) {
    if (paths[i]) {
      input_load(paths[i], &whole, &settings, &work->ends[i]);
      tell_input(&work->ends[i], report);
    }
  }
}

/// Read the takes. False, and said, if one cannot be used.
static bool
load(const Work* work, const char* const* takes, Report* report) {
  report->inputs = work->inputs;
  report->n_inputs = work->n_inputs;
  for (size_t i = 0; i < work->n_inputs; ++i) {
    Input* const input = &work->inputs[i];
    input_load(takes[i], work->command, work->settings, input);
    tell_input(input, report);
  }
  load_ends(work, report);
  return !report->status;
}

/// Returns false.
static bool
fail(Report* report, const char* subject, VwStatus status) {
  report->status = status;
  report->message = status_message(status);
  return say(subject, "%s", report->message);
}

static void
fail_picture(const Work* work, Report* report, VwStatus status) {
  report->status = status;
  report->message = plot_message(status);
  plot_say(work->settings->plot, status);
}

/// Whether somebody is going to read what would make it louder.
static bool
is_for_a_person(const Settings* settings) {
  return !settings->json && !settings->quiet;
}

/// Make the family, and find out what the report says of its level.
static VwStatus
make_and_measure(const Work*         work,
                 const VwFamilyWish* wish,
                 Report*             report,
                 VwFamily*           family) {
  // In a pack such a track stays silent, beside those of the shots.
  if (wish->options->lamp_track.wanted && !wish->options->burst_of_shots &&
      wish->facts[0].kind == VW_KIND_SUSTAINED &&
      vw_join_suits(wish->facts, wish->n_takes, wish->options)) {
    return VW_TRACK_NO_SHOTS;
  }
  VwStatus st = vw_family_measure(wish, family, NULL);
  if (!st && report->turns) {
    st = vw_turns_single(family, &report->single);
  }
  if (!st && !report->split && is_for_a_person(work->settings)) {
    st = vw_piece_measure(family, report->single, &report->written);
    louder_find(wish, family, &report->louder);
  }
  if (!st && report->turns) {
    vw_turns_keep(
      report->turns, report->single, family, &work->inputs[0].facts);
  }
  return st;
}

static VwStatus
make_family(const Work* work, Report* report, VwFamily* family) {
  const VwShots* const shots = report->split ? report->split : report->turns;
  VwTake* const        takes = calloc(work->n_inputs, sizeof(VwTake));
  VwShotFacts* const   facts = calloc(work->n_inputs, sizeof(VwShotFacts));
  VwStatus             st = takes && facts ? VW_OK : VW_NO_MEMORY;
  for (size_t i = 0; !st && i < work->n_inputs; ++i) {
    // Views: the inputs own them.
    takes[i] = work->inputs[i].take;
    facts[i] = work->inputs[i].facts;
  }
  VwFamilyOptions    options = work->settings->family;
  const Input* const ends = work->ends;
  const VwFamilyWish wish = {shots ? shots->takes : takes,
                             shots ? shots->used : facts,
                             shots ? shots->n_written : work->n_inputs,
                             &options};
  options.shot_only = work->command->bit != COMMAND_LOOP;
  options.whole = work->command->bit == COMMAND_CONVERT;
  options.run_in_take = ends[0].path ? &ends[0].take : NULL;
  options.ring_out_take = ends[1].path ? &ends[1].take : NULL;
  st = st ? st : make_and_measure(work, &wish, report, family);
  free(takes);
  free(facts);
  return st;
}

static void
fail_family(const Work* work, Report* report, VwStatus status) {
  report->status = status;
  report->message = report_message(
    &work->settings->family, &work->inputs[0].facts, work->n_inputs, status);
  say(work->inputs[0].path, "%s", report->message);
}

/// Whether all files are small enough for the board. False, and said, if
/// not.
static bool
check_fit(Report* report, const MadeFiles* made) {
  for (size_t i = 0; i < made->n_files; ++i) {
    char* const fault = fit_fault(
      report->settings, report->family->format.encoding, &made->files[i]);
    if (fault) {
      report->status = VW_FILE_TOO_BIG;
      report->message = fault;
      return say(made->files[i].path, "%s", fault);
    }
  }
  return true;
}

/// Draw the picture that is asked for. False, and said, if it cannot be.
static bool
draw(const Work* work, Report* report, MadeFiles* made) {
  if (!work->settings->plot) {
    return true;
  }
  // A picture has them too.
  (void)report_warn(report);
  const VwStatus st = work->command->bit == COMMAND_LOOP
                        ? plot_loop(report, &made->picture)
                        : plot_shot(report, &made->picture);
  if (st) {
    fail_picture(work, report, st);
  }
  return !st;
}

static void
encode_and_write(const Work* work, Report* report, MadeFiles* made) {
  const MadeFrom from = {work->command,
                         report->split ? work->names : work->settings,
                         report->family,
                         report->split ? 0U : report->first_take};
  size_t         at = 0;
  VwStatus       st = made_files_encode(&from, work->destination, made);
  if (st) {
    fail(report, report->inputs[0].path, st);
    return;
  }
  made->are_takes = report->split != NULL;
  report->files = made->files;
  report->n_files = made->n_files;
  if (!check_fit(report, made) || !draw(work, report, made)) {
    return;
  }
  if (work->destination->kind == TO_CALLER) {
    work->destination->take(
      work->destination->context, report->inputs[0].path, report->family);
    return;
  }
  st = made_files_write(made, work->settings, work->destination, &at);
  if (st && at >= made->n_files) {
    fail_picture(work, report, st);
  } else if (st && work->destination->kind == TO_STDOUT) {
    fail(report, "standard output", st);
  } else if (st) {
    fail(report, made->files[at].path, st);
  }
}

/* Shots of a take */

/// What the shots of a take are found from.
static VwShotsOf
shots_of(const Input* input) {
  return (VwShotsOf){
    &input->take, &input->events, &input->facts, input->clipped};
}

/// Find the shots of rapid fire that take turns, where they do. False, and
/// said, without memory.
static bool
find_turns(const Work* work, Report* report) {
  const Input* const    input = &work->inputs[0];
  const Settings* const settings = work->settings;
  if (work->command->bit != COMMAND_LOOP ||
      !vw_turns_suit(&input->facts, work->n_inputs, &settings->family)) {
    return true;
  }
  const VwShotsOf of = shots_of(input);
  const VwStatus  st = vw_turns_find(&of, &settings->family, work->shots);
  if (st) {
    return fail(report, input->path, st);
  }
  report->turns = work->shots;
  return true;
}

static bool
fail_split(const Work* work, Report* report, VwStatus status) {
  const char* const path = work->inputs[0].path;
  if (status != VW_NO_SHOT) {
    return fail(report, path, status);
  }
  report->status = status;
  report->message = text_format(
    "a sustained sound, in which no shots start: use `convert` or "
    "`loop`, or %s",
    work->settings->family.find.has_kind ? "leave --as out"
                                         : "give --as several-shots");
  return say(path, "%s", report->message);
}

/// Digits of the greatest number of a shot: names then lie in order.
static int
digits_of(size_t n) {
  int digits = 1;
  for (; n >= 10U; n /= 10U) {
    ++digits;
  }
  return digits;
}

/// Name the files of a take's shots: their number follows the sound's name.
/// False without memory; to be cleared also then.
static bool
make_names(const Work* work, size_t take) {
  const VwShots* const shots = work->shots;
  Settings* const      names = work->names;
  char* const          sound = path_sound(work->settings, take);
  *names = *work->settings;
  names->sound_name = NULL;
  names->n_takes = shots->n_written;
  names->takes = calloc(shots->n_written + 1U, sizeof(char*));
  bool good = sound && names->takes;
  for (size_t i = 0; good && i < shots->n_written; ++i) {
    // The ending is left out of a name, as that of a take is.
    char* const name = text_format(
      "%s-%0*zu.wav", sound, digits_of(shots->n), shots->written[i] + 1U);
    names->takes[i] = name;
    good = name != NULL;
  }
  free(sound);
  return good;
}

static void
clear_names(Settings* names) {
  for (size_t i = 0; names->takes && i < names->n_takes; ++i) {
    free((void*)names->takes[i]);
  }
  free(names->takes);
  names->takes = NULL;
}

/// Find the shots of a take, and name their files. False, and said, if there
/// are none.
static bool
split(const Work* work, Report* report) {
  const VwShotsOf     of = shots_of(&work->inputs[0]);
  const VwFindOptions finding = vw_find_wish(&work->settings->family);
  VwStatus            why = VW_OK;
  const VwStatus      st = vw_shots_find(&of, &finding, work->shots);
  if (st) {
    return fail_split(work, report, st);
  }
  vw_shots_keep(work->shots, work->settings->keep);
  if (!make_names(work, report->first_take)) {
    return fail_split(work, report, VW_NO_MEMORY);
  }
  if (work->names->slot) {
    work->names->slot += (unsigned)*work->n_split;
  }
  *work->n_split += work->shots->n_written;
  report->split = work->shots;
  if (name_check(work->command, work->names, work->destination, &why)) {
    report->status = why ? why : VW_NO_NAME;
    report->message = status_message(report->status);
  }
  return !report->status;
}

/* All of a family */

/// Make the family of some takes. False, and said, if it could not be.
static bool
make_one(const Work* work, const char* const* takes) {
  Report    report = {.command = work->command,
                      .settings = work->settings,
                      .cautioned = work->cautioned,
                      .first_take = (size_t)(takes - work->first)};
  VwFamily  family = {0};
  MadeFiles made = {0};
  if (load(work, takes, &report) && find_turns(work, &report) &&
      (work->command->bit != COMMAND_SPLIT || split(work, &report))) {
    const VwStatus st = make_family(work, &report, &family);
    if (st) {
      fail_family(work, &report, st);
    } else {
      report.family = &family;
      encode_and_write(work, &report, &made);
    }
  }
  const PropMade section = {.command = work->command,
                            .settings = work->settings,
                            .takes = takes,
                            .n_takes = work->n_inputs,
                            .fires =
                              !family.join.n_frames || family.join.shots};
  if (!report.status && work->settings->print_section &&
      !prop_print_section(&section)) {
    fail(&report, takes[0], VW_NO_MEMORY);
  }
  // What is on standard output alone leaves the report the other stream.
  report_show(&report,
              work->destination->kind == TO_STDOUT ||
                  work->settings->print_section
                ? stderr
                : stdout);
  const bool good = !report.status;
  report_clear(&report);
  made_files_clear(&made);
  vw_family_clear(&family);
  vw_shots_clear(work->shots);
  clear_names(work->names);
  for (size_t i = 0; i < work->n_inputs; ++i) {
    input_clear(&work->inputs[i]);
  }
  for (size_t i = 0; i < N_ENDS; ++i) {
    input_clear(&work->ends[i]);
  }
  return good;
}

/* All */

int
make_each(const CommandName* command,
          const Settings*    settings,
          Destination*       destination,
          size_t             n_each) {
  Input* const inputs = calloc(n_each, sizeof(Input));
  Input        ends[N_ENDS] = {0};
  unsigned     cautioned = 0;
  VwShots      shots = {0};
  Settings     names = {0};
  size_t       n_split = 0;
  const Work   work = {command,
                       settings,
                       destination,
                       inputs,
                       n_each,
                       ends,
                       settings->takes,
                       &cautioned,
                       &shots,
                       &names,
                       &n_split};
  size_t       n_failed = 0;
  if (!inputs) {
    say_status(command->name, VW_NO_MEMORY);
    return EXIT_FILE;
  }
  for (size_t i = 0; i < settings->n_takes; i += n_each) {
    n_failed += make_one(&work, settings->takes + i) ? 0U : n_each;
  }
  free(inputs);
  destination_close(destination);
  return report_failures(settings, n_failed);
}

/// Report of every take that nothing was made of it; the reason has been said.
static int
refuse_all(const CommandName* command,
           const Settings*    settings,
           VwStatus           why,
           int                exit_status) {
  for (size_t i = 0; settings->json && i < settings->n_takes; ++i) {
    Input  input = {.path = settings->takes[i], .status = why};
    Report report = {.command = command,
                     .settings = settings,
                     .inputs = &input,
                     .n_inputs = 1U,
                     .status = why,
                     .message = status_message(why)};
    report_show(&report, settings->print_section ? stderr : stdout);
    report_clear(&report);
  }
  return exit_status;
}

int
make_all(const CommandName* command, const Settings* settings) {
  Destination destination = {0};
  VwStatus    why = VW_BAD_OPTION;
  if (settings->loop.burst_seconds > 0.0) {
    return ladder_make(command, settings);
  }
  const int drawn = plot_check(settings);
  if (drawn != EXIT_DONE) {
    return refuse_all(command,
                      settings,
                      drawn == EXIT_USAGE ? VW_BAD_OPTION : VW_NO_FOLDER,
                      drawn);
  }
  int status = destination_choose(command, settings, &destination);
  if (status == EXIT_FILE) {
    why = VW_NO_FOLDER;
  }
  if (status == EXIT_DONE && settings->print_section &&
      destination.kind == TO_STDOUT) {
    status = say_usage("--print-section",
                       "standard output has the sound: name a file or a "
                       "folder with -o");
  }
  if (status == EXIT_DONE) {
    status = name_check(command, settings, &destination, &why);
  }
  if (status != EXIT_DONE) {
    return refuse_all(command, settings, why, status);
  }
  return make_each(command,
                   settings,
                   &destination,
                   settings->loop.take_turns ? settings->n_takes : 1U);
}
