// How far a long job is, as a terminal shows it: one line that changes, never
// wider than the terminal, and gone in the end.

#define _XOPEN_SOURCE 700

#include "support/check.h"
#include "support/run.h"
#include "support/terminals.h"
#include "support/wav_files.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define COUNT(array) (sizeof(array) / sizeof((array)[0]))

#define CELLS 256U

// 20 columns of 3 bytes each.
#define FIVE "\u20AC\u20AC\u20AC\u20AC\u20AC"
#define WIDE FIVE FIVE FIVE FIVE

/// Takes whose names are short, wide and long.
#define LONG "a-name-that-is-longer-than-a-terminal-has-room-for-in-one-line"

static const char* const takes[] = {"in/a.wav",
                                    "in/" WIDE ".wav",
                                    "in/" LONG ".wav"};

/// The line that a terminal is at.
typedef struct {
  bool   filled[CELLS]; ///< A column has something but a blank.
  size_t at;            ///< Where the next character goes.
  size_t widest;        ///< How far any character went.
  bool   messy;         ///< A message stood beside a step.
} Line;

static bool
is_blank(const Line* line) {
  for (size_t i = 0; i < CELLS; ++i) {
    if (line->filled[i]) {
      return false;
    }
  }
  return true;
}

/// Show a text as a terminal does.
static void
play(Line* line, const char* text) {
  for (; *text; text = *text == '\n' ? text + 1 : terminal_at(text, 1)) {
    if (!line->at && !strncmp(text, "volleyweave: ", 13U)) {
      line->messy |= !is_blank(line);
    }
    if (*text == '\n') {
      memset(line->filled, 0, sizeof(line->filled));
    }
    if (*text == '\n' || *text == '\r') {
      line->at = 0;
      continue;
    }
    line->filled[line->at++] = *text != ' ';
    line->widest = line->at > line->widest ? line->at : line->widest;
  }
}

/// Whether the steps of a job are shown one by one: "WHAT 1 of N", each at the
/// line's start.
static bool
counts(const char* shown, const char* what, size_t n) {
  bool        ok = true;
  const char* at = shown;
  for (size_t i = 1; ok && i <= n; ++i) {
    char wanted[64];
    (void)snprintf(wanted, sizeof(wanted), "\r%s %zu of %zu", what, i, n);
    at = strstr(at, wanted);
    ok = check_that(at != NULL, "%s", wanted + 1);
    at = at ? at + 1 : shown;
  }
  return ok;
}

static bool
is_tidy(const char* shown, unsigned short n_columns) {
  Line line = {.at = 0};
  play(&line, shown);
  bool ok = check_that(!line.at && is_blank(&line), "it is gone in the end");
  ok &= check_that(!line.messy, "messages stand alone");
  ok &= check_at_most(
    (double)line.widest, n_columns - 1.0, "columns of %u", n_columns);
  return ok;
}

static void
test_pack(void** state) {
  (void)state;
  static const unsigned short widths[] = {40, 80, 200};
  bool                        ok = true;
  for (size_t i = 0; i < COUNT(widths); ++i) {
    const TestTerminal terminal = {widths[i], true};
    remove_all("volleyweave-out");
    Run got =
      terminal_run(&terminal, "pack --json -j 1 --board wav-22k-mono in");
    ok &= check_equal(got.status, 0.0, "status");
    ok &= counts(got.err, "measuring", 2U * COUNT(takes));
    ok &= counts(got.err, "making", 2U * COUNT(takes));
    ok &= is_tidy(got.err, widths[i]);
    run_check(ok, &got, "pack");
    run_clear(&got);
  }
  assert_true(ok);
}

// A name is shown as far as there is room.
static void
test_names(void** state) {
  (void)state;
  const TestTerminal narrow = {40, true};
  const TestTerminal wide = {200, true};
  remove_all("volleyweave-out");
  Run  got = terminal_run(&narrow, "pack --json -j 1 --board wav-22k-mono in");
  bool ok = strstr(got.err, ": a-name-that") != NULL;
  ok &= strstr(got.err, "one-line") == NULL;
  ok &= strstr(got.err, ": " WIDE) != NULL;
  assert_true(run_check(ok, &got, "narrow"));
  run_clear(&got);
  got = terminal_run(&wide, "pack --json -j 1 --board wav-22k-mono in");
  ok = strstr(got.err, "room-for-in-one-line") != NULL;
  assert_true(run_check(ok, &got, "wide"));
  run_clear(&got);
}

static void
test_deliver(void** state) {
  (void)state;
  const TestTerminal terminal = {60, true};
  Run                made = run("pack -q --board wav-22k-mono in");
  assert_int_equal(made.status, 0);
  run_clear(&made);
  (void)mkdir("card", 0777);
  Run  got = terminal_run(&terminal,
                         "deliver volleyweave-out/in/wav-22k-mono --to card");
  bool ok = check_equal(got.status, 0.0, "status");
  ok &= counts(got.err, "writing", 2U * COUNT(takes));
  ok &= counts(got.err, "reading back", 2U * COUNT(takes));
  char* const warning = strstr(got.err, "volleyweave: ");
  if (warning) {
    *warning = '\0'; // that no card is mounted there, over two lines
  }
  ok &= is_tidy(got.err, 60);
  assert_true(run_check(ok, &got, "deliver"));
  run_clear(&got);
}

// If nobody watches, there is nothing to see of the progress.
static void
test_nobody_watches(void** state) {
  (void)state;
  remove_all("volleyweave-out");
  Run  got = run("pack --json -j 1 --board wav-22k-mono in");
  bool ok = !strstr(got.err, "making") && !strstr(got.err, "measuring");
  ok &= strchr(got.err, '\r') == NULL;
  assert_true(run_check(ok, &got, "piped"));
  run_clear(&got);
}

static void
test_quiet(void** state) {
  (void)state;
  const TestTerminal terminal = {80, true};
  Run got = terminal_run(&terminal, "pack -q --board wav-22k-mono in");
  assert_true(run_check(!got.status && !*got.err, &got, "quiet"));
  run_clear(&got);
}

/* Screens */

/// How many lines a text has, and the columns of the widest in `widest`.
static size_t
count_lines(const char* text, size_t* widest) {
  size_t n = 0;
  for (; *text; text += strcspn(text, "\n"), text += *text == '\n') {
    const size_t n_columns = terminal_columns(text);
    *widest = n_columns > *widest ? n_columns : *widest;
    ++n;
  }
  return n;
}

// A screen says what decides; all the rest is asked for (chosen here).
static void
test_screens(void** state) {
  (void)state;
  static const struct {
    const char* line;
    size_t      n_most;
  } cases[] = {
    {"loop -n demo.wav", 14},
    {"loop -n --fire-rate 9 --board wav-22k-mono demo.wav", 14},
    {"inspect demo.wav", 12},
    {"shot -n demo.wav", 10},
    {"lamp 9/s", 30},
    {"lamp --board wav-22k-mono 14/s", 30},
    {"pack --board wav-22k-mono ten.ini", 24},
    {"help loop", 24},
    {"help shot", 24},
    {"help pack", 24},
    {"help lamp", 24},
    {"help tryout", 24},
  };
  FILE* const prop = fopen("ten.ini", "w");
  assert_non_null(prop);
  for (unsigned i = 0; i < 10U; ++i) {
    fprintf(prop, "[sound sound-%u]\ntake = demo.wav\nmake = loop\n", i);
    fprintf(prop, "fire-rate = %u/s\n", 5U + i);
  }
  assert_int_equal(fclose(prop), 0);
  bool ok = true;
  for (size_t i = 0; i < COUNT(cases); ++i) {
    Run          got = run(cases[i].line);
    size_t       widest = 0;
    const size_t n =
      count_lines(got.out, &widest) + count_lines(got.err, &(size_t){0});
    ok &= run_check(!got.status && n <= cases[i].n_most && widest <= 80U,
                    &got,
                    cases[i].line);
    run_clear(&got);
  }
  assert_true(ok);
}

int
main(int argc, char** argv) {
  char demo[4096];
  assert_true(argc > 2 && realpath(argv[2], demo));
  run_set_up(argc, argv);
  (void)unsetenv("COLUMNS");
  assert_int_equal(symlink(demo, "demo.wav"), 0);
  (void)mkdir("in", 0777);
  for (size_t i = 0; i < COUNT(takes); ++i) {
    wav_file_write(
      &(WavFile){.path = takes[i], .seconds = 0.5 + 0.1 * (double)i});
  }
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_pack),
    cmocka_unit_test(test_names),
    cmocka_unit_test(test_deliver),
    cmocka_unit_test(test_nobody_watches),
    cmocka_unit_test(test_quiet),
    cmocka_unit_test(test_screens),
  };
  const int n_failed = cmocka_run_group_tests(tests, NULL, NULL);
  run_tear_down();
  return n_failed;
}
