#include "commands.h"

#include "paths.h"
#include "say.h"
#include "status.h"
#include "tryout_take.h"

#include <stdlib.h>
#include <string.h>

#define DEFAULT_FILE "tryout.html"

// The small speaker of the page, where none is named: one of 40 mm.
#define SPEAKER_HZ 375.0

/// What a board does with the form asked for, where none is named: it finishes,
/// so that the whole sound is heard.
static VwBoard
board_for(const Settings* settings) {
  static const VwRepeat repeats[] = {
    [VW_FORM_PIECES] = VW_REPEAT_THREE_FILES,
    [VW_FORM_WHOLE_FILE] = VW_REPEAT_WHOLE_FILE,
    [VW_FORM_LOOP_POINTS] = VW_REPEAT_LOOP_POINTS,
    [VW_FORM_BURST] = VW_REPEAT_NOTHING,
  };
  if (settings->has_board) {
    return settings->board;
  }
  VwBoard board = vw_board_defaults();
  board.repeat = repeats[settings->family.form];
  board.release = VW_RELEASE_FINISHES;
  board.gap_ms = settings->family.gap_ms;
  return board;
}

static bool
write_page(const Settings* settings, const char* path, char* text) {
  size_t               at = 0;
  const VwOutput       output = {path, {(unsigned char*)text, strlen(text)}};
  const VwWriteOptions options = {.force = settings->force,
                                  .dry_run = settings->dry_run,
                                  .takes = settings->takes,
                                  .n_takes = settings->n_takes};
  const VwStatus       st = vw_write(&output, 1U, &options, &at);
  if (st) {
    say_status(path, st);
  } else if (!settings->quiet) {
    printf("%s: %zu sound%s: open it in a browser\n",
           path,
           settings->n_takes,
           settings->n_takes == 1U ? "" : "s");
  }
  return !st;
}

/// The file that -o means: a page, or the usual name in a folder. To be freed.
static char*
page_path(const Settings* settings) {
  const char* const output = settings->output ? settings->output : DEFAULT_FILE;
  const size_t      n = strlen(output);
  return path_is_folder(output) ? text_format("%s%s" DEFAULT_FILE,
                                              output,
                                              output[n - 1U] == '/' ? "" : "/")
                                : text_format("%s", output);
}

static int
make_page(const Settings* settings, const char* path) {
  const VwBoard    board = board_for(settings);
  const double     speaker_hz = settings->family.level.speaker_hz;
  JsonText         page = {0};
  size_t           n_failed = 0;
  const TryoutHead head = {
    .title = settings->sound_name ? settings->sound_name : "",
    .board = &board,
    .board_known = settings->has_board,
    .speaker_hz = speaker_hz > 0.0 ? speaker_hz : SPEAKER_HZ};
  tryout_page_begin(&page, &head);
  for (size_t i = 0; i < settings->n_takes; ++i) {
    n_failed += tryout_take_add(settings, i, &page) ? 0U : 1U;
  }
  tryout_page_end(&page);
  if (!page.text) {
    say_status(path, VW_NO_MEMORY);
    return EXIT_FILE;
  }
  const bool all_failed = n_failed == settings->n_takes;
  const bool good = all_failed || write_page(settings, path, page.text);
  free(page.text);
  if (n_failed && settings->n_takes > 1U) {
    say("takes", "%zu of %zu failed", n_failed, settings->n_takes);
  }
  return good && !n_failed ? EXIT_DONE : EXIT_FILE;
}

int
command_tryout(const CommandName* command, const Settings* settings) {
  (void)command;
  if (settings->output && !strcmp(settings->output, "-")) {
    return say_usage("-o -", "a page is a file: name it, as in -o tryout.html");
  }
  char* const path = page_path(settings);
  const int   status = path ? make_page(settings, path) : EXIT_FILE;
  if (!path) {
    say_status("tryout", VW_NO_MEMORY);
  }
  free(path);
  return status;
}
