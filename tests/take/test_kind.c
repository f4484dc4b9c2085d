// What a take is called, and takes and wishes that are refused: the figures of
// this project (closed form).

#include "burst/burst.h"
#include "support/check.h"
#include "support/made.h"
#include "support/signals.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { RATE_HZ = 22050 };

static const double PI = 3.14159265358979323846;

// Decaying noise of equal shots, one every `apart_s`.
static VwSound
several(size_t n_shots, double apart_s, double decay_s) {
  const SignalBurst burst = {.start_s = 0.05, .decay_s = decay_s, .level = 0.4};
  VwSound           one = signal_take(apart_s, RATE_HZ, &burst, 11);
  VwSound           all = {0};
  assert_int_equal(vw_sound_init(&all, n_shots * one.n_frames, 1, RATE_HZ), 0);
  for (size_t i = 0; i < n_shots; ++i) {
    memcpy(
      all.values + i * one.n_frames, one.values, one.n_frames * sizeof(float));
  }
  vw_sound_clear(&one);
  return all;
}

static VwShotFacts
found(const VwSound* raw) {
  const VwFindOptions options = vw_find_defaults();
  VwTake              take;
  VwShotFacts         facts;
  assert_int_equal(vw_take_prepare(raw, &take), VW_OK);
  assert_int_equal(vw_find(&take, &options, &facts), VW_OK);
  vw_take_clear(&take);
  return facts;
}

// What sounds on after a dip of 24 dB belongs to its shot, up to where it is
// last within 6 dB of that before the next (figures of this project).
static void
test_dip(void** state) {
  (void)state;
  static const double at_ms[] = {
    0.0, 99.0, 100.0, 150.0, 250.0, 340.0, 349.0, 350.0, 500.0, 600.0};
  static const double level_db[] = {
    -80.0, -80.0, 0.0, -24.0, -9.0, -20.0, -20.0, 0.0, -60.0, -80.0};
  VwFindOptions options = vw_find_defaults();
  SignalRandom  random = signal_random(21);
  VwTake        take = {signal_silence(0.599, RATE_HZ), 0.0, 0U};
  VwShotFacts   facts;
  size_t        k = 0;
  signal_add_noise(&take.sound, 0.2, &random);
  for (size_t i = 0; i < take.sound.n_frames; ++i) {
    const double ms = 1000.0 * (double)i / RATE_HZ;
    k += ms >= at_ms[k + 1] ? 1 : 0;
    const double part = (ms - at_ms[k]) / (at_ms[k + 1] - at_ms[k]);
    const double db = level_db[k] + part * (level_db[k + 1] - level_db[k]);
    take.sound.values[i] *= (float)pow(10.0, db / 20.0);
  }
  options.pick = 1;
  options.has_kind = true;
  options.kind = VW_KIND_SEVERAL_SHOTS;
  assert_int_equal(vw_find(&take, &options, &facts), VW_OK);
  vw_take_clear(&take);
  bool ok = check_equal(facts.shots_in_take, 2.0, "dip: shots");
  ok &= check_at_least(facts.end_ms, 330.0, "dip: end, ms");
  ok &= check_at_most(facts.end_ms, 350.0, "dip: end, ms");
  assert_true(ok);
}

// However many, clear shots are shots, and the first ends before the second.
static void
test_several(void** state) {
  (void)state;
  static const struct {
    size_t n_shots;
    double apart_s;
    double decay_s;
  } cases[] = {{2, 1.0, 0.5}, {5, 1.5, 1.5}, {8, 1.0, 0.9}, {12, 0.5, 0.4}};
  bool ok = true;
  for (size_t i = 0; i < sizeof(cases) / sizeof(cases[0]); ++i) {
    VwSound raw = several(cases[i].n_shots, cases[i].apart_s, cases[i].decay_s);
    const VwShotFacts facts = found(&raw);
    ok &= check_equal(facts.kind, VW_KIND_SEVERAL_SHOTS, "case %zu: kind", i);
    ok &= check_equal(facts.shots_in_take,
                      (double)cases[i].n_shots,
                      "case %zu: shots in the take",
                      i);
    ok &= check_at_most((double)facts.end_frame / RATE_HZ,
                        cases[i].apart_s + 0.05,
                        "case %zu: end of the first",
                        i);
    vw_sound_clear(&raw);
  }
  assert_true(ok);
}

// Tones that stay, also one that trembles by 15 dB, are no shots.
static void
test_sustained(void** state) {
  (void)state;
  bool ok = true;
  for (int trembling = 0; trembling < 2; ++trembling) {
    VwSound raw = {0};
    assert_int_equal(vw_sound_init(&raw, 2 * RATE_HZ, 1, RATE_HZ), 0);
    for (size_t i = 0; i < raw.n_frames; ++i) {
      const double t_s = (double)i / RATE_HZ;
      const double beat = 0.5 + 0.5 * sin(2.0 * PI * 3.0 * t_s);
      const double level = trembling ? 0.18 + 0.82 * beat : 1.0;
      raw.values[i] = (float)(0.5 * level * sin(2.0 * PI * 440.0 * t_s));
    }
    ok &= check_equal(
      found(&raw).kind, VW_KIND_SUSTAINED, "trembling %d", trembling);
    vw_sound_clear(&raw);
  }
  assert_true(ok);
}

// An echo louder than a sharp attack does not move it.
static void
test_louder_echo(void** state) {
  (void)state;
  const SignalBurst burst = {.start_s = 0.1, .decay_s = 0.3, .level = 0.2};
  VwSound           raw = signal_take(0.8, RATE_HZ, &burst, 5);
  const size_t      late = (size_t)(0.060 * RATE_HZ);
  for (size_t i = raw.n_frames; i-- > late;) {
    raw.values[i] += 2.0F * raw.values[i - late];
  }
  assert_true(check_at_most(
    fabs(found(&raw).attack_ms - 100.0), 0.5, "echo 6 dB louder: attack"));
  vw_sound_clear(&raw);
}

// A sound of which nothing is left without its offset is silence.
static void
test_nothing_left(void** state) {
  (void)state;
  VwSound raw = {0};
  VwTake  take;
  assert_int_equal(vw_sound_init(&raw, RATE_HZ, 1, RATE_HZ), 0);
  for (size_t i = 0; i < raw.n_frames; ++i) {
    raw.values[i] = i % 2 ? 5e-11F : -5e-11F;
  }
  assert_int_equal(vw_take_prepare(&raw, &take), VW_SILENT);
  vw_sound_clear(&raw);
}

// Ten minutes of burst are the most.
static void
test_long_burst(void** state) {
  (void)state;
  const SignalBurst   burst = {.start_s = 0.05, .decay_s = 0.1, .level = 0.4};
  VwSound             raw = signal_take(0.3, 8000, &burst, 7);
  const VwFindOptions find = vw_find_defaults();
  VwTake              take;
  VwShotFacts         facts;
  VwFamily            family;
  VwFamilyOptions     options = made_options();
  options.form = VW_FORM_BURST;
  options.fire_rate_per_s = 1.0;
  options.burst_shots = 601;
  assert_int_equal(vw_take_prepare(&raw, &take), VW_OK);
  assert_int_equal(vw_find(&take, &find, &facts), VW_OK);
  assert_int_equal(vw_family_make(&take, &facts, 1, &options, &family),
                   VW_BURST_TOO_LONG);
  options.burst_shots = 600;
  assert_int_equal(vw_family_make(&take, &facts, 1, &options, &family), VW_OK);
  vw_family_clear(&family);
  vw_take_clear(&take);
  vw_sound_clear(&raw);
}

// Channels that would cancel: the stronger alone; a weak one takes little off.
static void
test_cancelling(void** state) {
  (void)state;
  static const struct {
    float     other;
    VwDownmix how;
  } cases[] = {{-1.0F, VW_DOWNMIX_STRONGER},
               {-0.5F, VW_DOWNMIX_STRONGER},
               {-0.01F, VW_DOWNMIX_SUM},
               {0.5F, VW_DOWNMIX_SUM}};
  bool ok = true;
  for (size_t i = 0; i < sizeof(cases) / sizeof(cases[0]); ++i) {
    const SignalBurst burst = {.start_s = 0.05, .decay_s = 0.2, .level = 0.4};
    VwSound           mono = signal_take(0.4, RATE_HZ, &burst, 3);
    VwSound           raw = {0};
    Made              made;
    assert_int_equal(vw_sound_init(&raw, mono.n_frames, 2, RATE_HZ), 0);
    for (size_t j = 0; j < mono.n_frames; ++j) {
      raw.values[2 * j] = mono.values[j];
      raw.values[2 * j + 1] = cases[i].other * mono.values[j];
    }
    VwFamilyOptions options = made_options();
    options.shot_only = true;
    assert_true(made_new(&raw, &options, &made));
    ok &= check_equal(
      made.family.uses[0].downmix, cases[i].how, "case %zu: down-mix", i);
    made_clear(&made);
    vw_sound_clear(&raw);
    vw_sound_clear(&mono);
  }
  assert_true(ok);
}

// The bound is a correlation of -0.3: two equally strong channels of a noise
// they share and one of their own each (closed form).
static void
test_correlated(void** state) {
  (void)state;
  static const double correlations[] = {-0.1, -0.25, -0.35, -0.55};
  bool                ok = true;
  for (size_t i = 0; i < 4; ++i) {
    SignalRandom random = signal_random(i);
    VwTake       take = {0};
    assert_int_equal(vw_sound_init(&take.sound, RATE_HZ, 2, RATE_HZ), 0);
    for (size_t j = 0; j < RATE_HZ; ++j) {
      const double one = signal_normal(&random);
      const double r = correlations[i];
      const double other = r * one + sqrt(1.0 - r * r) * signal_normal(&random);
      take.sound.values[2 * j] = (float)(0.02 * one);
      take.sound.values[2 * j + 1] = (float)(0.02 * other);
    }
    const VwShotFacts facts = {.end_frame = RATE_HZ};
    VwFamilyOptions   options = made_options();
    VwFamily          family = {0};
    options.whole = true;
    assert_int_equal(vw_family_make(&take, &facts, 1, &options, &family),
                     VW_OK);
    ok &= check_equal(family.uses[0].downmix,
                      i < 2 ? VW_DOWNMIX_SUM : VW_DOWNMIX_STRONGER,
                      "correlation of %g: down-mix",
                      correlations[i]);
    vw_family_clear(&family);
    vw_take_clear(&take);
  }
  assert_true(ok);
}

// An offset goes by a high-pass of second order at 20 Hz: 3 dB there, 12.3 at
// half of it and 0.26 at twice (Butterworth's closed form).
static void
test_offset_corner(void** state) {
  (void)state;
  static const double tones_hz[] = {10.0, 20.0, 40.0};
  bool                ok = true;
  for (size_t i = 0; i < 3; ++i) {
    VwSound raw = signal_silence(2.0, RATE_HZ);
    VwTake  take;
    signal_add_tone(&raw, tones_hz[i], 0.5, 0.0);
    assert_int_equal(vw_take_prepare(&raw, &take), VW_OK);
    double power = 0.0;
    for (size_t j = RATE_HZ; j < 2 * RATE_HZ; ++j) {
      power += pow((double)take.sound.values[j], 2.0) / RATE_HZ;
    }
    const double wanted_db = -10.0 * log10(1.0 + pow(20.0 / tones_hz[i], 4.0));
    ok &= check_at_most(fabs(10.0 * log10(power / 0.125) - wanted_db),
                        0.05,
                        "%g Hz: dB off",
                        tones_hz[i]);
    vw_take_clear(&take);
    vw_sound_clear(&raw);
  }
  assert_true(ok);
}

// Flat tops of three frames and more count, above and below (chosen here).
static void
test_clipped(void** state) {
  (void)state;
  static const int tops[] = {5, 2, -4, 3, -2};
  VwSound          raw = signal_silence(0.5, RATE_HZ);
  VwTake           take;
  signal_add_tone(&raw, 300.0, 0.2, 0.0);
  for (size_t i = 0; i < sizeof(tops) / sizeof(tops[0]); ++i) {
    for (int j = 0; j < abs(tops[i]); ++j) {
      raw.values[1000 * (i + 1) + (size_t)j] = tops[i] > 0 ? 1.0F : -1.0F;
    }
  }
  assert_int_equal(vw_take_prepare(&raw, &take), VW_OK);
  assert_int_equal(take.n_clipped_frames, 5 + 4 + 3);
  vw_take_clear(&take);
  vw_sound_clear(&raw);
}

// The crest of a swell that is even about its middle is there.
static void
test_crest(void** state) {
  (void)state;
  VwTake              take = {signal_silence(0.6, RATE_HZ), 0.0, 0U};
  const VwFindOptions options = vw_find_defaults();
  VwShotFacts         facts;
  signal_add_tone(&take.sound, 2000.0, 0.5, 0.0);
  for (size_t i = 0; i < take.sound.n_frames; ++i) {
    const double s = (double)i / RATE_HZ - 0.3;
    const double gain = fabs(s) < 0.05 ? pow(cos(s / 0.05 * PI / 2.0), 2) : 0.0;
    take.sound.values[i] *= (float)gain;
  }
  assert_int_equal(vw_find(&take, &options, &facts), VW_OK);
  vw_take_clear(&take);
  assert_true(
    check_at_most(fabs(facts.crest_ms - 300.0), 0.3, "crest, ms off"));
}

// Noise that stays for 150 ms has its crest anywhere: its attack is kept.
static void
test_plateau(void** state) {
  (void)state;
  bool ok = true;
  for (uint64_t seed = 1; seed <= 10; ++seed) {
    const SignalBurst burst = {
      .start_s = 0.1, .hold_s = 0.15, .decay_s = 0.4, .level = 0.2};
    VwSound         raw = signal_take(0.8, RATE_HZ, &burst, seed);
    VwFamilyOptions options = made_options();
    Made            made;
    options.fire_rate_per_s = 9.0;
    assert_true(made_new(&raw, &options, &made));
    ok &= check_equal(made.family.uses[0].late_start_ms,
                      0.0,
                      "seed %d: late start, ms",
                      (int)seed);
    ok &=
      check_at_least(made.family.valley_db, 9.0, "seed %d: valley", (int)seed);
    made_clear(&made);
    vw_sound_clear(&raw);
  }
  assert_true(ok);
}

// A sound is as loud as at its crest from where it is within 3 dB of it (a
// figure of this project): from its start on where that is 2 dB below, from its
// second half on where it is 4.
static void
test_near_crest(void** state) {
  (void)state;
  static const double below_db[] = {2.0, 4.0};
  bool                ok = true;
  for (size_t i = 0; i < 2; ++i) {
    VwTake take = {signal_silence(0.3, RATE_HZ), 0.0, 0U};
    for (size_t j = RATE_HZ / 10; j < RATE_HZ / 5; ++j) {
      const double level = pow(10.0, -below_db[i] / 20.0);
      take.sound.values[j] =
        (float)((j < RATE_HZ * 3 / 20 ? level : 1.0) * 0.5 *
                sin(2.0 * PI * 1000.0 * (double)j / RATE_HZ));
    }
    const VwShotFacts facts = {.end_frame = take.sound.n_frames};
    VwFamilyOptions   options = made_options();
    VwFamily          family = {0};
    options.whole = true;
    assert_int_equal(vw_family_make(&take, &facts, 1, &options, &family),
                     VW_OK);
    const double near_s = (double)family.uses[0].near_crest_frame / RATE_HZ;
    ok &= check_at_most(fabs(near_s - (i ? 0.15 : 0.1)),
                        0.006,
                        "%g dB below: near the crest from, s off",
                        below_db[i]);
    vw_family_clear(&family);
    vw_take_clear(&take);
  }
  assert_true(ok);
}

int
main(void) {
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_several),
    cmocka_unit_test(test_dip),
    cmocka_unit_test(test_sustained),
    cmocka_unit_test(test_louder_echo),
    cmocka_unit_test(test_nothing_left),
    cmocka_unit_test(test_long_burst),
    cmocka_unit_test(test_cancelling),
    cmocka_unit_test(test_correlated),
    cmocka_unit_test(test_offset_corner),
    cmocka_unit_test(test_clipped),
    cmocka_unit_test(test_crest),
    cmocka_unit_test(test_plateau),
    cmocka_unit_test(test_near_crest),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
