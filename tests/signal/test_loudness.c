#define _XOPEN_SOURCE 700 // realpath()

// Loudness and true peak of files, against the tables of the EBU and the ITU.
//
// Tolerances are those of EBU Tech 3341 version 4, table 1, and Tech 3342
// version 4, table 1 (November 2023). Readings beside them are those of
// libebur128 1.2.6 fed with the exact signals, by its own users' means: they
// hold the figures closer than the standard does.
//
// Cases 7 and 8 of Tech 3341 and 5 and 6 of Tech 3342 are left out: they are
// programmes, which cannot be made from the tables.

#include "signal/signal.h"
#include "support/check.h"
#include "support/ebu.h"
#include "support/folder.h"
#include "support/meter.h"
#include "support/signals.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include <jansson.h>
#include <math.h>
#include <sndfile.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define CLOSE_LU 0.02
#define SILENCE (-HUGE_VAL)

#define N_OF(array) (sizeof(array) / sizeof((array)[0]))

/* Means */

static char* program;

// Write a sound as a WAV file, with a general writer, and read it back.
static VwSound
through_file(const VwSound* sound, int format) {
  SF_INFO        info = {.samplerate = (int)sound->rate_hz,
                         .channels = (int)sound->n_channels,
                         .format = SF_FORMAT_WAV | format};
  SNDFILE* const file = sf_open("signal.wav", SFM_WRITE, &info);
  assert_non_null(file);
  const sf_count_t n = (sf_count_t)sound->n_frames;
  assert_int_equal(sf_writef_float(file, sound->values, n), n);
  assert_int_equal(sf_close(file), 0);
  const VwReadOptions options = vw_read_defaults();
  VwSound             back = {NULL, 0, 0, 0};
  assert_int_equal(vw_read("signal.wav", &options, &back, NULL), VW_OK);
  assert_int_equal(back.n_frames, sound->n_frames);
  return back;
}

static VwLoudness
loudness_of(const VwSound* sound) {
  VwLoudness loudness;
  assert_int_equal(vw_loudness_measure(sound, &loudness), VW_OK);
  return loudness;
}

static double
figure(const json_t* loudness, const char* key) {
  const json_t* const value = json_object_get(loudness, key);
  assert_non_null(value);
  return json_is_null(value) ? NAN : json_number_value(value);
}

// What the program's inspect says of the file.
static VwLoudness
inspected(const char* path) {
  char line[1024];
  snprintf(
    line, sizeof(line), "'%s' inspect --json %s 2>/dev/null", program, path);
  FILE* const out = popen(line, "r");
  assert_non_null(out);
  json_t* const report = json_loadf(out, JSON_DISABLE_EOF_CHECK, NULL);
  assert_int_equal(pclose(out), 0);
  const json_t* const found = json_object_get(report, "loudness");
  assert_true(json_is_object(found));
  const VwLoudness loudness = {
    .integrated_lufs = figure(found, "integrated_lufs"),
    .momentary_max_lufs = figure(found, "momentary_max_lufs"),
    .short_term_max_lufs = figure(found, "short_term_max_lufs"),
    .range_lu = figure(found, "range_lu"),
    .true_peak_dbtp = figure(found, "true_peak_dbtp"),
    .crest_factor_db = figure(found, "crest_factor_db"),
    .energy_below_350hz = figure(found, "energy_below_350hz"),
    .energy_below_800hz = figure(found, "energy_below_800hz")};
  json_decref(report);
  return loudness;
}

// Write a sound, have the program read it. Frees the sound.
static VwLoudness
file_loudness(VwSound sound, int format) {
  VwSound back = through_file(&sound, format);
  vw_sound_clear(&back);
  vw_sound_clear(&sound);
  return inspected("signal.wav");
}

// Within the tolerance of the standard, and near the reading.
static bool
check_reading(double      value,
              double      expected,
              double      tolerance,
              double      reading,
              const char* name) {
  bool ok =
    check_at_most(fabs(value - expected), tolerance, "%s: off by", name);
  return ok &
         check_at_most(fabs(value - reading), CLOSE_LU, "%s: reading", name);
}

/* Integrated, momentary, short-term */

static const EbuSegment case_1[] = {{20.0, -23.0}};
static const EbuSegment case_2[] = {{20.0, -33.0}};
static const EbuSegment case_3[] = {{10.0, -36.0},
                                    {60.0, -23.0},
                                    {10.0, -36.0}};
static const EbuSegment case_4[] = {{10.0, -72.0},
                                    {10.0, -36.0},
                                    {60.0, -23.0},
                                    {10.0, -36.0},
                                    {10.0, -72.0}};
static const EbuSegment case_5[] = {{20.0, -26.0},
                                    {20.1, -20.0},
                                    {20.0, -26.0}};

static void
test_integrated(void** state) {
  (void)state;
  static const struct {
    const char*       name;
    const EbuSegment* segments;
    size_t            n_segments;
    double            expected;
    double            reading;
    bool              steady; // Momentary and short-term are the same.
  } cases[] = {
    {"case 1", case_1, N_OF(case_1), -23.0, -22.9933, true},
    {"case 2", case_2, N_OF(case_2), -33.0, -32.9933, true},
    {"case 3", case_3, N_OF(case_3), -23.0, -23.0139, false},
    {"case 4", case_4, N_OF(case_4), -23.0, -23.0139, false},
    {"case 5", case_5, N_OF(case_5), -23.0, -22.9787, false},
  };

  bool ok = true;
  for (size_t i = 0; i < N_OF(cases); ++i) {
    const double     expected = cases[i].expected;
    const double     reading = cases[i].reading;
    const VwLoudness loudness = file_loudness(
      ebu_tone(cases[i].segments, cases[i].n_segments, 1), SF_FORMAT_PCM_24);
    ok &= check_reading(
      loudness.integrated_lufs, expected, 0.1, reading, cases[i].name);
    if (cases[i].steady) {
      ok &= check_reading(
        loudness.momentary_max_lufs, expected, 0.1, reading, cases[i].name);
      ok &= check_reading(
        loudness.short_term_max_lufs, expected, 0.1, reading, cases[i].name);
    }
  }
  const VwLoudness loudness =
    file_loudness(ebu_five_channels(), SF_FORMAT_FLOAT);
  ok &= check_reading(loudness.integrated_lufs, -23.0, 0.1, -23.0163, "case 6");
  assert_true(ok);
}

static void
test_switched(void** state) {
  (void)state;
  static const EbuSegment case_9[] = {{1.34, -20.0}, {1.66, -30.0}};
  static const EbuSegment case_12[] = {{0.18, -20.0}, {0.22, -30.0}};

  VwLoudness loudness = file_loudness(ebu_tone(case_9, 2, 5), SF_FORMAT_FLOAT);
  bool       ok =
    check_reading(loudness.short_term_max_lufs, -23.0, 0.1, -22.9863, "case 9");
  loudness = file_loudness(ebu_tone(case_12, 2, 25), SF_FORMAT_PCM_24);
  ok &=
    check_reading(loudness.momentary_max_lufs, -23.0, 0.1, -22.9604, "case 12");
  assert_true(ok);
}

// Cases 10 and 13: twenty files each, the tone ever later.
static void
test_starts(void** state) {
  (void)state;
  bool ok = true;
  for (int i = 0; i < 20; ++i) {
    const EbuSegment case_10[] = {
      {0.15 * i, SILENCE}, {3.0, -23.0}, {1.0, SILENCE}};
    const EbuSegment case_13[] = {
      {0.02 * i, SILENCE}, {0.4, -23.0}, {1.0, SILENCE}};
    const VwLoudness loudness =
      file_loudness(ebu_tone(case_10, 3, 1), SF_FORMAT_FLOAT);
    ok &= check_reading(
      loudness.short_term_max_lufs, -23.0, 0.1, -22.9933, "case 10");
    const VwLoudness brief =
      file_loudness(ebu_tone(case_13, 3, 1), SF_FORMAT_PCM_24);
    ok &=
      check_reading(brief.momentary_max_lufs, -23.0, 0.1, -22.9936, "case 13");
  }
  assert_true(ok);
}

// A stretch of a sound, which it does not own.
static VwSound
stretch_of(const VwSound* sound, size_t index, size_t n_stretches) {
  const size_t n = sound->n_frames / n_stretches;
  return (VwSound){sound->values + index * n * sound->n_channels,
                   n,
                   sound->n_channels,
                   sound->rate_hz};
}

// Cases 11 and 14: twenty tones in one file, each a unit louder than the last
// and silence about it; the maximum of each.
static void
test_rising(void** state) {
  (void)state;
  static const struct {
    const char* name;
    double      step_s;
    double      tone_s;
    double      error; // Of the reading of the last.
  } cases[] = {{"case 11", 0.15, 3.0, 0.0067}, {"case 14", 0.02, 0.4, 0.0064}};

  bool ok = true;
  for (size_t c = 0; c < 2; ++c) {
    EbuSegment segments[60];
    for (int i = 0; i < 20; ++i) {
      segments[3 * i] = (EbuSegment){cases[c].step_s * i, SILENCE};
      segments[3 * i + 1] = (EbuSegment){cases[c].tone_s, -38.0 + i};
      segments[3 * i + 2] =
        (EbuSegment){cases[c].tone_s - cases[c].step_s * i, SILENCE};
    }
    VwSound sound = ebu_tone(segments, 60, 1);
    VwSound back = through_file(&sound, SF_FORMAT_FLOAT);
    for (size_t i = 0; i < 20; ++i) {
      const VwSound    part = stretch_of(&back, i, 20);
      const VwLoudness loudness = loudness_of(&part);
      const double     expected = -38.0 + (double)i;
      ok &= check_reading(c ? loudness.momentary_max_lufs
                            : loudness.short_term_max_lufs,
                          expected,
                          0.1,
                          expected + cases[c].error,
                          cases[c].name);
    }
    vw_sound_clear(&back);
    vw_sound_clear(&sound);
  }
  assert_true(ok);
}

/* Loudness range */

static void
test_range(void** state) {
  (void)state;
  static const struct {
    const char* name;
    EbuSegment  segments[5];
    size_t      n_segments;
    double      range_lu;
  } cases[] = {
    {"range 1", {{20.0, -20.0}, {20.0, -30.0}}, 2, 10.0},
    {"range 2", {{20.0, -20.0}, {20.0, -15.0}}, 2, 5.0},
    {"range 3", {{20.0, -40.0}, {20.0, -20.0}}, 2, 20.0},
    {"range 4",
     {{20.0, -50.0},
      {20.0, -35.0},
      {20.0, -20.0},
      {20.0, -35.0},
      {20.0, -50.0}},
     5,
     15.0},
  };

  bool ok = true;
  for (size_t i = 0; i < N_OF(cases); ++i) {
    const VwLoudness loudness = file_loudness(
      ebu_tone(cases[i].segments, cases[i].n_segments, 1), SF_FORMAT_PCM_24);
    ok &= check_reading(loudness.range_lu,
                        cases[i].range_lu,
                        1.0,
                        cases[i].range_lu,
                        cases[i].name);
  }
  assert_true(ok);
}

/* True peak */

static bool
check_true_peak(double value, double expected, const char* name) {
  bool ok = check_at_most(value, expected + 0.2, "%s: true peak", name);
  return ok & check_at_least(value, expected - 0.4, "%s: true peak", name);
}

static void
test_true_peak(void** state) {
  (void)state;
  static const struct {
    const char* name;
    double      parts;
    double      amplitude;
    double      phase_degrees;
    double      expected;
  } cases[] = {
    {"case 15", 4.0, 0.50, 0.0, -6.0},
    {"case 16", 4.0, 0.50, 45.0, -6.0},
    {"case 17", 6.0, 0.50, 60.0, -6.0},
    {"case 18", 8.0, 0.50, 67.5, -6.0},
    {"case 19", 4.0, 1.41, 45.0, 3.0},
  };
  static const char* const offsets[] = {
    "case 20", "case 21", "case 22", "case 23"};

  bool ok = true;
  for (size_t i = 0; i < N_OF(cases); ++i) {
    const VwLoudness loudness = file_loudness(
      ebu_sine(cases[i].parts, cases[i].amplitude, cases[i].phase_degrees),
      SF_FORMAT_FLOAT);
    ok &= check_true_peak(
      loudness.true_peak_dbtp, cases[i].expected, cases[i].name);
  }
  for (unsigned i = 0; i < 4; ++i) {
    const VwLoudness loudness = file_loudness(ebu_peak(i), SF_FORMAT_FLOAT);
    ok &= check_true_peak(loudness.true_peak_dbtp, 0.0, offsets[i]);
  }
  assert_true(ok);
}

// The sound backwards.
static VwSound
reversed(const VwSound* sound) {
  VwSound back = {NULL, 0, 0, 0};
  assert_int_equal(
    vw_sound_init(&back, sound->n_frames, sound->n_channels, sound->rate_hz),
    VW_OK);
  for (size_t i = 0; i < sound->n_frames; ++i) {
    back.values[sound->n_frames - 1 - i] = sound->values[i];
  }
  return back;
}

// Both ways round: at the file's end, and at its start.
static bool
check_both_ends(VwSound sound, double expected, const char* name) {
  VwSound back = reversed(&sound);
  bool    ok = check_true_peak(
    file_loudness(sound, SF_FORMAT_FLOAT).true_peak_dbtp, expected, name);
  return ok &
         check_true_peak(
           file_loudness(back, SF_FORMAT_FLOAT).true_peak_dbtp, expected, name);
}

static void
test_true_peak_at_ends(void** state) {
  (void)state;
  // Two equal frames at the end of silence peak halfway between them, at
  // 2 sinc(1/2) = 4 / pi (closed form).
  VwSound pair = signal_silence(0.1, 48000);
  pair.values[pair.n_frames - 2] = 0.9F;
  pair.values[pair.n_frames - 1] = 0.9F;
  bool ok = check_both_ends(
    pair, 20.0 * log10(0.9 * 4.0 / 3.141592653589793), "pair at the end");
  // Frames that change sign ring on past the end, by the tests' own meter.
  VwSound ringing = signal_silence(0.02, 48000);
  for (size_t i = 0; i < ringing.n_frames; ++i) {
    const double level = 0.3 * exp(-(double)i / 20.0);
    ringing.values[ringing.n_frames - 1 - i] = (float)(i % 2 ? -level : level);
  }
  const double expected = meter_true_peak_dbtp(&ringing, METER_SILENCE);
  // It does lie outside.
  ok &= check_at_least(expected, 20.0 * log10(0.3) + 1.0, "rings");
  ok &= check_both_ends(ringing, expected, "ringing at the end");
  assert_true(ok);
}

/* Calibration */

static VwSound
tone_of(double pitch_hz, double dbfs, unsigned n_channels, unsigned rate_hz) {
  VwSound sound = {NULL, 0, 0, 0};
  assert_int_equal(
    vw_sound_init(&sound, (size_t)3 * rate_hz, n_channels, rate_hz), VW_OK);
  signal_add_tone(&sound, pitch_hz, pow(10.0, dbfs / 20.0), 0.0);
  return sound;
}

// Rec. ITU-R BS.1770-5, annex 1: 997 Hz at full scale in one channel reads
// -3.01; EBU Tech 3341 section 2.9: 1 kHz at -18 in two reads -18.0.
static void
test_calibration(void** state) {
  (void)state;
  static const unsigned rates_hz[] = {
    8000, 11025, 12000, 16000, 22050, 24000, 32000, 44100, 48000, 88200, 96000};

  bool ok = true;
  for (size_t i = 0; i < N_OF(rates_hz); ++i) {
    const VwLoudness mono =
      file_loudness(tone_of(997.0, 0.0, 1, rates_hz[i]), SF_FORMAT_FLOAT);
    ok &= check_at_most(fabs(mono.integrated_lufs + 3.0103),
                        0.1,
                        "%u Hz: 997 Hz in one channel",
                        rates_hz[i]);
    ok &= check_at_most(fabs(mono.momentary_max_lufs + 3.0103),
                        0.1,
                        "%u Hz: 997 Hz in one channel, momentary",
                        rates_hz[i]);
    const VwLoudness stereo =
      file_loudness(tone_of(1000.0, -18.0, 2, rates_hz[i]), SF_FORMAT_PCM_24);
    ok &= check_at_most(fabs(stereo.integrated_lufs + 18.0),
                        0.1,
                        "%u Hz: 1 kHz in two channels",
                        rates_hz[i]);
  }
  assert_true(ok);
}

/* Short sounds, and no value */

// 1 kHz at -20 dBFS in one channel, 48 kHz: readings of libebur128 1.2.6; for
// less than 400 ms the level of the tone and 10 lg(T / 400 ms).
static void
test_short(void** state) {
  (void)state;
  static const struct {
    double seconds;
    double momentary_lufs;
    double integrated_lufs;
  } cases[] = {{0.1, -29.025, NAN},
               {0.2, -26.014, NAN},
               {0.3, -24.253, NAN},
               {0.4, -23.004, -23.004},
               {1.0, -23.004, -23.0036}};

  bool ok = true;
  for (size_t i = 0; i < N_OF(cases); ++i) {
    const double seconds = cases[i].seconds;
    VwSound      sound = signal_silence(seconds, 48000);
    signal_add_tone(&sound, 1000.0, 0.1, 0.0);
    ok &=
      check_at_most(fabs(meter_effect_lufs(&sound) - cases[i].momentary_lufs),
                    CLOSE_LU,
                    "%g s: the tests' meter",
                    seconds);
    const VwLoudness loudness = file_loudness(sound, SF_FORMAT_FLOAT);
    ok &=
      check_at_most(fabs(loudness.momentary_max_lufs - cases[i].momentary_lufs),
                    CLOSE_LU,
                    "%g s: momentary",
                    seconds);
    ok &= isnan(cases[i].integrated_lufs)
            ? check_that(isnan(loudness.integrated_lufs),
                         "%g s: no integrated loudness",
                         seconds)
            : check_at_most(
                fabs(loudness.integrated_lufs - cases[i].integrated_lufs),
                CLOSE_LU,
                "%g s: integrated",
                seconds);
  }
  assert_true(ok);
}

static void
test_no_value(void** state) {
  (void)state;
  static const struct {
    double seconds;
    bool   integrated, short_term, range;
  } cases[] = {{0.39, false, false, false},
               {0.41, true, false, false},
               {2.99, true, false, false},
               {3.0, true, true, false},
               {29.9, true, true, false},
               {30.1, true, true, true}};

  bool ok = true;
  for (size_t i = 0; i < N_OF(cases); ++i) {
    const double seconds = cases[i].seconds;
    for (size_t rate = 0; rate < 2; ++rate) {
      VwSound sound = signal_silence(seconds, rate ? 8000 : 44100);
      signal_add_tone(&sound, 1000.0, 0.1, 0.0);
      const VwLoudness loudness = loudness_of(&sound);
      ok &=
        check_that(isfinite(loudness.integrated_lufs) == cases[i].integrated,
                   "%g s: integrated",
                   seconds);
      ok &= check_that(isfinite(loudness.short_term_max_lufs) ==
                         cases[i].short_term,
                       "%g s: short-term",
                       seconds);
      ok &= check_that(
        isfinite(loudness.range_lu) == cases[i].range, "%g s: range", seconds);
      ok &=
        check_that(isfinite(loudness.momentary_max_lufs), "%g s: M", seconds);
      vw_sound_clear(&sound);
    }
  }
  assert_true(ok);
}

static void
test_silence(void** state) {
  (void)state;
  VwSound          sound = signal_silence(40.0, 44100);
  const VwLoudness loudness = loudness_of(&sound);
  vw_sound_clear(&sound);
  assert_true(isnan(loudness.integrated_lufs));
  assert_true(isnan(loudness.momentary_max_lufs));
  assert_true(isnan(loudness.short_term_max_lufs));
  assert_true(isnan(loudness.range_lu));
  assert_true(isnan(loudness.true_peak_dbtp));
  assert_true(isnan(loudness.crest_factor_db));
  assert_true(isnan(loudness.energy_below_350hz));
  assert_true(isnan(loudness.energy_below_800hz));
}

/* Crest factor, share of the energy */

// A sine's crest factor is 10 lg 2; of two unlike tones each has its share of
// the energy (closed forms).
static void
test_shares(void** state) {
  (void)state;
  static const unsigned rates_hz[] = {8000, 22050, 48000};

  bool ok = true;
  for (size_t i = 0; i < N_OF(rates_hz); ++i) {
    VwSound sound = signal_silence(1.0, rates_hz[i]);
    signal_add_tone(&sound, 100.0, 0.4, 0.25);
    VwLoudness loudness = loudness_of(&sound);
    ok &= check_at_most(
      fabs(loudness.crest_factor_db - 3.0103), 0.01, "crest factor");
    ok &=
      check_at_least(loudness.energy_below_350hz, 0.999, "below 350 Hz: all");
    signal_add_tone(&sound, 500.0, 0.3, 0.0);
    signal_add_tone(&sound, 2000.0, 0.2, 0.0);
    loudness = loudness_of(&sound);
    ok &= check_at_most(fabs(loudness.energy_below_350hz - 16.0 / 29.0),
                        0.001,
                        "%u Hz: below 350 Hz",
                        rates_hz[i]);
    ok &= check_at_most(fabs(loudness.energy_below_800hz - 25.0 / 29.0),
                        0.001,
                        "%u Hz: below 800 Hz",
                        rates_hz[i]);
    vw_sound_clear(&sound);
  }
  assert_true(ok);
}

#define IN_FOLDER(test)                                                        \
  cmocka_unit_test_setup_teardown(test, folder_enter, folder_leave)

int
main(int argc, char** argv) {
  if (argc != 2) {
    fprintf(stderr, "usage: test_loudness PROGRAM\n");
    return 1;
  }
  // The tests leave the folder from which a relative name counts.
  program = realpath(argv[1], NULL);
  // Nor does a board that is set as the default.
  if (!program || setenv("VOLLEYWEAVE_BOARD", "none", 1)) {
    perror(argv[1]);
    return 1;
  }
  const struct CMUnitTest tests[] = {
    IN_FOLDER(test_integrated),
    IN_FOLDER(test_switched),
    IN_FOLDER(test_starts),
    IN_FOLDER(test_rising),
    IN_FOLDER(test_range),
    IN_FOLDER(test_true_peak),
    IN_FOLDER(test_true_peak_at_ends),
    IN_FOLDER(test_calibration),
    IN_FOLDER(test_short),
    cmocka_unit_test(test_no_value),
    cmocka_unit_test(test_silence),
    cmocka_unit_test(test_shares),
  };
  const int n_failed = cmocka_run_group_tests(tests, NULL, NULL);
  free(program);
  return n_failed;
}
