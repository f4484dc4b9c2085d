#include "base/ranges.h"
#include "board/board.h"
#include "cli/commands.h"
#include "cli/message/figures.h"
#include "cli/page/page.h"
#include "store/store.h"

#include <stdlib.h>
#include <string.h>

#define DEFAULT_FILE "tryout.html"

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

/// The file that -o means: a page, or the usual name in a folder. To be freed.
static char*
page_path(const Settings* settings) {
  const char* const output = settings->output ? settings->output : DEFAULT_FILE;
  return vw_path_is_folder(output) ? vw_path_join(output, DEFAULT_FILE)
                                   : text_format("%s", output);
}

/// A page on its way.
typedef struct {
  const Settings* settings;
  const char*     path;
  size_t          n_failed; ///< Takes that cannot be used.
} Job;

/// Add all takes to a page. False where something interrupts.
static bool
add_takes(Job* job, TryoutPage* page) {
  const Settings* const settings = job->settings;
  for (size_t i = 0; i < settings->n_takes; ++i) {
    if (page_file_is_interrupted()) {
      return false;
    }
    job->n_failed += tryout_take_add(settings, i, page) ? 0U : 1U;
  }
  return true;
}

/// Write the page; one on which nothing can be tried is not kept.
static VwStatus
write_page(Job* job, PageFile* file) {
  const Settings* const settings = job->settings;
  const VwBoard         board = board_for(settings);
  const TryoutBoard     shown = {.board = &board, .known = settings->has_board};
  const double          speaker_hz = settings->family.level.speaker_hz;
  char* const           made_by = tryout_command_whole("loop", settings);
  const TryoutHead      head = {
         .title = settings->sound_name ? settings->sound_name : "",
         .made_by = made_by,
         .boards = &shown,
         .n_boards = 1U,
         .speaker_hz = speaker_hz > 0.0 ? speaker_hz : VW_SPEAKER_USUAL_HZ};
  TryoutPage page = {.n_heard = 0};
  tryout_page_begin(&page, &head, file->pour);
  free(made_by);
  const bool     whole = add_takes(job, &page);
  const bool     some = job->n_failed < settings->n_takes;
  const VwStatus st = tryout_page_end(&page, 0U);
  const VwStatus ended =
    page_file_end(file, whole && some && !st && !settings->dry_run);
  return st ? st : ended;
}

/// Report the page as a whole.
static void
tell(const Job* job) {
  const Settings* const settings = job->settings;
  const size_t          n = settings->n_takes - job->n_failed;
  if (settings->json) {
    Figures* const all = figures_of_command("tryout");
    figures_set(all, "page", n ? job->path : NULL);
    figures_set(all, "sounds_total", settings->n_takes);
    figures_set(all, "sounds_failed", job->n_failed);
    (void)figures_json(all, stdout);
  } else if (n && !settings->quiet) {
    char* const safe = text_safe(job->path);
    printf("%s: %zu sound%s: open it in a browser\n",
           safe ? safe : "?",
           n,
           n == 1U ? "" : "s");
    free(safe);
  }
  if (job->n_failed && settings->n_takes > 1U) {
    say("takes", "%zu of %zu failed", job->n_failed, settings->n_takes);
  }
}

static int
make_page(const Settings* settings, const char* path) {
  Job      job = {.settings = settings, .path = path};
  PageFile file = {.pour = NULL};
  VwStatus st = page_file_begin(path, settings, &file);
  st = st ? st : write_page(&job, &file);
  if (st) {
    say_status(path, st);
    return EXIT_FILE;
  }
  tell(&job);
  return job.n_failed ? EXIT_FILE : EXIT_DONE;
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
