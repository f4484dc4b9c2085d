// The fastest fire rate that a shot stands untouched, against the closed form
// of its envelope: an exponential decay, also with one echo.

#include "support/check.h"
#include "support/made.h"
#include "support/signals.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include <math.h>
#include <stdlib.h>

#define PI 3.141592653589793

typedef struct {
  double decay_s;
  double echo_delay_s;
  double echo_level; // Relative to the shot's.
} EnvelopeCase;

static const EnvelopeCase cases[] = {
  // One decay, from short to long.
  {0.20, 0.0, 0.0},
  {0.40, 0.0, 0.0},
  {0.56, 0.0, 0.0},
  {0.63, 0.0, 0.0},
  {0.78, 0.0, 0.0},
  {0.90, 0.0, 0.0},
  {1.00, 0.0, 0.0},
  {1.20, 0.0, 0.0},
  {1.40, 0.0, 0.0},
  // Too long for four a second.
  {1.80, 0.0, 0.0},
  {3.00, 0.0, 0.0},
  // One echo.
  {0.30, 0.100, 0.4},
  {0.40, 0.140, 0.4},
  {0.60, 0.120, 0.4},
  {0.70, 0.060, 0.4},
  {0.80, 0.160, 0.3},
  {0.90, 0.120, 0.3},
  {2.00, 0.120, 0.3},
  // One that fills the valley at 11 per second, but not at 12 and 12.5.
  {0.40, 0.160, 0.3},
};

enum { N_CASES = sizeof(cases) / sizeof(cases[0]), STEPS_MAX = 16000 };

#define STEP_S 0.00025

static SignalBurst
burst_of(const EnvelopeCase* wanted) {
  return (SignalBurst){.start_s = 0.1,
                       .rise_s = 0.001,
                       .decay_s = wanted->decay_s,
                       .level = 0.4,
                       .pitch_hz = 3000.0};
}

// The echo runs a quarter turn beside the shot, so that powers add.
static SignalBurst
echo_of(const EnvelopeCase* wanted) {
  SignalBurst echo = burst_of(wanted);
  echo.start_s += wanted->echo_delay_s;
  echo.level *= wanted->echo_level;
  echo.phase_turns = 0.25 + fmod(echo.pitch_hz * wanted->echo_delay_s, 1.0);
  return echo;
}

static double
power_at(const EnvelopeCase* wanted, double at_s) {
  const SignalBurst burst = burst_of(wanted);
  const SignalBurst echo = echo_of(wanted);
  const double      a = signal_burst_envelope(&burst, at_s);
  const double      b =
    wanted->echo_delay_s > 0.0 ? signal_burst_envelope(&echo, at_s) : 0.0;
  return a * a + b * b;
}

// The power under a Hann window of 10 ms, every quarter of a millisecond.
static double*
level_of(const EnvelopeCase* wanted) {
  double* const level = calloc(STEPS_MAX + 1, sizeof(double));
  if (!level) {
    abort();
  }
  for (int i = 0; i < STEPS_MAX; ++i) {
    for (int j = -40; j <= 40; ++j) {
      const double weight = 0.5 + 0.5 * cos(PI * j / 40.0);
      level[i] += weight * power_at(wanted, STEP_S * (i + j / 2.0)) / 40.0;
    }
  }
  return level;
}

static int
compare_doubles(const void* a, const void* b) {
  const double left = *(const double*)a;
  const double right = *(const double*)b;
  return (left > right) - (left < right);
}

// Valley of the level's periodic sum.
static double
valley_db(const double* level, double period_s) {
  enum { POINTS = 500 };
  double sum[POINTS] = {0.0};
  for (int i = 0; i < POINTS; ++i) {
    for (double at_s = period_s * i / POINTS; at_s < STEP_S * (STEPS_MAX - 1);
         at_s += period_s) {
      const int    step = (int)(at_s / STEP_S);
      const double part = at_s / STEP_S - step;
      sum[i] += level[step] + part * (level[step + 1] - level[step]);
    }
  }
  qsort(sum, POINTS, sizeof(double), compare_doubles);
  double quiet = 0.0;
  for (int i = 0; i < POINTS / 5; ++i) {
    quiet += sum[i] / (POINTS / 5.0);
  }
  return 10.0 * log10(sum[POINTS - 1] / quiet);
}

// The fastest rate by the definition; NaN where four a second is too fast.
// Sets how near a valley that decided it came to the 9 dB.
static double
fastest_of(const EnvelopeCase* wanted, double* margin_db) {
  double* const level = level_of(wanted);
  double        fastest = NAN;
  *margin_db = INFINITY;
  for (int halves = 8; halves <= 30; ++halves) {
    const double over_db = valley_db(level, 2.0 / halves) - 9.0;
    *margin_db = fmin(*margin_db, fabs(over_db));
    if (over_db < 0.0) {
      break;
    }
    fastest = halves / 2.0;
  }
  free(level);
  return fastest;
}

static VwShotFacts
facts_of(const EnvelopeCase* wanted) {
  const VwFindOptions options = vw_find_defaults();
  const SignalBurst   burst = burst_of(wanted);
  SignalRandom        none = signal_random(0);
  VwTake              take;
  VwShotFacts         facts;
  VwSound raw = signal_take(0.3 + 1.3 * wanted->decay_s, 44100, &burst, 3);
  if (wanted->echo_delay_s > 0.0) {
    const SignalBurst echo = echo_of(wanted);
    signal_add_burst(&raw, &echo, &none);
  }
  assert_int_equal(vw_take_prepare(&raw, &take), VW_OK);
  assert_int_equal(vw_find(&take, &options, &facts), VW_OK);
  vw_take_clear(&take);
  vw_sound_clear(&raw);
  return facts;
}

static void
test_fastest(void** state) {
  (void)state;
  bool   ok = true;
  size_t n_none = 0;
  size_t n_some = 0;
  for (size_t i = 0; i < N_CASES; ++i) {
    double            margin_db = 0.0;
    const double      expected = fastest_of(&cases[i], &margin_db);
    const VwShotFacts facts = facts_of(&cases[i]);
    // A case too near the border between two rates would test nothing.
    ok &= check_at_least(margin_db, 0.1, "case %zu: margin, dB", i);
    if (isnan(expected)) {
      ++n_none;
      ok &= check_that(isnan(facts.fastest_fire_rate_per_s),
                       "case %zu: there is a fastest rate, %g",
                       i,
                       facts.fastest_fire_rate_per_s);
    } else {
      ++n_some;
      ok &= check_equal(facts.fastest_fire_rate_per_s,
                        expected,
                        "case %zu: fastest fire rate",
                        i);
    }
  }
  ok &= check_at_least((double)n_none, 2.0, "cases without a fastest rate");
  ok &= check_at_least((double)n_some, 8.0, "cases with a fastest rate");
  assert_true(ok);
}

int
main(void) {
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_fastest),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
