#include "base/ranges.h"
#include "base/text.h"
#include "board/board.h"
#include "cli/boards/boards.h"
#include "cli/commands.h"
#include "cli/files/files.h"
#include "cli/message/figures.h"
#include "cli/options/settings.h"
#include "cli/prop/prop.h"
#include "container/container.h"
#include "lamp/lamp.h"
#include "pack/pack.h"
#include "signal/signal.h"
#include "store/store.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

// Files of one sound are three at most.
#define READ_MOST 3U

/// What was rehearsed.
typedef struct {
  const Settings*    settings;
  const char*        path; ///< The loop.
  char* const*       read; ///< It, and what belongs to it.
  const VwRehearsal* asked;
  VwRehearsed        heard;
} Rehearsal;

/* JSON */

static Figures*
times_of(const Settings* settings) {
  Figures* const times = figures_list();
  for (size_t i = 0; i < settings->rehearse.n_hold; ++i) {
    figures_add(times, settings->rehearse.hold_s[i]);
  }
  return times;
}

static Figures*
flashes_of(const VwRehearsed* heard) {
  Figures* const flashes = figures_list();
  for (size_t i = 0; i < heard->n_flashes; ++i) {
    const VwFlash* const flash = &heard->flashes[i];
    Figures* const       made = figures_new();
    figures_set(made, "on_s", flash->on_s);
    figures_set(made, "off_s", flash->off_s);
    figures_add(flashes, made);
  }
  return flashes;
}

/// How often the lamp flashes, at the fire rate or where two flashes are
/// closest; 0: it does not.
static double
pulse_hz(const Rehearsal* rehearsal) {
  const VwRehearsed* const heard = &rehearsal->heard;
  double pulse_hz = heard->n_flashes ? rehearsal->asked->fire_rate_per_s : 0.0;
  for (size_t i = 1; i < heard->n_flashes; ++i) {
    const double apart_s = heard->flashes[i].on_s - heard->flashes[i - 1U].on_s;
    pulse_hz = fmax(pulse_hz, apart_s > 0.0 ? 1.0 / apart_s : 0.0);
  }
  return pulse_hz;
}

static unsigned
cautions_of(const Rehearsal* rehearsal) {
  return caution_of_flashes(pulse_hz(rehearsal)) | VW_CAUTION_HEARING;
}

static Figures*
figures_of(const Rehearsal* rehearsal) {
  const VwRehearsed* const heard = &rehearsal->heard;
  const double             speaker_hz = rehearsal->asked->speaker.corner_hz;
  Figures* const           all = figures_of_command("rehearse");
  figures_set(all, "file", rehearsal->path);
  figures_set(all, "board", rehearsal->settings->board.name);
  figures_set(
    all, "repeat", choice_word(words_repeat, (int)rehearsal->asked->repeat));
  figures_set(all, "error", (Figures*)NULL);
  figures_set(all, "hold_s", times_of(rehearsal->settings));
  figures_set(all, "frames", heard->sound.n_frames);
  figures_set(all, "sample_rate_hz", heard->sound.rate_hz);
  figures_set(all, "channels", heard->sound.n_channels);
  figures_set(all, "speaker_hz", speaker_hz > 0.0 ? speaker_hz : (double)NAN);
  figures_set(all, "lamp", flashes_of(heard));
  figures_set(all, "cautions", caution_figures(cautions_of(rehearsal)));
  return all;
}

/// That as one line. To be freed; NULL without memory.
static char*
json_line(const Rehearsal* rehearsal) {
  char*       text = NULL;
  size_t      n = 0;
  FILE* const out = open_memstream(&text, &n);
  if (!out) {
    return NULL;
  }
  const bool good = figures_json(figures_of(rehearsal), out);
  if (fclose(out) || !good) {
    free(text);
    return NULL;
  }
  return text;
}

/// Print the lamp's on and off times and what was played, as one line of JSON:
/// on standard output, or where the sound goes there, on the other stream.
/// False, and said, without memory.
static bool
rehearsal_print_json(const Rehearsal* rehearsal) {
  const bool piped = !strcmp(rehearsal->settings->output, "-");
  return figures_json(figures_of(rehearsal), piped ? stderr : stdout) ||
         say_status(rehearsal->path, VW_NO_MEMORY);
}

/* Text */

/// FILE.lamp.json for FILE.wav. To be freed; NULL without memory.
static char*
lamp_path(const char* output) {
  const size_t n = strlen(output) - (vw_path_ends_in(output, ".wav") ? 4U : 0U);
  return text_format("%.*s.lamp.json", (int)n, output);
}

/// Warn of a press that the board misses.
static void
rehearsal_warn(const Rehearsal* rehearsal) {
  const Settings* const settings = rehearsal->settings;
  const double          least_ms = settings->board.press_min_ms;
  for (size_t i = 0; i < settings->rehearse.n_hold; i += 2U) {
    const double held_ms = settings->rehearse.hold_s[i] * 1000.0;
    // Times of as many frames count as enough.
    if (held_ms < least_ms - 0.01) {
      say("--hold",
          "warning: the board misses a press of %.4g ms, its shortest is %.4g "
          "ms: hold it for longer",
          held_ms,
          least_ms);
      return;
    }
  }
}

/// Print for a person which files were written, what is heard, and
/// cautions.
static void
rehearsal_print_text(const Rehearsal* rehearsal) {
  const char* const    output = rehearsal->settings->output;
  const VwSound* const heard = &rehearsal->heard.sound;
  const size_t         n = rehearsal->heard.n_flashes;
  char* const          beside = lamp_path(output);
  char* const          sound = text_safe(output);
  char* const          lamp = text_safe(beside ? beside : "");
  printf("%s: %.3f s, %zu shot%s heard\n%s: %zu flash%s of the lamp\n%s",
         sound,
         (double)heard->n_frames / (double)heard->rate_hz,
         n,
         n == 1U ? "" : "s",
         lamp,
         n,
         n == 1U ? "" : "es",
         rehearsal->settings->dry_run ? "not written: a dry run\n" : "");
  caution_lines(cautions_of(rehearsal), NULL, stdout);
  free(lamp);
  free(sound);
  free(beside);
}

/* Files */

/// All that was named or read: nothing is written over it. To be freed.
static const char**
takes_of(const Rehearsal* rehearsal, size_t* n_takes) {
  const Settings* const settings = rehearsal->settings;
  size_t                n = settings->n_takes;
  const char** const    takes = calloc(n + READ_MOST, sizeof(const char*));
  for (size_t i = 0; takes && i < n; ++i) {
    takes[i] = settings->takes[i];
  }
  for (size_t i = 0; takes && i < READ_MOST && rehearsal->read[i]; ++i) {
    takes[n++] = rehearsal->read[i];
  }
  *n_takes = n;
  return takes;
}

/// Write both files, or none.
static bool
write_both(const Rehearsal* rehearsal,
           const char*      output,
           const VwBytes*   bytes,
           char*            json) {
  const Settings* const settings = rehearsal->settings;
  size_t                n_takes = 0;
  const char** const    takes = takes_of(rehearsal, &n_takes);
  char* const           path = lamp_path(output);
  size_t                at = 0;
  const VwOutput        outputs[] = {
           {.path = output, .bytes = *bytes},
           {.path = path, .bytes = {(unsigned char*)json, json ? strlen(json) : 0U}}};
  const VwWriteOptions options = {.force = settings->force,
                                  .dry_run = settings->dry_run,
                                  .takes = takes,
                                  .n_takes = n_takes};
  const VwStatus       st =
    path && json && takes ? vw_write(outputs, 2U, &options, &at) : VW_NO_MEMORY;
  if (st) {
    say_status(at && path ? path : output, st);
  }
  free(path);
  free(takes);
  return !st;
}

static bool
write_encoded(const Rehearsal* rehearsal,
              const char*      output,
              const VwBytes*   bytes) {
  if (!strcmp(output, "-")) {
    const VwStatus st = rehearsal->settings->dry_run
                          ? VW_OK
                          : vw_file_status(vw_file_add(
                              STDOUT_FILENO, bytes->data, bytes->n_bytes));
    return !st || say_status("standard output", st);
  }
  char* const json = json_line(rehearsal);
  const bool  good = write_both(rehearsal, output, bytes, json);
  free(json);
  return good;
}

/**
 * Write the sound, and beside it the lamp's times.
 *
 * @param output A file, or "-": the sound alone goes to standard output.
 * @return False, and said, if that fails.
 */
static bool
rehearsal_write(const Rehearsal* rehearsal, const char* output) {
  const VwPiece piece = {.part = VW_PART_WHOLE,
                         .sound = rehearsal->heard.sound};
  // What the board plays has its dither already.
  const VwFormat format = {.encoding =
                             rehearsal->settings->family.format.encoding,
                           .dither = VW_DITHER_NONE};
  VwBytes        bytes = {0};
  const VwStatus st = vw_encode_wav(&piece, &format, 0U, &bytes);
  if (st) {
    return say_status(output, st);
  }
  const bool good = write_encoded(rehearsal, output, &bytes);
  vw_bytes_clear(&bytes);
  return good;
}

/* Which sound of a pack */

/// Whether a file stands for its sound: no other does.
static bool
stands_for_sound(const SoundName* name) {
  return !name->has_part ||
         (name->part != VW_PART_RUN_IN && name->part != VW_PART_RING_OUT);
}

/// Whether a sound's rapid fire is to be chosen before its single shot.
static bool
is_better(const SoundName* name, const SoundName* than) {
  return name->has_part && name->part == VW_PART_LOOP &&
         !(than->has_part && than->part == VW_PART_LOOP);
}

/// What a sound is called: by its file, and where that differs by the pack's
/// list. To be freed.
static char*
shown_name(const char* pack, const FolderTake* take, const SoundName* name) {
  char* const called = vw_pack_sound_in(pack, take->path + take->at_name);
  const bool  more = called && !sound_name_is(name, called);
  char* const shown = text_format("%.*s%s%s%s",
                                  (int)name->n_sound,
                                  name->path + name->at_sound,
                                  more ? " (" : "",
                                  more ? called : "",
                                  more ? ")" : "");
  free(called);
  return shown;
}

/// Say which sounds there are.
static void
refuse_sound(const char* pack, const TakeFolder* folder, const char* asked) {
  char*     names = NULL;
  SoundName before = {.path = ""};
  for (size_t i = 0; i < folder->n_takes; ++i) {
    const SoundName name = sound_name_of(folder->takes[i].path);
    const bool      again =
      i && stands_for_sound(&before) && before.n_sound == name.n_sound &&
      !strncmp(
        before.path + before.at_sound, name.path + name.at_sound, name.n_sound);
    before = stands_for_sound(&name) ? name : before;
    if (folder->takes[i].promised && stands_for_sound(&name) && !again) {
      char* const shown = shown_name(pack, &folder->takes[i], &name);
      names = text_more(names, ", ", "%s", shown ? shown : "?");
      free(shown);
    }
  }
  if (asked) {
    say(asked, "no such sound in %s: there are %s", pack, names ? names : "");
  } else {
    say(pack,
        "several sounds: name one with --sound, of %s",
        names ? names : "these");
  }
  free(names);
}

static bool
is_asked(const char*       pack,
         const FolderTake* take,
         const SoundName*  name,
         const char*       asked) {
  char* const called = vw_pack_sound_in(pack, take->path + take->at_name);
  const bool  is = sound_name_is(name, asked) ||
                  (called && !vw_compare_without_case(called, asked));
  free(called);
  return is;
}

/// The file of a pack that stands for the sound asked for, or for its only one.
/// To be freed; NULL, and said, if there is none.
static char*
choose_sound(const char* pack, const TakeFolder* folder, const char* asked) {
  SoundName best = {0};
  for (size_t i = 0; i < folder->n_takes; ++i) {
    const SoundName name = sound_name_of(folder->takes[i].path);
    if (!folder->takes[i].promised || !stands_for_sound(&name) ||
        (asked && !is_asked(pack, &folder->takes[i], &name, asked))) {
      continue;
    }
    char* const sound =
      best.path && !asked
        ? text_format("%.*s", (int)best.n_sound, best.path + best.at_sound)
        : NULL;
    const bool other = sound && !sound_name_is(&name, sound);
    free(sound);
    if (other) {
      refuse_sound(pack, folder, NULL);
      return NULL;
    }
    best = !best.path || is_better(&name, &best) ? name : best;
  }
  if (!best.path) {
    refuse_sound(pack, folder, asked ? asked : pack);
  }
  return best.path ? text_format("%s", best.path) : NULL;
}

/// The file meant: the one named, or one of a pack. To be freed.
static char*
file_meant(const char* path, const char* asked) {
  TakeFolder folder = {.with_ours = true};
  if (!vw_path_is_folder(path)) {
    return text_format("%s", path);
  }
  char* const file =
    take_folder_list(path, &folder) ? choose_sound(path, &folder, asked) : NULL;
  take_folder_clear(&folder);
  return file;
}

/* One rehearsal */

/// Make what is heard a file that the board plays: as many channels as it
/// takes, and behind what it breaks off the silence that follows, in the last
/// frame.
static VwStatus
fit_board(const VwBoard* board, VwSound* sound) {
  const VwFormat format = {.n_channels = sound->n_channels};
  const size_t   n = sound->n_frames;
  VwSound        copied = {0};
  VwDownmix      how;
  VwStatus       st = n && vw_sound_height(sound, n - 1U) > 0.0
                        ? vw_sound_pad(sound, 1U, n + 1U)
                        : VW_OK;
  if (st || board_plays(board, &format, "channels")) {
    return st;
  }
  st = vw_downmix(sound, board->channels[0], &how, &copied);
  if (!st) {
    vw_sound_clear(sound);
    *sound = copied;
  }
  return st;
}

static bool
rehearse(const Settings* settings, const char* path, Rehearsal* rehearsal) {
  BoardFiles files = {0};
  bool       good = board_files_read(path, settings, &files);
  if (good) {
    const VwSpeaker* const speaker = &settings->family.level.speaker;
    if (settings->rehearse.through_speaker) {
      files.rehearsal.speaker =
        speaker->corner_hz > 0.0
          ? *speaker
          : (VwSpeaker){.corner_hz = VW_SPEAKER_USUAL_HZ};
    }
    // A loop has its own already.
    if (!(files.rehearsal.lamp_on_ms > 0.0) &&
        settings->family.lamp_on_ms > 0.0) {
      files.rehearsal.lamp_on_ms = vw_on_time_of_shot(&settings->family).on_ms;
    }
    rehearsal->asked = &files.rehearsal;
    rehearsal->read = files.paths;
    VwStatus st = vw_rehearse(&files.rehearsal,
                              &settings->board,
                              settings->rehearse.hold_s,
                              settings->rehearse.n_hold,
                              &rehearsal->heard);
    st = st ? st : fit_board(&settings->board, &rehearsal->heard.sound);
    if (st == VW_BAD_OPTION) {
      say(path,
          "its files do not go together, or --speaker is too high: make them "
          "again, or give a lower one");
    } else if (st) {
      say_status(path, st);
    }
    good = !st && rehearsal_write(rehearsal, settings->output);
    good = good && (!settings->json || rehearsal_print_json(rehearsal));
    if (good && !settings->quiet) {
      rehearsal_warn(rehearsal);
    }
    if (good && !settings->json && !settings->quiet) {
      if (strcmp(settings->output, "-")) {
        rehearsal_print_text(rehearsal);
      } else {
        caution_lines(cautions_of(rehearsal), NULL, stderr);
      }
    }
    rehearsal->asked = NULL;
  }
  board_files_clear(&files);
  return good;
}

static bool
rehearse_one(const Settings* settings, const char* path) {
  char* const file = file_meant(path, settings->rehearse.sound);
  Rehearsal   rehearsal = {.settings = settings, .path = file};
  const bool  good = file && rehearse(settings, file, &rehearsal);
  vw_rehearsed_clear(&rehearsal.heard);
  free(file);
  return good;
}

/// Of the files of one sound, the one that stands for it: its loop.
static const char*
file_of_sound(const Settings* settings) {
  SoundName best = sound_name_of(settings->takes[0]);
  for (size_t i = 1; i < settings->n_takes; ++i) {
    const SoundName name = sound_name_of(settings->takes[i]);
    best = is_better(&name, &best) ||
               (!stands_for_sound(&best) && stands_for_sound(&name))
             ? name
             : best;
  }
  return best.path;
}

/// Refuse none, and files of several sounds.
static int
check_files(const Settings* settings) {
  if (!settings->n_takes) {
    return say_usage("rehearse",
                     "no loop is given: name one, as in "
                     "`volleyweave rehearse zap.loop.wav --hold 1.2s --board "
                     "wav-44k-mono -o held.wav`");
  }
  const SoundName first = sound_name_of(settings->takes[0]);
  for (size_t i = 1; i < settings->n_takes; ++i) {
    const SoundName name = sound_name_of(settings->takes[i]);
    if (!sound_name_is_sibling(&name, &first)) {
      return say_usage(settings->takes[i],
                       "of another sound than %s: give the files of one",
                       settings->takes[0]);
    }
  }
  return EXIT_DONE;
}

static int
check(const Settings* settings, bool has_board) {
  const bool hold = settings->rehearse.n_hold;
  const bool output = settings->output;
  if (hold + output + has_board < 2) {
    return say_usage("rehearse",
                     "%s%s%s are missing: write `volleyweave rehearse "
                     "zap.loop.wav --hold 1.2s --board wav-44k-mono -o "
                     "held.wav`, say",
                     hold                  ? "-o and "
                     : output || has_board ? "--hold and "
                                           : "--hold, ",
                     hold || output ? ""
                     : has_board    ? "-o"
                                    : "-o and ",
                     has_board ? "" : "--board");
  }
  if (!hold) {
    return say_usage("--hold", "missing: write --hold 1.2s, say");
  }
  if (!settings->output || vw_path_is_folder(settings->output)) {
    return say_usage("-o", "name the file to write: -o held.wav, or -o -");
  }
  if (!strcmp(settings->output, "-") && isatty(STDOUT_FILENO)) {
    return say_usage("-o -",
                     "sound is nothing for a terminal: send it through a pipe "
                     "or name a file");
  }
  return EXIT_DONE;
}

int
command_rehearse(const CommandName* command, const Settings* settings) {
  Settings with_board = *settings;
  bool     found = false;
  (void)command;
  int status = check_files(settings);
  if (status == EXIT_DONE && !board_find_or_default(settings->board_asked,
                                                    &with_board.board,
                                                    &found)) {
    status = EXIT_USAGE;
  }
  status = status == EXIT_DONE ? check(settings, found) : status;
  if (status != EXIT_DONE) {
    return status;
  }
  if (!found) {
    return say_usage("--board",
                     "no board is given: name the one that is to play, as in "
                     "--board wav-44k-mono; `volleyweave boards` lists them");
  }
  VwFormat* const format = &with_board.family.format;
  if (!settings->has_bits && !settings->rehearse.through_speaker &&
      !board_plays(&with_board.board, format, "bits")) {
    format->encoding = with_board.board.encodings[0];
  }
  return rehearse_one(&with_board, file_of_sound(settings)) ? EXIT_DONE
                                                            : EXIT_FILE;
}
