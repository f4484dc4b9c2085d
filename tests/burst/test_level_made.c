// The level of made sounds: one gain for a family, the speaker's high-pass,
// what is refused, and channels that become one.

#include "burst/burst.h"
#include "support/check.h"
#include "support/made.h"
#include "support/measure.h"
#include "support/meter.h"
#include "support/signals.h"
#include "support/tones.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define N_OF(array) (sizeof(array) / sizeof((array)[0]))

static VwSound
shot_of(double level, unsigned rate_hz) {
  const SignalBurst burst = {
    .start_s = 0.1, .rise_s = 0.001, .decay_s = 0.6, .level = level};
  return signal_take(0.9, rate_hz, &burst, 5);
}

// One sound in several channels, each with its gain and its delay in frames.
static VwSound
spread(const VwSound* mono,
       unsigned       n_channels,
       const double*  gains,
       const size_t*  delays) {
  VwSound out = {NULL, 0, 0, 0};
  assert_int_equal(
    vw_sound_init(&out, mono->n_frames, n_channels, mono->rate_hz), VW_OK);
  for (size_t i = 0; i < mono->n_frames; ++i) {
    for (unsigned c = 0; c < n_channels; ++c) {
      const double value = i < delays[c] ? 0.0 : mono->values[i - delays[c]];
      out.values[i * n_channels + c] = (float)(gains[c] * value);
    }
  }
  return out;
}

/* Where nothing is asked */

// A valley of 9 dB, -1 dBTP, 3 dB of limiting, as loud as that allows: common
// practice all.
static void
test_defaults(void** state) {
  (void)state;
  const VwFamilyOptions options = vw_family_defaults();
  bool                  ok = check_equal(options.valley_db, 9.0, "valley");
  ok &= check_equal(options.level.ceiling_dbtp, -1.0, "ceiling");
  ok &=
    check_equal(vw_level_limiting_most(&options.level, false), 3.0, "limiting");
  ok &= check_equal(options.level.aim, VW_AIM_LOUDEST, "aim");
  assert_true(ok);
}

/* One gain */

// dB from one piece to the same of another family.
static double
gain_between(const VwFamily* from, const VwFamily* to, size_t piece) {
  return 20.0 * log10(measure_rms(&to->pieces[piece].sound) /
                      measure_rms(&from->pieces[piece].sound));
}

// Every piece, plainly kept and at another level: all differ by one gain.
static bool
check_one_gain(const VwLevelOptions* level, double limiting_db) {
  VwSound         raw = shot_of(0.05, 44100);
  VwFamilyOptions options = made_options();
  Made            kept;
  Made            made;
  // Limited tails are bent otherwise.
  options.valley_db = NAN;
  options.level.aim = VW_AIM_KEEP;
  assert_true(made_new(&raw, &options, &kept));
  options.level = *level;
  assert_true(made_new(&raw, &options, &made));
  vw_sound_clear(&raw);
  bool ok = check_equal(kept.family.level.gain_db, 0.0, "kept: gain");
  ok &= check_equal(kept.family.level.limiting_db, 0.0, "kept: limiting");
  ok &= check_equal((double)made.family.n_pieces, 4.0, "pieces");
  for (size_t i = 0; i < made.family.n_pieces; ++i) {
    const double off_db =
      gain_between(&kept.family, &made.family, i) - made.family.level.gain_db;
    ok &= check_at_most(off_db, 1e-4, "aim %d: piece %zu", level->aim, i);
    ok &=
      check_at_least(off_db, -limiting_db, "aim %d: piece %zu", level->aim, i);
  }
  made_clear(&kept);
  made_clear(&made);
  return ok;
}

static void
test_one_gain(void** state) {
  (void)state;
  VwLevelOptions level = vw_level_defaults();
  level.limiting_max_db = 0.0;
  bool ok = check_one_gain(&level, 1e-4);
  level.aim = VW_AIM_GAIN;
  level.gain_db = -7.5;
  ok &= check_one_gain(&level, 1e-4);
  level.aim = VW_AIM_LOUDNESS;
  level.loudness_lufs = -40.0;
  ok &= check_one_gain(&level, 1e-4);
  // No more is taken than the limiter may.
  level = vw_level_defaults();
  ok &= check_one_gain(&level, 3.0);
  assert_true(ok);
}

// Too high a take is kept by one plain gain down, with no limiter.
static void
test_keep_too_high(void** state) {
  (void)state;
  VwSound         raw = shot_of(0.9, 44100);
  VwFamilyOptions options = made_options();
  Made            made;
  options.level.aim = VW_AIM_KEEP;
  assert_true(made_new(&raw, &options, &made));
  vw_sound_clear(&raw);
  bool ok = check_at_most(made.family.level.gain_db, -1.0, "gain down");
  ok &= check_equal(made.family.level.limiting_db, 0.0, "limiting");
  VwSound      joined = made_joined(&made.family, 2);
  const double peak = meter_true_peak_dbtp(&joined, METER_SILENCE);
  vw_sound_clear(&joined);
  ok &= check_at_most(peak, -0.9, "true peak");
  ok &= check_at_least(peak, -1.2, "true peak");
  made_clear(&made);
  assert_true(ok);
}

static void
test_gain(void** state) {
  (void)state;
  VwSound         raw = shot_of(0.05, 22050);
  VwFamilyOptions options = made_options();
  Made            made;
  options.level.aim = VW_AIM_GAIN;
  options.level.gain_db = 4.25;
  assert_true(made_new(&raw, &options, &made));
  const VwLevel* const level = &made.family.level;
  bool                 ok = check_equal(level->gain_db, 4.25, "gain");
  ok &= check_that(level->reached, "reached");
  ok &= check_that(isnan(level->target_lufs), "no target");
  ok &=
    check_at_most(fabs(level->shot_loudness_lufs - level->before_lufs - 4.25),
                  0.01,
                  "loudness after");
  made_clear(&made);
  // More than ceiling and limiter allow: as much as they do, and said so.
  options.level.gain_db = 60.0;
  options.level.limiting_max_db = 2.0;
  assert_true(made_new(&raw, &options, &made));
  vw_sound_clear(&raw);
  ok &= check_that(!level->reached, "not reached");
  ok &= check_at_most(fabs(level->limiting_db - 2.0), 0.01, "limiting");
  ok &= check_at_most(
    fabs(level->limiting_needed_db - (60.0 - level->gain_db) - 2.0),
    0.01,
    "limiting needed");
  made_clear(&made);
  assert_true(ok);
}

// The loudness asked for is met to 0.02 LU, whatever the limiter takes for it.
// The rest is what another meter may read.
static void
test_met(void** state) {
  (void)state;
  VwSound         raw = shot_of(0.3, 44100);
  VwFamilyOptions options = made_options();
  bool            ok = true;
  options.shot_only = true;
  options.level.aim = VW_AIM_LOUDNESS;
  options.level.limiting_max_db = 12.0;
  for (double lufs = -18.9; lufs < -13.35; lufs += 0.1) {
    Made made;
    options.level.loudness_lufs = lufs;
    assert_true(made_new(&raw, &options, &made));
    const double read = meter_effect_lufs(&made.family.pieces[0].sound);
    ok &= check_at_most(fabs(read - lufs), 0.021, "%g LUFS: LU off", lufs);
    made_clear(&made);
  }
  vw_sound_clear(&raw);
  assert_true(ok);
}

/* The speaker's high-pass */

// The tone of a whole take behind the high-pass, dB.
static double
response_db(double pitch_hz, double corner_hz, unsigned rate_hz) {
  VwSound raw = signal_silence(2.0, rate_hz);
  signal_add_tone(&raw, pitch_hz, 0.25, 0.0);
  VwTake            take;
  VwFamily          family;
  const VwShotFacts facts = {.end_frame = raw.n_frames};
  VwFamilyOptions   options = made_options();
  options.whole = true;
  options.level.aim = VW_AIM_GAIN;
  options.level.gain_db = 0.0;
  options.level.speaker.corner_hz = corner_hz;
  assert_int_equal(vw_take_prepare(&raw, &take), VW_OK);
  assert_int_equal(vw_family_make(&take, &facts, 1, &options, &family), VW_OK);
  Tones before = {.hz = {pitch_hz}, .n_tones = 1};
  Tones after = before;
  tones_fit(&(Stretch){&take.sound, rate_hz / 2U, rate_hz, 0}, &before);
  tones_fit(&(Stretch){&family.pieces[0].sound, rate_hz / 2U, rate_hz, 0},
            &after);
  vw_family_clear(&family);
  vw_take_clear(&take);
  vw_sound_clear(&raw);
  return 20.0 * log10(after.level[0] / before.level[0]);
}

static void
test_speaker(void** state) {
  (void)state;
  static const double   corners_hz[] = {350.0, 375.0, 550.0, 800.0};
  static const unsigned rates_hz[] = {22050, 44100};
  static const double   above[] = {2.0, 3.0, 5.0, 8.0};

  bool ok = true;
  for (size_t i = 0; i < N_OF(corners_hz) * N_OF(rates_hz); ++i) {
    const double   corner_hz = corners_hz[i / 2U];
    const unsigned rate_hz = rates_hz[i % 2U];
    // Half the power, and 24 dB an octave: a fourth-order Butterworth filter
    // (closed form).
    ok &= check_at_most(fabs(response_db(corner_hz, corner_hz, rate_hz) + 3.01),
                        0.2,
                        "%g Hz at %u: at the corner",
                        corner_hz,
                        rate_hz);
    const double slope_db = response_db(corner_hz / 2.0, corner_hz, rate_hz) -
                            response_db(corner_hz / 4.0, corner_hz, rate_hz);
    ok &= check_at_most(fabs(slope_db - 24.08),
                        0.2,
                        "%g Hz at %u: dB an octave",
                        corner_hz,
                        rate_hz);
    for (size_t j = 0; j < N_OF(above); ++j) {
      ok &= check_at_most(
        fabs(response_db(above[j] * corner_hz, corner_hz, rate_hz)),
        0.1,
        "%g Hz at %u: %g times the corner",
        corner_hz,
        rate_hz,
        above[j]);
    }
  }
  assert_true(ok);
}

/* Refused */

static VwStatus
status_of(const VwSound* raw, const VwFamilyOptions* options) {
  const VwFindOptions find = vw_find_defaults();
  VwTake              take = {0};
  VwShotFacts         facts = {0};
  VwFamily            family = {0};
  VwStatus            st = vw_take_prepare(raw, &take);
  if (!st && options->whole) {
    facts.end_frame = take.sound.n_frames;
  } else if (!st) {
    st = vw_find(&take, &find, &facts);
  }
  st = st ? st : vw_family_make(&take, &facts, 1, options, &family);
  vw_take_clear(&take);
  vw_family_clear(&family);
  return st;
}

static void
test_options_refused(void** state) {
  (void)state;
  VwSound         raw = shot_of(0.3, 44100);
  VwFamilyOptions good = made_options();
  VwFamilyOptions bad[12];
  for (size_t i = 0; i < N_OF(bad); ++i) {
    bad[i] = good;
    bad[i].level.aim = VW_AIM_LOUDNESS;
    bad[i].level.loudness_lufs = -20.0;
  }
  bad[0].level.loudness_lufs = 20.0;
  bad[1].level.loudness_lufs = -200.0;
  bad[2].level.loudness_lufs = NAN;
  bad[3].level.ceiling_dbtp = 3.0;
  bad[4].level.ceiling_dbtp = NAN;
  bad[5].level.speaker.corner_hz = -1.0;
  bad[6].level.speaker.corner_hz = NAN;
  bad[7].level.speaker.corner_hz = 30000.0;
  bad[8].level.limiting_max_db = -0.1;
  bad[9].level.aim = VW_AIM_GAIN;
  bad[9].level.gain_db = NAN;
  bad[10].level.limiting_max_db = HUGE_VAL;
  // At or above half the sample rate there is nothing to filter.
  bad[11].format.rate_hz = 4000;
  bad[11].level.speaker.corner_hz = 2000.0;
  assert_int_equal(status_of(&raw, &good), VW_OK);
  bool ok = true;
  for (size_t i = 0; i < N_OF(bad); ++i) {
    ok &=
      check_equal(status_of(&raw, &bad[i]), VW_BAD_OPTION, "options %zu", i);
  }
  vw_sound_clear(&raw);
  assert_true(ok);
}

static void
test_sounds_refused(void** state) {
  (void)state;
  VwFamilyOptions options = made_options();
  for (int whole = 0; whole < 2; ++whole) {
    options.whole = whole;
    VwSound raw = signal_silence(0.5, 44100);
    assert_int_equal(status_of(&raw, &options), VW_SILENT);
    vw_sound_clear(&raw);
    raw = shot_of(0.3, 44100);
    raw.values[6000] = NAN;
    assert_int_equal(status_of(&raw, &options), VW_NOT_FINITE);
    vw_sound_clear(&raw);
  }
}

// Silence that comes without preparing it: no gain is invented.
static void
test_silent_family(void** state) {
  (void)state;
  VwTake            take = {.sound = signal_silence(0.5, 44100)};
  const VwShotFacts facts = {.attack_frame = 4000,
                             .crest_frame = 4100,
                             .end_frame = take.sound.n_frames};
  VwFamilyOptions   options = made_options();
  VwFamily          family = {0};
  options.whole = true;
  assert_int_equal(vw_family_make(&take, &facts, 1, &options, &family),
                   VW_SILENT);
  assert_null(family.pieces);
  vw_take_clear(&take);
}

/* Channels that become one */

typedef struct {
  const char* name;
  unsigned    n_channels;
  double      gains[8];
  size_t      delays[8];
  VwDownmix   downmix;
  double      gain; // Of what is left, to the one sound.
} Channels;

static const Channels channels[] = {
  {"one", 1, {1}, {0}, VW_DOWNMIX_NONE, 1.0},
  {"two alike", 2, {1, 1}, {0}, VW_DOWNMIX_DUAL_MONO, 1.0},
  {"second late", 2, {1, 1}, {0, 1}, VW_DOWNMIX_DUAL_MONO, 1.0},
  {"first late", 2, {1, 1}, {1, 0}, VW_DOWNMIX_DUAL_MONO, 1.0},
  {"second late by 3 ms", 2, {0.8, 1}, {0, 132}, VW_DOWNMIX_LATE, 1.0},
  {"first late by 3 ms", 2, {1, 0.5}, {132, 0}, VW_DOWNMIX_LATE, 1.0},
  {"nearly alike", 2, {1, 1.005}, {0}, VW_DOWNMIX_DUAL_MONO, 1.0},
  {"not alike", 2, {1, 0.5}, {0}, VW_DOWNMIX_SUM, 0.75},
  {"inverted", 2, {1, -1}, {0}, VW_DOWNMIX_STRONGER, 1.0},
  {"inverted, one weaker", 2, {0.5, -1}, {0}, VW_DOWNMIX_STRONGER, 1.0},
  {"one dead", 2, {1, 0}, {0}, VW_DOWNMIX_SUM, 0.5},
  {"eight", 8, {1, 1, 1, 1, 1, 1, 1, 1}, {0}, VW_DOWNMIX_SUM, 1.0},
  {"one of eight", 8, {0, 0, 0, 1}, {0}, VW_DOWNMIX_SUM, 0.125},
};

static Made
made_of(const Channels* of, VwLevelOptions level) {
  VwSound         mono = shot_of(0.3, 44100);
  VwSound         raw = spread(&mono, of->n_channels, of->gains, of->delays);
  VwFamilyOptions options = made_options();
  Made            made;
  options.shot_only = true;
  options.level = level;
  assert_true(made_new(&raw, &options, &made));
  vw_sound_clear(&raw);
  vw_sound_clear(&mono);
  return made;
}

// Nothing of the treble is combed away, and the level is as expected.
static void
test_channels(void** state) {
  (void)state;
  VwLevelOptions keep = vw_level_defaults();
  VwLevelOptions loudest = keep;
  keep.aim = VW_AIM_KEEP;
  keep.ceiling_dbtp = 0.0;
  Made         one = made_of(&channels[0], keep);
  Made         loud = made_of(&channels[0], loudest);
  const double rms = measure_rms(&one.family.pieces[0].sound);
  const double lufs = loud.family.level.shot_loudness_lufs;
  bool         ok = true;
  for (size_t i = 0; i < N_OF(channels); ++i) {
    const Channels* const of = &channels[i];
    Made                  made = made_of(of, keep);
    ok &= check_equal(
      made.family.uses[0].downmix, of->downmix, "%s: downmix", of->name);
    const double plain = pow(10.0, -made.family.level.gain_db / 20.0);
    const double whole = pow(10.0, -one.family.level.gain_db / 20.0);
    const double there =
      plain * measure_rms(&made.family.pieces[0].sound) / (whole * rms);
    ok &= check_at_most(
      fabs(20.0 * log10(there / of->gain)), 0.05, "%s: level, dB", of->name);
    made_clear(&made);
    made = made_of(of, loudest);
    ok &= check_at_most(fabs(made.family.level.shot_loudness_lufs - lufs),
                        0.1,
                        "%s: loudness",
                        of->name);
    made_clear(&made);
  }
  made_clear(&one);
  made_clear(&loud);
  assert_true(ok);
}

// A hum far below the corner leaves nothing but the high-pass's own answer to
// its start: no gain is invented for that.
static void
test_removed(void** state) {
  (void)state;
  static const double corners_hz[] = {350.0, 400.0, 800.0, 2000.0};
  for (size_t i = 0; i < N_OF(corners_hz); ++i) {
    VwSound raw = signal_silence(3.0, 22050);
    signal_add_tone(&raw, 50.0, 0.5, 0.0);
    VwTake            take;
    const VwShotFacts facts = {.end_frame = raw.n_frames};
    VwFamily          family;
    VwFamilyOptions   options = vw_family_defaults();
    options.whole = true;
    options.level.speaker.corner_hz = corners_hz[i];
    assert_int_equal(vw_take_prepare(&raw, &take), VW_OK);
    assert_int_equal(vw_family_make(&take, &facts, 1, &options, &family),
                     VW_SILENT);
    vw_take_clear(&take);
    vw_sound_clear(&raw);
  }
}

// Refused is what is 50 dB down (a figure of this project), by a fourth-order
// Butterworth high-pass (closed form), and a corner above 0.45 of the sample
// rate.
static void
test_bounds(void** state) {
  (void)state;
  static const struct {
    unsigned rate_hz;
    double   corner_hz, left_db;
    VwStatus status;
  } cases[] = {
    {22050, 400.0, -48.5, VW_OK},
    {22050, 400.0, -51.5, VW_SILENT},
    {4500, 2000.0, -3.01, VW_OK},
    {4400, 2000.0, -3.01, VW_BAD_OPTION},
  };
  bool ok = true;
  for (size_t i = 0; i < N_OF(cases); ++i) {
    const double hz = cases[i].corner_hz /
                      pow(pow(10.0, -cases[i].left_db / 10.0) - 1.0, 1.0 / 8.0);
    VwTake       take = {signal_silence(3.0, cases[i].rate_hz), 0.0, 0U};
    const size_t n = take.sound.n_frames;
    signal_add_tone(&take.sound, hz, 0.5, 0.0);
    // Slow ends: the filter has no answer of its own.
    for (size_t j = 0; j < n; ++j) {
      const double gain =
        pow(sin(3.141592653589793 * (double)j / (double)n), 2);
      take.sound.values[j] = (float)(gain * (double)take.sound.values[j]);
    }
    const VwShotFacts facts = {.end_frame = n};
    VwFamilyOptions   options = made_options();
    VwFamily          family = {0};
    options.whole = true;
    options.format.rate_hz = cases[i].rate_hz;
    options.level.speaker.corner_hz = cases[i].corner_hz;
    ok &= check_equal(vw_family_make(&take, &facts, 1, &options, &family),
                      cases[i].status,
                      "case %zu: status",
                      i);
    vw_family_clear(&family);
    vw_take_clear(&take);
  }
  assert_true(ok);
}

int
main(void) {
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_defaults),
    cmocka_unit_test(test_one_gain),
    cmocka_unit_test(test_keep_too_high),
    cmocka_unit_test(test_gain),
    cmocka_unit_test(test_met),
    cmocka_unit_test(test_speaker),
    cmocka_unit_test(test_removed),
    cmocka_unit_test(test_bounds),
    cmocka_unit_test(test_options_refused),
    cmocka_unit_test(test_sounds_refused),
    cmocka_unit_test(test_silent_family),
    cmocka_unit_test(test_channels),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
