// A microcontroller's counts against all there are; the lamp's resistor; how
// soon light and sound are apart; brightness; for how long it is on.

#include "lamp/lamp.h"
#include "support/check.h"
#include "support/signals.h"

#include "volleyweave/volleyweave.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include <math.h>
#include <string.h>

#define COUNT(array) (sizeof(array) / sizeof((array)[0]))

// By trying every prescaler with every count (simulated here).
static double
least_error(const VwCounter* counter, double rate_hz) {
  double         least = INFINITY;
  const uint64_t most = (uint64_t)1 << counter->bits;
  for (size_t i = 0; i < counter->n_prescalers; ++i) {
    for (uint64_t n = 2; n <= most; ++n) {
      const double made =
        counter->clock_hz / counter->prescalers[i] / (double)n;
      least = fmin(least, fabs(made / rate_hz - 1.0));
    }
  }
  return least;
}

static bool
check_counts(const VwCounter* counter, double rate_hz, double on_ms) {
  const VwLamp   lamp = vw_lamp_with(rate_hz, on_ms);
  const VwBeat   beat = vw_beat(&lamp, 1, 0.0);
  VwCounts       got = {0};
  const VwStatus st = vw_counts_find(&lamp, &beat, counter, &got);
  const double   least = least_error(counter, rate_hz);
  if (least > 0.1) {
    return check_that(st == VW_COUNTS_FEW,
                      "%g Hz, %u bits, %g/s: no counts",
                      counter->clock_hz,
                      counter->bits,
                      rate_hz);
  }
  const double tick_ms = 1000.0 * got.prescaler / counter->clock_hz;
  const double made =
    counter->clock_hz / got.prescaler / (double)got.period_counts;
  bool ok = check_that(!st && got.period_counts <= (uint64_t)1 << counter->bits,
                       "%g/s: counts",
                       rate_hz);
  ok &= check_at_most(fabs(made / rate_hz - 1.0),
                      least * (1.0 + 1e-9) + 1e-15,
                      "%g Hz, %u bits, %g/s: error",
                      counter->clock_hz,
                      counter->bits,
                      rate_hz);
  ok &= check_at_most(fabs(made - got.rate_hz), 1e-9 * rate_hz, "rate");
  ok &= check_at_most(
    fabs((double)got.on_counts * tick_ms - got.on_ms), 1e-9, "on-time, ms");
  ok &= check_at_most(
    fabs((made / rate_hz - 1.0) * 1e6 - got.error_ppm), 1e-3, "ppm");
  ok &= check_at_most(
    fabs((double)got.on_counts * tick_ms - on_ms),
    // Half a count, or what is left of a period of few counts.
    fmax(0.5 * tick_ms, on_ms - (double)(got.period_counts - 1) * tick_ms) +
      1e-6,
    "%g/s: on-time",
    rate_hz);
  return ok &&
         check_that(got.on_counts >= 1 && got.on_counts < got.period_counts,
                    "%g/s: on within the period",
                    rate_hz);
}

static void
test_counts(void** state) {
  (void)state;
  static const VwCounter counters[] = {
    {12e6, 8, {1, 5, 60, 300, 2000}, 5},
    {12e6, 16, {1, 5, 60, 300, 2000}, 5},
    {8e6, 16, {1, 2, 4, 8, 16, 32, 64, 128, 256, 512, 1024}, 11},
    {1e6, 16, {1}, 1},
    {32768, 8, {1024, 1, 16, 128}, 4},
    {48e6, 16, {1, 3, 7, 1000, 4096, 65536}, 6},
  };
  bool         ok = true;
  SignalRandom random = signal_random(5);
  for (size_t i = 0; i < COUNT(counters); ++i) {
    for (int k = 0; k < 60; ++k) {
      const double rate = 0.5 * pow(80.0, signal_uniform(&random));
      ok &= check_counts(&counters[i],
                         rate,
                         (0.05 + 0.4 * signal_uniform(&random)) * 1000 / rate);
    }
    ok &= check_counts(&counters[i], 10.0, 30.0);
  }
  assert_true(ok);
}

// 12 MHz / 32 / 37,500 is 10 a second exactly; so is / 128 / 9,375, later
// (closed form).
static void
test_exact_counts(void** state) {
  (void)state;
  const VwCounter counter = {12e6, 16, {256, 128, 64, 32, 4}, 5};
  const VwLamp    lamp = vw_lamp_with(10.0, 30.0);
  VwCounts        got;
  const VwBeat    beat = vw_beat(&lamp, 1, 0.0);
  assert_int_equal(vw_counts_find(&lamp, &beat, &counter, &got), VW_OK);
  assert_int_equal(got.prescaler, 32);
  assert_int_equal(got.period_counts, 37500);
  assert_int_equal(got.on_counts, 11250);
  assert_true(check_equal(got.error_ppm, 0.0, "error"));
}

// Flashes laid down here one by one: even ones in a file, a gap behind the
// last. The counts follow each within a tick, cycle after cycle but for the
// error of the rate; a timer of the mean rate is off by what is said.
static void
test_uneven_counts(void** state) {
  (void)state;
  static const struct {
    size_t shots;
    double period_ms, gap_ms;
  } cases[] = {{4, 100.0, 60.0}, {3, 66.7, 45.0}, {8, 71.3, 200.0}, {2, 90, 9}};
  static const VwCounter counters[] = {{12e6, 16, {1, 5, 60, 300, 2000}, 5},
                                       {48e6, 16, {1, 3, 7, 1000}, 4}};
  bool                   ok = true;
  for (size_t i = 0; i < COUNT(cases) * COUNT(counters); ++i) {
    const size_t           n = cases[i / 2].shots;
    const VwCounter* const counter = &counters[i % 2];
    const double           cycle_ms = (double)n * cases[i / 2].period_ms;
    const double in_file_ms = (cycle_ms - cases[i / 2].gap_ms) / (double)n;
    const VwLamp lamp = vw_lamp_with(1000.0 / cases[i / 2].period_ms, 20.0);
    const VwBeat beat = vw_beat(&lamp, n, cases[i / 2].gap_ms);
    VwCounts     got = {0};
    double       most_ms = 0.0;
    assert_int_equal(vw_counts_find(&lamp, &beat, counter, &got), VW_OK);
    const double tick_ms = 1000.0 * got.prescaler / counter->clock_hz;
    double       at_ms = 0.0;
    for (size_t k = 0; k < 3U * n; ++k) {
      const double shot_ms =
        (double)(k / n) * cycle_ms + (double)(k % n) * in_file_ms;
      ok &=
        check_at_most(fabs(at_ms - shot_ms),
                      (double)n * tick_ms + 1e-6 * fabs(got.error_ppm) * at_ms,
                      "case %zu: flash %zu",
                      i,
                      k);
      const bool last = k % n == n - 1U;
      at_ms += tick_ms * (double)(last ? got.last_counts : got.period_counts);
      most_ms = fmax(most_ms, (double)k * cases[i / 2].period_ms - shot_ms);
    }
    ok &= check_at_most(
      fabs(vw_beat_off_ms(&beat) - most_ms), 1e-6, "case %zu: a timer", i);
    ok &= check_that(got.last_counts <= 65536U, "case %zu: too many", i);
  }
  assert_true(ok);
}

// The bounds of the public header.
static void
test_bad_counters(void** state) {
  (void)state;
  const VwCounter counters[] = {
    {0, 16, {1}, 1},
    {NAN, 16, {1}, 1},
    {2e9, 16, {1}, 1},
    {1e6, 7, {1}, 1},
    {1e6, 33, {1}, 1},
    {1e6, 16, {0}, 1},
    {1e6, 16, {1}, 0},
    {1e6, 16, {1}, 33},
  };
  const VwLamp lamp = vw_lamp_with(10.0, 30.0);
  const VwBeat beat = vw_beat(&lamp, 1, 0.0);
  bool         ok = true;
  for (size_t i = 0; i < COUNT(counters); ++i) {
    VwCounts got;
    ok &= check_that(vw_counts_find(&lamp, &beat, &counters[i], &got) ==
                       VW_BAD_OPTION,
                     "counter %zu",
                     i);
  }
  assert_true(ok);
}

// R = (supply - drop - n V_F) / I_F and P = I_F^2 R (closed form); next values
// of E24 by IEC 60063:2015; a resistor stands twice its power (common
// practice).
static void
test_led(void** state) {
  (void)state;
  static const struct {
    VwLedWish wish;
    VwDrop    drop;
    double    ohm, watt, next, rating;
  } cases[] = {
    {{0, false, 5.0, 2.0, 1, 0.020}, {1, 0.0, 0.0}, 150.0, 0.060, 150.0, 0.125},
    {{0, false, 9.0, 2.0, 1, 0.020}, {1, 0.0, 0.0}, 350.0, 0.140, 360.0, 0.5},
    {{0, false, 9.0, 2.0, 1, 0.020}, {1, 1.7, 2.25}, 265.0, 0.106, 270.0, 0.25},
    {{0, false, 12.0, 2.0, 3, 0.010},
     {1, 1.7, 2.25},
     430.0,
     0.043,
     430.0,
     0.125},
  };
  bool ok = true;
  for (size_t i = 0; i < COUNT(cases); ++i) {
    const VwLedWish* const wish = &cases[i].wish;
    VwLed                  led = {0};
    ok &= check_that(!vw_led_behind(wish, &cases[i].drop, &led), "case %zu", i);
    ok &= check_at_most(
      fabs(led.resistor_ohm - cases[i].ohm), 1e-9, "case %zu: ohm", i);
    ok &= check_at_most(
      fabs(led.power_w - cases[i].watt), 1e-12, "case %zu: watt", i);
    ok &= check_at_most(
      fabs(led.next_ohm - cases[i].next), 1e-9, "case %zu: next", i);
    ok &= check_equal(led.rating_w, cases[i].rating, "case %zu: rating", i);
    ok &= check_at_most(led.current_a, wish->current_a * (1 + 1e-9), "current");
    ok &= check_at_most(
      fabs(led.current_a * led.current_a * led.next_ohm - led.next_w),
      1e-12,
      "case %zu: power in the next",
      i);
  }
  const VwLedWish low = {VW_CHIP_BIPOLAR, false, 4.5, 3.4, 1, 0.02};
  const VwLedWish none = {VW_CHIP_BIPOLAR, false, 5.0, 2.0, 0, 0.02};
  const VwLedWish dark = {VW_CHIP_BIPOLAR, false, 5.0, 2.0, 1, 0.0};
  const VwLedWish much = {VW_CHIP_BIPOLAR, false, 12.0, 2.0, 1, 3.0};
  const VwLedWish hung = {VW_CHIP_BIPOLAR, true, 12.0, 2.0, 1, 0.15};
  VwLed           led;
  ok &= check_that(!vw_led_find(&low, &led) == (4.5 - 3.4 - 0.3 >= 1.0), "low");
  ok &= check_that(vw_led_find(&none, &led) == VW_BAD_OPTION, "none");
  ok &= check_that(vw_led_find(&dark, &led) == VW_BAD_OPTION, "dark");
  ok &= check_that(vw_led_find(&much, &led) == VW_LED_CURRENT, "3 A");
  ok &= check_that(vw_led_find(&hung, &led) == VW_LED_CURRENT, "0.15 A, low");
  assert_true(ok);
}

// What is proposed works: 1 V at least is left for the resistor when the drop
// is at its worst; of 5 V a bipolar output leaves 3.3 V at 100 mA, 2.75 V at
// least (SLFS022I, 7.5). A transistor's base gets through its resistor what the
// gain makes the lamp's current of (closed form; 0.7 V from base to emitter:
// common practice).
static bool
check_driven(const VwLedWish* wish) {
  VwLed          led = {0};
  const VwStatus st = vw_led_find(wish, &led);
  const bool     bipolar = wish->chip == VW_CHIP_BIPOLAR;
  const double   left_v = wish->supply_v - wish->n_leds * wish->forward_v;
  if (st) {
    // Nothing is refused that 0.3 V in a small transistor leaves 1 V for.
    return check_that(!bipolar || wish->lit_while_low ||
                        wish->current_a > 0.1 || left_v < 1.3,
                      "%g V, %g V, %g A: refused",
                      wish->supply_v,
                      wish->forward_v,
                      wish->current_a);
  }
  bool ok = check_at_least(led.next_ohm * led.least_a, 1.0 - 1e-9, "over R") &&
            check_at_most(led.current_a, wish->current_a * (1 + 1e-9), "A") &&
            check_at_least(led.rating_w, 2.0 * led.next_w, "rating");
  if (!led.alone && bipolar && !wish->lit_while_low) {
    ok &= check_at_least(left_v - (5.0 - 2.75), 1.0 - 1e-9, "over R, alone");
    ok &= check_at_most(wish->current_a, 0.1, "A of the output");
  } else if (led.alone) {
    const double base_v = wish->supply_v - 0.7 - (bipolar ? 2.25 : 0.9);
    ok &= check_at_least(
      base_v / led.base_ohm * led.gain, wish->current_a * (1 - 1e-9), "base");
    ok &= check_at_most(base_v / led.base_ohm,
                        bipolar                  ? 0.1
                        : wish->supply_v >= 15.0 ? 0.01
                                                 : 0.001,
                        "base");
  }
  return ok;
}

static void
test_led_driven(void** state) {
  (void)state;
  static const double forward_v[] = {2.0, 3.2};
  static const double current_a[] = {0.001, 0.01, 0.02, 0.1, 0.3, 1.0, 2.0};
  bool                ok = true;
  for (int chip = 0; chip < 4; ++chip) {
    for (double supply_v = 5.0; supply_v <= 15.0; supply_v += 0.5) {
      for (size_t i = 0; i < 14U; ++i) {
        const VwLedWish wish = {(VwChip)(chip / 2),
                                chip % 2 != 0,
                                supply_v,
                                forward_v[i / 7U],
                                1U,
                                current_a[i % 7U]};
        ok &= check_driven(&wish);
      }
    }
  }
  assert_true(ok);
}

// 45 ms: Rec. ITU-R BT.1359-1. Times: closed form.
static void
test_drift(void** state) {
  (void)state;
  bool ok = true;
  ok &= check_at_most(fabs(vw_drift_s(0.10, 200) - 0.45), 1e-9, "10 %%");
  ok &= check_at_most(fabs(vw_drift_s(-0.0225, 100) - 2.0), 1e-9, "2.25 %%");
  ok &= check_at_most(fabs(vw_drift_s(0.01, 91) - 4.5), 1e-9, "1 %%");
  ok &= check_at_most(fabs(vw_drift_s(100e-6, 500) - 450), 1e-6, "100 ppm");
  ok &= check_that(isnan(vw_drift_s(0.0, 200)), "exact");
  ok &= check_that(isnan(vw_drift_s(0.1, 89)), "never 45 ms apart");
  assert_true(ok);
}

/* Brightness */

// A level that falls by 60 dB in so long has fallen by d dB after a part of it
// (closed form):
// loudness is halved every 10 dB (S. S. Stevens, J. Acoust. Soc. Am. 27, 1955).
static double
value_after(double s, double decay_s, double gamma) {
  return 255.0 * pow(2.0, -60.0 * s / decay_s / 10.0 * gamma);
}

static void
test_brightness(void** state) {
  (void)state;
  const SignalBurst burst = {
    .start_s = 0.002, .decay_s = 0.4, .level = 0.5, .pitch_hz = 1500.0};
  SignalRandom  random = signal_random(3);
  VwSound       loop = signal_silence(0.25, 44100);
  unsigned char steps[25];
  bool          ok = true;
  signal_add_burst(&loop, &burst, &random);
  assert_int_equal(vw_brightness_of_loop(&loop, 1, 2.2, 25, steps), VW_OK);
  // Past the window of the first rise one step follows from another.
  for (int i = 4; i < 24; ++i) {
    const double wanted =
      steps[3] / 255.0 * value_after((i - 3) * 0.01, burst.decay_s, 2.2);
    ok &= check_at_most(fabs(steps[i] - wanted), 1.3, "step %d", i);
  }
  // The first value after the crest: the window is 10 ms long.
  ok &= check_at_most(steps[3], value_after(0.020, burst.decay_s, 2.2), "3");
  ok &= check_at_least(steps[3], value_after(0.035, burst.decay_s, 2.2), "3");
  int brightest = 0;
  for (int i = 0; i < 25; ++i) {
    brightest = steps[i] > brightest ? steps[i] : brightest;
  }
  ok &= check_equal(brightest, 255, "brightest");
  memset(loop.values, 0, loop.n_frames * sizeof(float));
  ok &= check_that(vw_brightness_of_loop(&loop, 1, 2.2, 25, steps) == VW_SILENT,
                   "silence");
  vw_sound_clear(&loop);
  assert_true(ok);
}

static void
test_decaying_brightness(void** state) {
  (void)state;
  const VwLamp  lamp = vw_lamp_with(10.0, 30.0);
  unsigned char steps[10];
  bool          ok = true;
  vw_brightness_of_decay(&lamp, 1.0, 10, steps);
  for (int i = 0; i < 10; ++i) {
    // 12 dB in 30 ms is 60 dB in 150 ms.
    ok &= check_at_most(
      fabs(steps[i] - value_after(i * 0.01, 0.15, 1.0)), 0.51, "step %d", i);
  }
  assert_true(ok);
}

/* On-time */

// An exponential decay by 60 dB has fallen by 12 dB after a fifth of it (closed
// form); the level's window of 10 ms adds at most its own length.
static void
test_on_time(void** state) {
  (void)state;
  static const struct {
    double     period_s, decay_s, on_ms, near_ms;
    VwOnReason reason;
  } cases[] = {
    {0.2, 0.15, 30.0, 30.0, VW_ON_SOUND},
    {0.2, 0.20, 40.0, 40.0, VW_ON_SOUND},
    {0.2, 0.03, 20.0, 6.0, VW_ON_LEAST},
    {0.2, 0.50, 50.0, 100.0, VW_ON_MOST},
    {0.06, 0.20, 30.0, 40.0, VW_ON_HALF},
    {0.03, 0.05, 15.0, 10.0, VW_ON_HALF},
  };
  bool ok = true;
  for (size_t i = 0; i < COUNT(cases); ++i) {
    const SignalBurst burst = {.start_s = 0.002,
                               .decay_s = cases[i].decay_s,
                               .level = 0.5,
                               .pitch_hz = 2000.0};
    VwSound           loop = signal_silence(cases[i].period_s, 44100);
    SignalRandom      random = signal_random(4);
    VwOnTime          got = {0};
    signal_add_burst(&loop, &burst, &random);
    ok &= check_that(!vw_on_time_of_loop(&loop, 1, 0.0, &got), "case %zu", i);
    ok &= check_equal(got.reason, cases[i].reason, "case %zu: reason", i);
    ok &= check_at_least(got.near_ms, cases[i].near_ms - 1.0, "case %zu", i);
    ok &= check_at_most(got.near_ms, cases[i].near_ms + 10.0, "case %zu", i);
    if (got.reason != VW_ON_SOUND) {
      ok &= check_at_most(
        fabs(got.on_ms - cases[i].on_ms), 1e-6, "case %zu: on-time", i);
    } else {
      ok &= check_equal(got.on_ms, got.near_ms, "case %zu: on-time", i);
    }
    vw_sound_clear(&loop);
  }
  // Of no loop: 30 ms, 0.4 of the period at most (common practice).
  ok &= check_at_most(fabs(vw_lamp(2.0).on_ms - 30.0), 1e-9, "2 per second");
  ok &= check_at_most(fabs(vw_lamp(13.0).on_ms - 30.0), 1e-9, "13 per second");
  ok &= check_at_most(fabs(vw_lamp(20.0).on_ms - 20.0), 1e-9, "20 per second");
  assert_true(ok);
}

// The first channel counts, unless another is 20 dB stronger: it may be a lamp
// track (chosen here).
static void
test_channels(void** state) {
  (void)state;
  static const double second_db[] = {6.0, 17.0, 23.0};
  bool                ok = true;
  for (size_t i = 0; i < COUNT(second_db); ++i) {
    VwSound  loop = {0};
    VwOnTime got = {0};
    assert_int_equal(vw_sound_init(&loop, 8820, 2, 44100), VW_OK);
    for (size_t j = 88; j < loop.n_frames; ++j) {
      const double s = (double)(j - 88) / 44100.0;
      const double turns = 6.283185307179586 * 2000.0 * s;
      const double level = 0.03 * pow(10.0, second_db[i] / 20.0);
      // 12 of 60 dB take 40 ms in the first, 25 in the second (closed form).
      loop.values[2 * j] = (float)(0.03 * sin(turns) * pow(10.0, -15.0 * s));
      loop.values[2 * j + 1] =
        (float)(level * sin(turns) * pow(10.0, -24.0 * s));
    }
    assert_int_equal(vw_on_time_of_loop(&loop, 1, 0.0, &got), VW_OK);
    ok &= check_at_most(fabs(got.near_ms - (i < 2 ? 44.5 : 29.5)),
                        5.5,
                        "second channel %g dB stronger: loud for, ms off",
                        second_db[i]);
    vw_sound_clear(&loop);
  }
  assert_true(ok);
}

int
main(void) {
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_counts),
    cmocka_unit_test(test_exact_counts),
    cmocka_unit_test(test_uneven_counts),
    cmocka_unit_test(test_bad_counters),
    cmocka_unit_test(test_led),
    cmocka_unit_test(test_led_driven),
    cmocka_unit_test(test_drift),
    cmocka_unit_test(test_brightness),
    cmocka_unit_test(test_decaying_brightness),
    cmocka_unit_test(test_on_time),
    cmocka_unit_test(test_channels),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
