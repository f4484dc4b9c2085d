#include "cli/boards/boards.h"
#include "cli/commands.h"
#include "cli/files/files.h"
#include "cli/message/figures.h"
#include "cli/message/message.h"
#include "cli/page/page.h"
#include "store/store.h"

#include <stdlib.h>
#include <string.h>

#define DEFAULT_FILE "tryout.html"

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
  Page            page;
  size_t          n_made; ///< Takes that can be used.
  VwStatus        status;
} Job;

/* What is asked */

/// Options on where and how it is made, not on what; slot and part are those of
/// one take, and the board is told by itself.
static const char beside[] = " output force dry-run quiet json jobs write-list "
                             "slot part board ";

/// The options that were given, as the page sets them.
static Figures*
settings_given(const Settings* settings) {
  Figures* const made = figures_new();
  for (size_t i = 0; i < settings->n_given; ++i) {
    const Given* const given = &settings->given[i];
    char               word[40];
    (void)snprintf(word, sizeof(word), " %s ", given->name);
    if (strstr(beside, word)) {
      continue;
    }
    if (given->value) {
      figures_set(made, given->name, given->value);
    } else {
      figures_set(made, given->name, true);
    }
  }
  return made;
}

/// Tell the page of the board that counts.
static void
add_board(Job* job) {
  const Settings* const settings = job->settings;
  char*                 name = NULL;
  if (!settings->has_board ||
      (!settings->board_asked && !board_default(&name))) {
    return;
  }
  const char* const asked = name ? name : settings->board_asked;
  char* const       path = asked ? board_path(asked) : NULL;
  figures_set(
    job->page.head, "board", page_board(&job->page, path, &settings->board));
  free(path);
  free(name);
}

/* Takes */

/// What is asked, but of a board that takes every name: a page has no files.
static Settings
with_any_name(const Settings* settings) {
  const VwBoard free_names = vw_board_defaults();
  Settings      freed = *settings;
  freed.board.naming = free_names.naming;
  freed.board.slots_max = free_names.slots_max;
  freed.slot = 0;
  freed.quiet = true;
  return freed;
}

static void
add_take(void* context, const char* path, const VwFamily* family) {
  Job* const  job = context;
  Page* const page = &job->page;
  ++job->n_made;
  if (!page_is_plain(page)) {
    const char* const name = page_file(page, path, vw_path_name(path));
    job->status = name ? job->status : VW_NO_MEMORY;
    return;
  }
  const VwStatus st = page_plain_family(
    page->out, vw_path_name(path), family, job->settings->family.seed);
  job->status = st ? st : job->status;
}

/// Add all takes that `loop` can use; those that it cannot are said.
static void
add_takes(Job* job) {
  // It makes what `loop` makes.
  static const CommandName command = {.name = "tryout", .bit = COMMAND_LOOP};
  const Settings           settings = with_any_name(job->settings);
  Destination              to = {
                 .kind = TO_CALLER, .path = ".", .take = add_take, .context = job};
  (void)make_each(&command, &settings, &to, 1U);
}

/* The page */

/// Report the page as a whole.
static void
tell(const Job* job, const char* path) {
  const Settings* const settings = job->settings;
  const size_t          n = job->n_made;
  if (settings->json) {
    Figures* const all = figures_of_command("tryout");
    figures_set(all, "page", n ? path : NULL);
    figures_set(all, "sounds_total", settings->n_takes);
    figures_set(all, "sounds_failed", settings->n_takes - n);
    (void)figures_json(all, stdout);
  } else if (n && !settings->quiet) {
    char* const safe = text_safe(path);
    printf("%s: %zu sound%s: open it in a browser\n",
           safe ? safe : "?",
           n,
           n == 1U ? "" : "s");
    free(safe);
  }
}

/// Write the page, unless nothing can be tried on it.
static int
make_page(const Settings* settings, const char* path) {
  Job               job = {.settings = settings};
  bool              same = false;
  const char* const title = settings->sound_name ? settings->sound_name : "";
  if (!page_begin(settings, title, &job.page)) {
    return EXIT_FILE;
  }
  figures_set(job.page.head, "settings", settings_given(settings));
  if (!page_is_plain(&job.page)) {
    add_board(&job);
  }
  add_takes(&job);
  if (job.status) {
    say_status(path, job.status);
  }
  if (job.status || !job.n_made) {
    page_drop(&job.page);
  } else if (!page_end(&job.page, path, &same)) {
    return EXIT_FILE;
  }
  tell(&job, path);
  return !job.status && job.n_made == settings->n_takes ? EXIT_DONE : EXIT_FILE;
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
