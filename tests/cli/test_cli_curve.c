// The level curve that an inspection shows on a terminal: never wider than it,
// each bar as high as the tests' own meter says, the marks where the figures
// of the JSON lie, and none where nobody looks.

#include "support/check.h"
#include "support/measure.h"
#include "support/reports.h"
#include "support/run.h"
#include "support/terminals.h"
#include "support/wav_files.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define COUNT(array) (sizeof(array) / sizeof((array)[0]))

static const char* const takes[] = {"zap.wav",
                                    "twice.wav",
                                    "slow.wav",
                                    "noise.wav",
                                    "hum.wav",
                                    "long.wav",
                                    "short.wav",
                                    "late.wav"};

static const char* const locales[] = {"C", "C.UTF-8"};

/// The curve as it stands on the screen.
typedef struct {
  Run         run;
  const char* start;     ///< Its heading; NULL: there is no curve.
  const char* axis;      ///< The line of its time axis.
  size_t      n_before;  ///< Columns before the first bar.
  size_t      n_columns; ///< Columns of bars.
  size_t      n_rows;
  bool        utf8;
} Screen;

static const char*
next_line(const char* line) {
  const char* const end = strchr(line, '\n');
  return end ? end + 1 : line + strlen(line);
}

static bool
has_axis(const char* line) {
  return !strncmp(line, "       +", 8U) || !strncmp(line, "       \u2514", 10U);
}

static Screen
look(unsigned short n_columns, const char* line) {
  const TestTerminal terminal = {n_columns, false};
  Screen             screen = {.run = terminal_run(&terminal, line)};
  screen.start = strstr(screen.run.out, "Level over");
  if (!screen.start) {
    return screen;
  }
  screen.axis = next_line(screen.start);
  while (*screen.axis && !has_axis(screen.axis)) {
    screen.axis = next_line(screen.axis);
    ++screen.n_rows;
  }
  screen.utf8 = screen.axis[7] != '+';
  screen.n_before = 8U;
  screen.n_columns = terminal_columns(screen.axis) - screen.n_before;
  return screen;
}

static const char*
end_of(const Screen* screen) {
  return strstr(screen->start, "Next:");
}

/* Width */

// The last column stays free: some terminals begin a new line behind it.

static bool
fits(const Screen* screen, size_t width) {
  size_t widest = 0;
  for (const char* line = screen->start; line < end_of(screen);
       line = next_line(line)) {
    const size_t n = terminal_columns(line);
    widest = n > widest ? n : widest;
  }
  return check_at_most((double)widest, (double)width - 1.0, "widest line") &&
         // Nor is it narrower than it has to be, up to where it is small.
         check_at_least((double)widest,
                        (double)(width > 100U ? 100U : width - 4U),
                        "widest line of %zu columns",
                        width);
}

/* Bars */

/// How much of a row a character fills, 0 to 1; negative: none of ours.
static double
part_of(const Screen* screen, const char* at) {
  static const char ascii[] = " .:#";
  if (*at == ' ' || *at == '\n' || !*at) {
    return 0.0;
  }
  if (screen->utf8) {
    // U+2581 to U+2588 are blocks of one to eight eighths (Unicode 15, Block
    // Elements).
    return !strncmp(at, "\u2581", 2U) ? ((unsigned char)at[2] - 0x80) / 8.0
                                      : -100.0;
  }
  const char* const found = strchr(ascii, *at);
  return found ? (double)(found - ascii) / 3.0 : -100.0;
}

/// Level of the bar in a column as the labels have it; NaN: none is seen.
static double
bar_dbfs(const Screen* screen, size_t column) {
  const char* const second = next_line(next_line(screen->start));
  const double      top = atof(next_line(screen->start));
  const double      row_db = top - atof(second);
  double            filled = 0.0;
  const char*       line = screen->start;
  for (size_t row = 0; row < screen->n_rows; ++row) {
    line = next_line(line);
    filled += part_of(screen, terminal_at(line, screen->n_before + column));
  }
  return filled > 0.0 ? top + row_db * (filled - (double)screen->n_rows)
                      : (double)NAN;
}

/// The highest level between two frames, dBFS.
static double
highest_dbfs(const VwSound* sound,
             const double*  level,
             double         from,
             double         to) {
  double highest = 0.0;
  for (double i = fmax(from, 0.0); i < to && i < (double)sound->n_frames;
       i += 1.0) {
    highest = fmax(highest, level[(size_t)i]);
  }
  // measure_level() sums the channels, of which a level is the mean.
  return 10.0 * log10(highest / sound->n_channels);
}

/// Whether a column's bar is as high as the highest level of its time, within
/// half a part of a row (a row has 8 parts, or 3 without UTF-8: closed form;
/// 0.05 dB on top are chosen here). The program goes by steps of half a
/// millisecond, and is off by up to two of them where a column ends.
static bool
bar_is_right(const Screen*  screen,
             const VwSound* sound,
             const double*  level,
             size_t         column) {
  const double n = (double)sound->n_frames / (double)screen->n_columns;
  const double from = n * (double)column;
  const double edge = 0.001 * sound->rate_hz;
  const double low = highest_dbfs(sound, level, from + edge, from + n - edge);
  const double high = highest_dbfs(sound, level, from - edge, from + n + edge);
  const char*  first = next_line(screen->start);
  const double row_db = atof(first) - atof(next_line(first));
  const double within = row_db / (screen->utf8 ? 16.0 : 6.0) + 0.05;
  const double bar = bar_dbfs(screen, column);
  if (isnan(bar)) {
    const double bottom = atof(first) - row_db * (double)screen->n_rows;
    return check_at_most(low, bottom + within, "no bar %zu", column);
  }
  return check_at_most(bar, high + within, "bar %zu, dBFS", column) &&
         check_at_least(bar, low - within, "bar %zu, dBFS", column);
}

static bool
bars_are_right(const Screen* screen, const char* path) {
  const VwReadOptions reading = vw_read_defaults();
  VwSound             raw = {0};
  VwTake              take = {0};
  assert_int_equal(vw_read(path, &reading, &raw, NULL), VW_OK);
  assert_int_equal(vw_take_prepare(&raw, &take), VW_OK);
  double* const level = measure_level(&take.sound);
  size_t        n_seen = 0;
  bool          ok = true;
  for (size_t i = 0; i < screen->n_columns; ++i) {
    n_seen += isnan(bar_dbfs(screen, i)) ? 0U : 1U;
    ok &= bar_is_right(screen, &take.sound, level, i);
  }
  ok &= check_at_least((double)n_seen, 1.0, "%s: bars", path);
  free(level);
  vw_take_clear(&take);
  vw_sound_clear(&raw);
  return ok;
}

/* Marks */

/// The column at which a word's mark stands; SIZE_MAX without one.
static size_t
mark_column(const Screen* screen, const char* word) {
  const char* const mark = screen->utf8 ? "\u25B2" : "^";
  const size_t      n_mark = strlen(mark);
  const char* const at = strstr(screen->axis, word);
  if (!at || at > end_of(screen)) {
    return SIZE_MAX;
  }
  const char* line = at;
  while (line[-1] != '\n') {
    --line;
  }
  const size_t column = terminal_columns(line) - terminal_columns(at);
  if ((size_t)(at - line) > n_mark && !strncmp(at - n_mark - 1, mark, n_mark)) {
    return column - 2U - screen->n_before;
  }
  return !strncmp(at + strlen(word) + 1U, mark, n_mark)
           ? column + strlen(word) + 1U - screen->n_before
           : SIZE_MAX;
}

/// Whether a mark stands where a time lies, and only where there is one.
static bool
mark_is_right(const Screen* screen,
              const json_t* report,
              const char*   word,
              const char*   path) {
  const double ms = number_at(report, path);
  const double length_ms = number_at(report, "length_ms");
  const size_t column = mark_column(screen, word);
  const double wanted = fmin(floor(ms / length_ms * (double)screen->n_columns),
                             (double)screen->n_columns - 1.0);
  return isnan(ms) ? check_that(column == SIZE_MAX, "no %s", word)
                   : check_equal((double)column, wanted, "%s", word);
}

static double
seconds_of(const char* path) {
  const VwReadOptions reading = vw_read_defaults();
  VwSound             raw = {0};
  assert_int_equal(vw_read(path, &reading, &raw, NULL), VW_OK);
  const double seconds = (double)raw.n_frames / raw.rate_hz;
  vw_sound_clear(&raw);
  return seconds;
}

static bool
marks_are_right(const Screen* screen, const char* path) {
  char line[64];
  (void)snprintf(line, sizeof(line), "inspect --json %s", path);
  json_t* const report = run_json(line, 0);
  json_object_set_new(
    report, "length_ms", json_real(1000.0 * seconds_of(path)));
  bool ok = mark_is_right(screen, report, "attack", "shot.attack_ms");
  ok &= mark_is_right(screen, report, "crest", "shot.crest_ms");
  ok &= mark_is_right(screen, report, "valley", "shot.valley_ms");
  ok &= mark_is_right(screen, report, "tail end", "shot.end_ms");
  json_decref(report);
  return ok;
}

/// Whether each label of the time axis stands at a tick, where its time lies.
static bool
times_are_right(const Screen* screen, const char* path) {
  const char* const line = next_line(screen->axis);
  const char*       at = terminal_at(line, screen->n_before);
  const bool        in_s = !strncmp(at, "0 s", 3U);
  const double      length = seconds_of(path) * (in_s ? 1.0 : 1000.0);
  size_t            n = 0;
  bool              ok = check_that(in_s || !strncmp(at, "0 ms", 4U), "a unit");
  for (at += strcspn(at, " \n"); *at && *at != '\n';
       at += strcspn(at, " \n"), ++n) {
    at += strspn(at, " sm");
    const size_t column =
      terminal_columns(line) - terminal_columns(at) - screen->n_before;
    const char* const tick =
      terminal_at(screen->axis, column + screen->n_before);
    ok &= check_that(!strncmp(tick, screen->utf8 ? "\u252C" : "+", 1U) &&
                       (!screen->utf8 || !strncmp(tick, "\u252C", 3U)),
                     "a tick at %.6s",
                     at);
    ok &=
      check_equal((double)column,
                  floor(atof(at) / length * (double)screen->n_columns + 1e-9),
                  "label at %.6s",
                  at);
  }
  return ok & check_at_least((double)n, 1.0, "labels of %s", path);
}

/* Tests */

static bool
check_screen(unsigned short width, const char* path) {
  char line[64];
  (void)snprintf(line, sizeof(line), "inspect %s", path);
  Screen screen = look(width, line);
  bool   ok = check_that(screen.start, "a curve");
  if (ok) {
    const char* const locale = getenv("LC_ALL");
    ok &= check_that(screen.utf8 == !strcmp(locale, "C.UTF-8"), "characters");
    ok &= check_at_most((double)screen.n_rows, 6.0, "rows");
    ok &= check_at_least((double)screen.n_rows, 3.0, "rows");
    ok &= fits(&screen, width);
    ok &= bars_are_right(&screen, path);
    ok &= marks_are_right(&screen, path);
    ok &= times_are_right(&screen, path);
  }
  run_check(ok, &screen.run, line);
  run_clear(&screen.run);
  return ok;
}

static void
test_screens(void** state) {
  (void)state;
  static const unsigned short widths[] = {40, 41, 80, 97, 200};
  bool                        ok = true;
  for (size_t i = 0; i < COUNT(locales); ++i) {
    assert_int_equal(setenv("LC_ALL", locales[i], 1), 0);
    for (size_t j = 0; j < COUNT(widths); ++j) {
      for (size_t k = 0; k < COUNT(takes); ++k) {
        ok &= check_screen(widths[j], takes[k]);
      }
    }
  }
  assert_int_equal(unsetenv("LC_ALL"), 0);
  assert_true(ok);
}

static void
test_every_width(void** state) {
  (void)state;
  bool ok = true;
  for (unsigned short width = 40; width < 115U; ++width) {
    Screen screen = look(width, "inspect zap.wav");
    ok &= check_that(screen.start && fits(&screen, width), "width %u", width);
    run_clear(&screen.run);
  }
  assert_true(ok);
}

/// Columns that the curve takes up to its right end; 0 without one.
static size_t
width_of(unsigned short n_columns, const char* line) {
  Screen       screen = look(n_columns, line);
  const size_t n = screen.start ? screen.n_before + screen.n_columns : 0U;
  run_clear(&screen.run);
  return n;
}

// Whoever wants it narrower than the terminal is says so; wider it cannot be.
static void
test_columns_wanted(void** state) {
  (void)state;
  static const struct {
    const char*    wanted;
    unsigned short there;
    size_t         n;
  } cases[] = {
    {"60", 80, 59},
    {"120", 80, 79},
    {"", 80, 79},
    {"60x", 80, 79},
    {"-60", 80, 79},
    {"39", 80, 0},
    // One that does not say how wide it is.
    {"", 0, 79},
    {"60", 0, 59},
  };
  bool ok = true;
  for (size_t i = 0; i < COUNT(cases); ++i) {
    assert_int_equal(setenv("COLUMNS", cases[i].wanted, 1), 0);
    ok &= check_equal((double)width_of(cases[i].there, "inspect zap.wav"),
                      (double)cases[i].n,
                      "COLUMNS=%s of %u",
                      cases[i].wanted,
                      cases[i].there);
  }
  assert_int_equal(unsetenv("COLUMNS"), 0);
  assert_true(ok);
}

static void
test_none(void** state) {
  (void)state;
  Run piped = run("inspect zap.wav");
  assert_null(strstr(piped.out, "Level"));
  run_clear(&piped);
  assert_true(width_of(80, "inspect zap.wav") > 0U);
  assert_true(width_of(39, "inspect zap.wav") == 0U);
  assert_true(width_of(80, "inspect --json zap.wav") == 0U);
  assert_true(width_of(80, "inspect --quiet zap.wav") == 0U);
  assert_true(width_of(80, "inspect zap.wav twice.wav") == 0U);
  assert_true(width_of(80, "shot --dry-run zap.wav") == 0U);
}

int
main(int argc, char** argv) {
  static const WavFile files[] = {
    // A tick lies just before its end.
    {.path = "zap.wav", .seconds = 1.01},
    {.path = "twice.wav", .fill = FILL_TWICE, .seconds = 2.0},
    {.path = "slow.wav", .fill = FILL_SLOW, .seconds = 0.7, .n_channels = 2},
    {.path = "noise.wav", .fill = FILL_NOISE, .seconds = 0.999},
    {.path = "hum.wav", .fill = FILL_HUM, .seconds = 2.5},
    {.path = "long.wav", .seconds = 25.0, .rate_hz = 22050},
    {.path = "short.wav", .fill = FILL_HUM, .seconds = 0.011},
    {.path = "late.wav", .seconds = 0.125},
  };
  run_set_up(argc, argv);
  (void)unsetenv("COLUMNS");
  for (size_t i = 0; i < COUNT(files); ++i) {
    wav_file_write(&files[i]);
  }
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_screens),
    cmocka_unit_test(test_every_width),
    cmocka_unit_test(test_columns_wanted),
    cmocka_unit_test(test_none),
  };
  const int n_failed = cmocka_run_group_tests(tests, NULL, NULL);
  run_tear_down();
  return n_failed;
}
