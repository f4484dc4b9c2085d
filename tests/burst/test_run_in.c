// Run-ins that end before the burst is steady, where bytes are short. The
// figures are those of this project; the burst is laid down here.

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

// So long lie the last frames of a run-in apart from the burst.
#define LEADS_OVER_S 0.005

typedef struct {
  unsigned rate_hz;
  double   fire_rate_per_s;
  double   decay_s;
  double   valley_db;
  double   run_in_max_s;
  unsigned buffer;
  double   detune_cents;
} RunInCase;

static const RunInCase cases[] = {
  {8000, 9.0, 2.0, NAN, 5.0, 1, 0.0},
  {22050, 9.0, 2.0, NAN, 0.5, 1, 0.0},
  {22050, 12.0, 3.0, NAN, 0.2, 1, 0.0},
  {44100, 7.5, 2.0, NAN, 1.0, 256, 0.0},
  {44100, 9.0, 2.0, NAN, 0.05, 1, 0.0},
  {16000, 8.0, 1.5, NAN, 2.0, 1, 20.0},
  {16000, 10.0, 3.0, 3.0, 0.5, 512, 0.0},
};

enum { N_CASES = sizeof(cases) / sizeof(cases[0]) };

static bool
make(size_t index, VwForm form, double run_in_max_s, Made* made) {
  const RunInCase* const wanted = &cases[index];
  const SignalBurst      burst = {
         .start_s = 0.1, .rise_s = 0.001, .decay_s = wanted->decay_s, .level = 0.5};
  VwSound take =
    signal_take(0.2 + 0.8 * wanted->decay_s, wanted->rate_hz, &burst, index);
  VwFamilyOptions options = made_options();
  options.form = form;
  options.fire_rate_per_s = wanted->fire_rate_per_s;
  options.valley_db = wanted->valley_db;
  options.buffer_frames = wanted->buffer;
  options.detune_cents = wanted->detune_cents;
  options.run_in_max_s = run_in_max_s;
  const bool ok = made_new(&take, &options, made);
  vw_sound_clear(&take);
  return ok;
}

// What the burst lacks from one shot's start on, dB below the same cycle where
// it has been steady.
static double
lack_db(const VwFamily* family, unsigned shots) {
  const VwPlan* const plan = &family->plan;
  const size_t        n_later = 8 * plan->rate_hz / plan->n_frames;
  VwSound burst = made_laid_down(family, shots + (n_later + 2) * plan->shots);
  const size_t at = vw_plan_start(plan, shots);
  double       lack = 0.0;
  double       energy = 0.0;
  for (size_t i = at; i < at + plan->n_frames; ++i) {
    const double steady = burst.values[i + n_later * plan->n_frames];
    lack += pow(steady - (double)burst.values[i], 2.0);
    energy += steady * steady;
  }
  vw_sound_clear(&burst);
  return 10.0 * log10(energy / fmax(lack, energy * 1e-20));
}

// The next shot's start that lies on the buffer.
static unsigned
next_start(const VwFamily* family, unsigned shots, unsigned buffer) {
  do {
    ++shots;
  } while (vw_plan_start(&family->plan, shots) % buffer);
  return shots;
}

// At the first start allowed where 20 dB are reached, or the last in time.
static bool
check_end(size_t index, const VwFamily* family) {
  const RunInCase* const wanted = &cases[index];
  const double           most = wanted->run_in_max_s * wanted->rate_hz;
  unsigned               shots = next_start(family, 0, wanted->buffer);
  while (lack_db(family, shots) < 20.0) {
    const unsigned next = next_start(family, shots, wanted->buffer);
    if ((double)vw_plan_start(&family->plan, next) > most) {
      break;
    }
    shots = next;
  }
  bool ok = check_equal(family->run_in_shots, shots, "case %zu: shots", index);
  ok &= check_at_most(fabs(family->run_in_left_db - lack_db(family, shots)),
                      0.1,
                      "case %zu: what is missing, dB off",
                      index);
  return ok;
}

// Up to its last 5 ms the run-in is the burst; loop and ring-out are those of a
// burst that has long been steady; and nothing clicks.
static bool
check_sound(size_t index, const Made* made) {
  const VwFamily* const family = &made->family;
  const VwPlan* const   plan = &family->plan;
  const VwSound* const  run_in = &made_piece(family, VW_PART_RUN_IN)->sound;
  const size_t          n_loops = 3;
  const size_t          n_lead = (size_t)ceil(LEADS_OVER_S * plan->rate_hz) + 1;
  const size_t   n_before = 8 * plan->rate_hz / plan->n_frames * plan->shots;
  const unsigned n_all = family->run_in_shots + (unsigned)n_loops * plan->shots;
  VwSound        joined = made_joined(family, n_loops);
  VwSound        early = made_laid_down(family, n_all);
  VwSound        late = made_laid_down(family, n_before + n_all);
  VwSound        part = run_in[0];
  VwSound        whole = early;
  part.n_frames -= n_lead;
  whole.n_frames = part.n_frames;
  bool ok = check_at_most(
    measure_difference(&part, &whole), 1e-6, "case %zu: run-in", index);
  part = joined;
  part.values += run_in->n_frames;
  part.n_frames -= run_in->n_frames;
  whole = late;
  const size_t at = vw_plan_start(plan, n_before) + run_in->n_frames;
  whole.values += at;
  whole.n_frames -= at;
  ok &= check_at_most(
    measure_difference(&part, &whole), 1e-6, "case %zu: after it", index);
  ok &= check_at_most(
    measure_step_max(&joined, run_in->n_frames - n_lead, run_in->n_frames + 1),
    2.0 * measure_step_percentile(&joined, 0.999),
    "case %zu: step into the loop",
    index);
  // The tails are all there at the last frame: what is left is under 1 % of
  // what was missing.
  whole.values = late.values + at - n_lead;
  part.values = early.values + run_in->n_frames - n_lead;
  whole.n_frames = part.n_frames = n_lead;
  const double missing = measure_difference(&whole, &part);
  whole.values = late.values + at - 1;
  part.values = joined.values + run_in->n_frames - 1;
  whole.n_frames = part.n_frames = 1;
  ok &= check_at_most(measure_difference(&whole, &part),
                      0.01 * missing,
                      "case %zu: missing at the loop",
                      index);
  vw_sound_clear(&joined);
  vw_sound_clear(&early);
  vw_sound_clear(&late);
  return ok;
}

// In the middle of the 5 ms half of what was missing is there: a raised cosine
// leaves half of it on the mean.
static bool
check_way(size_t index, const Made* made) {
  const VwFamily* const family = &made->family;
  const VwPlan* const   plan = &family->plan;
  const size_t   n_before = 8 * plan->rate_hz / plan->n_frames * plan->shots;
  const size_t   end = made_piece(family, VW_PART_RUN_IN)->sound.n_frames;
  const size_t   quarter = plan->rate_hz / 800U;
  const unsigned n_all = family->run_in_shots + plan->shots;
  VwSound        joined = made_joined(family, 1);
  VwSound        early = made_laid_down(family, n_all);
  VwSound        late = made_laid_down(family, n_before + n_all);
  const float*   steady = late.values + vw_plan_start(plan, n_before);
  double         left = 0.0;
  double         missing = 0.0;
  for (size_t i = end - 3U * quarter; i < end - quarter; ++i) {
    const double lack = (double)early.values[i] - (double)steady[i];
    left += ((double)joined.values[i] - (double)steady[i]) * lack;
    missing += lack * lack;
  }
  vw_sound_clear(&joined);
  vw_sound_clear(&early);
  vw_sound_clear(&late);
  return check_at_most(
    fabs(left / missing - 0.5), 0.12, "case %zu: on the way", index);
}

static void
test_early(void** state) {
  (void)state;
  bool ok = true;
  for (size_t i = 0; i < N_CASES; ++i) {
    Made made;
    assert_true(make(i, VW_FORM_PIECES, cases[i].run_in_max_s, &made));
    ok &= check_end(i, &made.family);
    ok &= check_sound(i, &made);
    ok &= check_way(i, &made);
    made_clear(&made);
  }
  assert_true(ok);
}

// Without a limit nothing is missing; with one the run-in is shorter, all else
// the same.
static void
test_shorter(void** state) {
  (void)state;
  bool ok = true;
  for (size_t i = 0; i < N_CASES; ++i) {
    Made early;
    Made full;
    assert_true(make(i, VW_FORM_PIECES, cases[i].run_in_max_s, &early));
    assert_true(make(i, VW_FORM_PIECES, 0.0, &full));
    ok &= check_that(
      isnan(full.family.run_in_left_db), "case %zu: nothing missing", i);
    ok &= check_at_most(
      (double)made_piece(&early.family, VW_PART_RUN_IN)->sound.n_frames,
      (double)made_piece(&full.family, VW_PART_RUN_IN)->sound.n_frames - 1.0,
      "case %zu: frames of the run-in",
      i);
    ok &= check_equal(early.family.join_residual_db,
                      full.family.join_residual_db,
                      "case %zu: seam",
                      i);
    made_clear(&early);
    made_clear(&full);
  }
  assert_true(ok);
}

// One file of all three is the same sound.
static void
test_loop_points(void** state) {
  (void)state;
  bool ok = true;
  for (size_t i = 0; i < N_CASES; ++i) {
    Made three;
    Made one;
    assert_true(make(i, VW_FORM_PIECES, cases[i].run_in_max_s, &three));
    assert_true(make(i, VW_FORM_LOOP_POINTS, cases[i].run_in_max_s, &one));
    const VwPiece* const piece = made_piece(&one.family, VW_PART_LOOP);
    VwSound              joined = made_joined(&three.family, 1);
    ok &= check_equal(
      measure_difference(&piece->sound, &joined), 0.0, "case %zu: one file", i);
    ok &= check_equal(
      (double)piece->loop_start,
      (double)made_piece(&three.family, VW_PART_RUN_IN)->sound.n_frames,
      "case %zu: loop's start",
      i);
    vw_sound_clear(&joined);
    made_clear(&three);
    made_clear(&one);
  }
  assert_true(ok);
}

// It has to end where the file does.
static void
test_bytes(void** state) {
  (void)state;
  const SignalBurst burst = {.start_s = 0.1, .decay_s = 3.0, .level = 0.5};
  VwSound           take = signal_take(2.6, 22050, &burst, 3);
  VwFamilyOptions   options = made_options();
  Made              made;
  options.format.encoding = VW_ENCODING_S16;
  options.fire_rate_per_s = 9.0;
  options.valley_db = NAN;
  options.run_in_max_s = 2.0;
  bool ok = true;
  for (unsigned n_shots = 1; n_shots < 4; ++n_shots) {
    options.file_bytes_max = 44 + 2 * 2450 * n_shots + 100;
    assert_true(made_new(&take, &options, &made));
    ok &= check_equal(made.family.run_in_shots, n_shots, "shots");
    ok &= check_at_most(made.family.run_in_left_db, 20.0, "still missing, dB");
    made_clear(&made);
  }
  vw_sound_clear(&take);
  assert_true(ok);
}

// A burst that is steady before then ends its run-in there.
static void
test_steady_before(void** state) {
  (void)state;
  const SignalBurst burst = {.start_s = 0.1, .decay_s = 0.1, .level = 0.5};
  VwSound           take = signal_take(0.3, 22050, &burst, 3);
  VwFamilyOptions   options = made_options();
  options.fire_rate_per_s = 4.0;
  options.run_in_max_s = 1.0;
  Made made;
  assert_true(made_new(&take, &options, &made));
  assert_true(check_that(isnan(made.family.run_in_left_db), "nothing missing"));
  made_clear(&made);
  vw_sound_clear(&take);
}

int
main(void) {
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_early),
    cmocka_unit_test(test_shorter),
    cmocka_unit_test(test_loop_points),
    cmocka_unit_test(test_bytes),
    cmocka_unit_test(test_steady_before),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
