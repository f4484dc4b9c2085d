// Variants of a shot: what the written loop holds, by code of the test's own.

#include "support/check.h"
#include "support/made.h"
#include "support/measure.h"
#include "support/meter.h"
#include "support/recordings.h"
#include "support/signals.h"

#include "volleyweave/volleyweave.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

// So many of the recordings are looked at, and those whose tails add up and
// cancel most or whose bass a tilt moves most; 1: all of them.
enum { EVERY = 8 };
static const char* const hardest[] = {"teamgrab.wav", "fire.wav", "jump.wav"};

static const double fire_rates_per_s[] = {6.0, 9.0};

// A body is the 50 ms from a shot's attack on, which comes up to 6 ms late.
static const double body_s = 0.050;
static const double attack_s = 0.006;

/// Correlation of `n` values.
static double
correlate(const double* a, const double* b, size_t n) {
  double ab = 0.0;
  double aa = 0.0;
  double bb = 0.0;
  for (size_t i = 0; i < n; ++i) {
    ab += a[i] * b[i];
    aa += a[i] * a[i];
    bb += b[i] * b[i];
  }
  return ab / sqrt(aa * bb + 1e-30);
}

/// The level of a mono loop about a frame, 10 ms Hann, as a power.
static double
level_at(const VwSound* loop, size_t at) {
  const long half = lround(0.005 * loop->rate_hz);
  double     sum = 0.0;
  for (long d = -half; d <= half; ++d) {
    const size_t i = (at + loop->n_frames + (size_t)(d + half) - (size_t)half) %
                     loop->n_frames;
    const double x = (double)loop->values[i];
    sum += x * x * (0.5 + 0.5 * cos(acos(-1.0) * (double)d / (double)half));
  }
  return sum / (double)half;
}

/// The level in dB of the loudest body that begins soon after a frame.
static double
body_at(const VwSound* loop, size_t from) {
  const size_t n = (size_t)lround(body_s * loop->rate_hz);
  double       loudest = 0.0;
  for (size_t late = 0; late <= (size_t)(attack_s * loop->rate_hz);
       late += loop->rate_hz / 8000U) {
    double sum = 0.0;
    for (size_t i = from + late; i < from + late + n; ++i) {
      const double x = (double)loop->values[i % loop->n_frames];
      sum += x * x / (double)n;
    }
    loudest = fmax(loudest, sum);
  }
  return 10.0 * log10(loudest);
}

/// What is found in a loop of shots that lie evenly.
typedef struct {
  double waveform, envelope; ///< Likeness of the most alike neighbours.
  double loudness_lu;        ///< By which two neighbours differ at most.
  double body_db;            ///< The same of their bodies' levels.
} Found;

// Levels are read every eighth of a millisecond.
static Found
find(const VwSound* loop, unsigned shots) {
  const size_t period = loop->n_frames / shots;
  const size_t step = loop->rate_hz / 8000U;
  const size_t n = period / step - 1U;
  double*      wave = calloc(loop->n_frames, sizeof(double));
  double*      rise = calloc((size_t)shots * n, sizeof(double));
  double       crest = 0.0;
  double*      lufs = calloc(shots, sizeof(double));
  Found        found = {-1.0, -1.0, 0.0, 0.0};
  for (size_t i = 0; i < loop->n_frames; ++i) {
    wave[i] = (double)loop->values[i];
  }
  for (size_t i = 0; i < loop->n_frames; i += step) {
    crest = fmax(crest, level_at(loop, i));
  }
  for (unsigned s = 0; s < shots; ++s) {
    const size_t  from = loop->n_frames * s / shots;
    const VwSound heard = {.values = loop->values + from,
                           .n_frames = period,
                           .n_channels = 1U,
                           .rate_hz = loop->rate_hz};
    lufs[s] = meter_effect_lufs(&heard);
    for (size_t i = 0; i < n; ++i) {
      const double now = fmax(level_at(loop, from + i * step), crest * 1e-4);
      const double then =
        fmax(level_at(loop, from + (i + 1U) * step), crest * 1e-4);
      rise[s * n + i] = log10(then / now);
    }
  }
  for (unsigned s = 0; s < shots; ++s) {
    const size_t next = (s + 1U) % shots;
    found.waveform = fmax(found.waveform,
                          correlate(wave + loop->n_frames * s / shots,
                                    wave + loop->n_frames * next / shots,
                                    period - 1U));
    found.envelope =
      fmax(found.envelope, correlate(rise + s * n, rise + next * n, n));
    found.loudness_lu = fmax(found.loudness_lu, fabs(lufs[s] - lufs[next]));
    found.body_db = fmax(found.body_db,
                         fabs(body_at(loop, loop->n_frames * s / shots) -
                              body_at(loop, loop->n_frames * next / shots)));
  }
  free(wave);
  free(rise);
  free(lufs);
  return found;
}

static bool
check_identity(const char* name, const VwFamily* family) {
  const size_t n_loops = 2;
  VwSound      joined = made_joined(family, n_loops);
  VwSound      laid =
    made_laid_down(family, family->run_in_shots + n_loops * family->plan.shots);
  // What the limiter does is not laid down by the test.
  const bool limited = family->level.limiting_db > 0.0;
  const bool ok = limited || check_at_most(measure_difference(&joined, &laid),
                                           1e-6,
                                           "%s: run-in, loops, ring-out",
                                           name);
  vw_sound_clear(&joined);
  vw_sound_clear(&laid);
  return ok;
}

static bool
check_one(const char* name, const VwSound* raw, double fire_rate_per_s) {
  VwFamilyOptions options = made_options();
  Made            made;
  options.fire_rate_per_s = fire_rate_per_s;
  options.variants = 6U;
  options.level.aim = VW_AIM_KEEP; // nothing is limited
  if (!made_new(raw, &options, &made)) {
    return check_that(false, "%s: made", name);
  }
  const VwFamily* const family = &made.family;
  VwSound               loop = made_written(family, VW_PART_LOOP, 1U);
  const Found           found = find(&loop, family->plan.shots);
  const double          at = fire_rate_per_s;
  const struct {
    const char* what;
    double      found, most, reported, near;
  } cases[] = {
    {"waveform", found.waveform, 0.9, family->likeness.waveform, 0.01},
    {"envelope", found.envelope, 0.9, family->likeness.envelope, 0.03},
    {"loudness, LU", found.loudness_lu, 1.5, family->likeness.loudness_lu, 0.1},
    {"bodies, dB", found.body_db, 1.5, family->likeness.body_db, 0.1},
  };
  bool ok = check_identity(name, family);
  ok &= check_equal(family->plan.shots % 6U, 0.0, "%s, %g: whole", name, at);
  for (size_t i = 0; i < sizeof(cases) / sizeof(cases[0]); ++i) {
    ok &= check_at_most(
      cases[i].found, cases[i].most, "%s, %g: %s", name, at, cases[i].what);
    ok &= check_at_most(fabs(cases[i].found - cases[i].reported),
                        cases[i].near,
                        "%s, %g: %s as reported",
                        name,
                        at,
                        cases[i].what);
  }
  ok &= check_at_least(
    family->valley_db, 9.0 - 0.01, "%s, %g: valley, dB", name, at);
  vw_sound_clear(&loop);
  made_clear(&made);
  return ok;
}

static bool
check_recording(const char* name, const VwSound* raw) {
  static size_t number;
  bool          ok = true;
  bool          taken = number % EVERY == 0U;
  for (size_t i = 0; i < sizeof(hardest) / sizeof(hardest[0]); ++i) {
    taken |= !strcmp(name, hardest[i]);
  }
  for (size_t i = 0; taken && i < 2U; ++i) {
    ok &= check_one(name, raw, fire_rates_per_s[i]);
  }
  ++number;
  return ok;
}

static void
test_neighbours_of_recordings_are_unlike(void** state) {
  (void)state;
  assert_int_equal(recordings_each(check_recording), RECORDINGS);
}

/// The pitch of a tone, by its crossings of zero upwards.
static double
pitch_of(const VwSound* sound, double from_s, double to_s) {
  double first = -1.0;
  double last = 0.0;
  size_t n = 0;
  for (size_t i = (size_t)(from_s * sound->rate_hz);
       i < (size_t)(to_s * sound->rate_hz);
       ++i) {
    const double a = (double)sound->values[i];
    const double b = (double)sound->values[i + 1U];
    if (a < 0.0 && b >= 0.0) {
      last = (double)i - a / (b - a);
      first = first < 0.0 ? last : first;
      ++n;
    }
  }
  return (double)(n - 1U) / (last - first) * sound->rate_hz;
}

static const SignalBurst tone = {.start_s = 0.05,
                                 .decay_s = 0.4,
                                 .level = 0.5,
                                 .pitch_hz = 700.0};

// Pitch and timing of each shot, from the shots that are laid down.
static void
test_shots_stay_in_tune_and_in_time(void** state) {
  (void)state;
  VwSound         raw = signal_take(0.6, 44100U, &tone, 3U);
  VwFamilyOptions options = made_options();
  bool            ok = true;
  Made            made;
  options.fire_rate_per_s = 5.0;
  options.variants = 6U;
  options.cycle_max_s = 4.0;
  assert_true(made_new(&raw, &options, &made));
  double low_hz = HUGE_VAL;
  double high_hz = 0.0;
  double early_s = HUGE_VAL;
  double late_s = 0.0;
  for (unsigned i = 0; i < made.family.plan.shots; ++i) {
    const VwSound* const shot = &made.family.shots[i];
    const double         hz = pitch_of(shot, 0.01, 0.08);
    const double         peak = measure_peak(shot);
    size_t               at = 0;
    while (fabs((double)shot->values[at]) < 0.2 * peak) {
      ++at;
    }
    low_hz = fmin(low_hz, hz);
    high_hz = fmax(high_hz, hz);
    early_s = fmin(early_s, (double)at / shot->rate_hz);
    late_s = fmax(late_s, (double)at / shot->rate_hz);
  }
  const double cents = 1200.0 * log2(high_hz / low_hz);
  ok &= check_at_most(cents, 35.0, "cents from lowest to highest");
  ok &= check_at_least(cents, 20.0, "cents from lowest to highest");
  ok &= check_at_most(late_s - early_s, 0.0042, "seconds early to late");
  ok &= check_at_least(late_s - early_s, 0.003, "seconds early to late");
  ok &= check_at_least(early_s, 0.0019, "quiet before each attack");
  assert_true(ok);
  made_clear(&made);
  vw_sound_clear(&raw);
}

// As many as asked, or as the cycle holds; the same seed, the same bytes.
static void
test_counts_and_seeds(void** state) {
  (void)state;
  static const struct {
    unsigned variants, shots, seed;
    double   cycle_max_s;
    unsigned made;
  } cases[] = {{2U, 0U, 1U, 2.0, 2U},
               {12U, 0U, 1U, 2.0, 12U},
               {3U, 6U, 2U, 2.0, 3U},
               {6U, 7U, 1U, 2.0, 7U},
               {6U, 4U, 1U, 2.0, 4U},
               {12U, 0U, 1U, 0.6, 4U}};
  VwSound raw = signal_take(0.6, 22050U, &tone, 3U);
  bool    ok = true;
  for (size_t i = 0; i < sizeof(cases) / sizeof(cases[0]); ++i) {
    VwFamilyOptions options = made_options();
    Made            made[3];
    options.fire_rate_per_s = 8.0;
    options.variants = cases[i].variants;
    options.shots = cases[i].shots;
    options.cycle_max_s = cases[i].cycle_max_s;
    options.seed = cases[i].seed;
    for (size_t j = 0; j < 3U; ++j) {
      options.seed = cases[i].seed + j / 2U;
      assert_true(made_new(&raw, &options, &made[j]));
    }
    const VwSound* const one =
      &made_piece(&made[0].family, VW_PART_LOOP)->sound;
    const VwSound* const same =
      &made_piece(&made[1].family, VW_PART_LOOP)->sound;
    const VwSound* const other =
      &made_piece(&made[2].family, VW_PART_LOOP)->sound;
    ok &= check_equal(made[0].family.variants, cases[i].made, "case %zu", i);
    ok &= check_equal(measure_difference(one, same), 0.0, "case %zu: same", i);
    ok &= check_at_least(
      measure_difference(one, other), 0.001, "case %zu: other seed", i);
    for (size_t j = 0; j < 3U; ++j) {
      made_clear(&made[j]);
    }
  }
  assert_true(ok);
  vw_sound_clear(&raw);
}

int
main(int n_arguments, char** arguments) {
  if (!recordings_find(n_arguments > 1 ? arguments[1] : NULL)) {
    return RECORDINGS_MISSING;
  }
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_neighbours_of_recordings_are_unlike),
    cmocka_unit_test(test_shots_stay_in_tune_and_in_time),
    cmocka_unit_test(test_counts_and_seeds)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
