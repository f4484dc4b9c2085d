// Decay times of noise with an exponential decay: the T20 and T30 of ISO
// 3382-1:2009 are the decay itself (closed form), and lie within the 5 % that
// this project promises over 20 seeds.

#include "support/check.h"
#include "support/made.h"
#include "support/measure.h"
#include "support/signals.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include <math.h>

enum { N_SEEDS = 20 };

typedef struct {
  double decay_s;
  double noise_db; // RMS of the noise below that of the burst's start.
} DecayCase;

static bool
check_decay(const DecayCase* wanted) {
  VwFamilyOptions options = made_options();
  options.shot_only = true;
  double t20_s = 0.0;
  double t30_s = 0.0;
  double written_s = 0.0;
  for (size_t seed = 0; seed < N_SEEDS; ++seed) {
    SignalRandom      random = signal_random(100 + seed);
    const SignalBurst burst = {
      .start_s = 0.2, .decay_s = wanted->decay_s, .level = 0.5};
    VwSound take = signal_silence(0.3 + 1.1 * wanted->decay_s, 44100);
    signal_add_noise(
      &take, 0.35355 * pow(10.0, wanted->noise_db / 20.0), &random);
    signal_add_burst(&take, &burst, &random);
    Made made;
    if (!made_new(&take, &options, &made)) {
      return false;
    }
    const VwPiece* const shot = made_piece(&made.family, VW_PART_SHOT);
    t20_s += made.facts.decay_t20_s / N_SEEDS;
    t30_s += made.facts.decay_t30_s / N_SEEDS;
    written_s += measure_decay_s(&shot->sound, -5.0, -25.0) / N_SEEDS;
    made_clear(&made);
    vw_sound_clear(&take);
  }
  const double bound = 0.05 * wanted->decay_s;
  bool         ok = check_at_most(fabs(t20_s - wanted->decay_s),
                          bound,
                          "T20 of %g s over noise at %g dB, off by",
                          wanted->decay_s,
                          wanted->noise_db);
  ok &= check_at_most(fabs(t30_s - wanted->decay_s),
                      bound,
                      "T30 of %g s over noise at %g dB, off by",
                      wanted->decay_s,
                      wanted->noise_db);
  ok &= check_at_most(fabs(written_s - wanted->decay_s),
                      bound,
                      "decay of %g s in the written shot, off by",
                      wanted->decay_s);
  return ok;
}

static void
test_decays(void** state) {
  (void)state;
  static const DecayCase cases[] = {
    // Practically clean.
    {0.2, -100.0},
    {0.5, -100.0},
    {1.5, -100.0},
    // T30 needs a range of 45 dB.
    {0.2, -55.0},
    {0.5, -55.0},
    {1.5, -55.0},
  };

  bool ok = true;
  for (size_t i = 0; i < sizeof(cases) / sizeof(cases[0]); ++i) {
    ok &= check_decay(&cases[i]);
  }
  assert_true(ok);
}

// Where the noise leaves no range for T30, there is none.
static void
test_no_range(void** state) {
  (void)state;
  SignalRandom      random = signal_random(4);
  const SignalBurst burst = {.start_s = 0.2, .decay_s = 0.5, .level = 0.5};
  VwSound           take = signal_silence(1.0, 44100);
  signal_add_noise(&take, 0.35355 * 0.03, &random);
  signal_add_burst(&take, &burst, &random);
  VwTake              prepared;
  VwShotFacts         facts;
  const VwFindOptions options = vw_find_defaults();
  assert_int_equal(vw_take_prepare(&take, &prepared), VW_OK);
  assert_int_equal(vw_find(&prepared, &options, &facts), VW_OK);
  assert_true(isnan(facts.decay_t30_s));
  assert_true(isnan(facts.decay_t20_s) == isnan(facts.decay_line.from_ms));
  vw_take_clear(&prepared);
  vw_sound_clear(&take);
}

/// RMS of 20 ms of a sound about a time, dBFS.
static double
level_at(const VwSound* sound, double ms) {
  const size_t middle = (size_t)(ms * sound->rate_hz / 1000.0);
  const size_t half = sound->rate_hz / 100U;
  double       sum = 0.0;
  for (size_t i = middle - half; i < middle + half; ++i) {
    sum += (double)sound->values[i] * (double)sound->values[i];
  }
  return 10.0 * log10(sum / (2.0 * (double)half));
}

// The line by which a decay is told falls as the decay does, from 5 to 35 dB
// down, and runs through the take's own levels.
static void
test_line(void** state) {
  (void)state;
  bool ok = true;
  for (size_t seed = 0; seed < N_SEEDS; ++seed) {
    SignalRandom      random = signal_random(300 + seed);
    const SignalBurst burst = {.start_s = 0.2, .decay_s = 0.5, .level = 0.5};
    VwSound           take = signal_silence(1.0, 44100);
    VwFamilyOptions   options = made_options();
    Made              made;
    options.shot_only = true;
    signal_add_burst(&take, &burst, &random);
    assert_true(made_new(&take, &options, &made));
    const VwDecayLine* const line = &made.facts.decay_line;
    const double             fall_db = line->from_dbfs - line->to_dbfs;
    const double             middle_ms = (line->from_ms + line->to_ms) / 2.0;
    double                   wanted_db = 0.0;
    // Twenty levels, for the noise of one sways by half a dB.
    for (int i = -10; i < 10; ++i) {
      const double step_ms = (line->to_ms - line->from_ms) / 20.0;
      wanted_db += level_at(&take, middle_ms + (i + 0.5) * step_ms) / 20.0;
    }
    ok &= check_at_most(
      fabs((line->to_ms - line->from_ms) * 60.0 / fall_db / 1000.0 - 0.5),
      0.05,
      "decay along the line, s off");
    // 5 dB of 60 take 0.5 s / 12 from the crest on.
    ok &= check_at_most(fabs(line->from_ms - 200.0 - 500.0 / 12.0),
                        25.0,
                        "start of the line, ms off");
    ok &= check_at_most(fabs(fall_db - 30.0), 1.5, "fall, dB off");
    ok &=
      check_at_most(fabs((line->from_dbfs + line->to_dbfs) / 2.0 - wanted_db),
                    0.5,
                    "level of the line, dB off");
    made_clear(&made);
    vw_sound_clear(&take);
  }
  assert_true(ok);
}

// In silence a shot ends where 60 dB of its energy are gone, the range that ISO
// 3382-1:2009 defines reverberation time by: a decay's own length after its
// crest.
static void
test_end(void** state) {
  (void)state;
  static const double decays_s[] = {0.2, 0.4, 0.8};
  const VwFindOptions options = {.board_noise_dbfs = -180.0};
  bool                ok = true;
  for (size_t i = 0; i < 3; ++i) {
    SignalRandom      random = signal_random(1);
    const SignalBurst burst = {
      .start_s = 0.2, .decay_s = decays_s[i], .level = 0.5, .pitch_hz = 1000.0};
    VwTake take = {signal_silence(0.3 + 2.5 * decays_s[i], 44100), 0.0, 0U};
    VwShotFacts facts = {.end_ms = NAN};
    signal_add_burst(&take.sound, &burst, &random);
    assert_int_equal(vw_find(&take, &options, &facts), VW_OK);
    ok &=
      check_at_most(fabs(facts.end_ms - facts.crest_ms - 1000.0 * decays_s[i]),
                    15.0,
                    "decay of %g s: end, ms off",
                    decays_s[i]);
    vw_take_clear(&take);
  }
  assert_true(ok);
}

// A tail that is broken off while it falls, however slowly, is no noise: it is
// kept to the take's end, and how far down that is, is told.
static void
test_broken_off(void** state) {
  (void)state;
  static const double decays_s[] = {0.5, 1.5, 3.0, 4.0};
  bool                ok = true;
  for (size_t i = 0; i < 4 * N_SEEDS; ++i) {
    SignalRandom        random = signal_random(500 + i);
    const double        decay_s = decays_s[i / N_SEEDS];
    const SignalBurst   burst = {.decay_s = decay_s, .level = 0.5};
    const VwFindOptions options = vw_find_defaults();
    VwTake              take = {signal_silence(0.45 * decay_s, 22050), 0.0, 0U};
    VwShotFacts         facts = {.end_ms = NAN};
    signal_add_burst(&take.sound, &burst, &random);
    assert_int_equal(vw_find(&take, &options, &facts), VW_OK);
    ok &= check_equal((double)facts.end_frame,
                      (double)take.sound.n_frames,
                      "decay of %g s: end",
                      decay_s);
    ok &= check_that(
      isnan(facts.noise_floor_dbfs), "decay of %g s: a noise", decay_s);
    ok &= check_that(facts.cut_off, "decay of %g s: not cut off", decay_s);
    // The level at the crest is the highest of many that sway.
    ok &= check_at_most(fabs(facts.end_db + 27.0 - 0.6 / decay_s),
                        2.5,
                        "decay of %g s: how far down, dB off",
                        decay_s);
    vw_take_clear(&take);
  }
  assert_true(ok);
}

// Of a take so short that the whole is near to its crest, it is its last part
// that tells how far down it ends: 27 dB, which the mean over a part of a tail
// and over the crest brings nearer to each other.
static void
test_short_broken_off(void** state) {
  (void)state;
  static const double lengths_s[] = {0.006, 0.012, 0.020};
  bool                ok = true;
  for (size_t i = 0; i < 3 * N_SEEDS; ++i) {
    SignalRandom        random = signal_random(900 + i);
    const double        length_s = lengths_s[i / N_SEEDS];
    const SignalBurst   burst = {.decay_s = length_s / 0.45, .level = 0.5};
    const VwFindOptions options = vw_find_defaults();
    VwTake              take = {signal_silence(length_s, 44100), 0.0, 0U};
    VwShotFacts         facts = {.end_db = NAN};
    signal_add_burst(&take.sound, &burst, &random);
    assert_int_equal(vw_find(&take, &options, &facts), VW_OK);
    ok &= check_at_most(facts.end_db, -6.0, "%g s: how far down, dB", length_s);
    vw_take_clear(&take);
  }
  assert_true(ok);
}

// Noise that starts with the take and is heard alone behind the tail is found
// there: the shot ends where it meets it, so far down.
static void
test_noise_behind(void** state) {
  (void)state;
  static const double noises_db[] = {-35.0, -45.0, -55.0};
  bool                ok = true;
  for (size_t i = 0; i < 3 * N_SEEDS; ++i) {
    SignalRandom        random = signal_random(800 + i);
    const double        noise_db = noises_db[i / N_SEEDS];
    const SignalBurst   burst = {.decay_s = 0.4, .level = 0.5};
    const VwFindOptions options = vw_find_defaults();
    VwTake              take = {signal_silence(0.7, 22050), 0.0, 0U};
    VwShotFacts         facts = {.end_ms = NAN};
    const double        rms = 0.35355 * pow(10.0, noise_db / 20.0);
    signal_add_noise(&take.sound, rms, &random);
    signal_add_burst(&take.sound, &burst, &random);
    assert_int_equal(vw_find(&take, &options, &facts), VW_OK);
    ok &= check_at_most(fabs(facts.noise_floor_dbfs - 20.0 * log10(rms)),
                        0.5,
                        "noise at %g dB: dB off",
                        noise_db);
    ok &= check_at_most(fabs(facts.end_ms + noise_db / 60.0 * 400.0),
                        30.0,
                        "noise at %g dB: end, ms off",
                        noise_db);
    ok &= check_that(!facts.cut_off, "noise at %g dB: cut off", noise_db);
    ok &= check_at_most(fabs(facts.end_db - noise_db),
                        5.0,
                        "noise at %g dB: how far down, dB off",
                        noise_db);
    vw_take_clear(&take);
  }
  assert_true(ok);
}

int
main(void) {
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_decays),
    cmocka_unit_test(test_no_range),
    cmocka_unit_test(test_line),
    cmocka_unit_test(test_end),
    cmocka_unit_test(test_broken_off),
    cmocka_unit_test(test_short_broken_off),
    cmocka_unit_test(test_noise_behind),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
