// What is gauged from the command line: what is written, found and refused.

#include "support/check.h"
#include "support/run.h"
#include "support/svg.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static unsigned
number_at(const char* bytes, size_t at, unsigned n_bytes) {
  unsigned number = 0;
  while (n_bytes--) {
    number = number << 8U | (unsigned char)bytes[at + n_bytes];
  }
  return number;
}

/// A test sound, and what its header has to say.
typedef struct {
  const char* options;
  const char* path;
  unsigned    rate_hz;
  unsigned    n_channels;
  unsigned    bits;
  unsigned    n_frames;
} Written;

static const Written written[] = {
  {"", "volleyweave-out/gauge-board.wav", 44100U, 1U, 16U, 88200U},
  {"--board wav-22k-mono",
   "volleyweave-out/gauge-board.wav",
   22050U,
   1U,
   16U,
   44100U},
  {"--board small.board.ini -o small.wav", "small.wav", 22050U, 1U, 8U, 32256U},
  {"--board two.board.ini -o out.wav", "out.wav", 44100U, 2U, 16U, 88320U},
};

/// Read the plainest header byte by byte.
static bool
is_as_asked(const Written* wanted) {
  size_t      n = 0;
  char* const bytes = read_file(wanted->path, &n);
  const bool  good = bytes && n > 44U && !memcmp(bytes, "RIFF", 4) &&
                    number_at(bytes, 22, 2U) == wanted->n_channels &&
                    number_at(bytes, 24, 4U) == wanted->rate_hz &&
                    number_at(bytes, 34, 2U) == wanted->bits &&
                    number_at(bytes, 40, 4U) ==
                      wanted->n_frames * wanted->n_channels * wanted->bits / 8U;
  free(bytes);
  return good;
}

static void
writes_the_test_sound_as_the_board_wants_it(void** state) {
  (void)state;
  Run boards = run_shell(
    "\"$VOLLEYWEAVE\" boards wav-22k-mono | sed 's/^encoding.*/encoding = 8/; "
    "s/^file-size-max.*/file-size-max = 32300/; s/^buffer.*/buffer = 512/' "
    ">small.board.ini; \"$VOLLEYWEAVE\" boards wav-44k-mono | sed "
    "'s/^channels.*/channels = 2/; s/^buffer.*/buffer = 480/' >two.board.ini");
  assert_true(run_check(!boards.status, &boards, "boards"));
  run_clear(&boards);
  bool good = true;
  for (size_t i = 0; i < sizeof(written) / sizeof(written[0]); ++i) {
    char line[256];
    (void)snprintf(
      line, sizeof(line), "gauge board --write %s", written[i].options);
    Run made = run(line);
    good = run_check(!made.status && is_as_asked(&written[i]) &&
                       strstr(made.out, "CAUTION"),
                     &made,
                     line) &&
           good;
    run_clear(&made);
  }
  assert_true(good);
}

static const RunCase refused[] = {
  {"gauge", 2, NULL, "neither board, speaker nor lamp is named"},
  {"gauge horn", 2, NULL, "horn: cannot be gauged"},
  {"gauge board --write zap.wav", 2, NULL, "zap.wav: --write takes no file"},
  {"gauge board", 2, NULL, "no recording is given"},
  {"gauge board --write --board tiny.board.ini",
   2,
   NULL,
   "less than the second"},
  {"gauge board --write -o no/where/x.wav", 1, NULL, "no/where"},
  {"gauge lamp", 2, NULL, "a recording of the lamp is missing"},
  {"gauge lamp none.wav", 1, NULL, "none.wav: "},
  {"gauge lamp --save x none.wav", 2, NULL, "--save: it is not for what is"},
  {"gauge speaker --loop x none.wav", 2, NULL, "--loop: it is not for what is"},
  {"gauge lamp --video-rate 240 short.csv", 1, NULL, "too few of its lines"},
  {"gauge lamp --video-rate 240 even.csv", 1, NULL, "no even flashes"},
};

static void
refuses_what_makes_no_sense(void** state) {
  (void)state;
  Run boards =
    run_shell("\"$VOLLEYWEAVE\" boards wav-22k-mono | sed "
              "'s/^file-size-max.*/file-size-max = 32000/' >tiny.board.ini; "
              "seq 5 >short.csv; seq 100 >even.csv");
  run_clear(&boards);
  bool good = true;
  for (size_t i = 0; i < sizeof(refused) / sizeof(refused[0]); ++i) {
    good = run_gave(run(refused[i].line), &refused[i]) && good;
  }
  assert_true(good);
}

/// Write the brightness of a lamp's pictures: 240 a second, 9 flashes of 25 ms.
///
/// @param slows By that share its rate falls in 3 s.
static bool
write_video(const char* path, double first_s, double slows) {
  FILE* const file = fopen(path, "w");
  if (!file) {
    return false;
  }
  (void)fprintf(file, "picture,brightness\r\n");
  for (int i = 0; i < 720; ++i) {
    const double since_s = (i + 0.2) / 240.0 - first_s;
    const double at_s = since_s * (1.0 - slows * since_s / 6.0);
    const bool   lit = at_s >= 0.0 && fmod(at_s, 1.0 / 9.0) < 0.025;
    (void)fprintf(file, "%d,%d\r\n", i, lit ? 200 : 20);
  }
  return !fclose(file);
}

static void
reads_a_lamp_from_the_list_of_a_video(void** state) {
  (void)state;
  assert_true(write_video("lamp.csv", 0.0, 0.0));
  Run        found = run("gauge lamp --video-rate 240 lamp.csv");
  const bool shown = run_check(
    !found.status && strstr(found.out, "27 flashes, 8.999") &&
      strstr(found.out, "each 25.0 ms") && strstr(found.out, "CAUTION"),
    &found,
    "lamp");
  run_clear(&found);
  found = run("gauge lamp --json --video-rate 240 lamp.csv");
  const bool told =
    run_check(!found.status && strstr(found.out, "\"flashes\": 27") &&
                strstr(found.out, "\"on_ms\": 25"),
              &found,
              "lamp as JSON");
  run_clear(&found);
  assert_true(shown && told);
}

/// A way to list the pictures of one lamp, some of which may be dropped.
typedef struct {
  const char* heading;
  const char* line;   ///< Of index, whole brightness and its hundredths, or of
                      ///< time and both.
  double times_per_s; ///< 0: the index stands in the list, or nothing.
  int    dropped;     ///< One in so many; 0: none.
  double rate_hz;     ///< That is found,
  int    missing;     ///< and how many are filled in; 0: none.
  bool   untimed;
} ListCase;

static const ListCase list_cases[] = {
  {"picture,brightness", "%d,%d.%02d", 0.0, 0, 9.0, 0, true},
  {"picture;brightness", "%d;%d,%02d", 0.0, 0, 9.0, 0, true},
  {"picture\tbrightness", "%d\t%d,%02d", 0.0, 0, 9.0, 0, true},
  {"picture,brightness", "%d,\"%d,%02d\"", 0.0, 0, 9.0, 0, true},
  {"brightness", "%.0d%d,%02d", 0.0, 0, 9.0, 0, true},
  {"time,brightness", "%.6f,%d.%02d", 240.0, 0, 9.0, 0, false},
  {"time,brightness", "%.6f,%d.%02d", 240.0, 50, 9.0, 15, false},
  // In milliseconds; and as slow motion is shown.
  {"time,brightness", "%.3f,%d.%02d", 0.24, 50, 9.0, 15, false},
  {"time,brightness", "%.3f,%d.%02d", 30.0, 50, 9.0, 15, false},
  // Nothing shows what was dropped.
  {"picture,brightness", "%d,%d.%02d", 0.0, 50, 9.0 * 50.0 / 49.0, 0, true},
};

static bool
write_list(const char* path, const ListCase* as) {
  FILE* const file = fopen(path, "w");
  int         n = 0;
  if (!file) {
    return false;
  }
  (void)fprintf(file, "%s\n", as->heading);
  for (int i = 0; i < 720; ++i) {
    const double at_s = (i + 0.2) / 240.0 - 0.5;
    const bool   lit = at_s >= 0.0 && fmod(at_s, 1.0 / 9.0) < 0.025;
    const int    whole = lit ? 200 : 20 + i % 3;
    const int    part = i * 37 % 100;
    if (as->dropped && i % as->dropped == 7) {
      continue;
    }
    if (as->times_per_s > 0.0) {
      (void)fprintf(file, as->line, i / as->times_per_s, whole, part);
    } else {
      // Of 0 no digit is printed, so that the brightness stands alone.
      (void)fprintf(
        file, as->line, strcmp(as->heading, "brightness") ? n : 0, whole, part);
    }
    (void)fputc('\n', file);
    ++n;
  }
  return !fclose(file);
}

/// The number of a figure in JSON; 0 if it is null.
static double
number_of(const char* json, const char* key) {
  const char* const at = strstr(json, key);
  return at ? strtod(at + strlen(key), NULL) : (double)NAN;
}

static void
reads_lists_of_many_kinds(void** state) {
  (void)state;
  bool good = true;
  for (size_t i = 0; i < sizeof(list_cases) / sizeof(list_cases[0]); ++i) {
    const ListCase* const of = &list_cases[i];
    assert_true(write_list("list.csv", of));
    Run        found = run("gauge lamp --json --video-rate 240 list.csv");
    const bool right =
      !found.status &&
      fabs(number_of(found.out, "\"pulse_hz\": ") / of->rate_hz - 1.0) <
        0.002 &&
      fabs(number_of(found.out, "\"pictures_missing\": ") - of->missing) <
        0.5 &&
      of->untimed == (strstr(found.out, "\"untimed\": true") != NULL);
    good = run_check(right, &found, of->line) && good;
    run_clear(&found);
  }
  assert_true(good);
}

static void
reports_a_rate_that_its_times_deny(void** state) {
  (void)state;
  assert_true(write_list("list.csv", &list_cases[6]));
  const RunCase off = {"gauge lamp --video-rate 239 list.csv",
                       0,
                       "240.000 pictures a second",
                       NULL};
  const RunCase far = {
    "gauge lamp --video-rate 2001 list.csv", 2, NULL, "20 to 2000"};
  bool good = run_gave(run(off.line), &off);
  good = run_gave(run(far.line), &far) && good;
  assert_true(good);
}

static void
reports_a_rate_that_changes(void** state) {
  (void)state;
  assert_true(write_video("lamp.csv", 0.0, 0.02));
  Run         found = run("gauge lamp --video-rate 240 lamp.csv");
  const char* at = strstr(found.out, "it changes by ");
  // From the first to the last flash, which are nearly 3 s apart; of flashes
  // that are seen to half a picture.
  const bool good = run_check(
    at && fabs(strtod(at + strlen("it changes by "), NULL) + 1.9) < 0.6,
    &found,
    "a lamp that slows");
  run_clear(&found);
  assert_true(write_video("lamp.csv", 0.0, 0.0));
  found = run("gauge lamp --video-rate 240 lamp.csv");
  const bool even =
    run_check(!strstr(found.out, "it changes by"), &found, "an even lamp");
  run_clear(&found);
  assert_true(good && even);
}

static void
draws_the_first_flashes(void** state) {
  (void)state;
  assert_true(write_video("lamp.csv", 0.5, 0.0));
  const RunCase draws = {
    "gauge lamp -q --video-rate 240 lamp.csv --plot lamp.svg", 0, NULL, NULL};
  bool good = run_gave(run(draws.line), &draws);
  // To half a picture.
  good = check_at_most(
           fabs(svg_number("lamp.svg", "lit at ") - 500.0), 2.1, "lit, ms") &&
         good;
  good = check_at_most(
           fabs(svg_number("lamp.svg", "dark at ") - 525.0), 2.1, "dark, ms") &&
         good;
  const RunCase twice = {
    "gauge lamp lamp.csv lamp.csv --plot a.svg", 2, NULL, "one picture, but 2"};
  good = run_gave(run(twice.line), &twice) && good;
  assert_true(good);
}

int
main(int argc, char** argv) {
  static const struct CMUnitTest tests[] = {
    cmocka_unit_test_setup_teardown(writes_the_test_sound_as_the_board_wants_it,
                                    run_enter_folder,
                                    run_leave_folder),
    cmocka_unit_test_setup_teardown(reads_a_lamp_from_the_list_of_a_video,
                                    run_enter_folder,
                                    run_leave_folder),
    cmocka_unit_test_setup_teardown(
      reads_lists_of_many_kinds, run_enter_folder, run_leave_folder),
    cmocka_unit_test_setup_teardown(
      reports_a_rate_that_its_times_deny, run_enter_folder, run_leave_folder),
    cmocka_unit_test_setup_teardown(
      reports_a_rate_that_changes, run_enter_folder, run_leave_folder),
    cmocka_unit_test_setup_teardown(
      draws_the_first_flashes, run_enter_folder, run_leave_folder),
    cmocka_unit_test_setup_teardown(
      refuses_what_makes_no_sense, run_enter_folder, run_leave_folder),
  };
  run_set_up(argc, argv);
  const int failed = cmocka_run_group_tests(tests, NULL, NULL);
  run_tear_down();
  return failed;
}
