#include "base/text.h"
#include "card/loop.h"
#include "cli/commands.h"
#include "cli/files/files.h"
#include "cli/message/message.h"
#include "cli/options/options.h"
#include "cli/report/card.h"
#include "container/container.h"
#include "signal/signal.h"
#include "store/store.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/// What is mended, and how.
typedef struct {
  const CommandName* command;
  const Settings*    settings;
  Destination*       destination;
} Work;

/* Encoding */

/// Whether all values of a sound are codes of so many steps.
static bool
is_on_steps(const VwSound* sound, float steps) {
  const size_t n = sound->n_frames * sound->n_channels;
  size_t       i = 0;
  while (i < n && sound->values[i] * steps == rintf(sound->values[i] * steps)) {
    ++i;
  }
  return i == n;
}

static VwStatus
read_header(const char* path, VwWavHeader* header) {
  VwOpenFile     file = {0};
  const VwStatus st = vw_file_open(path, &file);
  if (st) {
    return st;
  }
  *header = vw_wav_header_read(&file);
  vw_file_close(&file);
  return file.failed ? VW_UNREADABLE : VW_OK;
}

/// The encoding of a file, as far as it is one that is written: that of a WAV
/// file, or else the least of 16 bits and more that holds every value. What was
/// packed with loss has none; 16 bits do.
static VwEncoding
encoding_of(const VwWavHeader* header, const VwSound* sound) {
  const bool whole = header->has_format && header->coded == VW_TAG_PCM;
  if (header->has_format && header->coded == VW_TAG_FLOAT) {
    return VW_ENCODING_FLOAT;
  }
  if (whole && header->bits == 8U) {
    return VW_ENCODING_U8;
  }
  if (is_on_steps(sound, 0x1.0p15F) || !(header->has_format || whole)) {
    return whole && header->bits == 24U ? VW_ENCODING_S24 : VW_ENCODING_S16;
  }
  return is_on_steps(sound, 0x1.0p23F) ? VW_ENCODING_S24 : VW_ENCODING_FLOAT;
}

/// The step from code to code; 0 of what has none.
static double
step_of(VwEncoding encoding) {
  static const double steps[] = {[VW_ENCODING_U8] = 0x1.0p-7,
                                 [VW_ENCODING_S16] = 0x1.0p-15,
                                 [VW_ENCODING_S24] = 0x1.0p-23,
                                 [VW_ENCODING_FLOAT] = 0.0};
  return steps[encoding];
}

/* One loop */

/// A loop on its way.
typedef struct {
  const Work* work;
  Settings    settings; ///< Its own: one take, and how it is written.
  char*       name;     ///< The sound's. Owned.
  VwSound     sound;    ///< Owned.
  VwLoopFacts before;
  VwLoopFacts after;
  VwFindings  found; ///< Owned.
  VwFindings  left;  ///< Owned.
  VwMending   mending;
  MadeFiles   made; ///< Owned.
} Loop;

static void
clear(Loop* loop) {
  free(loop->name);
  vw_sound_clear(&loop->sound);
  vw_findings_clear(&loop->found);
  vw_findings_clear(&loop->left);
  made_files_clear(&loop->made);
}

/// The settings of one loop: named after its sound, without the part's word.
static bool
start(const Work* work, size_t index, Loop* loop) {
  const SoundName name = sound_name_of(work->settings->takes[index]);
  *loop = (Loop){.work = work, .settings = *work->settings};
  loop->name =
    text_format("%.*s", (int)name.n_sound, name.path + name.at_sound);
  loop->settings.sound_name = loop->name;
  loop->settings.takes = &work->settings->takes[index];
  loop->settings.n_takes = 1U;
  return loop->name != NULL;
}

/// Note what the mended loop holds; what is not sure is listened for again.
static void
note_made(const VwLoopFacts* facts, double gap_ms, MadeFiles* made) {
  const bool whole =
    !facts->flaws[VW_FLAW_GAP].there && !facts->flaws[VW_FLAW_CYCLE].there;
  const bool shots =
    whole && !facts->single && !facts->several &&
    vw_is_within((double)facts->shots, (VwRange)VW_RANGE_CYCLE_SHOTS);
  made->files[0].made = (VwMade){0};
  if (shots || facts->goes_on) {
    made->files[0].made = (VwMade){.part = VW_PART_LOOP,
                                   .shots = facts->goes_on ? 0U : facts->shots,
                                   .gap_ms = gap_ms};
  }
  made->are_takes = !shots && !facts->goes_on;
}

/// Make the bytes of the mended loop.
static VwStatus
encode(Loop* loop, const VwFormat* format) {
  VwPiece        piece = {.part = VW_PART_LOOP,
                          .sound = loop->sound,
                          .has_loop = loop->after.marked,
                          .loop_start = loop->after.start,
                          .loop_end = loop->after.start + loop->after.n_frames};
  const VwFamily family = {.format = *format, .pieces = &piece, .n_pieces = 1U};
  const MadeFrom from = {loop->work->command, &loop->settings, &family, 0U};
  const VwStatus st =
    made_files_encode(&from, loop->work->destination, &loop->made);
  if (!st) {
    note_made(&loop->after, loop->settings.family.gap_ms, &loop->made);
  }
  return st;
}

static VwStatus
write_mended(Loop* loop) {
  const Settings all = *loop->work->settings;
  size_t         at = 0;
  return made_files_write(&loop->made, &all, loop->work->destination, &at);
}

static VwStatus
mend(const char* path, Loop* loop) {
  const Settings* const settings = loop->work->settings;
  const VwLoopAsked     asked = loop_asked(settings, path);
  VwFormat              format = settings->family.format;
  VwWavHeader           header = {0};
  VwStatus              st =
    vw_loop_read(path, &settings->reading, &asked, &loop->sound, &loop->before);
  st = st ? st : vw_loop_note(&loop->sound, path, &loop->before, &loop->found);
  st = st ? st : read_header(path, &header);
  if (st) {
    return st;
  }
  if (!settings->has_bits) {
    format.encoding = encoding_of(&header, &loop->sound);
  }
  // Without an option all codes stay what they are.
  if (!settings->has_bits && !settings_is_given(settings, "dither")) {
    format.dither = VW_DITHER_NONE;
  }
  loop->after = loop->before;
  st = vw_loop_mend(&loop->sound,
                    &asked,
                    step_of(format.encoding),
                    &loop->after,
                    &loop->mending);
  st = st ? st : encode(loop, &format);
  return st ? st
            : vw_loop_note(&loop->sound,
                           loop->made.files[0].path,
                           &loop->after,
                           &loop->left);
}

/* All */

static void
print_faults(const VwFaults* faults, const char* label, FILE* out) {
  for (size_t i = 0; i < faults->n_faults; ++i) {
    line_wrap(out, label, faults->faults[i].what);
  }
}

static void
print_text(const MendReport* report, const Settings* settings, FILE* out) {
  if (settings->quiet) {
    return;
  }
  report_loop_text(report->before.path, &report->before.loop, out);
  print_faults(&report->before.findings->faults, "found", out);
  report_mend_text(report, out);
  report_loop_text(report->after.path, &report->after.loop, out);
  print_faults(&report->after.findings->faults, "left", out);
  if (!report->after.findings->faults.n_faults) {
    line_print(out,
               "now",
               "check finds %s more",
               report->after.findings->warnings.n_faults ? "no fault"
                                                         : "nothing");
  }
}

/// Say what cannot be mended.
static void
say_left(const char* path, const VwFindings* left) {
  for (size_t i = 0; i < left->warnings.n_faults; ++i) {
    const VwFault* const warning = &left->warnings.faults[i];
    say(path, "warning: not mended: %s: %s", warning->what, warning->remedy);
  }
  for (size_t i = 0; i < left->faults.n_faults; ++i) {
    say(path,
        "cannot be mended: %s: make it again with `volleyweave loop`",
        left->faults.faults[i].what);
  }
}

static int
mend_at(const Work* work, size_t index) {
  const Settings* const settings = work->settings;
  const char* const     path = settings->takes[index];
  Loop                  loop;
  bool                  nothing = false;
  bool                  unwritten = false;
  VwStatus st = start(work, index, &loop) ? mend(path, &loop) : VW_NO_MEMORY;
  nothing = !st && !loop.found.faults.n_faults && !settings->has_bits &&
            !vw_loop_packing(path);
  if (!st && !nothing) {
    st = write_mended(&loop);
    unwritten = st != VW_OK;
  }
  const MadeFile* const file = loop.made.files;
  const MendReport      report = {
         .before = {.path = path,
                    .loop = {st ? NULL : &loop.sound, st ? NULL : &loop.before},
                    .findings = st ? NULL : &loop.found,
                    .status = st},
         .after = {.path = st ? NULL : file->path,
                   .loop = {st ? NULL : &loop.sound, st ? NULL : &loop.after},
                   .findings = st ? NULL : &loop.left},
         .mending = st ? NULL : &loop.mending,
         .written = st || nothing || settings->dry_run ? NULL : file->path,
         .n_bytes = st ? 0U : file->bytes.n_bytes};
  FILE* const out = work->destination->kind == TO_STDOUT ? stderr : stdout;
  if (st) {
    say_status(unwritten ? file->path : path, st);
  } else if (nothing && !settings->json) {
    say_left(path, &loop.found);
    say(path,
        "nothing is written, since %s: use it as it is",
        loop.found.warnings.n_faults ? "it has no fault that mend repairs"
                                     : "check finds nothing wrong with it");
  } else if (!settings->json) {
    print_text(&report, settings, out);
    say_left(path, &loop.left);
  }
  if (settings->json && !report_mend_json(&report, out)) {
    say_status(path, VW_NO_MEMORY);
  }
  const int status = st                          ? EXIT_FILE
                     : loop.left.faults.n_faults ? EXIT_FAULTS
                                                 : EXIT_DONE;
  clear(&loop);
  return status;
}

/// Whether two loops would be written to one file.
static bool
share_name(const Settings* settings) {
  for (size_t i = 0; i < settings->n_takes; ++i) {
    const SoundName one = sound_name_of(settings->takes[i]);
    for (size_t k = 0; k < i; ++k) {
      const SoundName other = sound_name_of(settings->takes[k]);
      if (vw_same_without_case(one.path + one.at_sound,
                               one.n_sound,
                               other.path + other.at_sound,
                               other.n_sound)) {
        say_status(settings->takes[i], VW_SAME_STEM);
        return true;
      }
    }
  }
  return false;
}

int
command_mend(const CommandName* command, const Settings* settings) {
  Destination destination = {0};
  int         status = destination_choose(command, settings, &destination);
  if (status != EXIT_DONE) {
    return status;
  }
  if (destination.kind == TO_FOLDER && share_name(settings)) {
    return EXIT_USAGE;
  }
  const Work work = {command, settings, &destination};
  for (size_t i = 0; i < settings->n_takes; ++i) {
    const int one = mend_at(&work, i);
    status = one == EXIT_DONE || status == EXIT_FILE ? status : one;
  }
  destination_close(&destination);
  return status;
}
