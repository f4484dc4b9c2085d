// Figures by name, as JSON and in words.

#include "cli/message/figures.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include <jansson.h>

/// Figures of every kind.
static Figures*
new_figures(void) {
  Figures* const all = figures_new();
  Figures* const board = figures_new();
  Figures* const list = figures_list();
  figures_set(board, "name", "mine");
  figures_add(list, 1U);
  figures_add(list, "two");
  figures_add(list, 3.0);
  figures_set(all, "gain_db", -3.25);
  figures_set(all, "nearly_db", -0.004);
  figures_set(all, "short_ms", 12.34);
  figures_set(all, "long_ms", 1234.5);
  figures_set(all, "fire_rate_per_s", 9.0);
  figures_set(all, "duty", 0.256);
  figures_set(all, "none_db", (double)NAN);
  figures_set(all, "shots", 6U);
  figures_set(all, "one", 1U);
  figures_set(all, "zero", 0U);
  figures_set(all, "heard", true);
  figures_set(all, "hidden", 1 > 2);
  figures_set(all, "path", "a b\x1b.wav");
  figures_set(all, "empty", "");
  figures_set(all, "board", board);
  figures_set(all, "list", list);
  figures_set(all, "nothing", (Figures*)NULL);
  return all;
}

static void
check_words(const char* words, const char* expected) {
  Figures* const all = new_figures();
  char* const    made = figures_words(all, words);
  assert_non_null(made);
  assert_string_equal(made, expected);
  free(made);
  figures_free(all);
}

static void
test_figures_stand_in_words(void** state) {
  (void)state;
  check_words("", "");
  check_words("no figure", "no figure");
  check_words("{gain_db}, {short_ms}, {long_ms}", "-3.2 dB, 12.3 ms, 1.234 s");
  check_words("{fire_rate_per_s} of {shots}", "9 of 6");
  check_words("{none_db}, {nothing}, {unknown}", "none, none, none");
  check_words("{gain_db:+.2f} {short_ms:.3g}", "-3.25 12.3");
  check_words("{nearly_db} {nearly_db:.0f} {nearly_db:+.1f}", "0.0 dB 0 +0.0");
  check_words("{duty:%}", "26 %");
  check_words("shot{shots:s}, shot{one:s}", "shots, shot");
  check_words("{path}: {path:q}", "a b\\x1B.wav: 'a b\\x1B.wav'");
  check_words("{board.name}", "mine");
}

static void
test_words_stand_where_something_holds(void** state) {
  (void)state;
  check_words("a{heard? b}{hidden? c}{!hidden? d}", "a b d");
  check_words("{none_db?x}{zero?x}{empty?x}{nothing?x}{unknown?x}", "");
  check_words("{gain_db?1}{one?2}{path?3}{board?4}{list?5}", "12345");
  check_words("{heard !hidden?both}{heard hidden?never}", "both");
  check_words("{heard?of {board.name}{!heard?x}}!", "of mine!");
}

static void
test_lines_are_shown_where_they_hold(void** state) {
  (void)state;
  static const Line lines[] = {{NULL, "Heading"},
                               {"gain", "{gain_db}"},
                               {"never", "{gain_db}", "hidden"},
                               {"{heard?label}", "{shots} shots", "shots"}};
  Figures* const    all = new_figures();
  char*             text = NULL;
  size_t            n = 0;
  FILE* const       out = open_memstream(&text, &n);
  assert_non_null(out);
  figures_lines(all, LINES(lines), out);
  figures_lines(NULL, LINES(lines), out);
  assert_int_equal(fclose(out), 0);
  assert_string_equal(text,
                      "Heading\n"
                      "  gain         -3.2 dB\n"
                      "  label        6 shots\n");
  free(text);
  figures_free(all);
}

/// Print figures as JSON, which frees them, and compare the line.
static void
check_json(Figures* all, const char* expected) {
  char*       text = NULL;
  size_t      n = 0;
  FILE* const out = open_memstream(&text, &n);
  assert_non_null(out);
  assert_true(figures_json(all, out));
  assert_int_equal(fclose(out), 0);
  assert_string_equal(text, expected);
  free(text);
}

static void
test_json_has_them_in_order(void** state) {
  (void)state;
  Figures* const all = figures_of_command("test");
  figures_set(all, "x_db", 0.1);
  figures_set(all, "none_db", (double)INFINITY);
  figures_set_some(all, "slot", 0U);
  figures_set(all, "bad", "\xff");
  figures_set(all, "error", figures_of_status(VW_OK));
  check_json(all,
             "{\"schema\": 1, \"command\": \"test\", \"x_db\": 0.1, "
             "\"none_db\": null, \"slot\": null, \"bad\": \"\\\\xFF\", "
             "\"error\": null}\n");
}

// A program reads the digits that were measured, and no more.
static void
test_json_rounds_to_what_is_measured(void** state) {
  static const struct {
    const char* name;
    double      number;
    const char* json;
  } cases[] = {
    {"gain_db", 9.0532314297018317, "9.05"},
    {"gain_db", -0.001, "0"},
    {"true_peak_dbtp", -1.0, "-1"},
    {"asked_lufs", -13.563361409275428, "-13.56"},
    {"period_ms", 1000.0 / 9.0, "111.1111"},
    {"length_ms", 15.0, "15"},
    {"attack_ms", 523456.78251, "523456.7825"},
    {"decay_t20_s", 1.5934437466559241, "1.593444"},
    {"fire_rate_per_s", 3.0 / 0.385, "7.792208"},
    {"fire_rate_per_s", 1e-12, "1e-12"},
    {"pulse_hz", 9.0, "9"},
    {"c_farad", 1e-7, "1e-7"},
    {"set_ohm", 104719.75511, "104719.8"},
    {"duty", 0.45000000000000001, "0.45"},
    {"bytes", 9123456789.0, "9123456789"},
    {"huge", 1e300, "1e300"},
  };
  (void)state;
  for (size_t i = 0; i < sizeof(cases) / sizeof(cases[0]); ++i) {
    // As it is, and in a list below others.
    Figures* const all = figures_new();
    Figures* const below = figures_new();
    Figures* const list = figures_list();
    char           expected[128];
    figures_add(list, cases[i].number);
    figures_set(below, cases[i].name, list);
    figures_set(all, cases[i].name, cases[i].number);
    figures_set(all, "below", below);
    (void)snprintf(expected,
                   sizeof(expected),
                   "{\"%s\": %s, \"below\": {\"%s\": [%s]}}\n",
                   cases[i].name,
                   cases[i].json,
                   cases[i].name,
                   cases[i].json);
    // What was printed is printed again as it was.
    Figures* const again = json_loads(expected, 0, NULL);
    check_json(all, expected);
    check_json(again, expected);
  }
}

static void
test_entries_of_a_list_end(void** state) {
  (void)state;
  Figures* const list = figures_list();
  Figures* const entry = figures_new();
  figures_set(entry, "shots", 2U);
  figures_add(list, entry);
  assert_true(figures_get(figures_entry(list, 0), "shots").number == 2.0);
  assert_null(figures_entry(list, 1));
  figures_free(list);
}

int
main(void) {
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_figures_stand_in_words),
    cmocka_unit_test(test_words_stand_where_something_holds),
    cmocka_unit_test(test_lines_are_shown_where_they_hold),
    cmocka_unit_test(test_json_has_them_in_order),
    cmocka_unit_test(test_json_rounds_to_what_is_measured),
    cmocka_unit_test(test_entries_of_a_list_end),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
