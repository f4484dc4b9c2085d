// Boards with a gap between repeats, simulated here: the whole file, the
// gap, the whole file, and so on. The figures are those of this project.

#include "base/status.h"
#include "burst/burst.h"
#include "support/check.h"
#include "support/made.h"
#include "support/measure.h"
#include "support/meter.h"
#include "support/player.h"
#include "support/signals.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

static const double gaps_ms[] = {3.0, 25.0, 50.0, 100.0, 150.0};

enum {
  N_GAPS = sizeof(gaps_ms) / sizeof(gaps_ms[0]),
  N_CYCLES = 6,
  SHOTS_MOST = 8 * (N_CYCLES + 2)
};

// A file, and what is heard of it.
typedef struct {
  double   fire_rate_per_s;
  double   gap_ms;
  unsigned rate_hz;
  unsigned shots; // 0: as needed.
} GapCase;

static const char*
text_of(const GapCase* wanted) {
  static char text[80];
  snprintf(text,
           sizeof(text),
           "%g/s, gap of %g ms at %u Hz",
           wanted->fire_rate_per_s,
           wanted->gap_ms,
           wanted->rate_hz);
  return text;
}

static VwFamilyOptions
options_of(const GapCase* wanted) {
  VwFamilyOptions options = made_options();
  options.form = VW_FORM_WHOLE_FILE;
  options.format.rate_hz = wanted->rate_hz;
  options.fire_rate_per_s = wanted->fire_rate_per_s;
  options.gap_ms = wanted->gap_ms;
  options.shots = wanted->shots;
  options.cycle_max_s = 4.0;
  return options;
}

// A shot with tails over the next one, or over several.
static bool
make(const GapCase* wanted, double decay_s, Made* made) {
  const SignalBurst burst = {
    .start_s = 0.1, .rise_s = 0.002, .decay_s = decay_s, .level = 0.4};
  VwSound take = signal_take(0.2 + decay_s, wanted->rate_hz, &burst, 5);
  const VwFamilyOptions options = options_of(wanted);
  const bool            ok = made_new(&take, &options, made);
  vw_sound_clear(&take);
  return ok;
}

static VwSound
heard_of(const Made* made, const GapCase* wanted, size_t n_times) {
  const VwSound* const file = &made_piece(&made->family, VW_PART_LOOP)->sound;
  return player_repeats(
    file, player_gap_frames(wanted->gap_ms, file->rate_hz), n_times);
}

// From the second cycle on: the meter's high-pass knows nothing of the first.
static double
rate_heard(const GapCase* wanted, const double* at, size_t n_shots) {
  const double n = (double)(N_CYCLES * n_shots);
  const double length = at[(N_CYCLES + 1) * n_shots] - at[n_shots];
  return n * wanted->rate_hz / length;
}

// As fast as reported and as asked, and evenly.
static bool
check_heard(const GapCase* wanted, const Made* made) {
  const VwPlan* const plan = &made->family.plan;
  const char* const   name = text_of(wanted);
  const size_t        n = (size_t)N_CYCLES * plan->shots;
  const double        period_ms = 1000.0 / wanted->fire_rate_per_s;
  double              at[SHOTS_MOST] = {0.0};
  VwSound             heard = heard_of(made, wanted, N_CYCLES + 2);
  const size_t        n_found = player_shots(&heard, at, SHOTS_MOST);
  vw_sound_clear(&heard);
  if (!check_equal(
        (double)n_found, (double)(n + 2 * plan->shots), "%s: N", name)) {
    return false;
  }
  const double rate = rate_heard(wanted, at, plan->shots);
  bool         ok = check_at_most(fabs(rate / wanted->fire_rate_per_s - 1.0),
                          0.001,
                          "%s: fire rate heard, error",
                          name);
  ok &= check_at_most(fabs(rate / plan->fire_rate_per_s - 1.0),
                      1e-7,
                      "%s: fire rate reported, error",
                      name);
  double off_ms = 0.0;
  for (size_t i = 0; i < n; ++i) {
    const double between_ms = 1000.0 * (at[i + 1] - at[i]) / wanted->rate_hz;
    off_ms = fmax(off_ms, fabs(between_ms - period_ms));
  }
  return ok & check_at_most(off_ms, 1.0, "%s: interval off, ms", name);
}

// Room for 4 to 8 shots (common practice), and the gap in the last decay.
static bool
check_laid(const GapCase* wanted, const Made* made) {
  const VwPlan* const  plan = &made->family.plan;
  const VwSound* const file = &made_piece(&made->family, VW_PART_LOOP)->sound;
  const char* const    name = text_of(wanted);
  const size_t n_gap = player_gap_frames(wanted->gap_ms, wanted->rate_hz);
  bool         ok = check_at_least(plan->shots, 4.0, "%s: N", name);
  ok &= check_at_most(plan->shots, 8.0, "%s: N", name);
  ok &= check_equal((double)plan->gap_frames, (double)n_gap, "%s: gap", name);
  ok &= check_equal((double)plan->n_frames,
                    (double)(file->n_frames + n_gap),
                    "%s: cycle",
                    name);
  ok &= check_that(!plan->uneven, "%s: uneven", name);
  ok &= check_that(
    isnan(plan->even_fire_rate_per_s), "%s: a slower one is told", name);
  ok &= check_equal(file->values[0], 0.0, "%s: first frame", name);
  return ok & check_equal(
                file->values[file->n_frames - 1], 0.0, "%s: last frame", name);
}

static void
test_even(void** state) {
  (void)state;
  static const unsigned rates_hz[] = {8000, 22050, 44100};
  bool                  ok = true;
  size_t                n = 0;
  for (size_t i = 0; i < N_GAPS; ++i) {
    for (double rate = 2.0; rate <= 12.0; rate += 0.5) {
      const GapCase wanted = {rate, gaps_ms[i], rates_hz[n % 3], 0};
      if (gaps_ms[i] > 400.0 / rate) {
        continue;
      }
      Made made;
      assert_true(make(&wanted, n % 2 ? 0.25 : 0.6, &made));
      ok &= check_laid(&wanted, &made);
      ok &= check_heard(&wanted, &made);
      made_clear(&made);
      ++n;
    }
  }
  assert_true(ok);
  // 3 and 25 ms always, 50 to 8/s, 100 to 4/s, 150 to 2.5/s.
  assert_int_equal(n, 21 + 21 + 13 + 5 + 2);
}

// A loop of as many periods, and the gap on top of it.
static void
test_plain(void** state) {
  (void)state;
  bool ok = true;
  for (size_t i = 0; i < N_GAPS; ++i) {
    GapCase wanted = {2.5, gaps_ms[i], 22050, 0};
    Made    even;
    Made    plain;
    assert_true(make(&wanted, 0.3, &even));
    wanted.gap_ms = 0.0;
    wanted.shots = even.family.plan.shots;
    assert_true(make(&wanted, 0.3, &plain));
    wanted.gap_ms = gaps_ms[i];
    double  at[SHOTS_MOST] = {0.0};
    VwSound heard = heard_of(&plain, &wanted, N_CYCLES + 2);
    assert_int_equal(player_shots(&heard, at, SHOTS_MOST),
                     (N_CYCLES + 2) * wanted.shots);
    const double rate = rate_heard(&wanted, at, wanted.shots);
    ok &=
      check_at_most(fabs(rate / even.family.plan.plain_fire_rate_per_s - 1.0),
                    1e-4,
                    "%s: what a plain loop would make, error",
                    text_of(&wanted));
    vw_sound_clear(&heard);
    made_clear(&even);
    made_clear(&plain);
  }
  assert_true(ok);
}

// The steady burst laid down here, one cycle of it.
static VwSound
steady_cycle(const VwFamily* family, VwSound* burst) {
  const VwPlan* const plan = &family->plan;
  const size_t        n_before = 2 + 2 * plan->rate_hz / plan->n_frames;
  *burst = made_laid_down(family, (n_before + 2) * plan->shots);
  VwSound cycle = *burst;
  cycle.values += n_before * plan->n_frames * cycle.n_channels;
  cycle.n_frames = plan->n_frames;
  return cycle;
}

// How far the level has come down from the last crest, where the gap begins.
static double
depth_db(const VwFamily* family, const VwSound* cycle) {
  const VwPlan* const plan = &family->plan;
  const size_t        n = plan->n_frames;
  VwSound             played = measure_played(cycle, 3);
  double* const       level = measure_level(&played);
  const double        gap = level[2 * n - plan->gap_frames];
  double              crest = 0.0;
  const size_t        last = (plan->shots - 1) * n / plan->shots;
  for (size_t i = n + last; i < 2 * n - plan->gap_frames; ++i) {
    crest = fmax(crest, level[i]);
  }
  free(level);
  vw_sound_clear(&played);
  return 10.0 * log10(crest / gap);
}

// The file is the burst's steady cycle up to the gap; valley, level and depth
// are those of what is heard.
static bool
check_figures(const GapCase* wanted, const Made* made) {
  const VwFamily* const family = &made->family;
  const VwSound* const  file = &made_piece(family, VW_PART_LOOP)->sound;
  const char* const     name = text_of(wanted);
  const size_t          n_faded = (size_t)ceil(0.002 * file->rate_hz);
  VwSound               burst;
  VwSound               cycle = steady_cycle(family, &burst);
  double                most = 0.0;
  for (size_t i = n_faded; i + n_faded < file->n_frames; ++i) {
    most = fmax(most, fabs((double)file->values[i] - (double)cycle.values[i]));
  }
  bool ok = check_at_most(most, 1e-6, "%s: the burst's cycle", name);
  ok &= check_at_most(fabs(depth_db(family, &cycle) - family->gap_depth_db),
                      0.1,
                      "%s: depth at the gap, dB off",
                      name);
  vw_sound_clear(&burst);
  VwSound heard = heard_of(made, wanted, 1);
  // 60 dB is the deepest reported.
  const double valley_db =
    fmin(measure_valley_db(&heard, family->plan.shots), 60.0);
  ok &= check_at_most(
    fabs(valley_db - family->valley_db), 0.1, "%s: valley, dB off", name);
  ok &= check_at_least(valley_db, 9.0, "%s: valley, dB", name);
  ok &= check_at_most(
    fabs(meter_loop_lufs(&heard) - family->level.burst_loudness_lufs),
    0.2, // Momentary values are 10 ms apart.
    "%s: loudness heard, LU off",
    name);
  vw_sound_clear(&heard);
  return ok;
}

static void
test_figures(void** state) {
  (void)state;
  static const GapCase cases[] = {{8.0, 50.0, 44100, 0},
                                  {12.0, 25.0, 22050, 0},
                                  {4.0, 100.0, 44100, 0},
                                  {9.0, 3.0, 16000, 0},
                                  {2.5, 150.0, 48000, 4},
                                  // The gap before every shot.
                                  {8.0, 50.0, 44100, 1},
                                  {8.0, 300.0, 22050, 1}};
  bool                 ok = true;
  for (size_t i = 0; i < sizeof(cases) / sizeof(cases[0]); ++i) {
    Made made;
    assert_true(make(&cases[i], 1.2, &made));
    ok &= check_figures(&cases[i], &made);
    ok &= check_at_most(made.family.gap_depth_db, 60.0, "depth");
    ok &= check_at_least(made.family.gap_depth_db, 3.0, "depth");
    made_clear(&made);
  }
  Made    without;
  GapCase none = {8.0, 0.0, 44100, 0};
  assert_true(make(&none, 0.5, &without));
  ok &= check_that(isnan(without.family.gap_depth_db), "depth without a gap");
  ok &= check_equal(without.family.plan.plain_fire_rate_per_s,
                    without.family.plan.fire_rate_per_s,
                    "plain without a gap");
  made_clear(&without);
  assert_true(ok);
}

// Only a board that repeats the whole file has a gap.
static void
test_other_forms(void** state) {
  (void)state;
  static const VwForm forms[] = {
    VW_FORM_PIECES, VW_FORM_LOOP_POINTS, VW_FORM_BURST};
  const GapCase     wanted = {8.0, 50.0, 22050, 0};
  const SignalBurst shot = {.start_s = 0.1, .decay_s = 0.3, .level = 0.4};
  VwSound           take = signal_take(0.4, 22050, &shot, 5);
  bool              ok = true;
  for (size_t i = 0; i < 3; ++i) {
    VwFamilyOptions options = options_of(&wanted);
    options.form = forms[i];
    Made made;
    assert_true(made_new(&take, &options, &made));
    ok &= check_equal((double)made.family.plan.gap_frames,
                      0.0,
                      "%s: gap",
                      vw_form_name(forms[i]));
    ok &=
      check_equal(made.family.plan.shots, 1.0, "%s: N", vw_form_name(forms[i]));
    made_clear(&made);
  }
  vw_sound_clear(&take);
  assert_true(ok);
}

// The shots as asked, and then the gap.
static bool
check_uneven(const GapCase* wanted, const Made* made) {
  const VwPlan* const plan = &made->family.plan;
  const char* const   name = text_of(wanted);
  const size_t        n = (size_t)N_CYCLES * plan->shots;
  const double        period_ms = 1000.0 / wanted->fire_rate_per_s;
  double              at[SHOTS_MOST] = {0.0};
  VwSound             heard = heard_of(made, wanted, N_CYCLES + 2);
  const size_t        n_found = player_shots(&heard, at, SHOTS_MOST);
  vw_sound_clear(&heard);
  bool ok = check_that(plan->uneven, "%s: uneven", name);
  ok &= check_at_most(
    fabs(plan->even_fire_rate_per_s * wanted->gap_ms / 400.0 - 1.0),
    1e-3,
    "%s: fastest even, error",
    name);
  if (!check_equal(
        (double)n_found, (double)(n + 2 * plan->shots), "%s: N", name)) {
    return false;
  }
  double off_ms = 0.0;
  for (size_t i = 0; i < n; ++i) {
    const bool   last = i % plan->shots + 1 == plan->shots;
    const double between_ms = 1000.0 * (at[i + 1] - at[i]) / wanted->rate_hz;
    off_ms = fmax(off_ms,
                  fabs(between_ms - period_ms - (last ? wanted->gap_ms : 0.0)));
    ok &= check_equal((double)(vw_plan_start(plan, i + 1) / plan->n_frames),
                      (double)((i + 1) / plan->shots),
                      "%s: shot %zu's cycle",
                      name,
                      i);
  }
  const double rate = rate_heard(wanted, at, plan->shots);
  ok &= check_at_most(fabs(rate / plan->fire_rate_per_s - 1.0),
                      1e-7,
                      "%s: fire rate reported, error",
                      name);
  ok &= check_equal(
    made->family.lamp.pulse_hz, plan->fire_rate_per_s, "%s: lamp", name);
  return ok & check_at_most(off_ms, 1.0, "%s: interval off, ms", name);
}

static void
test_uneven(void** state) {
  (void)state;
  static const GapCase cases[] = {{9.0, 50.0, 44100, 0},
                                  {12.0, 100.0, 22050, 0},
                                  {5.0, 100.0, 16000, 0},
                                  {8.0, 1000.0, 44100, 0},
                                  {10.0, 150.0, 48000, 5}};
  bool                 ok = true;
  for (size_t i = 0; i < sizeof(cases) / sizeof(cases[0]); ++i) {
    Made made;
    assert_true(make(&cases[i], 0.2, &made));
    ok &= check_uneven(&cases[i], &made);
    const GapCase even = {
      made.family.plan.even_fire_rate_per_s, cases[i].gap_ms, 44100, 0};
    made_clear(&made);
    if (even.fire_rate_per_s >= 0.5) {
      assert_true(make(&even, 0.2, &made));
      ok &= check_that(!made.family.plan.uneven, "%s: even", text_of(&even));
      ok &= check_heard(&even, &made);
      made_clear(&made);
    }
  }
  assert_true(ok);
}

// A gap is no multiple of the buffer: the file still is, what is heard is as
// reported, and the burst is cut as soon as it is steady.
static void
test_buffer(void** state) {
  (void)state;
  const SignalBurst shot = {.start_s = 0.1, .decay_s = 0.4, .level = 0.4};
  const GapCase     wanted = {8.0, 25.0, 11025, 0};
  VwSound           take = signal_take(0.6, 11025, &shot, 5);
  VwFamilyOptions   options = options_of(&wanted);
  bool              ok = true;
  Made              made;
  options.format.encoding = VW_ENCODING_U8;
  options.buffer_frames = 512;
  assert_true(made_new(&take, &options, &made));
  const VwFamily* const family = &made.family;
  const VwPlan* const   plan = &family->plan;
  const VwSound* const  file = &made_piece(family, VW_PART_LOOP)->sound;
  double                at[SHOTS_MOST] = {0.0};
  VwSound               heard = heard_of(&made, &wanted, N_CYCLES + 2);
  ok &= check_equal((double)(file->n_frames % 512), 0.0, "frames left over");
  ok &= check_equal((double)player_shots(&heard, at, SHOTS_MOST),
                    (double)(N_CYCLES + 2) * plan->shots,
                    "N");
  const double rate = rate_heard(&wanted, at, plan->shots);
  ok &= check_at_most(
    fabs(rate / plan->fire_rate_per_s - 1.0), 1e-7, "reported, error");
  const size_t n_cycles = family->shots->n_frames / plan->n_frames + 2;
  ok &= check_at_most(
    family->run_in_shots, (double)(n_cycles * plan->shots), "shots before");
  vw_sound_clear(&heard);
  made_clear(&made);
  vw_sound_clear(&take);
  assert_true(ok);
}

// A crest that comes late still comes before the gap, in every shot.
static void
test_slow(void** state) {
  (void)state;
  const SignalBurst slow = {
    .start_s = 0.1, .rise_s = 0.15, .decay_s = 0.4, .level = 0.4};
  VwSound         take = signal_take(0.6, 22050, &slow, 5);
  const GapCase   even = {5.0, 80.0, 22050, 0};
  const GapCase   uneven = {5.0, 300.0, 22050, 0};
  bool            ok = true;
  Made            made;
  VwFamilyOptions options = options_of(&even);
  assert_true(made_new(&take, &options, &made));
  ok &= check_at_least(made.family.uses->late_start_ms, 1.0, "late start");
  ok &= check_laid(&even, &made);
  ok &= check_heard(&even, &made);
  made_clear(&made);
  options = options_of(&uneven);
  assert_true(made_new(&take, &options, &made));
  const VwTakeUse* const use = made.family.uses;
  ok &= check_at_least(use->late_start_ms, 1.0, "late start");
  ok &= check_at_most((double)use->crest_frame / 22.05 - use->late_start_ms,
                      0.4 * 200.0 + 0.1,
                      "crest after the shot's start, ms");
  ok &= check_uneven(&uneven, &made);
  made_clear(&made);
  vw_sound_clear(&take);
  assert_true(ok);
}

// Where no fire rate is asked one is chosen at which the gap is hidden, if
// there is one of 4 or more; 0.4 of the period is all a gap may take, so up to
// 400 / gap per second (closed form).
static void
test_chosen(void** state) {
  (void)state;
  static const struct {
    double gap_ms;
    double least_per_s;
    double most_per_s;
  } cases[] = {{0.0, 8.0, 15.0},
               {40.0, 8.0, 10.0},
               {60.0, 6.0, 6.7},
               {100.0, 4.0, 4.0},
               {150.0, 6.1, 15.0}};
  bool ok = true;
  for (size_t i = 0; i < sizeof(cases) / sizeof(cases[0]); ++i) {
    const GapCase wanted = {0.0, cases[i].gap_ms, 44100, 0};
    Made          made;
    assert_true(make(&wanted, 0.5, &made));
    const VwPlan* const plan = &made.family.plan;
    const bool          hidden = cases[i].gap_ms <= 100.0;
    ok &= check_that(plan->fire_rate_per_s >= cases[i].least_per_s - 0.01 &&
                       plan->fire_rate_per_s <= cases[i].most_per_s + 0.01,
                     "gap of %g ms: %g per second chosen",
                     cases[i].gap_ms,
                     plan->fire_rate_per_s);
    ok &= check_that(
      plan->uneven != hidden, "gap of %g ms: uneven", cases[i].gap_ms);
    made_clear(&made);
  }
  assert_true(ok);
}

int
main(void) {
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_even),
    cmocka_unit_test(test_plain),
    cmocka_unit_test(test_figures),
    cmocka_unit_test(test_other_forms),
    cmocka_unit_test(test_uneven),
    cmocka_unit_test(test_chosen),
    cmocka_unit_test(test_buffer),
    cmocka_unit_test(test_slow),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
