// The report for programs: one object a line, the same keys whatever happened,
// and figures that can be checked exactly.

#include "support/check.h"
#include "support/reports.h"
#include "support/run.h"
#include "support/wav_files.h"

#include <volleyweave/volleyweave.h>

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#define COUNT(array) (sizeof(array) / sizeof((array)[0]))

static int
start_clean(void** state) {
  (void)state;
  remove_all("volleyweave-out");
  return 0;
}

#define TEST(function) cmocka_unit_test_setup(function, start_clean)

static bool
is_null(json_t* object, const char* path) {
  return json_is_null(value_at(object, path));
}

/// Whether an object has these keys, parted by spaces, and no others.
static bool
has_keys(json_t* object, const char* path, const char* keys) {
  json_t* const part = *path ? value_at(object, path) : object;
  char          copy[512];
  char*         rest = NULL;
  size_t        n = 0;
  bool          good = json_is_object(part);
  (void)snprintf(copy, sizeof(copy), "%s", keys);
  for (char* key = strtok_r(copy, " ", &rest); key;
       key = strtok_r(NULL, " ", &rest)) {
    good &= check_that(json_object_get(part, key) != NULL,
                       "\"%s\" has the key \"%s\"",
                       path,
                       key);
    ++n;
  }
  good &= check_that(json_object_size(part) == n,
                     "\"%s\" has %zu keys, not %zu",
                     path,
                     n,
                     json_object_size(part));
  return good;
}

#define TOP_KEYS                                                               \
  "schema command takes error shot board loudness loop level lamp power "      \
  "cautions files warnings"

#define SHOT_KEYS                                                              \
  "attack_ms crest_ms end_ms valley_ms length_ms rise_ms slow_attack "         \
  "decay_t20_s decay_t30_s "                                                   \
  "tail_cut_db pitch_attack_hz pitch_tail_hz noise_floor_dbfs dc_offset "      \
  "clipped_frames "                                                            \
  "shots_in_take places rapid fastest_fire_rate_per_s kind other_kind "        \
  "kind_sure late_start_ms side_late_ms"

#define LOOP_KEYS                                                              \
  "fire_rate_asked_per_s fire_rate_chosen fire_rate_per_s "                    \
  "fire_rate_error_ppm shots frames period_ms gap_ms run_in_shots valley_db "  \
  "tightening_db join_residual_db tail form gap_heard gap_depth_db "           \
  "plain_fire_rate_per_s even_fire_rate_per_s run_in_left_db buffer_frames "   \
  "overrun_ms fade_cover_db variants tightening likeness_waveform "            \
  "likeness_envelope body_spread_db loudness_spread_lu join own_shots "        \
  "own_single_shot"

#define LEVEL_KEYS                                                             \
  "shot_loudness_lufs burst_loudness_lufs target_lufs gain_db limiting_db "    \
  "limiting_ms true_peak_dbtp before_lufs limiting_needed_db reached faded "   \
  "ceiling_dbtp limiting_share burst_over_shot_lu kick_hz kick_db kick_share " \
  "kick_lu"

#define LOUDNESS_KEYS                                                          \
  "integrated_lufs momentary_max_lufs short_term_max_lufs range_lu "           \
  "true_peak_dbtp crest_factor_db energy_below_350hz energy_below_800hz"

static void
test_keys(void** state) {
  (void)state;
  json_t* const made = run_json("loop --json --fire-rate 9 zap.wav", 0);
  bool          good = has_keys(made, "", TOP_KEYS);
  good &= has_keys(made, "shot", SHOT_KEYS);
  good &= has_keys(made, "loop", LOOP_KEYS);
  good &= has_keys(made, "level", LEVEL_KEYS);
  good &= has_keys(made,
                   "lamp",
                   "pulse_hz period_ms on_ms duty on_reason shot_near_ms track "
                   "caution");
  good &= has_keys(made, "cautions", "flash hearing");
  good &= check_that(number_at(made, "schema") == 1.0, "schema 1");
  good &= check_that(is_null(made, "error"), "no error");
  assert_true(good);
  assert_string_equal(json_string_value(value_at(made, "command")), "loop");
  assert_string_equal(json_string_value(value_at(made, "loop.tail")),
                      "overlap");
  assert_string_equal(json_string_value(value_at(made, "loop.form")), "pieces");
  assert_string_equal(json_string_value(value_at(made, "shot.kind")), "shot");
  assert_true(json_is_false(value_at(made, "loop.fire_rate_chosen")));
  assert_true(is_null(made, "loudness"));
  json_decref(made);
}

// Each shot's place, and the rate of rapid fire (as they were planted).
static void
test_kinds(void** state) {
  (void)state;
  static const struct {
    WavFile     file;
    const char* kind;
    double      n_shots;
    double      apart_ms;
    const char* says;
  } cases[] = {
    {{"twice.wav", FILL_TWICE, .seconds = 2.0},
     "several shots",
     2.0,
     1000.0,
     "shots        2, at 100.0 ms, 1.100 s\n"},
    {{"rapid.wav", FILL_RAPID, .seconds = 2.0},
     "rapid fire",
     24.0,
     80.0,
     "shots        24, 80.0 ms apart, from 100.0 ms to 1.940 s\n"
     "  rapid fire   12.5001 shots per second (+-0.0004)"},
    {{"hum.wav", FILL_HUM, .seconds = 2.0}, "sustained", 1.0, 0.0, "sustained"},
    {{"once.wav", FILL_SHOT, .seconds = 2.0}, "shot", 1.0, 0.0, "shot\n"},
  };
  for (size_t i = 0; i < COUNT(cases); ++i) {
    char line[64];
    wav_file_write(&cases[i].file);
    (void)snprintf(line, sizeof(line), "inspect --json %s", cases[i].file.path);
    json_t* const       found = run_json(line, 0);
    const json_t* const places = value_at(found, "shot.places");
    bool                good = check_that(
      !strcmp(json_string_value(value_at(found, "shot.kind")), cases[i].kind),
      "%s: kind",
      line);
    good &= check_equal(number_at(found, "shot.shots_in_take"),
                        cases[i].n_shots,
                        "%s: shots",
                        line);
    good &= check_equal((double)json_array_size(places),
                        cases[i].n_shots > 1.0 ? cases[i].n_shots : 0.0,
                        "%s: places",
                        line);
    for (size_t j = 0; j < json_array_size(places); ++j) {
      good &=
        check_at_most(fabs(number_at(json_array_get(places, j), "start_ms") -
                           100.0 - (double)j * cases[i].apart_ms),
                      1.0,
                      "%s: place %zu, ms off",
                      line,
                      j);
    }
    if (!strcmp(cases[i].kind, "rapid fire")) {
      good &=
        check_at_most(fabs(number_at(found, "shot.rapid.fire_rate_per_s") -
                           1000.0 / cases[i].apart_ms),
                      0.0125,
                      "%s: rate",
                      line);
      good &= check_at_most(
        number_at(found, "shot.rapid.jitter_ms"), 0.5, "%s: jitter", line);
    } else {
      good &= check_that(is_null(found, "shot.rapid"), "%s: rapid", line);
    }
    json_decref(found);
    (void)snprintf(line, sizeof(line), "inspect %s", cases[i].file.path);
    Run made = run(line);
    good &= run_check(strstr(made.out, cases[i].says) != NULL, &made, line);
    run_clear(&made);
    assert_true(good);
  }
}

// What a command does not make is null, and the keys are there all the same.
static void
test_other_commands(void** state) {
  (void)state;
  json_t* const inspected = run_json("inspect --json zap.wav", 0);
  json_t* const cut = run_json("shot --json zap.wav", 0);
  json_t* const whole = run_json("convert --json zap.wav", 0);
  json_t* const slow = run_json("loop -n --json --fire-rate 2 zap.wav", 0);
  bool          good = has_keys(inspected, "", TOP_KEYS);
  good &= has_keys(inspected, "shot", SHOT_KEYS);
  good &= has_keys(inspected, "loudness", LOUDNESS_KEYS);
  good &= has_keys(cut, "", TOP_KEYS);
  good &= has_keys(cut, "level", LEVEL_KEYS);
  good &= has_keys(cut, "cautions", "hearing");
  good &= has_keys(whole, "cautions", "hearing");
  good &= has_keys(slow, "cautions", "hearing");
  good &= is_null(inspected, "cautions");
  good &= is_null(inspected, "loop") && is_null(inspected, "lamp") &&
          is_null(inspected, "level") && is_null(cut, "loop") &&
          is_null(cut, "lamp") && is_null(cut, "shot.late_start_ms") &&
          is_null(cut, "level.burst_loudness_lufs");
  assert_true(good);
  assert_int_equal(json_array_size(value_at(inspected, "files")), 0);
  assert_int_equal(json_array_size(value_at(cut, "files")), 1);
  json_decref(inspected);
  json_decref(cut);
  json_decref(whole);
  json_decref(slow);
}

/// Whether the rate reported is that of the frames reported, to the last bit.
static bool
is_exact(json_t* made) {
  json_t* const file = json_array_get(value_at(made, "files"), 0);
  const double  exact = number_at(made, "loop.shots") *
                       number_at(file, "sample_rate_hz") /
                       number_at(made, "loop.frames");
  const double rate = number_at(made, "loop.fire_rate_per_s");
  bool         good = check_equal(rate, as_printed(exact), "fire rate");
  good &= check_equal(number_at(made, "lamp.pulse_hz"), rate, "pulses");
  // Printed to 0.1 us.
  good &= check_at_most(fabs(number_at(made, "loop.period_ms") - 1e3 / exact),
                        0.500001e-4,
                        "period");
  return good;
}

static void
test_exact_fire_rate(void** state) {
  (void)state;
  static const char* const rates[] = {"9", "9.3/s", "540rpm", "110ms", "7/s"};
  bool                     good = true;
  for (size_t i = 0; i < COUNT(rates); ++i) {
    char line[128];
    (void)snprintf(line,
                   sizeof(line),
                   "loop -n --json --sample-rate 22050 --fire-rate %s zap.wav",
                   rates[i]);
    json_t* const made = run_json(line, 0);
    good &= is_exact(made);
    json_decref(made);
  }
  assert_true(good);
}

// Each way of writing nine a second is the same number.
static void
test_units(void** state) {
  (void)state;
  static const struct {
    const char* text;
    double      per_s; // closed form
  } rates[] = {{"9", 9.0},
               {"9/s", 9.0},
               {"9Hz", 9.0},
               {"540/min", 9.0},
               {"540rpm", 9.0},
               {"125ms", 8.0},
               {"110ms", 1000.0 / 110.0},
               {"0.5", 0.5},
               {"40", 40.0}};
  bool good = true;
  for (size_t i = 0; i < COUNT(rates); ++i) {
    char line[128];
    (void)snprintf(line,
                   sizeof(line),
                   "loop -n --json --fire-rate %s zap.wav",
                   rates[i].text);
    json_t* const made = run_json(line, 0);
    good &= check_equal(number_at(made, "loop.fire_rate_asked_per_s"),
                        as_printed(rates[i].per_s),
                        "%s",
                        rates[i].text);
    json_decref(made);
  }
  assert_true(good);
}

// The files are where they are said to be, as long as they are said to be.
static void
test_files(void** state) {
  (void)state;
  static const char* const parts[] = {"shot", "runin", "loop", "ringout"};
  json_t* const            made =
    run_json("loop --json --bits 24 --channels 2 zap.wav", 0);
  json_t* const files = value_at(made, "files");
  bool          good = json_array_size(files) == COUNT(parts);
  for (size_t i = 0; good && i < COUNT(parts); ++i) {
    json_t* const file = json_array_get(files, i);
    struct stat   there;
    good &= has_keys(file,
                     "",
                     "part path frames loop_start_frame loop_end_frame bytes "
                     "sample_rate_hz channels encoding");
    good &= !strcmp(json_string_value(value_at(file, "part")), parts[i]);
    good &= !stat(json_string_value(value_at(file, "path")), &there) &&
            (double)there.st_size == number_at(file, "bytes") &&
            // a header of 44 bytes and two values of 3 bytes a frame
            number_at(file, "bytes") == 44.0 + 6.0 * number_at(file, "frames");
  }
  assert_true(good);
  json_decref(made);
}

// A take that failed has its object too, with the reason in a word.
static void
test_error(void** state) {
  (void)state;
  static const struct {
    const char* line;
    const char* take;
    const char* word;
  } cases[] = {
    {"inspect --json empty.wav", "empty.wav", "EMPTY"},
    {"shot --json short.wav", "short.wav", "CUT_SHORT"},
    {"loop --json silent.wav", "silent.wav", "SILENT"},
    {"loop --json missing.wav", "missing.wav", "MISSING"},
    {"loop --json .", ".", "NOT_REGULAR"},
    {"loop --json \xFF.wav", "\\xFF.wav", "NAME_NOT_UTF8"},
    {"loop --json --shots 8 --cycle-max 500ms zap.wav",
     "zap.wav",
     "CYCLE_TOO_LONG"},
    {"shot --json -o zap.wav zap.wav", "zap.wav", "IS_TAKE"},
    {"shot --json -o none/here zap.wav", "zap.wav", "NO_FOLDER"},
  };
  bool good = true;
  for (size_t i = 0; i < COUNT(cases); ++i) {
    json_t* const made = run_json(cases[i].line, 1);
    json_t* const take = json_array_get(value_at(made, "takes"), 0);
    const char*   word = json_string_value(value_at(made, "error.status"));
    good &= has_keys(made, "", TOP_KEYS);
    good &= has_keys(made, "error", "status message");
    good &= check_that(word && !strcmp(word, cases[i].word),
                       "%s is %s",
                       cases[i].line,
                       word ? word : "nothing");
    good &= !strcmp(json_string_value(take), cases[i].take);
    good &= json_array_size(value_at(made, "files")) == 0U;
    json_decref(made);
  }
  assert_true(good);
}

// One line for each take, in their order, also where one fails.
static void
test_several(void** state) {
  (void)state;
  static const char* const takes[] = {"zap.wav", "empty.wav", "zip.wav"};
  Run                      got = run("shot --json zap.wav empty.wav zip.wav");
  bool                     good = got.status == 1;
  for (size_t i = 0; i < COUNT(takes); ++i) {
    json_t* const made = parse_line(got.out, i);
    json_t* const take = json_array_get(value_at(made, "takes"), 0);
    good &= take && !strcmp(json_string_value(take), takes[i]);
    good &= is_null(made, "error") == (i != 1U);
    json_decref(made);
  }
  good &= !parse_line(got.out, COUNT(takes));
  assert_true(run_check(good, &got, "shot --json"));
  run_clear(&got);
}

static void
test_turns(void** state) {
  (void)state;
  json_t* const made = run_json("loop --json --take-turns zap.wav zip.wav", 0);
  assert_true(has_keys(made, "", TOP_KEYS " shot_of_each"));
  assert_int_equal(json_array_size(value_at(made, "takes")), 2);
  assert_int_equal(json_array_size(value_at(made, "shot_of_each")), 2);
  assert_int_equal(json_array_size(value_at(made, "files")), 5);
  json_decref(made);
}

// Warnings go into the object, and standard error stays free for faults.
static void
test_warnings(void** state) {
  (void)state;
  Run           got = run("loop --json zap.wav");
  json_t* const made = parse_line(got.out, 0);
  json_t* const warning = json_array_get(value_at(made, "warnings"), 0);
  assert_true(run_check(!got.n_err && json_is_string(warning) &&
                          strstr(json_string_value(warning), "--fire-rate"),
                        &got,
                        "loop --json"));
  assert_true(json_is_true(value_at(made, "loop.fire_rate_chosen")));
  json_decref(made);
  run_clear(&got);
}

// A value that does not exist is null: no noise in digital silence, no pitch
// in noise, no fire rate that a long sound stands.
static void
test_nothing_is_null(void** state) {
  (void)state;
  Run got = run("inspect --json zap.wav");
  assert_true(run_check(!strstr(got.out, "nan") && !strstr(got.out, "inf,"),
                        &got,
                        "inspect --json"));
  json_t* const made = parse_line(got.out, 0);
  assert_true(is_null(made, "shot.pitch_attack_hz"));
  json_decref(made);
  run_clear(&got);
}

// With the sound on standard output, the object takes the other stream.
static void
test_pipe(void** state) {
  (void)state;
  Run           got = run("loop --json --part loop -o - zap.wav");
  json_t* const made = parse_line(got.err, 0);
  json_t* const file = json_array_get(value_at(made, "files"), 0);
  assert_true(
    run_check(!memcmp(got.out, "RIFF", 4U) && file &&
                number_at(file, "bytes") == (double)got.n_out &&
                !strcmp(json_string_value(value_at(file, "path")), "-"),
              &got,
              "loop --json -o -"));
  json_decref(made);
  run_clear(&got);
}

int
main(int argc, char** argv) {
  run_set_up(argc, argv);
  wav_file_write(&(WavFile){.path = "zap.wav", .seconds = 1.0});
  wav_file_write(&(WavFile){.path = "zip.wav", .seconds = 0.8});
  wav_file_write(&(WavFile){.path = "short.wav", .seconds = 1.0, .there = 0.5});
  wav_file_write(
    &(WavFile){.path = "silent.wav", .fill = FILL_SILENCE, .seconds = 1.0});
  wav_file_write(&(WavFile){.path = "\xFF.wav", .seconds = 1.0});
  bytes_write("empty.wav", "", 0);
  const struct CMUnitTest tests[] = {
    TEST(test_keys),
    TEST(test_kinds),
    TEST(test_other_commands),
    TEST(test_exact_fire_rate),
    TEST(test_units),
    TEST(test_files),
    TEST(test_error),
    TEST(test_several),
    TEST(test_turns),
    TEST(test_warnings),
    TEST(test_nothing_is_null),
    TEST(test_pipe),
  };
  const int n_failed = cmocka_run_group_tests(tests, NULL, NULL);
  run_tear_down();
  return n_failed;
}
