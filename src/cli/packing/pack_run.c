#include "cli/packing/pack_run.h"

#include "base/status.h"
#include "cli/message/say.h"
#include "cli/message/status.h"
#include "cli/packing/pack_report.h"
#include "cli/packing/pack_steps.h"
#include "cli/prop/prop.h"
#include "pack/pack.h"

#include <math.h>
#include <stdlib.h>

/* Options */

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
  options.prune = settings->pack.prune;
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

/* Loudness */

/// Settle, with a loudness that can be written down in two decimals.
static VwStatus
settle(PackRun* run, VwPack* pack) {
  VwStatus st = vw_pack_settle(pack);
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

/* Steps */

static bool
say_faults(const PackRun* run, const VwFaults* faults) {
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

size_t
pack_run_say_failures(const PackRun* run, const VwPack* pack) {
  size_t n_failed = 0;
  for (size_t i = 0; i < pack->n_sounds; ++i) {
    const VwPackSound* const sound = &pack->sounds[i];
    // Of takes that are missing it was said where they stand.
    if (sound->status && !run->prop->sounds[i].missing) {
      char* const subject =
        sound->subject
          ? text_format("[sound %s] %s", sound->wish->name, sound->subject)
          : text_format("[sound %s]", sound->wish->name);
      say_status(subject ? subject : sound->wish->name, sound->status);
      free(subject);
    }
    n_failed += sound->status ? 1U : 0U;
  }
  return n_failed;
}

/// Measure and settle, again where sample rates were changed.
static VwStatus
measure(PackRun* run, VwPack* pack) {
  const PackSteps steps = {run->settings, pack, false};
  VwStatus        st = VW_OK;
  bool            more = true;
  // Each time at least one sound has a lower rate, of which there are few.
  while (!st && more) {
    st = pack_steps_measure(&steps);
    st = st ? st : settle(run, pack);
    more = pack->sums.n_unmeasured != 0;
  }
  return st;
}

static VwStatus
render(const PackRun* run, bool write, VwPack* pack) {
  const PackSteps steps = {run->settings, pack, write};
  VwStatus        st = write ? vw_pack_begin(pack) : VW_OK;
  st = st ? st : pack_steps_render(&steps);
  st = st ? st : vw_pack_end(pack);
  if (st) {
    say_status(run->folder, st);
  }
  return st;
}

static bool
show(const PackReport* report) {
  const Settings* const settings = report->settings;
  bool                  good = true;
  if (settings->json) {
    good = pack_report_json(report, stdout);
  } else if (!settings->quiet) {
    pack_report_warn(report);
    pack_report_text(report, stdout);
  }
  (void)fflush(stdout);
  if (!good) {
    say_status(report->pack->options.folder, VW_NO_MEMORY);
  }
  return good;
}

PackReport
pack_run_report(const PackRun* run) {
  return (PackReport){.command = run->command,
                      .settings = run->settings,
                      .prop = run->prop,
                      .pack = &run->pack,
                      .written = run->written};
}

/// Make a pack that is settled. False where anything failed.
static bool
make(PackRun* run, VwPack* pack) {
  const Settings* const settings = run->settings;
  PackReport            report = pack_run_report(run);
  const bool            write = !settings->dry_run;
  const bool            fits = !pack_report_too_big(&report);
  bool                  good = fits;
  bool                  stopped = !fits || !write;
  if (fits) {
    good = !render(run, write, pack);
    stopped = stopped || !good;
    run->written = good && write;
    report.written = run->written;
  }
  const size_t n_failed = pack_run_say_failures(run, pack);
  good = show(&report) && good && !n_failed;
  if (n_failed) {
    say(run->board->name,
        "%zu of %zu sounds failed%s",
        n_failed,
        pack->n_sounds,
        stopped ? "" : ", the others are finished");
  }
  return good;
}

/// Find out what a pack can be. False, and said, where it cannot be packed.
static bool
settle_all(PackRun* run, VwSoundWish** wishes, VwPack* pack) {
  const VwPackOptions options = options_of(run);
  *wishes = prop_wishes(run->prop, run->board->name, run->settings);
  VwStatus st = *wishes ? VW_OK : VW_NO_MEMORY;
  st = st ? st : vw_pack_open(*wishes, run->prop->n_sounds, &options, pack);
  if (!st && say_faults(run, &pack->faults)) {
    return false;
  }
  st = st ? st : measure(run, pack);
  if (st) {
    say_status(run->folder, st);
  }
  return !st;
}

bool
pack_run_try(PackRun* run, VwSoundWish** wishes, VwPack* pack) {
  return settle_all(run, wishes, pack) && !render(run, false, pack);
}

int
pack_run(PackRun* run) {
  const bool good =
    settle_all(run, &run->wishes, &run->pack) && make(run, &run->pack);
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
