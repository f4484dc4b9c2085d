// How loud what the program writes is said to be, and what it says where a
// wish cannot be met.

#include "support/check.h"
#include "support/reports.h"
#include "support/run.h"
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

static int
start_clean(void** state) {
  (void)state;
  remove_all("volleyweave-out");
  return 0;
}

#define TEST(function) cmocka_unit_test_setup(function, start_clean)

static bool
check_near(double value, double wanted, double within, const char* what) {
  return check_at_most(fabs(value - wanted), within, "%s %g", what, value);
}

/// Run a line that should fail, or go well, with these words on standard error.
static bool
says(const char* line, int status, const char* words) {
  Run        got = run(line);
  const bool good = got.status == status && strstr(got.err, words);
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

/* Nothing to bring to a level */

// No gain is invented for silence, nor for what a filter leaves of a sound that
// lies below it.
static void
test_nothing_there(void** state) {
  (void)state;
  static const char* const commands[] = {"shot", "loop", "convert"};
  bool                     good = true;
  for (size_t i = 0; i < COUNT(commands); ++i) {
    char line[128];
    (void)snprintf(
      line, sizeof(line), "%s --loudness -16 silent.wav", commands[i]);
    good &= says(line, 1, "silent.wav: it is silent");
    (void)snprintf(
      line, sizeof(line), "%s --json --gain 6 silent.wav", commands[i]);
    json_t* const made = run_json(line, 1);
    good &= json_is_null(json_object_get(made, "level"));
    json_decref(made);
  }
  good &= says("convert --speaker 2000Hz low.wav",
               1,
               "low.wav: nothing of it lies above the speaker's corner of 2000 "
               "Hz");
  good &= says("convert -v -n --speaker 50Hz low.wav", 0, "");
  assert_true(good);
  assert_int_equal(count_files("volleyweave-out"), 0);
}

// At 4 kHz a corner of 2 kHz is half the sample rate; 0.45 of it is 1.8 kHz.
static void
test_corner_too_high(void** state) {
  (void)state;
  bool good = says(
    "shot -v -n --sample-rate 4000 --speaker 1801Hz zap.wav", 1, "1801 Hz");
  good &= says("shot -v -n --speaker 2000Hz slow.wav", 1, "--sample-rate");
  good &=
    prints("shot -v -n --sample-rate 4000 --speaker 1799Hz zap.wav", "1799");
  assert_true(good);
}

/* Channels */

// A dead channel, an inverted one and eight of them: the sound that comes out
// is as loud as from one.
static void
test_channels(void** state) {
  (void)state;
  static const char* const takes[] = {
    "zap.wav", "dead.wav", "opposed.wav", "eight.wav", "eight-dead.wav"};
  bool good = true;
  for (size_t i = 0; i < COUNT(takes); ++i) {
    char line[128];
    (void)snprintf(
      line, sizeof(line), "shot --json --loudness -30 %s", takes[i]);
    json_t* const made = run_json(line, 0);
    good &= json_is_true(value_at(made, "level.reached"));
    good &= check_near(
      number_at(made, "level.shot_loudness_lufs"), -30.0, 0.1, takes[i]);
    json_decref(made);
    (void)snprintf(line, sizeof(line), "inspect -v --json %s", takes[i]);
    json_t* const found = run_json(line, 0);
    good &= isfinite(number_at(found, "loudness.momentary_max_lufs"));
    json_decref(found);
  }
  good &= says("shot -v -n opposed.wav", 0, "warning: its channels cancel");
  assert_true(good);
}

/* Inspect */

// A sine reads 3.01 dB below its peak, less K-weighting; what the standards
// have no value for is null.
static void
test_inspect(void** state) {
  (void)state;
  json_t* const hum = run_json("inspect -v --json hum.wav", 0);
  json_t* const zap = run_json("inspect -v --json zap.wav", 0);
  json_t* const noise = run_json("inspect -v --json noise.wav", 0);
  // closed form: 20 log10(0.4) and 10 log10(2)
  bool good = check_near(
    number_at(hum, "loudness.true_peak_dbtp"), -7.96, 0.1, "true peak");
  good &= check_near(
    number_at(hum, "loudness.crest_factor_db"), 3.01, 0.02, "crest factor");
  good &= check_near(
    number_at(hum, "loudness.energy_below_350hz"), 1.0, 0.001, "below 350 Hz");
  good &= isfinite(number_at(hum, "loudness.short_term_max_lufs"));
  good &= json_is_null(value_at(hum, "loudness.range_lu"));
  good &= json_is_null(value_at(zap, "loudness.short_term_max_lufs"));
  good &= isfinite(number_at(zap, "loudness.integrated_lufs"));
  // a sound that goes on, and a warning that it is no shot
  good &= !strcmp(json_string_value(value_at(noise, "shot.kind")), "sustained");
  good &= json_is_null(json_object_get(noise, "error"));
  good &= isfinite(number_at(noise, "loudness.integrated_lufs"));
  good &= json_array_size(json_object_get(noise, "warnings")) == 1U;
  json_decref(hum);
  json_decref(zap);
  json_decref(noise);
  good &=
    prints("inspect -v zap.wav", "short-term   none, it is shorter than 3 s");
  good &= prints("inspect -v hum.wav", "loudness range none");
  good &=
    prints("inspect -v zap.wav", "LUFS over its loudest 400 ms, in silence\n");
  good &= prints("shot -v -n zap.wav", " LUFS before, ");
  good &= prints("inspect -v both.wav", "in silence, all channels\n");
  good &=
    prints("shot -v -n both.wav", " LUFS before (one of its like channels)");
  good &= prints("shot -v -n dead.wav", " LUFS before (its channels mixed), ");
  good &=
    prints("shot -v -n opposed.wav", " LUFS before (its stronger channel), ");
  good &= prints("inspect -v noise.wav", "Next: volleyweave loop noise.wav");
  good &= prints("loop -n noise.wav", "noise-like: a likeness of ");
  good &= says("loop -n noise.wav", 0, "taken for a sustained sound");
  good &= says("split -n noise.wav", 1, "a sustained sound, in which");
  good &= prints("inspect -v hum.wav", "Next: volleyweave loop hum.wav");
  good &= prints("shot -v -n hum.wav", "Next: volleyweave loop");
  assert_true(good);
}

/* Convert */

static void
test_convert(void** state) {
  (void)state;
  json_t* const made = run_json("convert --json --loudness -20 hum.wav", 0);
  json_t* const file = json_array_get(json_object_get(made, "files"), 0);
  json_t* const found =
    run_json("inspect -v --json volleyweave-out/hum.wav", 0);
  assert_string_equal(json_string_value(json_object_get(file, "part")),
                      "whole");
  assert_string_equal(json_string_value(json_object_get(file, "path")),
                      "volleyweave-out/hum.wav");
  // nothing trimmed: 4 s at 44.1 kHz
  assert_int_equal(json_integer_value(json_object_get(file, "frames")), 176400);
  bool good = check_near(
    number_at(made, "level.shot_loudness_lufs"), -20.0, 0.1, "as said");
  good &= check_near(
    number_at(found, "loudness.momentary_max_lufs"), -20.0, 0.1, "as written");
  good &= json_is_null(json_object_get(made, "shot")) &&
          json_is_null(json_object_get(made, "loop")) &&
          json_is_null(json_object_get(made, "lamp"));
  good &= json_array_size(json_object_get(made, "warnings")) == 0U;
  json_decref(made);
  json_decref(found);
  good &= prints("convert noise.wav", "volleyweave-out/noise.wav");
  good &= says("convert volleyweave-out/hum.wav", 1, "recording");
  assert_true(good);
}

// Sounds of more than the 30 s that a shot may last.
static void
test_convert_long(void** state) {
  (void)state;
  assert_true(prints("convert --sample-rate 4000 -q -n long.wav", ""));
}

/* Wishes */

// So near to the noise of 8 bits a sound is louder than reported.
static void
test_near_noise(void** state) {
  (void)state;
  json_t* const quiet =
    run_json("shot --json --bits 8 --loudness -40 zap.wav", 0);
  json_t* const loud =
    run_json("shot --json --bits 8 --loudness -20 zap.wav", 0);
  const char* warning =
    json_string_value(json_array_get(json_object_get(quiet, "warnings"), 0));
  assert_true(warning && strstr(warning, "above the noise of 8-bit"));
  assert_int_equal(json_array_size(json_object_get(loud, "warnings")), 0);
  json_decref(quiet);
  json_decref(loud);
}

// A loudness that needs more limiting than allowed: left at the loudest, and
// said so in figures that are those of the object.
static void
test_not_reached(void** state) {
  (void)state;
  json_t* const made = run_json("shot --json --loudness -16 zap.wav", 0);
  json_t* const most = run_json("shot --json -n zap.wav", 0);
  const char*   warning =
    json_string_value(json_array_get(json_object_get(made, "warnings"), 0));
  const double needed_db = number_at(made, "level.limiting_needed_db");
  const double left_lufs = number_at(made, "level.shot_loudness_lufs");
  char         words[128];
  (void)snprintf(words,
                 sizeof(words),
                 "-16 LUFS needs %.1f dB of limiting, 3 allowed: left at %.1f; "
                 "raise --limiting-max",
                 needed_db,
                 left_lufs);
  assert_non_null(warning);
  assert_string_equal(warning, words);
  bool good = json_is_false(value_at(made, "level.reached"));
  good &= check_at_least(needed_db, 3.0, "needed");
  good &= check_near(
    left_lufs, number_at(most, "level.shot_loudness_lufs"), 0.01, "loudest");
  good &=
    check_near(number_at(made, "level.target_lufs"), -16.0, 0.0, "target");
  good &= json_is_null(value_at(most, "level.target_lufs"));
  json_decref(made);
  json_decref(most);
  good &= says("shot -v -n --loudness=0 zap.wav",
               0,
               "0 LUFS needs over 12 dB of limiting, 3 allowed");
  good &= says("shot -v -n --gain 40 zap.wav", 0, "a gain of +40 dB needs");
  good &= says("shot -v -n --ceiling -20 --loudness keep zap.wav",
               0,
               "so it is changed by");
  assert_true(good);
}

static void
test_reached(void** state) {
  (void)state;
  Run got = run("loop -v -n --fire-rate 9 --loudness -30 zap.wav");
  assert_true(run_check(got.status == 0 && !got.n_err &&
                          !strstr(got.out, "louder by") &&
                          strstr(got.out, "limiting     none") &&
                          strstr(got.out, "maximum momentary loudness"),
                        &got,
                        "loop"));
  run_clear(&got);
  // a level that is to be kept is not told how to be louder
  got = run("shot -v -n --loudness keep zap.wav");
  assert_true(run_check(!strstr(got.out, "louder by"), &got, "keep"));
  run_clear(&got);
  json_t* const made =
    run_json("loop --json -n --loud-as burst --loudness -25 zap.wav", 0);
  assert_true(check_near(
    number_at(made, "level.burst_loudness_lufs"), -25.0, 0.1, "burst"));
  json_decref(made);
}

/* What would make it louder */

/// The figure that stands before some words in a report.
static double
figure_before(const char* report, const char* words) {
  const char* at = strstr(report, words);
  while (at && at > report && at[-1] != '\n') {
    --at;
  }
  double figure = NAN;
  return at && (sscanf(at, " louder by %lf", &figure) == 1 ||
                sscanf(at, " %lf", &figure) == 1)
           ? figure
           : (double)NAN;
}

// What is promised of more limiting and of less tightening comes true.
static void
test_louder(void** state) {
  (void)state;
  Run           got = run("loop -v -n --fire-rate 12 zap.wav");
  json_t* const now = run_json("loop --json -n --fire-rate 12 zap.wav", 0);
  json_t* const limited =
    run_json("loop --json -n --fire-rate 12 --limiting-max 6 zap.wav", 0);
  json_t* const loose =
    run_json("loop --json -n --fire-rate 12 --valley none zap.wav", 0);
  // the report has one decimal
  bool good = check_near(figure_before(got.out, "--limiting-max 6"),
                         number_at(limited, "level.shot_loudness_lufs") -
                           number_at(now, "level.shot_loudness_lufs"),
                         0.051,
                         "limiting");
  good &= check_near(figure_before(got.out, "dB in the burst"),
                     number_at(limited, "level.burst_loudness_lufs") -
                       number_at(now, "level.burst_loudness_lufs"),
                     0.051,
                     "limiting, of the burst");
  good &= check_near(figure_before(got.out, "--valley none"),
                     number_at(loose, "level.burst_loudness_lufs") -
                       number_at(now, "level.burst_loudness_lufs"),
                     0.051,
                     "tightening");
  good &= strstr(got.out, "in the single shot with more limiting: ") != NULL;
  good &= strstr(got.out, "beyond that, use a stronger amplifier") != NULL;
  good &=
    strstr(got.out, "CAUTION      a small speaker is loud at the ear") != NULL;
  assert_true(run_check(good, &got, "loop"));
  json_decref(now);
  json_decref(limited);
  json_decref(loose);
  run_clear(&got);
  // less tightening would bare the fade of a file that is repeated
  got = run("loop -v -n --fire-rate 12 --form whole-file zap.wav");
  assert_true(run_check(strstr(got.out, "tightening") &&
                          !strstr(got.out, "--valley none"),
                        &got,
                        "whole-file"));
  run_clear(&got);
}

// A steady tone at the ceiling has no peaks to limit, and lies below what a
// small speaker plays.
static void
test_nothing_left(void** state) {
  (void)state;
  assert_true(
    prints("convert -v -n hum.wav",
           "the file is as loud as it can be: use a stronger amplifier"));
  assert_true(
    prints("convert -v -n hum.wav", "100 % of the energy lies below 350"));
  // EBU Tech 3342.
  assert_true(prints("inspect -v long.wav", "which is not stable before 60 s"));
}

/* A kick */

// It is reported, left out below a speaker's corner, and not laid under what
// has no shots; in a pack it is a key.
static void
test_kick(void** state) {
  (void)state;
  static const char list[] = "[prop]\nkick = 12\n[sound zap]\ntake = zap.wav\n"
                             "make = loop\nfire-rate = 9/s\n"
                             "[sound hum]\ntake = hum.wav\nmake = loop\n";
  bytes_write("kick.ini", list, sizeof(list) - 1U);
  bool good = prints("loop --kick 12 --fire-rate 9 zap.wav", "120 Hz, ") &&
              prints("shot --kick 12 --speaker 75Hz zap.wav", "120 Hz, ") &&
              says("shot --kick 12 --speaker 40mm zap.wav",
                   0,
                   "does not give its 120 Hz") &&
              says("loop --kick 12 hum.wav", 0, "no shots are laid down") &&
              says("shot --kick 25 zap.wav", 2, "0 to 24 dB");
  json_t* const plain = run_json("shot -n --json --gain -20 zap.wav", 0);
  json_t* const kicked =
    run_json("shot -n --json --gain -20 --kick 12 zap.wav", 0);
  good &= check_near(number_at(kicked, "level.kick_lu"),
                     number_at(kicked, "level.shot_loudness_lufs") -
                       number_at(plain, "level.shot_loudness_lufs"),
                     0.1,
                     "LU");
  good &= isnan(number_at(plain, "level.kick_hz"));
  Run packed = run("pack --board wav-44k-mono --json kick.ini");
  good &= run_check(!packed.status && strstr(packed.out, "\"kick_hz\": 120") &&
                      !strstr(packed.out, "no shots are laid"),
                    &packed,
                    "pack");
  run_clear(&packed);
  json_decref(plain);
  json_decref(kicked);
  assert_true(good);
}

int
main(int argc, char** argv) {
  static const WavFile files[] = {
    {.path = "zap.wav", .seconds = 1.0},
    {.path = "slow.wav", .seconds = 1.0, .rate_hz = 4000},
    {.path = "silent.wav", .fill = FILL_SILENCE, .seconds = 1.0},
    {.path = "low.wav", .fill = FILL_LOW, .seconds = 2.0},
    {.path = "hum.wav", .fill = FILL_HUM, .seconds = 4.0},
    {.path = "long.wav", .fill = FILL_HUM, .seconds = 31.0, .rate_hz = 4000},
    {.path = "noise.wav", .fill = FILL_NOISE, .seconds = 1.0},
    {.path = "dead.wav", .fill = FILL_DEAD, .seconds = 1.0, .n_channels = 2},
    {.path = "opposed.wav",
     .fill = FILL_OPPOSED,
     .seconds = 1.0,
     .n_channels = 2},
    {.path = "both.wav", .seconds = 1.0, .n_channels = 2},
    {.path = "eight.wav", .seconds = 1.0, .n_channels = 8},
    {.path = "eight-dead.wav",
     .fill = FILL_DEAD,
     .seconds = 1.0,
     .n_channels = 8},
  };
  run_set_up(argc, argv);
  for (size_t i = 0; i < COUNT(files); ++i) {
    wav_file_write(&files[i]);
  }
  const struct CMUnitTest tests[] = {
    TEST(test_nothing_there),
    TEST(test_corner_too_high),
    TEST(test_channels),
    TEST(test_inspect),
    TEST(test_convert),
    TEST(test_convert_long),
    TEST(test_near_noise),
    TEST(test_not_reached),
    TEST(test_reached),
    TEST(test_louder),
    TEST(test_kick),
    TEST(test_nothing_left),
  };
  const int n_failed = cmocka_run_group_tests(tests, NULL, NULL);
  run_tear_down();
  return n_failed;
}
