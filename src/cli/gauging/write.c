// Test sounds to files.

#include "base/text.h"
#include "cli/files/files.h"
#include "cli/gauging/gauging.h"
#include "cli/message/figures.h"

#include <math.h>
#include <stdlib.h>

/// A test sound on its way.
typedef struct {
  const Settings* settings;
  MadeFiles       made; ///< Owned.
  VwStatus        status;
  unsigned        cautions;
} Writing;

static Figures*
figures_of(const Writing* writing) {
  const MadeFile* const file = writing->status ? NULL : writing->made.files;
  const Settings* const settings = writing->settings;
  Figures* const        all = figures_of_command("gauge");
  figures_set(all, "gauged", settings->takes[0]);
  figures_set(all, "board", settings->has_board ? settings->board.name : NULL);
  figures_set(all, "error", figures_of_status(writing->status));
  figures_set(all, "path", file ? file->path : NULL);
  figures_set_some(all, "bytes", file ? file->bytes.n_bytes : 0U);
  figures_set_some(all, "frames", file ? file->n_frames : 0U);
  figures_set_some(all, "sample_rate_hz", file ? file->rate_hz : 0U);
  figures_set_some(all, "channels", file ? file->n_channels : 0U);
  figures_set(
    all, "length_s", file ? (double)file->n_frames / file->rate_hz : NAN);
  figures_set(all, "cautions", caution_figures(writing->cautions));
  return all;
}

static bool
report(const Writing* writing, FILE* out) {
  static const Line lines[] = {
    {"test sound",
     "{path:q}: {channels} channel{channels:s}, {sample_rate_hz} Hz, "
     "{length_s}, {bytes} bytes",
     NULL,
     true},
  };
  Figures* const all = figures_of(writing);
  if (writing->settings->json) {
    return figures_json(all, out);
  }
  if (!writing->status && !writing->settings->quiet) {
    figures_lines(all, LINES(lines), out);
    caution_lines(writing->cautions, NULL, out);
  }
  figures_free(all);
  return true;
}

/// Say how to go on.
static void
print_how(const Settings* settings, const char* record, FILE* out) {
  char* const board = settings->has_board && settings->board_asked
                        ? text_quoted(settings->board_asked)
                        : NULL;
  char* const next =
    text_format("Next: volleyweave gauge %s%s%s REC.wav --save NAME",
                settings->takes[0],
                board ? " --board " : "",
                board ? board : "");
  line_wrap(out, "record", record);
  line_flow(out, next ? next : "not enough memory");
  free(next);
  free(board);
}

/// Encode and write it. False, and said, if that fails.
static bool
write_sound(const MadeFrom* from, Destination* destination, Writing* writing) {
  MadeFiles* const made = &writing->made;
  size_t           at = 0;
  VwStatus         st = made_files_encode(from, destination, made);
  char* const      fault =
    st ? NULL
            : fit_fault(from->settings, from->family->format.encoding, made->files);
  if (fault) {
    say(made->files[0].path, "%s", fault);
    writing->status = VW_FILE_TOO_BIG;
    free(fault);
    return false;
  }
  st = st ? st : made_files_write(made, from->settings, destination, &at);
  if (st) {
    say_status(made->n_files ? made->files[0].path : OUTPUT_FOLDER, st);
  }
  writing->status = st;
  return !st;
}

/// The same as one file of the command.
static bool
write_to(const CommandName* command,
         Destination*       destination,
         const GaugeSound*  test,
         Writing*           writing) {
  VwPiece        piece = {.part = VW_PART_WHOLE, .sound = *test->sound};
  const VwFamily family = {.format = writing->settings->family.format,
                           .pieces = &piece,
                           .n_pieces = 1U};
  const MadeFrom from = {command, writing->settings, &family, 0U};
  FILE* const    out = destination->kind == TO_STDOUT ? stderr : stdout;
  const bool     good = write_sound(&from, destination, writing);
  if (!report(writing, out)) {
    say_status(command->name, VW_NO_MEMORY);
    return false;
  }
  if (good && !writing->settings->json && !writing->settings->quiet) {
    print_how(writing->settings, test->record, out);
  }
  return good;
}

int
gauge_write(const CommandName* command,
            const Settings*    settings,
            const GaugeSound*  test) {
  Settings    named = *settings;
  Destination destination = {0};
  VwStatus    st = VW_OK;
  named.sound_name = test->name;
  named.n_takes = 1U;
  int status = destination_choose(command, &named, &destination);
  if (status == EXIT_DONE) {
    status = name_check(command, &named, &destination, &st);
  }
  if (status != EXIT_DONE) {
    return status;
  }
  Writing    writing = {.settings = &named, .cautions = test->cautions};
  const bool good = write_to(command, &destination, test, &writing);
  made_files_clear(&writing.made);
  destination_close(&destination);
  return good ? EXIT_DONE : EXIT_FILE;
}
