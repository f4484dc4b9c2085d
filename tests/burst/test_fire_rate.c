// Fire rates: the figures of this project, expected values by exhaustion
// (closed form), and again from the written loop by autocorrelation.

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

static const unsigned rates_hz[] =
  {8000, 11025, 16000, 22050, 44100, 48000, 96000};

enum { N_RATES = sizeof(rates_hz) / sizeof(rates_hz[0]) };

// 2 to 20 per second, 540/min, 600rpm, 110ms.
static const double asked_per_s[] = {2.0,
                                     3.7,
                                     5.0,
                                     6.3,
                                     7.77,
                                     540.0 / 60.0,
                                     600.0 / 60.0,
                                     1.0 / 0.110,
                                     11.3,
                                     13.0,
                                     14.6,
                                     17.0,
                                     19.99,
                                     20.0};

enum { N_ASKED = sizeof(asked_per_s) / sizeof(asked_per_s[0]) };

// A take so short that laying it down costs nothing.
static VwSound
short_take(unsigned rate_hz) {
  const SignalBurst burst = {
    .start_s = 0.05, .decay_s = 0.12, .level = 0.4, .pitch_hz = 1100.0};
  return signal_take(0.2, rate_hz, &burst, 8);
}

// The cycle wanted: the fewest shots within 0.1 %, else the nearest.
typedef struct {
  size_t n_shots;
  double error;
} Cycle;

static double
error_of(size_t n_shots, double n_frames, unsigned rate_hz, double asked) {
  return fabs((double)n_shots * rate_hz / n_frames / asked - 1.0);
}

static Cycle
best_cycle(unsigned rate_hz, double asked, double cycle_max_s) {
  Cycle best = {0, INFINITY};
  for (size_t n = 1; n <= 64; ++n) {
    const double ideal = (double)n * rate_hz / asked;
    const double longest = floor(cycle_max_s * rate_hz + 1e-9);
    double       error = INFINITY;
    for (double l = floor(ideal); l <= ceil(ideal) && l <= longest; l += 1.0) {
      error = fmin(error, error_of(n, l, rate_hz, asked));
    }
    if (error < best.error - 1e-12) {
      best = (Cycle){n, error};
    }
    if (best.error <= 0.001) {
      break;
    }
  }
  return best;
}

static bool
check_plan(const VwPlan* plan, unsigned rate_hz, double asked, double max_s) {
  const Cycle  best = best_cycle(rate_hz, asked, max_s);
  const double exact =
    (double)plan->shots * (double)rate_hz / (double)plan->n_frames;
  bool ok = check_equal(
    plan->fire_rate_per_s, exact, "%g/s at %u Hz: reported", asked, rate_hz);
  ok &= check_at_most((double)plan->n_frames,
                      max_s * rate_hz + 1e-6,
                      "%g/s at %u Hz: cycle",
                      asked,
                      rate_hz);
  ok &= check_at_most(fabs(exact / asked - 1.0),
                      fmax(best.error, 1e-12) * (1.0 + 1e-9),
                      "%g/s at %u Hz, %zu shots: error",
                      asked,
                      rate_hz,
                      (size_t)plan->shots);
  ok &= check_equal(
    plan->shots, (double)best.n_shots, "%g/s at %u Hz: N", asked, rate_hz);
  ok &= check_at_most(fabs(plan->error_ppm - 1e6 * (exact / asked - 1.0)),
                      0.01,
                      "%g/s at %u Hz: reported ppm off",
                      asked,
                      rate_hz);
  return ok;
}

static bool
check_fire_rate(unsigned rate_hz, double asked, double cycle_max_s) {
  VwSound         take = short_take(rate_hz);
  VwFamilyOptions options = made_options();
  options.format.rate_hz = rate_hz;
  options.fire_rate_per_s = asked;
  options.cycle_max_s = cycle_max_s;
  Made made;
  if (!made_new(&take, &options, &made)) {
    return false;
  }
  const VwPlan* const  plan = &made.family.plan;
  const VwPiece* const loop = made_piece(&made.family, VW_PART_LOOP);
  bool                 ok = check_plan(plan, rate_hz, asked, cycle_max_s);
  ok &= check_equal((double)loop->sound.n_frames,
                    (double)plan->n_frames,
                    "%g/s at %u Hz: frames of the loop",
                    asked,
                    rate_hz);
  made_clear(&made);
  vw_sound_clear(&take);
  return ok;
}

static void
test_reported(void** state) {
  (void)state;
  bool ok = true;
  for (size_t i = 0; i < N_RATES; ++i) {
    for (size_t j = 0; j < N_ASKED; ++j) {
      ok &= check_fire_rate(rates_hz[i], asked_per_s[j], 2.0);
    }
  }
  assert_true(ok);
}

// Shot i starts at round(i L / N), in every cycle alike.
static void
test_starts(void** state) {
  (void)state;
  bool ok = true;
  for (unsigned n_shots = 1; n_shots <= 64; ++n_shots) {
    const VwPlan plan = {.shots = n_shots, .n_frames = 4001 + 7 * n_shots};
    for (size_t i = 0; i < 3 * (size_t)n_shots; ++i) {
      const double start =
        floor((double)i * (double)plan.n_frames / (double)n_shots + 0.5 + 1e-9);
      ok &= check_equal((double)vw_plan_start(&plan, i),
                        start,
                        "start of shot %zu, %u in the cycle",
                        i,
                        n_shots);
    }
  }
  assert_true(ok);
}

// Cycles too short for 0.1 %: the nearest, and the error is said.
static void
test_nearest(void** state) {
  (void)state;
  bool ok = check_fire_rate(8000, 19.99, 0.06);
  ok &= check_fire_rate(4000, 17.0, 0.1);
  ok &= check_fire_rate(4000, 19.3, 0.15);
  ok &= check_fire_rate(4000, 13.37, 0.2);
  ok &= check_fire_rate(8000, 31.7, 0.05);
  assert_true(ok);
}

// 8 bit mono needs an even number of frames.
static void
test_even(void** state) {
  (void)state;
  bool ok = true;
  for (size_t j = 0; j < N_ASKED; ++j) {
    VwSound         take = short_take(11025);
    VwFamilyOptions options = made_options();
    options.format.encoding = VW_ENCODING_U8;
    options.fire_rate_per_s = asked_per_s[j];
    Made made;
    assert_true(made_new(&take, &options, &made));
    const VwPlan* const plan = &made.family.plan;
    ok &= check_at_most(fabs(plan->fire_rate_per_s / asked_per_s[j] - 1.0),
                        0.001,
                        "%g/s in 8 bits: error",
                        asked_per_s[j]);
    for (size_t i = 0; i < made.family.n_pieces; ++i) {
      ok &= check_equal((double)(made.family.pieces[i].sound.n_frames % 2),
                        0.0,
                        "%g/s in 8 bits: odd frames in part %d",
                        asked_per_s[j],
                        (int)made.family.pieces[i].part);
    }
    made_clear(&made);
    vw_sound_clear(&take);
  }
  assert_true(ok);
}

// More shots at that rate than the longest cycle holds.
static void
test_too_long(void** state) {
  (void)state;
  VwSound         take = short_take(44100);
  VwFamilyOptions options = made_options();
  Made            made;
  assert_true(made_new(&take, &options, &made));
  VwFamily family;
  options.fire_rate_per_s = 2.0;
  options.shots = 8;
  assert_int_equal(
    vw_family_make(&made.take, &made.facts, 1, &options, &family),
    VW_CYCLE_TOO_LONG);
  options.shots = 4;
  assert_int_equal(
    vw_family_make(&made.take, &made.facts, 1, &options, &family), VW_OK);
  assert_int_equal(family.plan.shots, 4);
  vw_family_clear(&family);
  made_clear(&made);
  vw_sound_clear(&take);
}

// The written loop played for 30 s.
static bool
check_played(unsigned rate_hz, double asked, VwTail tail) {
  const SignalBurst burst = {.start_s = 0.1, .decay_s = 0.3, .level = 0.4};
  VwSound           take = signal_take(0.5, rate_hz, &burst, 21);
  VwFamilyOptions   options = made_options();
  options.format.encoding = VW_ENCODING_S16;
  options.format.rate_hz = rate_hz;
  options.fire_rate_per_s = asked;
  options.tail = tail;
  Made made;
  if (!made_new(&take, &options, &made)) {
    return false;
  }
  VwSound      loop = made_written(&made.family, VW_PART_LOOP, 1);
  const double length_s = (double)loop.n_frames / rate_hz;
  VwSound      played = measure_played(&loop, (size_t)ceil(30.0 / length_s));
  const double period_s = measure_period_s(&played);
  bool         ok = check_at_most(
    fabs(1.0 / period_s / made.family.plan.fire_rate_per_s - 1.0) * 1e6,
    100.0,
    "%g/s at %u Hz: ppm off in the loop played",
    asked,
    rate_hz);
  ok &= check_equal(round(length_s / period_s),
                    made.family.plan.shots,
                    "%g/s at %u Hz: N in the loop played",
                    asked,
                    rate_hz);
  vw_sound_clear(&played);
  vw_sound_clear(&loop);
  made_clear(&made);
  vw_sound_clear(&take);
  return ok;
}

static void
test_played(void** state) {
  (void)state;
  bool ok = true;
  for (size_t j = 0; j < N_ASKED; ++j) {
    ok &= check_played(
      rates_hz[j % 6], asked_per_s[j], j % 3 ? VW_TAIL_OVERLAP : VW_TAIL_CHOKE);
  }
  assert_true(ok);
}

int
main(void) {
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_reported),
    cmocka_unit_test(test_starts),
    cmocka_unit_test(test_nearest),
    cmocka_unit_test(test_even),
    cmocka_unit_test(test_too_long),
    cmocka_unit_test(test_played),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
