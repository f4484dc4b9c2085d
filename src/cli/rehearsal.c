#include "cli/rehearsal.h"

#include "board/board.h"
#include "cli/message/caution.h"
#include "cli/message/line.h"
#include "cli/message/say.h"
#include "cli/message/status.h"
#include "cli/message/words.h"
#include "container/container.h"
#include "store/store.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

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

static Figures*
figures_of(const Rehearsal* rehearsal) {
  const VwRehearsed* const heard = &rehearsal->heard;
  const double             speaker_hz = rehearsal->asked->speaker_hz;
  const unsigned           cautions =
    CAUTION_HEARING | caution_of_flashes(pulse_hz(rehearsal));
  Figures* const all = figures_of_command("rehearse");
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
  figures_set(all, "cautions", caution_figures(cautions));
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

bool
rehearsal_print_json(const Rehearsal* rehearsal) {
  const bool  piped = !strcmp(rehearsal->settings->output, "-");
  char* const json = json_line(rehearsal);
  if (!json) {
    say_status(rehearsal->path, VW_NO_MEMORY);
    return false;
  }
  (void)fputs(json, piped ? stderr : stdout);
  free(json);
  return true;
}

/* Text */

/// FILE.lamp.json for FILE.wav. To be freed; NULL without memory.
static char*
lamp_path(const char* output) {
  const size_t n = strlen(output) - (vw_path_ends_in(output, ".wav") ? 4U : 0U);
  return text_format("%.*s.lamp.json", (int)n, output);
}

void
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

void
rehearsal_print_text(const Rehearsal* rehearsal) {
  const char* const    output = rehearsal->settings->output;
  const VwSound* const heard = &rehearsal->heard.sound;
  const size_t         n = rehearsal->heard.n_flashes;
  char* const          beside = lamp_path(output);
  char* const          sound = text_safe(output);
  char* const          lamp = text_safe(beside ? beside : "");
  printf("%s: %.3f s, %zu shot%s heard\n%s: %zu flash%s of the lamp\n%s",
         sound ? sound : "?",
         (double)heard->n_frames / (double)heard->rate_hz,
         n,
         n == 1U ? "" : "s",
         lamp ? lamp : "?",
         n,
         n == 1U ? "" : "es",
         rehearsal->settings->dry_run ? "not written: a dry run\n" : "");
  caution_lines(CAUTION_HEARING, stdout);
  caution_lines(caution_of_flashes(pulse_hz(rehearsal)), stdout);
  free(lamp);
  free(sound);
  free(beside);
}

/* Files */

/// Write both files, or none.
static bool
write_both(const Rehearsal* rehearsal,
           const char*      output,
           const VwBytes*   bytes,
           char*            json) {
  const Settings* const settings = rehearsal->settings;
  char* const           path = lamp_path(output);
  size_t                at = 0;
  const VwOutput        outputs[] = {
           {.path = output, .bytes = *bytes},
           {.path = path, .bytes = {(unsigned char*)json, json ? strlen(json) : 0U}}};
  const VwWriteOptions options = {.force = settings->force,
                                  .dry_run = settings->dry_run,
                                  .takes = settings->takes,
                                  .n_takes = settings->n_takes};
  const VwStatus       st =
    path && json ? vw_write(outputs, 2U, &options, &at) : VW_NO_MEMORY;
  if (st) {
    say_status(at && path ? path : output, st);
  }
  free(path);
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
    if (st) {
      say_status("standard output", st);
    }
    return !st;
  }
  char* const json = json_line(rehearsal);
  const bool  good = write_both(rehearsal, output, bytes, json);
  free(json);
  return good;
}

bool
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
    say_status(output, st);
    return false;
  }
  const bool good = write_encoded(rehearsal, output, &bytes);
  vw_bytes_clear(&bytes);
  return good;
}
