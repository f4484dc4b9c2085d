// The join of one steady cycle to the next, the whole-file form played again
// and again, and the burst: the figures of this project.

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
#include <stdlib.h>

typedef struct {
  unsigned rate_hz;
  double   fire_rate_per_s;
  double   decay_s;
  double   pitch_hz;
  VwTail   tail;
  double   valley_db;
  double   detune_cents;
} SeamCase;

static const SeamCase cases[] = {
  {8000, 5.0, 0.3, 0.0, VW_TAIL_OVERLAP, 9.0, 0.0},
  {8000, 12.0, 1.5, 700.0, VW_TAIL_OVERLAP, NAN, 0.0},
  {11025, 9.0, 0.9, 0.0, VW_TAIL_OVERLAP, 12.0, 0.0},
  {16000, 7.77, 2.0, 0.0, VW_TAIL_OVERLAP, NAN, 0.0},
  {22050, 13.0, 0.9, 900.0, VW_TAIL_CHOKE, NAN, 0.0},
  {44100, 9.0, 1.0, 0.0, VW_TAIL_OVERLAP, 9.0, 0.0},
  {44100, 11.3, 0.7, 1200.0, VW_TAIL_OVERLAP, 20.0, 0.0},
  {44100, 8.0, 0.8, 0.0, VW_TAIL_OVERLAP, 9.0, 20.0},
  {48000, 15.0, 1.5, 0.0, VW_TAIL_CHOKE, 9.0, 0.0},
  {96000, 10.0, 0.5, 0.0, VW_TAIL_OVERLAP, NAN, 0.0},
};

enum { N_CASES = sizeof(cases) / sizeof(cases[0]) };

static bool
made_of(size_t index, VwForm form, Made* made) {
  const SeamCase* const wanted = &cases[index];
  const SignalBurst     burst = {.start_s = 0.1,
                                 .rise_s = 0.001,
                                 .decay_s = wanted->decay_s,
                                 .level = 0.5,
                                 .pitch_hz = wanted->pitch_hz};
  VwSound               take =
    signal_take(0.2 + 0.8 * wanted->decay_s, wanted->rate_hz, &burst, index);
  VwFamilyOptions options = made_options();
  options.format.rate_hz = wanted->rate_hz;
  options.form = form;
  options.fire_rate_per_s = wanted->fire_rate_per_s;
  options.tail = wanted->tail;
  options.valley_db = wanted->valley_db;
  options.detune_cents = wanted->detune_cents;
  const bool ok = made_new(&take, &options, made);
  vw_sound_clear(&take);
  return ok;
}

// Difference in dB of `cycle` and the frames of `burst` from `at` on.
static double
residual_db(const VwSound* cycle, const VwSound* burst, size_t at) {
  double sum = 0.0;
  for (size_t i = 0; i < cycle->n_frames; ++i) {
    sum += pow((double)burst->values[at + i] - (double)cycle->values[i], 2.0);
  }
  const double rms = sqrt(sum / (double)cycle->n_frames);
  return 20.0 * log10(fmax(rms / measure_rms(cycle), 1e-10));
}

// The steady burst laid down here: one cycle after the run-in and the next.
static void
test_join(void** state) {
  (void)state;
  bool ok = true;
  for (size_t i = 0; i < N_CASES; ++i) {
    Made made;
    assert_true(made_of(i, VW_FORM_PIECES, &made));
    const VwFamily* const family = &made.family;
    const size_t          n = family->plan.n_frames;
    const size_t start = vw_plan_start(&family->plan, family->run_in_shots);
    VwSound      burst =
      made_laid_down(family, family->run_in_shots + 4 * family->plan.shots);
    VwSound cycle = burst;
    cycle.values += start;
    cycle.n_frames = n;
    for (size_t k = 1; k < 4; ++k) {
      ok &= check_at_most(residual_db(&cycle, &burst, start + k * n),
                          -90.0,
                          "case %zu: join residual of cycle %zu, dB",
                          i,
                          k);
    }
    ok &= check_at_most(family->join_residual_db,
                        -90.0,
                        "case %zu: join residual reported, dB",
                        i);
    ok &= check_at_least(family->join_residual_db,
                         -200.0,
                         "case %zu: join residual reported, dB",
                         i);
    ok &= check_at_most(
      residual_db(&made_piece(family, VW_PART_LOOP)->sound, &burst, start + n),
      -90.0,
      "case %zu: the loop handed out against the next cycle, dB",
      i);
    vw_sound_clear(&burst);
    made_clear(&made);
  }
  assert_true(ok);
}

// Ten times over: no step above twice its own 99.9th percentile, the rate and
// the valley as reported.
static bool
check_played(size_t index, const Made* made, const VwSound* file) {
  const VwPlan* const plan = &made->family.plan;
  VwSound             played = measure_played(file, 10);
  bool ok = check_at_most(measure_step_max(&played, 0, played.n_frames - 1),
                          2.0 * measure_step_percentile(&played, 0.999),
                          "case %zu: step in the file played",
                          index);
  const double valley_db = measure_valley_db(file, plan->shots);
  ok &= check_at_least(valley_db,
                       made->family.valley_db - 0.05,
                       "case %zu: valley of the whole file, dB",
                       index);
  ok &= check_at_most(valley_db,
                      made->family.valley_db + 1.0,
                      "case %zu: valley of the whole file, dB",
                      index);
  ok &= check_equal((double)file->n_frames,
                    (double)plan->n_frames,
                    "case %zu: frames of the whole file",
                    index);
  vw_sound_clear(&played);
  return ok;
}

// Zero at both ends, and the steady cycle outside 2 ms at either end.
static bool
check_cycle(size_t index, const VwFamily* family, const VwSound* file) {
  const size_t n_faded = (size_t)ceil(0.002 * file->rate_hz);
  const size_t n_shots = family->plan.shots;
  const size_t n_before = 1 + 4 * file->rate_hz / file->n_frames;
  VwSound      burst = made_laid_down(family, (n_before + 2) * n_shots);
  const float* cycle = burst.values + n_before * file->n_frames;
  double       most = 0.0;
  for (size_t i = n_faded; i + n_faded < file->n_frames; ++i) {
    most = fmax(most, fabs((double)file->values[i] - (double)cycle[i]));
  }
  bool ok = check_at_most(most, 1e-6, "case %zu: outside the 4 ms", index);
  ok &=
    check_equal((double)file->values[0], 0.0, "case %zu: first frame", index);
  ok &= check_equal((double)file->values[file->n_frames - 1],
                    0.0,
                    "case %zu: last frame",
                    index);
  vw_sound_clear(&burst);
  return ok;
}

static void
test_whole_file(void** state) {
  (void)state;
  bool ok = true;
  for (size_t i = 0; i < N_CASES; ++i) {
    Made whole;
    assert_true(made_of(i, VW_FORM_WHOLE_FILE, &whole));
    VwSound file = made_written(&whole.family, VW_PART_LOOP, 1);
    ok &= check_played(i, &whole, &file);
    ok &= check_cycle(i, &whole.family, &file);
    ok &= check_that(!made_piece(&whole.family, VW_PART_RUN_IN),
                     "case %zu: there is a run-in",
                     i);
    vw_sound_clear(&file);
    made_clear(&whole);
  }
  assert_true(ok);
}

// The rate of a whole file played for 30 s.
static void
test_whole_file_rate(void** state) {
  (void)state;
  bool ok = true;
  for (size_t i = 0; i < N_CASES; i += 3) {
    Made whole;
    assert_true(made_of(i, VW_FORM_WHOLE_FILE, &whole));
    VwSound      file = made_written(&whole.family, VW_PART_LOOP, 1);
    const double length_s = (double)file.n_frames / file.rate_hz;
    VwSound      played = measure_played(&file, (size_t)ceil(30.0 / length_s));
    const double period_s = measure_period_s(&played);
    ok &= check_at_most(
      fabs(1.0 / period_s / whole.family.plan.fire_rate_per_s - 1.0) * 1e6,
      100.0,
      "case %zu: ppm off in the whole file played",
      i);
    vw_sound_clear(&played);
    vw_sound_clear(&file);
    made_clear(&whole);
  }
  assert_true(ok);
}

// Three shots and the whole of what rings out after them.
static void
test_burst(void** state) {
  (void)state;
  bool ok = true;
  for (size_t i = 0; i < N_CASES; ++i) {
    if (isnan(cases[i].valley_db)) {
      continue; // Too shallow to be counted.
    }
    Made made;
    assert_true(made_of(i, VW_FORM_BURST, &made));
    VwSound burst = made_written(&made.family, VW_PART_BURST, 1);
    VwSound laid = made_laid_down(&made.family, 3);
    ok &= check_equal(
      (double)measure_shots(&burst), 3.0, "case %zu: shots in the burst", i);
    ok &= check_at_most(measure_difference(&burst, &laid),
                        1e-6,
                        "case %zu: burst against three shots",
                        i);
    ok &= check_at_least((double)burst.n_frames,
                         (double)laid.n_frames,
                         "case %zu: frames of the burst",
                         i);
    ok &= check_at_most(fabs((double)burst.values[burst.n_frames - 1]),
                        1e-6,
                        "case %zu: last frame of the burst",
                        i);
    vw_sound_clear(&laid);
    vw_sound_clear(&burst);
    made_clear(&made);
  }
  assert_true(ok);
}

int
main(void) {
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_join),
    cmocka_unit_test(test_whole_file),
    cmocka_unit_test(test_whole_file_rate),
    cmocka_unit_test(test_burst),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
