// What the program makes for a board, and what it refuses to make.

#include "support/check.h"
#include "support/reports.h"
#include "support/run.h"
#include "support/wav_files.h"

#include "volleyweave/volleyweave.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#define COUNT(array) (sizeof(array) / sizeof((array)[0]))

static int
start_clean(void** state) {
  (void)state;
  remove_all("volleyweave-out");
  return 0;
}

static void
text_put(const char* path, const char* text) {
  FILE* const file = fopen(path, "wb");
  assert_non_null(file);
  assert_true(fputs(text, file) >= 0);
  assert_int_equal(fclose(file), 0);
}

#define TEST(function) cmocka_unit_test_setup(function, start_clean)

/// Whether one of the warnings has these words.
static bool
warns(json_t* object, const char* words) {
  json_t* const warnings = json_object_get(object, "warnings");
  for (size_t i = 0; i < json_array_size(warnings); ++i) {
    if (strstr(json_string_value(json_array_get(warnings, i)), words)) {
      return true;
    }
  }
  return false;
}

/// Run a line that ends so, with these words on standard error and no file.
static bool
refuses(const char* line, int status, const char* words) {
  Run        got = run(line);
  const bool good =
    got.status == status && strstr(got.err, words) &&
    (access("volleyweave-out", F_OK) || !count_files("volleyweave-out"));
  run_check(good, &got, line);
  run_clear(&got);
  return good;
}

static bool
prints(const char* line, const char* words) {
  Run        got = run(line);
  const bool good = got.status == 0 && strstr(got.out, words);
  run_check(good, &got, line);
  run_clear(&got);
  return good;
}

static double
file_frames(json_t* made, const char* part) {
  json_t* const files = json_object_get(made, "files");
  for (size_t i = 0; i < json_array_size(files); ++i) {
    json_t* const file = json_array_get(files, i);
    if (!strcmp(json_string_value(json_object_get(file, "part")), part)) {
      return json_number_value(json_object_get(file, "frames"));
    }
  }
  return (double)NAN;
}

/* Format and form */

// The header of a file: channels, sample rate, bits (Microsoft, "New Multimedia
// Data Types and Data Techniques" 3.0, 1994).
static bool
has_format(const char* path, unsigned channels, unsigned hz, unsigned bits) {
  size_t      n_bytes = 0;
  char* const bytes = read_file(path, &n_bytes);
  const bool  there = check_that(bytes && n_bytes > 44, "%s is there", path);
  const unsigned char* const at = (const unsigned char*)bytes;
  const bool                 good =
    there && check_equal(at[22], channels, "%s: channels", path) &&
    check_equal(
      at[24] + 256.0 * at[25] + 65536.0 * at[26], hz, "%s: rate", path) &&
    check_equal(at[34], bits, "%s: bits", path);
  free(bytes);
  return good;
}

static void
test_format(void** state) {
  (void)state;
  json_t* const made =
    run_json("loop --json --board wav-44k-stereo --fire-rate 9 zap.wav", 0);
  assert_true(has_format("volleyweave-out/zap.shot.wav", 2, 44100, 16));
  assert_true(has_format("volleyweave-out/zap.loop.wav", 2, 44100, 16));
  assert_int_equal(json_array_size(json_object_get(made, "files")), 2);
  assert_string_equal(json_string_value(value_at(made, "loop.form")),
                      "whole-file");
  assert_string_equal(json_string_value(value_at(made, "board.name")),
                      "wav-44k-stereo");
  assert_string_equal(json_string_value(value_at(made, "board.release")),
                      "stops");
  assert_true(json_is_null(value_at(made, "loop.overrun_ms")));
  json_decref(made);

  json_t* const whole =
    run_json("convert --json --board wav-22k-mono zap.wav", 0);
  assert_true(has_format("volleyweave-out/zap.wav", 1, 22050, 16));
  json_decref(whole);
}

// A finished burst is played by every board.
static void
test_burst(void** state) {
  (void)state;
  json_t* const made = run_json(
    "loop --json --board wav-22k-mono --burst 2 --fire-rate 9 zap.wav", 0);
  assert_true(has_format("volleyweave-out/zap.burst.wav", 1, 22050, 16));
  assert_string_equal(json_string_value(value_at(made, "loop.form")), "burst");
  json_decref(made);
}

static void
test_none(void** state) {
  (void)state;
  json_t* const made =
    run_json("loop --json --board none --fire-rate 9 zap.wav", 0);
  assert_true(json_is_null(json_object_get(made, "board")));
  assert_string_equal(json_string_value(value_at(made, "loop.form")), "pieces");
  json_decref(made);
}

static void
test_c_array(void** state) {
  (void)state;
  Run         got = run("loop --board array-8k-8bit --fire-rate 9 zap.wav");
  size_t      n_bytes = 0;
  char* const text = read_file("volleyweave-out/zap.loop.h", &n_bytes);
  const bool  good = got.status == 0 && text &&
                    strstr(text, "static const uint8_t sound_zap_loop[") &&
                    strstr(text, "#define SOUND_ZAP_LOOP_SAMPLE_RATE_HZ 8000");
  run_check(good, &got, "c array");
  assert_true(good);
  free(text);
  run_clear(&got);
}

static void
test_not_accepted(void** state) {
  (void)state;
  static const struct {
    const char* line;
    const char* words;
  } cases[] = {
    {"loop --board nothing-like-it zap.wav", "nothing-like-it"},
    {"shot --board wav-22k-mono --sample-rate 44100 zap.wav",
     "--sample-rate 44100: the board wav-22k-mono takes --sample-rate 22050"},
    {"shot --board wav-22k-mono --bits 24 zap.wav",
     "--bits 24: the board wav-22k-mono takes --bits 16"},
    {"convert --board wav-44k-stereo --channels 1 zap.wav",
     "--channels 1: the board wav-44k-stereo takes --channels 2"},
    {"loop --board wav-22k-mono --form pieces zap.wav",
     "--form pieces: the board wav-22k-mono plays --form whole-file"},
    {"loop --board wav-22k-mono --form loop-points zap.wav", "whole-file"},
    {"loop --board wav-22k-mono --part run-in zap.wav", "name another --board"},
    {"loop --board wav-22k-mono --overrun-max 400ms zap.wav",
     "stops at the release"},
    {"shot --slot 1 zap.wav", "name it with --board"},
    {"split --board wav-22k-mono --slot 1 zap.wav", "have no number in front"},
    {"shot --name a/b zap.wav", "no slash"},
    {"shot --name .b zap.wav", "no dot in front"},
    {"shot --board wav-22k-mono -o zap.flac zap.wav",
     "let the name end in .wav"},
    {"shot --board array-8k-8bit -o zap.raw zap.wav", "let the name end in .h"},
    {"shot -o zap.flac zap.wav", "only WAV is written"},
    {"loop --gap 25 --form pieces zap.wav", "--form whole-file"},
    {"loop --gap 25 --burst 3 zap.wav", "--burst"},
    {"loop --gap 1001 zap.wav", "1000"},
    {"loop --buffer 0 zap.wav", "65536"},
    {"loop --buffer 2.5 zap.wav", "whole"},
    {"loop --buffer 65536 --sample-rate 8000 zap.wav",
     "--buffer: a buffer of 65536 frames lasts 8.192 s, the cycle 2 s at "
     "most: give a longer --cycle-max"},
    {"loop --overrun-max 0.01 zap.wav", "0.05"},
    {"loop --overrun-max 400ms --fire-rate 2/s zap.wav",
     "1 shot at 2 per second takes 0.5 s, the cycle 0.4 s at most: give "
     "fewer shots, or a longer --overrun-max"},
  };
  bool good = true;
  for (size_t i = 0; i < COUNT(cases); ++i) {
    good &= refuses(cases[i].line, 2, cases[i].words);
  }
  assert_true(good);
}

/* Names */

static void
test_names(void** state) {
  (void)state;
  // What the board cannot spell is the same in both.
  assert_true(refuses(
    "shot a:b.wav a*b.wav --board wav-22k-mono", 2, "would have the names"));
  assert_true(
    prints("shot -v --name bang zap.wav", "volleyweave-out/bang.shot.wav"));
  assert_true(prints("shot --board wav-22k-mono --slot 4 --name bang zap.wav",
                     "--board wav-22k-mono --slot 5"));
  assert_true(prints("loop -v --take-turns --name bang --fire-rate 9 zap.wav "
                     "other.wav",
                     "volleyweave-out/bang-2.shot.wav"));
  assert_true(
    prints("shot --board array-8k-8bit -o zip.h -f zap.wav", "zip.h"));
}

/* Gap, buffer, run-in, release */

// A board plays the file, then its gap, again and again: so many shots in so
// much time (closed form).
static void
test_gap(void** state) {
  (void)state;
  json_t* const made = run_json(
    "loop --json --board wav-44k-mono --gap 25 --fire-rate 9 zap.wav", 0);
  const double shots = number_at(made, "loop.shots");
  const double heard = shots / (file_frames(made, "loop") / 44100.0 + 0.025);
  bool ok = check_at_most(fabs(heard / 9.0 - 1.0), 0.001, "heard %g", heard);
  ok &=
    check_at_most(fabs(number_at(made, "loop.fire_rate_per_s") / heard - 1.0),
                  1e-4,
                  "reported");
  ok &= check_at_most(fabs(number_at(made, "loop.plain_fire_rate_per_s") -
                           shots / (shots / 9.0 + 0.025)),
                      0.001,
                      "plain");
  ok &= check_at_most(fabs(number_at(made, "loop.gap_ms") - 25.0), 0.02, "gap");
  ok &= check_at_least(number_at(made, "loop.gap_depth_db"), 1.0, "depth");
  ok &= check_at_least(shots, 4.0, "shots");
  ok &= check_that(json_is_false(value_at(made, "loop.gap_heard")), "hidden");
  ok &= check_that(!warns(made, "too long to hide"), "no warning");
  assert_true(ok);
  json_decref(made);
  assert_true(prints("loop -v --gap 25 --fire-rate 9 -f zap.wav",
                     "had the gap not been allowed for"));
  assert_true(
    prints("loop -v --gap 25 --fire-rate 9 zap.wav", "below the crest"));
}

// Over 0.4 of the period; at 4 per second 100 ms are just that.
static void
test_long_gap(void** state) {
  (void)state;
  json_t* const made =
    run_json("loop --json --gap 100 --fire-rate 9 zap.wav", 0);
  bool ok = check_that(json_is_true(value_at(made, "loop.gap_heard")), "heard");
  ok &= check_that(warns(made, "try 4 per second"), "slower rate");
  // Four shots in 444.4 ms and 100 ms: 7.347 per second (closed form).
  ok &= check_that(warns(made, "after every 4 shots, at 7.35 per second"),
                   "what it comes to");
  ok &= check_at_most(
    fabs(number_at(made, "loop.even_fire_rate_per_s") - 4.0), 0.001, "even");
  ok &= check_that(
    !strcmp(json_string_value(value_at(made, "loop.form")), "whole-file"),
    "form");
  assert_true(ok);
  json_decref(made);
  assert_true(prints("loop -v --gap 100 --fire-rate 9 -f zap.wav",
                     "asked (9), 7.34694 made, slowed by the gap"));
  assert_true(prints("loop -v --gap 100 --fire-rate 9 zap.wav",
                     "111.1 ms from shot to shot, 211.1 ms over the gap"));
}

// The slower rate named is one that is even, when it is asked for.
static void
test_slower_rate(void** state) {
  (void)state;
  // 0.4 / 0.15 s is 2.6667: rounded up it would be uneven again. Closed form.
  json_t* const fast =
    run_json("loop --json --gap 150 --fire-rate 9 zap.wav", 0);
  json_t* const slow =
    run_json("loop --json -f --gap 150 --fire-rate 2.666 zap.wav", 0);
  // 0.4 / 1 s is below the slowest fire rate.
  json_t* const never =
    run_json("loop --json -f --gap 1000 --fire-rate 9 zap.wav", 0);
  bool ok = check_that(warns(fast, "try 2.666 per second"), "slower rate");
  ok &= check_that(json_is_false(value_at(slow, "loop.gap_heard")), "even");
  ok &= check_that(warns(never, "a board with a shorter one"), "none");
  assert_true(ok);
  json_decref(fast);
  json_decref(slow);
  json_decref(never);
}

static void
test_buffer(void** state) {
  (void)state;
  json_t* const made =
    run_json("loop --json --board wav-22k-mono --buffer 512 --fire-rate 9 "
             "--shots 1 zap.wav",
             0);
  const double frames = file_frames(made, "loop");
  // 2450 frames are 4.8 buffers: five are 4.3 % too long.
  bool ok = check_equal(frames, 2560.0, "frames");
  ok &= check_that(warns(made, "over 0.5 % off"), "warning");
  ok &= check_equal(number_at(made, "loop.buffer_frames"), 512.0, "buffer");
  assert_true(ok);
  json_decref(made);

  json_t* const near =
    run_json("loop --json --board wav-22k-mono --buffer 256 --fire-rate 8.61 "
             "--shots 1 zap.wav",
             0);
  // 2560 frames for 2561: 0.04 % off.
  ok = check_equal(file_frames(near, "loop"), 2560.0, "frames");
  ok &= check_that(!warns(near, "% off"), "no warning");
  assert_true(ok);
  json_decref(near);
}

static void
test_run_in(void** state) {
  (void)state;
  json_t* const whole = run_json("loop --json --fire-rate 9 zap.wav", 0);
  json_t* const cut =
    run_json("loop --json -f --fire-rate 9 --run-in-max 200ms zap.wav", 0);
  bool ok = check_that(json_is_null(value_at(whole, "loop.run_in_left_db")),
                       "nothing lacks");
  ok &= check_that(!warns(whole, "run-in is cut short"), "no warning");
  ok &=
    check_at_most(file_frames(cut, "runin"), 0.2 * 44100.0, "run-in as asked");
  ok &= check_at_least(file_frames(whole, "runin"), 0.2 * 44100.0, "longer");
  ok &= check_that(warns(cut, "run-in is cut short"), "warning");
  ok &= check_at_least(number_at(cut, "loop.run_in_left_db"), 5.0, "left");
  assert_true(ok);
  json_decref(whole);
  json_decref(cut);
}

static void
test_overrun(void** state) {
  (void)state;
  json_t* const made = run_json(
    "loop --json --form whole-file --overrun-max 400ms --fire-rate 7 zap.wav",
    0);
  const double file_ms = file_frames(made, "loop") / 44.1;
  bool         ok = check_at_most(file_ms, 400.0, "file");
  ok &= check_at_most(
    fabs(number_at(made, "loop.overrun_ms") - file_ms), 0.001, "overrun");
  assert_true(ok);
  json_decref(made);
  assert_true(prints("loop -v --board wav-44k-mono -f --fire-rate 7 zap.wav",
                     "it stops at once"));
}

// What is told of the time after the release is what is heard after a tap.
static void
test_overrun_heard(void** state) {
  static const char* const boards[] = {
    "on-release = finishes\n",
    "on-release = finishes\nloop-points = yes\nrepeat = loop-points\n",
    "on-release = finishes\nrepeat = three-files\n",
    "on-release = stops\nrepeat = three-files\n"};
  (void)state;
  bool ok = true;
  for (size_t i = 0; i < COUNT(boards); ++i) {
    char text[200];
    (void)snprintf(text, sizeof(text), "[playing]\n%s", boards[i]);
    text_put("tapped.board.ini", text);
    json_t* const made =
      run_json("loop --json -f --board tapped.board.ini zap.wav", 0);
    json_t* const heard = run_json("rehearse --json -f -o held.wav --hold 1ms "
                                   "--board tapped.board.ini "
                                   "volleyweave-out/zap.loop.wav",
                                   0);
    const double  heard_ms = number_at(heard, "frames") / 44.1 - 1.0;
    ok &= check_at_most(fabs(number_at(made, "loop.overrun_ms") - heard_ms),
                        1.001,
                        "%s: overrun, ms off what is heard",
                        boards[i]);
    json_decref(made);
    json_decref(heard);
  }
  assert_true(ok);
}

// Boards of the user's own, from files.
static void
test_board_files(void** state) {
  (void)state;
  text_put("ends.board.ini", "[playing]\non-release = finishes\n");
  text_put("tight.board.ini",
           "[limits]\nfile-size-max = 20000\n[playing]\n"
           "repeat = three-files\n");
  json_t* const made =
    run_json("loop --json --board ends.board.ini --fire-rate 7 zap.wav", 0);
  const double file_ms = file_frames(made, "loop") / 44.1;
  // 1 s is the longest overrun where none is given.
  bool ok = check_at_most(file_ms, 1000.0, "file");
  ok &= check_at_most(
    fabs(number_at(made, "loop.overrun_ms") - file_ms), 0.001, "overrun");
  ok &=
    check_that(prints("loop -v --board ends.board.ini -f --fire-rate 7 zap.wav",
                      "it plays on to the end, for"),
               "said");
  json_decref(made);
  json_t* const tight = run_json("loop --json -f --board tight.board.ini "
                                 "--part run-in --fire-rate 9 zap.wav",
                                 0);
  ok &= check_at_most(
    44.0 + 2.0 * file_frames(tight, "runin"), 20000.0, "bytes of the run-in");
  ok &= check_that(warns(tight, "run-in is cut short"), "cut short");
  json_decref(tight);
  assert_true(ok);
}

int
main(int argc, char** argv) {
  const struct CMUnitTest tests[] = {
    TEST(test_format),
    TEST(test_burst),
    TEST(test_none),
    TEST(test_c_array),
    TEST(test_not_accepted),
    TEST(test_names),
    TEST(test_gap),
    TEST(test_long_gap),
    TEST(test_slower_rate),
    TEST(test_buffer),
    TEST(test_run_in),
    TEST(test_overrun),
    TEST(test_overrun_heard),
    TEST(test_board_files),
  };
  run_set_up(argc, argv);
  wav_file_write(
    &(WavFile){.path = "zap.wav", .fill = FILL_SHOT, .seconds = 1.0});
  wav_file_write(
    &(WavFile){.path = "other.wav", .fill = FILL_SHOT, .seconds = 0.8});
  const int failed = cmocka_run_group_tests(tests, NULL, NULL);
  run_tear_down();
  return failed;
}
