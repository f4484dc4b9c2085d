// The fastest fire rate without tightening, once it is limited,
// against a model of its envelope: an exponential decay, also with one echo.

#include "support/check.h"
#include "support/made.h"
#include "support/signals.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include <complex.h>
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
  {0.53, 0.0, 0.0},
  {0.63, 0.0, 0.0},
  {0.75, 0.0, 0.0},
  {0.90, 0.0, 0.0},
  {1.00, 0.0, 0.0},
  {1.20, 0.0, 0.0},
  {1.40, 0.0, 0.0},
  // Too long for four a second.
  {1.80, 0.0, 0.0},
  {3.00, 0.0, 0.0},
  // One echo.
  {0.32, 0.100, 0.4},
  {0.40, 0.140, 0.4},
  {0.60, 0.120, 0.4},
  {0.70, 0.060, 0.4},
  {0.80, 0.160, 0.3},
  {0.90, 0.120, 0.3},
  {2.00, 0.120, 0.3},
  // One that fills the valley at 11 per second, but not at 12 and 12.5.
  {0.40, 0.160, 0.3},
};

enum { N_CASES = sizeof(cases) / sizeof(cases[0]), POINTS_MAX = 1001 };

#define STEP_S 0.00025
#define PITCH_HZ 3000.0

static SignalBurst
burst_of(const EnvelopeCase* wanted) {
  return (SignalBurst){.start_s = 0.1,
                       .rise_s = 0.001,
                       .decay_s = wanted->decay_s,
                       .level = 0.4,
                       .pitch_hz = PITCH_HZ};
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

// Amplitude of the steady burst, whose tails add up as their turns lie, every
// quarter of a millisecond of a period, which is rounded to whole frames.
static int
lay_period(const EnvelopeCase* wanted, double fire_rate, double* amplitude) {
  const SignalBurst burst = burst_of(wanted);
  const SignalBurst echo = echo_of(wanted);
  const double      period_s = round(44100.0 / fire_rate) / 44100.0;
  const int         n = (int)(period_s / STEP_S);
  for (int i = 0; i < n; ++i) {
    double complex sum = 0.0;
    for (double old_s = 0.0; old_s < 4.0; old_s += period_s) {
      const double at_s = burst.start_s - 0.002 + STEP_S * i + old_s;
      const double b =
        wanted->echo_delay_s > 0.0 ? signal_burst_envelope(&echo, at_s) : 0.0;
      sum += (signal_burst_envelope(&burst, at_s) + b * I) *
             cexp(2.0 * PI * PITCH_HZ * old_s * I);
    }
    amplitude[i] = cabs(sum);
  }
  return n;
}

// Hold it 3 dB under its peak: down on a line over 1.5 ms, held for 9 ms, to a
// tenth of the decibels in 50 ms, as the limiter says of itself.
static void
limit(double* amplitude, int n) {
  enum { AHEAD = 6, HELD = 36, TURNS = 3 };
  double wanted[POINTS_MAX];
  double taken[POINTS_MAX] = {0.0};
  double peak = 0.0;
  double let_go = 0.0;
  for (int i = 0; i < n; ++i) {
    peak = fmax(peak, amplitude[i]);
  }
  for (int i = 0; i < n; ++i) {
    wanted[i] = fmax(20.0 * log10(amplitude[i] / peak) + 3.0, 0.0);
  }
  for (int i = 0; i < TURNS * n; ++i) {
    let_go *= pow(10.0, -STEP_S / 0.050);
    for (int j = -HELD; j <= AHEAD; ++j) {
      const double part = j > 0 ? 1.0 - (double)j / AHEAD : 1.0;
      let_go = fmax(let_go, part * wanted[(i + j + n) % n]);
    }
    taken[i % n] = let_go;
  }
  for (int i = 0; i < n; ++i) {
    amplitude[i] *= pow(10.0, -taken[i] / 20.0);
  }
}

static int
compare_doubles(const void* a, const void* b) {
  const double left = *(const double*)a;
  const double right = *(const double*)b;
  return (left > right) - (left < right);
}

// Valley of the power under a Hann window of 10 ms, round and round.
static double
valley_db(const EnvelopeCase* wanted, double fire_rate) {
  double    amplitude[POINTS_MAX];
  double    level[POINTS_MAX] = {0.0};
  const int n = lay_period(wanted, fire_rate, amplitude);
  limit(amplitude, n);
  for (int i = 0; i < n; ++i) {
    for (int j = -20; j <= 20; ++j) {
      const double a = amplitude[(i + j + n) % n];
      level[i] += (0.5 + 0.5 * cos(PI * j / 20.0)) * a * a;
    }
  }
  qsort(level, (size_t)n, sizeof(double), compare_doubles);
  double quiet = 0.0;
  for (int i = 0; i < n / 5; ++i) {
    quiet += level[i] / (n / 5);
  }
  return 10.0 * log10(level[n - 1] / quiet);
}

// The fastest rate by the definition; NaN where four a second is too fast.
// Sets how near a valley that decided it came to the 9 dB.
static double
fastest_of(const EnvelopeCase* wanted, double* margin_db) {
  double fastest = NAN;
  *margin_db = INFINITY;
  for (int halves = 8; halves <= 30; ++halves) {
    const double over_db = valley_db(wanted, halves / 2.0) - 9.0;
    *margin_db = fmin(*margin_db, fabs(over_db));
    if (over_db < 0.0) {
      break;
    }
    fastest = halves / 2.0;
  }
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
