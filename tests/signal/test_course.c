// The course of a sound's level, against the tests' own meter, and where it
// says that a shot's crest, end and valley lie.

#include "signal/signal.h"
#include "support/check.h"
#include "support/measure.h"
#include "support/signals.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include <math.h>
#include <stdlib.h>

static const SignalBurst plain = {.start_s = 0.1,
                                  .rise_s = 0.001,
                                  .decay_s = 0.4,
                                  .level = 0.4,
                                  .pitch_hz = 3000.0};

// The steps are as coarse as half a millisecond, in which this shot falls by
// 0.075 dB (closed form) and its attack rises by more.
static bool
check_course(const VwSound* sound) {
  VwCourse      course = {0};
  double* const level = measure_level(sound);
  double        worst_db = 0.0;
  assert_int_equal(vw_course_take(sound, &course), VW_OK);
  const double n_step = course.step_s * sound->rate_hz;
  bool         ok =
    check_at_most(fabs(n_step - round(n_step)), 1e-6, "whole frames in a step");
  ok &= check_at_most(fabs(course.step_s - 0.0005), 0.00005, "step, s");
  ok &= check_equal((double)course.n_steps,
                    ceil((double)sound->n_frames / n_step - 1e-9),
                    "steps");
  for (size_t i = 0; i < course.n_steps; ++i) {
    const size_t at = (size_t)(n_step * ((double)i + 0.5));
    const double db = 10.0 * log10(level[at < sound->n_frames ? at : 0U]);
    const double s = course.step_s * ((double)i + 0.5);
    if (s > plain.start_s + 0.006 && s < plain.start_s + 0.3) {
      worst_db = fmax(worst_db, fabs(course.level_dbfs[i] - db));
    }
  }
  ok &= check_at_most(worst_db, 0.1, "level at %u Hz, dB", sound->rate_hz);
  free(level);
  vw_course_clear(&course);
  return ok;
}

static void
test_level(void** state) {
  (void)state;
  static const unsigned rates_hz[] = {11025, 44100, 96000};
  bool                  ok = true;
  for (size_t i = 0; i < 3U; ++i) {
    VwSound take = signal_take(0.6, rates_hz[i], &plain, 5);
    ok &= check_course(&take);
    vw_sound_clear(&take);
  }
  assert_true(ok);
}

// A tone of which one channel is silent: half the power, an RMS of -6.02 dBFS
// (closed form).
static void
test_channels(void** state) {
  (void)state;
  VwCourse course = {0};
  VwSound  tone = {0};
  assert_int_equal(vw_sound_init(&tone, 48000, 2, 48000), VW_OK);
  for (size_t i = 0; i < tone.n_frames; ++i) {
    tone.values[2U * i] =
      (float)sin(6.283185307179586 * 1000.0 / 48000.0 * (double)i);
  }
  assert_int_equal(vw_course_take(&tone, &course), VW_OK);
  assert_true(check_at_most(
    fabs(course.level_dbfs[1000] + 6.0206), 0.01, "one of two channels"));
  vw_course_clear(&course);
  vw_sound_clear(&tone);
}

static void
test_nothing(void** state) {
  (void)state;
  const VwSound empty = {.n_channels = 1, .rate_hz = 44100};
  VwCourse      course = {0};
  VwSound       silence = signal_silence(0.1, 44100);
  assert_int_equal(vw_course_take(&silence, &course), VW_OK);
  for (size_t i = 0; i < course.n_steps; ++i) {
    assert_true(isnan(course.level_dbfs[i]));
  }
  vw_course_clear(&course);
  assert_int_equal(vw_course_take(&empty, &course), VW_NO_FRAMES);
  assert_null(course.level_dbfs);
  vw_course_clear(&course);
  vw_course_clear(NULL);
  vw_sound_clear(&silence);
}

/* Marks */

static VwShotFacts
facts_of(VwSound* raw) {
  const VwFindOptions options = vw_find_defaults();
  VwTake              take;
  VwShotFacts         facts;
  assert_int_equal(vw_take_prepare(raw, &take), VW_OK);
  assert_int_equal(vw_find(&take, &options, &facts), VW_OK);
  vw_take_clear(&take);
  vw_sound_clear(raw);
  return facts;
}

// One decay is lowest just before it would fire again; closed form.
static void
test_valley_alone(void** state) {
  (void)state;
  VwSound           raw = signal_take(0.9, 44100, &plain, 3);
  const VwShotFacts facts = facts_of(&raw);
  const double      next_ms =
    facts.attack_ms + 1000.0 / facts.fastest_fire_rate_per_s;
  bool ok = check_at_most(
    fabs(facts.crest_ms - (double)facts.crest_frame / 44.1), 1e-9, "crest, ms");
  ok &= check_at_most(
    fabs(facts.end_ms - (double)facts.end_frame / 44.1), 1e-9, "end, ms");
  ok &= check_at_most(
    fabs(facts.valley_ms - (next_ms - 2.0)), 1.0, "valley alone, ms");
  assert_true(ok);
}

// Between two shots it lies in the quiet just before the second.
static void
test_valley_between(void** state) {
  (void)state;
  SignalRandom none = signal_random(0);
  SignalBurst  second = plain;
  VwSound      raw = signal_take(0.9, 44100, &plain, 3);
  second.start_s = 0.33;
  signal_add_burst(&raw, &second, &none);
  const VwShotFacts facts = facts_of(&raw);
  bool              ok = check_equal(facts.shots_in_take, 2.0, "two shots");
  // The level's window reaches 5 ms ahead.
  ok &= check_at_most(facts.valley_ms, 330.0, "valley before the second");
  ok &= check_at_least(facts.valley_ms, 323.0, "valley near the second");
  ok &= check_at_most(facts.end_ms, 330.0, "end before the second");
  assert_true(ok);
}

// What fires at no rapid rate, or is no shot, has no valley.
static void
test_no_valley(void** state) {
  (void)state;
  SignalBurst long_tail = plain;
  long_tail.decay_s = 3.0;
  VwSound     raw = signal_take(4.0, 44100, &long_tail, 3);
  VwShotFacts facts = facts_of(&raw);
  assert_true(isnan(facts.fastest_fire_rate_per_s));
  assert_true(isnan(facts.valley_ms));
  VwSound hum = signal_silence(3.0, 44100);
  signal_add_tone(&hum, 440.0, 0.2, 0.0);
  facts = facts_of(&hum);
  assert_int_equal(facts.kind, VW_KIND_SUSTAINED);
  assert_true(isnan(facts.valley_ms));
}

// A shot that starts less than 2 ms into its take is no longer than that.
static void
test_length(void** state) {
  (void)state;
  static const double starts_s[] = {0.0, 0.001, 0.1};
  bool                ok = true;
  for (size_t i = 0; i < 3U; ++i) {
    SignalBurst early = plain;
    early.start_s = starts_s[i];
    early.decay_s = 0.9;
    VwSound           raw = signal_take(0.5, 44100, &early, 3);
    const VwShotFacts facts = facts_of(&raw);
    const double      pre_roll_ms = fmin(facts.attack_ms, 2.0);
    ok &= check_at_most(facts.length_ms, 500.0, "length of case %zu", i);
    ok &= check_at_most(
      fabs(facts.end_ms - facts.attack_ms + pre_roll_ms - facts.length_ms),
      1e-6,
      "length from the attack, case %zu",
      i);
  }
  assert_true(ok);
}

int
main(void) {
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_level),
    cmocka_unit_test(test_channels),
    cmocka_unit_test(test_nothing),
    cmocka_unit_test(test_valley_alone),
    cmocka_unit_test(test_valley_between),
    cmocka_unit_test(test_no_valley),
    cmocka_unit_test(test_length),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
