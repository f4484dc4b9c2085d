// The start and the end of the written shot: the figures of this project.

#include "burst/burst.h"
#include "support/check.h"
#include "support/made.h"
#include "support/measure.h"
#include "support/signals.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include <math.h>

typedef struct {
  unsigned   take_hz;
  unsigned   board_hz;
  double     pitch_hz;
  double     rise_s;
  VwEncoding encoding;
} ShotCase;

static const ShotCase cases[] = {
  // The take's own rate.
  {8000, 8000, 0.0, 0.0, VW_ENCODING_FLOAT},
  {11025, 11025, 700.0, 0.001, VW_ENCODING_FLOAT},
  {16000, 16000, 0.0, 0.003, VW_ENCODING_FLOAT},
  {22050, 22050, 900.0, 0.0, VW_ENCODING_FLOAT},
  {44100, 44100, 0.0, 0.0, VW_ENCODING_FLOAT},
  {48000, 48000, 1500.0, 0.002, VW_ENCODING_FLOAT},
  {96000, 96000, 0.0, 0.001, VW_ENCODING_FLOAT},
  // Another.
  {44100, 8000, 0.0, 0.0, VW_ENCODING_FLOAT},
  {48000, 22050, 1000.0, 0.0, VW_ENCODING_FLOAT},
  {96000, 44100, 0.0, 0.002, VW_ENCODING_FLOAT},
  {22050, 48000, 0.0, 0.0, VW_ENCODING_FLOAT},
  // Every encoding.
  {44100, 44100, 0.0, 0.0, VW_ENCODING_S16},
  {44100, 44100, 0.0, 0.0, VW_ENCODING_S24},
  {44100, 22050, 0.0, 0.0, VW_ENCODING_U8},
  {44100, 8000, 600.0, 0.001, VW_ENCODING_U8},
};

// Both end frames are exact zeros: 128 in 8 bits, which reads as 0.
static bool
check_ends(const VwSound* shot, size_t index) {
  const size_t n_values = shot->n_frames * shot->n_channels;
  bool         ok = true;
  for (unsigned channel = 0; channel < shot->n_channels; ++channel) {
    ok &= check_equal(
      (double)shot->values[channel], 0.0, "case %zu: first frame", index);
    ok &= check_equal((double)shot->values[n_values - 1 - channel],
                      0.0,
                      "case %zu: last frame",
                      index);
  }
  return ok;
}

// No step in the 2 ms before the attack over twice the 99.9th percentile.
static bool
check_steps(const VwSound* shot, size_t index) {
  return check_at_most(
    measure_step_max(shot, 0, (size_t)lround(0.002 * shot->rate_hz)),
    2.0 * measure_step_percentile(shot, 0.999),
    "case %zu: step before the attack",
    index);
}

static bool
check_shot(size_t index) {
  const ShotCase* const wanted = &cases[index];
  const SignalBurst     burst = {.start_s = 0.2 + 0.0001 * (double)index,
                                 .rise_s = wanted->rise_s,
                                 .decay_s = 0.3,
                                 .level = 0.4,
                                 .pitch_hz = wanted->pitch_hz};
  VwSound take = signal_take(0.8, wanted->take_hz, &burst, 40 + index);

  VwFamilyOptions options = made_options();
  options.shot_only = true;
  options.format.rate_hz = wanted->board_hz;
  options.format.encoding = wanted->encoding;
  Made made;
  if (!made_new(&take, &options, &made)) {
    return false;
  }
  VwSound shot = made_written(&made.family, VW_PART_SHOT, 1);
  // The take lies on the shot as if the attack were 2 ms from its start.
  const double lead_s =
    round(0.002 * wanted->board_hz) / (double)wanted->board_hz;
  const double attack_s =
    (double)made.facts.attack_frame / (double)wanted->take_hz;
  const double lag_s = measure_lag_s(&shot, &take, attack_s - lead_s);
  bool         ok = check_at_most(fabs(lag_s) * wanted->board_hz,
                          1.0,
                          "case %zu: frames from start to attack, off by",
                          index);
  ok &= check_equal(shot.rate_hz, wanted->board_hz, "case %zu: rate", index);
  ok &= check_ends(&shot, index);
  ok &= check_steps(&shot, index);
  vw_sound_clear(&shot);
  made_clear(&made);
  vw_sound_clear(&take);
  return ok;
}

static void
test_shots(void** state) {
  (void)state;
  bool ok = true;
  for (size_t i = 0; i < sizeof(cases) / sizeof(cases[0]); ++i) {
    ok &= check_shot(i);
  }
  assert_true(ok);
}

// A take that starts inside the 2 ms, and at full swing: zeros go before it.
static void
test_no_lead(void** state) {
  (void)state;
  static const double leads_s[] = {0.0, 0.0003, 0.0012, 0.0019};

  bool ok = true;
  for (size_t i = 0; i < sizeof(leads_s) / sizeof(leads_s[0]); ++i) {
    const SignalBurst burst = {.start_s = leads_s[i],
                               .decay_s = 0.3,
                               .level = 0.8,
                               .pitch_hz = 500.0,
                               .phase_turns = 0.25};
    VwSound           take = signal_take(0.5, 44100, &burst, 90 + i);
    VwFamilyOptions   options = made_options();
    options.shot_only = true;
    Made made;
    assert_true(made_new(&take, &options, &made));
    VwSound      shot = made_written(&made.family, VW_PART_SHOT, 1);
    const double lag_s = measure_lag_s(&shot, &take, leads_s[i] - 0.002);
    ok &= check_at_most(
      1000.0 * fabs(lag_s), 0.5, "lead of %g s: ms off", leads_s[i]);
    ok &= check_ends(&shot, 100 + i);
    // A later one has a step of its own where it starts.
    ok &= leads_s[i] > 0.0 ||
          check_at_most(measure_step_max(&shot, 0, shot.rate_hz / 400),
                        2.0 * measure_step_percentile(&shot, 0.999),
                        "step of a take that begins at full swing");
    vw_sound_clear(&shot);
    made_clear(&made);
    vw_sound_clear(&take);
  }
  assert_true(ok);
}

// A raised cosine up to frame `n`.
static double
rising(size_t frame, size_t n) {
  return frame < n
           ? 0.5 - 0.5 * cos(3.141592653589793 * (double)frame / (double)n)
           : 1.0;
}

// Of a constant the fades themselves are left (closed form): half a millisecond
// in, twice since the ends are closed again after a conversion; 20 ms out, and
// 1 ms at its end. The attack is 2 ms from the start.
static void
test_fades(void** state) {
  (void)state;
  static const unsigned rates_hz[] = {8000, 48000};
  bool                  ok = true;
  for (size_t i = 0; i < 2; ++i) {
    const size_t ms = rates_hz[i] / 1000U;
    VwTake       take = {signal_silence(0.3, rates_hz[i]), 0.0, 0U};
    for (size_t j = 0; j < take.sound.n_frames; ++j) {
      take.sound.values[j] = j < 50U * ms ? 0.25F : 0.5F;
    }
    const VwShotFacts facts = {.attack_frame = 50U * ms,
                               .crest_frame = 60U * ms,
                               .end_frame = 250U * ms};
    VwFamilyOptions   options = made_options();
    VwFamily          family = {0};
    options.shot_only = true;
    options.format.rate_hz = rates_hz[i];
    options.level.aim = VW_AIM_KEEP;
    assert_int_equal(vw_family_make(&take, &facts, 1, &options, &family),
                     VW_OK);
    const VwSound* const shot = &family.pieces[0].sound;
    double               off = 0.0;
    assert_int_equal(shot->n_frames, 202U * ms);
    for (size_t j = 0; j < shot->n_frames; ++j) {
      const size_t left = shot->n_frames - 1U - j;
      const double wanted = (j < 2U * ms ? 0.25 : 0.5) *
                            pow(rising(j, ms / 2U), 2.0) *
                            rising(left, 20U * ms) * rising(left, ms);
      off = fmax(off, fabs((double)shot->values[j] - wanted));
    }
    ok &= check_at_most(off, 1e-7, "%u Hz: off the fades", rates_hz[i]);
    vw_family_clear(&family);
    vw_take_clear(&take);
  }
  assert_true(ok);
}

// A shot whose crest comes late starts late: zeros for 2 ms, then a raised
// cosine of 5 ms.
static void
test_late_fade(void** state) {
  (void)state;
  const unsigned hz = 48000;
  VwTake         take = {signal_silence(0.3, hz), 0.0, 0U};
  signal_add_tone(&take.sound, 1000.0, 0.2, 0.1);
  for (size_t i = hz / 10U; i < hz * 3U / 25U; ++i) {
    take.sound.values[i] *= 2.0F;
  }
  const VwShotFacts facts = {.attack_frame = 96U, .end_frame = hz / 5U};
  VwFamilyOptions   options = made_options();
  VwFamily          family = {0};
  options.format.rate_hz = hz;
  options.fire_rate_per_s = 9.0;
  options.valley_db = 3.0;
  options.level.aim = VW_AIM_KEEP;
  assert_int_equal(vw_family_make(&take, &facts, 1, &options, &family), VW_OK);
  const double late_ms = family.uses[0].late_start_ms;
  const size_t n_late = (size_t)lround(late_ms * hz / 1000.0);
  bool         ok = check_at_least(late_ms, 50.0, "late, ms");
  double       off = 0.0;
  for (size_t i = 0; i < 960U; ++i) {
    const double value = (double)take.sound.values[n_late + i];
    const double wanted = i < 96U ? 0.0 : value * rising(i - 96U, 240U);
    off = fmax(off, fabs((double)family.shots[0].values[i] - wanted));
  }
  ok &= check_at_most(off, 1e-6, "off the fade");
  ok &= check_at_most((double)(family.shots[0].n_frames + n_late),
                      (double)family.pieces[0].sound.n_frames,
                      "frames");
  vw_family_clear(&family);
  vw_take_clear(&take);
  assert_true(ok);
}

// One gain: the highest frame is not above -1 dBFS.
static void
test_level(void** state) {
  (void)state;
  static const double levels[] = {0.01, 0.5, 0.999, 2.0};

  bool ok = true;
  for (size_t i = 0; i < sizeof(levels) / sizeof(levels[0]); ++i) {
    const SignalBurst burst = {
      .start_s = 0.2, .decay_s = 0.3, .level = levels[i], .pitch_hz = 500.0};
    VwSound         take = signal_take(0.5, 44100, &burst, i);
    VwFamilyOptions options = made_options();
    options.shot_only = true;
    Made made;
    assert_true(made_new(&take, &options, &made));
    VwSound shot = made_written(&made.family, VW_PART_SHOT, 1);
    ok &= check_at_most(20.0 * log10(measure_peak(&shot)),
                        -1.0 + 1e-4,
                        "peak of a take at %g",
                        levels[i]);
    vw_sound_clear(&shot);
    made_clear(&made);
    vw_sound_clear(&take);
  }
  assert_true(ok);
}

int
main(void) {
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_shots),
    cmocka_unit_test(test_no_lead),
    cmocka_unit_test(test_fades),
    cmocka_unit_test(test_late_fade),
    cmocka_unit_test(test_level),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
