// A board gauged from the command line: recordings of simulated boards, and
// recordings that tell nothing.

#include "gauge/board/board.h"
#include "support/check.h"
#include "support/phone.h"
#include "support/run.h"
#include "support/signals.h"
#include "support/svg.h"
#include "support/wav_files.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include <jansson.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/// A board that finishes its file, held for 7 s and then twice for less.
static const Phone plain = {.times_s = {1.0, 7.0, 3.0, 0.4, 3.0, 0.05, 3.0},
                            .n_times = 7U,
                            .gap_ms = 40.0,
                            .delay_ms = 120.0,
                            .press_ms = 100.0,
                            .finishes = true,
                            .board_ppm = 60.0,
                            .click = 0.6,
                            .noise_db = -40.0,
                            .echo = 0.2,
                            .rate_hz = 44100U,
                            .phone_ppm = -20.0};

/// Write a recording of a board that plays its test sound.
static void
record(const char* path, const Phone* phone, unsigned rate_hz) {
  const VwTestWish wish = {rate_hz, 1U, 1U, 0U};
  VwTestSound      test;
  VwSound          sound = {0};
  Phone            playing = *phone;
  assert_int_equal(vw_test_plan(&wish, &test), VW_OK);
  assert_int_equal(vw_test_make(&test, &sound), VW_OK);
  playing.file = &sound;
  PhoneHeard heard = phone_record(&playing);
  phone_write(path, &heard.recording);
  vw_sound_clear(&heard.recording);
  vw_sound_clear(&sound);
}

/// Write a loop of four shots, and a recording of a board that plays it.
static void
record_loop(void) {
  VwSound      loop = signal_silence(0.5, 22050U);
  SignalRandom random = signal_random(5U);
  for (int i = 0; i < 4; ++i) {
    const SignalBurst burst = {
      .start_s = 0.125 * i, .rise_s = 0.001, .decay_s = 0.1, .level = 0.3};
    signal_add_burst(&loop, &burst, &random);
  }
  Phone phone = plain;
  phone.file = &loop;
  PhoneHeard heard = phone_record(&phone);
  phone_write("looped.wav", &heard.recording);
  phone_write("loop.wav", &loop);
  vw_sound_clear(&heard.recording);
  vw_sound_clear(&loop);
}

static int
set_up(void** state) {
  Phone phone = plain;
  if (run_enter_folder(state)) {
    return -1;
  }
  record("rec.wav", &plain, 22050U);
  phone.n_times = 2U;
  phone.times_s[0] = 0.5;
  phone.times_s[1] = 1.6;
  record("short.wav", &phone, 22050U);
  phone = plain;
  phone.rate_hz = 8000U;
  phone.narrow = true;
  record("telephone.wav", &phone, 22050U);
  phone = plain;
  phone.level = 4000.0;
  record("clipped.wav", &phone, 22050U);
  phone = plain;
  phone.gain = PHONE_QUICK;
  record("gains.wav", &phone, 22050U);
  phone = plain;
  phone.gates = true;
  record("gates.wav", &phone, 22050U);
  phone = plain;
  phone.echo = 0.7;
  record("echo.wav", &phone, 22050U);
  record("other.wav", &plain, 44100U);
  record_loop();
  wav_file_write(
    &(WavFile){.path = "noise.wav", .fill = FILL_NOISE, .seconds = 6.0});
  wav_file_write(
    &(WavFile){.path = "silence.wav", .fill = FILL_SILENCE, .seconds = 6.0});
  wav_file_write(
    &(WavFile){.path = "hum.wav", .fill = FILL_HUM, .seconds = 1.0});
  Run made = run_shell(
    "printf 'RIFF\\044\\000\\264\\001WAVEfmt "
    "\\020\\000\\000\\000\\001\\000\\001\\000\\100\\037\\000\\000"
    "\\100\\037\\000\\000\\001\\000\\010\\000data\\000\\000\\264\\001' "
    ">hour.wav && truncate -s 28573740 hour.wav");
  const int status = made.status;
  run_clear(&made);
  return status;
}

/// A report as JSON; NULL where there is none.
static json_t*
report_of(const char* line) {
  Run           done = run(line);
  json_t* const report = json_loads(done.out, 0, NULL);
  (void)run_check(report != NULL, &done, line);
  run_clear(&done);
  return report;
}

static double
number(const json_t* report, const char* name) {
  const json_t* const value = json_object_get(report, name);
  return json_is_number(value) ? json_number_value(value) : (double)NAN;
}

static bool
is_near(const json_t* report, const char* name, double wanted, double bound) {
  const double value = number(report, name);
  return check_at_most(fabs(value - wanted), bound, "%s: %g", name, value);
}

static bool
is_word(const json_t* report, const char* name, const char* wanted) {
  const char* const word = json_string_value(json_object_get(report, name));
  return check_that(
    word && !strcmp(word, wanted), "%s: %s", name, word ? word : "null");
}

static void
what_is_found_is_that_of_the_board(void** state) {
  (void)state;
  json_t* const report =
    report_of("gauge board --json --board wav-22k-mono rec.wav");
  bool good = is_near(report, "gap_ms", 40.0, 0.5);
  good = is_near(report, "gap_jitter_ms", 0.0, 0.1) && good;
  good = is_near(report, "clock_ppm", 80.0, 20.0) && good;
  good = is_near(report, "true_sample_rate_hz", 22050.0 * (1.0 + 80e-6), 0.5) &&
         good;
  good = is_near(report, "delay_ms", 120.0, 2.0) && good;
  good = is_near(report, "press_min_ms", 400.0, 4.0) && good;
  good = is_near(report, "silent_press_ms", 50.0, 4.0) && good;
  good = is_word(report, "on_release", "finishes") && good;
  json_decref(report);
  assert_true(good);
}

static void
the_first_gap_is_drawn(void** state) {
  (void)state;
  const RunCase draws = {
    "gauge board -q rec.wav --board wav-22k-mono --plot gap.svg",
    0,
    NULL,
    NULL};
  assert_true(run_gave(run(draws.line), &draws));
  // A second of quiet, the delay, and 2 s of the board's clock.
  const double ends_s = (1.0 + 0.120 + 2.0 / (1.0 + 60e-6)) * (1.0 - 20e-6);
  bool         good =
    check_at_most(fabs(svg_number("gap.svg", "a repeat ends at ") - ends_s),
                  0.0015,
                  "end, s");
  good = check_at_most(
           fabs(svg_number("gap.svg", "the next starts at ") - ends_s - 0.040),
           0.0015,
           "start, s") &&
         good;
  assert_true(good);
}

/// What a recording does, and nothing else.
typedef struct {
  const char* path;
  const char* sign; ///< Of "recording_does".
} SignCase;

static const SignCase sign_cases[] = {
  {"rec.wav", NULL},
  {"gains.wav", "gain_follows"},
  {"gates.wav", "noise_taken"},
  {"echo.wav", "echoes"},
  {"telephone.wav", "narrow"},
};

static void
what_a_recording_does_is_noticed(void** state) {
  (void)state;
  static const char* const signs[] = {
    "clips", "gain_follows", "noise_taken", "echoes", "narrow"};
  bool good = true;
  for (size_t i = 0; i < sizeof(sign_cases) / sizeof(sign_cases[0]); ++i) {
    const SignCase* const of = &sign_cases[i];
    char                  line[128];
    (void)snprintf(line,
                   sizeof(line),
                   "gauge board --json --board wav-22k-mono %s",
                   of->path);
    json_t* const       report = report_of(line);
    const json_t* const does = json_object_get(report, "recording_does");
    for (size_t k = 0; k < sizeof(signs) / sizeof(signs[0]); ++k) {
      const bool wanted = of->sign && !strcmp(of->sign, signs[k]);
      good = check_that(json_is_true(json_object_get(does, signs[k])) == wanted,
                        "%s: %s",
                        of->path,
                        signs[k]) &&
             good;
    }
    good = is_near(report, "gap_ms", 40.0, 0.5) && good;
    good = is_near(report, "clock_ppm", 80.0, 20.0) && good;
    json_decref(report);
  }
  assert_true(good);
}

static void
a_loop_tells_gap_and_clock(void** state) {
  (void)state;
  json_t* const report =
    report_of("gauge board --json looped.wav --loop loop.wav");
  const bool good = is_near(report, "gap_ms", 40.0, 1.0) &&
                    json_is_null(json_object_get(report, "delay_ms"));
  json_decref(report);
  assert_true(good);
}

static void
what_was_found_is_saved_as_a_board(void** state) {
  (void)state;
  const RunCase saves = {
    "gauge board rec.wav --board wav-22k-mono --save ./mine.board.ini",
    0,
    "Next: volleyweave loop --board ./mine.board.ini zap.wav",
    NULL};
  const RunCase keeps = {"gauge board rec.wav --board wav-22k-mono",
                         0,
                         "Keep it with --save NAME, and use it with --board",
                         NULL};
  assert_true(run_gave(run(saves.line), &saves));
  assert_true(run_gave(run(keeps.line), &keeps));
  json_t* const board = report_of("boards --json ./mine.board.ini");
  bool          good = is_near(board, "gap_ms", 40.0, 0.2);
  good = is_near(board, "delay_ms", 120.0, 2.0) && good;
  good = is_near(board, "press_min_ms", 400.0, 4.0) && good;
  good = is_word(board, "on_release", "finishes") && good;
  json_decref(board);
  assert_true(good);
  Run own =
    run_shell("XDG_CONFIG_HOME=$PWD/config \"$VOLLEYWEAVE\" gauge board "
              "-q rec.wav --board wav-22k-mono --save prop1 && "
              "XDG_CONFIG_HOME=$PWD/config \"$VOLLEYWEAVE\" boards prop1");
  good = run_check(
    !own.status && strstr(own.out, "on-release = finishes"), &own, "own");
  run_clear(&own);
  assert_true(good);
}

static const RunCase told[] = {
  {"gauge board --board wav-22k-mono noise.wav",
   1,
   NULL,
   "noise.wav: no mark of the test sound is heard"},
  {"gauge board --board wav-22k-mono hum.wav",
   1,
   NULL,
   "no mark of the test sound is heard"},
  {"gauge board --board wav-22k-mono silence.wav", 1, NULL, "it is silent"},
  {"gauge board --board wav-22k-mono other.wav",
   1,
   NULL,
   "of another test sound"},
  {"gauge board --board wav-22k-mono hour.wav",
   1,
   NULL,
   "longer than 600 s, and no more is read"},
  {"gauge board --board wav-22k-mono --seconds-max 5 rec.wav",
   1,
   NULL,
   "longer than 5 s, and no more is read"},
  {"gauge board --board wav-22k-mono clipped.wav", 0, "clipped", NULL},
  {"gauge board --board wav-22k-mono short.wav",
   0,
   "no two repeats follow",
   NULL},
  {"gauge board --board wav-22k-mono telephone.wav",
   0,
   "nothing above 3.7 kHz",
   NULL},
  {"gauge board rec.wav --loop hum.wav",
   1,
   NULL,
   "this loop is not heard in it"},
  {"gauge board rec.wav --loop none.wav", 1, NULL, "none.wav"},
  {"gauge board none.wav", 1, NULL, "none.wav"},
  {"gauge board rec.wav rec.wav", 2, NULL, "one recording is measured"},
  {"gauge board --write --loop loop.wav", 2, NULL, "--loop: nothing is gauged"},
  {"gauge board --write --plot a.svg", 2, NULL, "--plot: nothing is gauged"},
  {"gauge board rec.wav --output a", 2, NULL, "--output: no sound is written"},
  {"gauge board rec.wav --video-rate 240",
   2,
   NULL,
   "--video-rate: it is not for what is gauged"},
  {"gauge board rec.wav --board wav-22k-mono --save no:name",
   2,
   NULL,
   "a board's name"},
};

static void
what_tells_nothing_is_said(void** state) {
  (void)state;
  bool good = true;
  for (size_t i = 0; i < sizeof(told) / sizeof(told[0]); ++i) {
    good = run_gave(run(told[i].line), &told[i]) && good;
  }
  assert_true(good);
}

int
main(int argc, char** argv) {
  static const struct CMUnitTest tests[] = {
    cmocka_unit_test(what_is_found_is_that_of_the_board),
    cmocka_unit_test(the_first_gap_is_drawn),
    cmocka_unit_test(what_a_recording_does_is_noticed),
    cmocka_unit_test(a_loop_tells_gap_and_clock),
    cmocka_unit_test(what_was_found_is_saved_as_a_board),
    cmocka_unit_test(what_tells_nothing_is_said),
  };
  run_set_up(argc, argv);
  const int failed = cmocka_run_group_tests(tests, set_up, run_leave_folder);
  run_tear_down();
  return failed;
}
