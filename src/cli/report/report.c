#include "cli/report/report.h"

#include "cli/message/figures.h"
#include "cli/report/sections.h"
#include "container/container.h"
#include "join/join.h"

#include <stdlib.h>

/// Why nothing was made, where what was asked or the kind that it is said to
/// have may be the reason; NULL: the status tells.
static char*
reason_of(const VwFamilyOptions* wish,
          const VwShotFacts*     facts,
          size_t                 n_takes,
          VwStatus               status) {
  const double speaker_hz = wish->level.speaker.corner_hz;
  const bool   rapid = facts->kind == VW_KIND_RAPID_FIRE;
  if (status == VW_NO_STEADY_RATE) {
    return text_format("its shots follow each other at no even rate: "
                       "give --fire-rate to lay them down, or %s",
                       wish->find.has_kind ? "another --as"
                                           : "say what it is with --as");
  }
  if (status == VW_NOT_JOINED && wish->find.has_kind) {
    return text_format(
      "run-in and ring-out takes are for hums, or rapid fire as recorded: "
      "leave them %s",
      rapid ? "or --fire-rate out" : "out, or give another --as");
  }
  if (status == VW_CYCLE_TOO_LONG && rapid && n_takes == 1U &&
      wish->fire_rate_per_s == 0.0) {
    return wish->buffer_frames > 1U
             ? text_format("no whole shots fit the buffer of %u frames within "
                           "%g ms: give --fire-rate %.2f/s to lay them down",
                           wish->buffer_frames,
                           1000.0 * VW_MISFIT_MOST_S,
                           facts->rapid_per_s)
             : text_format("no whole number of its shots makes a loop within "
                           "the longest cycle: give --fire-rate to lay them "
                           "down");
  }
  if (speaker_hz > 0.0 && (status == VW_SILENT || status == VW_BAD_OPTION)) {
    return text_format(
      status == VW_SILENT
        ? "nothing of it lies above the speaker's corner of %.4g Hz: give a "
          "lower --speaker, or none"
        : "a speaker's corner of %.4g Hz is above 0.45 of the sample rate: "
          "give a lower corner, or a higher --sample-rate",
      speaker_hz);
  }
  return NULL;
}

char*
report_message(const VwFamilyOptions* wish,
               const VwShotFacts*     facts,
               size_t                 n_takes,
               VwStatus               status) {
  char* const reason = reason_of(wish, facts, n_takes, status);
  return reason ? reason : status_message(status);
}

static Figures*
takes_of(const Report* report) {
  Figures* const takes = figures_list();
  for (size_t i = 0; i < report->n_inputs; ++i) {
    figures_add(takes, report->inputs[i].path);
  }
  return takes;
}

/// Where takes take turns, the shot of each in the order of `takes`.
static Figures*
shots_of(const Report* report) {
  Figures* const shots = figures_list();
  for (size_t i = 0; i < report->n_inputs; ++i) {
    figures_add(shots, found_shot(report, i));
  }
  return shots;
}

/// Warnings, named after their takes where there are several.
static Figures*
warnings_of(const Report* report) {
  Figures* const warnings = figures_list();
  for (size_t i = 0; !report->status && i < report->n_warnings; ++i) {
    const Warning* const warning = &report->warnings[i];
    char* const          named = warning->take && report->n_inputs > 1U
                                   ? text_format("%s: %s", warning->take, warning->text)
                                   : NULL;
    figures_add(warnings, named ? named : warning->text);
    free(named);
  }
  return warnings;
}

Figures*
report_board(const VwBoard* board) {
  Figures* const made = figures_new();
  figures_set(made, "name", board->name);
  figures_set(
    made, "container", choice_word(vw_container_words, (int)board->container));
  figures_set(made, "repeat", choice_word(words_repeat, (int)board->repeat));
  figures_set(made, "release", choice_word(words_release, (int)board->release));
  figures_set(made, "gap_ms", board->gap_ms);
  figures_set(made, "delay_ms", board->delay_ms);
  figures_set(made, "press_min_ms", board->press_min_ms);
  figures_set(made, "file_bytes_max", board->file_bytes_max);
  return made;
}

/// What a sound of a pack has beside what any has.
static void
add_packed(Figures* figures, const PackedSound* packed) {
  const VwPackSound* const sound = packed->sound;
  const VwSoundWish* const wish = sound->wish;
  figures_set(figures, "sound", wish->name);
  figures_set(figures, "make", choice_word(words_make, (int)wish->make));
  figures_set_some(figures, "slot", wish->slot);
  figures_set(figures, "group", wish->group);
  figures_set(figures, "offset_lu", wish->offset_lu);
  figures_set(figures, "reach_lufs", sound->reach_lufs);
  figures_set(figures, "lacks_lu", sound->lacks_lu);
}

Figures*
report_figures(const Report* report) {
  const Settings* const settings = report->settings;
  const VwFamily* const family = report->family;
  Figures* const        all = figures_of_command(report->command->name);
  if (report->packed) {
    add_packed(all, report->packed);
  }
  figures_set(all, "takes", takes_of(report));
  figures_set(all, "error", figures_of_error(report->status, report->message));
  figures_set(all, "shot", found_shot(report, 0));
  if (settings->loop.take_turns) {
    figures_set(all, "shot_of_each", shots_of(report));
  }
  if (report->split) {
    figures_set(all, "shots", split_figures(report));
  }
  figures_set(
    all, "board", settings->has_board ? report_board(&settings->board) : NULL);
  figures_set(all, "loudness", found_loudness(&report->inputs[0]));
  figures_set(all, "loop", made_loop(report));
  figures_set(all, "level", made_level(report));
  figures_set(all, "lamp", made_lamp(report));
  figures_set(all, "power", made_power(report));
  figures_set(
    all,
    "cautions",
    family
      ? caution_figures(
          VW_CAUTION_HEARING |
          (power_is_asked(report) ? VW_CAUTION_WIRING : 0U) |
          (family->plan.shots ? caution_of_flashes(family->lamp.pulse_hz) : 0U))
      : NULL);
  figures_set(all, "files", made_files(report));
  figures_set(all, "warnings", warnings_of(report));
  return all;
}

bool
report_json(const Report* report, FILE* out) {
  return figures_json(report_figures(report), out);
}

void
report_clear(Report* report) {
  for (size_t i = 0; i < report->n_warnings; ++i) {
    free(report->warnings[i].text);
  }
  free(report->warnings);
  free(report->message);
  *report = (Report){0};
}

static void
print_text(const Report* report, FILE* out) {
  if (report->split) {
    split_text(report, out);
  }
  for (size_t i = 0; !report->split && i < report->n_inputs; ++i) {
    found_text(report, i, out);
  }
  if (report->family) {
    made_text(report, out);
  }
  next_text(report, out);
}

/* Shown */

static void
show_warnings(const Report* report) {
  for (size_t i = 0; i < report->n_warnings; ++i) {
    const Warning* const warning = &report->warnings[i];
    const char* const    take =
      warning->take ? warning->take : report->inputs[0].path;
    say(take, "warning: %s", warning->text);
  }
}

void
report_show(Report* report, FILE* out) {
  const Settings* const settings = report->settings;
  bool                  good = report->status || report_warn(report);
  if (settings->json) {
    good = report_json(report, out) && good;
  } else if (!report->status && !settings->quiet) {
    show_warnings(report);
    print_text(report, out);
  }
  if (!good) {
    say_status(report->inputs[0].path, VW_NO_MEMORY);
    report->status = VW_NO_MEMORY;
  }
  // What is said of the next take comes after what is said of this one.
  (void)fflush(out);
}

int
report_failures(const Settings* settings, size_t n_failed) {
  if (n_failed && settings->loop.take_turns && settings->n_takes > 1U) {
    say("loop",
        "nothing is made, since %zu takes were to share one loop: leave out "
        "what cannot be used",
        settings->n_takes);
  } else if (n_failed && settings->n_takes > 1U) {
    say("takes", "%zu of %zu failed", n_failed, settings->n_takes);
  }
  return n_failed ? EXIT_FILE : EXIT_DONE;
}
