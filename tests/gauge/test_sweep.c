// A sweep and the answer to an impulse, against A. Farina, "Simultaneous
// measurement of impulse response and distortion with a swept-sine technique",
// AES 108th Convention, 2000, preprint 5093 (formulas from a secondary source,
// the figures computed from them).

#include "gauge/speaker/speaker.h"
#include "support/check.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include <math.h>
#include <stdlib.h>

#define PI 3.14159265358979323846

enum { RATE_HZ = 48000 };

static const VwSweep sweep = {50.0, 16000.0, 2.0, 0.0, 0.0};

/// A tone `harmonic` times as high as the sweep, by the formula itself, so many
/// turns later. Free it with vw_sound_clear().
static VwSound
swept(double harmonic, double turns) {
  const double l = sweep.seconds / log(sweep.high_hz / sweep.low_hz);
  VwSound      sound = {0};
  assert_int_equal(vw_sound_init(&sound, 2U * RATE_HZ, 1U, RATE_HZ), VW_OK);
  for (size_t i = 0; i < sound.n_frames; ++i) {
    const double t = (double)i / RATE_HZ;
    sound.values[i] =
      (float)sin(2.0 * PI * turns +
                 harmonic * 2.0 * PI * sweep.low_hz * l * (exp(t / l) - 1.0));
  }
  return sound;
}

static void
test_figures(void** state) {
  (void)state;
  bool ok = check_at_most(
    fabs(vw_sweep_pace_s(&sweep) - 0.34672), 0.000005, "L of 50 Hz to 16 kHz");
  ok &= check_at_most(
    fabs(vw_sweep_lead_s(&sweep, 2U) - 0.24033), 0.000005, "second harmonic");
  ok &= check_at_most(
    fabs(vw_sweep_lead_s(&sweep, 3U) - 0.38091), 0.000005, "third harmonic");
  ok &=
    check_at_most(fabs(20.0 * log10(vw_sweep_gain(&sweep, RATE_HZ)) - 81.93),
                  0.005,
                  "gain of sweep and inverse, dB");
  const VwSound itself = swept(1.0, 0.0);
  double        most = 0.0;
  for (size_t i = 0; i < itself.n_frames; ++i) {
    most = fmax(most,
                fabs((double)itself.values[i] -
                     vw_sweep_at(&sweep, (double)i / RATE_HZ)));
  }
  ok &= check_at_most(most, 1e-6, "the sweep itself");
  assert_true(ok);
  VwSound freed = itself;
  vw_sound_clear(&freed);
}

/// Where two answers that are a quarter of a turn apart are highest together,
/// frames from the start of the sweep on.
static double
peak_of(const VwAnswer* one, const VwAnswer* other) {
  size_t at = 0;
  double most = 0.0;
  for (size_t i = 0; i < one->n; ++i) {
    const double height = hypot(one->values[i], other->values[i]);
    at = height > most ? i : at;
    most = fmax(most, height);
  }
  return (double)at + one->from_s * RATE_HZ;
}

// What is n times as high as the sweep answers L ln n earlier; the sweep itself
// at once.
static void
test_harmonics(void** state) {
  (void)state;
  static const double frames[] = {0.0, 0.24033 * RATE_HZ, 0.38091 * RATE_HZ};
  const VwAnswerWish  wish = {0.0, -0.5, 0.25};
  bool                ok = true;
  for (unsigned n = 1; n <= 3U; ++n) {
    VwSound  sounds[] = {swept(n, 0.0), swept(n, 0.25)};
    VwAnswer answers[2] = {{NULL, 0U, 0.0, 0.0}};
    for (int i = 0; i < 2; ++i) {
      assert_int_equal(vw_sweep_answer(&sweep, &sounds[i], &wish, &answers[i]),
                       VW_OK);
    }
    ok &=
      check_at_most(fabs(peak_of(&answers[0], &answers[1]) + frames[n - 1U]),
                    1.0,
                    "harmonic %u, frames",
                    n);
    for (int i = 0; i < 2; ++i) {
      vw_answer_clear(&answers[i]);
      vw_sound_clear(&sounds[i]);
    }
  }
  assert_true(ok);
}

// The sum of both slid along each other is as high as the formula says, and
// flat within 0.95 dB from 100 Hz to 8 kHz without fades.
static void
test_flatness(void** state) {
  (void)state;
  const VwAnswerWish wish = {0.0, -0.5, 0.5};
  VwSound            sound = swept(1.0, 0.0);
  VwAnswer           answer = {0};
  bool               ok = true;
  assert_int_equal(vw_sweep_answer(&sweep, &sound, &wish, &answer), VW_OK);
  for (double hz = 100.0; hz <= 8000.0; hz *= 1.03) {
    double re = 0.0;
    double im = 0.0;
    for (size_t i = 0; i < answer.n; ++i) {
      const double turn = 2.0 * PI * hz * (double)i / RATE_HZ;
      re += answer.values[i] * cos(turn);
      im += answer.values[i] * sin(turn);
    }
    const double power = re * re + im * im;
    const double found = vw_answer_power(&answer, 0.0, 1.9, hz);
    ok &= check_at_most(fabs(10.0 * log10(power)), 0.95, "%.0f Hz, dB", hz);
    ok &= check_at_most(
      fabs(10.0 * log10(found / power)), 0.3, "%.0f Hz as found, dB", hz);
  }
  vw_answer_clear(&answer);
  vw_sound_clear(&sound);
  assert_true(ok);
}

/* The test sound */

static double
power_of(const VwSound* sound, double from_s, double to_s) {
  double sum = 0.0;
  double n = 0.0;
  for (size_t i = (size_t)(from_s * sound->rate_hz);
       i < (size_t)(to_s * sound->rate_hz);
       ++i, n += 1.0) {
    sum += (double)sound->values[i] * (double)sound->values[i];
  }
  return sum / n;
}

/// How often a sound goes up through zero in a second, about a time.
static double
pitch_of(const VwSound* sound, double at_s) {
  const size_t from = (size_t)((at_s - 0.05) * sound->rate_hz);
  const size_t to = (size_t)((at_s + 0.05) * sound->rate_hz);
  double       n = 0.0;
  for (size_t i = from; i < to; ++i) {
    n += sound->values[i] <= 0.0F && sound->values[i + 1U] > 0.0F ? 1.0 : 0.0;
  }
  return n / 0.1;
}

// 100 Hz to 16 kHz, 5 to 10 s, -12 dBFS (common practice); a lower sample rate
// carries less, at the same pace.
static void
test_sound(void** state) {
  (void)state;
  static const unsigned rates_hz[] = {8000, 22050, 44100, 48000};
  static const double   highs_hz[] = {3600.0, 9922.5, 16000.0, 16000.0};
  bool                  ok = true;
  for (size_t i = 0; i < 4U; ++i) {
    const VwSweepTest test = vw_sweep_test(rates_hz[i]);
    VwSound           sound = {0};
    assert_int_equal(vw_sweep_test_make(rates_hz[i], 2U, &sound), VW_OK);
    VwSound left = {0};
    assert_int_equal(vw_sound_channel(&sound, 1U, &left), VW_OK);
    const double l = vw_sweep_pace_s(&test.sweep);
    const double full_s = test.sweep_s + l * log(100.0 / 80.0);
    const double end_s = test.sweep_s + l * log(highs_hz[i] / 80.0);
    ok &= check_at_most(
      fabs(10.0 * log10(2.0 * power_of(&left, full_s, end_s - 0.1)) + 12.0),
      0.05,
      "level at %u Hz, dBFS",
      rates_hz[i]);
    ok &= check_at_most(
      fabs(pitch_of(&left, test.sweep_s + l * log(1000.0 / 80.0)) / 1000.0 -
           1.0),
      0.02,
      "1 kHz at %u Hz",
      rates_hz[i]);
    ok &= check_at_least(end_s - full_s, 5.0, "length at %u", rates_hz[i]);
    ok &= check_at_most(end_s - full_s, 10.0, "length at %u", rates_hz[i]);
    ok &= check_at_most(power_of(&left, test.rise_s + 0.13, test.sweep_s),
                        1e-12,
                        "pause at %u",
                        rates_hz[i]);
    ok &= check_equal(left.values[0], 0.0, "first frame");
    ok &= check_equal(left.values[left.n_frames - 1U], 0.0, "last frame");
    vw_sound_clear(&left);
    vw_sound_clear(&sound);
  }
  assert_true(ok);
}

int
main(void) {
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_figures),
    cmocka_unit_test(test_harmonics),
    cmocka_unit_test(test_flatness),
    cmocka_unit_test(test_sound),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
