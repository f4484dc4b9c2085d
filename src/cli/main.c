#include "cli/boards/boards.h"
#include "cli/commands.h"
#include "cli/message/figures.h"
#include "cli/message/message.h"
#include "cli/options/options.h"
#include "store/store.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#ifdef __GLIBC__
#  include <malloc.h>
#endif

// Blocks up to this size, bytes, are kept for what comes next: a page that the
// system hands out anew costs more than most that is done in it. Larger ones go
// back, so that a long take needs no more memory for it.
#define KEPT_MOST (4 * 1024 * 1024)

/* No command */

static const char*
nearest(const char* word) {
  for (size_t i = 0; i < n_commands; ++i) {
    if (suggest_is_near(word, command_names[i].name)) {
      return command_names[i].name;
    }
  }
  return suggest_is_near(word, "help") ? "help" : NULL;
}

static bool
looks_like_a_file(const char* word) {
  return strchr(word, '/') || (strchr(word, '.') && word[0] != '.') ||
         !access(word, F_OK);
}

/// Say what was meant by a file or folder in a command's place, and by what
/// comes next, if anything.
static int
refuse_file(const char* word, const char* next) {
  char* const       quoted = text_quoted(word);
  const char* const shown = quoted;
  const bool        turned = next && command_find(next);
  const int         status =
    turned
              ? say_usage(word,
                  "the command comes first: did you mean `volleyweave %s %s`?",
                  next,
                  shown)
            : vw_path_is_folder(word)
              ? say_usage(
          word, "a folder: did you mean `volleyweave loop %s/*.wav`?", shown)
            : access(word, F_OK)
              ? say_usage(word,
                  "no command and no file has that name: write the command "
                          "first, as in `volleyweave loop zap.wav`")
              : say_usage(word,
                  "a file, not a command: did you mean "
                          "`volleyweave loop %s`?",
                  shown);
  free(quoted);
  return status;
}

/// Say what was meant by a first word that is no command. Returns the status.
static int
refuse(const char* word, const char* next) {
  const char* const hint = suggest_for_word(word);
  const char* const near = nearest(word);
  if (word[0] == '-') {
    return say_usage(word,
                     "the command comes before its options: try "
                     "`volleyweave loop --fire-rate 9/s zap.wav`");
  }
  if (looks_like_a_file(word)) {
    return refuse_file(word, next);
  }
  if (hint) {
    return say_usage(word, "no such command: %s", hint);
  }
  if (near) {
    return say_usage(
      word, "no such command: did you mean `volleyweave %s`?", near);
  }
  return say_usage(word,
                   "no such command: write one of those that `volleyweave "
                   "help` lists");
}

/* Start */

/// What runs a command.
typedef struct {
  unsigned bit;
  int (*run)(const CommandName* command, const Settings* settings);
} Runner;

static const Runner runners[] = {
  {COMMAND_INSPECT, command_inspect},
  {COMMAND_SHOT, make_all},
  {COMMAND_LOOP, make_all},
  {COMMAND_CONVERT, make_all},
  {COMMAND_SPLIT, make_all},
  {COMMAND_CHECK, command_check},
  {COMMAND_MEND, command_mend},
  {COMMAND_DELIVER, command_deliver},
  {COMMAND_PACK, command_pack},
  {COMMAND_REHEARSE, command_rehearse},
  {COMMAND_TRYOUT, command_tryout},
  {COMMAND_BOARDS, command_boards},
  {COMMAND_LAMP, command_lamp},
  {COMMAND_GAUGE, command_gauge},
};

/// Whether a word stands among the options.
static bool
is_asked(char* const* arguments, const char* word) {
  for (; *arguments && strcmp(*arguments, "--"); ++arguments) {
    if (!strcmp(*arguments, word)) {
      return true;
    }
  }
  return false;
}

/// Whether all there is to say is asked for.
static bool
is_verbose(char* const* arguments) {
  return is_asked(arguments, "-v") || is_asked(arguments, "--verbose");
}

/// Help on the command named first, or on all.
static int
help(char* const* arguments) {
  const char* const name = arguments[0];
  if (name && !strcmp(name, "--json")) {
    return help_json(stdout) ? EXIT_DONE : EXIT_FILE;
  }
  const CommandName* const command = name ? command_find(name) : NULL;
  if (name && name[0] != '-' && !command && strcmp(name, "help") != 0) {
    return refuse(name, NULL);
  }
  help_print(command, is_verbose(arguments), stdout);
  return EXIT_DONE;
}

static int
run(const CommandName* command, char* const* arguments) {
  Settings settings = {0};
  if (!options_read(command, arguments, &settings)) {
    return EXIT_USAGE;
  }
  int status = EXIT_DONE;
  if (settings.help) {
    help_print(command, settings.verbose, stdout);
  } else if (!board_settle(command, &settings) ||
             !settings_check(command, &settings)) {
    status = EXIT_USAGE;
  } else {
    const Runner* runner = runners;
    while (!(runner->bit & command->bit)) {
      ++runner;
    }
    status = runner->run(command, &settings);
  }
  settings_clear(&settings);
  return status;
}

/// Do what the arguments, ended by NULL and without the program's own name,
/// ask for. Returns the exit status.
static int
start(char* const* arguments) {
  if (!arguments[0]) {
    help_print(NULL, false, stderr);
    return EXIT_USAGE;
  }
  if (!strcmp(arguments[0], "help")) {
    return help(arguments + 1);
  }
  const CommandName* const command = command_find(arguments[0]);
  if (is_asked(arguments, "-h") || is_asked(arguments, "--help")) {
    help_print(command, is_verbose(arguments), stdout);
    return EXIT_DONE;
  }
  if (is_asked(arguments, "--version")) {
    printf("volleyweave %s\n", vw_version());
    return EXIT_DONE;
  }
  return command ? run(command, arguments + 1)
                 : refuse(arguments[0], arguments[1]);
}

/// Close standard output: only then is it sure that all of it was written.
static int
finish(int status) {
  const int failed = ferror(stdout);
  errno = 0;
  if (!fclose(stdout) && !failed) {
    return status;
  }
  say("standard output",
      "cannot be written, %s: send it to another place",
      errno ? strerror(errno) : "some of it is lost");
  return status == EXIT_DONE ? EXIT_FILE : status;
}

static void
keep_memory(void) {
#ifdef __GLIBC__
  (void)mallopt(M_MMAP_THRESHOLD, KEPT_MOST);
  (void)mallopt(M_TRIM_THRESHOLD, 4 * KEPT_MOST);
#endif
}

int
main(int argc, char** argv) {
  figures_begin();
  keep_memory();
  return finish(start(argc > 0 ? argv + 1 : argv));
}
