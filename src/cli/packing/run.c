// For realpath().
#define _XOPEN_SOURCE 700

#include "cli/packing/packing.h"

#include "cli/message/message.h"
#include "cli/prop/prop.h"
#include "cli/report/report.h"
#include "store/store.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Options */

/// By which a prop is known again that was given another name.
static uint64_t
digest_of_place(const PackRun* run) {
  const char* const path =
    run->prop->path ? run->prop->path : run->settings->takes[0];
  char* const       real = realpath(path, NULL);
  const char* const whole = real ? real : path;
  const uint64_t    digest = vw_digest(whole, strlen(whole));
  free(real);
  return digest;
}

static VwPackOptions
options_of(const PackRun* run) {
  const Settings* const settings = run->settings;
  VwPackOptions         options = vw_pack_defaults();
  const Settings        all =
    prop_settings(run->prop, NULL, run->board->name, settings);
  options.board = run->board;
  options.wish = all.board_wish;
  options.folder = run->folder;
  options.reading = settings->reading;
  options.fit = settings->pack.fit;
  options.prop = run->prop->name;
  options.prop_at = digest_of_place(run);
  options.keep_old = run->partial;
  options.force = settings->force;
  if (all.family.level.aim == VW_AIM_LOUDNESS) {
    options.aim = VW_PACK_LOUDNESS;
    options.loudness_lufs = all.family.level.loudness_lufs;
  } else {
    options.aim =
      settings->pack.all_reach ? VW_PACK_ALL_REACH : VW_PACK_LOUDEST;
    options.loudness_lufs = run->found_lufs;
  }
  return options;
}

/* Steps */

/// One step of a sound.
typedef VwStatus (*Step)(VwPack* pack, size_t index);

/// Whether a signal asks for the end.
static bool
is_stopped(const PackRun* run) {
  return run->signals && vw_signals_wait(run->signals);
}

/// Take a step with each sound that waits for it, on all cores; what becomes of
/// a sound is its status.
static VwStatus
take(PackRun* run, Step step, Progress* progress) {
  VwPack* const pack = &run->pack;
  const bool    measure = step == vw_pack_measure;
  size_t* const indices = calloc(pack->n_sounds + 1U, sizeof(size_t));
  size_t        n = 0;
  if (!indices) {
    return VW_NO_MEMORY;
  }
  for (size_t i = 0; i < pack->n_sounds; ++i) {
    const VwPackSound* const sound = &pack->sounds[i];
    if (measure ? !sound->measured : sound->due) {
      indices[n++] = i;
    }
  }
  progress_begin(progress, measure ? "measuring" : "making", n);
#pragma omp parallel for schedule(dynamic)                                     \
  num_threads(threads_count(run->settings->jobs))
  for (size_t i = 0; i < n; ++i) {
    if (is_stopped(run)) {
      continue;
    }
    (void)step(pack, indices[i]);
#pragma omp critical
    progress_step(progress, pack->sounds[indices[i]].wish->name);
  }
  progress_end(progress);
  free(indices);
  if (is_stopped(run)) {
    // It ends here, and leaves nothing that was on its way.
    vw_pack_clear(pack);
    vw_signals_release(run->signals);
  }
  return VW_OK;
}

/// Settle, with a loudness that can be written down in two decimals.
static VwStatus
settle(PackRun* run) {
  VwPack* const pack = &run->pack;
  VwStatus      st = vw_pack_settle(pack);
  // Sounds at another sample rate may reach another loudness.
  if (st || pack->sums.n_unmeasured || !pack->sums.n_families ||
      pack->options.aim == VW_PACK_LOUDNESS ||
      isfinite(pack->options.loudness_lufs)) {
    return st;
  }
  // Down, so that whoever reached the figure still does.
  pack->options.loudness_lufs = floor(100.0 * pack->sums.loudness_lufs) / 100.0;
  st = vw_pack_settle(pack);
  run->found_lufs = pack->options.loudness_lufs;
  return st;
}

/// Measure and settle, again where sample rates were changed.
static VwStatus
measure(PackRun* run) {
  Progress progress = {.silent = run->settings->quiet};
  VwStatus st = VW_OK;
  bool     more = true;
  // Each time at least one sound has a lower rate, of which there are few.
  while (!st && more) {
    st = take(run, vw_pack_measure, &progress);
    st = st ? st : settle(run);
    more = run->pack.sums.n_unmeasured != 0;
  }
  return st;
}

/// Make all sounds. False, and said, if that fails.
static bool
render(PackRun* run, bool write) {
  Progress progress = {.silent = run->settings->quiet};
  VwStatus st = write ? vw_pack_begin(&run->pack) : VW_OK;
  st = st ? st : take(run, vw_pack_render, &progress);
  st = st ? st : vw_pack_end(&run->pack);
  vw_pack_leave(&run->pack);
  return !st || say_status(run->folder, st);
}

static bool
say_faults(const PackRun* run) {
  const VwFaults* const faults = &run->pack.faults;
  for (size_t i = 0; i < faults->n_faults; ++i) {
    const VwFault* const fault = &faults->faults[i];
    say(fault->path ? fault->path : run->board->name,
        "%s%s%s",
        fault->what,
        *fault->remedy ? ": " : "",
        fault->remedy);
  }
  return faults->n_faults != 0;
}

/// Find out what a pack can be. False, and said, if it cannot be packed.
static bool
open_and_settle(PackRun* run) {
  const VwPackOptions options = options_of(run);
  run->wishes = prop_wishes(run->prop, run->board->name, run->settings);
  VwStatus st = run->wishes ? VW_OK : VW_NO_MEMORY;
  st = st
         ? st
         : vw_pack_open(run->wishes, run->prop->n_sounds, &options, &run->pack);
  if (!st && say_faults(run)) {
    return false;
  }
  st = st ? st : measure(run);
  return !st || say_status(run->folder, st);
}

/* All */

size_t
pack_run_say_failures(const PackRun* run) {
  size_t n_failed = 0;
  for (size_t i = 0; i < run->pack.n_sounds; ++i) {
    const VwPackSound* const sound = &run->pack.sounds[i];
    // Of takes that are missing it was said where they stand.
    if (sound->status && !run->prop->sounds[i].missing) {
      char* const subject =
        sound->subject
          ? text_format("[sound %s] %s", sound->wish->name, sound->subject)
          : text_format("[sound %s]", sound->wish->name);
      char* const message = report_message(
        &sound->options, &sound->facts, sound->wish->n_takes, sound->status);
      say(subject, "%s", message);
      free(message);
      free(subject);
    }
    n_failed += sound->status ? 1U : 0U;
  }
  return n_failed;
}

static bool
show(const PackRun* run) {
  const Settings* const settings = run->settings;
  bool                  good = true;
  if (settings->json) {
    good = pack_report_json(run, stdout);
  } else if (!settings->quiet) {
    pack_report_warn(run);
    pack_report_text(run, stdout);
  }
  (void)fflush(stdout);
  if (!good) {
    say_status(run->folder, VW_NO_MEMORY);
  }
  return good;
}

bool
pack_run_try(PackRun* run) {
  return open_and_settle(run) && render(run, false);
}

int
pack_run(PackRun* run) {
  const bool write = !run->settings->dry_run;
  if (!open_and_settle(run)) {
    return EXIT_FILE;
  }
  run->made = !pack_report_too_big(run) && render(run, write);
  run->written = run->made && write;
  const size_t n_failed = pack_run_say_failures(run);
  const bool   good = show(run) && run->made && !n_failed;
  if (n_failed) {
    say(run->board->name,
        "%zu of %zu sounds failed%s",
        n_failed,
        run->pack.n_sounds,
        run->written ? ", the others are finished" : "");
  }
  return good ? EXIT_DONE : EXIT_FILE;
}

void
pack_run_clear(PackRun* run) {
  vw_pack_clear(&run->pack);
  free(run->wishes);
  free(run->folder);
  run->wishes = NULL;
  run->folder = NULL;
}
