// What is reported of one sound of a pack, as of any other family.

#include "cli/message/message.h"
#include "cli/packing/packing.h"
#include "cli/prop/prop.h"
#include "cli/report/report.h"
#include "container/container.h"
#include "store/store.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

// What is said of so many sounds is said of each; with --verbose, of any
// number.
#define EACH_MOST 2U

// How much of the names of more is told.
#define NAMES_COLUMNS 60U

/* A report */

/// A report on a sound with all that it points to. It must not be moved.
typedef struct {
  Report      report; ///< Its warnings are found.
  PackedSound packed;
  Settings    settings;
  VwFamily    family;
  VwTakeUse   use;   ///< Of the first take, as far as it is known.
  VwShots     turns; ///< Its own shots, where these take turns: no more is
                     ///< known than which.
  size_t    own_shots[VW_CYCLE_SHOTS_MOST]; ///< Which.
  Input*    inputs;                         ///< Owned.
  MadeFile* files;                          ///< Owned.
} SoundReport;

/// Set what is known of the blocks of a file in Ogg that was made.
static void
set_blocks(MadeFile* file) {
  VwBytes bytes = {0};
  if (file->path && !vw_file_read(file->path, &bytes)) {
    file->block_frames = vw_ogg_block_frames(&bytes);
    file->whole_blocks = vw_ogg_is_whole(&bytes);
  }
  vw_bytes_clear(&bytes);
}

/// The files of a sound as reports have them. To be freed; NULL without memory.
static MadeFile*
files_of(const PackRun* run, const VwPackSound* sound) {
  MadeFile* const files = calloc(sound->n_files + 1U, sizeof(MadeFile));
  for (size_t i = 0; files && i < sound->n_files; ++i) {
    const VwPackFile* const file = &sound->files[i];
    files[i] = (MadeFile){.part = file->part,
                          .path = text_format("%s/%s", run->folder, file->name),
                          .bytes.n_bytes = (size_t)file->n_bytes,
                          .n_frames = file->n_frames,
                          .loop_start = file->loop_start,
                          .loop_end = file->loop_end,
                          .n_channels = sound->options.format.n_channels,
                          .rate_hz = sound->options.format.rate_hz};
    if (run->board->container == VW_CONTAINER_OGG) {
      set_blocks(&files[i]);
    }
  }
  return files;
}

/// The takes of a sound as reports have them; the facts are the first one's.
static Input*
inputs_of(const VwPackSound* sound) {
  const VwSoundWish* const wish = sound->wish;
  Input* const             inputs = calloc(wish->n_takes, sizeof(Input));
  for (size_t i = 0; inputs && i < wish->n_takes; ++i) {
    inputs[i] = (Input){.path = wish->takes[i],
                        .facts = sound->facts,
                        .stretch_db = i ? 0.0 : sound->stretch_db,
                        .has_shot = !i && wish->make != VW_MAKE_WHOLE};
  }
  return inputs;
}

/// The figures of a sound; what only its making tells is unknown before.
static VwFamily
family_of(const PackRun* run, const VwPackSound* sound) {
  VwFamily family = sound->family;
  if (!run->written) {
    family.level.gain_db = sound->options.level.gain_db;
    family.level.shot_loudness_lufs = (double)NAN;
    family.level.burst_loudness_lufs = (double)NAN;
    family.level.limiting_db = (double)NAN;
    family.level.limiting_ms = (double)NAN;
    family.level.true_peak_dbtp = (double)NAN;
  }
  if (!run->made) {
    family.drive = (VwDrive){0}; // at a gain that is not its last
  }
  return family;
}

/// Report on a sound; clear it also without memory, when it is false.
static bool
report_on(const PackRun* run, const VwPackSound* sound, SoundReport* made) {
  *made = (SoundReport){.packed = {sound},
                        .settings = {.family = sound->options,
                                     .has_board = true,
                                     .board = *run->board,
                                     .json = true},
                        .family = family_of(run, sound),
                        .use = {.downmix = sound->downmix,
                                .late_start_ms = sound->late_start_ms,
                                .start_faded = sound->start_faded,
                                .end_faded = sound->end_faded},
                        .inputs = inputs_of(sound),
                        .files = files_of(run, sound)};
  made->settings.power = prop_power(run->prop);
  made->family.uses = &made->use;
  memcpy(made->own_shots, sound->own_shots, sizeof(made->own_shots));
  made->turns = (VwShots){.n = sound->facts.shots_in_take,
                          .written = made->own_shots,
                          .n_written = sound->n_own_shots};
  made->report = (Report){.command = run->command,
                          .settings = &made->settings,
                          .inputs = made->inputs,
                          .n_inputs = sound->wish->n_takes,
                          .family = sound->status ? NULL : &made->family,
                          .packed = &made->packed,
                          .turns = sound->n_own_shots ? &made->turns : NULL,
                          .files = made->files,
                          .n_files = made->files ? sound->n_files : 0U,
                          .status = sound->status};
  if (!made->inputs || !made->files) {
    return false;
  }
  if (sound->status) {
    made->inputs[0].status = sound->status;
    made->report.message = report_message(
      &sound->options, &sound->facts, sound->wish->n_takes, sound->status);
    return true;
  }
  return report_warn(&made->report);
}

static void
clear(SoundReport* made) {
  for (size_t i = 0; i < made->report.n_files; ++i) {
    free(made->files[i].path);
  }
  report_clear(&made->report);
  free(made->inputs);
  free(made->files);
}

bool
pack_report_json_sound(const PackRun*     run,
                       const VwPackSound* sound,
                       FILE*              out) {
  SoundReport made;
  const bool  good =
    report_on(run, sound, &made) && report_json(&made.report, out);
  clear(&made);
  return good;
}

/* Power */

/// What a sound drives the amplifier to; what fires goes before all else.
static double
hunger_of(const VwPackSound* sound) {
  const bool goes_on = sound->family.plan.shots || sound->family.join.n_frames;
  return sound->status ? -1.0
                       : sound->family.drive.mean + (goes_on ? 1e3 : 0.0);
}

void
pack_report_power(const PackRun* run, FILE* out) {
  size_t      most = 0;
  SoundReport made;
  for (size_t i = 1; i < run->pack.n_sounds; ++i) {
    if (hunger_of(&run->pack.sounds[i]) > hunger_of(&run->pack.sounds[most])) {
      most = i;
    }
  }
  if (run->prop->power.n_options && run->pack.n_sounds) {
    if (report_on(run, &run->pack.sounds[most], &made)) {
      made.report.cautioned = run->cautioned;
      power_text(&made.report, out);
    }
    clear(&made);
  }
}

/* Warnings */

/// What is said of one sound.
typedef struct {
  const VwPackSound* sound;
  const char*        brief; ///< By which its kind is known.
  char*              text;  ///< Owned.
} Told;

/// All that is said, in the order of the sounds.
typedef struct {
  Told*  told; ///< Owned.
  size_t n_told;
} All;

/// Whether something of a take is told already, of the first sound made of it.
static bool
is_told(const All* all, const VwPackSound* first, const Warning* warning) {
  for (size_t i = 0; warning->take && i < all->n_told; ++i) {
    if (all->told[i].sound == first && all->told[i].brief == warning->brief) {
      return true;
    }
  }
  return false;
}

/// Take over what a report says of a sound. False without memory.
static bool
take_over(All*               all,
          const VwPackSound* sound,
          const VwPackSound* first,
          Report*            report) {
  Told* const grown =
    realloc(all->told, (all->n_told + report->n_warnings + 1U) * sizeof(Told));
  if (!grown) {
    return false;
  }
  all->told = grown;
  for (size_t i = 0; i < report->n_warnings; ++i) {
    Warning* const warning = &report->warnings[i];
    if (sound == first || !is_told(all, first, warning)) {
      grown[all->n_told++] = (Told){sound, warning->brief, warning->text};
      warning->text = NULL;
    }
  }
  return true;
}

static bool
find_all(const PackRun* run, All* all) {
  const VwPackSound* const sounds = run->pack.sounds;
  bool                     good = true;
  for (size_t i = 0; good && i < run->pack.n_sounds; ++i) {
    SoundReport made;
    good =
      report_on(run, &sounds[i], &made) &&
      take_over(all, &sounds[i], &sounds[sounds[i].family_of], &made.report);
    clear(&made);
  }
  return good;
}

/// Names of the sounds of a kind, from the first on, as many as there is room
/// for. To be freed.
static char*
names_of(const All* all, size_t first, size_t n) {
  const char* const brief = all->told[first].brief;
  char*  names = text_format("%s", all->told[first].sound->wish->name);
  size_t n_named = 1;
  for (size_t i = first + 1U; names && i < all->n_told; ++i) {
    if (all->told[i].brief != brief) {
      continue;
    }
    char* const more =
      text_format("%s, %s", names, all->told[i].sound->wish->name);
    if (!more || strlen(more) > NAMES_COLUMNS) {
      free(more);
      break;
    }
    free(names);
    names = more;
    ++n_named;
  }
  if (names && n_named < n) {
    names = text_more(names, " and ", "%zu more", n - n_named);
  }
  return names;
}

/// How many are told of a kind, before or from an index on.
static size_t
count(const All* all, const char* brief, size_t from, size_t to) {
  size_t n = 0;
  for (size_t i = from; i < to; ++i) {
    n += all->told[i].brief == brief ? 1U : 0U;
  }
  return n;
}

/// Say what there is to say of a kind whose first sound is known.
static void
say_kind(const PackRun* run, const All* all, size_t first) {
  const char* const brief = all->told[first].brief;
  const size_t      n = count(all, brief, first, all->n_told);
  if (n > EACH_MOST && !run->settings->verbose) {
    char* const names = names_of(all, first, n);
    say(run->board->name,
        "warning: %s, in %zu sounds: %s",
        brief,
        n,
        names ? names : "");
    free(names);
    return;
  }
  for (size_t i = first; i < all->n_told; ++i) {
    if (all->told[i].brief == brief) {
      say(all->told[i].sound->wish->name, "warning: %s", all->told[i].text);
    }
  }
}

/// Say what there is of all sounds, kind by kind.
static void
warn_of_sounds(const PackRun* run) {
  All        all = {NULL, 0U};
  const bool good = find_all(run, &all);
  for (size_t i = 0; good && i < all.n_told; ++i) {
    if (!count(&all, all.told[i].brief, 0U, i)) {
      say_kind(run, &all, i);
    }
  }
  for (size_t i = 0; i < all.n_told; ++i) {
    free(all.told[i].text);
  }
  free(all.told);
}

/// Slots that were given out now and stand in no file.
static void
warn_of_slots(const PackRun* run) {
  const Prop* const prop = run->prop;
  if (!run->settings->pack.write_list && prop_slots_are_given(prop)) {
    say(run->settings->takes[0],
        prop->path ? "warning: the slots may change when a sound is added: "
                     "write those of the table down, as in slot = 1"
                   : "warning: the slots may change when a take is added: "
                     "--write-list writes them down");
  }
}

void
pack_report_warn(const PackRun* run) {
  warn_of_slots(run);
  if (run->pack.unfinished) {
    say(run->folder,
        "warning: the last run was stopped: its finished files are kept; "
        "delete them to make all again");
  }
  warn_of_sounds(run);
}
