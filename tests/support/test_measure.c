// The measures of the tests, checked on signals with known answers. All
// expected values are closed forms.

#include "support/check.h"
#include "support/measure.h"
#include "support/signals.h"
#include "support/tones.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include <math.h>
#include <stdlib.h>

static void
test_steps(void** state) {
  (void)state;
  VwSound sound = signal_silence(0.5, 8000);
  for (size_t i = 0; i < sound.n_frames; ++i) {
    sound.values[i] = (float)(i * i) * 0x1p-20F; // Steps grow evenly.
  }
  const double last = (double)(2 * sound.n_frames - 3) * 0x1p-20;
  bool         ok =
    check_at_most(fabs(measure_step_percentile(&sound, 0.999) / last - 0.999),
                  2e-4,
                  "99.9th percentile of a ramp");
  ok &= check_equal(
    measure_step_max(&sound, 0, sound.n_frames - 1), last, "largest step");
  vw_sound_clear(&sound);
  assert_true(ok);
}

static void
test_level(void** state) {
  (void)state;
  VwSound sound = signal_silence(1.0, 44100);
  signal_add_tone(&sound, 1000.0, 0.5, 0.0);
  double* level = measure_level(&sound);
  bool    ok = check_at_most(
    fabs(10.0 * log10(level[22050] / 0.125)), 0.002, "level of a tone");
  free(level);
  vw_sound_clear(&sound);

  // A fourth-order Butterworth is 3.01 dB down at its corner.
  sound = signal_silence(1.0, 44100);
  signal_add_tone(&sound, 100.0, 1.0, 0.0);
  level = measure_level(&sound);
  const double sum = level[22050] + level[22050 + 44];
  ok &= check_at_most(
    fabs(10.0 * log10(sum / 2.0 / 0.25)), 0.5, "level at the corner");
  free(level);
  vw_sound_clear(&sound);
  assert_true(ok);
}

// A tone burst with exponential decay, its overlapping tails laid down in
// closed form: the level is the decay alone, from crest to quiet.
static void
test_valley(void** state) {
  (void)state;
  const double decays_s[] = {0.3, 0.5, 1.0};
  bool         ok = true;
  for (size_t i = 0; i < 3; ++i) {
    VwSound cycle = signal_silence(0.1, 48000);
    for (size_t tail = 0; tail < 40; ++tail) {
      // Every older tail is turned by 90 degrees, so that powers add.
      const SignalBurst burst = {.start_s = -0.1 * (double)tail,
                                 .decay_s = decays_s[i],
                                 .level = 0.3,
                                 .pitch_hz = 4000.0 + 400.0 * (double)tail};
      SignalRandom      none = signal_random(0);
      signal_add_burst(&cycle, &burst, &none);
    }
    const double fall = 2.0 * 6.907755278982137 * 0.1 / decays_s[i];
    // Mean of the last fifth against the start, the 10 ms window aside.
    const double mean = (exp(-0.8 * fall) - exp(-fall)) / (0.2 * fall);
    const double expected = -10.0 * log10(mean);
    ok &= check_at_most(fabs(measure_valley_db(&cycle, 1) - expected),
                        0.1 * expected + 0.6,
                        "valley of a decay in %g s, expected %g dB",
                        decays_s[i],
                        expected);
    vw_sound_clear(&cycle);
  }
  assert_true(ok);
}

static void
test_decay(void** state) {
  (void)state;
  VwSound           sound = signal_silence(2.0, 44100);
  SignalRandom      random = signal_random(1);
  const SignalBurst burst = {.decay_s = 0.7, .level = 0.5, .pitch_hz = 1234.5};
  signal_add_burst(&sound, &burst, &random);
  bool ok = check_at_most(fabs(measure_decay_s(&sound, -5.0, -35.0) / 0.7 - 1),
                          0.002,
                          "decay of a tone");
  vw_sound_clear(&sound);
  assert_true(ok);
}

// Shots at a period that is no whole number of frames.
static void
test_period(void** state) {
  (void)state;
  const double periods_s[] = {0.05, 0.0909091, 0.11, 0.1234567, 0.5};
  bool         ok = true;
  for (size_t i = 0; i < 5; ++i) {
    VwSound sound = signal_silence(30.0, 22050);
    for (size_t shot = 0; (double)shot * periods_s[i] < 29.9; ++shot) {
      const SignalBurst burst = {.start_s = (double)shot * periods_s[i],
                                 .decay_s = 0.15,
                                 .level = 0.5,
                                 .pitch_hz = 900.0};
      SignalRandom      random = signal_random(7);
      VwSound           part = sound;
      // Only the second that the burst needs.
      const size_t first = (size_t)(burst.start_s * 22050.0);
      part.values += first;
      part.n_frames -= first;
      part.n_frames = part.n_frames < 11025 ? part.n_frames : 11025;
      SignalBurst moved = burst;
      moved.start_s -= (double)first / 22050.0;
      signal_add_burst(&part, &moved, &random);
    }
    const double ppm = 1e6 * (measure_period_s(&sound) / periods_s[i] - 1.0);
    ok &= check_at_most(fabs(ppm), 10.0, "period of %g s", periods_s[i]);
    vw_sound_clear(&sound);
  }
  assert_true(ok);
}

static void
test_pitch(void** state) {
  (void)state;
  const double pitches_hz[] = {220.0, 440.0, 880.0, 1760.0, 3001.3};
  bool         ok = true;
  for (size_t i = 0; i < 5; ++i) {
    VwSound           sound = signal_silence(0.2, 22050);
    SignalRandom      random = signal_random(1);
    const SignalBurst burst = {
      .decay_s = 0.4, .level = 0.5, .pitch_hz = pitches_hz[i]};
    signal_add_burst(&sound, &burst, &random);
    const Stretch stretch = {&sound, 100, 4000, 0};
    const double  found = tone_pitch_hz(&stretch, 1.02 * pitches_hz[i]);
    ok &= check_at_most(fabs(tone_cents(pitches_hz[i], found)),
                        0.05,
                        "cents at %g Hz",
                        pitches_hz[i]);
    vw_sound_clear(&sound);
  }
  assert_true(ok);
}

static void
test_tones(void** state) {
  (void)state;
  VwSound      sound = signal_silence(0.5, 48000);
  SignalRandom random = signal_random(3);
  signal_add_tone(&sound, 1234.5, 0.5, 0.1);
  signal_add_tone(&sound, 17000.0, 0.25, 0.7);
  signal_add_noise(&sound, 1e-5, &random);
  const Stretch stretch = {&sound, 17, 20000, 0};
  Tones         tones = {.hz = {1234.5, 17000.0}, .n_tones = 2};
  tones_fit(&stretch, &tones);
  bool ok = check_at_most(fabs(tones.level[0] - 0.5), 1e-6, "first level");
  ok &= check_at_most(fabs(tones.level[1] - 0.25), 1e-6, "second level");
  ok &= check_at_most(fabs(tones.rest_rms / 1e-5 - 1.0), 0.02, "the rest");
  vw_sound_clear(&sound);
  assert_true(ok);
}

static void
test_lag(void** state) {
  (void)state;
  bool ok = true;
  for (size_t i = 0; i < 2; ++i) {
    const SignalBurst burst = {.start_s = 0.1,
                               .rise_s = 0.003,
                               .decay_s = 0.3,
                               .level = 0.5,
                               .pitch_hz = i ? 700.0 : 0.0};
    VwSound           take = signal_take(0.5, 44100, &burst, 5);
    VwSound           cut = take;
    cut.values += 4410 - 88 + 31; // 31 frames too late.
    cut.n_frames = 17000;
    const double lag_s = measure_lag_s(&cut, &take, 0.1 - 88.0 / 44100.0);
    ok &=
      check_at_most(fabs(lag_s - 31.0 / 44100.0), 2e-5, "lag of cut %zu", i);
    vw_sound_clear(&take);
  }
  assert_true(ok);
}

static void
test_shots(void** state) {
  (void)state;
  VwSound      sound = signal_silence(1.5, 16000);
  SignalRandom random = signal_random(9);
  for (size_t i = 0; i < 5; ++i) {
    const SignalBurst burst = {
      .start_s = 0.1 + 0.15 * (double)i, .decay_s = 0.2, .level = 0.5};
    signal_add_burst(&sound, &burst, &random);
  }
  assert_int_equal(measure_shots(&sound), 5);
  vw_sound_clear(&sound);
}

int
main(void) {
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_steps),
    cmocka_unit_test(test_level),
    cmocka_unit_test(test_valley),
    cmocka_unit_test(test_decay),
    cmocka_unit_test(test_period),
    cmocka_unit_test(test_pitch),
    cmocka_unit_test(test_tones),
    cmocka_unit_test(test_lag),
    cmocka_unit_test(test_shots),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
