#include "rehearsal.h"

#include "json_text.h"
#include "say.h"
#include "status.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <unistd.h>

#include <errno.h>

/* JSON */

static const char*
repeat_word(VwRepeat repeat) {
  static const char* const words[] = {
    "whole-file", "loop-points", "three-files", "nothing"};
  return words[repeat];
}

char*
rehearsal_json(const Rehearsal* rehearsal) {
  const Settings* const    settings = rehearsal->settings;
  const VwRehearsed* const heard = &rehearsal->heard;
  JsonText                 to = {0};
  grow_add(&to, "{\"schema\": 1, \"command\": \"rehearse\", \"file\": ");
  grow_string(&to, rehearsal->path);
  grow_add(&to, ", \"board\": ");
  grow_string(&to, settings->board.name);
  grow_add(&to,
           ", \"repeat\": \"%s\", \"error\": null, \"hold_s\": [",
           repeat_word(rehearsal->asked->repeat));
  for (size_t i = 0; i < settings->n_hold; ++i) {
    grow_add(&to, "%s%.17g", i ? ", " : "", settings->hold_s[i]);
  }
  grow_add(&to,
           "], \"frames\": %zu, \"sample_rate_hz\": %u, \"channels\": %u, "
           "\"speaker_hz\": ",
           heard->sound.n_frames,
           heard->sound.rate_hz,
           heard->sound.n_channels);
  if (rehearsal->asked->speaker_hz > 0.0) {
    grow_number(&to, rehearsal->asked->speaker_hz);
  } else {
    grow_string_or_null(&to, NULL);
  }
  grow_add(&to, ", \"lamp\": [");
  for (size_t i = 0; i < heard->n_flashes; ++i) {
    grow_add(&to,
             "%s{\"on_s\": %.6f, \"off_s\": %.6f}",
             i ? ", " : "",
             heard->flashes[i].on_s,
             heard->flashes[i].off_s);
  }
  grow_add(&to, "]}\n");
  return to.text;
}

bool
rehearsal_print(const Rehearsal* rehearsal) {
  const bool  piped = !strcmp(rehearsal->settings->output, "-");
  char* const json = rehearsal_json(rehearsal);
  if (!json) {
    say_status(rehearsal->path, VW_NO_MEMORY);
    return false;
  }
  (void)fputs(json, piped ? stderr : stdout);
  free(json);
  return true;
}

/* Files */

static VwStatus
write_to_stdout(const VwBytes* bytes) {
  size_t n_done = 0;
  while (n_done < bytes->n_bytes) {
    const ssize_t n =
      write(STDOUT_FILENO, bytes->data + n_done, bytes->n_bytes - n_done);
    if (n < 0 && errno != EINTR) {
      return errno == ENOSPC ? VW_DISK_FULL : VW_WRITE_FAILED;
    }
    n_done += n > 0 ? (size_t)n : 0U;
  }
  return VW_OK;
}

/// FILE.lamp.json for FILE.wav. To be freed; NULL without memory.
static char*
lamp_path(const char* output) {
  const size_t n = strlen(output);
  const bool   ends = n > 4U && !strcasecmp(output + n - 4U, ".wav");
  return text_format("%.*s.lamp.json", (int)(ends ? n - 4U : n), output);
}

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
           {output, *bytes}, {path, {(unsigned char*)json, json ? strlen(json) : 0U}}};
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
    const VwStatus st =
      rehearsal->settings->dry_run ? VW_OK : write_to_stdout(bytes);
    if (st) {
      say_status("standard output", st);
    }
    return !st;
  }
  char* const json = rehearsal_json(rehearsal);
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
