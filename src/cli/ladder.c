#include "cli/commands.h"

#include "burst/turns.h"
#include "cli/files/files.h"
#include "cli/message/figures.h"
#include "cli/options/options.h"
#include "cli/report/report.h"
#include "signal/signal.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

/* The file */

/// A ladder at work.
typedef struct {
  const CommandName* command;
  const Settings*    settings; ///< With the burst's form.
  Input              input;
  VwPiece            piece; ///< What becomes the file. Owned.
  VwFormat           format;
  size_t             n_each;                   ///< Frames of each step.
  double             rates_per_s[LADDER_MOST]; ///< As made.
} Work;

/// Add a sound to the ladder's at a frame.
static void
add(VwSound* ladder, const VwSound* sound, size_t at) {
  const size_t n_channels = ladder->n_channels;
  for (size_t i = 0; i < sound->n_frames * n_channels; ++i) {
    ladder->values[at * n_channels + i] += sound->values[i];
  }
}

/// Room for a step that begins at a frame.
static VwStatus
make_room(Work* work, const VwSound* step, size_t at) {
  VwSound* const ladder = &work->piece.sound;
  const size_t   n_least = at + step->n_frames;
  return ladder->n_frames >= n_least ? VW_OK
         : ladder->values
           ? vw_sound_pad(ladder, 1U, n_least)
           : vw_sound_init(ladder, n_least, step->n_channels, step->rate_hz);
}

/// Make a burst of the take's shot, or of its own shots in turn.
static VwStatus
make_family(const Input*           input,
            const VwFamilyOptions* options,
            VwFamily*              family) {
  const VwShotsOf of = {
    &input->take, &input->events, &input->facts, input->clipped};
  VwShots  shots = {0};
  VwStatus st = VW_OK;
  if (!vw_turns_suit(&input->facts, 1U, options)) {
    return vw_family_make(&input->take, &input->facts, 1U, options, family);
  }
  st = vw_turns_find(&of, options, &shots);
  st = st ? st
          : vw_family_make(
              shots.takes, shots.used, shots.n_written, options, family);
  vw_shots_clear(&shots);
  return st;
}

static VwStatus
add_step(Work* work, size_t index) {
  const Settings* const settings = work->settings;
  VwFamilyOptions       options = settings->family;
  VwFamily              family = {0};
  options.fire_rate_per_s = settings->loop.ladder_per_s[index];
  options.burst_shots = (unsigned)fmax(
    floor(settings->loop.burst_seconds * options.fire_rate_per_s + 0.5), 1.0);
  VwStatus st = make_family(&work->input, &options, &family);
  if (st) {
    return st;
  }
  const VwSound* const step = &family.pieces[family.n_pieces - 1U].sound;
  const size_t         n_each =
    (size_t)(settings->loop.burst_seconds * family.format.rate_hz + 0.5);
  work->format = family.format;
  work->rates_per_s[index] = family.plan.fire_rate_per_s;
  st = make_room(work, step, index * n_each);
  if (!st) {
    add(&work->piece.sound, step, index * n_each);
  }
  vw_family_clear(&family);
  return st;
}

static VwStatus
make_steps(Work* work) {
  VwStatus st = VW_OK;
  work->piece.part = VW_PART_BURST;
  for (size_t i = 0; !st && i < work->settings->loop.n_ladder; ++i) {
    st = add_step(work, i);
  }
  return st;
}

static VwStatus
encode(const Work* work, VwBytes* bytes) {
  const Settings* const settings = work->settings;
  const VwWrapping      wrapping = {
         .container =
      settings->has_board ? settings->board.container : VW_CONTAINER_WAV,
         .format = work->format,
         .name = "ladder",
         .seed = settings->family.seed,
  };
  return vw_encode(&work->piece, &wrapping, bytes);
}

/* Report */

static double
most_per_s(const Work* work) {
  double most = 0.0;
  for (size_t i = 0; i < work->settings->loop.n_ladder; ++i) {
    most = fmax(most, work->rates_per_s[i]);
  }
  return most;
}

static unsigned
cautions_of(const Work* work) {
  return caution_of_flashes(most_per_s(work)) | VW_CAUTION_HEARING;
}

static void
print_text(const Work* work, const char* path) {
  const Settings* const settings = work->settings;
  printf("%s\n", path);
  for (size_t i = 0; i < settings->loop.n_ladder; ++i) {
    printf("  from %g s: %.3f shots per second\n",
           (double)i * settings->loop.burst_seconds,
           work->rates_per_s[i]);
  }
  caution_lines(cautions_of(work), NULL, stdout);
}

static Figures*
steps_of(const Work* work) {
  Figures* const steps = figures_list();
  for (size_t i = 0; i < work->settings->loop.n_ladder; ++i) {
    Figures* const step = figures_new();
    figures_set(step, "from_s", (double)i * work->settings->loop.burst_seconds);
    figures_set(step, "fire_rate_per_s", work->rates_per_s[i]);
    figures_add(steps, step);
  }
  return steps;
}

static Figures*
files_of(const Work* work, const MadeFile* file) {
  Figures* const files = figures_list();
  Figures* const made = figures_new();
  figures_set(made, "part", vw_part_name(file->part));
  figures_set(made, "path", file->path);
  figures_set(made, "frames", work->piece.sound.n_frames);
  figures_set(made, "bytes", file->bytes.n_bytes);
  figures_set(made, "sample_rate_hz", work->piece.sound.rate_hz);
  figures_add(files, made);
  return files;
}

/// The figures of a ladder that was made, or that failed.
static Figures*
figures_of(const Work* work, Figures* error) {
  Figures* const all = figures_of_command("loop");
  Figures* const takes = figures_list();
  figures_add(takes, work->settings->takes[0]);
  figures_set(all, "takes", takes);
  figures_set(all, "error", error);
  return all;
}

static void
print_json(const Work* work, const MadeFile* file) {
  Figures* const all = figures_of(work, NULL);
  figures_set(all, "ladder", steps_of(work));
  figures_set(all, "cautions", caution_figures(cautions_of(work)));
  figures_set(all, "files", files_of(work, file));
  (void)figures_json(all, stdout);
}

/// The same of a ladder that failed.
static void
print_failure(const Work* work, VwStatus status, const char* message) {
  (void)figures_json(figures_of(work,
                                message ? figures_of_error(status, message)
                                        : figures_of_status(status)),
                     stdout);
}

static VwStatus
write_file(const Work* work, Destination* destination) {
  const Settings* const settings = work->settings;
  MadeFile              file = {.part = VW_PART_BURST};
  MadeFiles             made = {.files = &file, .n_files = 1U};
  size_t                at = 0;
  VwStatus              st =
    path_of_part(destination, settings, 0, VW_PART_BURST, &file.path);
  st = st ? st : encode(work, &file.bytes);
  st = st ? st : made_files_write(&made, settings, destination, &at);
  if (!st && settings->json && destination->kind != TO_STDOUT) {
    print_json(work, &file);
  } else if (!st && !settings->quiet && destination->kind != TO_STDOUT) {
    print_text(work, file.path);
  }
  free(file.path);
  vw_bytes_clear(&file.bytes);
  return st;
}

static int
make(Work* work, Destination* destination) {
  const Settings* const settings = work->settings;
  const char* const     take = settings->takes[0];
  input_load(take, work->command, settings, &work->input);
  if (work->input.status) {
    say(take, "%s", work->input.message);
    if (settings->json) {
      print_failure(work, work->input.status, work->input.message);
    }
    return EXIT_FILE;
  }
  VwStatus st = make_steps(work);
  st = st ? st : write_file(work, destination);
  if (st) {
    say_status(take, st);
  }
  if (st && settings->json) {
    print_failure(work, st, NULL);
  }
  return st ? EXIT_FILE : EXIT_DONE;
}

int
ladder_make(const CommandName* command, const Settings* settings) {
  Settings burst = *settings;
  burst.family.form = VW_FORM_BURST;
  burst.family.burst_of_shots = true;
  burst.has_burst = true;
  burst.has_part = true;
  burst.part = VW_PART_BURST;
  Destination destination = {0};
  int         status = destination_choose(command, &burst, &destination);
  if (status != EXIT_DONE) {
    return status;
  }
  Work     work = {.command = command, .settings = &burst};
  VwStatus why = VW_OK;
  status = name_check(command, &burst, &destination, &why);
  if (status == EXIT_DONE) {
    status = make(&work, &destination);
  } else if (settings->json) {
    print_failure(&work, why, NULL);
  }
  destination_close(&destination);
  vw_sound_clear(&work.piece.sound);
  input_clear(&work.input);
  return status;
}
