#include "base/caution.h"
#include "cli/boards/boards.h"
#include "cli/commands.h"
#include "cli/files/files.h"
#include "cli/message/figures.h"
#include "cli/message/message.h"
#include "cli/options/speaker.h"
#include "cli/page.h"
#include "container/container.h"
#include "store/store.h"

#include <stdlib.h>
#include <string.h>

// The page without the program in it: it plays the files that were made.

const char page_plain_words[] =
  "plays what was made; tools/build-page puts the whole program in it";

/// Write text as HTML has it.
static void
put_html(FILE* out, const char* text) {
  char* const safe = text_safe(text);
  for (const char* at = safe; *at; ++at) {
    if (strchr("<>&\"'", *at)) {
      fprintf(out, "&#%d;", *at);
    } else {
      fputc(*at, out);
    }
  }
  free(safe);
}

/// Write a path as a link has it (RFC 3986, 2.3).
static void
put_link(FILE* out, const char* path) {
  for (const char* at = path; *at; ++at) {
    const bool plain = strchr("-._~/", *at) || (*at >= '0' && *at <= '9') ||
                       (*at >= 'A' && *at <= 'Z') || (*at >= 'a' && *at <= 'z');
    fprintf(out, plain ? "%c" : "%%%02X", (unsigned char)*at);
  }
}

void
page_plain_begin(FILE* out, const char* title) {
  fputs(
    "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n"
    "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src "
    "'none'; media-src 'self' file: data:\">\n"
    "<meta name=\"viewport\" content=\"width=device-width, "
    "initial-scale=1\">\n"
    "<meta name=\"color-scheme\" content=\"light dark\">\n<title>",
    out);
  put_html(out, *title ? title : "Sounds");
  fputs("</title>\n</head>\n<body>\n<main>\n<h1>", out);
  put_html(out, *title ? title : "Sounds");
  fprintf(out,
          "</h1>\n<p>This plain page %s.</p>\n"
          "<p><strong>Loud.</strong> Caution: %s.</p>\n",
          page_plain_words,
          caution_text(VW_CAUTION_HEARING));
}

/// Begin a player up to its source.
static void
begin_player(FILE* out, const char* name, VwPart part) {
  const char* const word = vw_part_name(part);
  fprintf(out, "<p>%s<br><audio controls preload=\"none\"", word);
  fputs(part == VW_PART_LOOP ? " loop aria-label=\"" : " aria-label=\"", out);
  put_html(out, name);
  fprintf(out, ": %s\" src=\"", word);
}

static void
put_title(FILE* out, const char* name) {
  fputs("<h2>", out);
  put_html(out, name);
  fputs("</h2>\n", out);
}

VwStatus
page_plain_family(FILE*           out,
                  const char*     name,
                  const VwFamily* family,
                  uint64_t        seed) {
  const VwWrapping wrapping = {
    .container = VW_CONTAINER_WAV, .format = family->format, .seed = seed};
  VwStatus st = VW_OK;
  put_title(out, name);
  for (size_t i = 0; !st && i < family->n_pieces; ++i) {
    VwBytes bytes = {0};
    st = vw_encode(&family->pieces[i], &wrapping, &bytes);
    char* const text = st ? NULL : page_base64(&bytes);
    st = st || text ? st : VW_NO_MEMORY;
    if (text) {
      begin_player(out, name, family->pieces[i].part);
      fprintf(out, "data:audio/wav;base64,%s\"></audio></p>\n", text);
    }
    free(text);
    vw_bytes_clear(&bytes);
  }
  return st;
}

/// Write a player for a file that lies beside the page, if browsers play it.
static void
put_file(FILE*             out,
         const PackRun*    run,
         const char*       name,
         const VwPackFile* of) {
  if (run->board->container == VW_CONTAINER_RAW ||
      run->board->container == VW_CONTAINER_C_ARRAY) {
    fprintf(out, "<p>%s: no browser plays it</p>\n", vw_part_name(of->part));
    return;
  }
  begin_player(out, name, of->part);
  put_link(out, run->board->name);
  fputc('/', out);
  put_link(out, of->name);
  fputs("\"></audio></p>\n", out);
}

static void
put_failure(FILE* out, VwStatus status) {
  char* const message = status_message(status);
  fputs("<p>It could not be made: ", out);
  put_html(out, message);
  fputs("</p>\n", out);
  free(message);
}

void
page_plain_pack(FILE* out, const PackRun* run) {
  const VwPack* const pack = &run->pack;
  for (size_t i = 0; i < pack->n_sounds; ++i) {
    const VwPackSound* const sound = &pack->sounds[i];
    char* const              name =
      text_format("%s, %s", sound->wish->name, run->board->name);
    put_title(out, name);
    for (size_t k = 0; !sound->status && k < sound->n_files; ++k) {
      put_file(out, run, name, &sound->files[k]);
    }
    if (sound->status) {
      put_failure(out, sound->status);
    }
    free(name);
  }
}

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
  bool            plain; ///< The program is not in the page.
} Job;

/* What is asked */

/// Options on where and how it is made, not on what; slot and part are those of
/// one take, and the board is told by itself.
static const char beside[] = " output force dry-run quiet json jobs write-list "
                             "slot part board ";

/// The options that were given, as the page sets them.
static Figures*
settings_given(const Settings* settings, Page* page) {
  Figures* const made = figures_new();
  for (size_t i = 0; i < settings->n_given; ++i) {
    const Given* const given = &settings->given[i];
    if (text_lists(beside, given->name)) {
      continue;
    }
    char* const speaker =
      !strcmp(given->name, "speaker") && !page_is_plain(page)
        ? speaker_file(given->value)
        : NULL;
    if (speaker) {
      // It goes into the page, too.
      figures_set(
        made, given->name, page_file(page, speaker, vw_path_name(speaker)));
      free(speaker);
    } else if (given->value) {
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
    printf(
      "%s: %zu sound%s: open it in a browser\n", safe, n, n == 1U ? "" : "s");
    page_tell_plain(job->plain);
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
  figures_set(job.page.head, "settings", settings_given(settings, &job.page));
  if (!page_is_plain(&job.page)) {
    add_board(&job);
  }
  add_takes(&job);
  job.plain = page_is_plain(&job.page);
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
