// Every row of the tables of what is said: two lines of a terminal at most, and
// a remedy. What the program says as it runs is looked at by all tests of it.

#include "cli/message/figures.h"
#include "cli/options/options.h"
#include "cli/options/settings.h"
#include "cli/options/types.h"
#include "cli/report/sections.h"
#include "support/check.h"
#include "support/run.h"
#include "support/said.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

// A file's name of 24 characters.
#define NAME "a-knock-of-the-knaps.wav"

#define LINES_MOST 2U

/// Whether a message on a file is short, and has a remedy.
static bool
is_good(const char* id, const char* mark, const char* words) {
  char* const  text = text_format("volleyweave: " NAME ": %s%s", mark, words);
  const size_t n_lines = said_lines(text);
  const bool   good = check_that(n_lines <= LINES_MOST && said_remedy(text),
                               "%s: %zu lines: %s",
                               id,
                               n_lines,
                               text);
  free(text);
  return good;
}

static void
test_statuses(void** state) {
  (void)state;
  bool ok = true;
  for (int i = VW_OK + 1; i <= VW_LED_CURRENT; ++i) {
    char* const words = status_message((VwStatus)i);
    ok &= is_good(status_word((VwStatus)i), "", words);
    free(words);
  }
  assert_true(ok);
}

/* Warnings */

// More than are in the words of any.
#define NAMES_MOST 12U

/// The names in words, and which of them words depend on.
typedef struct {
  char   names[NAMES_MOST][24];
  bool   decides[NAMES_MOST];
  size_t n;
} Names;

static void
add_name(Names* names, const char* name, size_t n, bool decides) {
  char   text[sizeof(names->names[0])];
  size_t i = 0;
  (void)snprintf(text, sizeof(text), "%.*s", (int)n, name);
  while (i < names->n && strcmp(names->names[i], text) != 0) {
    ++i;
  }
  assert_true(i < NAMES_MOST);
  memcpy(names->names[i], text, sizeof(text));
  names->decides[i] |= decides;
  names->n += i == names->n ? 1U : 0U;
}

static Names
names_in(const char* words) {
  Names names = {.n = 0};
  for (const char* at = words; (at = strchr(at, '{'));) {
    const bool decides = at[strcspn(at, "?:}")] == '?';
    for (++at; !strchr("?:}", *at);) {
      at += strspn(at, " !");
      const size_t n = strcspn(at, " ?:}");
      add_name(&names, at, n, decides);
      at += n;
    }
  }
  return names;
}

/// Set a figure as long as it usually is at most.
static void
set_long(Figures* of, const char* name) {
  static const struct {
    const char* name;
    const char* text;
  } texts[] = {{"encoding", "8-bit unsigned PCM"},
               {"remedy", "record it nearer or louder"},
               {"told", "several shots"},
               {"otherwise", "raise --limiting-max"},
               {"useless", "--fire-rate, --take-turns, --tightening"}};
  static const struct {
    const char* end;
    double      number;
  } numbers[] = {{"_lufs", -18.4},
                 {"shallower_db", 3.0},
                 {"_lu", 12.3},
                 {"_per_s", 12.3456},
                 {"_db", -12.3},
                 {"_ms", 123.4},
                 {"_s", 12.345},
                 {"_percent", 0.1},
                 {"offset", -0.123},
                 {"likeness", 0.12},
                 {"", 123.0}};
  for (size_t i = 0; i < sizeof(texts) / sizeof(texts[0]); ++i) {
    if (!strcmp(name, texts[i].name)) {
      figures_set(of, name, texts[i].text);
      return;
    }
  }
  const size_t n = strlen(name);
  for (size_t i = 0; i < sizeof(numbers) / sizeof(numbers[0]); ++i) {
    const size_t n_end = strlen(numbers[i].end);
    if (n_end <= n && !strcmp(name + n - n_end, numbers[i].end)) {
      figures_set(of, name, numbers[i].number);
      return;
    }
  }
}

/// Whether a warning is good, whichever of its figures there are.
static bool
is_good_warning(const WarningKind* kind) {
  const Names names = names_in(kind->words);
  bool        ok = true;
  for (unsigned there = 0; ok && there < 1U << names.n; ++there) {
    Figures* const of = figures_new();
    for (size_t i = 0; i < names.n; ++i) {
      if (!names.decides[i] || there & 1U << i) {
        set_long(of, names.names[i]);
      }
    }
    char* const words = figures_words(of, kind->words);
    ok = is_good(kind->id, "warning: ", words);
    free(words);
    figures_free(of);
  }
  return ok;
}

static void
test_warnings(void** state) {
  (void)state;
  size_t n = 0;
  bool   ok = true;
  for (const WarningKind* kind; (kind = report_warning_kind(n)); ++n) {
    ok &= is_good_warning(kind);
  }
  assert_in_range(n, 30, 60);
  assert_true(ok);
}

/* Options */

// What is no value of most.
static const char* const nonsense[] =
  {"", "x", "-1", "0", "1e9", "1,5", "7parsecs", "540", "a/b.wav", "1%"};

static void
test_options(void** state) {
  (void)state;
  const size_t n_before = said_count();
  const size_t n_failed = said_failed();
  const int    before = run_catch();
  for (size_t i = 0; i < n_options; ++i) {
    const Option* const option = &option_table[i];
    char                shown[40];
    (void)snprintf(shown, sizeof(shown), "--%s", option->name);
    for (size_t k = 0; k < sizeof(nonsense) / sizeof(nonsense[0]); ++k) {
      Settings    settings = settings_defaults();
      const Value value = {option, shown, nonsense[k], &settings};
      if (option->argument) {
        (void)option->type->read(&value);
      }
    }
  }
  free(run_caught(before));
  // Each says one thing at least.
  assert_in_range(said_count() - n_before, n_options / 2U, 1000);
  assert_int_equal(said_failed(), n_failed);
}

int
main(int argc, char** argv) {
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_statuses),
    cmocka_unit_test(test_warnings),
    cmocka_unit_test(test_options),
  };
  run_set_up(argc, argv);
  const int failed = cmocka_run_group_tests(tests, NULL, NULL);
  run_tear_down();
  return failed;
}
