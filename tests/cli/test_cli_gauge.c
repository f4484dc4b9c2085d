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
  {"gauge", 2, NULL, "neither board nor lamp is named"},
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
static bool
write_video(const char* path, double first_s) {
  FILE* const file = fopen(path, "w");
  if (!file) {
    return false;
  }
  (void)fprintf(file, "picture,brightness\r\n");
  for (int i = 0; i < 720; ++i) {
    const double at_s = (i + 0.2) / 240.0 - first_s;
    const bool   lit = at_s >= 0.0 && fmod(at_s, 1.0 / 9.0) < 0.025;
    (void)fprintf(file, "%d,%d\r\n", i, lit ? 200 : 20);
  }
  return !fclose(file);
}

static void
reads_a_lamp_from_the_list_of_a_video(void** state) {
  (void)state;
  assert_true(write_video("lamp.csv", 0.0));
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

static void
draws_the_first_flashes(void** state) {
  (void)state;
  assert_true(write_video("lamp.csv", 0.5));
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
      draws_the_first_flashes, run_enter_folder, run_leave_folder),
    cmocka_unit_test_setup_teardown(
      refuses_what_makes_no_sense, run_enter_folder, run_leave_folder),
  };
  run_set_up(argc, argv);
  const int failed = cmocka_run_group_tests(tests, NULL, NULL);
  run_tear_down();
  return failed;
}
