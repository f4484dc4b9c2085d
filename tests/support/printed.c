// For P_tmpdir.
#define _XOPEN_SOURCE 700

#include "support/printed.h"
#include "support/run.h"
#include "support/wav_files.h"

#include <ctype.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#define PROGRAM "volleyweave "

// A take for the examples.
#define TAKE P_tmpdir "/volleyweave-take-XXXXXX"

// More than any that is printed.
#define COMMAND_BYTES 2048U
#define COMMANDS_MOST 2048U

static struct {
  char*  tried[COMMANDS_MOST];
  size_t n;
  size_t n_failed;
  char   take[sizeof(TAKE)];
} commands;

static void
remove_take(void) {
  (void)unlink(commands.take);
}

static void
make_take(void) {
  if (!*commands.take) {
    memcpy(commands.take, TAKE, sizeof(TAKE));
    const int fd = mkstemp(commands.take);
    (void)(fd < 0 || close(fd));
    wav_file_write(&(WavFile){.path = commands.take, .seconds = 1.0});
    (void)setenv("PRINTED_TAKE", commands.take, 1);
    (void)atexit(remove_take);
  }
}

static bool
was_tried(const char* command) {
  for (size_t i = 0; i < commands.n; ++i) {
    if (!strcmp(commands.tried[i], command)) {
      return true;
    }
  }
  return false;
}

/// Whether a word stands for a name: three capital letters or more in a row.
static bool
has_placeholder(const char* command) {
  size_t n = 0;
  for (const char* at = command; *at; ++at) {
    n = isupper((unsigned char)*at) ? n + 1U : 0U;
    if (n == 3U) {
      return true;
    }
  }
  return strstr(command, " FILE") || strchr(command, '>') ||
         strstr(command, "...");
}

/// A command of so many bytes, its card a folder, on one line.
static void
copy_out(const char* start, size_t n, char* command) {
  size_t k = 0;
  for (size_t i = 0; i < n && k + 8U < COMMAND_BYTES; ++i) {
    const bool card = !strncmp(start + i, " CARD", 5U) && i + 5U == n;
    if (card) {
      k += (size_t)sprintf(command + k, " card.new");
      break;
    }
    // A line that is broken goes on behind its blanks.
    if (start[i] == '\n') {
      command[k++] = ' ';
      i += strspn(start + i, "\n ") - 1U;
    } else {
      command[k++] = start[i];
    }
  }
  command[k] = '\0';
}

/// Run a command in a copy of the folder, with the takes of examples in it.
static void
try_one(const char* line, const char* command) {
  const bool check = !strncmp(command, PROGRAM "check ", 18U);
  char       shell[COMMAND_BYTES + 1024U];
  if (was_tried(command) || has_placeholder(command) ||
      commands.n == COMMANDS_MOST) {
    return;
  }
  make_take();
  commands.tried[commands.n++] = strdup(command);
  (void)snprintf(
    shell,
    sizeof(shell),
    "volleyweave() { \"$VOLLEYWEAVE\" \"$@\"; }; d=$(mktemp -d) && w=$PWD && "
    "case $(dirname $w) in "
    "*/volleyweave-*) cp -a .. $d/all; cd $d/all/${w##*/};; *) cp -a . $d/all; "
    "cd $d/all;; esac && mkdir -p card.new; "
    "test -e pack || { mkdir pack; cp \"$PRINTED_TAKE\" pack/zap.wav; }; test "
    "-e "
    "zap.wav || cp \"$PRINTED_TAKE\" zap.wav; %s || test -e zap.loop.wav || "
    "volleyweave loop "
    "-q -f --form whole-file --part loop -o zap.loop.wav zap.wav; "
    "%s </dev/null; s=$?; rm -rf $d; exit $s",
    strstr(command, "zap.loop.wav") ? "false" : "true",
    command);
  Run        made = run_shell(shell);
  const bool good = made.status == 0 || (check && made.status == 3);
  if (!run_check(good, &made, command)) {
    printf("  printed by: %s\n", line);
    ++commands.n_failed;
  }
  run_clear(&made);
}

void
printed_try(const char* line, const char* text) {
  static const char* const goes_on[] = {"Next: ", "To hear it: "};
  char                     command[COMMAND_BYTES];
  for (const char* at = text; (at = strstr(at, PROGRAM)); ++at) {
    bool is_next = false;
    for (size_t i = 0; i < 2U; ++i) {
      const size_t n = strlen(goes_on[i]);
      is_next |= (size_t)(at - text) >= n && !memcmp(at - n, goes_on[i], n);
    }
    const bool        quoted = at > text && at[-1] == '`';
    const char* const end = is_next  ? at + strcspn(at, "\n")
                            : quoted ? strchr(at, '`')
                                     : NULL;
    if (!end) {
      continue;
    }
    copy_out(at, (size_t)(end - at), command);
    // A command that is only named has no words behind it.
    if (strchr(command + strlen(PROGRAM), ' ') ||
        !strcmp(command, PROGRAM "boards") ||
        !strcmp(command, PROGRAM "help")) {
      try_one(line, command);
    }
  }
}

size_t
printed_count(void) {
  return commands.n;
}

size_t
printed_failed(void) {
  return commands.n_failed;
}
